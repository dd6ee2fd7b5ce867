/* Stars against published closed forms and figures. */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "grain/prism.h"
#include "unit/grain/example.h"

/* A filleted star: n points, outer radius R, fillet centres at l, fillet radius f, angle fraction eps, half angle h. */
struct measures {
    int n;
    double R, l, f; /* [m] */
    double eps;     /* [1] */
    double h;       /* [rad] */
};

static struct example read_star(struct sm_arena *arena, const struct measures *m)
{
    const struct sm_shape *shape = sm_shape_find("star");
    struct example e = example_read(arena, shape);
    e.common.outer_diameter = 2 * m->R;
    for (size_t i = 0; i < shape->n_params; i++) {
        const struct sm_param *row = &shape->params[i];
        char *at = (char *)e.params + row->offset;
        if (strcmp(row->name, "points") == 0)
            *(int *)at = m->n;
        if (strcmp(row->name, "web") == 0)
            *(double *)at = m->R - m->l - m->f;
        if (strcmp(row->name, "fillet_radius") == 0)
            *(double *)at = m->f;
        if (strcmp(row->name, "angle_fraction") == 0)
            *(double *)at = m->eps;
        if (strcmp(row->name, "half_angle") == 0)
            *(double *)at = m->h;
    }
    return e;
}

static struct sm_burning_section burn(struct sm_arena *arena, const struct measures *m)
{
    const struct example e = read_star(arena, m);
    struct sm_section section;
    struct sm_burning_section out;
    struct sm_error err = {0};
    cr_assert_eq(sm_shape_section(e.shape, arena, &e.common, e.params, &section, &err), SM_OK, "%s",
                 err.message);
    cr_assert_eq(sm_section_burn(arena, &section, &out, &err), SM_OK, "%s", err.message);
    return out;
}

/* Perimeter until the fronts reach the wall: M. Barrere et al., Rocket Propulsion (Elsevier, 1960), ch. 6 (from memory);
 * the same in D. Davis, "PROPULSION - A Rocket Propulsion Engineering Course", module 21, eq. 3.7 and 3.9 (read). Phase I
 * ends when the flanks are used up. */
static double published_perimeter(const struct measures *m, double y)
{
    const double s = M_PI / m->n, r = y + m->f, reach = m->l * sin(m->eps * s);
    if (r <= reach / cos(m->h))
        return 2 * m->n *
               (m->l * (sin(m->eps * s) / sin(m->h) + (1 - m->eps) * s) +
                r * (M_PI_2 + s - m->h - 1 / tan(m->h)));
    return 2 * m->n * ((m->l + r) * (1 - m->eps) * s + r * (m->eps * s + asin(reach / r)));
}

/* Tolerance: 1e-12 of the circumference. */
Test(grain_stars, closed_form)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    uint64_t seed = 4711;
    int n_second_phase = 0;
    for (int i = 0; i < 100; i++) {
        struct measures m = {.n = 3 + (int)(draw_bits(&seed) % 9), .R = 0.1};
        m.l = draw_uniform(&seed, 0.05, 0.08);
        m.eps = draw_uniform(&seed, 0.5, 1.0);
        m.f = draw_uniform(&seed, 0.0, 0.5) * m.l * sin(m.eps * M_PI / m.n);
        m.h = draw_uniform(&seed, 0.9, 1.8) * M_PI / m.n;
        /* The flanks must meet short of the axis, and the fillets leave a flank. */
        const double apex = m.l * sin(m.eps * M_PI / m.n) / tan(m.h) + m.f / sin(m.h);
        if (m.R - m.l - m.f < 0.005 || m.h > 1.5 || m.f >= 0.9 * m.l * sin(m.eps * M_PI / m.n) / cos(m.h) ||
            apex >= m.l * cos(m.eps * M_PI / m.n))
            continue;
        const struct sm_burning_section b = burn(&arena, &m);
        for (int k = 0; k < 40; k++) {
            const double w = (m.R - m.l - m.f) * (k + 0.5) / 40;
            double area, perimeter;
            sm_section_table(&b, &w, 1, &area, &perimeter);
            const double want = published_perimeter(&m, w);
            n_second_phase += w + m.f > m.l * sin(m.eps * M_PI / m.n) / cos(m.h);
            cr_expect(fabs(perimeter - want) <= 1e-12 * 2 * M_PI * m.R, "star %d, w %g: %.15g, not %.15g", i,
                      w, perimeter, want);
        }
    }
    cr_expect_gt(n_second_phase, 100);
    sm_arena_release(&arena);
}

/* Half angles of a neutral star, pi/2 + pi/N - h - cot h = 0: N = 6, 7, 8 are printed in D. Davis (as above), module 21,
 * as flank angles 3.53, 9.84, 14.81 deg beyond 180/N; 3 to 5 are Barrere's (from memory). Our perimeter must then be
 * constant until the flanks are gone: to 1e-5 of itself, since the angles are given to 0.0005 deg. Angles alone say so: of a thinner
 * star, with larger fillets and shorter flanks, it is true as well. */
