#include "jpeg.h"

#include <string.h>

#include <jerror.h>

#include "errors.h"

// How many rows of blocks are read between two looks at whether to go on.
enum { STEPS = 64 };

static void nothing(j_decompress_ptr jpeg) { (void)jpeg; }

// All data were there from the beginning.
static boolean no_more(j_decompress_ptr jpeg) {
	ERREXIT(jpeg, JERR_INPUT_EOF);
	return FALSE;
}

static void skip(j_decompress_ptr jpeg, long n) {
	if (n <= 0) return;
	if ((size_t)n > jpeg->src->bytes_in_buffer) ERREXIT(jpeg, JERR_INPUT_EOF);
	jpeg->src->next_input_byte += n;
	jpeg->src->bytes_in_buffer -= (size_t)n;
}

fs_kind fs_decode_open(fs_decoder *d, const uint8_t *data, size_t size) {
	memset(d, 0, sizeof *d);
	d->jpeg.err = fs_errors_init(&d->errors);
	if (setjmp(d->errors.entry)) return d->errors.kind;
	jpeg_create_decompress(&d->jpeg);
	d->source = (struct jpeg_source_mgr){
		.next_input_byte = data, .bytes_in_buffer = size,
		.init_source = nothing, .fill_input_buffer = no_more, .skip_input_data = skip,
		.resync_to_restart = jpeg_resync_to_restart, .term_source = nothing,
	};
	d->jpeg.src = &d->source;
	jpeg_read_header(&d->jpeg, TRUE);
	d->adobe = d->jpeg.saw_Adobe_marker;
	return FS_OK;
}

fs_kind fs_decode_start(fs_decoder *d, int raw, long memory) {
	if (setjmp(d->errors.entry)) return d->errors.kind;
	d->jpeg.mem->max_memory_to_use = memory;
	d->jpeg.dct_method = JDCT_ISLOW;
	d->jpeg.do_block_smoothing = FALSE; // nothing is made up
	switch (d->jpeg.num_components) {
	case 1:
		d->jpeg.out_color_space = JCS_GRAYSCALE;
		break;
	case 3:
		if (raw) d->jpeg.jpeg_color_space = JCS_RGB;
		d->jpeg.out_color_space = JCS_RGB;
		break;
	case 4:
		d->jpeg.out_color_space = JCS_CMYK;
		break;
	default:
		ERREXIT(&d->jpeg, JERR_CONVERSION_NOTIMPL);
	}
	d->jpeg.buffered_image = jpeg_has_multiple_scans(&d->jpeg);
	d->whole = !d->jpeg.buffered_image;
	jpeg_start_decompress(&d->jpeg);
	return FS_OK;
}

fs_kind fs_decode_scans(fs_decoder *d) {
	if (setjmp(d->errors.entry)) return d->errors.kind;
	for (int i = 0; i < STEPS && !d->whole; i++) {
		if (jpeg_consume_input(&d->jpeg) != JPEG_REACHED_EOI) continue;
		d->whole = TRUE;
		jpeg_start_output(&d->jpeg, d->jpeg.input_scan_number);
	}
	return FS_OK;
}

fs_kind fs_decode_rows(fs_decoder *d, uint8_t *dst, int rows) {
	if (setjmp(d->errors.entry)) return d->errors.kind;
	size_t stride = (size_t)d->jpeg.output_width * (size_t)d->jpeg.output_components;
	while (rows > 0) {
		JSAMPROW at[16];
		int n = rows < 16 ? rows : 16;
		for (int i = 0; i < n; i++) at[i] = dst + (size_t)i * stride;
		int got = (int)jpeg_read_scanlines(&d->jpeg, at, (JDIMENSION)n);
		if (got == 0) ERREXIT(&d->jpeg, JERR_INPUT_EOF);
		dst += (size_t)got * stride;
		rows -= got;
	}
	return FS_OK;
}

fs_kind fs_decode_end(fs_decoder *d) {
	if (setjmp(d->errors.entry)) return d->errors.kind;
	if (d->jpeg.buffered_image) jpeg_finish_output(&d->jpeg);
	jpeg_finish_decompress(&d->jpeg);
	return FS_OK;
}

void fs_decode_close(fs_decoder *d) { jpeg_destroy_decompress(&d->jpeg); }
