/*
 * What tilt turns, against closed forms of statics (no published source beyond the moment of a force about a point): motors that
 * are splayed by delta at a lever L behind the centre of mass, all tilted by eps.
 */
#include "vehicle/turning.h"
#include "base/fail.h"

#include <criterion/criterion.h>
#include <math.h>

static const double degree = 0.0174532925199432958;

static struct sm_turning_group ring(int count, double splay)
{
    return (struct sm_turning_group){.count = count,
                                     .radius = 0.06,
                                     .lever = 0.17,
                                     .thrust = 13.0,
                                     .splay = splay,
                                     .low = -60.0 * degree,
                                     .high = 60.0 * degree,
                                     .across = 20.0 * degree};
}

static void expect(double found, double wanted, const char *what)
{
    cr_expect(fabs(found - wanted) <= 1e-12 + 1e-10 * fabs(wanted), "%s: %.15g, not %.15g", what, found,
              wanted);
}

Test(turning, a_pair_in_its_plane_and_across_it)
{
    for (int i = 0; i <= 5; i++) {
        const double delta = 10.0 * i * degree, eps = (1.0 + 2.0 * i) * degree;
        const struct sm_turning_group g = ring(2, delta);
        const double force = 2.0 * 13.0 * sin(eps);
        expect(sm_turning_moment(&g, SM_TURN_PITCH, eps), force * (0.17 * cos(delta) + 0.06 * sin(delta)),
               "pitch");
        expect(sm_turning_moment(&g, SM_TURN_YAW, eps), force * 0.17 * cos(delta), "yaw");
        expect(sm_turning_moment(&g, SM_TURN_ROLL, eps), force * 0.06, "roll");
        expect(sm_turning_moment(&g, SM_TURN_PITCH, -eps), force * (0.17 * cos(delta) + 0.06 * sin(delta)),
               "the other way");
    }
}

Test(turning, rings_turn_alike_about_any_axis)
{
    for (int n = 3; n <= 8; n++)
        for (int i = 0; i <= 4; i++) {
            struct sm_turning_group g = ring(n, 12.0 * i * degree);
            g.azimuth = 0.3 * i;
            const double eps = 7.0 * degree, force = n * 13.0 * sin(eps);
            const double wanted = force * (0.17 * cos(g.splay) + 0.03 * sin(g.splay));
            expect(sm_turning_moment(&g, SM_TURN_PITCH, eps), wanted, "pitch");
            expect(sm_turning_moment(&g, SM_TURN_YAW, eps), wanted, "yaw");
            expect(sm_turning_moment(&g, SM_TURN_ROLL, eps), force * 0.06, "roll");
        }
}

Test(turning, stops_leave_what_is_between_them_and_the_splay)
{
    const double delta = 35.0 * degree;
    struct sm_turning_group g = ring(2, delta);
    expect(sm_turning_left(&g, SM_TURN_PITCH), 25.0 * degree, "up to the nearer stop");
    expect(sm_turning_left(&g, SM_TURN_ROLL), 20.0 * degree, "roll");
    /* A splayed motor that is turned by eps across its plane is tilted across by asin(cos delta sin eps). */
    expect(sin(sm_turning_left(&g, SM_TURN_YAW)), sin(20.0 * degree) / cos(delta), "yaw");
    g.across = 0.0;
    cr_expect(sm_turning_left(&g, SM_TURN_YAW) == 0.0 && sm_turning_left(&g, SM_TURN_ROLL) == 0.0,
              "a pair that tilts in its plane alone turns in it alone");
    g.splay = g.high;
    cr_expect(sm_turning_left(&g, SM_TURN_PITCH) < 1e-9, "nothing is left at the stop");
    struct sm_turning_group one = ring(1, 0.0);
    one.radius = 0.0;
    expect(sm_turning_left(&one, SM_TURN_PITCH), 60.0 * degree, "one gimballed motor pitches");
    expect(sm_turning_moment(&one, SM_TURN_PITCH, 0.1), 13.0 * 0.17 * sin(0.1), "by its lever");
    cr_expect(sm_turning_left(&one, SM_TURN_ROLL) == 0.0, "but does not roll");
}

Test(turning, errors_of_a_pair_add_as_independent_ones)
{
    const double delta = 33.0 * degree, root = sqrt(2.0), lever = 0.17, half = 0.06, thrust = 13.0;
    const struct sm_turning_group g = ring(2, delta);
    const struct sm_turning_errors mismatch = {.mismatch = 0.02}, angle = {.angle = 0.01},
                                   offset = {.offset = 1e-3};
    expect(sm_turning_error(&g, &mismatch, SM_TURN_PITCH),
           0.02 * root * thrust * fabs(lever * sin(delta) - half * cos(delta)), "mismatch in pitch");
    cr_expect(fabs(sm_turning_error(&g, &mismatch, SM_TURN_YAW)) < 1e-15,
              "mismatch does not turn a pair in yaw");
    expect(sm_turning_error(&g, &angle, SM_TURN_PITCH),
           0.01 * root * thrust * (lever * cos(delta) + half * sin(delta)), "angle in pitch");
    expect(sm_turning_error(&g, &angle, SM_TURN_YAW), 0.01 * root * thrust * lever, "angle in yaw");
    expect(sm_turning_error(&g, &angle, SM_TURN_ROLL), 0.01 * root * thrust * half, "angle in roll");
    expect(sm_turning_error(&g, &offset, SM_TURN_PITCH), 1e-3 * root * thrust * cos(delta),
           "offset in pitch");
}

Test(turning, trim_is_the_tilt_whose_moment_is_that_of_the_errors)
{
    const double delta = 33.0 * degree, most = 2.0 * 13.0 * (0.17 * cos(delta) + 0.06 * sin(delta));
    const struct sm_turning_group g = ring(2, delta);
    expect(sm_turning_trim(&g, 1, SM_TURN_PITCH, 0.2), asin(0.2 / most), "trim");
    cr_expect(sm_turning_trim(&g, 1, SM_TURN_PITCH, 0.0) == 0.0, "no error, no trim");
    expect(sm_turning_trim(&g, 1, SM_TURN_PITCH, 1.1 * most), 90.0 * degree, "more than there is");
    struct sm_turning_group still = g;
    still.across = 0.0;
    cr_expect(isnan(sm_turning_trim(&still, 1, SM_TURN_ROLL, 0.2)), "it can't tilt that way");
}
