/* Outlines drawn by the user: what is refused, where the fault is said to be, and the same port drawn in other ways. */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "grain/outline.h"
#include "unit/grain/example.h"

static enum sm_status try_outline(struct sm_outline_loop *loops, size_t n, int sectors, struct sm_geometry *g,
                                  struct sm_arena *arena, struct sm_error *err)
{
    const struct sm_shape *shape = sm_shape_find("outline");
    cr_assert_eq(shape->size, sizeof(struct sm_outline));
    const struct sm_outline block = {.loops = {loops, n}, .sectors = sectors};
    const struct sm_grain_common common = {0.06, 0.1, SM_FACE_BORE, SM_BURNBACK_STRAIGHT, 0.0};
    return sm_shape_geometry(shape, arena, &common, &block, g, err);
}

static void expect_refused(struct sm_outline_loop *loops, size_t n, int sectors, const char *path,
                           const char *words)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_geometry g;
    struct sm_error err = {0};
    cr_expect_eq(try_outline(loops, n, sectors, &g, &arena, &err), SM_E_GEOMETRY, "%s", words);
    cr_expect_str_eq(err.at.path, path, "%s: %s", words, err.at.path);
    cr_expect_not_null(strstr(err.message, words), "%s", err.message);
    cr_expect_null(strchr(err.message, '\n'));
    sm_arena_release(&arena);
}

#define LOOP(points)                                                                                         \
    {                                                                                                        \
        {points, SM_COUNT(points)}, false                                                                    \
    }

Test(grain_outlines, refusals)
{
    struct sm_outline_point bow[] = {
        {0.01, 0.01, 0, 0}, {-0.01, -0.01, 0, 0}, {0.01, -0.01, 0, 0}, {-0.01, 0.01, 0, 0}};
    struct sm_outline_loop crossing[] = {LOOP(bow)};
    expect_refused(crossing, 1, 0, "/loops", "crosses itself at 0 mm, 0 mm");

    struct sm_outline_point wide[] = {{0.02, 0, 0, 0}, {-0.01, 0.02, 0, 0}, {-0.04, -0.01, 0, 0}};
    struct sm_outline_loop outside[] = {LOOP(wide)};
    expect_refused(outside, 1, 0, "/loops", "outside the grain's radius of 30 mm");

    /* Both corners within, but the arc between them bulges out. */
    struct sm_outline_point round[] = {{0.02, -0.021, 0.0212, 0}, {0.02, 0.021, 0, 0}, {-0.01, 0, 0, 0}};
    struct sm_outline_loop bulging[] = {LOOP(round)};
    expect_refused(bulging, 1, 0, "/loops", "outside the grain's radius");

    struct sm_outline_point touching[] = {{0.03, 0, 0, 0}, {0, 0.01, 0, 0}, {0, -0.01, 0, 0}};
    struct sm_outline_loop no_web[] = {LOOP(touching)};
    expect_refused(no_web, 1, 0, "/loops", "leaves no web");

    struct sm_outline_point tight[] = {{0.01, 0, 0, 0.02}, {-0.01, 0.01, 0, 0}, {-0.01, -0.01, 0, 0}};
    struct sm_outline_loop filleted[] = {LOOP(tight)};
    expect_refused(filleted, 1, 0, "/loops/0/points/0/fillet", "fillet is larger than its corner");

    struct sm_outline_point short_arc[] = {{0.01, 0, 0.004, 0}, {-0.01, 0.01, 0, 0}, {-0.01, -0.01, 0, 0}};
    struct sm_outline_loop unreached[] = {LOOP(short_arc)};
    expect_refused(unreached, 1, 0, "/loops/0/points/0/arc_radius", "does not reach over");

    struct sm_outline_point twice[] = {{0.01, 0, 0, 0}, {0.01, 0, 0, 0}, {-0.01, -0.01, 0, 0}};
    struct sm_outline_loop doubled[] = {LOOP(twice)};
    expect_refused(doubled, 1, 0, "/loops/0/points/0", "the same");

    struct sm_outline_point all_but_twice[] = {
        {0.01, 0, 0, 0}, {0.01, 2e-9, 0, 0}, {-0.01, 0.01, 0, 0}, {-0.01, -0.01, 0, 0}};
    struct sm_outline_loop all_but_doubled[] = {LOOP(all_but_twice)};
    expect_refused(all_but_doubled, 1, 0, "/loops/0/points/0", "lie 2e-06 mm apart");

    struct sm_outline_point loose[] = {{0.01, 0, 0, 0}, {0.01, 0.01, 0, 0}, {-0.01, 0.01, 0, 0}};
    struct sm_outline_loop open_ended[] = {{{loose, SM_COUNT(loose)}, true}};
    expect_refused(open_ended, 1, 0, "/loops", "the outline is open");

    /* A fin drawn wider than its sector. */
    struct sm_outline_point fin[] = {
        {0.02, 0, 0, 0}, {0.02, 0.015, 0, 0}, {0.005, 0.015, 0, 0}, {0.005, 0.002, 0, 0}};
    struct sm_outline_loop overlapping[] = {{{fin, SM_COUNT(fin)}, true}};
    expect_refused(overlapping, 1, 6, "/loops", "neighbours overlap");
}

