/* Thrust curves of a vehicle's motors as a spread draws them. */
#ifndef SM_VEHICLE_DRAWNCURVES_H
#define SM_VEHICLE_DRAWNCURVES_H

#include "slowmatch/spread.h"
#include "vehicle/vehicle.h"

enum { SM_DRAWN_GROUPS = 8 };

/* All zeros: none. */
struct sm_drawn_curves {
    size_t n;                                  /* groups */
    struct sm_spread *spread[SM_DRAWN_GROUPS]; /* owned; of pairs where a group has two motors or more */
};

/* Does a motor file of the vehicle state how far it strays? Status: as sm_tolerances_of. */
enum sm_status sm_drawn_is_stated(const struct sm_vehicle *vehicle, int *is_stated,
                                  struct sm_error *err) SM_MUST_CHECK;

/* Draws and burns n motors, or pairs, of each group. Status: as sm_spread_run. */
enum sm_status sm_drawn_curves_init(const struct sm_vehicle *vehicle, size_t n, uint64_t seed, int threads,
                                    const struct sm_allocator *allocator, struct sm_drawn_curves *curves,
                                    struct sm_error *err) SM_MUST_CHECK;
void sm_drawn_curves_release(struct sm_drawn_curves *curves);

/*
 * The curves of drawn vehicle i, in the arena.
 *
 * Given: told, one run a group, as the files have it.
 * Returned: runs[group] with time, thrust and propellant mass alone; *is_possible 0 where there is no such motor.
 * Notes:
 *   1) A group of two motors or more burns as the mean of a pair: what a batch shares strays in both alike, the rest in each by
 *      itself. Of more than two the rest would average out further.
 *   2) Propellant goes as impulse does, and all of it is what the file says.
 * Status: SM_E_NOMEM.
 */
enum sm_status sm_drawn_curves_take(const struct sm_drawn_curves *curves, const struct sm_result *const *told,
                                    size_t i, struct sm_arena *arena, struct sm_result *runs,
                                    int *is_possible, struct sm_error *err) SM_MUST_CHECK;

/* Standard deviations, as shares, of a motor's total impulse and burn time; *from says whose tolerances they come of. */
enum sm_status sm_drawn_deviations(const struct sm_motor *motor, const struct sm_context *context,
                                   double *impulse, double *burn_time, const char **from,
                                   struct sm_error *err) SM_MUST_CHECK;

#endif
