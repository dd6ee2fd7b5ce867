/* Looking up knots, against walking through all of them. */
#include "vehicle/profile.h"
#include "draw.h"

#include <criterion/criterion.h>
#include <math.h>

Test(profile, knots_and_turns_are_found_as_by_walking)
{
    enum { KNOTS = 90, LOOKS = 4000 };
    double t[KNOTS], full[KNOTS], least[KNOTS], mass[KNOTS];
    uint64_t seed = 11;
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    t[0] = 0.0;
    for (int i = 0; i < KNOTS; i++) {
        if (i > 0) /* some far apart, most close together */
            t[i] = t[i - 1] + (i % 11 == 0 ? 0.9 : 1e-4) * draw_uniform(&seed, 0.1, 1.0);
        full[i] = draw_uniform(&seed, 15.0, 25.0);
        least[i] = 0.7 * full[i];
        mass[i] = 2.0 - 0.001 * i;
    }
    struct sm_profile p = {
        .n = KNOTS, .t = t, .thrust = full, .full = full, .least = least, .mass = mass, .gravity = 9.80665};
    cr_assert(sm_profile_integrate(&p, &arena, NULL) == SM_OK);
    for (int k = 0; k < LOOKS; k++) {
        const double at = k % 3 == 0 ? t[k % KNOTS] : draw_uniform(&seed, -0.1, t[KNOTS - 1] + 0.1);
        size_t expected = 0;
        while (expected + 2 < KNOTS && t[expected + 1] <= at)
            expected++;
        cr_assert(sm_profile_find(&p, at) == expected, "%zu, not %zu, at %g s", sm_profile_find(&p, at),
                  expected, at);
        const double other = at + draw_uniform(&seed, 0.0, 0.5);
        if (!sm_profile_is_one_sided(&p, 1, at, other))
            continue;
        int over = 0, under = 0;
        for (int i = 0; i <= 50; i++) {
            struct sm_profile_at now;
            sm_profile_eval(&p, at + (other - at) * i / 50.0, &now);
            over += now.full > now.mass * p.gravity + 1e-9;
            under += now.full < now.mass * p.gravity - 1e-9;
        }
        cr_assert(over == 0 || under == 0, "thrust passes the weight from %g s to %g s", at, other);
    }
    sm_arena_release(&arena);
}
