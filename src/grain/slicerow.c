#include "grain/slicerow.h"

#include <math.h>
#include <string.h>

#include "grain/shape.h"

/* ---- from make-ups to a row ---- */

struct maker {
    struct sm_slicing *c;
    struct sm_arena *arena;
    const struct sm_slice_course *course;
    struct sm_row *row;
    bool is_followable;
};

/* An element's end that is known by itself. */
static struct sm_slice_spot spot_of(const struct sm_slicer *slicer, const struct sm_part *part, int which)
{
    const struct sm_end end = which == 0 ? part->from : part->to;
    return sm_slice_spot_of(&slicer->fronts, part->front, end.other, end.other < 0 ? which : end.root);
}

static bool are_one(const struct sm_slice_spot *a, const struct sm_slice_spot *b)
{
    const bool is_same = a->front == b->front && a->other == b->other;
    const bool is_seen_from_there = a->other >= 0 && a->front == b->other && a->other == b->front;
    return a->root == b->root && (is_same || is_seen_from_there);
}

/* Its number among the piece's. */
static int add_spot(struct sm_row_piece *piece, struct sm_slice_spot *spots, struct sm_slice_spot spot)
{
    for (int k = 0; k < piece->n_spots; k++)
        if (are_one(&spots[k], &spot))
            return k;
    spots[piece->n_spots] = spot;
    return piece->n_spots++;
}

static enum sm_status add_piece(struct maker *m, const struct sm_slice_piece *from)
{
    const int n = from->parts.n;
    struct sm_row_piece *piece = &m->row->pieces[m->row->n_pieces++];
    struct sm_slice_spot *spots = sm_arena_alloc(m->arena, 2 * (size_t)n, sizeof *spots);
    struct sm_row_part *parts = sm_arena_alloc(m->arena, (size_t)n, sizeof *parts);
    if (!spots || !parts)
        return sm_fail(m->c->err, SM_E_NOMEM, "out of memory");
    *piece =
        (struct sm_row_piece){.spots = spots, .parts = parts, .n_parts = n, .joint = -1, .mark = from->mark};
    for (int k = 0; k < n; k++) {
        const struct sm_part *part = &from->parts.items[k];
        parts[k] = (struct sm_row_part){part->front, add_spot(piece, spots, spot_of(m->c->slicer, part, 0)),
                                        add_spot(piece, spots, spot_of(m->c->slicer, part, 1))};
    }
    m->is_followable = m->is_followable && piece->n_spots <= SM_ROW_SPOTS;
    sm_slicing_go(m->c, 0.5 * (from->a + from->b));
    piece->is_even = sm_slicing_is_even(m->c, &from->parts);
    return SM_OK;
}

static double angle_at(const struct sm_row_stretch *stretch, const struct sm_slice_border *border, double w)
{
    if (border->at == stretch->edge)
        return border->slope == 0.0 ? 0.0 : M_PI_2;
    const double sine = stretch->side * (sm_slice_place(border, w) - stretch->edge) / w;
    return asin(fmin(fmax(sine, 0.0), 1.0));
}

/* At which the row's piece ends, as it was found. */
static void add_joint(struct maker *m, const struct sm_row_stretch *stretch, int number,
                      const struct sm_slice_piece *piece)
{
    const struct sm_slice_change *end = &piece->end;
    const struct sm_slicer *slicer = m->c->slicer;
    const double sine = stretch->side * (piece->b - stretch->edge) / m->c->w;
    m->row->joints[m->row->n_joints] = (struct sm_row_joint){.change = *end,
                                                             .from = spot_of(slicer, &end->part, 0),
                                                             .to = spot_of(slicer, &end->part, 1),
                                                             .angle = {asin(fmin(fmax(sine, 0.0), 1.0))},
                                                             .w = {m->c->w},
                                                             .n_known = 1};
    if (end->other != SM_OWN_END)
        m->row->joints[m->row->n_joints].touch =
            sm_slice_spot_of(&slicer->fronts, end->part.front, end->other, 0);
    m->row->pieces[number].joint = m->row->n_joints++;
    m->is_followable = m->is_followable && piece->is_told;
}

