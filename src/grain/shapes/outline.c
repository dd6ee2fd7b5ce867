/* Outline: a port drawn by the user, of points joined by lines and arcs. */
#include "grain/outline.h"
#include "grain/shape.h"

#include <math.h>
#include <string.h>

static const struct sm_param point_rows[] = {
    {.name = "x",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct sm_outline_point, x),
     .min = -10.0,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "across, from the axis"},
    {.name = "y",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct sm_outline_point, y),
     .min = -10.0,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "across, at right angles to x"},
    {.name = "arc_radius",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct sm_outline_point, arc_radius),
     .min = -10.0,
     .max = 10.0,
     .fallback = 0.0,
     .help = "the way to the next point is an arc of this radius, at most half a circle, turning left if "
             "positive and right if negative; 0: it is straight"},
    {.name = "fillet",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct sm_outline_point, fillet),
     .min = 0.0,
     .max = 10.0,
     .fallback = 0.0,
     .help = "rounds the corner here, between two straight lines"},
};

static const struct sm_param loop_rows[] = {
    {.name = "points",
     .kind = SM_LIST,
     .offset = offsetof(struct sm_outline_loop, points),
     .min = 2,
     .max = 1000,
     .fallback = SM_REQUIRED,
     .rows = point_rows,
     .n_rows = SM_COUNT(point_rows),
     .row_size = sizeof(struct sm_outline_point),
     .help = "the points in order, either way round"},
    {.name = "open",
     .kind = SM_FLAG,
     .offset = offsetof(struct sm_outline_loop, open),
     .fallback = 0,
     .help = "the line does not come back to its first point: it runs from wall to wall (outer wall, or a "
             "side of "
             "the half-sector), with the void on its left"},
};

static const struct sm_param params[] = {
    {.name = "loops",
     .kind = SM_LIST,
     .offset = offsetof(struct sm_outline, loops),
     .min = 1,
     .max = 64,
     .fallback = SM_OPTIONAL,
     .rows = loop_rows,
     .n_rows = SM_COUNT(loop_rows),
     .row_size = sizeof(struct sm_outline_loop),
     .help = "the port's outlines; a loop inside another is propellant again"},
    {.name = "sectors",
     .kind = SM_WHOLE,
     .offset = offsetof(struct sm_outline, sectors),
     .min = 0,
     .max = 64,
     .fallback = 0,
     .help =
         "n: what is drawn is half a sector, from the x axis by 180/n degrees, to be mirrored and repeated n "
         "times; 0: it is the whole"},
    {.name = "file",
     .kind = SM_TEXT,
     .offset = offsetof(struct sm_outline, file),
     .fallback = SM_OPTIONAL,
     .help =
         "in place of loops: an SVG drawing (its paths; its y axis is turned upwards), or a CSV of points "
         "with columns x and y, and if wanted arc_radius, fillet and loop; sought beside this file"},
    {.name = "file_unit",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct sm_outline, file_unit),
     .min = 1e-6,
     .max = 1.0,
     .fallback = SM_OPTIONAL,
     .help = "length of one unit of the file, as \"1 mm\"; must be given with a file"},
    {.name = "file_tolerance",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct sm_outline, file_tolerance),
     .min = 1e-9,
     .max = 0.01,
     .fallback = 1e-5,
     .help = "how far the arcs put in place of a drawing's curves may lie from them"},
};

static enum sm_status check(const struct sm_grain_common *common, const void *block, struct sm_error *err)
{
    (void)common;
    const struct sm_outline *outline = block;
    if (outline->loops.n > 0)
        return SM_OK;
    return sm_at(
        err, sm_fail(err, SM_E_GEOMETRY, "there is no outline: give \"loops\", or a \"file\" that draws it"),
        "/loops");
}

/* ---- one loop ---- */

/* Share of the grain's radius: events that elements so short bring about are told apart from one another (grain/stage.h), and those of
 * shorter ones are not. Of a grain 60 mm wide it is 3 nm. */
static const double NEAREST = 1e-7;

struct pen {
    const struct sm_outline_point *points;
    size_t n;
    bool open;
    double nearest; /* points lie no nearer to each other [m] */
    struct sm_contour *contour;
    struct sm_error *err;
};

