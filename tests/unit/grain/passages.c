/* The free passage along a grain. */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "grain/aftport.h"
#include "grain/facets.h"
#include "grain/passage.h"
#include "unit/grain/example.h"

/* Places i and i + 1 that x lies between, the later pair at a double one, and the share of the way. */
static size_t find_interval(const double *places, size_t n, double x, double *share)
{
    size_t low = 0, high = n - 1; /* places[low] <= x < places[high], or x lies outside */
    if (n == 1 || x <= places[0]) {
        *share = 0.0;
        return 0;
    }
    while (high - low > 1) {
        const size_t middle = low + (high - low) / 2;
        if (places[middle] <= x)
            low = middle;
        else
            high = middle;
    }
    const double span = places[low + 1] - places[low];
    *share = span > 0.0 ? fmin((x - places[low]) / span, 1.0) : 1.0;
    return low;
}

static double between(const double *values, size_t at, double share, size_t n)
{
    return at + 1 < n ? values[at] + share * (values[at + 1] - values[at]) : values[at];
}

/* Free section [m2] and burning perimeter [m] at a place z [m] and distance burned w [m]: between stations and levels along
 * straight lines, at a jump what is after it; where the grain has burned away at its ends, or is past its web, the whole
 * circle and no perimeter. */
static void eval(const struct sm_passage *p, double z, double w, double *area, double *perimeter)
{
    *area = p->circle;
    *perimeter = 0.0;
    if (w >= p->w[p->n_levels - 1] || z < (p->fore_burns ? w : 0.0) ||
        z > p->length - (p->aft_burns ? w : 0.0))
        return;
    double along, across;
    const size_t level = find_interval(p->w, p->n_levels, fmax(w, 0.0), &across);
    const size_t station = find_interval(p->z, p->n_stations, z, &along);
    double a[2], c[2];
    for (size_t k = 0; k < 2; k++) {
        const size_t at = station + k < p->n_stations ? station + k : station;
        a[k] = between(p->area + at * p->n_levels, level, across, p->n_levels);
        c[k] = between(p->perimeter + at * p->n_levels, level, across, p->n_levels);
    }
    *area = a[0] + along * (a[1] - a[0]);
    *perimeter = c[0] + along * (c[1] - c[0]);
}

static struct sm_passage make(struct sm_arena *arena, const struct sm_shape *shape,
                              const struct sm_grain_common *common, const void *params)
{
    struct sm_passage p;
    struct sm_error err = {0};
    cr_assert_eq(sm_shape_passage(shape, arena, common, params, &p, &err), SM_OK, "%s: %s", shape->name,
                 err.message);
    return p;
}

/* A tube's free section is pi (r + w)^2 and its perimeter 2 pi (r + w), away from its burned ends. Elementary; the section
 * is a parabola read off by straight lines between 33 levels, 1e-3 of it at most. */
Test(grain_passages, tube)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const struct sm_grain_common common = {0.05, 0.085, SM_FACE_BORE | SM_FACE_AFT_END, SM_BURNBACK_STRAIGHT,
                                           0.0};
    const double bore = 0.02;
    const struct sm_passage p = make(&arena, sm_shape_find("tube"), &common, &bore);
    double area, perimeter;
    for (int i = 0; i < 30; i++) {
        const double w = 0.015 * (i + 0.4) / 30, r = 0.01 + w;
        eval(&p, 0.03, w, &area, &perimeter);
        cr_expect_float_eq(area, M_PI * r * r, 1e-3 * M_PI * r * r);
        cr_expect_float_eq(perimeter, 2 * M_PI * r, 1e-13);
        eval(&p, 0.085 - 0.5 * w, w, &area, &perimeter);
        cr_expect(area == p.circle && perimeter == 0.0, "the aft end has burned away there");
    }
    eval(&p, 0.03, 0.016, &area, &perimeter);
    cr_expect(area == p.circle && perimeter == 0.0, "all has burned");
    sm_arena_release(&arena);
}

/* A stepped bore has the section of the step on either side at first, and a long way from it later on. */
Test(grain_passages, stepped_bore)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct example e = example_read(&arena, sm_shape_find("bore-profile"));
    const struct sm_passage p = make(&arena, e.shape, &e.common, e.params);
    double area, perimeter;
    eval(&p, 0.059, 0.0, &area, &perimeter);
    cr_expect_float_eq(area, M_PI * 0.008 * 0.008, 1e-12);
    eval(&p, 0.061, 0.0, &area, &perimeter);
    cr_expect_float_eq(area, M_PI * 0.012 * 0.012, 1e-12);
    cr_expect_float_eq(perimeter, 2 * M_PI * 0.012, 1e-12);
    eval(&p, 0.03, 0.004, &area, &perimeter);
    cr_expect_float_eq(perimeter, 2 * M_PI * 0.012, 1e-5);
    sm_arena_release(&arena);
}

