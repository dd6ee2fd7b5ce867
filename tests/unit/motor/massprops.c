/*
 * Mass, centre of mass and inertia of hardware, propellant and the whole motor, against the closed forms of cylinders and
 * the parallel-axis theorem (any mechanics text): m (R^2 + r^2) / 2 about the axis, m ((R^2 + r^2) / 4 + L^2 / 12) across it.
 */
#include "unit/ballistics/bench_motor.h"

#include <stdio.h>

static const double pi = 3.14159265358979323846;

/* Rounding of a few dozen operations. */
static const double rounding = 1e-12;

struct cylinder {
    double mass, at, length, outer, inner; /* [kg], [m], [m], radii [m] */
};

struct sums {
    double mass, center, axial, across; /* [kg], [m], [kg m2], across about the centre [kg m2] */
};

static struct sums add_up(const struct cylinder *c, size_t n)
{
    struct sums s = {0.0, 0.0, 0.0, 0.0};
    for (size_t i = 0; i < n; i++) {
        s.mass += c[i].mass;
        s.center += c[i].mass * c[i].at;
    }
    s.center /= s.mass;
    for (size_t i = 0; i < n; i++) {
        const double square = c[i].outer * c[i].outer + c[i].inner * c[i].inner, apart = c[i].at - s.center;
        s.axial += 0.5 * c[i].mass * square;
        s.across += c[i].mass * (0.25 * square + c[i].length * c[i].length / 12.0 + apart * apart);
    }
    return s;
}

static void expect_body(const struct sm_body *got, const struct sums *s, const char *what)
{
    cr_expect(relative(got->mass, s->mass) < rounding, "%s: mass %.15g", what, got->mass);
    cr_expect(relative(got->center_of_mass, s->center) < rounding, "%s: centre %.15g", what,
              got->center_of_mass);
    cr_expect(relative(got->inertia_axial, s->axial) < rounding, "%s: axial %.15g against %.15g", what,
              got->inertia_axial, s->axial);
    cr_expect(relative(got->inertia_transverse, s->across) < rounding, "%s: across %.15g against %.15g", what,
              got->inertia_transverse, s->across);
}

/* A motor with hardware of these parts; from is the word for all but points, which have no diameter. */
static struct sm_motor *with_parts(const struct cylinder *c, size_t n, const char *form)
{
    char text[8192] = "{\"parts\":[";
    size_t at = strlen(text);
    for (size_t i = 0; i < n; i++)
        at += (size_t)snprintf(
            text + at, sizeof text - at,
            c[i].outer > 0.0
                ? "%s{\"mass\":\"%.17g kg\",\"at\":\"%.17g m\",\"form\":\"%s\",\"length\":\"%.17g m\","
                  "\"outer_diameter\":\"%.17g m\",\"inner_diameter\":\"%.17g m\"}"
                : "%s{\"mass\":\"%.17g kg\",\"at\":\"%.17g m\"}",
            i > 0 ? "," : "", c[i].mass, c[i].at, form, c[i].length, 2.0 * c[i].outer, 2.0 * c[i].inner);
    snprintf(text + at, sizeof text - at, "]}");
    const struct sm_override parts[] = {{"hardware", text}};
    return load_text(tubes_text, parts, 1);
}

Test(massprops, parts_of_every_form_have_the_inertia_of_cylinders)
{
    static const struct cylinder tube[] = {{0.19, 0.098, 0.205, 0.021, 0.019}};
    static const struct cylinder disc[] = {{0.035, -0.005, 0.01, 0.019, 0.0}};
    static const struct cylinder mixed[] = {{0.19, 0.098, 0.205, 0.021, 0.019},
                                            {0.035, -0.005, 0.01, 0.019, 0.0},
                                            {0.06, 0.21, 0.03, 0.019, 0.0045},
                                            {0.012, 0.31, 0.0, 0.0, 0.0}};
    const struct {
        const struct cylinder *parts;
        size_t n;
        const char *form;
    } rows[] = {{tube, 1, "tube"}, {disc, 1, "disc"}, {mixed, 4, "tube"}, {mixed, 4, "disc"}};
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        const struct sums s = add_up(rows[i].parts, rows[i].n);
        struct sm_motor *motor = with_parts(rows[i].parts, rows[i].n, rows[i].form);
        expect_body(&motor->hardware, &s, rows[i].form);
        sm_motor_free(motor);
    }
}

