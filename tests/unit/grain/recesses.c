/* Long end burners with a recess, whose front is a flat disc with an arc of metres round it that spans millimetres, and goes out
 * within micrometres at the far end: closed forms, and the laws of volume. */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "grain/shape.h"
#include "unit/grain/example.h"

struct recessed {
    double length, diameter, recess, depth, point; /* [m] */
};

/* The row of the shape's parameter of that name, filled in. */
static void put(const struct sm_shape *shape, void *params, const char *name, double value)
{
    for (size_t i = 0; i < shape->n_params; i++)
        if (strcmp(shape->params[i].name, name) == 0) {
            *(double *)((char *)params + shape->params[i].offset) = value;
            return;
        }
    cr_assert_fail("no parameter %s", name);
}

static struct sm_geometry geometry_of(struct sm_arena *arena, const struct recessed *g)
{
    const struct sm_shape *shape = sm_shape_find("end-burner");
    const struct sm_grain_common common = {
        .outer_diameter = g->diameter, .length = g->length, .burning = SM_FACE_AFT_END};
    void *params = sm_arena_alloc(arena, 1, shape->size);
    put(shape, params, "recess_diameter", g->recess);
    put(shape, params, "recess_depth", g->depth);
    put(shape, params, "recess_point", g->point);
    put(shape, params, "bond_line_ratio", 1.0);
    put(shape, params, "axis_ratio", 1.0);
    struct sm_geometry out;
    struct sm_error err = {0};
    cr_assert_eq(sm_shape_geometry(shape, arena, &common, params, &out, &err), SM_OK, "%s", err.message);
    return out;
}

static double largest_area(const struct sm_geometry *g)
{
    double largest = 0.0, area, volume;
    for (size_t i = 0; i < g->n_pieces; i++) {
        sm_piece_area(&g->pieces[i], g->pieces[i].w0, &area, &volume);
        largest = fmax(largest, area);
    }
    return largest;
}

/* ---- a flat bottom, and a face and a wall that burn out at once ---- */

/* Of the front round the bottom's edge between angles whose sines are given: a torus's share, by Pappus. */
static double arc_area(double a, double w, double sine0, double sine1)
{
    const double angle = asin(sine1) - asin(sine0);
    const double cosines = (sine1 - sine0) * (sine1 + sine0) /
                           (sqrt((1.0 - sine0) * (1.0 + sine0)) + sqrt((1.0 - sine1) * (1.0 + sine1)));
    return 2.0 * M_PI * w * (a * angle + w * cosines);
}

/* Burning area [m2]: face, wall, arc and bottom until w is the ring's thickness; bottom and arc; the arc alone from where the
 * bottom meets the far end. The ring is no thicker than the recess is deep. */
static double closed_area(const struct recessed *g, double w)
{
    const double a = 0.5 * g->recess, R = 0.5 * g->diameter, far = g->length - g->depth;
    if (w <= R - a)
        return M_PI * (R * R - (a + w) * (a + w)) + 2.0 * M_PI * (a + w) * (g->depth - w) +
               arc_area(a, w, 0.0, 1.0) + M_PI * a * a;
    if (w <= far)
        return M_PI * a * a + arc_area(a, w, 0.0, (R - a) / w);
    return arc_area(a, w, sqrt((w - far) * (w + far)) / w, (R - a) / w);
}

/* Volume left while bottom and arc burn: below the bottom, less a disc and the integral of the arc's depth [m3]. */
static double closed_volume(const struct recessed *g, double w)
{
    const double a = 0.5 * g->recess, h = 0.5 * g->diameter - a, chord = sqrt((w - h) * (w + h));
    const double burned = M_PI * a * a * w + 2.0 * M_PI *
                                                 ((w * w * w - chord * chord * chord) / 3.0 +
                                                  0.5 * a * (h * chord + w * w * asin(h / w)));
    return M_PI * (a + h) * (a + h) * (g->length - g->depth) - burned;
}

/* Areas to the table's 1e-9 of the largest at places even in the root of the distance from each event, where the front changes
 * fastest; volumes to 1e-9 of the envelope, what that comes to along the grain. Source: elementary. */
