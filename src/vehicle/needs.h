/*
 * From a wished flight to the thrust that flies it, by one group of motors beside the others: see vehicle/thrustspan.h.
 */
#ifndef SM_VEHICLE_NEEDS_H
#define SM_VEHICLE_NEEDS_H

#include "slowmatch/needs.h"
#include "vehicle/vehicle.h"

/* Which group is to be designed: by its place or name; NULL: its only one. Status: SM_E_FIELD. */
enum sm_status sm_needs_group(const struct sm_vehicle *vehicle, const char *wanted, size_t *group,
                              struct sm_error *err) SM_MUST_CHECK;

/* Given: runs, one a group; that of the group to be designed is of the motor that the request starts from; wish as given.
 * Returned: *needs but for the motor's name, columns in the arena. Status: as sm_needs_study's. */
enum sm_status sm_needs_reckon(const struct sm_vehicle *vehicle, const struct sm_result *const *runs,
                               size_t group, const struct sm_needs_wish *wish, struct sm_arena *arena,
                               struct sm_needs *needs, struct sm_error *err) SM_MUST_CHECK;

#endif
