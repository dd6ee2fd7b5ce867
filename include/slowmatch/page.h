/*
 * Pages of one file each, that open anywhere without a network: the report of a motor and the lesson.
 *
 * A page shows numbers that the engine reckoned and put as text; it reckons none itself.
 */
#ifndef SLOWMATCH_PAGE_H
#define SLOWMATCH_PAGE_H

#include "slowmatch/lift.h"
#include "slowmatch/show.h"
#include "slowmatch/spread.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Was this library built with what pages embed? Without it the calls below fail, with SM_E_IO, and nothing else does. */
SM_API bool sm_pages_built(void);

/* What all pages share, for pages that other programs make. */
enum sm_page_part {
    SM_PAGE_COMMON_SHEET, /* CSS: type, margins, tables, controls, print */
    SM_PAGE_PLOT_SHEET,   /* CSS of the plotting library */
    SM_PAGE_PLOT_LIBRARY, /* JavaScript: uPlot, MIT licence */
    SM_PAGE_PLOT_CODE     /* JavaScript: slowmatchPlot, our grammar of plots over it */
};
/* Returned: n bytes of text, static; NULL if built without pages. */
SM_API const char *sm_page_part(enum sm_page_part part, size_t *n);

/* All zeros: usual values. Borrowed for the length of the call. */
struct sm_report_options {
    enum sm_unit_system system;
    int count;                           /* motors installed together; 0: as the vehicle says, else one */
    const struct sm_lift *lift;          /* of a vehicle that flies this motor; NULL: none */
    const struct sm_spread *spread;      /* of this motor, whose bands of thrust are drawn; NULL: none */
    const char *input_name;              /* of the motor file, without folder; NULL: unknown */
    const char *input_hash;              /* its SHA-256 as sm_hash_file gives it; NULL: unknown */
    const char *input_text;              /* as sm_motor_write_inputs writes it; NULL: unknown */
    const struct sm_override *overrides; /* values set over the file's, n_overrides of them */
    size_t n_overrides;
};

/*
 * Writes the report of one run as a page.
 *
 * Status: SM_E_IO if the library was built without pages or the sink refuses.
 */
SM_API enum sm_status sm_report_write(const struct sm_motor *motor, const struct sm_result *result,
                                      const struct sm_report_options *options, struct sm_sink *sink,
                                      struct sm_error *err) SM_MUST_CHECK;

/* All zeros: the lesson on motors of its own. */
struct sm_lesson_options {
    enum sm_unit_system system;
    const struct sm_motor *motors[2]; /* to teach on in place of them; both or none, with their results */
    const struct sm_result *results[2];
    const struct sm_context *context; /* NULL: defaults */
};
/*
 * Writes the lesson on why one motor lasts longer than another as a page: it burns a few hundred motors to fill its sliders.
 *
 * Status: SM_E_IO if the library was built without pages or the sink refuses; SM_E_CANCELLED.
 */
SM_API enum sm_status sm_lesson_write(const struct sm_lesson_options *options, struct sm_sink *sink,
                                      struct sm_error *err) SM_MUST_CHECK;

/*
 * The motor file as it is loaded: overrides set, and the propellant in place of its name, so that it can be run again as it
 * stands, beside the files it names. Status: as sm_motor_load; SM_E_FIELD for a curve file, which needs none of that.
 */
SM_API enum sm_status sm_motor_write_inputs(const char *path, const struct sm_load_options *options,
                                            struct sm_sink *sink, struct sm_error *err) SM_MUST_CHECK;

#ifdef __cplusplus
}
#endif
#endif
