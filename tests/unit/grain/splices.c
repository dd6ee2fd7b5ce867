/* Ports that change their cross-section along the grain. */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "grain/patches.h"
#include "grain/prism.h"
#include "grain/slicing.h"
#include "unit/grain/example.h"

/* A finocyl of six square-tipped fins: radius 1, length 2, bore 0.35, fins of half width 0.06 out to 0.76 along 0.9. */
enum { FINS = 6 };
static const double bore = 0.35, half = 0.06, tip = 0.76, joint = 0.9, length = 2.0;

static void draw_fins(struct sm_contour *c)
{
    const double s = M_PI / FINS, mouth = sqrt(bore * bore - half * half);
    sm_contour_start(c, tip, 0.0);
    sm_contour_line(c, tip, half);
    sm_contour_line(c, mouth, half);
    sm_contour_arc(c, bore * cos(s), bore * sin(s), 0.0, 0.0, 1);
}

static void draw_bore(struct sm_contour *c)
{
    const double s = M_PI / FINS;
    sm_contour_start(c, bore, 0.0);
    sm_contour_arc(c, bore * cos(s), bore * sin(s), 0.0, 0.0, 1);
}

static struct sm_spliced finocyl(struct sm_arena *arena, unsigned burning)
{
    struct sm_splice *items = sm_arena_alloc(arena, 2, sizeof *items);
    items[0].z1 = items[1].z0 = joint;
    items[1].z1 = length;
    sm_contour_init(&items[0].contour, arena);
    sm_contour_init(&items[1].contour, arena);
    draw_fins(&items[0].contour);
    draw_bore(&items[1].contour);
    return (struct sm_spliced){items, 2, FINS, 1.0, burning};
}

/* At the start area and volume are elementary: the bore's wall less the fins' mouths, the fins' sides and tips, the flat
 * ends of the fins, and the two end faces. */
Test(grain_splices, first_area_and_volume)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const struct sm_spliced grain = finocyl(&arena, SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END);
    struct sm_slicer slicer;
    struct sm_geometry_knot knot;
    cr_assert_eq(sm_slicer_init(&arena, &grain, &slicer, NULL), SM_OK);
    cr_assert_eq(sm_slicer_knot(&slicer, 0.0, &knot, NULL), SM_OK);
    const double mouth = sqrt(bore * bore - half * half), angle = asin(half / bore);
    const double fin = 2 * half * (tip - mouth) - (bore * bore * angle - half * mouth); /* outside the bore */
    const double wall = 2 * M_PI * bore * (length - joint) + 2 * (M_PI - FINS * angle) * bore * joint;
    const double sides = FINS * (2 * (tip - mouth) + 2 * half) * joint;
    const double ends = 2 * M_PI * (1 - bore * bore) - FINS * fin;
    cr_expect_float_eq(-knot.slope[SM_VOLUME], wall + sides + FINS * fin + ends, 1e-6,
                       "area %.9f, elementary %.9f", -knot.slope[SM_VOLUME],
                       wall + sides + FINS * fin + ends);
    cr_expect_float_eq(knot.value[SM_VOLUME], M_PI * length * (1 - bore * bore) - FINS * fin * joint, 1e-9);
    sm_arena_release(&arena);
}

/* The integrals over the front are the derivatives of those over what is left, by central differences over 2e-4 of the
 * radius: to 2e-6, as eight Gauss points a smooth stretch allow. The levels keep off the kinks. */
Test(grain_splices, fronts_are_derivatives)
{
    static const double levels[] = {0.05, 0.13, 0.21, 0.30, 0.35, 0.48, 0.53, 0.60};
    const double step = 1e-4;
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const struct sm_spliced grain = finocyl(&arena, SM_FACE_BORE | SM_FACE_FORE_END);
    struct sm_slicer slicer;
    cr_assert_eq(sm_slicer_init(&arena, &grain, &slicer, NULL), SM_OK);
    for (size_t i = 0; i < SM_COUNT(levels); i++) {
        const double w[3] = {levels[i] - step, levels[i], levels[i] + step};
        struct sm_geometry_knot knots[3];
        cr_assert_eq(sm_slicer_knots(&slicer, w, 3, knots, NULL), SM_OK);
        const struct sm_geometry_knot before = knots[0], at = knots[1], after = knots[2];
        for (int q = 0; q < SM_N_INTEGRALS; q++) {
            const double slope = (after.value[q] - before.value[q]) / (2 * step);
            cr_expect(fabs(at.slope[q] - slope) <= 4e-5, "w %g, integral %d: %.9f, difference %.9f",
                      levels[i], q, at.slope[q], slope);
        }
    }
    sm_arena_release(&arena);
}

