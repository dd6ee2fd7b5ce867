#include "grain/across.h"

#include <math.h>
#include <stdbool.h>

#include "num/bracket.h"

static const double COARSEST =
    1.0 / 24.0; /* half diagonal of a cell that is not cut on, share of the radius [1] */
static const double FINEST = 1.0 / 2048.0; /* the same where fronts bend sharply [1] */
static const double BENT = 0.05; /* deviation from a plane, share of the half diagonal, that does so [1] */
static const double FOUND =
    1e-8; /* distance from the front of a place that counts as on it, share of the radius [1] */
static const double CORNER =
    0.004; /* deviation of the front from an arc, share of the half diagonal, that is one [1] */
static const double BULGE =
    0.25; /* what a side of a small cell may deviate from its chord, share of the half diagonal [1] */
/* Cells are not cut in the middle, for there measures that people choose would lie on their sides, to a rounding [1]. */
static const double CUT = 0.4831;

struct measure {
    const struct sm_across *plane;
    double w;            /* [m] */
    double area, length; /* so far [m2], [m] */
};

/* A place by its radius and its angle about the axis, and how far beyond the front it lies: below nothing where it has burned. */
struct place {
    double r, t; /* [m], [rad] */
    double g;    /* [m] */
};

struct cell {
    double r[2], t[2]; /* [m], [rad] */
};

static double beyond(const struct measure *m, double r, double t)
{
    return m->plane->distance(m->plane->user, (struct sm_point){r * cos(t), r * sin(t)}) - m->w;
}

static struct place place_at(const struct measure *m, double r, double t)
{
    return (struct place){r, t, beyond(m, r, t)};
}

static struct sm_point point_of(double r, double t)
{
    return (struct sm_point){r * cos(t), r * sin(t)};
}

static struct place between(const struct measure *m, const struct place *a, const struct place *b,
                            double share)
{
    return place_at(m, a->r + share * (b->r - a->r), a->t + share * (b->t - a->t));
}

/* Where the front passes between two places on its two sides, along the straight line of their radii and angles. Where the
 * distance does not change smoothly, as at a flat end of a void, false position would creep: then by halves. */
static struct place cross(const struct measure *m, const struct place *a, const struct place *b)
{
    enum { CHORDS = 4, STEPS = 40 };
    const double narrow = 1e-6; /* share of the side [1] */
    struct sm_chord chord = {0.0, a->g, 1.0, b->g};
    double low = 0.0, high = 1.0;
    struct place p = *b;
    for (int i = 0; i < STEPS; i++) {
        const double guess = sm_chord_next(&chord),
                     share = i < CHORDS && guess > low && guess < high ? guess : 0.5 * (low + high);
        p = between(m, a, b, share);
        if (fabs(p.g) <= FOUND * m->plane->radius || high - low < narrow)
            return p;
        if ((p.g < 0.0) == (a->g < 0.0))
            low = share;
        else
            high = share;
        sm_chord_take(&chord, share, p.g);
    }
    return p;
}

/* Integral of r^2/2 by the angle along a straight line of radius and angle: Green's share of the area. */
static double under(double r0, double t0, double r1, double t1)
{
    return (t1 - t0) * (r0 * r0 + r0 * r1 + r1 * r1) / 6.0;
}

/* The steepest change of the distance that the four corners tell, across the cell [1]. */
static double steepness(const struct cell *c, const struct place corner[4])
{
    const double dr = c->r[1] - c->r[0], arc = 0.5 * (c->r[0] + c->r[1]) * (c->t[1] - c->t[0]);
    const double by_r = 0.5 * (corner[1].g - corner[0].g + corner[2].g - corner[3].g) / dr,
                 by_t = 0.5 * (corner[3].g - corner[0].g + corner[2].g - corner[1].g) / arc;
    return fmin(hypot(by_r, by_t), 1.0);
}

/* A front from a to b with the void on its left, as an arc through a third place beside the middle of the line, as far from it as
 * the distance there tells. */
struct arc {
    double length; /* [m] */
    double beyond; /* between it and the line, where it has burned more [m2] */
    double bend;   /* how far the front lies off it at a quarter of the way and at three, about [m] */
};

static struct arc arc_through(const struct measure *m, const struct place *a, const struct place *b,
                              double steep)
{
    const struct place middle = between(m, a, b, 0.5);
    const double quarter = between(m, a, b, 0.25).g, last = between(m, a, b, 0.75).g;
    const struct sm_point p = point_of(a->r, a->t), q = point_of(b->r, b->t),
                          half = point_of(middle.r, middle.t), d = sm_point_minus(q, p);
    const double chord = sqrt(sm_point_dot(d, d));
    if (!(chord > 0.0))
        return (struct arc){0.0, 0.0, 0.0};
    const double out = steep > 0.1 ? -middle.g / steep : 0.0; /* to the right, into the propellant [m] */
    const double most = 0.25 * chord, moved = fmin(fmax(out, -most), most);
    const struct sm_point right = {d.y / chord, -d.x / chord}, mean = {0.5 * (p.x + q.x), 0.5 * (p.y + q.y)};
    const double rise = sm_point_dot(sm_point_minus(half, mean), right) + moved;
    return (struct arc){chord + 8.0 / 3.0 * rise * rise / chord, 2.0 / 3.0 * moved * chord,
                        fmax(fabs(quarter - 0.75 * middle.g), fabs(last - 0.75 * middle.g))};
}

