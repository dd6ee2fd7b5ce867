/* Ends of windows with drag and ramps: without either they are those of the closed forms, and the highest flight is the worked one
 * (our own closed-form integration, no source: 18.775 m at 45 degrees). */
#include "steady.h"
#include "vehicle/lift.h"

#include <criterion/criterion.h>
#include <math.h>

Test(flownends, without_drag_and_ramps_they_are_those_of_the_sums)
{
    enum { CONTACTS = 16 };
    struct steady v;
    const struct sm_flight_state start = {0};
    const double quarter = 0.785398163397448, step = 13.5 / CONTACTS;
    double first, last, highest, f, l, h;
    steady_set_up(&v, 26.0, 0.196, quarter);
    const struct sm_flight_model model = {
        .profile = &v.profile, .n = 1, .groups = {{.spread = v.spread, .high = quarter}}};
    cr_assert(sm_lift_window_ends(&v.profile, &start, 0.0, CONTACTS, &first, &last, &highest));
    cr_assert(sm_lift_flown_ends(&model, &start, 0.0, CONTACTS, &f, &l, &h));
    cr_expect(fabs(f - first) < step / 20.0 && fabs(l - last) < step / 20.0, "%g s, %g s", f - first,
              l - last);
    cr_expect(fabs(h - highest) < 1e-5 && fabs(h - 18.775) < 1e-3, "%g m", h);
    sm_arena_release(&v.arena);
}

Test(flownends, drag_lowers_the_highest_flight)
{
    struct steady v;
    const struct sm_flight_state start = {0};
    const double quarter = 0.785398163397448;
    double f, l, h;
    steady_set_up(&v, 26.0, 0.196, quarter);
    const struct sm_flight_model model = {.profile = &v.profile,
                                          .drag = 0.02,
                                          .n = 1,
                                          .groups = {{.spread = v.spread, .high = quarter, .ramp = 0.3}}};
    cr_assert(sm_lift_flown_ends(&model, &start, 0.5, 16, &f, &l, &h));
    cr_expect(h < 18.775 && h > 15.0 && l > 13.0, "%g m, %g s", h, l);
    sm_arena_release(&v.arena);
}