/* Pieces from the given one on, as long as they lie in one stretch. Returned: the first that doesn't, in *next. */
static enum sm_status add_stretch(struct maker *m, int first, int *next)
{
    const struct sm_slice_pieces *pieces = &m->course->pieces;
    const int index = pieces->items[first].stretch;
    struct sm_row_stretch *stretch = &m->row->stretches[m->row->n_stretches++];
    *next = first;
    while (*next < pieces->n && pieces->items[*next].stretch == index)
        ++*next;
    *stretch = (struct sm_row_stretch){.a = m->course->borders[index],
                                       .b = m->course->borders[index + 1],
                                       .first_piece = m->row->n_pieces,
                                       .n_pieces = *next - first};
    for (int k = first; k < *next; k++)
        SM_TRY(add_piece(m, &pieces->items[k]));
    stretch->swings = stretch->n_pieces > 1 || !m->row->pieces[stretch->first_piece].is_even;
    stretch->is_covered = pieces->items[first].is_covered;
    const double a = pieces->items[first].a, b = pieces->items[*next - 1].b;
    sm_slicing_go(m->c, 0.5 * (a + b));
    for (size_t i = 0; i < m->c->slicer->grain->n && i < SM_ROW_SPLICES; i++) {
        stretch->full |= (unsigned)(m->c->q[i] == m->c->w) << i;
        stretch->absent |= (unsigned)(m->c->q[i] < 0.0) << i;
    }
    if (!stretch->swings)
        return SM_OK;
    const struct sm_slice_swing swing = sm_slicing_swing(m->c, a, b);
    stretch->edge = swing.edge;
    stretch->side = swing.side;
    for (int k = first; k + 1 < *next; k++)
        add_joint(m, stretch, stretch->first_piece + k - first, &pieces->items[k]);
    return SM_OK;
}

static void add_flat(struct sm_row *row, struct sm_slice_border z, int piece, double sign)
{
    row->flats[row->n_flats++] = (struct sm_row_flat){z, piece, sign};
}

/* Burning ends; and where a splice comes into reach, what is left without it there less what is left with it. */
static void add_flats(struct maker *m)
{
    struct sm_row *row = m->row;
    const struct sm_slicer *s = m->c->slicer;
    for (int k = 0; k < row->n_stretches; k++) {
        const struct sm_row_stretch *stretch = &row->stretches[k];
        const int last = stretch->first_piece + stretch->n_pieces - 1;
        if (k == 0 && s->fore > 0.0)
            add_flat(row, stretch->a, stretch->first_piece, 1.0);
        if (k + 1 == row->n_stretches && s->aft > 0.0)
            add_flat(row, stretch->b, last, 1.0);
        if (k + 1 < row->n_stretches && stretch->b.reach != 0) {
            add_flat(row, stretch->b, last, stretch->b.reach);
            add_flat(row, stretch->b, last + 1, -stretch->b.reach);
        }
    }
}

/* Do stretches join where something comes into reach? One too short to be cut may lie between. */
static bool are_joined(const struct sm_row *row)
{
    for (int k = 0; k + 1 < row->n_stretches; k++) {
        const struct sm_slice_border *b = &row->stretches[k].b, *a = &row->stretches[k + 1].a;
        if (b->at != a->at || b->slope != a->slope)
            return false;
    }
    return row->n_stretches > 0;
}

static enum sm_status make_room(struct maker *m)
{
    const size_t n = (size_t)m->course->pieces.n, stretches = (size_t)m->course->n;
    struct sm_row *row = m->row;
    row->stretches = sm_arena_alloc(m->arena, stretches, sizeof *row->stretches);
    row->pieces = sm_arena_alloc(m->arena, n, sizeof *row->pieces);
    row->joints = sm_arena_alloc(m->arena, n, sizeof *row->joints);
    row->flats = sm_arena_alloc(m->arena, 2 * stretches + 2, sizeof *row->flats);
    row->views = sm_arena_alloc(m->arena, n + 2 * stretches, sizeof *row->views);
    row->from = sm_arena_alloc(m->arena, stretches, sizeof *row->from);
    row->to = sm_arena_alloc(m->arena, stretches, sizeof *row->to);
    row->angle = sm_arena_alloc(m->arena, n, sizeof *row->angle);
    const bool is_room = row->stretches && row->pieces && row->joints && row->flats && row->views &&
                         row->from && row->to && row->angle;
    return is_room ? SM_OK : sm_fail(m->c->err, SM_E_NOMEM, "out of memory");
}

