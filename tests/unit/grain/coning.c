/*
 * End burners whose fire runs ahead along the wall or the axis, against closed forms.
 *
 * A path that burns k times faster lights the propellant beside it as it goes, so that the front is the envelope of circles
 * whose centres run at k: a cone with its slope to the path at sin = 1/k, as of any wave behind a source faster than itself
 * (Mach's construction; any text on waves). With s the distance from the path, the front has come to the depth
 * k w - s sqrt(k^2 - 1) where that is more than w. All else here is integration by hand.
 */
#include <criterion/criterion.h>
#include <math.h>

#include "grain/shape.h"

struct grain {
    double radius, length, wall, axis; /* [m], [m], [1], [1] */
    double recess, depth;              /* radius and depth of a recess [m] */
    double point;                      /* height of the cone at its bottom; 0: it is flat [m] */
};

static struct sm_geometry geometry_of(const struct grain *g, unsigned burning, struct sm_arena *arena)
{
    /* as in grain/shapes/end_burner.c */
    const double block[] = {2.0 * g->recess, g->depth, g->point, g->wall, g->axis};
    const struct sm_shape *shape = sm_shape_find("end-burner");
    const struct sm_grain_common common = {2.0 * g->radius, g->length, burning, SM_BURNBACK_STRAIGHT, 0.0};
    struct sm_geometry out;
    struct sm_error err;
    cr_assert_eq(shape->size, sizeof block);
    const enum sm_status status = sm_shape_geometry(shape, arena, &common, block, &out, &err);
    cr_assert_eq(status, SM_OK, "%s", err.message);
    return out;
}

static double lean(double k)
{
    return sqrt(k * k - 1.0);
}

/* ---- the wall alone: areas and volume in closed form ---- */

/* Inner radius of the cone, and the radius at which it has come to the head end; the radius of the wall before that. */
static void cone_radii(const struct grain *g, double w, double *inner, double *head)
{
    *inner = fmax(0.0, g->radius - w * sqrt((g->wall - 1.0) / (g->wall + 1.0)));
    *head = g->radius - fmax(0.0, (g->wall * w - g->length) / lean(g->wall));
}

static double area_of(const struct grain *g, double w)
{
    double inner, head;
    cone_radii(g, w, &inner, &head);
    return M_PI * (inner * inner + g->wall * (head * head - inner * inner));
}

/* Integral of 2 pi r z dr with z = L - k w + (R - r) lean over the cone, L - w over the flat. */
static double volume_of(const struct grain *g, double w)
{
    double inner, head;
    cone_radii(g, w, &inner, &head);
    const double top = g->length - g->wall * w + g->radius * lean(g->wall);
    return M_PI * inner * inner * (g->length - w) + M_PI * top * (head * head - inner * inner) -
           2.0 / 3.0 * M_PI * lean(g->wall) * (head * head * head - inner * inner * inner);
}

static void check_wall(const struct grain *g)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const struct sm_geometry aft = geometry_of(g, SM_FACE_AFT_END, &arena);
    const struct sm_geometry fore = geometry_of(g, SM_FACE_FORE_END, &arena);
    /* The face dies flat at w = L, or as the cone's point on the axis. */
    const double meets_axis = g->radius * sqrt((g->wall + 1.0) / (g->wall - 1.0));
    const double web = meets_axis < g->length ? (g->length + g->radius * lean(g->wall)) / g->wall : g->length;
    const double flat = M_PI * g->radius * g->radius;
    cr_expect_float_eq(aft.web, web, 1e-12 * web, "web %.15g, not %.15g", aft.web, web);
    for (int i = 0; i < 40; i++) {
        const double w = web * (i + 0.5) / 40.0;
        struct sm_geometry_at at, mirrored;
        sm_geometry_eval(&aft, w, &at);
        sm_geometry_eval(&fore, w, &mirrored);
        cr_expect_float_eq(-at.slope[SM_VOLUME], area_of(g, w), 1e-11 * flat, "k %g at %g", g->wall, w);
        cr_expect_float_eq(at.value[SM_VOLUME], volume_of(g, w), 1e-11 * flat * g->length);
        cr_expect_float_eq(mirrored.value[SM_VOLUME], at.value[SM_VOLUME], 1e-12 * flat * g->length);
        cr_expect_float_eq(mirrored.value[SM_Z], g->length * at.value[SM_VOLUME] - at.value[SM_Z],
                           1e-12 * flat * g->length * g->length);
    }
    sm_arena_release(&arena);
}

