/* The chamber cut into gaps, grains and cells. */
#include "ballistics/axial.h"

#include <math.h>

#include "grain/passage.h"

/* ---- tables ---- */

struct maker {
    const struct sm_motor *motor;
    struct sm_arena *arena;
    struct sm_error *err;
    double miss; /* largest, of the sections' volumes, over the grain's at first [1] */
};

/* Free volume of the passage from its first station to z at one level [m3]. */
static double through(const struct sm_passage *p, size_t level, double z)
{
    size_t low = 0, high = p->n_stations - 1;
    while (high - low > 1) {
        const size_t middle = (low + high) / 2;
        if (p->z[middle] <= z)
            low = middle;
        else
            high = middle;
    }
    const size_t at = low * p->n_levels + level, next = at + p->n_levels;
    const double h = p->z[low + 1] - p->z[low], rise = p->through[next] - p->through[at];
    const double u = fmin(fmax((z - p->z[low]) / h, 0.0), 1.0), v = 1.0 - u, a = p->area[at],
                 b = p->area[next];
    /* Where the section goes evenly between both stations its integral is a cubic; where a step lies, a straight line. */
    const int is_even = fabs(rise / h - 0.5 * (a + b)) <= 0.1 * fabs(b - a);
    const double bent = is_even ? u * v * (v * (h * a - rise) + u * (rise - h * b)) : 0.0;
    return p->through[at] + u * rise + bent;
}

/* Area of the passage at one level, averaged over what the ends have left of [a, b]. Past where they have come the next
 * section that is left counts, for a cell that burns slower than its end. */
