#include "report/labels.h"

#include <math.h>

#include "base/fail.h"

static const uint32_t all_curves = (1u << SM_LABEL_CURVES) - 1u;

/* Costs, in px of a label's distance, more or less: found by eye on plots of one to eight curves. */
static const double cost_crossing = 1000.0; /* over a curve */
static const double cost_foreign = 30.0;    /* close to a curve that it does not name */
static const double cost_soft = 12.0;
static const double gain_own = 10.0; /* its own curve close along its whole length */
/* By how many cells a label must lie nearer to its own curve than to any other. */
static const double clearly = 1.5;

uint32_t sm_label_curve(size_t number)
{
    return 1u << (number < SM_LABEL_CURVES ? number : SM_LABEL_CURVES - 1);
}

bool sm_label_field_init(struct sm_label_field *field, struct sm_arena *arena, struct sm_box area,
                         double inset, double cell)
{
    *field = (struct sm_label_field){.area = area, .inset = inset, .cell = cell};
    field->nx = (size_t)ceil(area.w / cell);
    field->ny = (size_t)ceil(area.h / cell);
    field->cells = sm_arena_alloc(arena, field->nx * field->ny, sizeof *field->cells);
    return field->cells != NULL;
}

/* Rows or columns of cells that [from, to] px touches, of n: from *first up to but without *end. */
static void cell_range(double from, double to, double origin, double cell, size_t n, size_t *first,
                       size_t *end)
{
    const double most = (double)n;
    *first = (size_t)fmax(0.0, fmin(most, floor((from - origin) / cell)));
    *end = (size_t)fmax(0.0, fmin(most, ceil((to - origin) / cell)));
}

void sm_label_mark_box(struct sm_label_field *field, uint32_t bits, struct sm_box box)
{
    size_t i0, i1, j0, j1;
    cell_range(box.x, box.x + box.w, field->area.x, field->cell, field->nx, &i0, &i1);
    cell_range(box.y, box.y + box.h, field->area.y, field->cell, field->ny, &j0, &j1);
    for (size_t j = j0; j < j1; j++)
        for (size_t i = i0; i < i1; i++)
            field->cells[j * field->nx + i] |= bits;
}

/* The cell at a share t of the way from a to b, both inside. */
static uint32_t *cell_along(const struct sm_label_field *field, struct sm_spot a, struct sm_spot b, double t)
{
    const double i = floor((a.x + t * (b.x - a.x) - field->area.x) / field->cell);
    const double j = floor((a.y + t * (b.y - a.y) - field->area.y) / field->cell);
    const size_t column = (size_t)fmax(0.0, fmin(i, (double)field->nx - 1.0));
    const size_t row = (size_t)fmax(0.0, fmin(j, (double)field->ny - 1.0));
    return &field->cells[row * field->nx + column];
}

/* Half cells from a to b. */
static int steps_between(const struct sm_label_field *field, struct sm_spot a, struct sm_spot b)
{
    return (int)ceil(hypot(b.x - a.x, b.y - a.y) / (0.5 * field->cell)) + 1;
}

void sm_label_mark_segment(struct sm_label_field *field, uint32_t bits, struct sm_spot a, struct sm_spot b)
{
    if (!isfinite(a.x) || !isfinite(a.y) || !isfinite(b.x) || !isfinite(b.y) ||
        !sm_polyline_clip(&field->area, &a, &b))
        return;
    const int steps = steps_between(field, a, b);
    for (int k = 0; k <= steps; k++)
        *cell_along(field, a, b, (double)k / steps) |= bits;
}

/* Would the thin line from the anchor to the box run over what is taken? */
static bool leads_over_taken(const struct sm_label_field *field, struct sm_spot anchor,
                             const struct sm_box *box)
{
    struct sm_spot a = anchor, b = {fmax(box->x, fmin(box->x + box->w, anchor.x)),
                                    fmax(box->y, fmin(box->y + box->h, anchor.y))};
    if (!sm_polyline_clip(&field->area, &a, &b))
        return false;
    const int steps = steps_between(field, a, b);
    for (int k = 0; k <= steps; k++)
        if (*cell_along(field, a, b, (double)k / steps) & SM_LABEL_TAKEN)
            return true;
    return false;
}

/* What lies in a box grown by a margin. */
struct tally {
    uint32_t bits;
    double own, foreign;           /* cells [1] */
    double own_away, foreign_away; /* to the nearest of them, the larger of across and down [px] */
};

/* How far the middle of cell i lies outside [from, to] px. */
static double outside(size_t i, double origin, double cell, double from, double to)
{
    const double at = origin + ((double)i + 0.5) * cell;
    return fmax(0.0, fmax(from - at, at - to));
}