static struct sm_point at(const struct pen *pen, size_t i)
{
    const struct sm_outline_point *p = &pen->points[i % pen->n];
    return (struct sm_point){p->x, p->y};
}

static enum sm_status fail_at(const struct pen *pen, size_t i, const char *key, enum sm_status status)
{
    return sm_at(pen->err, status, "/points/%zu%s", i % pen->n, key);
}

/* Where a fillet's arc begins and ends on the lines to its corner, and its centre. */
struct rounding {
    struct sm_point start, end, centre;
    int turn;    /* 0: no rounding */
    double used; /* of each line [m] */
};

static enum sm_status find_rounding(const struct pen *pen, size_t i, struct rounding *out)
{
    const struct sm_outline_point *p = &pen->points[i % pen->n];
    const struct sm_point here = at(pen, i);
    *out = (struct rounding){.start = here, .end = here};
    if (p->fillet == 0.0)
        return SM_OK;
    if ((pen->open && (i == 0 || i + 1 == pen->n)) || p->arc_radius != 0.0 ||
        pen->points[(i + pen->n - 1) % pen->n].arc_radius != 0.0)
        return fail_at(
            pen, i, "/fillet",
            sm_fail(pen->err, SM_E_GEOMETRY, "only a corner between two straight lines can have a fillet"));
    const struct sm_point a = at(pen, i + pen->n - 1), b = at(pen, i + 1);
    const double la = hypot(here.x - a.x, here.y - a.y), lb = hypot(b.x - here.x, b.y - here.y);
    const struct sm_point u = {(here.x - a.x) / la, (here.y - a.y) / la};
    const struct sm_point v = {(b.x - here.x) / lb, (b.y - here.y) / lb};
    const double sine = u.x * v.y - u.y * v.x, cosine = u.x * v.x + u.y * v.y;
    if (fabs(sine) < 1e-9)
        return SM_OK;
    out->turn = sine > 0.0 ? 1 : -1;
    out->used = p->fillet * fabs(sine) / (1.0 + cosine);
    out->start = (struct sm_point){here.x - out->used * u.x, here.y - out->used * u.y};
    out->end = (struct sm_point){here.x + out->used * v.x, here.y + out->used * v.y};
    out->centre = (struct sm_point){out->start.x - out->turn * p->fillet * u.y,
                                    out->start.y + out->turn * p->fillet * u.x};
    return SM_OK;
}

/* Of the arc of radius r from a to b, at most half a circle, turning left if positive. */
static struct sm_point arc_centre(struct sm_point a, struct sm_point b, double r)
{
    const double length = hypot(b.x - a.x, b.y - a.y);
    const double height = sqrt(fmax(r * r - 0.25 * length * length, 0.0)) * (r > 0.0 ? 1.0 : -1.0) / length;
    return (struct sm_point){0.5 * (a.x + b.x) - height * (b.y - a.y),
                             0.5 * (a.y + b.y) + height * (b.x - a.x)};
}

static struct sm_point middle_of_arc(struct sm_point a, struct sm_point b, struct sm_point centre, double r)
{
    const double length = hypot(b.x - a.x, b.y - a.y), side = r > 0.0 ? 1.0 : -1.0;
    return (struct sm_point){centre.x + fabs(r) * side * (b.y - a.y) / length,
                             centre.y - fabs(r) * side * (b.x - a.x) / length};
}

/* From point i to the next: a line between their roundings, or an arc. */
static enum sm_status draw_side(const struct pen *pen, size_t i, const struct rounding *here,
                                const struct rounding *next)
{
    const struct sm_point a = at(pen, i), b = at(pen, i + 1);
    const double length = hypot(b.x - a.x, b.y - a.y), r = pen->points[i].arc_radius;
    if (!(length > 0.0))
        return fail_at(pen, i, "", sm_fail(pen->err, SM_E_GEOMETRY, "this point and the next are the same"));
    if (length < pen->nearest)
        return fail_at(pen, i, "",
                       sm_fail(pen->err, SM_E_GEOMETRY,
                               "this point and the next lie %.2g mm apart: too near to tell what burns from "
                               "between them; leave one out",
                               1e3 * length));
    if (r == 0.0) {
        if (here->used + next->used > length * (1.0 + 1e-12))
            return fail_at(pen, next->used > here->used ? i + 1 : i, "/fillet",
                           sm_fail(pen->err, SM_E_GEOMETRY,
                                   "the fillet is larger than its corner: %g mm of a line of %g mm",
                                   1e3 * (here->used + next->used), 1e3 * length));
        sm_contour_line(pen->contour, next->start.x, next->start.y);
        return SM_OK;
    }
    if (fabs(r) < 0.5 * length * (1.0 - 1e-9))
        return fail_at(pen, i, "/arc_radius",
                       sm_fail(pen->err, SM_E_GEOMETRY,
                               "a radius of %g mm does not reach over the %g mm to the next point",
                               1e3 * fabs(r), 1e3 * length));
    const struct sm_point centre = arc_centre(a, b, r);
    sm_contour_arc(pen->contour, b.x, b.y, centre.x, centre.y, r > 0.0 ? 1 : -1);
    return SM_OK;
}