/* A prism cut in two lengths of one section is the prism. */
Test(grain_splices, one_section_in_two_lengths)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_splice items[2] = {{.z0 = 0.0, .z1 = 0.7}, {.z0 = 0.7, .z1 = length}};
    struct sm_section section = {.sectors = FINS, .radius = 1.0};
    sm_contour_init(&section.contour, &arena);
    draw_fins(&section.contour);
    for (int i = 0; i < 2; i++) {
        sm_contour_init(&items[i].contour, &arena);
        draw_fins(&items[i].contour);
    }
    const unsigned burning = SM_FACE_BORE | SM_FACE_AFT_END;
    const struct sm_spliced grain = {items, 2, FINS, 1.0, burning};
    struct sm_geometry whole;
    struct sm_slicer slicer;
    cr_assert_eq(sm_prism_geometry(&arena, &section, length, burning, &whole, NULL), SM_OK);
    cr_assert_eq(sm_slicer_init(&arena, &grain, &slicer, NULL), SM_OK);
    double levels[12];
    struct sm_geometry_knot knots[12];
    for (int i = 0; i < 12; i++)
        levels[i] = whole.web * (i + 0.43) / 12;
    cr_assert_eq(sm_slicer_knots(&slicer, levels, 12, knots, NULL), SM_OK);
    for (int i = 0; i < 12; i++) {
        const double w = levels[i];
        const struct sm_geometry_knot got = knots[i];
        struct sm_geometry_at want;
        sm_geometry_eval(&whole, w, &want);
        for (int q = 0; q < SM_N_INTEGRALS; q++) {
            cr_expect_float_eq(got.value[q], want.value[q], 1e-9 * whole.envelope * 4, "w %g, value %d", w,
                               q);
            cr_expect_float_eq(got.slope[q], want.slope[q], 1e-7, "w %g, slope %d: %.12g, not %.12g", w, q,
                               got.slope[q], want.slope[q]);
        }
    }
    sm_arena_release(&arena);
}

/* Distance of p from a finned or plain port; 0 in its void. */
static double from_port(struct sm_point p, bool has_fins)
{
    double least = fmax(hypot(p.x, p.y) - bore, 0.0);
    for (int k = 0; has_fins && k < FINS; k++) {
        const double a = 2 * M_PI * k / FINS, x = cos(a) * p.x + sin(a) * p.y,
                     y = cos(a) * p.y - sin(a) * p.x;
        least = fmin(least, hypot(fmax(fmax(-x, x - tip), 0.0), fmax(fabs(y) - half, 0.0)));
    }
    return least;
}

/* Volume left by points of the evenly spread R3 sequence in the cylinder, each with its own distance in space. Tolerance:
 * 5e-3 for 60000 points; with two millions they agreed to 1e-4 of it (regression). */