static struct tally look(const struct sm_label_field *field, struct sm_box box, double margin, uint32_t own)
{
    struct tally seen = {.own_away = SM_INF, .foreign_away = SM_INF};
    size_t i0, i1, j0, j1;
    cell_range(box.x - margin, box.x + box.w + margin, field->area.x, field->cell, field->nx, &i0, &i1);
    cell_range(box.y - margin, box.y + box.h + margin, field->area.y, field->cell, field->ny, &j0, &j1);
    for (size_t j = j0; j < j1; j++) {
        const double down = outside(j, field->area.y, field->cell, box.y, box.y + box.h);
        for (size_t i = i0; i < i1; i++) {
            const uint32_t bits = field->cells[j * field->nx + i];
            seen.bits |= bits;
            if (!(bits & all_curves))
                continue;
            const double away = fmax(down, outside(i, field->area.x, field->cell, box.x, box.x + box.w));
            if (bits & own) {
                seen.own++;
                seen.own_away = fmin(seen.own_away, away);
            }
            if (bits & all_curves & ~own) {
                seen.foreign++;
                seen.foreign_away = fmin(seen.foreign_away, away);
            }
        }
    }
    return seen;
}

struct sm_box sm_label_inside(const struct sm_label_field *field)
{
    const struct sm_box *a = &field->area;
    const double in = field->inset;
    return (struct sm_box){a->x + in, a->y + in, a->w - 2.0 * in, a->h - 2.0 * in};
}

static bool is_inside(const struct sm_label_field *field, const struct sm_box *box)
{
    const struct sm_box a = sm_label_inside(field);
    const double slack = 1e-6; /* rounding [px] */
    return box->x >= a.x - slack && box->y >= a.y - slack && box->x + box->w <= a.x + a.w + slack &&
           box->y + box->h <= a.y + a.h + slack;
}

void sm_label_offer(const struct sm_label_field *field, struct sm_label_search *search, double x, double y,
                    double cost, struct sm_spot anchor)
{
    const struct sm_box box = {x, y, search->w, search->h};
    if (!is_inside(field, &box) || (search->found && cost - gain_own >= search->cost))
        return;
    const struct tally tight = look(field, box, search->gap, search->own);
    const bool crosses = (tight.bits & all_curves) != 0;
    if ((tight.bits & SM_LABEL_TAKEN) || (crosses && !search->may_cross))
        return;
    const struct tally wide = look(field, box, search->gap + 1.2 * search->h, search->own);
    const bool is_of_curve = search->own != 0 && search->own != SM_LABEL_ANY;
    if (is_of_curve && (wide.own <= 0.0 || wide.foreign_away < wide.own_away + clearly * field->cell))
        return;
    const double along = search->w / field->cell;
    cost += crosses ? cost_crossing * (1.0 + (tight.own + tight.foreign) / along) : 0.0;
    cost += wide.foreign > 0.0 ? cost_foreign * (1.0 + fmin(1.0, wide.foreign / along)) : 0.0;
    cost += (tight.bits & SM_LABEL_SOFT) ? cost_soft : 0.0;
    cost -= is_of_curve ? gain_own * fmin(1.0, wide.own / along) : 0.0;
    if (search->found && cost >= search->cost)
        return;
    if (search->has_leader && leads_over_taken(field, anchor, &box))
        return;
    search->found = true;
    search->crosses = crosses;
    search->cost = cost;
    search->box = box;
    search->anchor = anchor;
}

void sm_label_offer_round(const struct sm_label_field *field, struct sm_label_search *search,
                          struct sm_spot p, double away, int reaches, double cost)
{
    /* Which part of the free length goes to the left and above, and what that side costs. */
    static const struct {
        double left, up, cost; /* [1] */
        int dx, dy;            /* side of the point on which the box lies */
    } sides[] = {
        {0.5, 1.0, 0.0, 0, -1}, {0.0, 0.5, 2.0, 1, 0},  {0.0, 1.0, 1.0, 1, -1},  {0.5, 0.0, 4.0, 0, 1},
        {0.0, 0.0, 4.0, 1, 1},  {1.0, 0.5, 5.0, -1, 0}, {1.0, 1.0, 5.0, -1, -1}, {1.0, 0.0, 7.0, -1, 1},
    };
    static const double times[] = {1.0, 2.0, 4.0, 7.0};
    for (int r = 0; r < reaches && r < (int)SM_COUNT(times); r++)
        for (size_t i = 0; i < SM_COUNT(sides); i++) {
            const double slant = sides[i].dx != 0 && sides[i].dy != 0 ? 0.7071 : 1.0;
            const double out = away * times[r] * slant;
            const double x = p.x - sides[i].left * search->w + sides[i].dx * out;
            const double y = p.y - sides[i].up * search->h + sides[i].dy * out;
            sm_label_offer(field, search, x, y, cost + sides[i].cost + away * (times[r] - 1.0), p);
        }
}

void sm_label_take(struct sm_label_field *field, const struct sm_label_search *search)
{
    sm_label_mark_box(field, SM_LABEL_TAKEN, search->box);
}
