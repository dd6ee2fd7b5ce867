/* The chamber cut into gaps, grains and cells. */
#include "ballistics/axial.h"

#include <math.h>

#include "grain/passage.h"

/* ---- look-up ---- */

double sm_axial_section(const struct sm_axial_table *t, double w, size_t *level, double *growth)
{
    size_t i = *level;
    *growth = 0.0;
    if (w >= t->w[t->n - 1])
        return t->area[t->n - 1];
    while (i > 0 && w < t->w[i])
        i--;
    while (i + 2 < t->n && w >= t->w[i + 1])
        i++;
    *level = i;
    const double h = t->w[i + 1] - t->w[i];
    if (!(h > 0.0))
        return t->area[i];
    const double u = fmax(0.0, w - t->w[i]) / h, rise = t->area[i + 1] - t->area[i];
    const double c3 = h * t->after[i] - rise, c4 = rise - h * t->before[i + 1], v = 1.0 - u;
    *growth = (rise + (v - u) * (v * c3 + u * c4) + u * v * (c4 - c3)) / h;
    return t->area[i] + u * rise + u * v * (v * c3 + u * c4);
}

/* ---- tables ---- */

struct maker {
    const struct sm_motor *motor;
    struct sm_arena *arena;
    struct sm_error *err;
};

/* Area of the passage at one level, averaged over [a, b] by straight lines between its stations. A cell is cut by the ends'
 * own recession, so stations that these have reached at this level are passed over: lines from those behind go on instead. */
static double average(const struct sm_passage *p, size_t level, double a, double b)
{
    enum { POINTS = 8 }; /* a cell is seldom longer than the distance of two stations */
    const double w = p->w[level], low = p->fore_burns ? w : -1.0,
                 high = p->length - (p->aft_burns ? w : -1.0);
    size_t first = 0, last = p->n_stations - 1;
    while (first + 1 < last && p->z[first] <= low)
        first++;
    while (last > first + 1 && p->z[last] >= high)
        last--;
    double sum = 0.0;
    for (int k = 0; k < POINTS; k++) {
        const double z = a + (b - a) * (k + 0.5) / POINTS;
        size_t i = first;
        while (i + 2 <= last && p->z[i + 1] <= z)
            i++;
        const double share = (z - p->z[i]) / (p->z[i + 1] - p->z[i]);
        const double *at = p->area + i * p->n_levels + level;
        sum += at[0] + fmin(fmax(share, -2.0), 3.0) * (at[p->n_levels] - at[0]);
    }
    return fmin(fmax(sum / POINTS, 0.0), p->circle);
}

/* Slope of a parabola through three levels at the first, or by turning the signs the last. */
static double end_slope(double h0, double h1, double rise0, double rise1)
{
    return (rise0 * (2.0 * h0 + h1) - rise1 * h0) / (h0 + h1);
}

/* Slopes of one stretch of levels [from, to], which no jump cuts, limited so that the section never shrinks.
 * Reference for the limit: F. N. Fritsch, R. E. Carlson, SIAM J. Numer. Anal. 17 (1980) 238. */
static void slopes(const double *w, const double *area, size_t from, size_t to, double *before, double *after)
{
    for (size_t i = from; i <= to; i++) {
        const double left = i > from ? (area[i] - area[i - 1]) / (w[i] - w[i - 1]) : SM_NAN;
        const double right = i < to ? (area[i + 1] - area[i]) / (w[i + 1] - w[i]) : SM_NAN;
        double slope, limit;
        if (isnan(left)) {
            const size_t k = to - from > 1 ? i + 1 : i;
            slope = end_slope(w[i + 1] - w[i], w[k + 1] - w[k], right,
                              (area[k + 1] - area[k]) / (w[k + 1] - w[k]));
            limit = right;
        } else if (isnan(right)) {
            const size_t k = to - from > 1 ? i - 1 : i;
            slope = end_slope(w[i] - w[i - 1], w[k] - w[k - 1], left,
                              (area[k] - area[k - 1]) / (w[k] - w[k - 1]));
            limit = left;
        } else {
            const double h0 = w[i] - w[i - 1], h1 = w[i + 1] - w[i];
            slope = (left * h1 + right * h0) / (h0 + h1);
            limit = fmin(left, right);
        }
        before[i] = after[i] = fmin(fmax(slope, 0.0), 3.0 * fmax(limit, 0.0));
    }
}

