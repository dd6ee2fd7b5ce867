#include <math.h>

#include "grain/shape.h"
#include "grain/slicerow.h"

/* ---- lanes ---- */

static double angle_at(const struct sm_row_stretch *stretch, const struct sm_slice_border *border, double w)
{
    if (border->at == stretch->edge)
        return border->slope == 0.0 ? 0.0 : M_PI_2;
    return sm_slice_swing_angle(stretch->edge, stretch->side, w, sm_slice_place(border, w));
}

/* For every piece of a stretch by the widest angle that it has in any lane. */
static void choose_rules(struct sm_row *row, int k)
{
    static const double widest[SM_SLICE_RULES] = {SM_INF, 0.03, 0.003}; /* [rad] */
    const struct sm_row_stretch *stretch = &row->stretches[k];
    const double *from = row->from[k];
    for (int i = 0; i < stretch->n_pieces; i++) {
        struct sm_row_piece *piece = &row->pieces[stretch->first_piece + i];
        const double *to = piece->joint < 0 ? row->to[k] : row->angle[piece->joint];
        double width = 0.0;
        for (int lane = 0; lane < SM_SLICE_LANES; lane++)
            width = fmax(width, fabs(to[lane] - from[lane]));
        piece->rule = 0;
        while (piece->rule + 1 < SM_SLICE_RULES && width < widest[piece->rule + 1])
            piece->rule++;
        from = to;
    }
}

/* n distances burned [m]; lanes that are over do the last one again. */
static void load_lanes(struct sm_row *row, const double *w, int n)
{
    for (int i = 0; i < SM_SLICE_LANES; i++)
        row->w[i] = w[i < n ? i : n - 1];
    for (int k = 0; k < row->n_stretches; k++) {
        const struct sm_row_stretch *stretch = &row->stretches[k];
        for (int i = 0; i < SM_SLICE_LANES && stretch->swings; i++) {
            row->from[k][i] = angle_at(stretch, &stretch->a, row->w[i]);
            row->to[k][i] = angle_at(stretch, &stretch->b, row->w[i]);
        }
    }
    for (int k = 0; k < row->n_joints; k++)
        sm_row_look_for(&row->joints[k].trace, row->w, SM_SLICE_LANES, row->angle[k]);
    sm_row_place(row);
    for (int k = 0; k < row->n_stretches; k++)
        choose_rules(row, k);
}

/* From here on joints are looked for as they were in the first n lanes, the last of them and some before. */
static void remember(struct sm_row *row, int n)
{
    const int lanes[SM_SLICE_KNOWN] = {0, (n - 1) / 2, n - 1};
    for (int k = 0; k < row->n_joints && n > 0; k++)
        for (int i = 0; i < SM_SLICE_KNOWN; i++)
            if (i == 0 || lanes[i] != lanes[i - 1])
                sm_row_keep(&row->joints[k].trace, row->w[lanes[i]], row->angle[k][lanes[i]]);
}

/* Looks which way joints move that have been found at one distance burned [m] only, by a step that is short beside the next [m]. */
static void try_step(struct sm_row *row, double w, double step)
{
    bool has_new = false;
    for (int k = 0; k < row->n_joints; k++)
        has_new = has_new || row->joints[k].trace.n < 2;
    if (!has_new)
        return;
    const double at[2] = {w, w + step};
    row->new_alone = true;
    load_lanes(row, at, 2);
    row->new_alone = false;
    for (int k = 0; k < row->n_joints && row->failed[0] == 0.0 && row->failed[1] == 0.0; k++)
        if (row->joints[k].trace.n < 2) {
            row->joints[k].trace.n = 0;
            sm_row_keep(&row->joints[k].trace, at[0], row->angle[k][0]);
            sm_row_keep(&row->joints[k].trace, at[1], row->angle[k][1]);
        }
}

/* ---- is it so? ---- */