Test(coning, the_wall_has_a_closed_form)
{
    for (double k = 1.02; k < 4.0; k *= 1.3) {
        check_wall(&(struct grain){.radius = 14.5e-3, .length = 88e-3, .wall = k, .axis = 1.0});
        check_wall(&(struct grain){.radius = 50e-3, .length = 30e-3, .wall = k, .axis = 1.0});
    }
}

/* Published: the area of a face whose normal is s off the axis is 1/cos s of the flat one, 1.0038 at 5 deg and 1.1547 at 30
 * deg [D. Davis, PROPULSION, module 21]. The cone's own normal has cos s = 1/k. */
Test(coning, the_area_tends_to_the_ratio)
{
    const struct {
        double angle, factor; /* [deg], [1] */
    } published[] = {{5.0, 1.0038}, {30.0, 1.1547}};
    for (int i = 0; i < 2; i++) {
        struct sm_arena arena;
        sm_arena_init(&arena, NULL);
        const double k = 1.0 / cos(published[i].angle * M_PI / 180.0);
        const struct grain g = {.radius = 10e-3, .length = 1.0, .wall = k, .axis = 1.0};
        const struct sm_geometry out = geometry_of(&g, SM_FACE_AFT_END, &arena);
        struct sm_geometry_at at;
        const double meets =
            g.radius * sqrt((k + 1.0) / (k - 1.0)); /* from here to the head end it is a whole cone */
        sm_geometry_eval(&out, 0.5 * (meets + g.length / k), &at);
        cr_expect_float_eq(-at.slope[SM_VOLUME] / (M_PI * g.radius * g.radius), published[i].factor, 5e-5);
        sm_geometry_eval(&out, 0.5 * meets, &at);
        cr_expect(-at.slope[SM_VOLUME] < k * M_PI * g.radius * g.radius);
        sm_arena_release(&arena);
    }
}

/* ---- any of it: moments by quadrature over the radius ---- */

/* How deep balls of radius w round the recess's bottom reach at radius r: the highest is that which touches the bottom's slope
 * there, or the one about its tip or its edge where it would lie beyond; 0 for none. */
static double bottom_depth(const struct grain *g, double r, double w)
{
    const double slope = g->recess > 0.0 ? g->point / g->recess : 0.0;
    const double from = fmin(fmax(r - w * slope / sqrt(1.0 + slope * slope), 0.0), g->recess), off = r - from;
    return off < w || off == 0.0 ? g->depth + g->point - slope * from + sqrt(fmax(w * w - off * off, 0.0))
                                 : 0.0;
}

/* Depth of the front at radius r: the flat face, both cones, and a recess. */
static double depth_at(const struct grain *g, double r, double w)
{
    double depth = w;
    if (g->wall > 1.0)
        depth = fmax(depth, g->wall * w - (g->radius - r) * lean(g->wall));
    if (g->axis > 1.0 && r < w * lean(g->axis) / g->axis) /* farther out its own start is nearer */
        depth = fmax(depth, g->depth + g->point + g->axis * w - r * lean(g->axis));
    if (g->recess > 0.0)
        depth = fmax(depth, bottom_depth(g, r, w));
    return fmin(depth, g->length);
}

/* Midpoint rule; its error is of the order of the step squared, and of the step to 3/2 at the recess's circle. */
static void integrate(const struct grain *g, double w, double out[3])
{
    enum { STEPS = 20000 };
    out[0] = out[1] = out[2] = 0.0;
    for (int i = 0; i < STEPS; i++) {
        const double r = g->radius * (i + 0.5) / STEPS, z = g->length - depth_at(g, r, w);
        const double ring = 2.0 * M_PI * r * g->radius / STEPS;
        out[0] += ring * z;
        out[1] += ring * 0.5 * z * z;
        out[2] += 0.5 * ring * r * r * z;
    }
}

