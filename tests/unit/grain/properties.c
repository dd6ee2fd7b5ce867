/* Laws that every registered shape obeys, on its example and on random valid grains near it. The seed is printed with
 * every failure. */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "grain/prism.h"
#include "unit/grain/arrival.h"
#include "unit/grain/example.h"

enum { DRAWS = 3 };
static const uint64_t first_seed = 20240607;

static bool has_section(const struct sm_shape *shape)
{
    return shape->section;
}

static bool has_closed_form(const struct sm_shape *shape)
{
    return shape->geometry && shape->section;
}

static bool is_exact(const struct sm_shape *shape)
{
    return !shape->is_meshed && !shape->voids;
}

static bool is_spliced(const struct sm_shape *shape)
{
    return shape->spliced;
}

static bool is_quick_to_cut(const struct sm_shape *shape)
{
    return is_exact(shape) && !shape->spliced;
}

/* Runs a law on the example of every shape that the law is about, and on some grains drawn near it of those that are to be drawn
 * (NULL: all). */
static void for_shapes_drawn(bool (*wants)(const struct sm_shape *shape),
                             bool (*is_drawn)(const struct sm_shape *shape), example_law *check)
{
    for (const struct sm_shape *const *shape = sm_shape_list; *shape; shape++) {
        const uint64_t last = !is_drawn || is_drawn(*shape) ? DRAWS : 0;
        for (uint64_t draw = 0; draw <= last && (!wants || wants(*shape)); draw++)
            example_hold(*shape, draw > 0 ? first_seed + draw : 0, check);
    }
}

static void for_shapes(bool (*wants)(const struct sm_shape *shape), example_law *check)
{
    for_shapes_drawn(wants, NULL, check);
}

static void for_every_shape(example_law *check)
{
    for_shapes(NULL, check);
}

#define NEAR(got, want, tolerance, what)                                                                     \
    cr_expect(fabs((got) - (want)) <= (tolerance), "%s, seed %llu: %s is %.15g, not %.15g", e->shape->name,  \
              (unsigned long long)seed, what, (double)(got), (double)(want))

static double largest_area(const struct sm_geometry *g)
{
    double largest = 0.0, area, volume;
    for (size_t i = 0; i < g->n_pieces; i++)
        for (int k = 0; k <= 8; k++) {
            const struct sm_piece *p = &g->pieces[i];
            sm_piece_area(p, p->w0 + (p->w1 - p->w0) * k / 8, &area, &volume);
            largest = fmax(largest, area);
        }
    return largest;
}

/* What a table promises of its area: 1e-9, 1e-5 by slices, or 1e-3 by patches at their usual fineness; with room for the
 * places where nobody looked. A mesh in 12 boxes says itself how far it is off, by half as many: 5e-2. */
static double promised(const struct example *e)
{
    if (e->shape->is_meshed)
        return 5e-2;
    if (e->shape->voids)
        return 2e-3;
    return e->shape->spliced ? 2e-5 : 1e-8;
}

/* Volume falls from that of the grain to nothing without a jump, the area is never negative, and a table's stated error
 * is what was asked for. Tolerances: 1e-12 of the whole for sums of some hundred roundings; the area may miss zero by
 * what the table promises. */
static void books_balance(struct sm_arena *arena, const struct example *e, const struct sm_geometry *g,
                          uint64_t seed)
{
    (void)arena;
    const double whole = g->envelope, top = largest_area(g);
    double before = 0.0, area, volume;
    cr_assert_gt(g->n_pieces, 0u);
    cr_expect_eq(g->pieces[0].w0, 0.0);
    cr_expect_eq(g->pieces[g->n_pieces - 1].w1, g->web);
    for (size_t i = 0; i < g->n_pieces; i++) {
        const struct sm_piece *p = &g->pieces[i];
        sm_piece_area(p, p->w0, &area, &volume);
        if (i > 0)
            NEAR(volume, before, 1e-12 * whole, "volume after a joint");
        for (int k = 0; k <= 20; k++) {
            sm_piece_area(p, p->w0 + (p->w1 - p->w0) * k / 20, &area, &volume);
            cr_expect_geq(area, -promised(e) * top, "%s, seed %llu: area %g", e->shape->name,
                          (unsigned long long)seed, area);
        }
        before = volume;
    }
    NEAR(before, 0.0, 1e-12 * whole, "volume at the web");
    cr_expect_leq(g->accuracy, promised(e), "%s, seed %llu: accuracy %g", e->shape->name,
                  (unsigned long long)seed, g->accuracy);
    const double cylinder = M_PI * pow(g->outer_radius, 2) * g->length;
    cr_expect(whole <= cylinder * (1 + 1e-14) && whole >= cylinder * 2 / 3 * (1 - 1e-14), "%s: envelope",
              e->shape->name);
}