/* Where a slice is that tells whether the make-ups in a lane are the row's. [m] */
static double place_view(struct sm_slicing *c, const struct sm_row *row, const struct sm_row_view *view,
                         int lane)
{
    const struct sm_row_stretch *stretch = &row->stretches[view->stretch];
    const struct sm_row_piece *piece = &row->pieces[view->piece];
    c->w = row->w[lane];
    const double a = sm_slice_place(&stretch->a, c->w), b = sm_slice_place(&stretch->b, c->w);
    if (view->at == SM_ROW_FORE)
        return a + sm_slicing_inset(c, a, b - a);
    if (view->at == SM_ROW_AFT)
        return b - sm_slicing_inset(c, b, b - a);
    if (!stretch->swings)
        return 0.5 * (a + b);
    const bool is_first = view->piece == stretch->first_piece;
    const double from = is_first ? row->from[view->stretch][lane] : row->angle[piece[-1].joint][lane];
    const double to = piece->joint < 0 ? row->to[view->stretch][lane] : row->angle[piece->joint][lane];
    return stretch->edge + stretch->side * c->w * sin(0.5 * (from + to));
}

/* The first of the row's views in a lane that shows another make-up; -1: none does. */
static int find_odd(struct sm_slicing *c, const struct sm_row *row, int lane)
{
    for (int first = 0; first < row->n_views; first += SM_SLICE_LANES) {
        const int n = row->n_views - first < SM_SLICE_LANES ? row->n_views - first : SM_SLICE_LANES;
        double z[SM_SLICE_LANES];
        uint64_t marks[SM_SLICE_LANES];
        for (int i = 0; i < n; i++)
            z[i] = place_view(c, row, &row->views[first + i], lane);
        sm_slicing_marks(c, z, n, marks);
        for (int i = 0; i < n; i++)
            if (marks[i] != row->pieces[row->views[first + i].piece].mark)
                return first + i;
    }
    return -1;
}

/* Of the first n lanes, those before the first in which a view shows another make-up. */
static int count_alike(struct sm_slicing *c, const struct sm_row *row, const struct sm_row_view *view, int n)
{
    struct sm_slice_look look = {.slicer = c->slicer};
    int m = 0;
    for (int i = 0; i < SM_SLICE_LANES; i++) {
        look.w[i] = row->w[i];
        look.from[i] = place_view(c, row, view, i);
    }
    sm_slice_look(&look);
    while (m < n && look.mark[m] == row->pieces[view->piece].mark)
        m++;
    return m;
}

/* Is every stretch long enough to be told from none? */
static bool is_open(const struct sm_row *row, int lane)
{
    for (int k = 0; k < row->n_stretches; k++) {
        const struct sm_row_stretch *stretch = &row->stretches[k];
        const double a = sm_slice_place(&stretch->a, row->w[lane]),
                     b = sm_slice_place(&stretch->b, row->w[lane]);
        if (!(b - a > 1e-8 * row->slicer->grain->radius))
            return false;
    }
    return true;
}

/* How many of the first n lanes are as the row has them: up to the last that is looked at and is. Of the first one it may be known.
 * *goes_on: it may be found so beyond them. */
static int count_lanes(struct sm_slicing *c, const struct sm_row *row, bool first_is, int n, bool *goes_on)
{
    int m = 0;
    while (m < n && row->failed[m] == 0.0 && is_open(row, m))
        m++;
    *goes_on = m > 0 && (m == n || row->failed[m] == SM_ROW_LOST);
    while (m > 0 && !(m == 1 && first_is)) {
        const int odd = find_odd(c, row, m - 1);
        if (odd < 0)
            return m;
        *goes_on = false;
        m = count_alike(c, row, &row->views[odd], m - 1);
        m = m == 0 && first_is ? 1 : m;
    }
    return m;
}

/* ---- many ---- */

/* What is asked for at every distance burned: all, or the area alone. */
struct wanted {
    struct sm_geometry_knot *knots; /* NULL: areas */
    double *areas;                  /* [m2] */
};