static void hold_to_closed_form(const struct recessed *g)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const struct sm_geometry got = geometry_of(&arena, g);
    const double h = 0.5 * (g->diameter - g->recess), far = g->length - g->depth;
    const double web = hypot(far, h), top = largest_area(&got), events[] = {0.0, h, far, web};
    cr_expect_leq(got.accuracy, 1e-9, "%g m long: accuracy %g", g->length, got.accuracy);
    cr_expect_float_eq(got.web, web, 1e-14 * web);
    for (int e = 0; e < 3; e++)
        for (int i = 1; i < 60; i++) {
            struct sm_geometry_at at;
            const double s = i / 60.0, w = events[e] + (events[e + 1] - events[e]) * s * s;
            sm_geometry_eval(&got, w, &at);
            cr_expect_float_eq(-at.slope[SM_VOLUME], closed_area(g, w), 2e-9 * top, "%g m long, at %.17g",
                               g->length, w);
            if (e == 1)
                cr_expect_float_eq(at.value[SM_VOLUME], closed_volume(g, w), 1e-9 * got.envelope,
                                   "%g m long, at %.17g: volume %g off", g->length, w,
                                   (at.value[SM_VOLUME] - closed_volume(g, w)) / got.envelope);
        }
    sm_arena_release(&arena);
}

Test(grain_recesses, nearly_as_wide_as_the_grain)
{
    hold_to_closed_form(&(struct recessed){3.0928509056222273, 0.06, 0.0590625, 0.0225, 0.0});
    hold_to_closed_form(&(struct recessed){0.3, 0.06, 0.0590625, 0.0225, 0.0});
    hold_to_closed_form(&(struct recessed){10.0, 0.1, 0.08, 0.0225, 0.0});
    hold_to_closed_form(&(struct recessed){0.088, 0.06, 0.03, 0.02, 0.0});
}

/* ---- a point so flat that it is all but none ---- */

/* The point moves no front by more than its depth, so volumes lie between those of the flat recess and of one that much
 * deeper at every distance burned; the volume at first is elementary. */
static void hold_between_flat_ones(const struct recessed *g)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct recessed flat = *g, deep = *g;
    flat.point = deep.point = 0.0;
    deep.depth += g->point;
    const struct sm_geometry got = geometry_of(&arena, g), more = geometry_of(&arena, &flat),
                             less = geometry_of(&arena, &deep);
    const double slack = 1e-12 * got.envelope, bore = 0.25 * M_PI * g->recess * g->recess;
    struct sm_geometry_at at, upper, lower;
    sm_geometry_eval(&got, 0.0, &at);
    cr_expect_float_eq(at.value[SM_VOLUME], got.envelope - bore * (g->depth + g->point / 3.0), slack);
    for (int i = 0; i <= 200; i++) {
        const double w = fmin(got.web * i / 200.0, more.web);
        sm_geometry_eval(&got, w, &at);
        sm_geometry_eval(&more, w, &upper);
        sm_geometry_eval(&less, w, &lower);
        cr_expect_leq(at.value[SM_VOLUME], upper.value[SM_VOLUME] + slack, "point %g at %g", g->point, w);
        cr_expect_geq(at.value[SM_VOLUME], lower.value[SM_VOLUME] - slack, "point %g at %g", g->point, w);
    }
    sm_arena_release(&arena);
}

/* No jump of the volume from piece to piece, nothing left at the end, no area below nothing, and what the table says it errs
 * by is what was asked for. */
static void hold_to_laws(const struct recessed *g)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const struct sm_geometry got = geometry_of(&arena, g);
    const double top = largest_area(&got), slack = 1e-12 * got.envelope;
    double before = got.envelope, area, volume;
    cr_expect_leq(got.accuracy, 1e-9, "point %g: accuracy %g", g->point, got.accuracy);
    for (size_t i = 0; i < got.n_pieces; i++)
        for (int k = 0; k <= 8; k++) {
            const struct sm_piece *p = &got.pieces[i];
            sm_piece_area(p, p->w0 + (p->w1 - p->w0) * k / 8, &area, &volume);
            cr_expect_leq(volume, before + slack, "point %g at %g: it grows", g->point, p->w0);
            cr_expect(i == 0 || k > 0 || before - volume <= slack, "point %g at %g: it jumps", g->point,
                      p->w0);
            cr_expect_geq(area, -1e-9 * top, "point %g at %g: area %g", g->point, p->w0, area);
            before = volume;
        }
    cr_expect_float_eq(before, 0.0, slack, "point %g: %g is left", g->point, before);
    sm_arena_release(&arena);
}

Test(grain_recesses, all_but_flat_points)
{
    const struct recessed grains[] = {
        {3.1754865940511015, 0.06, 0.0225, 0.1115625, 1.40625e-9},
        {3.2750893098205891, 0.06, 0.00375, 0.01640625, 3.75e-9},
        {3.0, 0.06, 0.02, 0.04, 1e-8},
        {3.0, 0.06, 0.02, 0.04, 1e-7},
        {0.1, 0.06, 0.02, 0.04, 1e-9},
        {10.0, 0.1, 0.08, 0.0225, 1e-6},
    };
    for (size_t i = 0; i < sizeof grains / sizeof grains[0]; i++) {
        hold_to_laws(&grains[i]);
        hold_between_flat_ones(&grains[i]);
    }
}