/* In the middle of every piece, and just inside the ends of stretches. */
static void list_views(struct sm_row *row)
{
    for (int k = 0; k < row->n_stretches; k++) {
        const struct sm_row_stretch *stretch = &row->stretches[k];
        const int first = stretch->first_piece, last = first + stretch->n_pieces - 1;
        for (int i = first; i <= last; i++)
            row->views[row->n_views++] = (struct sm_row_view){k, i, SM_ROW_MIDDLE};
        if (stretch->is_covered)
            continue;
        row->views[row->n_views++] = (struct sm_row_view){k, first, SM_ROW_FORE};
        row->views[row->n_views++] = (struct sm_row_view){k, last, SM_ROW_AFT};
    }
}

/* The make-ups where the slicing is. *is_followable: can they be followed to other distances burned? */
static enum sm_status make_row(struct sm_slicing *c, struct sm_arena *arena,
                               const struct sm_slice_course *course, struct sm_row *row, bool *is_followable)
{
    struct maker m = {.c = c, .arena = arena, .course = course, .row = row, .is_followable = true};
    *row = (struct sm_row){.slicer = c->slicer};
    SM_TRY(make_room(&m));
    for (int k = 0; k < course->pieces.n;)
        SM_TRY(add_stretch(&m, k, &k));
    *is_followable = m.is_followable && are_joined(row);
    if (!*is_followable)
        return SM_OK;
    add_flats(&m);
    list_views(row);
    return SM_OK;
}

/* ---- lanes ---- */

/* Where to look for a joint: on the parabola, or line, through where it was. */
static double look_for(const struct sm_row_joint *joint, double w)
{
    double sum = 0.0;
    for (int i = 0; i < joint->n_known; i++) {
        double share = 1.0;
        for (int j = 0; j < joint->n_known; j++)
            if (j != i)
                share *= (w - joint->w[j]) / (joint->w[i] - joint->w[j]);
        sum += share * joint->angle[i];
    }
    return sum;
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
        for (int i = 0; i < SM_SLICE_LANES; i++)
            row->angle[k][i] = look_for(&row->joints[k], row->w[i]);
    sm_row_place(row);
    for (int k = 0; k < row->n_stretches; k++)
        choose_rules(row, k);
}

/* From here on joints are looked for as they were in the first n lanes, the last of them and some before. */
static void remember(struct sm_row *row, int n)
{
    const int lanes[SM_ROW_KNOWN] = {n - 1, (n - 1) / 2, 0}, known = n < SM_ROW_KNOWN ? n : SM_ROW_KNOWN;
    for (int k = 0; k < row->n_joints; k++) {
        struct sm_row_joint *joint = &row->joints[k];
        joint->n_known = known;
        for (int i = 0; i < known; i++) {
            joint->w[i] = row->w[lanes[i]];
            joint->angle[i] = row->angle[k][lanes[i]];
        }
    }
}

/* Looks which way joints move, where they have been found at one distance burned [m] only, by a step that is short beside the
 * next [m]. */
