/* What every page of one file has: head, sheets, scripts, and a policy that lets nothing else run or be fetched. */
#ifndef SM_APP_PAGE_SHELL_H
#define SM_APP_PAGE_SHELL_H

#include "doc/html_write.h"
#include "report/drawing.h"
#include "slowmatch/catalog.h"
#include "slowmatch/page.h"

enum sm_page_script { SM_PAGE_REPORT, SM_PAGE_LESSON };

/*
 * Opens a page up to the start of its main part; the policy names the hashes of the scripts that sm_page_close will put.
 * Status: SM_E_IO if the library was built without pages.
 * Reference: W3C Content Security Policy Level 3, hash sources.
 */
enum sm_status sm_page_open(struct sm_html *html, const char *title, enum sm_page_script script,
                            struct sm_error *err) SM_MUST_CHECK;
/* Scripts and the end. */
void sm_page_close(struct sm_html *html, enum sm_page_script script);

/* A chapter with its name in the margin; an id of our own. */
void sm_page_chapter(struct sm_html *html, const char *id, const char *name);
void sm_page_chapter_end(struct sm_html *html);

/* A path as the text of an SVG path's "d", millimetres, y downwards as SVG has it, to a hundredth. In the arena; NULL if
 * memory is out. Reference: W3C SVG 2, section 9.3. */
const char *sm_page_path(struct sm_arena *arena, const struct sm_draw_path *path);

#endif