/* The integral of the area over the burn is the volume: five-point Gauss in u on each piece, exact for a quintic's slope
 * in the even pace; else the root is taken out by integrating in s. */
static void area_adds_up(struct sm_arena *arena, const struct example *e, const struct sm_geometry *g,
                         uint64_t seed)
{
    (void)arena;
    static const double x[5] = {0.046910077030668, 0.230765344947158, 0.5, 0.769234655052842,
                                0.953089922969332};
    static const double weight[5] = {0.118463442528095, 0.239314335249683, 0.284444444444444,
                                     0.239314335249683, 0.118463442528095};
    double sum = 0.0, area, volume, at_start;
    for (size_t i = 0; i < g->n_pieces; i++) {
        const struct sm_piece *p = &g->pieces[i];
        for (int k = 0; k < 5; k++) {
            const double s = p->near + (p->far - p->near) * x[k];
            const double w = p->pace == SM_EVEN          ? p->w0 + (p->w1 - p->w0) * x[k]
                             : p->pace == SM_ROOT_BEFORE ? p->root + s * s
                                                         : p->root - s * s;
            const double dw = p->pace == SM_EVEN ? p->w1 - p->w0 : 2.0 * s * (p->far - p->near);
            sm_piece_area(p, w, &area, &volume);
            sum += weight[k] * dw * area;
        }
    }
    sm_piece_area(&g->pieces[0], 0.0, &area, &at_start);
    NEAR(sum, at_start, 1e-11 * g->envelope, "integral of the area");
}

static double squares[2]; /* of nets of 512 and of 4096 places, summed over grains [1] */

static void add_squares(struct sm_arena *arena, const struct example *e, const struct sm_geometry *g,
                        uint64_t seed)
{
    (void)seed;
    squares[0] += arrival_square(arena, e, g, 512);
    squares[1] += arrival_square(arena, e, g, 4096);
}

/* Eight times the places, a quarter of the difference, and on a smooth boundary less: 0.91 was met, over all shapes whose
 * tables are exact beside that. */
Test(grain_properties, counting_converges_on_the_tables)
{
    for_shapes(is_exact, add_squares);
    const double order = log(squares[0] / squares[1]) / (2.0 * log(8.0));
    cr_expect(order > 0.6 && order < 1.1, "order %.3f", order);
}

/* On which side of an event a rounding puts a slice decides how the axis is cut: integrals by slices are the same to a tenth
 * of what their area promises. */
static double repeatable(const struct example *e)
{
    return e->shape->spliced ? 2e-6 : 1e-9;
}

/* All lengths times k: areas by k^2, volumes by k^3, moments by k^4 and k^5; k is no power of two. */
static void scales(struct sm_arena *arena, const struct example *e, const struct sm_geometry *g,
                   uint64_t seed)
{
    static const int power[SM_N_INTEGRALS] = {3, 4, 4, 4, 5, 5, 5, 5, 5, 5};
    const double k = 0.3;
    const struct example small = example_scale(arena, e, k);
    struct sm_geometry h;
    struct sm_error err = {0};
    cr_assert_eq(sm_shape_geometry(small.shape, arena, &small.common, small.params, &h, &err), SM_OK,
                 "%s: %s", e->shape->name, err.message);
    NEAR(h.web, k * g->web, 1e-12 * h.web, "web");
    const double reach = g->length + g->outer_radius, top = largest_area(g);
    for (int i = 0; i < 20; i++) {
        struct sm_geometry_at big, scaled;
        const double w = g->web * (i + 0.37) / 20;
        sm_geometry_eval(g, w, &big);
        sm_geometry_eval(&h, k * w, &scaled);
        NEAR(scaled.slope[SM_VOLUME], k * k * big.slope[SM_VOLUME], promised(e) * k * k * top, "area");
        for (int q = 0; q < SM_N_INTEGRALS; q++)
            NEAR(scaled.value[q], pow(k, power[q]) * big.value[q],
                 repeatable(e) * g->envelope * pow(k, 3) * pow(k * reach, power[q] - 3), "integral");
    }
}

