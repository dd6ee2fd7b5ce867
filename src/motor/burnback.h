/* Rows of a burnback table from its pieces. */
#ifndef SM_MOTOR_BURNBACK_H
#define SM_MOTOR_BURNBACK_H

#include "motor/motor.h"

/* One row: geometry at a distance burned w [m]. */
struct sm_burnback_row {
    double w; /* [m] */
    struct sm_geometry_at at;
    double area_slope; /* dA/dw; next to a root of the area that a little way off, so finite [m] */
};

/* Rows at equal steps of w and at both sides of every jump of the area that is beyond what the table may err by, in the arena.
 * steps >= 1. */
enum sm_status sm_burnback_rows(const struct sm_geometry *g, size_t steps, struct sm_arena *arena,
                                struct sm_burnback_row **rows, size_t *n, struct sm_error *err) SM_MUST_CHECK;

#endif