Test(grain_splices, samples_agree)
{
    enum { LEVELS = 6, SAMPLES = 60000 };
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const struct sm_spliced grain = finocyl(&arena, SM_FACE_BORE | SM_FACE_AFT_END);
    struct sm_geometry g;
    cr_assert_eq(sm_spliced_geometry(&arena, &grain, &g, NULL), SM_OK);
    double left[LEVELS] = {0.0};
    for (int i = 0; i < SAMPLES; i++) {
        const double z = length * fmod(0.5 + 0.8191725133961645 * i, 1.0);
        const double r = sqrt(fmod(0.5 + 0.6710436067037893 * i, 1.0)),
                     a = 2 * M_PI * fmod(0.5 + 0.5497004779019703 * i, 1.0);
        const struct sm_point p = {r * cos(a), r * sin(a)};
        double d = fmin(hypot(fmax(z - joint, 0.0), from_port(p, true)), from_port(p, false));
        d = fmin(d, length - z);
        for (int k = 0; k < LEVELS; k++)
            left[k] += d > g.web * k / LEVELS ? M_PI * length / SAMPLES : 0.0;
    }
    for (int k = 0; k < LEVELS; k++) {
        struct sm_geometry_at at;
        sm_geometry_eval(&g, g.web * k / LEVELS, &at);
        cr_expect_float_eq(at.value[SM_VOLUME], left[k], 5e-3 * g.envelope, "level %d: %g, sampled %g", k,
                           at.value[SM_VOLUME], left[k]);
    }
    sm_arena_release(&arena);
}

/* ---- many levels at once ---- */

enum { LEVELS = 90 };

static double worst_slope(const struct sm_geometry_knot *a, const struct sm_geometry_knot *b)
{
    double worst = 0.0;
    for (int q = 0; q < SM_N_INTEGRALS; q++)
        worst = fmax(worst, fabs(a->slope[q] - b->slope[q]) + fabs(a->value[q] - b->value[q]));
    return worst;
}

/* Levels together, whose slices are followed and summed in lanes, are what they are one by one, cut and summed by the plane trimmer: to
 * 1e-7 of a first area of 14, with fewer points in short pieces. And they are the same bits by every set of instructions. */
Test(grain_splices, levels_together_and_alone)
{
    struct sm_arena arena;
    struct sm_slicer slicer;
    static struct sm_geometry_knot alone[LEVELS], together[LEVELS], other[LEVELS];
    double w[LEVELS];
    sm_arena_init(&arena, NULL);
    const struct sm_spliced grain = finocyl(&arena, SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END);
    for (int i = 0; i < LEVELS; i++)
        w[i] = 0.643 * (i + 0.31) / LEVELS;
    cr_assert_eq(sm_slicer_init(&arena, &grain, &slicer, NULL), SM_OK);
    for (int i = 0; i < LEVELS; i++)
        cr_assert_eq(sm_slicer_knot(&slicer, w[i], &alone[i], NULL), SM_OK);
    const int best = (int)slicer.set;
    for (int set = SM_LANE_PLAIN; set <= best; set++) {
        slicer.set = (enum sm_lane_set)set;
        slicer.n_hints = 0;
        cr_assert_eq(sm_slicer_knots(&slicer, w, LEVELS, set == SM_LANE_PLAIN ? together : other, NULL),
                     SM_OK);
        for (int i = 0; i < LEVELS && set != SM_LANE_PLAIN; i++)
            cr_expect_eq(memcmp(&other[i], &together[i], sizeof other[i]), 0, "set %d, w %g", set, w[i]);
        double area[LEVELS];
        slicer.n_hints = 0;
        cr_assert_eq(sm_slicer_areas(&slicer, w, LEVELS, area, NULL), SM_OK);
        for (int i = 0; i < LEVELS; i++)
            cr_expect_float_eq(area[i], -together[i].slope[SM_VOLUME], 1e-12, "set %d, w %g", set, w[i]);
    }
    for (int i = 0; i < LEVELS; i++)
        cr_expect_leq(worst_slope(&together[i], &alone[i]), 1.4e-6, "w %g: %g", w[i],
                      worst_slope(&together[i], &alone[i]));
    sm_arena_release(&arena);
}

/* Levels up to the web, each for itself and all together: the same areas, as shares of the first, to 1e-6. Cut for themselves they know
 * nothing of others, so islands close to the web must be found by looking. And the table errs by no more than twice what it says, which
 * is the most that it was seen to err by. */
