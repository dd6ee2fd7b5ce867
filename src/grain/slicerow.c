#include "grain/slicerow.h"

#include <math.h>

#include "grain/shape.h"

struct maker {
    struct sm_slicing *c;
    struct sm_arena *arena;
    const struct sm_slice_course *course;
    struct sm_row *row;
    bool is_followable;
};

/* A part's end, by its names alone. */
static struct sm_slice_spot name_spot(const struct sm_part *part, int which)
{
    const struct sm_end end = which == 0 ? part->from : part->to;
    return (struct sm_slice_spot){part->front, end.other, end.other < 0 ? which : end.root, 0.0};
}

/* What is wanted to find it as well. */
static struct sm_slice_spot spot_of(const struct sm_slicer *slicer, const struct sm_part *part, int which)
{
    const struct sm_slice_spot spot = name_spot(part, which);
    return sm_slice_spot_of(&slicer->fronts, spot.front, spot.other, spot.root);
}

static double own_sweep(const struct sm_slicer *slicer, const struct sm_part *part)
{
    const struct sm_front *f = &slicer->fronts.items[part->front];
    return f->is_arc && part->from.other < 0 && part->to.other < 0 ? sm_part_sweep(f->u, f->v) : 0.0;
}

static bool are_one(const struct sm_slice_spot *a, const struct sm_slice_spot *b)
{
    const bool is_same = a->front == b->front && a->other == b->other;
    const bool is_seen_from_there = a->other >= 0 && a->front == b->other && a->other == b->front;
    return a->root == b->root && (is_same || is_seen_from_there);
}

/* The number of a part's end among the piece's spots. */
static int add_spot(const struct sm_slicer *slicer, struct sm_row_piece *piece, struct sm_slice_spot *spots,
                    const struct sm_part *part, int which)
{
    const struct sm_slice_spot spot = name_spot(part, which);
    for (int k = 0; k < piece->n_spots; k++)
        if (are_one(&spots[k], &spot))
            return k;
    spots[piece->n_spots] = spot_of(slicer, part, which);
    return piece->n_spots++;
}

static enum sm_status add_piece(struct maker *m, const struct sm_slice_piece *from)
{
    const int n = from->parts.n;
    const struct sm_slicer *slicer = m->c->slicer;
    struct sm_row_piece *piece = &m->row->pieces[m->row->n_pieces++];
    struct sm_slice_spot *spots = sm_arena_alloc(m->arena, 2 * (size_t)n, sizeof *spots);
    struct sm_row_part *parts = sm_arena_alloc(m->arena, (size_t)n, sizeof *parts);
    if (!spots || !parts)
        return sm_fail(m->c->err, SM_E_NOMEM, "out of memory");
    *piece =
        (struct sm_row_piece){.spots = spots, .parts = parts, .n_parts = n, .joint = -1, .mark = from->mark};
    for (int k = 0; k < n; k++) {
        const struct sm_part *part = &from->parts.items[k];
        parts[k] = (struct sm_row_part){.front = part->front, .sweep = own_sweep(slicer, part)};
        parts[k].from = add_spot(slicer, piece, spots, part, 0);
        parts[k].to = add_spot(slicer, piece, spots, part, 1);
        if (k < from->parts.n_burning) {
            piece->n_burning_spots = piece->n_spots;
            piece->n_burning = k + 1;
        }
    }
    m->is_followable = m->is_followable && piece->n_spots <= SM_ROW_SPOTS;
    sm_slicing_go(m->c, 0.5 * (from->a + from->b));
    piece->is_even = sm_slicing_is_even(m->c, &from->parts);
    return SM_OK;
}

/* Does a hint tell of a change where it was at other distances burned [m], and does it lead to where it is now [rad]? */
static bool leads_to(const struct sm_slice_hint *hint, const struct sm_slice_change *change, double w,
                     double angle)
{
    const double apart = 0.2; /* [rad] */
    const struct sm_slice_trace *trace = &hint->trace;
    if (!hint->is_change || trace->n == 0 || hint->change.other != change->other ||
        !sm_part_is_like(&hint->change.part, &change->part))
        return false;
    for (int i = 0; i < trace->n; i++)
        if (trace->w[i] == w)
            return false;
    double led;
    sm_row_look_for(trace, &w, 1, &led);
    return fabs(led - angle) < apart;
}

/* Where a joint is, and where it was before if the hints have it. */
static void recall(const struct sm_slicer *slicer, struct sm_row_joint *joint, double w, double angle)
{
    for (int k = 0; k < slicer->n_hints && joint->trace.n == 0; k++)
        if (leads_to(&slicer->hints[k], &joint->change, w, angle))
            joint->trace = slicer->hints[k].trace;
    sm_row_keep(&joint->trace, w, angle);
}

/* At which the row's piece ends, as it was found. */
static void add_joint(struct maker *m, const struct sm_row_stretch *stretch, int number,
                      const struct sm_slice_piece *piece)
{
    const struct sm_slice_change *end = &piece->end;
    const struct sm_slicer *slicer = m->c->slicer;
    const double angle = sm_slice_swing_angle(stretch->edge, stretch->side, m->c->w, piece->b);
    struct sm_row_joint *joint = &m->row->joints[m->row->n_joints];
    *joint = (struct sm_row_joint){
        .change = *end, .from = spot_of(slicer, &end->part, 0), .to = spot_of(slicer, &end->part, 1)};
    if (end->other != SM_OWN_END)
        joint->touch = sm_slice_spot_of(&slicer->fronts, end->part.front, end->other, 0);
    recall(slicer, joint, m->c->w, angle);
    m->row->pieces[number].joint = m->row->n_joints++;
    m->is_followable = m->is_followable && piece->is_told;
}

/* Splices that end at the edge of a stretch and have their front come round into it. */
static unsigned find_swinging(const struct sm_slicer *slicer, const struct sm_row_stretch *stretch)
{
    const struct sm_spliced *grain = slicer->grain;
    unsigned out = 0;
    for (size_t i = 0; i < grain->n && i < SM_ROW_SPLICES; i++) {
        const double end = stretch->side > 0.0 ? grain->items[i].z1 : grain->items[i].z0;
        out |= (unsigned)(end == stretch->edge) << i;
    }
    return out & ~stretch->full & ~stretch->absent;
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
    stretch->swinging = find_swinging(m->c->slicer, stretch);
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

enum sm_status sm_row_make(struct sm_slicing *c, struct sm_arena *arena, const struct sm_slice_course *course,
                           struct sm_row *row, bool *is_followable)
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