/* The same grain in inches. Lengths move by a rounding; a table's pieces may be cut elsewhere, so areas are compared to
 * the table's accuracy, and totals to 1e-12. */
static void inches_are_millimetres(struct sm_arena *arena, const struct example *e,
                                   const struct sm_geometry *g, uint64_t seed)
{
    const struct example other = example_through_inches(arena, e);
    struct sm_geometry h;
    struct sm_error err = {0};
    cr_assert_eq(sm_shape_geometry(other.shape, arena, &other.common, other.params, &h, &err), SM_OK,
                 "%s: %s", e->shape->name, err.message);
    struct sm_geometry_at a, b;
    sm_geometry_eval(g, 0.0, &a);
    sm_geometry_eval(&h, 0.0, &b);
    NEAR(h.web, g->web, 1e-12 * g->web, "web");
    NEAR(b.value[SM_VOLUME], a.value[SM_VOLUME], 1e-12 * g->envelope, "volume");
    NEAR(b.slope[SM_VOLUME], a.slope[SM_VOLUME], 1e-12 * largest_area(g), "area");
}

/* Laws of every grain, on the same ones, each cut but once for all of them. */
static void laws(struct sm_arena *arena, const struct example *e, const struct sm_geometry *g, uint64_t seed)
{
    books_balance(arena, e, g, seed);
    area_adds_up(arena, e, g, seed);
    arrival_agrees(arena, e, g, seed);
    scales(arena, e, g, seed);
    inches_are_millimetres(arena, e, g, seed);
}

Test(grain_properties, laws)
{
    for_every_shape(laws);
}

/* The web is when the fire comes to the last place: no climber gets beyond it, and the best comes within 1 % of it. */
static void web_is_last(struct sm_arena *arena, const struct example *e, const struct sm_geometry *g,
                        uint64_t seed)
{
    const double last = arrival_last(arena, e, seed);
    cr_expect(last <= g->web * (1.0 + 1e-9) && last >= 0.99 * g->web,
              "%s, seed %llu: the web is %.9g, and a place is reached at %.9g", e->shape->name,
              (unsigned long long)seed, g->web, last);
}

/* The last ones are slotted lengths that end in slivers away from where slices were once looked at. */
Test(grain_properties, webs_of_splices)
{
    static const uint64_t ends_in_slivers[] = {1001, 1010, 1030};
    for_shapes_drawn(is_spliced, NULL, web_is_last);
    for (size_t i = 0; i < SM_COUNT(ends_in_slivers); i++)
        example_hold(sm_shape_find("slotted-segment"), ends_in_slivers[i], web_is_last);
}

/* A shape with a closed form and a section: the general engine must give the closed form. */
static void closed_form_agrees(struct sm_arena *arena, const struct example *e, const struct sm_geometry *g,
                               uint64_t seed)
{
    struct sm_section section;
    struct sm_geometry h;
    struct sm_error err = {0};
    cr_assert_eq(sm_shape_section(e->shape, arena, &e->common, e->params, &section, &err), SM_OK, "%s",
                 err.message);
    const unsigned burning = e->common.burning;
    const enum sm_status status = sm_prism_geometry(arena, &section, e->common.length, burning, &h, &err);
    if (burning & SM_FACE_OUTER && !(burning & SM_FACE_BORE)) {
        cr_expect_eq(status, SM_E_GEOMETRY);
        return;
    }
    cr_assert_eq(status, SM_OK, "%s: %s", e->shape->name, err.message);
    NEAR(h.web, g->web, 1e-13 * g->web, "web");
    NEAR(h.port_area, g->port_area, 1e-13 * g->port_area, "port");
    const double reach = g->length + g->outer_radius;
    for (int i = 0; i < 20; i++) {
        struct sm_geometry_at a, b;
        const double w = g->web * (i + 0.37) / 20;
        sm_geometry_eval(g, w, &a);
        sm_geometry_eval(&h, w, &b);
        for (int q = 0; q < SM_N_INTEGRALS; q++) {
            NEAR(b.value[q], a.value[q], 1e-13 * g->envelope * fmax(reach * reach, 1.0), "integral");
            NEAR(b.slope[q], a.slope[q], 1e-12 * largest_area(g) * fmax(reach * reach, 1.0), "slope");
        }
    }
}

Test(grain_properties, closed_form_agrees)
{
    for_shapes(has_closed_form, closed_form_agrees);
}

