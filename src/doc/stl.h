/*
 * Triangles from STL files, binary or text.
 *
 * Reference: M. Burns, Automated Fabrication, 1993, section 6.5, "The STL format".
 */
#ifndef SM_DOC_STL_H
#define SM_DOC_STL_H

#include <stddef.h>

#include "base/arena.h"
#include "base/fail.h"

struct sm_stl {
    double *corners; /* x, y and z of each facet's three corners, 9 n of them [file unit] */
    size_t n;        /* facets */
};

/*
 * Reads a whole file.
 *
 * Given: most, facets at most.
 * Returned: out, in the arena.
 * Status:
 *   SM_E_IO      the file can't be read
 *   SM_E_SYNTAX  it is cut short or longer than it says, or not as the format is; text with its line and column
 *   SM_E_RANGE   more than the facets allowed, or a corner that is not finite
 *   SM_E_NOMEM
 * Notes:
 *   1) A file is binary if its length is what a binary one's count of facets makes it, or if it does not begin with
 *      "solid", or holds a zero byte.
 *   2) Normals are passed over: the order of the corners says the same.
 */
enum sm_status sm_stl_read_file(struct sm_arena *arena, const char *path, size_t most, struct sm_stl *out,
                                struct sm_error *err) SM_MUST_CHECK;

#endif