static void alone_as_together(struct sm_arena *arena, const struct example *e, const struct sm_geometry *g,
                              uint64_t seed)
{
    enum { NEAR_WEB = 80 };
    struct sm_spliced grain;
    struct sm_slicer one, all;
    static struct sm_geometry_knot alone, together[NEAR_WEB];
    double w[NEAR_WEB];
    cr_assert_eq(sm_shape_spliced(e->shape, arena, &e->common, e->params, &grain, NULL), SM_OK);
    cr_assert_eq(sm_slicer_init(arena, &grain, &all, NULL), SM_OK);
    for (int i = 0; i < NEAR_WEB; i++)
        w[i] = g->web * (i + 0.37) / NEAR_WEB;
    cr_assert_eq(sm_slicer_knots(&all, w, NEAR_WEB, together, NULL), SM_OK);
    for (int i = 0; i < NEAR_WEB; i++) {
        cr_assert_eq(sm_slicer_init(arena, &grain, &one, NULL), SM_OK);
        cr_assert_eq(sm_slicer_knot(&one, w[i], &alone, NULL), SM_OK);
        const double off = fabs(alone.slope[SM_VOLUME] - together[i].slope[SM_VOLUME]);
        struct sm_geometry_at at;
        sm_geometry_eval(g, w[i], &at);
        const double missed = fabs(at.slope[SM_VOLUME] - together[i].slope[SM_VOLUME]);
        cr_expect_leq(missed, -2.0 * g->accuracy * together[0].slope[SM_VOLUME],
                      "%s, seed %llu, %g of the web: the table errs by %g", e->shape->name,
                      (unsigned long long)seed, w[i] / g->web, missed);
        cr_expect_leq(off, -1e-6 * together[0].slope[SM_VOLUME], "%s, seed %llu, %g of the web: %g and %g",
                      e->shape->name, (unsigned long long)seed, w[i] / g->web, alone.slope[SM_VOLUME],
                      together[i].slope[SM_VOLUME]);
    }
}

/* Drawn ones that have short islands close to the web, changes that touch others, or a jump with a steep fall behind it. */
Test(grain_splices, alone_as_together)
{
    static const uint64_t segments[] = {1001, 1048, 1056, 1089, 1154};
    for (size_t i = 0; i < SM_COUNT(segments); i++)
        example_hold(sm_shape_find("slotted-segment"), segments[i], alone_as_together);
    example_hold(sm_shape_find("finocyl"), 1038, alone_as_together);
}

/* Two slices have one mark if, and only if, the plane trimmer cuts them into the same parts. */
Test(grain_splices, marks_tell_make_ups)
{
    enum { SLICES = 64 };
    struct sm_arena arena;
    struct sm_slicer slicer;
    struct sm_slicing c;
    struct sm_parts parts[SLICES];
    double z[SLICES];
    uint64_t marks[SLICES];
    sm_arena_init(&arena, NULL);
    const struct sm_spliced grain = finocyl(&arena, SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END);
    cr_assert_eq(sm_slicer_init(&arena, &grain, &slicer, NULL), SM_OK);
    cr_assert_eq(sm_slicing_start(&slicer, 0.5, &c, NULL), SM_OK);
    for (int i = 0; i < SLICES; i++) {
        z[i] = 0.5 + (length - 1.0) * (i + 0.5) / SLICES;
        cr_assert_eq(sm_slicing_trim(&c, z[i], &parts[i]), SM_OK);
    }
    sm_slicing_marks(&c, z, SLICES, marks);
    int kinds = 1;
    for (int i = 0; i < SLICES; i++) {
        for (int j = 0; j < i; j++)
            cr_expect_eq(marks[i] == marks[j], sm_parts_alike(&parts[i], &parts[j]), "z %g and %g", z[i],
                         z[j]);
        kinds += i > 0 && marks[i] != marks[i - 1];
    }
    cr_expect_gt(kinds, 5, "of make-ups there are only %d", kinds);
    sm_slicing_release(&c);
    sm_arena_release(&arena);
}

/* Distances that fall, or jump about, are what they are rising: nothing is followed back, where islands of propellant come up. To 1e-7 of
 * the first area. */