/* A table multiplied by k is that of the grain cut k times as large: to what both promise. */
static void scaled_without_cutting(struct sm_arena *arena, const struct example *e,
                                   const struct sm_geometry *g, uint64_t seed)
{
    const double k = 1.7;
    const struct example large = example_scale(arena, e, k);
    struct sm_geometry cut, scaled;
    struct sm_error err = {0};
    cr_assert_eq(sm_shape_geometry(large.shape, arena, &large.common, large.params, &cut, &err), SM_OK,
                 "%s: %s", e->shape->name, err.message);
    cr_assert_eq(sm_shape_rescale(e->shape, arena, &e->common, e->params, g, &large.common, large.params,
                                  &scaled, &err),
                 SM_OK);
    cr_assert_eq(scaled.n_pieces, g->n_pieces, "%s: was not seen to be the same grain", e->shape->name);
    const double reach = cut.length + cut.outer_radius, top = largest_area(&cut);
    NEAR(scaled.web, cut.web, 1e-12 * cut.web, "web");
    NEAR(scaled.envelope, cut.envelope, 1e-12 * cut.envelope, "envelope");
    NEAR(scaled.port_area, cut.port_area, 1e-12 * M_PI * pow(cut.outer_radius, 2), "port");
    NEAR(scaled.length, cut.length, 1e-12 * cut.length, "length");
    for (int i = 0; i < 40; i++) {
        struct sm_geometry_at a, b;
        const double w = cut.web * (i + 0.37) / 40;
        sm_geometry_eval(&cut, w, &a);
        sm_geometry_eval(&scaled, w, &b);
        NEAR(b.slope[SM_VOLUME], a.slope[SM_VOLUME], promised(e) * top, "area");
        for (int q = 0; q < SM_N_INTEGRALS; q++)
            NEAR(b.value[q], a.value[q], repeatable(e) * cut.envelope * fmax(reach * reach, fmax(reach, 1.0)),
                 "integral");
    }
}

Test(grain_properties, scaled_without_cutting)
{
    for_shapes_drawn(NULL, is_quick_to_cut, scaled_without_cutting); /* of the others the example will do */
}

/* A prism whose ends don't burn is stretched likewise; what has burning ends, or is no prism, is not. */
static void stretched_without_cutting(struct sm_arena *arena, const struct example *e,
                                      const struct sm_geometry *g, uint64_t seed)
{
    struct sm_grain_common longer = e->common;
    longer.length *= 1.3;
    struct sm_geometry cut, stretched;
    struct sm_error err = {0};
    const bool is_prism = e->shape->section && !e->shape->spliced && !e->shape->voids;
    const bool ends_burn = e->common.burning & (SM_FACE_FORE_END | SM_FACE_AFT_END);
    cr_assert_eq(
        sm_shape_rescale(e->shape, arena, &e->common, e->params, g, &longer, e->params, &stretched, &err),
        SM_OK);
    cr_assert_eq(stretched.n_pieces > 0, is_prism && !ends_burn, "%s", e->shape->name);
    if (stretched.n_pieces == 0)
        return;
    cr_assert_eq(sm_shape_geometry(e->shape, arena, &longer, e->params, &cut, &err), SM_OK);
    const double reach = cut.length + cut.outer_radius, top = largest_area(&cut);
    NEAR(stretched.length, cut.length, 1e-12 * cut.length, "length");
    NEAR(stretched.envelope, cut.envelope, 1e-12 * cut.envelope, "envelope");
    for (int i = 0; i < 40; i++) {
        struct sm_geometry_at a, b;
        const double w = cut.web * (i + 0.37) / 40;
        sm_geometry_eval(&cut, w, &a);
        sm_geometry_eval(&stretched, w, &b);
        NEAR(b.slope[SM_VOLUME], a.slope[SM_VOLUME], promised(e) * top, "area");
        for (int q = 0; q < SM_N_INTEGRALS; q++)
            NEAR(b.value[q], a.value[q], 1e-9 * cut.envelope * fmax(reach * reach, fmax(reach, 1.0)),
                 "integral");
    }
}

Test(grain_properties, stretched_without_cutting)
{
    for_shapes_drawn(NULL, is_quick_to_cut, stretched_without_cutting);
}

/* A half-sector times 2 N is what the whole outline comes to. Tolerance: 1e-10 of the circle and circumference, since a whole
 * outline's arcs are mirrored with a rounding each. */
