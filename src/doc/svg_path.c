#include "doc/svg_path.h"

#include <math.h>
#include <string.h>

#include "doc/number.h"

enum { MOST_POINTS = 1000, DEEPEST = 16 };
static const double SAME = 1e-7; /* share of a loop's coordinates within which two points are one [1] */

struct vector {
    double x, y; /* [file unit] */
};

struct reader {
    struct sm_arena *arena;
    const char *text, *at;
    double tolerance; /* [file unit] */
    struct sm_svg_outline *out;
    struct vector here, start;
    bool has_begun; /* by a move */
    struct sm_error *err;
};

static double dot(struct vector a, struct vector b)
{
    return a.x * b.x + a.y * b.y;
}

static struct vector minus(struct vector a, struct vector b)
{
    return (struct vector){a.x - b.x, a.y - b.y};
}

/* ---- loops ---- */

static enum sm_status begin_loop(struct reader *r)
{
    struct sm_svg_outline *o = r->out;
    struct sm_svg_loop *room = sm_arena_grow(r->arena, o->loops, o->n, &o->room, o->n + 1, sizeof *room);
    if (!room)
        return sm_fail(r->err, SM_E_NOMEM, "out of memory");
    o->loops = room;
    o->loops[o->n++] = (struct sm_svg_loop){0};
    return SM_OK;
}

/* The point where an edge begins, and the edge's radius. */
static enum sm_status put(struct reader *r, struct vector p, double radius)
{
    struct sm_svg_loop *loop = &r->out->loops[r->out->n - 1];
    if (loop->n >= MOST_POINTS)
        return sm_fail(r->err, SM_E_RANGE,
                       "a contour needs more than %d points: draw it with fewer, or allow a larger tolerance",
                       MOST_POINTS);
    struct sm_svg_point *room =
        sm_arena_grow(r->arena, loop->points, loop->n, &loop->room, loop->n + 1, sizeof *room);
    if (!room)
        return sm_fail(r->err, SM_E_NOMEM, "out of memory");
    loop->points = room;
    loop->points[loop->n++] = (struct sm_svg_point){p.x, p.y, radius};
    return SM_OK;
}

static bool is_same(struct vector a, struct vector b)
{
    return hypot(a.x - b.x, a.y - b.y) <= SAME * (hypot(a.x, a.y) + hypot(b.x, b.y));
}

static enum sm_status go_straight(struct reader *r, struct vector to)
{
    if (is_same(r->here, to))
        return SM_OK;
    SM_TRY(put(r, r->here, 0.0));
    r->here = to;
    return SM_OK;
}

/* Ends the loop at hand: back at its start, or where it is. */
static enum sm_status end_loop(struct reader *r, bool is_closing)
{
    if (r->out->n == 0 || r->out->loops[r->out->n - 1].n == 0)
        return SM_OK;
    struct sm_svg_loop *loop = &r->out->loops[r->out->n - 1];
    if (is_closing)
        SM_TRY(go_straight(r, r->start));
    loop->is_closed = is_same(r->here, r->start);
    return loop->is_closed ? SM_OK : put(r, r->here, 0.0);
}

/* ---- curves as arcs ---- */

/* A cubic Bezier curve, or an arc of an ellipse: centre, half axes and angles. */
struct curve {
    bool is_ellipse;
    struct vector p[4];       /* [file unit] */
    struct vector centre;     /* [file unit] */
    double a, b;              /* half axes [file unit] */
    double tilt, from, sweep; /* [rad] */
};

static struct vector point_at(const struct curve *c, double t)
{
    if (c->is_ellipse) {
        const double angle = c->from + t * c->sweep, x = c->a * cos(angle), y = c->b * sin(angle);
        return (struct vector){c->centre.x + x * cos(c->tilt) - y * sin(c->tilt),
                               c->centre.y + x * sin(c->tilt) + y * cos(c->tilt)};
    }
    const double s = 1.0 - t, k[4] = {s * s * s, 3.0 * s * s * t, 3.0 * s * t * t, t * t * t};
    struct vector p = {0.0, 0.0};
    for (int i = 0; i < 4; i++) {
        p.x += k[i] * c->p[i].x;
        p.y += k[i] * c->p[i].y;
    }
    return p;
}

/* Unit direction at t; seen from inside where the derivative vanishes at an end. */
static struct vector way_at(const struct curve *c, double t)
{
    const double step = 1e-5, lo = fmax(t - step, 0.0), hi = fmin(t + step, 1.0);
    struct vector d = {0.0, 0.0};
    if (c->is_ellipse) {
        const double angle = c->from + t * c->sweep, x = -c->a * sin(angle) * c->sweep,
                     y = c->b * cos(angle) * c->sweep;
        d = (struct vector){x * cos(c->tilt) - y * sin(c->tilt), x * sin(c->tilt) + y * cos(c->tilt)};
    } else {
        const double s = 1.0 - t, k[3] = {s * s, 2.0 * s * t, t * t};
        for (int i = 0; i < 3; i++) {
            d.x += k[i] * (c->p[i + 1].x - c->p[i].x);
            d.y += k[i] * (c->p[i + 1].y - c->p[i].y);
        }
    }
    double length = hypot(d.x, d.y);
    if (!(length > 0.0)) {
        d = minus(point_at(c, hi), point_at(c, lo));
        length = hypot(d.x, d.y);
    }
    return length > 0.0 ? (struct vector){d.x / length, d.y / length} : (struct vector){1.0, 0.0};
}

