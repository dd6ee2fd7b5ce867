#include "uncertain/lanegroup.h"

#include <math.h>

#include "curve/curve.h"

int sm_lane_group_fits(const struct sm_motor *motor, const struct sm_run_options *run)
{
    static const double accuracy = 1e-4; /* that lanes keep in total impulse [1] */
    return !motor->spec.is_curve && run->model == SM_MODEL_TRANSIENT && run->heat_transfer == 0.0 &&
           (run->accuracy == 0.0 || run->accuracy >= accuracy);
}

void sm_lane_group_init(struct sm_lane_group *group, const struct sm_motor *base,
                        const struct sm_run_options *run, struct sm_arena *arena)
{
    struct sm_chamber chamber;
    *group = (struct sm_lane_group){.base = base, .run = run};
    if (sm_chamber_init(&chamber, base, base->spec.conditions.grain_temperature, SM_ABSENT, arena, NULL) !=
        SM_OK)
        return;
    group->has_table = sm_lane_table_make(&group->table, &chamber);
    sm_lane_nozzle_make(&group->nozzle,
                        &chamber.jet); /* of the base: what a lane gives must not hang on who came first */
}

void sm_lane_group_begin(struct sm_lane_group *group)
{
    sm_lanes_clear(&group->lanes);
}

void sm_lane_group_put(struct sm_lane_group *group, int lane, const struct sm_motor *motor,
                       double temperature, struct sm_arena *arena)
{
    struct sm_chamber chamber;
    const struct sm_lane_table *table = &group->table;
    if (sm_chamber_init(&chamber, motor, temperature, SM_ABSENT, arena, NULL) != SM_OK)
        return;
    if (!group->has_table || motor->stack.pieces != group->base->stack.pieces) {
        if (!sm_lane_table_make(&group->own[lane], &chamber))
            return;
        table = &group->own[lane];
    }
    sm_lanes_load(&group->lanes, lane, &chamber, table);
}

void sm_lane_group_burn(struct sm_lane_group *group)
{
    int any = 0;
    for (int i = 0; i < SM_LANES; i++)
        any |= group->lanes.has[i];
    if (any)
        sm_lanes_march(&group->lanes, sm_lane_set_best());
}

const struct sm_result *sm_lane_group_result(struct sm_lane_group *group, int lane)
{
    struct sm_lane_curve *c = &group->curve[lane];
    struct sm_result *r = &group->result[lane];
    struct sm_curve_numbers numbers;
    const struct sm_curve_rule rule = {.burn_end = group->run->burn_end,
                                       .ambient = group->lanes.jet[lane].ambient};
    if (!group->lanes.has[lane] || !sm_lanes_curve(&group->lanes, lane, &group->nozzle, c))
        return NULL;
    const struct sm_curve curve = {.time = c->time, .thrust = c->thrust, .pressure = c->pressure, .n = c->n};
    if (sm_curve_numbers(&curve, &rule, &numbers, NULL) != SM_OK)
        return NULL;
    *r = (struct sm_result){
        .complete = true,
        .series = {.n = c->n,
                   .time = c->time,
                   .thrust = c->thrust,
                   .pressure = c->pressure,
                   .propellant_mass = c->propellant},
        .thrust = {.total_impulse = c->impulse,
                   .burn_start = numbers.burn_start,
                   .burn_time = numbers.burn_time,
                   .average = c->impulse / numbers.burn_time,
                   .maximum = numbers.maximum},
        .chamber = {.pressure_maximum = numbers.pressure_maximum},
    };
    return r;
}