Test(grain_splices, any_order)
{
    enum { SOME = 60 };
    struct sm_arena arena;
    struct sm_slicer slicer;
    double w[3][SOME], area[3][SOME];
    sm_arena_init(&arena, NULL);
    const struct sm_spliced grain = finocyl(&arena, SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END);
    for (int i = 0; i < SOME; i++) {
        w[0][i] = 0.643 * (i + 0.31) / SOME;
        w[1][SOME - 1 - i] = w[0][i];
        w[2][i * 7 % SOME] = w[0][i];
    }
    cr_assert_eq(sm_slicer_init(&arena, &grain, &slicer, NULL), SM_OK);
    for (int k = 0; k < 3; k++)
        cr_assert_eq(sm_slicer_areas(&slicer, w[k], SOME, area[k], NULL), SM_OK);
    for (int i = 0; i < SOME; i++) {
        cr_expect_float_eq(area[1][SOME - 1 - i], area[0][i], 1e-7 * area[0][0], "falling, w %g: %g and %g",
                           w[0][i], area[1][SOME - 1 - i], area[0][i]);
        cr_expect_float_eq(area[2][i * 7 % SOME], area[0][i], 1e-7 * area[0][0], "about, w %g: %g and %g",
                           w[0][i], area[2][i * 7 % SOME], area[0][i]);
    }
    sm_arena_release(&arena);
}

/* Eight finned lengths with seven plain ones between, more than go in lanes, against patches (grain/patches.h), which know nothing of
 * slices: to 2e-4 of the first area, as patches of 64 cells to the radius err. */
Test(grain_splices, many_lengths)
{
    enum { FINNED = 8, ALL = 2 * FINNED - 1 };
    static const double levels[] = {0.03, 0.11, 0.2, 0.37, 0.5};
    const unsigned burning = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END;
    struct sm_arena arena;
    struct sm_splice items[ALL];
    struct sm_void voids[FINNED + 1] = {
        {.solid = {.form = SM_SOLID_CONE, .a = bore, .b = bore, .c = length}, .count = 1}};
    sm_arena_init(&arena, NULL);
    for (int i = 0; i < ALL; i++) {
        items[i] = (struct sm_splice){.z0 = length * i / ALL, .z1 = length * (i + 1) / ALL};
        sm_contour_init(&items[i].contour, &arena);
        (i % 2 == 0 ? draw_fins : draw_bore)(&items[i].contour);
    }
    for (int i = 0; i < FINNED; i++)
        voids[i + 1] = (struct sm_void){.solid = {.form = SM_SOLID_BOX,
                                                  .at = {0.5 * tip, 0.0, length * (2 * i + 0.5) / ALL},
                                                  .a = 0.5 * tip,
                                                  .b = half,
                                                  .c = 0.5 * length / ALL},
                                        .count = FINS};
    for (int i = 0; i <= FINNED; i++)
        sm_solid_aim(&voids[i].solid, 0.0, 0.0, 0.0);
    const struct sm_spliced grain = {items, ALL, FINS, 1.0, burning};
    const struct sm_voids port = {voids, FINNED + 1, 1.0, length, burning, 64};
    struct sm_slicer slicer;
    struct sm_patcher patcher;
    struct sm_geometry_knot knots[SM_COUNT(levels)];
    cr_assert_eq(sm_slicer_init(&arena, &grain, &slicer, NULL), SM_OK);
    cr_assert_eq(sm_patcher_init(&arena, &port, &patcher, NULL), SM_OK);
    cr_assert_eq(sm_slicer_knots(&slicer, levels, SM_COUNT(levels), knots, NULL), SM_OK);
    for (size_t i = 0; i < SM_COUNT(levels); i++) {
        struct sm_patch_sums sums;
        sm_patcher_level(&patcher, levels[i], &sums);
        cr_expect_float_eq(-knots[i].slope[SM_VOLUME], sums.front[SM_VOLUME],
                           -2e-4 * knots[0].slope[SM_VOLUME], "w %g: %.7f, by patches %.7f", levels[i],
                           -knots[i].slope[SM_VOLUME], sums.front[SM_VOLUME]);
    }
    sm_arena_release(&arena);
}

