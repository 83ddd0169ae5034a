// What the host calls to have one picture decoded by libde265.
#include <stdint.h>
#include <stdlib.h>

#include <libde265/de265.h>

#define EXPORT(name) __attribute__((export_name(name)))

// The decoded picture as the host reads it: 32-bit numbers, chroma format first
// (H.265, 6.2), then of each plane its address, bytes a row, width, height, bits.
struct plane {
  uint32_t at, stride, width, height, bits;
};
static struct {
  uint32_t chroma;
  struct plane planes[3];
} picture;

static de265_decoder_context *decoder;

EXPORT("room") void *room(uint32_t size) { return malloc(size); }

EXPORT("picture") void *where(void) { return &picture; }

static uint32_t number(const uint8_t *p) {
  return (uint32_t)p[0] << 24 | (uint32_t)p[1] << 16 | (uint32_t)p[2] << 8 | p[3];
}

static de265_error push(const uint8_t *units, uint32_t size) {
  while (size >= 4) {
    uint32_t n = number(units);
    units += 4, size -= 4;
    if (n > size)
      return DE265_ERROR_PREMATURE_END_OF_SLICE;
    de265_error err = de265_push_NAL(decoder, units, n, 0, NULL);
    if (err)
      return err;
    units += n, size -= n;
  }
  return de265_flush_data(decoder);
}

static void tell(const de265_image *img) {
  picture.chroma = de265_get_chroma_format(img);
  for (int c = 0; c < (picture.chroma ? 3 : 1); c++) {
    int stride;
    const uint8_t *at = de265_get_image_plane(img, c, &stride);
    picture.planes[c] = (struct plane){(uint32_t)(uintptr_t)at, stride, de265_get_image_width(img, c),
                                       de265_get_image_height(img, c), de265_get_bits_per_pixel(img, c)};
  }
}

// decode reads units, each after its length in 4 bytes, out of size bytes that
// room gave, and frees them. The picture, of at most so many pixels, stays until
// the next one. Returns a de265_error: 0, what made the picture fail, or the
// first warning of one that came out.
EXPORT("decode") int decode(uint8_t *units, uint32_t size, uint32_t pixels) {
  if (decoder)
    de265_free_decoder(decoder);
  decoder = de265_new_decoder();
  if (!decoder)
    return DE265_ERROR_OUT_OF_MEMORY;
  de265_set_parameter_bool(decoder, DE265_DECODER_PARAM_SUPPRESS_FAULTY_PICTURES, 1);
  de265_security_limits limits = *de265_get_security_limits(decoder);
  limits.max_image_size_pixels = pixels;
  limits.max_NAL_size_bytes = size;
  de265_set_security_limits(decoder, &limits);

  de265_error err = push(units, size);
  free(units);
  for (int more = 1; !err && more && !de265_peek_next_picture(decoder);)
    err = de265_decode(decoder, &more);
  if (err)
    return err;
  const de265_image *img = de265_peek_next_picture(decoder);
  de265_error warning = de265_get_warning(decoder);
  if (!img)
    return warning ? warning : DE265_ERROR_UNSPECIFIED_DECODING_ERROR;
  tell(img);
  return warning;
}