/* Sides of a few nanometres, the shortest that are drawn: the area is nowhere negative, and the volume falls all the way. Areas to the
 * outline's promise of 1e-9. */
Test(grain_outlines, shortest_sides)
{
    for (int i = 0; i < 60; i++) {
        struct sm_arena arena;
        sm_arena_init(&arena, NULL);
        const double turn = -0.5 + 4.0 * i / 60, r = 0.005 + 1e-4 * i, side = 3.1e-9 * (1 + i % 3);
        struct sm_outline_point points[5] = {{r, 0, 0, 0},
                                             {r + side * cos(turn), side * sin(turn), 0, 0},
                                             {-0.2 * r, 0.9 * r, 0, 0},
                                             {-r, 0.1 * r, 0, 0},
                                             {0.1 * r, -r, 0, 0}};
        struct sm_outline_loop loop[] = {LOOP(points)};
        struct sm_geometry g;
        struct sm_error err = {0};
        cr_assert_eq(try_outline(loop, 1, 0, &g, &arena, &err), SM_OK, "%s", err.message);
        double first = 0.0, area, volume, before = g.envelope;
        for (size_t k = 0; k < g.n_pieces; k++)
            for (int j = 0; j <= 4; j++) {
                const struct sm_piece *p = &g.pieces[k];
                sm_piece_area(p, p->w0 + 0.25 * j * (p->w1 - p->w0), &area, &volume);
                first = k == 0 && j == 0 ? area : first;
                cr_expect_geq(area, -1e-9 * first, "side %g, turn %g: area %g", side, turn, area);
                cr_expect_leq(volume, before + 1e-9 * g.envelope, "side %g, turn %g", side, turn);
                before = volume;
            }
        sm_arena_release(&arena);
    }
}

/* A square port of side 2a with its corners rounded by q: area 4 a^2 - (4 - pi) q^2, perimeter 8 a - (8 - 2 pi) q;
 * elementary. Drawn either way round, in two loops that touch nothing, and by a quarter. */
Test(grain_outlines, one_port_many_ways)
{
    const double a = 0.01, q = 0.003, R = 0.03, L = 0.1;
    struct sm_outline_point ccw[] = {{a, -a, 0, q}, {a, a, 0, q}, {-a, a, 0, q}, {-a, -a, 0, q}};
    struct sm_outline_point cw[] = {{a, -a, 0, q}, {-a, -a, 0, q}, {-a, a, 0, q}, {a, a, 0, q}};
    struct sm_outline_point eighth[] = {{a, 0, 0, 0}, {a, a, 0, q}, {0, a, 0, 0}};
    struct sm_outline_loop loops[3] = {LOOP(ccw), LOOP(cw), {{eighth, SM_COUNT(eighth)}, true}};
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    for (int i = 0; i < 3; i++) {
        struct sm_geometry g;
        struct sm_geometry_at at;
        struct sm_error err = {0};
        cr_assert_eq(try_outline(&loops[i], 1, i == 2 ? 2 : 0, &g, &arena, &err), SM_OK, "%s", err.message);
        sm_geometry_eval(&g, 0.0, &at);
        cr_expect_float_eq(at.value[SM_VOLUME], L * (M_PI * R * R - 4 * a * a + (4 - M_PI) * q * q), 1e-17);
        cr_expect_float_eq(-at.slope[SM_VOLUME], L * (8 * a - (8 - 2 * M_PI) * q), 1e-15);
        /* The last to burn lies opposite the middle of a side. */
        cr_expect_float_eq(g.web, R - a, 1e-13, "web %.15g", g.web);
    }
    sm_arena_release(&arena);
}