Test(massprops, a_tube_sawn_into_rings_is_the_same_tube)
{
    enum { N = 8 };
    const struct cylinder whole = {0.4, 0.13, 0.24, 0.03, 0.026};
    struct cylinder rings[N];
    for (int i = 0; i < N; i++)
        rings[i] = (struct cylinder){whole.mass / N, whole.at + whole.length * ((i + 0.5) / N - 0.5),
                                     whole.length / N, whole.outer, whole.inner};
    const struct sums s = add_up(&whole, 1);
    struct sm_motor *motor = with_parts(rings, N, "disc");
    expect_body(&motor->hardware, &s, "rings");
    sm_motor_free(motor);
}

/* The example stack's tubes at distance burned w, as cylinders. Returned: how many. */
static size_t tubes_at(double w, struct cylinder *c)
{
    const double density = 1770.0, outer = 18e-3, bore = 7e-3 + w, length = 58e-3, pitch = 60e-3;
    for (int i = 0; i < 4; i++)
        c[i] = (struct cylinder){density * pi * (outer * outer - bore * bore) * (length - 2.0 * w),
                                 0.5 * length + i * pitch, length - 2.0 * w, outer, bore};
    return 4;
}

Test(massprops, propellant_and_motor_have_the_sums_of_their_parts_at_every_instant)
{
    static const struct sm_override hardware[] = {
        {"hardware", "{\"mass\":\"300 g\",\"center_of_mass\":\"140 mm\",\"inertia_axial\":\"1e-4 kg m2\","
                     "\"inertia_transverse\":\"3e-3 kg m2\"}"}};
    struct sm_motor *motor = load_text(tubes_text, hardware, 1);
    struct sm_result *r = run_motor(motor, SM_MODEL_TRANSIENT, 1e-4);
    const struct sm_series *s = &r->series;
    double last_center = 0.0;
    for (size_t i = 0; i < s->n; i++) {
        struct cylinder c[4];
        const size_t n = tubes_at(s->web[i], c);
        if (!(s->web[i] < 11e-3 * (1.0 - 1e-9))) {
            /* nothing left, and the centre stays where it was last */
            cr_expect(s->propellant_mass[i] < 1e-9 && relative(s->center_of_mass[i], last_center) < 1e-6);
            cr_expect(fabs(s->motor_mass[i] - 0.3) < 1e-9 && fabs(s->motor_center_of_mass[i] - 0.14) < 1e-6);
            cr_expect(relative(s->motor_inertia_transverse[i], 3e-3) < 1e-6);
            continue;
        }
        const struct sums p = add_up(c, n);
        /* the volume comes of a difference, so its rounding counts for more as it goes */
        const double slack = 1e-11 * motor->propellant_mass / p.mass;
        cr_expect(relative(s->propellant_mass[i], p.mass) < slack);
        cr_expect(relative(s->center_of_mass[i], p.center) < slack);
        cr_expect(relative(s->inertia_axial[i], p.axial) < slack);
        cr_expect(relative(s->inertia_transverse[i], p.across) < slack);
        const double mass = p.mass + 0.3, center = (p.mass * p.center + 0.3 * 0.14) / mass;
        const double across = p.across + p.mass * (p.center - center) * (p.center - center) + 3e-3 +
                              0.3 * (0.14 - center) * (0.14 - center);
        cr_expect(relative(s->motor_mass[i], mass) < slack);
        cr_expect(relative(s->motor_center_of_mass[i], center) < slack);
        cr_expect(relative(s->motor_inertia_axial[i], p.axial + 1e-4) < slack);
        cr_expect(relative(s->motor_inertia_transverse[i], across) < slack);
        last_center = p.center;
    }
    sm_result_free(r);
    sm_motor_free(motor);
}

Test(massprops, an_end_burners_centre_goes_forward_as_it_burns)
{
    struct sm_motor *motor = load_text(end_burner_text, NULL, 0);
    struct sm_result *r = run_motor(motor, SM_MODEL_TRANSIENT, 1e-4);
    const struct sm_series *s = &r->series;
    const double radius = 14.5e-3, length = 88e-3;
    for (size_t i = 0; i < s->n && s->web[i] < 0.999 * length; i++) {
        /* it burns from its aft end, so what is left stands at the head */
        const double left = length - s->web[i], m = 1680.0 * pi * radius * radius * left;
        cr_expect(relative(s->propellant_mass[i], m) < 1e-9);
        cr_expect(relative(s->center_of_mass[i], 0.5 * left) < 1e-9);
        cr_expect(relative(s->inertia_axial[i], 0.5 * m * radius * radius) < 1e-9);
        cr_expect(relative(s->inertia_transverse[i], m * (0.25 * radius * radius + left * left / 12.0)) <
                  1e-9);
    }
    cr_expect(s->motor_mass == NULL, "no hardware, no motor columns");
    sm_result_free(r);
    sm_motor_free(motor);
}