Test(grain_splices, refusals)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_geometry g;
    struct sm_error err = {0};
    struct sm_spliced grain = finocyl(&arena, SM_FACE_FORE_END);
    cr_expect_eq(sm_spliced_geometry(&arena, &grain, &g, &err), SM_E_GEOMETRY,
                 "an inhibited bore is a sleeve");
    grain = finocyl(&arena, SM_FACE_BORE | SM_FACE_OUTER);
    cr_expect_eq(sm_spliced_geometry(&arena, &grain, &g, &err), SM_E_GEOMETRY);
    sm_arena_release(&arena);
}

/* Among the kinks are those with closed forms: in the plane where the fins' front begins the bore reaches the tip, then its corner;
 * at the aft end, D = length - joint from the fins, their front has come as far round as q, q^2 = w^2 - (D - w)^2, when their corner
 * or their tip touches the case. 1e-7 of the radius, where the first two are looked at a little off that plane. */
Test(grain_splices, kinks_have_closed_forms)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const struct sm_spliced grain = finocyl(&arena, SM_FACE_BORE | SM_FACE_AFT_END);
    const double breaks[] = {0.0, 0.4, 0.55, 0.6}, far = length - joint, corner = hypot(tip, half);
    const double want[] = {tip - bore, corner - bore, 0.5 * (pow(1 - corner, 2) / far + far),
                           0.5 * (pow(1 - tip, 2) / far + far)};
    struct sm_slicer slicer;
    double *kinks;
    size_t n;
    cr_assert_eq(sm_slicer_init(&arena, &grain, &slicer, NULL), SM_OK);
    cr_assert_eq(sm_slicer_kinks(&slicer, &arena, breaks, SM_COUNT(breaks), &kinks, &n, NULL), SM_OK);
    for (size_t i = 0; i < SM_COUNT(want); i++) {
        double off = 1.0;
        for (size_t k = 0; k < n; k++)
            off = fmin(off, fabs(kinks[k] - want[i]));
        cr_expect_leq(off, 1e-7, "the kink at %.9f is %g away", want[i], off);
    }
    sm_arena_release(&arena);
}

/* ---- slotted segments ---- */

static void shape_table(struct sm_arena *arena, const char *name, unsigned burning, const void *params,
                        struct sm_geometry *out)
{
    const struct sm_shape *shape = sm_shape_find(name);
    const struct sm_grain_common common = {.outer_diameter = 0.1, .length = 0.2, .burning = burning};
    struct sm_error err = {0};
    cr_assert_not_null(shape);
    cr_assert_eq(sm_shape_geometry(shape, arena, &common, params, out, &err), SM_OK, "%s: %s [%s]", name,
                 err.message, err.at.path);
}

/* To 5e-5 of the largest area: 1e-5 of the pieces, and the rest for eight Gauss points a stretch of the axis. */
static void same_tables(const struct sm_geometry *a, const struct sm_geometry *b, double top)
{
    cr_expect_float_eq(a->web, b->web, 1e-9);
    for (int i = 0; i < 40; i++) {
        struct sm_geometry_at x, y;
        const double w = a->web * (i + 0.41) / 40;
        sm_geometry_eval(a, w, &x);
        sm_geometry_eval(b, w, &y);
        cr_expect_float_eq(x.slope[SM_VOLUME], y.slope[SM_VOLUME], 5e-5 * top, "w %g mm: %g, not %g", 1e3 * w,
                           x.slope[SM_VOLUME], y.slope[SM_VOLUME]);
        for (int q = 0; q < SM_N_INTEGRALS; q++)
            cr_expect_float_eq(x.value[q], y.value[q], 2e-6 * a->envelope, "w %g mm, integral %d", 1e3 * w,
                               q);
    }
}

/* Reads one grain as a file has it. */
static void table_of(struct sm_arena *arena, const char *name, const char *json, struct sm_geometry *out)
{
    struct sm_shape shape = *sm_shape_find(name);
    shape.example = json;
    const struct example e = example_read(arena, &shape);
    shape_table(arena, name, e.common.burning, e.params, out);
}