static double size_of(const struct cell *c)
{
    return 0.5 * hypot(c->r[1] - c->r[0], c->r[1] * (c->t[1] - c->t[0]));
}

static double whole_cell(const struct cell *c)
{
    return 0.5 * (c->r[1] - c->r[0]) * (c->r[1] + c->r[0]) * (c->t[1] - c->t[0]);
}

/* A cell that the front passes through once or not at all, its corners in order round it: the burned part by Green's theorem.
 * Twice: a pinch, in a cell too small to matter. Returned: false, and nothing done, if the front has a corner there and may_fail. */
static bool settle(struct measure *m, const struct cell *c, const struct place corner[4], bool may_fail)
{
    struct place enters = {0}, leaves = {0};
    double burned = 0.0;
    int n = 0;
    for (int i = 0; i < 4; i++) {
        const struct place *a = &corner[i], *b = &corner[(i + 1) % 4];
        const bool from = a->g < 0.0, to = b->g < 0.0;
        if (from && to) {
            burned += under(a->r, a->t, b->r, b->t);
        } else if (from != to) {
            const struct place p = cross(m, a, b);
            burned += from ? under(a->r, a->t, p.r, p.t) : under(p.r, p.t, b->r, b->t);
            *(from ? &leaves : &enters) = p;
            n++;
        }
    }
    if (n == 2) {
        const struct arc arc = arc_through(m, &leaves, &enters, steepness(c, corner));
        if (may_fail && arc.bend > CORNER * size_of(c))
            return false;
        m->length += arc.length;
        m->area += under(leaves.r, leaves.t, enters.r, enters.t) + arc.beyond;
    }
    m->area += n > 2 ? 0.5 * whole_cell(c) : burned;
    return true;
}

/* May the front cross a side twice, between corners on one side of it? By the parabola through the middle; only sides that are
 * near the front are looked at. */
static bool bulges(const struct measure *m, const struct place corner[4], double size)
{
    for (int i = 0; i < 4; i++) {
        const struct place *a = &corner[i], *b = &corner[(i + 1) % 4];
        const double near = fmin(fabs(a->g), fabs(b->g));
        if ((a->g < 0.0) != (b->g < 0.0) || near > BULGE * size)
            continue;
        const double sign = a->g < 0.0 ? -1.0 : 1.0, g0 = sign * a->g, g1 = sign * b->g,
                     gm = sign * between(m, a, b, 0.5).g;
        const double bend = 2.0 * (g0 + g1 - 2.0 * gm),
                     slope = 4.0 * gm - 3.0 * g0 - g1; /* by the share of the way */
        if (gm < 0.0 ||
            (bend > 0.0 && slope < 0.0 && -slope < 2.0 * bend && g0 < 0.25 * slope * slope / bend))
            return true;
    }
    return false;
}

static void measure(struct measure *m, const struct cell *c);

/* Across its longer side. */
static void halve(struct measure *m, const struct cell *c)
{
    struct cell low = *c, high = *c;
    if (c->r[1] - c->r[0] >= c->r[1] * (c->t[1] - c->t[0]))
        low.r[1] = high.r[0] = c->r[0] + CUT * (c->r[1] - c->r[0]);
    else
        low.t[1] = high.t[0] = c->t[0] + CUT * (c->t[1] - c->t[0]);
    measure(m, &low);
    measure(m, &high);
}

static void measure(struct measure *m, const struct cell *c)
{
    const double size = size_of(c), radius = m->plane->radius;
    const double g = beyond(m, 0.5 * (c->r[0] + c->r[1]), 0.5 * (c->t[0] + c->t[1]));
    if (g >= size)
        return;
    if (g <= -size) {
        m->area += whole_cell(c);
        return;
    }
    if (size > COARSEST * radius) {
        halve(m, c);
        return;
    }
    const struct place corner[4] = {place_at(m, c->r[0], c->t[0]), place_at(m, c->r[1], c->t[0]),
                                    place_at(m, c->r[1], c->t[1]), place_at(m, c->r[0], c->t[1])};
    const double across = corner[0].g + corner[2].g, other = corner[1].g + corner[3].g;
    const double bend = fmax(0.5 * fabs(across - other), fabs(g - 0.25 * (across + other)));
    int n_burned = 0, n_changes = 0;
    for (int i = 0; i < 4; i++) {
        n_burned += corner[i].g < 0.0;
        n_changes += (corner[i].g < 0.0) != (corner[(i + 1) % 4].g < 0.0);
    }
    const bool is_hidden = (n_burned == 0 && g < 0.0) || (n_burned == 4 && g >= 0.0);
    const bool is_last = size <= FINEST * radius;
    const bool is_plain = bend <= BENT * size && n_changes <= 2 && !is_hidden && !bulges(m, corner, size);
    if (!(is_last || is_plain) || !settle(m, c, corner, !is_last))
        halve(m, c);
}

void sm_across_measure(const struct sm_across *plane, double w, double *area, double *length)
{
    struct measure m = {.plane = plane, .w = w};
    const struct cell whole = {{0.0, plane->radius}, {0.0, 2.0 * M_PI / plane->sectors}};
    measure(&m, &whole);
    *area = m.area * plane->sectors;
    *length = m.length * plane->sectors;
}