/* Radius, positive to the left, of the arc from p along t to q; 0 where it is straight to 1e-12 of its length. */
static double arc_radius(struct vector p, struct vector t, struct vector q)
{
    const struct vector d = minus(q, p);
    const double aside = t.x * d.y - t.y * d.x;
    return fabs(aside) <= 1e-12 * hypot(d.x, d.y) ? 0.0 : 0.5 * dot(d, d) / aside;
}

/* How far s lies from the circle, or the line, from p along t to q [file unit]. */
static double off_arc(struct vector p, struct vector t, double radius, struct vector s)
{
    const struct vector d = minus(s, p);
    if (radius == 0.0)
        return fabs(t.x * d.y - t.y * d.x);
    return fabs(hypot(d.x + radius * t.y, d.y - radius * t.x) - fabs(radius));
}

/* Two arcs that touch each other at a joint, and the ends' directions there, both as far along them. */
static enum sm_status bend(struct reader *r, const struct curve *c, double t0, double t1, int depth)
{
    const struct vector p = point_at(c, t0), q = point_at(c, t1), tp = way_at(c, t0), tq = way_at(c, t1);
    const struct vector v = minus(q, p), sum = {tp.x + tq.x, tp.y + tq.y};
    const double b = dot(v, sum), a = 2.0 * (1.0 - dot(tp, tq)), chord2 = dot(v, v);
    const double d = chord2 / (b + sqrt(b * b + a * chord2)); /* root of a d^2 + 2 b d = chord^2 */
    const struct vector joint = {0.5 * (p.x + q.x + d * (tp.x - tq.x)),
                                 0.5 * (p.y + q.y + d * (tp.y - tq.y))};
    const struct vector first = minus(joint, p);
    const double along = 2.0 * dot(first, tp) / dot(first, first);
    const struct vector tj = {along * first.x - tp.x, along * first.y - tp.y}; /* tp mirrored at the chord */
    const double ra = arc_radius(p, tp, joint), rb = arc_radius(joint, tj, q);
    double worst = dot(tp, tq) < 0.5 || dot(tp, v) < 0.0 ? 2.0 * r->tolerance : 0.0;
    for (int i = 1; i < 8; i++) {
        const struct vector s = point_at(c, t0 + (t1 - t0) * i / 8.0);
        worst = fmax(worst, fmin(off_arc(p, tp, ra, s), off_arc(joint, tj, rb, s)));
    }
    if (!(worst <= r->tolerance) && depth < DEEPEST) {
        SM_TRY(bend(r, c, t0, 0.5 * (t0 + t1), depth + 1));
        return bend(r, c, 0.5 * (t0 + t1), t1, depth + 1);
    }
    if (!is_same(p, joint))
        SM_TRY(put(r, p, ra));
    if (!is_same(joint, q))
        SM_TRY(put(r, joint, rb));
    r->here = q;
    return SM_OK;
}

/* The arc of an ellipse between two points, by its centre: SVG 2, appendix B.2.4; y is upwards here, so that a sweep flag of 1
 * turns right and the tilt goes the other way. */
static enum sm_status go_round(struct reader *r, const double v[5], struct vector to)
{
    const struct vector from = r->here;
    struct curve c = {
        .is_ellipse = true, .a = fabs(v[0]), .b = fabs(v[1]), .tilt = -v[2] * 3.14159265358979323846 / 180.0};
    if (c.a == 0.0 || c.b == 0.0 || is_same(from, to))
        return go_straight(r, to);
    const bool is_large = v[3] != 0.0, is_right = v[4] != 0.0;
    const struct vector h = {0.5 * (from.x - to.x), 0.5 * (from.y - to.y)};
    const double ct = cos(c.tilt), st = sin(c.tilt);
    const struct vector u = {(h.x * ct + h.y * st) / c.a, (h.y * ct - h.x * st) / c.b};
    const double span = dot(u, u), grow = fmax(1.0, sqrt(span));
    const double side = (is_large != is_right ? 1.0 : -1.0) * sqrt(fmax(1.0 / span - 1.0, 0.0));
    c.a *= grow;
    c.b *= grow;
    /* In the frame where the ellipse is the unit circle the chord's middle is the origin. */
    const struct vector k = span < 1.0 ? (struct vector){side * -u.y, side * u.x} : (struct vector){0.0, 0.0};
    const struct vector m = {k.x * c.a * ct - k.y * c.b * st, k.x * c.a * st + k.y * c.b * ct};
    c.centre = (struct vector){0.5 * (from.x + to.x) + m.x, 0.5 * (from.y + to.y) + m.y};
    const double g = 1.0 / grow;
    const struct vector e0 = {u.x * g - k.x, u.y * g - k.y}, e1 = {-u.x * g - k.x, -u.y * g - k.y};
    c.from = atan2(e0.y, e0.x);
    c.sweep = atan2(e0.x * e1.y - e0.y * e1.x, dot(e0, e1));
    if (is_right && c.sweep > 0.0)
        c.sweep -= 2.0 * 3.14159265358979323846;
    if (!is_right && c.sweep < 0.0)
        c.sweep += 2.0 * 3.14159265358979323846;
    if (fabs(c.a - c.b) > 1e-9 * c.a) {
        SM_TRY(bend(r, &c, 0.0, 1.0, 0));
        r->here = to;
        return SM_OK;
    }
    const double radius = is_right ? -c.a : c.a;
    SM_TRY(put(r, from, radius)); /* in halves, each at most half a circle */
    if (fabs(c.sweep) > 3.14)
        SM_TRY(put(r, point_at(&c, 0.5), radius));
    r->here = to;
    return SM_OK;
}