static struct wanted behind(struct wanted out, size_t n)
{
    return out.knots ? (struct wanted){.knots = out.knots + n} : (struct wanted){.areas = out.areas + n};
}

static void take_knot(const struct sm_row *row, int lane, struct sm_geometry_knot *out)
{
    static const enum sm_integral which[SM_ROW_SUMS] = {
        [SM_ROW_ALL] = SM_VOLUME, [SM_ROW_Z] = SM_Z, [SM_ROW_ZZ] = SM_ZZ, [SM_ROW_ROUND] = SM_XX};
    for (int i = 0; i < SM_ROW_SUMS; i++) {
        const double half = i == SM_ROW_ROUND ? 0.5 : 1.0;
        out->value[which[i]] = half * row->left[i][lane];
        out->slope[which[i]] = -half * row->front[i][lane];
    }
    out->value[SM_YY] = out->value[SM_XX];
    out->slope[SM_YY] = out->slope[SM_XX];
}

/* Of the first n lanes, as many as could be summed. */
static int take_lanes(struct sm_row *row, int n, struct wanted out)
{
    if (n > 0)
        sm_row_sum(row);
    for (int i = 0; i < n; i++) {
        if (row->failed[i] != 0.0)
            return i;
        if (out.knots)
            take_knot(row, i, &out.knots[i]);
        else
            out.areas[i] = row->front[SM_ROW_ALL][i];
    }
    return n;
}

static void hint(struct sm_slicer *slicer, const struct sm_row_stretch *stretch, double angle,
                 const struct sm_row_joint *joint)
{
    if (slicer->n_hints == SM_MOST_HINTS)
        return;
    struct sm_slice_hint *hint = &slicer->hints[slicer->n_hints++];
    *hint = (struct sm_slice_hint){.edge = stretch->edge, .sine = stretch->side * sin(angle)};
    hint->is_change = joint != NULL;
    if (joint) {
        hint->change = joint->change;
        hint->trace = joint->trace;
    }
}

/* Slices that are to be looked at when make-ups are found at the distance burned in a lane: beside the row's joints there, and in the
 * middle of what it has between, of which much may still be there. */
static void give_hints(struct sm_slicer *slicer, const struct sm_row *row, int lane)
{
    slicer->n_hints = 0;
    slicer->hints_w = row->w[lane];
    for (int k = 0; k < row->n_stretches; k++) {
        const struct sm_row_stretch *stretch = &row->stretches[k];
        double from = stretch->swings ? row->from[k][lane] : 0.0;
        for (int i = 0; i < stretch->n_pieces && stretch->swings; i++) {
            const int joint = row->pieces[stretch->first_piece + i].joint;
            const double to = joint < 0 ? row->to[k][lane] : row->angle[joint][lane];
            if (isnan(to))
                continue;
            hint(slicer, stretch, 0.5 * (from + to), NULL);
            if (joint >= 0)
                hint(slicer, stretch, to, &row->joints[joint]);
            from = to;
        }
    }
}

/* From a row that was found at the first of n distances burned. Returned: how many were done. */
static size_t follow(struct sm_slicing *c, struct sm_row *row, const double *w, size_t n, struct wanted out)
{
    size_t done = 0;
    bool goes_on = true;
    if (n > 1)
        try_step(row, w[0], 1e-3 * (w[1] - w[0]));
    int taken = 0;
    while (done < n && goes_on) {
        const int most = n - done < SM_SLICE_LANES ? (int)(n - done) : SM_SLICE_LANES;
        load_lanes(row, w + done, most);
        const int m = count_lanes(c, row, done == 0, most, &goes_on);
        taken = take_lanes(row, m, behind(out, done));
        done += (size_t)taken;
        goes_on = goes_on && taken == m;
        remember(row, taken);
    }
    give_hints(c->slicer, row, taken < SM_SLICE_LANES ? taken : SM_SLICE_LANES - 1);
    return done;
}