static double average(const struct sm_passage *p, size_t level, double a, double b)
{
    const double w = p->w[level], low = p->fore_burns ? w : -1.0,
                 high = p->length - (p->aft_burns ? w : -1.0);
    size_t first = 0, last = p->n_stations - 1;
    while (first < last && p->z[first] <= low)
        first++;
    while (last > first && p->z[last] >= high)
        last--;
    const double from = fmax(a, p->z[first]), to = fmin(b, p->z[last]);
    if (to - from > 1e-3 * (b - a))
        return fmin((through(p, level, to) - through(p, level, from)) / (to - from), p->circle);
    return p->area[(from > a ? first : last) * p->n_levels + level];
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

/* Slopes of a cell's table from its areas; of a prism the wall's perimeter is the slope itself. */
static enum sm_status fill_table(struct maker *m, const struct sm_passage *p, const double *area,
                                 struct sm_axial_table *t)
{
    double *before = sm_arena_alloc(m->arena, p->n_levels, sizeof *before);
    double *after = sm_arena_alloc(m->arena, p->n_levels, sizeof *after);
    if (!before || !after)
        return sm_fail(m->err, SM_E_NOMEM, "out of memory");
    size_t start = 0;
    for (size_t i = 1; i <= p->n_levels; i++) {
        if (i < p->n_levels && p->w[i] > p->w[i - 1])
            continue;
        if (p->n_stations == 1)
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

/* Burning ends after an even burn over w [m]. */
static void even_ends(const struct sm_axial_grain *g, double w, double end[2])
{
    end[0] = g->burns[0] * w;
    end[1] = g->burns[1] * w;
}

/* Scales what the sections leave at one level, so that an even burn leaves the volume that the grain's own geometry has.
 * Returned: by how much they missed it, of the volume at first [1]. */
static double hold_volume(const struct sm_axial_grain *g, const struct sm_passage *p, size_t level,
                          double *area)
{
    double end[2], sum = 0.0;
    struct sm_geometry_at at, start;
    even_ends(g, p->w[level], end);
    for (size_t i = 0; i < g->n_cells; i++)
        sum += (g->circle - area[i * p->n_levels + level]) * sm_axial_open(g, &g->cells[i], end);
    sm_geometry_eval(g->geometry, 0.0, &start);
    sm_geometry_eval(g->geometry, p->w[level], &at);
    const double share = sum > 0.0 ? at.value[SM_VOLUME] / sum : 1.0;
    for (size_t i = 0; i < g->n_cells; i++) {
        double *here = &area[i * p->n_levels + level];
        *here = fmin(fmax(g->circle - share * (g->circle - *here), level > 0 ? here[-1] : 0.0), g->circle);
    }
    return fabs(at.value[SM_VOLUME] - sum) / start.value[SM_VOLUME];
}

/* Sections of all cells, one row of levels each. */
static enum sm_status fill_areas(struct maker *m, const struct sm_passage *p, struct sm_axial_grain *g,
                                 double **area)
{
    *area = sm_arena_alloc(m->arena, g->n_cells * p->n_levels, sizeof **area);
    if (!*area)
        return sm_fail(m->err, SM_E_NOMEM, "out of memory");
    for (size_t k = 0; k < p->n_levels; k++) {
        for (size_t i = 0; i < g->n_cells; i++) {
            const struct sm_axial_cell *c = &g->cells[i];
            (*area)[i * p->n_levels + k] = p->n_stations == 1
                                               ? fmin(p->circle, p->area[k])
                                               : average(p, k, c->from - g->from, c->to - g->from);
        }
        if (p->n_stations > 1)
            m->miss = fmax(m->miss, hold_volume(g, p, k, *area));
    }
    return SM_OK;
}

static enum sm_status fill_cells(struct maker *m, const struct sm_passage *p, struct sm_axial_grain *g)
{
    const double length = g->to - g->from;
    double *area;
    g->cells = sm_arena_alloc(m->arena, g->n_cells, sizeof *g->cells);
    if (!g->cells)
        return sm_fail(m->err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < g->n_cells; i++) {
        struct sm_axial_cell *c = &g->cells[i];
        c->from = g->from + length * (double)i / (double)g->n_cells;
        c->to = i + 1 < g->n_cells ? g->from + length * (double)(i + 1) / (double)g->n_cells : g->to;
    }
    SM_TRY(fill_areas(m, p, g, &area));
    for (size_t i = 0; i < g->n_cells; i++) {
        struct sm_axial_cell *c = &g->cells[i];
        if (i > 0 && p->n_stations == 1)
            c->table = g->cells[0].table;
        else
            SM_TRY(fill_table(m, p, area + i * p->n_levels, &c->table));
        c->was = c->area = c->table.area[0];
    }
    return SM_OK;
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
        .cover = sm_cover_of(e, m->motor->geometry[entry].web),
        .burns = {(e->common.burning & SM_FACE_FORE_END) != 0, (e->common.burning & SM_FACE_AFT_END) != 0},
        .now = {1.0, 1.0},
    };
    if (p) {
        SM_TRY(fill_cells(m, p, g));
        struct sm_geometry_at at;
        sm_geometry_eval(g->geometry, 0.0, &at);
        g->share = at.value[SM_VOLUME] / sm_axial_volume(g, 0, NULL);
        return SM_OK;
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

static enum sm_status make_entry(struct maker *m, size_t i, size_t stations, struct sm_axial_grid *grid)
{
    const struct sm_motor *motor = m->motor;
    const struct sm_grain_entry *e = &motor->spec.grains[i];
    const double share = e->common.length / all_lengths(motor);
    int is_open = motor->geometry[i].port_area > 0.0;
    struct sm_passage passage;
    if (is_open) {
        SM_TRY(sm_shape_passage(e->shape, m->arena, &e->common, e->params, &passage, m->err));
        is_open = goes_through(&passage);
    }
    const size_t n_cells = is_open ? (size_t)fmax(1.0, rint(share * (double)stations)) : 0;
    for (int k = 0; k < e->count; k++) {
        const double from = motor->place[i] + k * (e->common.length + e->spacing);
        struct sm_axial_grain *g = &grid->grains[grid->n_grains];
        SM_TRY(make_grain(m, i, is_open ? &passage : NULL, n_cells, from, grid->n_grains == 0, g));
        grid->n_grains++;
        grid->n_cells += n_cells;
        grid->correction = fmax(grid->correction, fmax(fabs(g->share - 1.0), m->miss));
        grid->flame_from = fmin(grid->flame_from, n_cells == 0 ? g->to : g->from);
    }
    return SM_OK;
}

enum sm_status sm_axial_grid_init(struct sm_axial_grid *grid, const struct sm_motor *motor, size_t stations,
                                  struct sm_arena *arena, struct sm_error *err)
{
    struct maker m = {.motor = motor, .arena = arena, .err = err};
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
