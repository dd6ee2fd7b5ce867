#include "steady.h"

#include <criterion/criterion.h>
#include <math.h>

void steady_set_up(struct steady *v, double thrust, double burned, double limit)
{
    sm_arena_init(&v->arena, NULL);
    for (int i = 0; i < STEADY_KNOTS; i++) {
        const double share = (double)i / (STEADY_KNOTS - 1);
        v->t[i] = 13.5 * share;
        v->thrust[i] = thrust;
        v->least[i] = thrust * cos(limit);
        v->spread[i] = thrust - v->least[i];
        v->mass[i] = 2.3 - burned * share;
    }
    v->profile = (struct sm_profile){.n = STEADY_KNOTS,
                                     .t = v->t,
                                     .thrust = v->thrust,
                                     .full = v->thrust,
                                     .least = v->least,
                                     .mass = v->mass,
                                     .gravity = 9.80665};
    cr_assert(sm_profile_integrate(&v->profile, &v->arena, NULL) == SM_OK);
}
