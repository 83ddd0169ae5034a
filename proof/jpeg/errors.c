#include "errors.h"

#include <string.h>

#include <jerror.h>

static fs_kind kind_of(int code) {
	switch (code) {
	case JERR_INPUT_EMPTY:
	case JERR_INPUT_EOF:
	case JWRN_JPEG_EOF:
		return FS_SHORT;
	case JERR_ARITH_NOTIMPL:
	case JERR_BAD_PRECISION:
	case JERR_CCIR601_NOTIMPL:
	case JERR_CONVERSION_NOTIMPL:
	case JERR_FRACT_SAMPLE_NOTIMPL:
	case JERR_NOT_COMPILED:
	case JERR_NOTIMPL:
	case JERR_SOF_UNSUPPORTED:
		return FS_UNSUPPORTED;
	case JERR_NO_BACKING_STORE:
	case JERR_OUT_OF_MEMORY:
	case JERR_IMAGE_TOO_BIG:
	case JERR_WIDTH_OVERFLOW:
		return FS_MEMORY;
	default:
		return FS_DAMAGED;
	}
}

static void leave(j_common_ptr jpeg) {
	fs_errors *e = (fs_errors *)jpeg->err;
	e->kind = kind_of(e->manager.msg_code);
	e->manager.format_message(jpeg, e->text);
	longjmp(e->entry, 1);
}

// Of what the library only warns of, the pixels are as the file has them after four
// things; else it has made some up.
static void message(j_common_ptr jpeg, int level) {
	if (level >= 0) return; // a trace
	switch (jpeg->err->msg_code) {
	case JWRN_ADOBE_XFORM:
	case JWRN_BOGUS_PROGRESSION:
	case JWRN_EXTRANEOUS_DATA:
	case JWRN_JFIF_MAJOR:
		return;
	default:
		leave(jpeg);
	}
}

struct jpeg_error_mgr *fs_errors_init(fs_errors *e) {
	memset(e, 0, sizeof *e);
	jpeg_std_error(&e->manager);
	e->manager.error_exit = leave;
	e->manager.emit_message = message;
	return &e->manager;
}
