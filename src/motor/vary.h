/*
 * A motor like another but for some values, without reading text again: what fits and studies of tolerances march over.
 */
#ifndef SM_MOTOR_VARY_H
#define SM_MOTOR_VARY_H

#include "base/pointer.h"
#include "motor/motor.h"

struct sm_change {
    const char *pointer; /* into the motor as loaded: "/propellant/burn_rate/0/rate", "/grains/0/length" */
    double value;        /* SI [unit of the value pointed to] */
};

/* The one list that stands for a number: its value is 1, and a change multiplies every rate of the law by it. */
#define SM_VARY_RATES "/propellant/burn_rate"

/*
 * Given: base, assembled; changes[n], applied in order, SM_VARY_RATES last; allocator or NULL.
 * Returned: *out, immutable like any motor, to be freed with sm_motor_free before base, from which it borrows texts, what
 * lists were not changed, and the burnback tables of grains that no change points to. A grain that only changes its size (all
 * lengths alike, or the length of a prism with ends that don't burn) is not cut again: its table is multiplied.
 * A section that is cut again holds the area to 1e-7 of the largest, not to 1e-9 as one that was read.
 * Status: SM_E_FIELD for a pointer that leads to no number; SM_E_RANGE for a value out of its row's bounds, or what
 * sm_motor_assemble finds wrong, with the pointer; SM_E_NOMEM.
 */
enum sm_status sm_motor_vary(const struct sm_motor *base, const struct sm_change *changes, size_t n,
                             const struct sm_allocator *allocator, struct sm_motor **out,
                             struct sm_error *err) SM_MUST_CHECK;

/* The value at a pointer, and the row that tells its dimension and bounds. SM_ABSENT if the motor does not give it. */
enum sm_status sm_motor_value(const struct sm_motor *motor, const char *pointer, double *value,
                              const struct sm_param **row, struct sm_error *err) SM_MUST_CHECK;

#endif
