/* From a byte offset in a text to what a person needs: line, column, the line itself and a caret. */
#ifndef SM_DOC_PLACE_H
#define SM_DOC_PLACE_H

#include <stddef.h>

#include "base/fail.h"

/*
 * Fills err->at.file, line and column, err->excerpt and err->caret for the byte at offset of text[0..n).
 *
 * Notes:
 *   1) Lines end at LF or CR LF; the column counts bytes from 1.
 *   2) The excerpt is cut round the column and shows control characters as blanks and ill-formed UTF-8 as
 *      '?'. The caret counts characters, not bytes, so that caret - 1 blanks put '^' under the place.
 */
void sm_place(struct sm_error *err, const char *file, const char *text, size_t n, size_t offset);

/* The same for one line that the caller has cut out: its number, its text without the line end, a byte column
 * from 1. */
void sm_place_in_line(struct sm_error *err, const char *file, unsigned line, const char *text, size_t n,
                      size_t column);

/* Sets err->at.file, cut to fit, and leaves the rest. */
void sm_place_file(struct sm_error *err, const char *file);

#endif
