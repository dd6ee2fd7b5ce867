/* Drawn motors burned by eights, where lanes can carry them; what a spread keeps of each. */
#ifndef SM_UNCERTAIN_LANEGROUP_H
#define SM_UNCERTAIN_LANEGROUP_H

#include "ballistics/lanes.h"
#include "slowmatch/simulate.h"

/* Room of one worker. Large: keep it off the stack. */
struct sm_lane_group {
    const struct sm_motor *base;
    const struct sm_run_options *run;
    int has_table;
    struct sm_lane_table table;         /* of the base motor, for all whose grains are as there */
    struct sm_lane_table own[SM_LANES]; /* of others */
    struct sm_lanes lanes;
    struct sm_lane_nozzle nozzle;
    struct sm_lane_curve curve[SM_LANES];
    struct sm_result result
        [SM_LANES]; /* series of time, thrust, pressure and propellant; figures of the thrust; peak pressure */
};

/* Does a run of this motor with these options ask for no more than lanes give? */
int sm_lane_group_fits(const struct sm_motor *motor, const struct sm_run_options *run);

/* Once for each worker. run and base must outlive the group. */
void sm_lane_group_init(struct sm_lane_group *group, const struct sm_motor *base,
                        const struct sm_run_options *run, struct sm_arena *arena);

/* Empties all lanes. */
void sm_lane_group_begin(struct sm_lane_group *group);

/* Puts a motor with its grain at temperature [K] into a lane, if lanes can carry it; the arena serves until the next begin. */
void sm_lane_group_put(struct sm_lane_group *group, int lane, const struct sm_motor *motor,
                       double temperature, struct sm_arena *arena);

/* Burns all lanes. */
void sm_lane_group_burn(struct sm_lane_group *group);

/* Returned: the result of a lane, until the next burn; NULL if it is for the general march. */
const struct sm_result *sm_lane_group_result(struct sm_lane_group *group, int lane);

#endif