/* A loop within a loop is a rod: the annulus between them is void, and both its walls burn. Circles as two half arcs. */
Test(grain_outlines, rod_within_a_bore)
{
    struct sm_outline_point bore[] = {{0.02, 0, 0.02, 0}, {-0.02, 0, 0.02, 0}},
                            rod[] = {{0.01, 0, 0.01, 0}, {-0.01, 0, 0.01, 0}};
    struct sm_outline_loop loops[] = {LOOP(rod), LOOP(bore)};
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_geometry g;
    struct sm_geometry_at at;
    cr_assert_eq(try_outline(loops, 2, 0, &g, &arena, NULL), SM_OK);
    for (int i = 0; i < 5; i++) {
        sm_geometry_eval(&g, 0.002 * i, &at);
        cr_expect_float_eq(-at.slope[SM_VOLUME], 0.1 * 2 * M_PI * 0.03, 1e-14,
                           "neutral until the rod is gone");
    }
    cr_expect_float_eq(g.web, 0.01, 1e-15);
    sm_arena_release(&arena);
}

/* A port without any symmetry: corners at rising angles about the axis, at unlike distances. */
static void draw_corners(uint64_t *state, struct sm_outline_point *points, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        const double angle = 2.0 * M_PI * ((double)i + draw_uniform(state, 0.1, 0.9)) / (double)n;
        const double r = draw_uniform(state, 0.005, 0.02);
        points[i] = (struct sm_outline_point){.x = r * cos(angle), .y = r * sin(angle)};
    }
}

/* Turned by an angle, and mirrored at the x axis if mirror is -1. */
static void turn_corners(const struct sm_outline_point *from, size_t n, double angle, double mirror,
                         struct sm_outline_point *to)
{
    for (size_t i = 0; i < n; i++)
        to[i] = (struct sm_outline_point){.x = from[i].x * cos(angle) - from[i].y * sin(angle),
                                          .y = mirror * (from[i].x * sin(angle) + from[i].y * cos(angle))};
}

/* Turned and mirrored the outline burns alike: area, volume and the moment about the axis stay, and the first moments turn with
 * it. Tolerance: the table's 1e-9 of the largest area, with room. */
Test(grain_outlines, unsymmetric_ones_turn)
{
    enum { DRAWS = 40, LEVELS = 9 };
    const double angle = 0.7, whole = 0.1 * M_PI * 0.03 * 0.03, top = 0.1 * 4 * M_PI * 0.03;
    uint64_t state = 77;
    int n_done = 0;
    for (int draw = 0; draw < DRAWS; draw++) {
        struct sm_arena arena;
        sm_arena_init(&arena, NULL);
        struct sm_outline_point points[9], turned[9];
        const size_t n = 3 + (size_t)(draw_bits(&state) % 7);
        const double mirror = draw % 2 ? -1.0 : 1.0;
        draw_corners(&state, points, n);
        turn_corners(points, n, angle, mirror, turned);
        struct sm_outline_loop a = {{points, n}, false}, b = {{turned, n}, false};
        struct sm_geometry g, h;
        const enum sm_status status = try_outline(&a, 1, 0, &g, &arena, NULL);
        cr_expect_eq(status, try_outline(&b, 1, 0, &h, &arena, NULL), "draw %d", draw);
        for (int k = 0; status == SM_OK && k < LEVELS; k++) {
            struct sm_geometry_at p, q;
            const double w = g.web * (k + 0.37) / LEVELS;
            sm_geometry_eval(&g, w, &p);
            sm_geometry_eval(&h, w, &q);
            const double x = p.value[SM_X] * cos(angle) - p.value[SM_Y] * sin(angle);
            const double y = mirror * (p.value[SM_X] * sin(angle) + p.value[SM_Y] * cos(angle));
            cr_expect_float_eq(q.slope[SM_VOLUME], p.slope[SM_VOLUME], 1e-7 * top, "draw %d, w %g", draw, w);
            cr_expect_float_eq(q.value[SM_VOLUME], p.value[SM_VOLUME], 1e-9 * whole, "draw %d, w %g", draw,
                               w);
            cr_expect_float_eq(q.value[SM_X], x, 1e-9 * whole * 0.03, "draw %d, w %g", draw, w);
            cr_expect_float_eq(q.value[SM_Y], y, 1e-9 * whole * 0.03, "draw %d, w %g", draw, w);
            cr_expect_float_eq(q.value[SM_XX] + q.value[SM_YY], p.value[SM_XX] + p.value[SM_YY],
                               1e-9 * whole * 0.03 * 0.03, "draw %d, w %g", draw, w);
        }
        n_done += status == SM_OK;
        sm_arena_release(&arena);
    }
    cr_expect_gt(n_done, DRAWS / 2);
}
