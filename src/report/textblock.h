/* A text broken into lines that fit a width. */
#ifndef SM_REPORT_TEXTBLOCK_H
#define SM_REPORT_TEXTBLOCK_H

#include "base/arena.h"
#include "report/canvas.h"

struct sm_textblock {
    char **lines; /* n of them, in the arena */
    size_t n;
    struct sm_font font;
    double width, height; /* of the box round all lines [px]; both 0 if there is no text */
};

/* What it should fit into. It breaks at spaces; if that takes more than max_lines or a word is wider than
 * max_width, letters shrink to smallest; then words are cut and the last line ends in an ellipsis. */
struct sm_textblock_limits {
    struct sm_font font;
    double smallest;  /* letters [px]; 0: that of the font, no shrinking */
    double max_width; /* [px] */
    size_t max_lines; /* at least 1 */
    bool even;        /* lines of about one length, and letters shrink before a second line is begun */
};

/*
 * Given:
 *   text   UTF-8; control characters count as spaces; NULL as empty
 * Status:
 *   SM_E_NOMEM  memory is out
 */
enum sm_status sm_textblock_make(struct sm_textblock *block, struct sm_canvas *canvas, struct sm_arena *arena,
                                 const char *text, const struct sm_textblock_limits *limits,
                                 struct sm_error *err) SM_MUST_CHECK;

/* Draws it with the top left corner of its box at x, y [px]; lines at the left, or centred in the box. */
void sm_textblock_draw(struct sm_canvas *canvas, const struct sm_textblock *block, double x, double y,
                       bool centred);

#endif
