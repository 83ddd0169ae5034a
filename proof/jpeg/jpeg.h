// What Go asks of libjpeg. Every function returns an fs_kind; after one that is not FS_OK
// the codec can only be closed, and its text tells the library's reason.

#ifndef FS_JPEG_H
#define FS_JPEG_H

#include <setjmp.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <jpeglib.h>

typedef enum { FS_OK, FS_DAMAGED, FS_SHORT, FS_UNSUPPORTED, FS_MEMORY } fs_kind;

// The library leaves a call that fails by its error manager, which may not return:
// it jumps to where the call came in.
typedef struct {
	struct jpeg_error_mgr manager; // first, so that it can be taken for the whole
	jmp_buf entry;
	fs_kind kind;
	char text[JMSG_LENGTH_MAX];
} fs_errors;

typedef struct {
	struct jpeg_decompress_struct jpeg;
	struct jpeg_source_mgr source;
	fs_errors errors;
	int adobe, whole; // flags: it has Adobe's segment, all scans have been read
} fs_decoder;

// fs_decode_open reads up to the first scan. The data stay where they are until
// fs_decode_close.
fs_kind fs_decode_open(fs_decoder *d, const uint8_t *data, size_t size);

// fs_decode_start begins the picture. When raw is set three components come out as they are
// stored. The library takes at most memory bytes.
fs_kind fs_decode_start(fs_decoder *d, int raw, long memory);

// fs_decode_scans reads some rows of blocks of a file with several scans, and sets whole
// when all have been read, which is at once in other files.
fs_kind fs_decode_scans(fs_decoder *d);

// fs_decode_rows writes so many rows, one behind the other; all scans must have been read.
fs_kind fs_decode_rows(fs_decoder *d, uint8_t *dst, int rows);

// fs_decode_end reads what follows the last row, up to the end mark.
fs_kind fs_decode_end(fs_decoder *d);

void fs_decode_close(fs_decoder *d);

// A picture of 1 or 3 channels to be encoded: rows of w pixels, quality 1 to 100, so many
// blocks between two restart marks.
typedef struct {
	int w, h, channels, quality, interval;
	int padded; // pixels of three channels have a fourth byte that counts for nothing
} fs_shape;

// fs_encode makes a whole file of pixels, without a JFIF segment, or when pixels is NULL
// of quantised coefficients: component by component, row of blocks by row of blocks, 64 a
// block from left to right and top to bottom. *out is to be freed.
fs_kind fs_encode(fs_shape s, const uint8_t *pixels, const int16_t *coefficients, uint8_t **out, unsigned long *size, char *text);

// fs_steps writes the two quantisation tables of a quality, from left to right and top to
// bottom.
fs_kind fs_steps(int quality, uint16_t steps[2][64], char *text);

#endif