/* Slots all round are a body of revolution, whose meridian is exact: two of them, each as two steps of a bore profile. */
Test(grain_splices, round_slots_by_meridian)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_geometry slices, meridian;
    table_of(&arena, "slotted-segment",
             "{\"outer_diameter\": \"100 mm\", \"length\": \"200 mm\", \"bore_diameter\": \"30 mm\","
             " \"burning\": [\"bore\", \"aft-end\"], \"round_slots\": ["
             "{\"position\": \"60 mm\", \"width\": \"10 mm\", \"diameter\": \"70 mm\"},"
             "{\"position\": \"130 mm\", \"width\": \"16 mm\", \"diameter\": \"84 mm\"}]}",
             &slices);
    table_of(&arena, "bore-profile",
             "{\"outer_diameter\": \"100 mm\", \"length\": \"200 mm\", \"burning\": [\"bore\", \"aft-end\"],"
             " \"profile\": [{\"diameter\": \"30 mm\"}, {\"z\": \"55 mm\", \"diameter\": \"30 mm\"},"
             "{\"z\": \"55 mm\", \"diameter\": \"70 mm\"}, {\"z\": \"65 mm\", \"diameter\": \"70 mm\"},"
             "{\"z\": \"65 mm\", \"diameter\": \"30 mm\"}, {\"z\": \"122 mm\", \"diameter\": \"30 mm\"},"
             "{\"z\": \"122 mm\", \"diameter\": \"84 mm\"}, {\"z\": \"138 mm\", \"diameter\": \"84 mm\"},"
             "{\"z\": \"138 mm\", \"diameter\": \"30 mm\"}, {\"diameter\": \"30 mm\"}]}",
             &meridian);
    same_tables(&slices, &meridian, 0.04);
    sm_arena_release(&arena);
}

/* One slotted length at the aft end is a finocyl of square tips. */
Test(grain_splices, slotted_end_is_finocyl)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_geometry segment, finocyl_table;
    table_of(
        &arena, "slotted-segment",
        "{\"outer_diameter\": \"100 mm\", \"length\": \"200 mm\", \"bore_diameter\": \"30 mm\", \"slots\": 5,"
        " \"slotted\": [{\"from\": \"120 mm\", \"width\": \"5 mm\", \"diameter\": \"74 mm\"}]}",
        &segment);
    table_of(
        &arena, "finocyl",
        "{\"outer_diameter\": \"100 mm\", \"length\": \"200 mm\", \"bore_diameter\": \"30 mm\", \"fins\": 5,"
        " \"fin_width\": \"5 mm\", \"fin_diameter\": \"74 mm\", \"fin_length\": \"80 mm\","
        " \"tip_fillet\": \"0 mm\"}",
        &finocyl_table);
    same_tables(&segment, &finocyl_table, 0.04);
    sm_arena_release(&arena);
}

/* The cut along a finocyl through two fins: a bore of half width a, and fins that reach out to c over their length. Moved by w
 * it gains a strip at the fins' face and a quarter of a disc at its edge. Elementary; the net has 60 squares to the radius. */
Test(grain_splices, cut_along_the_axis)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const struct example e = example_read(&arena, sm_shape_find("finocyl"));
    struct sm_spliced spliced;
    struct sm_sheet sheet;
    cr_assert_eq(sm_shape_spliced(e.shape, &arena, &e.common, e.params, &spliced, NULL), SM_OK);
    cr_assert_eq(sm_spliced_sheet(&arena, &spliced, 60, &sheet, NULL), SM_OK);
    const double a = 0.017, c = 0.038, plain = 0.13, fins = 0.09;
    for (int i = 0; i <= 4; i++) {
        const double w = 0.0025 * i;
        const double upper = (a + w) * plain + (c + w) * fins + w * (c - a - w) + 0.25 * M_PI * w * w;
        double area, front;
        sm_sheet_measure(&sheet, w, &area, &front);
        cr_expect_float_eq(area, 2.0 * upper, 2e-4 * area, "at %g: %g, not %g", w, area, 2.0 * upper);
    }
    sm_arena_release(&arena);
}
