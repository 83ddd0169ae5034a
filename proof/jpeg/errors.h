#ifndef FS_JPEG_ERRORS_H
#define FS_JPEG_ERRORS_H

#include "jpeg.h"

// fs_errors_init returns a manager under which the library leaves at every damage. Before
// each call, entry must have been set.
struct jpeg_error_mgr *fs_errors_init(fs_errors *e);

#endif