static void try_step(struct sm_row *row, double w, double step)
{
    const double at[2] = {w, w + step};
    load_lanes(row, at, 2);
    if (row->failed[0] == 0.0 && row->failed[1] == 0.0)
        remember(row, 2);
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

static void take_lane(const struct sm_row *row, int lane, struct sm_geometry_knot *out)
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
static int take_lanes(struct sm_row *row, int n, struct sm_geometry_knot *out)
{
    if (n > 0)
        sm_row_sum(row);
    for (int i = 0; i < n; i++) {
        if (row->failed[i] != 0.0)
            return i;
        take_lane(row, i, &out[i]);
    }
    return n;
}

static void hint(struct sm_slicer *slicer, const struct sm_row_stretch *stretch, double angle,
                 const struct sm_slice_change *change)
{
    if (slicer->n_hints == SM_MOST_HINTS)
        return;
    struct sm_slice_hint *hint = &slicer->hints[slicer->n_hints++];
    *hint = (struct sm_slice_hint){.edge = stretch->edge, .sine = stretch->side * sin(angle)};
    hint->is_change = change != NULL;
    if (change)
        hint->change = *change;
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
                hint(slicer, stretch, to, &row->joints[joint].change);
            from = to;
        }
    }
}

/* From a row that was found at the first of n distances burned. Returned: how many were done. */
static size_t follow(struct sm_slicing *c, struct sm_row *row, const double *w, size_t n,
                     struct sm_geometry_knot *out)
{
    size_t done = 0;
    bool goes_on = true;
    if (n > 1 && row->n_joints > 0)
        try_step(row, w[0], 1e-3 * (w[1] - w[0]));
    int taken = 0;
    while (done < n && goes_on) {
        const int most = n - done < SM_SLICE_LANES ? (int)(n - done) : SM_SLICE_LANES;
        load_lanes(row, w + done, most);
        const int m = count_lanes(c, row, done == 0, most, &goes_on);
        taken = take_lanes(row, m, out + done);
        done += (size_t)taken;
        goes_on = goes_on && taken == m;
        if (goes_on)
            remember(row, m);
    }
    give_hints(c->slicer, row, taken < SM_SLICE_LANES ? taken : SM_SLICE_LANES - 1);
    return done;
}

static enum sm_status many(struct sm_slicing *c, struct sm_arena *arena, const double *w, size_t n,
                           struct sm_geometry_knot *out)
{
    const struct sm_spliced *grain = c->slicer->grain;
    const bool has_lanes = grain->sectors > 2 && grain->n <= SM_ROW_SPLICES;
    for (size_t i = 0, done; i < n; i += done) {
        struct sm_slice_course course;
        struct sm_row row;
        bool is_followable = false;
        done = 0;
        sm_arena_rewind(arena);
        sm_slicing_restart(c, w[i]);
        SM_TRY(sm_slicing_course(c, &course));
        if (has_lanes)
            SM_TRY(make_row(c, arena, &course, &row, &is_followable));
        if (is_followable) {
            done = follow(c, &row, w + i, n - i, out + i);
        }
        if (done > 0)
            continue;
        c->w = w[i];
        SM_TRY(sm_slicing_integrate(c, &course, &out[i]));
        done = 1;
    }
    return SM_OK;
}

enum sm_status sm_slicer_knots(struct sm_slicer *slicer, const double *w, size_t n,
                               struct sm_geometry_knot *out, struct sm_error *err)
{
    const double soonest = SM_SOONEST * slicer->grain->radius, ends = slicer->fore + slicer->aft;
    struct sm_slicing c;
    struct sm_arena arena;
    sm_arena_init(&arena, slicer->allocator);
    enum sm_status status = sm_slicing_start(slicer, soonest, &c, err);
    for (size_t i = 0, m; i < n && status == SM_OK; i += m) {
        m = 1;
        out[i] = (struct sm_geometry_knot){.w = w[i]};
        if (slicer->length - ends * fmax(w[i], soonest) <= 0.0)
            continue;
        if (w[i] < soonest) {
            status = sm_slicer_knot(slicer, w[i], &out[i], err);
            continue;
        }
        while (i + m < n && w[i + m] >= soonest && slicer->length - ends * w[i + m] > 0.0) {
            out[i + m] = (struct sm_geometry_knot){.w = w[i + m]};
            m++;
        }
        status = many(&c, &arena, w + i, m, out + i);
    }
    sm_slicing_release(&c);
    sm_arena_release(&arena);
    return status;
}
