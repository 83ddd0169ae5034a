// What the C library would ask of a system. There is none: it gets an error, and
// the module needs nothing from its host.
#include <stdint.h>

#define BADF 8

int32_t __imported_wasi_snapshot_preview1_fd_close(int32_t fd) { return BADF; }
int32_t __imported_wasi_snapshot_preview1_fd_fdstat_get(int32_t fd, int32_t at) { return BADF; }
int32_t __imported_wasi_snapshot_preview1_fd_seek(int32_t fd, int64_t to, int32_t from, int32_t at) { return BADF; }
int32_t __imported_wasi_snapshot_preview1_fd_write(int32_t fd, int32_t at, int32_t n, int32_t done) { return BADF; }