/* Where a groove has burned through to the case nothing is left of the plane through it, though the bore beside the groove is a
 * long way from its middle: the middle of a plane is no place to ask. The free volume up to each station, the integral from
 * front to front, is what the grain's own exact geometry has burned: 1e-6 of the envelope. */
Test(grain_passages, a_groove_burns_through)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_shape shape = *sm_shape_find("bore-profile");
    shape.example =
        "{ \"shape\": \"bore-profile\", \"outer_diameter\": \"80 mm\", \"length\": \"150 mm\", \"burning\": "
        "[\"bore\"], "
        "\"profile\": [ { \"diameter\": \"26 mm\" }, { \"z\": \"60 mm\", \"diameter\": \"64 mm\" }, "
        "{ \"z\": \"90 mm\", \"diameter\": \"40 mm\" }, { \"diameter\": \"40 mm\" } ] }";
    struct example e = example_read(&arena, &shape);
    struct sm_geometry g;
    cr_assert_eq(sm_shape_geometry(e.shape, &arena, &e.common, e.params, &g, NULL), SM_OK);
    const struct sm_passage p = make(&arena, e.shape, &e.common, e.params);
    for (size_t k = 0; k < p.n_levels; k++) {
        struct sm_geometry_at at;
        sm_geometry_eval(&g, p.w[k], &at);
        const double burned = p.through[(p.n_stations - 1) * p.n_levels + k];
        cr_expect_float_eq(burned, g.envelope - at.value[SM_VOLUME], 1e-6 * g.envelope, "w %g: %.9g %.9g",
                           p.w[k], burned, g.envelope - at.value[SM_VOLUME]);
    }
    sm_arena_release(&arena);
}

/* For every shape: what is not free along the grain, summed, is the propellant left. Midpoints of 400 slices and straight
 * lines between stations and levels: 1e-2 of the envelope. */
Test(grain_passages, slices_add_up)
{
    enum { SLICES = 400, LEVELS = 8 };
    for (const struct sm_shape *const *shape = sm_shape_list; *shape; shape++) {
        if (!(*shape)->section && !(*shape)->meridian && !(*shape)->voids && !(*shape)->is_meshed)
            continue;
        struct sm_arena arena;
        sm_arena_init(&arena, NULL);
        struct example e = example_read(&arena, *shape);
        struct sm_geometry g;
        cr_assert_eq(sm_shape_geometry(*shape, &arena, &e.common, e.params, &g, NULL), SM_OK);
        const struct sm_passage p = make(&arena, *shape, &e.common, e.params);
        for (int k = 0; k < LEVELS; k++) {
            const double w = g.web * (k + 0.3) / LEVELS;
            struct sm_geometry_at at;
            sm_geometry_eval(&g, w, &at);
            double sum = 0.0, area, perimeter;
            for (int i = 0; i < SLICES; i++) {
                eval(&p, g.length * (i + 0.5) / SLICES, w, &area, &perimeter);
                sum += (p.circle - area) * g.length / SLICES;
                cr_expect(area > -1e-9 * p.circle && area < p.circle * (1 + 1e-9), "%s: area %g",
                          (*shape)->name, area);
            }
            const double slack = 1e-2 * g.envelope;
            const double domes = p.circle * g.length - g.envelope; /* count as propellant in the circle */
            cr_expect(sum > at.value[SM_VOLUME] - slack && sum < at.value[SM_VOLUME] + domes + slack,
                      "%s, w %g: %g in slices, %g left", (*shape)->name, w, sum, at.value[SM_VOLUME]);
        }
        sm_arena_release(&arena);
    }
}

/* A bore told as a solid, or as facets, that ends in the grain's faces is as wide there as further in. Tolerance: 1e-3 of the
 * circle, the net's; for facets 4e-3, for a lattice of twenty boxes. */