static enum sm_status fill_table(struct maker *m, const struct sm_passage *p, double from, double to,
                                 struct sm_axial_table *t)
{
    double *area = sm_arena_alloc(m->arena, p->n_levels, sizeof *area);
    double *before = sm_arena_alloc(m->arena, p->n_levels, sizeof *before);
    double *after = sm_arena_alloc(m->arena, p->n_levels, sizeof *after);
    if (!area || !before || !after)
        return sm_fail(m->err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < p->n_levels; i++) {
        area[i] = p->n_stations == 1 ? p->area[i] : average(p, i, from, to);
        area[i] = fmin(p->circle, i > 0 ? fmax(area[i], area[i - 1]) : area[i]);
    }
    size_t start = 0;
    for (size_t i = 1; i <= p->n_levels; i++) {
        if (i < p->n_levels && p->w[i] > p->w[i - 1])
            continue;
        if (p->n_stations == 1) /* of a prism the wall's perimeter is the slope itself */
            for (size_t k = start; k < i; k++)
                before[k] = after[k] = p->perimeter[k];
        else if (i - start > 1)
            slopes(p->w, area, start, i - 1, before, after);
        start = i;
    }
    *t = (struct sm_axial_table){.w = p->w, .area = area, .before = before, .after = after, .n = p->n_levels};
    return SM_OK;
}

/* ---- grains ---- */

static enum sm_status fill_cells(struct maker *m, const struct sm_passage *p, struct sm_axial_grain *g)
{
    const double length = g->to - g->from;
    g->cells = sm_arena_alloc(m->arena, g->n_cells, sizeof *g->cells);
    if (!g->cells)
        return sm_fail(m->err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < g->n_cells; i++) {
        struct sm_axial_cell *c = &g->cells[i];
        c->from = g->from + length * (double)i / (double)g->n_cells;
        c->to = i + 1 < g->n_cells ? g->from + length * (double)(i + 1) / (double)g->n_cells : g->to;
        if (i > 0 && p->n_stations == 1)
            c->table = g->cells[0].table;
        else
            SM_TRY(fill_table(m, p, c->from - g->from, c->to - g->from, &c->table));
        c->was = c->area = c->table.area[0];
    }
    return SM_OK;
}

/* Burning area of the cells if all had burned as far [m2]. */
static double even_area(struct sm_axial_grain *g, double w)
{
    const double end[2] = {g->burns[0] * w, g->burns[1] * w};
    double sum = 0.0, growth;
    for (size_t i = 0; i < g->n_cells; i++) {
        struct sm_axial_cell *c = &g->cells[i];
        const double open = sm_axial_open(g, c, end),
                     left = g->circle - sm_axial_section(&c->table, w, &c->level, &growth);
        const double from = g->from + end[0], to = g->to - end[1];
        const int cuts =
            (g->burns[0] && c->from <= from && from < c->to) + (g->burns[1] && c->from < to && to <= c->to);
        sum += open > 0.0 ? growth * open + cuts * left : 0.0;
        c->level = 0;
    }
    return g->share * sum;
}

/* A front that runs along the axis, as from a step of the bore, passes whole stations of the passage at once, and the cells'
 * area then leaps about the grain's own. */
static enum sm_status check_area(const struct maker *m, struct sm_axial_grain *g)
{
    enum { PLACES = 400 };
    static const double allowed =
        0.3; /* of the largest area, either way [1]: what a corner's fronts left out come to */
    double most = 0.0, off = 0.0;
    for (int i = 0; i < PLACES; i++) {
        const double w = g->geometry->web * (i + 0.5) / PLACES;
        double area, left;
        sm_piece_area(&g->geometry->pieces[sm_geometry_find(g->geometry, w)], w, &area, &left);
        most = fmax(most, area);
        off = fmax(off, fabs(even_area(g, w) - area));
    }
    if (off <= allowed * most)
        return SM_OK;
    return sm_fail(m->err, SM_E_GEOMETRY,
                   "the axial model can't follow this port, whose sections along the axis miss its burning "
                   "area by up to "
                   "%.0f %%; take --model transient",
                   100.0 * off / most);
}

static enum sm_status make_grain(struct maker *m, size_t entry, const struct sm_passage *p, size_t n_cells,
                                 double from, int is_first, struct sm_axial_grain *g)
{
    const struct sm_grain_entry *e = &m->motor->spec.grains[entry];
    const double diameter = e->common.outer_diameter;
    *g = (struct sm_axial_grain){
        .geometry = &m->motor->geometry[entry],
        .n_cells = n_cells,
        .from = from,
        .to = from + e->common.length,
        .circle = 0.25 * M_PI * diameter * diameter,
        .share = 1.0,
        .lead = fmax(1.0, sm_grain_number(e, "bond_line_ratio", 1.0)),
        .burns = {(e->common.burning & SM_FACE_FORE_END) != 0, (e->common.burning & SM_FACE_AFT_END) != 0},
        .now = {1.0, 1.0},
        .covers = !(e->common.burning & SM_FACE_OUTER),
    };
    if (p) {
        SM_TRY(fill_cells(m, p, g));
        struct sm_geometry_at at;
        sm_geometry_eval(g->geometry, 0.0, &at);
        g->share = at.value[SM_VOLUME] / sm_axial_volume(g, 0, NULL);
        return p->n_stations > 1 ? check_area(m, g) : SM_OK;
    }
    if (is_first && !g->burns[0])
        return SM_OK;
    return sm_fail(
        m->err, SM_E_GEOMETRY,
        is_first ? "in the axial model gas of a fore end can't pass a grain that has no port; burn it from "
                   "its aft end, or take --model transient"
                 : "in the axial model gas can't pass a grain that has no port behind another; put it "
                   "at the head end, or take --model transient");
}