/* Where make-ups can't be followed: those that were found at one distance burned [m] are summed as they are. */
static enum sm_status sum_alone(struct sm_slicing *c, const struct sm_slice_course *course, double w,
                                struct wanted out)
{
    struct sm_geometry_knot knot = {.w = w}, *all = out.knots ? out.knots : &knot;
    c->w = w;
    SM_TRY(sm_slicing_integrate(c, course, all));
    if (out.areas)
        out.areas[0] = -knot.slope[SM_VOLUME];
    return SM_OK;
}

static enum sm_status many(struct sm_slicing *c, struct sm_arena *arena, const double *w, size_t n,
                           struct wanted out)
{
    const struct sm_spliced *grain = c->slicer->grain;
    const bool has_lanes = grain->sectors > 2 && grain->n <= SM_ROW_SPLICES;
    for (size_t i = 0, done; i < n; i += done) {
        struct sm_slice_course course;
        struct sm_row row;
        bool is_followable = false;
        done = 0;
        if (w[i] < c->slicer->hints_w) /* islands come up where there was nothing to see later */
            c->slicer->n_hints = 0;
        sm_arena_rewind(arena);
        sm_slicing_restart(c, w[i]);
        SM_TRY(sm_slicing_course(c, &course));
        if (has_lanes)
            SM_TRY(sm_row_make(c, arena, &course, &row, &is_followable));
        row.areas_alone = !out.knots;
        if (is_followable)
            done = follow(c, &row, w + i, n - i, behind(out, i));
        if (done > 0)
            continue;
        SM_TRY(sum_alone(c, &course, w[i], behind(out, i)));
        done = 1;
    }
    return SM_OK;
}

/* At one distance burned [m] where nothing is left, or so soon that it is done from a little later. */
static enum sm_status find_one(struct sm_slicer *slicer, double w, bool is_left, struct wanted out,
                               struct sm_error *err)
{
    struct sm_geometry_knot knot = {.w = w};
    if (is_left)
        SM_TRY(sm_slicer_knot(slicer, w, &knot, err));
    if (out.knots)
        *out.knots = knot;
    else
        *out.areas = -knot.slope[SM_VOLUME];
    return SM_OK;
}

static enum sm_status find_all(struct sm_slicer *slicer, const double *w, size_t n, struct wanted out,
                               struct sm_error *err)
{
    const double soonest = SM_SOONEST * slicer->grain->radius, ends = slicer->fore + slicer->aft;
    struct sm_slicing c;
    struct sm_arena arena;
    sm_arena_init(&arena, slicer->allocator);
    enum sm_status status = sm_slicing_start(slicer, soonest, &c, err);
    for (size_t i = 0, m; i < n && status == SM_OK; i += m) {
        const bool is_left = slicer->length - ends * fmax(w[i], soonest) > 0.0;
        m = 1;
        if (!is_left || w[i] < soonest) {
            status = find_one(slicer, w[i], is_left, behind(out, i), err);
            continue;
        }
        while (i + m < n && w[i + m] >= fmax(w[i + m - 1], soonest) && slicer->length - ends * w[i + m] > 0.0)
            m++;
        status = many(&c, &arena, w + i, m, behind(out, i));
    }
    sm_slicing_release(&c);
    sm_arena_release(&arena);
    return status;
}

enum sm_status sm_slicer_knots(struct sm_slicer *slicer, const double *w, size_t n,
                               struct sm_geometry_knot *out, struct sm_error *err)
{
    for (size_t i = 0; i < n; i++)
        out[i] = (struct sm_geometry_knot){.w = w[i]};
    return find_all(slicer, w, n, (struct wanted){.knots = out}, err);
}

enum sm_status sm_slicer_areas(struct sm_slicer *slicer, const double *w, size_t n, double *area,
                               struct sm_error *err)
{
    return find_all(slicer, w, n, (struct wanted){.areas = area}, err);
}
