/* An outline's loops from the SVG drawing or the CSV of points that a grain names. */
#ifndef SM_INPUT_READ_OUTLINE_H
#define SM_INPUT_READ_OUTLINE_H

#include "grain/outline.h"
#include "input/read_params.h"

/*
 * Given: pointer of the grain, folder that its file's name is relative to, outline as its rows were read.
 * Returned: outline->loops, in the reader's arena, if a file is named.
 * Status: as sm_read_params; problems carry file and line of the drawing where they are of it.
 */
enum sm_status sm_read_outline(struct sm_reader *reader, const char *pointer, const char *folder,
                               struct sm_outline *outline) SM_MUST_CHECK;

#endif