/* ---- text ---- */

static void skip(struct reader *r)
{
    while (*r->at && strchr(" \t\r\n,", *r->at))
        r->at++;
}

static bool number_follows(struct reader *r)
{
    skip(r);
    return *r->at && strchr("+-.0123456789", *r->at);
}

/* A flag of an arc is one digit, with no blank needed behind it. */
static enum sm_status read_numbers(struct reader *r, char command, double *v, int n)
{
    for (int i = 0; i < n; i++) {
        size_t used = 0;
        skip(r);
        if (command == 'A' && (i == 3 || i == 4)) {
            used = *r->at == '0' || *r->at == '1';
            v[i] = *r->at == '1';
        } else {
            used = sm_number_parse(r->at, strlen(r->at), '.', &v[i]);
        }
        if (used > 0 && !isfinite(v[i]))
            return sm_fail(r->err, SM_E_RANGE, "path data: the number at character %zu is too large",
                           (size_t)(r->at - r->text) + 1);
        if (used == 0)
            return sm_fail(r->err, SM_E_SYNTAX,
                           "path data: '%c' needs %d numbers; number %d is not one, at character %zu",
                           command, n, i + 1, (size_t)(r->at - r->text) + 1);
        r->at += used;
    }
    return SM_OK;
}

/* One command's next set of numbers. */
static enum sm_status draw(struct reader *r, char command, bool is_relative)
{
    static const char names[] = "MLHVAC";
    static const int counts[] = {2, 2, 1, 1, 7, 6};
    double v[7];
    const int n = counts[strchr(names, command) - names];
    SM_TRY(read_numbers(r, command, v, n));
    const struct vector o = is_relative ? r->here : (struct vector){0.0, 0.0};
    struct vector to = {o.x + v[n >= 2 ? n - 2 : 0], o.y - v[n - 1]};
    if (command == 'H')
        to = (struct vector){o.x + v[0], r->here.y};
    if (command == 'V')
        to = (struct vector){r->here.x, o.y - v[0]};
    if (command == 'M') {
        SM_TRY(end_loop(r, false));
        r->here = r->start = to;
        r->has_begun = true;
        return begin_loop(r);
    }
    if (command == 'A')
        return go_round(r, v, to);
    if (command != 'C')
        return go_straight(r, to);
    const struct curve c = {.p = {r->here, {o.x + v[0], o.y - v[1]}, {o.x + v[2], o.y - v[3]}, to}};
    return bend(r, &c, 0.0, 1.0, 0);
}

static enum sm_status read_command(struct reader *r)
{
    const char letter = *r->at;
    const bool is_relative = letter >= 'a' && letter <= 'z';
    const char command = is_relative ? (char)(letter - 'a' + 'A') : letter;
    if (!strchr("MLHVACZ", command) || (!r->has_begun && command != 'M'))
        return sm_fail(r->err, SM_E_SYNTAX,
                       "path data: '%c' at character %zu; M (first), L, H, V, A, C, Z and m to z are read",
                       letter, (size_t)(r->at - r->text) + 1);
    r->at++;
    if (command == 'Z') {
        SM_TRY(end_loop(r, true));
        r->here = r->start;
        skip(r);
        return *r->at && !strchr("Mm", *r->at) ? begin_loop(r) : SM_OK;
    }
    SM_TRY(draw(r, command, is_relative));
    while (number_follows(r)) /* more points behind a move are lines */
        SM_TRY(draw(r, command == 'M' ? 'L' : command, is_relative));
    return SM_OK;
}

enum sm_status sm_svg_path_read(struct sm_arena *arena, const char *d, double tolerance,
                                struct sm_svg_outline *out, struct sm_error *err)
{
    struct reader r = {.arena = arena, .tolerance = tolerance, .out = out, .err = err};
    while (*d && strchr(" \t\r\n", *d))
        d++;
    r.text = r.at = d;
    bool is_open = false;
    for (skip(&r); *r.at; skip(&r)) {
        is_open = *r.at != 'Z' && *r.at != 'z';
        SM_TRY(read_command(&r));
    }
    return is_open ? end_loop(&r, false) : SM_OK;
}
