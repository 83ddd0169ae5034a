#include "jpeg.h"

#include <stdlib.h>
#include <string.h>

#include <jerror.h>

#include "errors.h"

typedef struct {
	struct jpeg_compress_struct jpeg;
	fs_errors errors;
} encoder;

// settings says how the picture is kept: baseline, colour differences of full resolution,
// the usual tables.
static void settings(j_compress_ptr jpeg, fs_shape s) {
	jpeg->image_width = (JDIMENSION)s.w;
	jpeg->image_height = (JDIMENSION)s.h;
	jpeg->input_components = s.padded ? 4 : s.channels;
	jpeg->in_color_space = s.channels == 1 ? JCS_GRAYSCALE : s.padded ? JCS_EXT_RGBX : JCS_RGB;
	jpeg_set_defaults(jpeg);
	jpeg_set_quality(jpeg, s.quality, TRUE);
	jpeg->dct_method = JDCT_ISLOW;
	jpeg->restart_interval = (unsigned)s.interval;
	jpeg->write_JFIF_header = FALSE;
	for (int c = 0; c < jpeg->num_components; c++) {
		jpeg->comp_info[c].h_samp_factor = 1;
		jpeg->comp_info[c].v_samp_factor = 1;
	}
}

static void put_pixels(j_compress_ptr jpeg, fs_shape s, const uint8_t *pixels) {
	jpeg_start_compress(jpeg, TRUE);
	size_t stride = (size_t)s.w * (size_t)jpeg->input_components;
	while (jpeg->next_scanline < jpeg->image_height) {
		JSAMPROW at[16];
		JDIMENSION left = jpeg->image_height - jpeg->next_scanline, n = left < 16 ? left : 16;
		for (JDIMENSION i = 0; i < n; i++) at[i] = (JSAMPROW)(pixels + (jpeg->next_scanline + i) * stride);
		jpeg_write_scanlines(jpeg, at, n);
	}
}

static void put_coefficients(j_compress_ptr jpeg, fs_shape s, const int16_t *coefficients) {
	JDIMENSION across = ((JDIMENSION)s.w + 7) / 8, down = ((JDIMENSION)s.h + 7) / 8;
	jvirt_barray_ptr planes[MAX_COMPONENTS];
	for (int c = 0; c < s.channels; c++)
		planes[c] = jpeg->mem->request_virt_barray((j_common_ptr)jpeg, JPOOL_IMAGE, FALSE, across, down, 1);
	jpeg->mem->realize_virt_arrays((j_common_ptr)jpeg);
	for (int c = 0; c < s.channels; c++)
		for (JDIMENSION y = 0; y < down; y++) {
			JBLOCKARRAY row = jpeg->mem->access_virt_barray((j_common_ptr)jpeg, planes[c], y, 1, TRUE);
			memcpy(row[0], coefficients, across * sizeof(JBLOCK));
			coefficients += across * DCTSIZE2;
		}
	jpeg_write_coefficients(jpeg, planes);
}

fs_kind fs_encode(fs_shape s, const uint8_t *pixels, const int16_t *coefficients, uint8_t **out, unsigned long *size, char *text) {
	encoder e;
	memset(&e.jpeg, 0, sizeof e.jpeg);
	*out = NULL;
	*size = 0;
	e.jpeg.err = fs_errors_init(&e.errors);
	if (setjmp(e.errors.entry)) {
		jpeg_destroy_compress(&e.jpeg);
		*out = NULL; // what was there may have been freed
		strcpy(text, e.errors.text);
		return e.errors.kind;
	}
	jpeg_create_compress(&e.jpeg);
	jpeg_mem_dest(&e.jpeg, out, size);
	settings(&e.jpeg, s);
	if (pixels) put_pixels(&e.jpeg, s, pixels);
	else put_coefficients(&e.jpeg, s, coefficients);
	jpeg_finish_compress(&e.jpeg);
	jpeg_destroy_compress(&e.jpeg);
	return FS_OK;
}

fs_kind fs_steps(int quality, uint16_t steps[2][64], char *text) {
	encoder e;
	memset(&e.jpeg, 0, sizeof e.jpeg);
	e.jpeg.err = fs_errors_init(&e.errors);
	if (setjmp(e.errors.entry)) {
		jpeg_destroy_compress(&e.jpeg);
		strcpy(text, e.errors.text);
		return e.errors.kind;
	}
	jpeg_create_compress(&e.jpeg);
	settings(&e.jpeg, (fs_shape){.w = 8, .h = 8, .channels = 3, .quality = quality});
	for (int t = 0; t < 2; t++) memcpy(steps[t], e.jpeg.quant_tbl_ptrs[t]->quantval, sizeof steps[t]);
	jpeg_destroy_compress(&e.jpeg);
	return FS_OK;
}
