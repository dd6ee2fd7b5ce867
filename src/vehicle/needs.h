/*
 * From a wished flight to the thrust that flies it.
 *
 * The flight is up at g + a, slower at g - a, hover at g, down at g - a, slower at g + a, to contact at no speed: the thrust
 * along the axis that it takes is A = m (g + a) + D v |v|, with m the mass and D the drag. N motors of thrust F give between
 * k_least N F and k_full N F, so that a motor will do while A / (k_full N) <= F <= A / (k_least N). Mass at r seconds before
 * contact under a steady thrust is the dry mass and N F r / c, with c the exhaust velocity: what a steady thrust may be is
 * then a closed form at each instant (theory.md, section on lift).
 */
#ifndef SM_VEHICLE_NEEDS_H
#define SM_VEHICLE_NEEDS_H

#include "slowmatch/needs.h"
#include "vehicle/vehicle.h"

/* Given: burn, of the motor that the request starts from; wish as given. Returned: *needs but for the motor's name, columns in the
 * arena. Status: as sm_needs_study's. */
enum sm_status sm_needs_reckon(const struct sm_vehicle *vehicle, const struct sm_result *burn,
                               const struct sm_needs_wish *wish, struct sm_arena *arena,
                               struct sm_needs *needs, struct sm_error *err) SM_MUST_CHECK;

#endif