static void check_integrals(const struct grain *g)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const struct sm_geometry out = geometry_of(g, SM_FACE_AFT_END, &arena);
    const double whole = M_PI * g->radius * g->radius * g->length;
    for (int i = 0; i < 12; i++) {
        const double w = out.web * (i + 0.5) / 12.0;
        double expected[3];
        struct sm_geometry_at at;
        integrate(g, w, expected);
        sm_geometry_eval(&out, w, &at);
        cr_expect_float_eq(at.value[SM_VOLUME], expected[0], 1e-6 * whole,
                           "recess %g point %g at %g: off by %g", g->recess, g->point, w,
                           at.value[SM_VOLUME] / expected[0] - 1.0);
        cr_expect_float_eq(at.value[SM_Z], expected[1], 1e-6 * whole * g->length, "at %g", w);
        cr_expect_float_eq(at.value[SM_XX], expected[2], 1e-6 * whole * g->radius * g->radius, "at %g", w);
    }
    struct sm_geometry_at end;
    double left[3];
    integrate(g, out.web * (1.0 + 1e-6), left);
    cr_expect(left[0] < 1e-9 * whole, "something is left past the web");
    sm_geometry_eval(&out, out.web * (1.0 - 1e-6), &end);
    cr_expect(end.value[SM_VOLUME] < 1e-5 * whole);
    sm_arena_release(&arena);
}

Test(coning, wall_axis_and_recess_together)
{
    static const struct grain grains[] = {
        {.radius = 14.5e-3, .length = 88e-3, .wall = 1.0, .axis = 1.4},
        {.radius = 14.5e-3, .length = 88e-3, .wall = 1.3, .axis = 1.1},
        {.radius = 14.5e-3, .length = 20e-3, .wall = 1.3, .axis = 2.5},
        {.radius = 14.5e-3, .length = 88e-3, .wall = 1.2, .axis = 1.0, .recess = 4e-3, .depth = 6e-3},
        {.radius = 14.5e-3, .length = 88e-3, .wall = 1.05, .axis = 1.6, .recess = 3e-3, .depth = 10e-3},
        {.radius = 14.5e-3, .length = 40e-3, .wall = 1.5, .axis = 1.5, .recess = 5e-3, .depth = 3e-3},
        /* bottoms with a point: wider and narrower than the fire's own cone, which then touches the ball about the tip */
        {.radius = 14.5e-3,
         .length = 88e-3,
         .wall = 1.0,
         .axis = 1.5,
         .recess = 8e-3,
         .depth = 2e-3,
         .point = 2e-3},
        {.radius = 14.5e-3,
         .length = 88e-3,
         .wall = 1.0,
         .axis = 1.5,
         .recess = 3e-3,
         .depth = 2e-3,
         .point = 6e-3},
        {.radius = 14.5e-3,
         .length = 88e-3,
         .wall = 1.2,
         .axis = 1.5,
         .recess = 3e-3,
         .depth = 8e-3,
         .point = 6e-3},
        {.radius = 14.5e-3,
         .length = 60e-3,
         .wall = 1.0,
         .axis = 1.05,
         .recess = 5e-3,
         .depth = 0.0,
         .point = 15e-3},
    };
    for (size_t i = 0; i < SM_COUNT(grains); i++)
        check_integrals(&grains[i]);
}

Test(coning, fire_runs_ahead_from_one_end_alone)
{
    const double block[] = {0.0, 0.0, 0.0, 1.2, 1.0};
    const struct sm_shape *shape = sm_shape_find("end-burner");
    const struct sm_grain_common common = {29e-3, 88e-3, SM_FACE_AFT_END | SM_FACE_FORE_END,
                                           SM_BURNBACK_STRAIGHT, 0.0};
    struct sm_arena arena;
    struct sm_geometry out;
    struct sm_error err;
    sm_arena_init(&arena, NULL);
    cr_expect_eq(sm_shape_geometry(shape, &arena, &common, block, &out, &err), SM_E_GEOMETRY);
    cr_expect_str_eq(err.at.path, "/burning");
    sm_arena_release(&arena);
}
