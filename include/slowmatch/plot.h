/*
 * Pictures and words from results.
 */
#ifndef SLOWMATCH_PLOT_H
#define SLOWMATCH_PLOT_H

#include "slowmatch/lift.h"
#include "slowmatch/simulate.h"
#include "slowmatch/spread.h"

#ifdef __cplusplus
extern "C" {
#endif

enum sm_picture_kind { SM_PICTURE_SVG, SM_PICTURE_PNG, SM_PICTURE_PDF };
/* By the ending of a file's name. Status: SM_E_RANGE for another ending. */
SM_API enum sm_status sm_picture_kind_of(const char *path, enum sm_picture_kind *kind,
                                         struct sm_error *err) SM_MUST_CHECK;

enum sm_unit_system { SM_UNITS_SI, SM_UNITS_US };

/* Thrust and pressure of n results against time, one panel each; one result shows its burn time and class too. */
SM_API enum sm_status sm_plot_results(const struct sm_result *const *results, size_t n,
                                      enum sm_unit_system system, enum sm_picture_kind kind,
                                      struct sm_sink *sink, struct sm_error *err) SM_MUST_CHECK;

/* Percentile bands of a spread against time, one panel each. */
SM_API enum sm_status sm_plot_spread(const struct sm_spread *spread, enum sm_unit_system system,
                                     enum sm_picture_kind kind, struct sm_sink *sink,
                                     struct sm_error *err) SM_MUST_CHECK;

/* Two or three plain sentences on why the burn times of n motors differ, from the numbers reckoned, into text[size].
 * motors[i] is that of results[i]. Returned: the length, as snprintf's. */
SM_API int sm_explain_burn_times(const struct sm_motor *const *motors, const struct sm_result *const *results,
                                 size_t n, char *text, size_t size);

/* Thrust against weight, where it can stand still, and the highest flight to each time of contact; the first alone if the vehicle has
 * no throttle. */
SM_API enum sm_status sm_plot_lift(const struct sm_lift *lift, enum sm_unit_system system,
                                   enum sm_picture_kind kind, struct sm_sink *sink,
                                   struct sm_error *err) SM_MUST_CHECK;

#ifdef __cplusplus
}
#endif
#endif
