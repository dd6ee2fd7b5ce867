/* What plots and drawings have in common: the kinds of file they are written as. */
#ifndef SM_REPORT_PICTURE_H
#define SM_REPORT_PICTURE_H

#include <stddef.h>

#include "base/fail.h"
#include "base/sink.h"

enum sm_plot_kind { SM_PLOT_SVG, SM_PLOT_PNG, SM_PLOT_PDF };

/* Sizes a picture may have, either way [px]; a px is 1/96 inch, so 1200 px are 900 points on a PDF page. */
enum { SM_PICTURE_MIN = 160, SM_PICTURE_MAX = 8192 };

/*
 * The kind by the ending of a path: .svg, .png or .pdf, in any case.
 *
 * Status:
 *   SM_E_FIELD  another ending, or none; *kind is not touched
 */
enum sm_status sm_plot_kind_from_path(const char *path, enum sm_plot_kind *kind,
                                      struct sm_error *err) SM_MUST_CHECK;

/* "svg", "png" or "pdf". */
const char *sm_plot_kind_name(enum sm_plot_kind kind);

/* "image/svg+xml", "image/png" or "application/pdf". */
const char *sm_plot_kind_media_type(enum sm_plot_kind kind);

#endif