Test(grain_stars, neutral_angles)
{
    static const double degrees[] = {24.547, 28.216, 31.129, 33.528, 35.557, 37.307};
    static const double eps[] = {0.35, 0.55, 0.8, 1.0, 1.0, 1.0};
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    for (int i = 0; i < 12; i++) {
        struct measures m = {.n = 3 + i % 6,
                             .R = 0.1,
                             .l = 0.07,
                             .f = 0.002,
                             .eps = eps[i % 6],
                             .h = degrees[i % 6] * M_PI / 180};
        if (i >= 6) {
            m.l = 0.055;
            m.f = 0.004;
            m.eps *= 0.9;
        }
        const struct sm_burning_section b = burn(&arena, &m);
        const double end = fmin(m.l * sin(m.eps * M_PI / m.n) / cos(m.h) - m.f, m.R - m.l - m.f);
        const double w[3] = {0.0, 0.5 * end, 0.999 * end};
        double area[3], perimeter[3];
        sm_section_table(&b, w, 3, area, perimeter);
        for (int k = 1; k < 3; k++)
            cr_expect(fabs(perimeter[k] - perimeter[0]) <= 1e-5 * perimeter[0],
                      "%d points: %.9g, at first %.9g", m.n, perimeter[k], perimeter[0]);
    }
    sm_arena_release(&arena);
}

/* A neutral star of 3, 4 or 5 points is one as long as its flanks still lean towards the axis: up to an angle fraction of 0.409,
 * 0.627 and 0.865, h N / pi by Barrere's angles (from memory; Davis, module 21, says of pointed stars alone that none of fewer than
 * 6 points is neutral). Beyond it the propellant's points would meet at the axis. Without fillets. */
Test(grain_stars, neutral_stars_of_few_points_have_short_arcs)
{
    static const double degrees[] = {24.547, 28.216, 31.129}, printed[] = {0.409, 0.627, 0.865};
    const struct sm_shape *shape = sm_shape_find("star");
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    for (int i = 0; i < 3; i++)
        for (int side = -1; side <= 1; side += 2) {
            const struct measures m = {.n = 3 + i,
                                       .R = 0.1,
                                       .l = 0.06,
                                       .eps = printed[i] + side * 6e-4, /* the digits printed */
                                       .h = degrees[i] * M_PI / 180};
            const struct example e = read_star(&arena, &m);
            struct sm_error err = {0};
            const enum sm_status status = sm_shape_check(shape, &e.common, e.params, &err);
            cr_expect_eq(status, side < 0 ? SM_OK : SM_E_GEOMETRY, "%d points, %g: %s", m.n, m.eps,
                         err.message);
            cr_expect(side < 0 || strstr(err.message, "meet at the axis"), "%s", err.message);
        }
    sm_arena_release(&arena);
}

/* Where the flanks of a pointed neutral star are used up, l sin(pi/N) / cos(h) burned without a fillet: printed by D. Davis (as
 * above) for 6, 7 and 8 points as 0.600, 0.533 and 0.481 of l. */
Test(grain_stars, flanks_end_where_printed)
{
    static const double degrees[] = {33.528, 35.557, 37.307}, printed[] = {0.600, 0.533, 0.481};
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    for (int i = 0; i < 3; i++) {
        const struct measures m = {
            .n = 6 + i, .R = 0.1, .l = 0.05, .f = 0.0, .eps = 1.0, .h = degrees[i] * M_PI / 180};
        const struct sm_burning_section b = burn(&arena, &m);
        cr_assert_geq(b.stages.n, 2u);
        cr_expect_float_eq(b.stages.items[1].w0 / m.l, printed[i], 5e-4, "%d points: %g", m.n,
                           b.stages.items[1].w0 / m.l);
    }
    sm_arena_release(&arena);
}

/* Worked example 21.3 of D. Davis, module 21 (read): 8 points, fillet centres at 0.2024 m, fillet 8 mm, half angle
 * 15 + 22.5 deg, outer radius 0.300 m, 3 m long, ends inhibited. Printed to four or five digits: perimeter, area,
 * loading 0.754, sliver 14.2 %. The port areas were worked from the same measures by hand. */
Test(grain_stars, published_example)
{
    static const double rows[][4] = {{0.0000, 2.03648, 6.109, 0.069610},
                                     {0.0224, 2.03855, 6.116, 0.115250},
                                     {0.0448, 2.04062, 6.122, 0.160937},
                                     {0.0672, 2.04269, 6.128, 0.206670},
                                     {0.0896, 2.04476, 6.134, 0.252450}};
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const struct measures m = {.n = 8, .R = 0.3, .l = 0.2024, .f = 0.008, .eps = 1.0, .h = 37.5 * M_PI / 180};
    const struct sm_burning_section b = burn(&arena, &m);
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        double area, perimeter;
        sm_section_table(&b, &rows[i][0], 1, &area, &perimeter);
        cr_expect_float_eq(perimeter, rows[i][1], 1e-5, "perimeter %g", perimeter);
        cr_expect_float_eq(3.0 * perimeter, rows[i][2], 6e-4, "area %g", 3.0 * perimeter);
        cr_expect_float_eq(area, rows[i][3], 1e-6, "port %g", area);
    }
    const double circle = M_PI * 0.09, loading = 1.0 - rows[0][3] / circle;
    const double sliver = (circle - rows[4][3]) / (circle - rows[0][3]);
    cr_expect_float_eq(loading, 0.754, 1e-3);
    cr_expect_float_eq(sliver, 0.142, 1e-3);
    cr_expect_float_eq(b.stages.items[1].w0, 0.0896, 1e-12, "the lobes reach the wall at the web");
    sm_arena_release(&arena);
}