static double all_lengths(const struct sm_motor *motor)
{
    double sum = 0.0;
    for (size_t i = 0; i < motor->spec.n_grains; i++)
        if (motor->geometry[i].port_area > 0.0)
            sum += motor->spec.grains[i].count * motor->spec.grains[i].common.length;
    return sum;
}

/* Can gas pass all through the grain from the start? A bore may end within it. */
static int goes_through(const struct sm_passage *p)
{
    for (size_t i = 0; i < p->n_stations; i++)
        if (!(p->area[i * p->n_levels] > 1e-6 * p->circle))
            return 0;
    return 1;
}

static enum sm_status find_passage(struct maker *m, const struct sm_grain_entry *e,
                                   struct sm_passage *passage)
{
    if (e->shape->section || e->shape->meridian || e->shape->spliced)
        return sm_shape_passage(e->shape, m->arena, &e->common, e->params, passage, m->err);
    return sm_at(
        m->err,
        sm_fail(
            m->err, SM_E_GEOMETRY,
            "the axial model does not take a grain of shape %s, whose port has no section along the axis; "
            "take --model transient",
            e->shape->name),
        "/shape");
}

static enum sm_status make_entry(struct maker *m, size_t i, size_t stations, struct sm_axial_grid *grid)
{
    const struct sm_motor *motor = m->motor;
    const struct sm_grain_entry *e = &motor->spec.grains[i];
    const double share = e->common.length / all_lengths(motor);
    int is_open = motor->geometry[i].port_area > 0.0;
    struct sm_passage passage;
    if (is_open) {
        SM_TRY(find_passage(m, e, &passage));
        is_open = goes_through(&passage);
    }
    const size_t n_cells = is_open ? (size_t)fmax(1.0, rint(share * (double)stations)) : 0;
    for (int k = 0; k < e->count; k++) {
        const double from = motor->place[i] + k * (e->common.length + e->spacing);
        struct sm_axial_grain *g = &grid->grains[grid->n_grains];
        SM_TRY(make_grain(m, i, is_open ? &passage : NULL, n_cells, from, grid->n_grains == 0, g));
        grid->n_grains++;
        grid->n_cells += n_cells;
        grid->correction = fmax(grid->correction, fabs(g->share - 1.0));
        grid->flame_from = fmin(grid->flame_from, n_cells == 0 ? g->to : g->from);
    }
    return SM_OK;
}

enum sm_status sm_axial_grid_init(struct sm_axial_grid *grid, const struct sm_motor *motor, size_t stations,
                                  struct sm_arena *arena, struct sm_error *err)
{
    struct maker m = {motor, arena, err};
    const struct sm_case *chamber = &motor->spec.chamber;
    size_t n = 0;
    *grid = (struct sm_axial_grid){.case_area = 0.25 * M_PI * chamber->bore * chamber->bore,
                                   .case_length = chamber->length,
                                   .around = M_PI * chamber->bore,
                                   .web = motor->stack.web,
                                   .flame_from = chamber->length};
    for (size_t i = 0; i < motor->spec.n_grains; i++)
        n += (size_t)motor->spec.grains[i].count;
    grid->grains = sm_arena_alloc(arena, n, sizeof *grid->grains);
    if (!grid->grains)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < motor->spec.n_grains; i++) {
        const enum sm_status status = make_entry(&m, i, stations, grid);
        if (status != SM_OK)
            return sm_at(err, status, "/grains/%zu", i);
    }
    return SM_OK;
}

double sm_axial_volume(const struct sm_axial_grain *g, int after, double *moment)
{
    double sum = 0.0, first = 0.0;
    const double *end = after ? g->next : g->end;
    if (g->n_cells == 0) {
        struct sm_geometry_at at;
        const double w = after ? g->unblock : g->block;
        if (w < g->geometry->web) {
            sm_geometry_eval(g->geometry, w, &at);
            sum = at.value[SM_VOLUME];
            first = at.value[SM_Z] + g->from * sum;
        }
    }
    for (size_t i = 0; i < g->n_cells; i++) {
        struct sm_axial_cell *c = &g->cells[i];
        double growth;
        const double w = after ? c->next : c->w, open = sm_axial_open(g, c, end);
        const double left =
            g->share * (g->circle - sm_axial_section(&c->table, w, &c->level, &growth)) * open;
        const double low = fmax(c->from, g->from + end[0]), high = fmin(c->to, g->to - end[1]);
        sum += left;
        first += left * 0.5 * (low + high);
    }
    if (moment)
        *moment = first;
    return sum;
}