Test(grain_passages, bores_that_end_in_the_faces)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_void bore = {.solid = {.form = SM_SOLID_CONE, .a = 0.016, .b = 0.016, .c = 0.18}, .count = 1};
    sm_solid_aim(&bore.solid, 0.0, 0.0, 0.0);
    const struct sm_voids voids = {&bore, 1, 0.05, 0.18, SM_FACE_BORE, 32};
    struct sm_meshport port;
    cr_assert_eq(sm_voids_facets(&arena, &voids, &port, NULL), SM_OK);
    port.resolution = 20;
    struct example solid = example_read(&arena, sm_shape_find("joined-voids")),
                   facets = example_read(&arena, sm_shape_find("mesh"));
    facets.common = solid.common;
    const struct sm_passage p[2] = {make(&arena, solid.shape, &solid.common, solid.params),
                                    make(&arena, facets.shape, &facets.common, &port)};
    for (int k = 0; k < 2; k++) {
        const double slack = (k == 0 ? 1e-3 : 4e-3) * p[k].circle;
        for (size_t station = 0; station < p[k].n_stations; station += p[k].n_stations - 1)
            for (size_t level = 0; level < 4; level++) {
                const double r = 0.016 + p[k].w[level], got = p[k].area[station * p[k].n_levels + level];
                cr_expect_float_eq(got, M_PI * r * r, slack, "way %d, station %zu, level %zu: %g, not %g", k,
                                   station, level, got, M_PI * r * r);
            }
    }
    sm_arena_release(&arena);
}

static void set(const struct example *e, const char *name, double value)
{
    for (size_t i = 0; i < e->shape->n_params; i++) {
        const struct sm_param *row = &e->shape->params[i];
        char *at = (char *)e->params + row->offset;
        if (strcmp(row->name, name) != 0)
            continue;
        if (row->kind == SM_WHOLE)
            *(int *)at = (int)value;
        else
            *(double *)at = value;
        return;
    }
    cr_assert_fail("no row %s", name);
}

/* Fins that go out at the aft face have the port of a slotted tube there, a prism, cut by other means, whether that
 * face burns or not, to 1e-9 of the circle and its circumference. */
Test(grain_passages, fins_at_the_aft_face_are_slots)
{
    enum { LEVELS = 5 };
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct example fins = example_read(&arena, sm_shape_find("finocyl")),
                   slots = example_read(&arena, sm_shape_find("slotted-tube"));
    slots.common = fins.common;
    set(&slots, "bore_diameter", 0.034);
    set(&slots, "slots", 6);
    set(&slots, "slot_width", 0.006);
    set(&slots, "slot_diameter", 0.076);
    for (int k = 0; k < 2; k++) {
        double w[LEVELS], area[2][LEVELS], perimeter[2][LEVELS];
        for (int i = 0; i < LEVELS; i++)
            w[i] = 0.0001 + 0.0062 * i;
        fins.common.burning = slots.common.burning = k == 0 ? SM_FACE_BORE : SM_FACE_BORE | SM_FACE_AFT_END;
        cr_assert_eq(sm_shape_aft_port(fins.shape, &arena, &fins.common, fins.params, w, LEVELS, area[0],
                                       perimeter[0], NULL),
                     SM_OK);
        cr_assert_eq(sm_shape_aft_port(slots.shape, &arena, &slots.common, slots.params, w, LEVELS, area[1],
                                       perimeter[1], NULL),
                     SM_OK);
        const double R = 0.5 * fins.common.outer_diameter;
        for (int i = 0; i < LEVELS; i++) {
            cr_expect_float_eq(area[0][i], area[1][i], 1e-9 * M_PI * R * R, "w %g: %.12g, not %.12g", w[i],
                               area[0][i], area[1][i]);
            cr_expect_float_eq(perimeter[0][i], perimeter[1][i], 1e-9 * 2.0 * M_PI * R,
                               "w %g: %.12g, not %.12g", w[i], perimeter[0][i], perimeter[1][i]);
        }
    }
    sm_arena_release(&arena);
}

/* Of every shape with a port that is no mesh, up to a tenth of the radius: at the aft end the port gets larger as it burns. */
Test(grain_passages, aft_ports_grow)
{
    enum { LEVELS = 3 };
    for (const struct sm_shape *const *shape = sm_shape_list; *shape; shape++) {
        struct sm_arena arena;
        struct sm_error err = {0};
        sm_arena_init(&arena, NULL);
        struct example e = example_read(&arena, *shape);
        double w[LEVELS], area[LEVELS], perimeter[LEVELS];
        const double radius = 0.5 * e.common.outer_diameter, circle = M_PI * radius * radius;
        for (int i = 0; i < LEVELS; i++)
            w[i] = 0.1 * radius * (i + 0.01) / LEVELS;
        if (strcmp((*shape)->name, "end-burner") != 0 && !(*shape)->is_meshed) {
            cr_assert_eq(
                sm_shape_aft_port(*shape, &arena, &e.common, e.params, w, LEVELS, area, perimeter, &err),
                SM_OK, "%s: %s", (*shape)->name, err.message);
            for (int i = 0; i < LEVELS; i++) {
                cr_expect(area[i] > (i > 0 ? area[i - 1] : 0.0) && area[i] < circle, "%s: %g", (*shape)->name,
                          area[i]);
                cr_expect_gt(perimeter[i], 0.0);
            }
        }
        sm_arena_release(&arena);
    }
}