static void sectors_make_the_whole(struct sm_arena *arena, const struct example *e,
                                   const struct sm_geometry *g, uint64_t seed)
{
    enum { LEVELS = 25 };
    struct sm_section half, whole;
    struct sm_burning_section a, b;
    struct sm_error err = {0};
    (void)g;
    if (!e->shape->section ||
        sm_shape_section(e->shape, arena, &e->common, e->params, &half, &err) != SM_OK || half.sectors == 0 ||
        sm_section_burn(arena, &half, &a, &err) != SM_OK)
        return;
    example_unfold(arena, &half, &whole);
    cr_assert_eq(sm_section_burn(arena, &whole, &b, &err), SM_OK, "%s: %s", e->shape->name, err.message);
    NEAR(b.stages.web, a.stages.web, 1e-12 * a.radius, "web");
    for (int i = 0; i < LEVELS; i++) {
        const double w = a.stages.web * (i + 0.37) / LEVELS;
        double area[2], perimeter[2];
        sm_section_table(&a, &w, 1, &area[0], &perimeter[0]);
        sm_section_table(&b, &w, 1, &area[1], &perimeter[1]);
        NEAR(area[1], area[0], 1e-10 * M_PI * a.radius * a.radius, "port");
        NEAR(perimeter[1], perimeter[0], 1e-10 * 2 * M_PI * a.radius, "perimeter");
    }
}

Test(grain_properties, sectors_make_the_whole)
{
    for_shapes(has_section, sectors_make_the_whole);
}

/* ---- end for end ---- */

/* The same grain with its ends changed over, of shapes whose rows have a name for each end. False: there is no such thing. */
static bool turn_end_for_end(const struct example *e, struct sm_arena *arena, struct example *out)
{
    static const char *const names[2] = {"fore_bore_diameter", "aft_bore_diameter"};
    const unsigned ends = SM_FACE_FORE_END | SM_FACE_AFT_END, burning = e->common.burning;
    bool is_turned = false;
    *out = *e;
    out->params = sm_arena_alloc(arena, 1, e->shape->size);
    memcpy(out->params, e->params, e->shape->size);
    for (size_t i = 0; i < e->shape->n_params; i++)
        for (size_t j = 0; j < e->shape->n_params; j++) {
            const struct sm_param *fore = &e->shape->params[i], *aft = &e->shape->params[j];
            if (strcmp(fore->name, names[0]) != 0 || strcmp(aft->name, names[1]) != 0)
                continue;
            *(double *)((char *)out->params + fore->offset) = *(double *)((char *)e->params + aft->offset);
            *(double *)((char *)out->params + aft->offset) = *(double *)((char *)e->params + fore->offset);
            is_turned = true;
        }
    for (size_t i = 0; i < e->shape->n_params; i++)
        if (strcmp(e->shape->params[i].name, "fin_end") == 0) {
            int *end = (int *)((char *)out->params + e->shape->params[i].offset);
            *end = 1 - *end;
            is_turned = true;
        }
    if (burning != SM_CHOICES_ABSENT && burning & ends && (burning & ends) != ends)
        out->common.burning = burning ^ ends;
    return is_turned || (e->shape->section && !e->shape->spliced && !e->shape->voids);
}

/* Prisms, slices and bodies of revolution burn alike end for end: z is then length less z. */
static void end_for_end(struct sm_arena *arena, const struct example *e, const struct sm_geometry *g,
                        uint64_t seed)
{
    struct example turned;
    struct sm_geometry h;
    if (!turn_end_for_end(e, arena, &turned) ||
        sm_shape_geometry(turned.shape, arena, &turned.common, turned.params, &h, NULL) != SM_OK)
        return;
    const double length = g->length, top = largest_area(g);
    for (int i = 0; i < 20; i++) {
        struct sm_geometry_at a, b;
        const double w = g->web * (i + 0.37) / 20;
        sm_geometry_eval(g, w, &a);
        sm_geometry_eval(&h, w, &b);
        NEAR(b.slope[SM_VOLUME], a.slope[SM_VOLUME], promised(e) * top, "area");
        NEAR(b.value[SM_VOLUME], a.value[SM_VOLUME], repeatable(e) * g->envelope, "volume");
        NEAR(b.value[SM_Z], length * a.value[SM_VOLUME] - a.value[SM_Z], repeatable(e) * g->envelope * length,
             "first moment");
        NEAR(b.value[SM_XX], a.value[SM_XX], repeatable(e) * g->envelope * length * length, "second moment");
    }
}

Test(grain_properties, end_for_end)
{
    for_shapes(is_exact, end_for_end);
}