static enum sm_status draw_loop(const struct pen *pen)
{
    struct rounding first, here, next;
    SM_TRY(find_rounding(pen, 0, &first));
    here = first;
    sm_contour_start(pen->contour, first.end.x, first.end.y);
    const size_t n_sides = pen->open ? pen->n - 1 : pen->n;
    for (size_t i = 0; i < n_sides; i++) {
        next = first;
        if (i + 1 < pen->n)
            SM_TRY(find_rounding(pen, i + 1, &next));
        SM_TRY(draw_side(pen, i, &here, &next));
        if (next.turn != 0)
            sm_contour_arc(pen->contour, next.end.x, next.end.y, next.centre.x, next.centre.y, next.turn);
        here = next;
    }
    return SM_OK;
}

/* ---- which side is void ---- */

/* Twice the area that a closed chain goes round anticlockwise. */
static double twice_area(const struct sm_contour *contour, const struct sm_chain *chain)
{
    double sum = 0.0;
    for (size_t i = 0; i < chain->n; i++) {
        const struct sm_edge *e = &contour->edges[chain->first + i];
        sum += e->a.x * e->b.y - e->a.y * e->b.x;
        if (e->turn != 0)
            sum += e->turn * e->radius * e->radius * (sm_edge_sweep(e) - sin(sm_edge_sweep(e)));
    }
    return sum;
}

/* Is p inside a closed chain? By the angle that the chain turns about it, arcs in small steps. */
static bool goes_round(const struct sm_contour *contour, const struct sm_chain *chain, struct sm_point p)
{
    enum { STEPS = 64 };
    double turn = 0.0;
    for (size_t i = 0; i < chain->n; i++) {
        const struct sm_edge *e = &contour->edges[chain->first + i];
        const int steps = e->turn == 0 ? 1 : STEPS;
        struct sm_point from = e->a;
        for (int k = 1; k <= steps; k++) {
            const struct sm_point to = sm_edge_point(e, (double)k / steps);
            const double ax = from.x - p.x, ay = from.y - p.y, bx = to.x - p.x, by = to.y - p.y;
            turn += atan2(ax * by - ay * bx, ax * bx + ay * by);
            from = to;
        }
    }
    return fabs(turn) > M_PI;
}

static void reverse(struct sm_edge *edges, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        const struct sm_point a = edges[i].a;
        edges[i].a = edges[i].b;
        edges[i].b = a;
        edges[i].turn = -edges[i].turn;
    }
    for (size_t i = 0; i < n / 2; i++) {
        const struct sm_edge swap = edges[i];
        edges[i] = edges[n - 1 - i];
        edges[n - 1 - i] = swap;
    }
}

/* A loop within an even number of others bounds void and is walked anticlockwise, else clockwise. */
static void orient(struct sm_contour *contour)
{
    for (size_t i = 0; i < contour->n_chains; i++) {
        const struct sm_chain *chain = &contour->chains[i];
        if (!sm_chain_is_closed(contour, chain))
            continue;
        bool is_rod = false;
        for (size_t j = 0; j < contour->n_chains; j++)
            if (j != i && sm_chain_is_closed(contour, &contour->chains[j]) &&
                goes_round(contour, &contour->chains[j], contour->edges[chain->first].a))
                is_rod = !is_rod;
        if ((twice_area(contour, chain) > 0.0) == is_rod)
            reverse(contour->edges + chain->first, chain->n);
    }
}

/* Loops that stand in a file are counted from 1, as its reader does, and have no place of their own here. */
static enum sm_status at_loop(const struct sm_outline *outline, size_t i, enum sm_status status,
                              struct sm_error *err)
{
    if (!outline->file)
        return sm_at(err, status, "/loops/%zu", i);
    if (err)
        err->at.path[0] = '\0';
    return sm_at(err, sm_while(err, status, "loop %zu of %s", i + 1, outline->file), "/file");
}

static enum sm_status section(struct sm_arena *arena, const struct sm_grain_common *common, const void *block,
                              struct sm_section *out, struct sm_error *err)
{
    (void)arena;
    const struct sm_outline *outline = block;
    const struct sm_outline_loop *loops = outline->loops.items;
    const double nearest = NEAREST * 0.5 * common->outer_diameter;
    out->sectors = outline->sectors;
    for (size_t i = 0; i < outline->loops.n; i++) {
        const struct pen pen = {
            loops[i].points.items, loops[i].points.n, loops[i].open, nearest, &out->contour, err};
        const enum sm_status status = draw_loop(&pen);
        if (status != SM_OK)
            return at_loop(outline, i, status, err);
    }
    SM_TRY(sm_contour_check_memory(&out->contour, err));
    orient(&out->contour);
    return SM_OK;
}

/* The first point's place, and the first arc and rounding of each loop. */
static void gauges(const struct sm_grain_common *common, const void *block, struct sm_gauges *out)
{
    (void)common;
    const struct sm_outline *outline = block;
    const struct sm_outline_loop *loops = outline->loops.items;
    for (size_t i = 0; i < outline->loops.n && !outline->file; i++) {
        const struct pen pen = {
            .points = loops[i].points.items, .n = loops[i].points.n, .open = loops[i].open};
        char list[SM_GAUGE_NAME], name[SM_GAUGE_NAME];
        bool has_arc = false, has_fillet = false;
        sm_gauge_entry(list, "loops", i, "points");
        const struct sm_point first = at(&pen, 0);
        if (first.x != 0.0)
            sm_gauge_length(out, sm_gauge_entry(name, list, 0, "x"), (struct sm_point){0.0, first.y}, first,
                            SM_GAUGE_HERE);
        if (first.y != 0.0)
            sm_gauge_length(out, sm_gauge_entry(name, list, 0, "y"), (struct sm_point){first.x, 0.0}, first,
                            SM_GAUGE_HERE);
        for (size_t k = 0; k < pen.n; k++) {
            const struct sm_outline_point *p = &pen.points[k];
            const struct sm_point a = at(&pen, k), b = at(&pen, k + 1);
            struct rounding r;
            if (p->arc_radius != 0.0 && !has_arc) {
                const struct sm_point centre = arc_centre(a, b, p->arc_radius);
                sm_gauge_radius(out, sm_gauge_entry(name, list, k, "arc_radius"), centre,
                                middle_of_arc(a, b, centre, p->arc_radius));
                has_arc = true;
            }
            if (p->fillet > 0.0 && !has_fillet && find_rounding(&pen, k, &r) == SM_OK && r.turn != 0) {
                sm_gauge_radius(out, sm_gauge_entry(name, list, k, "fillet"), r.centre,
                                middle_of_arc(r.start, r.end, r.centre, r.turn * p->fillet));
                has_fillet = true;
            }
        }
    }
}

const struct sm_shape sm_shape_outline = {
    .name = "outline",
    .summary = "a port of your own, drawn by points, lines and arcs",
    .size = sizeof(struct sm_outline),
    .params = params,
    .n_params = SM_COUNT(params),
    .faces = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END | SM_FACE_OUTER,
    .burning = SM_FACE_BORE,
    .example = "{ \"shape\": \"outline\", \"outer_diameter\": \"60 mm\", \"length\": \"120 mm\", \"loops\": ["
               " { \"points\": [ { \"x\": \"12 mm\", \"y\": \"-4 mm\", \"arc_radius\": \"4 mm\" },"
               " { \"x\": \"12 mm\", \"y\": \"4 mm\" },"
               " { \"x\": \"-14 mm\", \"y\": \"9 mm\", \"fillet\": \"2 mm\" },"
               " { \"x\": \"-10 mm\", \"y\": \"-12 mm\", \"fillet\": \"1 mm\" } ] } ] }",
    .is_drawn = true,
    .check = check,
    .section = section,
    .gauges = gauges,
};
