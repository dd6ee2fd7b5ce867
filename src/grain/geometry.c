#include "grain/geometry.h"

#include <math.h>
#include <string.h>

/* ---- one piece ---- */

/* Where in a piece w lies. */
struct place {
    double s; /* root of the distance from the piece's root [m1/2]; of no account to the even pace */
    double u; /* [1] */
};

/* A trial step of the chamber may look a little past an even piece's end; the polynomial goes on smoothly there. */
static const double overstep = 0.1; /* as a share of the piece [1] */

static struct place find_place(const struct sm_piece *piece, double w)
{
    if (piece->pace == SM_EVEN) {
        const double u = (w - piece->w0) / (piece->w1 - piece->w0);
        return (struct place){0.0, fmin(fmax(u, -overstep), 1.0 + overstep)};
    }
    const double from = piece->pace == SM_ROOT_BEFORE ? w - piece->root : piece->root - w;
    const double s = fmin(fmax(sqrt(fmax(from, 0.0)), piece->near), piece->far);
    return (struct place){s, (s - piece->near) / (piece->far - piece->near)};
}

static double value_at(const double c[6], double u)
{
    return c[0] + u * (c[1] + u * (c[2] + u * (c[3] + u * (c[4] + u * c[5]))));
}

/* The derivative by u, and half of it over u where c[1] = 0, which is the derivative by u^2. */
static double slope_at(const double c[6], double u)
{
    return c[1] + u * (2.0 * c[2] + u * (3.0 * c[3] + u * (4.0 * c[4] + u * 5.0 * c[5])));
}

static double half_slope_over_u(const double c[6], double u)
{
    return c[2] + u * (1.5 * c[3] + u * (2.0 * c[4] + u * 2.5 * c[5]));
}

/* d/dw = step * slope_at, or with near = 0, where u = s / far, d/dw = step * half_slope_over_u. */
static double find_step(const struct sm_piece *piece, struct place at)
{
    if (piece->pace == SM_EVEN)
        return 1.0 / (piece->w1 - piece->w0);
    const double sign = piece->pace == SM_ROOT_BEFORE ? 1.0 : -1.0;
    if (piece->near > 0.0)
        return 0.5 * sign / (at.s * (piece->far - piece->near));
    return sign / (piece->far * piece->far);
}

static bool starts_at_root(const struct sm_piece *piece)
{
    return piece->pace != SM_EVEN && piece->near == 0.0;
}

void sm_piece_eval(const struct sm_piece *piece, double w, struct sm_geometry_at *out)
{
    const struct place at = find_place(piece, w);
    const double step = find_step(piece, at);
    const bool at_root = starts_at_root(piece);
    for (int i = 0; i < SM_N_INTEGRALS; i++) {
        const double *c = piece->c[i];
        out->value[i] = value_at(c, at.u);
        out->slope[i] = step * (at_root ? half_slope_over_u(c, at.u) : slope_at(c, at.u));
    }
}

void sm_piece_slopes(const struct sm_piece *piece, double w, double slope[SM_N_INTEGRALS])
{
    const struct place at = find_place(piece, w);
    const double step = find_step(piece, at);
    const bool at_root = starts_at_root(piece);
    for (int i = 0; i < SM_N_INTEGRALS; i++)
        slope[i] = step * (at_root ? half_slope_over_u(piece->c[i], at.u) : slope_at(piece->c[i], at.u));
}

void sm_piece_area(const struct sm_piece *piece, double w, double *area, double *volume)
{
    const struct place at = find_place(piece, w);
    const double step = find_step(piece, at), *c = piece->c[SM_VOLUME];
    *volume = value_at(c, at.u);
    *area = -step * (starts_at_root(piece) ? half_slope_over_u(c, at.u) : slope_at(c, at.u));
}

/* Second derivative by w. With V(s), s^2 = |w - root|: V'' = (d2V/ds2 - (dV/ds) / s) / (4 s^2). */
static double bend_at(const struct sm_piece *piece, const double c[6], struct place at)
{
    const double u = at.u;
    const double by_u = 2.0 * c[2] + u * (6.0 * c[3] + u * (12.0 * c[4] + u * 20.0 * c[5]));
    const double step = find_step(piece, at);
    if (piece->pace == SM_EVEN)
        return step * step * by_u;
    if (starts_at_root(piece)) {
        const double first = c[3] == 0.0 ? 0.0 : 0.75 * c[3] / u;
        return step * step * (first + 2.0 * c[4] + 3.75 * u * c[5]);
    }
    const double span = piece->far - piece->near;
    return step * step * (by_u - slope_at(c, u) * span / at.s);
}

void sm_piece_surface(const struct sm_piece *piece, double w, struct sm_surface *out)
{
    static const double least = 1e-3; /* share of the piece, in u, that is kept off a root for the slope */
    const double off = least * least * (piece->w1 - piece->w0);
    sm_piece_area(piece, w, &out->area, &out->volume);
    if (piece->pace == SM_ROOT_BEFORE)
        w = fmax(w, piece->w0 + off);
    else if (piece->pace == SM_ROOT_BEHIND)
        w = fmin(w, piece->w1 - off);
    out->slope = -bend_at(piece, piece->c[SM_VOLUME], find_place(piece, w));
}

void sm_piece_knot(const struct sm_piece *piece, double w, struct sm_geometry_knot *out)
{
    struct sm_geometry_at at;
    sm_piece_eval(piece, w, &at);
    memcpy(out->value, at.value, sizeof out->value);
    memcpy(out->slope, at.slope, sizeof out->slope);
    out->w = w;
    for (int i = 0; i < SM_N_INTEGRALS; i++)
        out->bend[i] = bend_at(piece, piece->c[i], find_place(piece, w));
}

/* Hermite: f, f', f'' at u = 0 and at u = 1, and how far f rises from the one to the other. */
static void hermite(const double at0[3], const double at1[3], double rise, double c[6])
{
    c[0] = at0[0];
    c[1] = at0[1];
    c[2] = 0.5 * at0[2];
    const double f = rise - c[1] - c[2];
    const double d = at1[1] - c[1] - 2.0 * c[2];
    const double dd = at1[2] - 2.0 * c[2];
    c[3] = 10.0 * f - 4.0 * d + 0.5 * dd;
    c[4] = -15.0 * f + 7.0 * d - dd;
    c[5] = 6.0 * f - 3.0 * d + 0.5 * dd;
}

/* One integral's value and derivatives by u at a knot. With ds/dw = sign / (2 s): dV/ds = 2 sign s V' and
 * d2V/ds2 = 4 s^2 V'' + 2 sign V'; at s = 0 the product with V'' vanishes, since V'' grows no faster than
 * 1/s. */
static void by_u(const struct sm_piece *piece, const struct sm_geometry_knot *knot, int i, double s,
                 double out[3])
{
    out[0] = knot->value[i];
    if (piece->pace == SM_EVEN) {
        const double span = piece->w1 - piece->w0;
        out[1] = span * knot->slope[i];
        out[2] = span * span * knot->bend[i];
        return;
    }
    const double span = piece->far - piece->near, sign = piece->pace == SM_ROOT_BEFORE ? 1.0 : -1.0;
    out[1] = span * 2.0 * sign * s * knot->slope[i];
    out[2] = span * span * (2.0 * sign * knot->slope[i] + (s > 0.0 ? 4.0 * s * s * knot->bend[i] : 0.0));
}

static bool is_nothing(const struct sm_geometry_knot *knot, int i)
{
    return knot->value[i] == 0.0 && knot->slope[i] == 0.0 && knot->bend[i] == 0.0;
}

void sm_piece_from_knots(const struct sm_geometry_knot *a, const struct sm_geometry_knot *b,
                         enum sm_pace pace, double root, const double noise[SM_N_INTEGRALS],
                         struct sm_piece *out)
{
    *out = (struct sm_piece){.w0 = a->w, .w1 = b->w, .pace = pace, .root = pace == SM_EVEN ? 0.0 : root};
    const struct sm_geometry_knot *near = a, *far = b;
    if (pace == SM_ROOT_BEHIND) {
        near = b;
        far = a;
    }
    if (pace != SM_EVEN) {
        out->near = sqrt(fabs(near->w - root));
        out->far = sqrt(fabs(far->w - root));
    }
    for (int i = 0; i < SM_N_INTEGRALS; i++) {
        double at0[3], at1[3];
        if (is_nothing(a, i) && is_nothing(b, i))
            continue; /* as moments across the axis are in a symmetric grain */
        by_u(out, near, i, out->near, at0);
        by_u(out, far, i, out->far, at1);
        const double rise = at1[0] - at0[0], sum = 0.5 * (at0[1] + at1[1]) + (at0[2] - at1[2]) / 12.0;
        hermite(at0, at1, noise && fabs(sum - rise) <= noise[i] ? sum : rise, out->c[i]);
    }
}

/* f and f' at u = 0, 1/2 and 1. */
static void three_point(const double at0[3], const double half[3], const double at1[3], double c[6])
{
    c[0] = at0[0];
    c[1] = at0[1];
    const double f = at1[0] - c[0] - c[1], d = at1[1] - c[1];
    const double fm = half[0] - c[0] - 0.5 * c[1], dm = half[1] - c[1];
    c[2] = 7.0 * f - d + 16.0 * fm - 8.0 * dm;
    c[3] = -34.0 * f + 5.0 * d - 32.0 * fm + 32.0 * dm;
    c[4] = 52.0 * f - 8.0 * d + 16.0 * fm - 40.0 * dm;
    c[5] = -24.0 * f + 4.0 * d + 16.0 * dm;
}

/* The same where u = 0 is a root: f' is zero there and f'' known, so f' at 1/2 is not needed. */
static void three_point_at_root(const double at0[3], const double half[3], const double at1[3], double c[6])
{
    c[0] = at0[0];
    c[1] = 0.0;
    c[2] = 0.5 * at0[2];
    const double f = at1[0] - c[0] - c[2], d = at1[1] - 2.0 * c[2], fm = half[0] - c[0] - 0.25 * c[2];
    c[3] = -6.0 * f + d + 32.0 * fm;
    c[4] = 17.0 * f - 3.0 * d - 64.0 * fm;
    c[5] = -10.0 * f + 2.0 * d + 32.0 * fm;
}

void sm_piece_from_three(const struct sm_geometry_knot *a, const struct sm_geometry_knot *middle,
                         const struct sm_geometry_knot *b, enum sm_pace pace, double root,
                         struct sm_piece *out)
{
    *out = (struct sm_piece){.w0 = a->w, .w1 = b->w, .pace = pace, .root = pace == SM_EVEN ? 0.0 : root};
    const struct sm_geometry_knot *near = pace == SM_ROOT_BEHIND ? b : a,
                                  *far = pace == SM_ROOT_BEHIND ? a : b;
    if (pace != SM_EVEN) {
        out->near = sqrt(fabs(near->w - root));
        out->far = sqrt(fabs(far->w - root));
    }
    for (int i = 0; i < SM_N_INTEGRALS; i++) {
        double at0[3], half[3], at1[3];
        by_u(out, near, i, out->near, at0);
        by_u(out, middle, i, 0.5 * (out->near + out->far), half);
        by_u(out, far, i, out->far, at1);
        if (starts_at_root(out))
            three_point_at_root(at0, half, at1, out->c[i]);
        else
            three_point(at0, half, at1, out->c[i]);
    }
}

/* ---- the whole burn ---- */

size_t sm_geometry_find(const struct sm_geometry *g, double w)
{
    if (!(w < g->web))
        return g->n_pieces;
    size_t low = 0, high = g->n_pieces; /* the piece sought is in [low, high) */
    while (high - low > 1) {
        const size_t middle = low + (high - low) / 2;
        if (g->pieces[middle].w0 <= w)
            low = middle;
        else
            high = middle;
    }
    return low;
}

void sm_geometry_eval(const struct sm_geometry *g, double w, struct sm_geometry_at *out)
{
    const size_t i = sm_geometry_find(g, w);
    if (i < g->n_pieces)
        sm_piece_eval(&g->pieces[i], w, out);
    else
        *out = (struct sm_geometry_at){0};
}

/* The last w in the piece at which the area is at least the given one; NaN if it is below it all over. Looked
 * for from the end on a grid fine enough for a quintic's few bends, then by bisection. */
static double last_above(const struct sm_piece *piece, double least)
{
    enum { STEPS = 16, BISECTIONS = 50 };
    double area, volume, above = SM_NAN, below = piece->w1;
    for (int i = STEPS; i >= 0; i--) {
        const double w = piece->w0 + (piece->w1 - piece->w0) * i / STEPS;
        sm_piece_area(piece, w, &area, &volume);
        if (area >= least) {
            above = w;
            break;
        }
        below = w;
    }
    for (int i = 0; i < BISECTIONS && above < below; i++) {
        const double w = 0.5 * (above + below);
        sm_piece_area(piece, w, &area, &volume);
        if (area >= least)
            above = w;
        else
            below = w;
    }
    return above;
}

void sm_geometry_finish(struct sm_geometry *g)
{
    g->web = g->n_pieces > 0 ? g->pieces[g->n_pieces - 1].w1 : 0.0;
    g->web_main = g->web;
    if (g->n_pieces == 0)
        return;
    double area, volume;
    sm_piece_area(&g->pieces[0], 0.0, &area, &volume);
    const double half_mean = 0.5 * volume / g->web;
    for (size_t i = g->n_pieces; i-- > 0;) {
        const double w = last_above(&g->pieces[i], half_mean);
        if (w >= 0.0) {
            g->web_main = w;
            return;
        }
    }
}

/* Largest and, until the given w, least area, looked for at both ends of every piece and on a few points between. */
static void find_extremes(const struct sm_geometry *g, double until, double *least, double *largest)
{
    enum { POINTS = 16 };
    double area, volume;
    *least = SM_INF;
    *largest = 0.0;
    for (size_t i = 0; i < g->n_pieces; i++)
        for (int j = 0; j <= POINTS; j++) {
            const struct sm_piece *p = &g->pieces[i];
            const double w = p->w0 + (p->w1 - p->w0) * j / POINTS;
            sm_piece_area(p, w, &area, &volume);
            *largest = fmax(*largest, area);
            if (w <= until)
                *least = fmin(*least, area);
        }
}

void sm_geometry_figures(const struct sm_geometry *g, struct sm_geometry_figures *out)
{
    struct sm_geometry_at start, sliver;
    sm_geometry_eval(g, 0.0, &start);
    sm_geometry_eval(g, g->web_main, &sliver);
    const double volume = start.value[SM_VOLUME];
    *out = (struct sm_geometry_figures){
        .area_initial = -start.slope[SM_VOLUME],
        .area_mean = volume / g->web,
        .sliver_fraction = g->web_main < g->web ? sliver.value[SM_VOLUME] / volume : 0.0,
        .loading = volume / g->envelope,
    };
    find_extremes(g, g->web_main, &out->area_minimum, &out->area_maximum);
    out->neutrality = out->area_maximum / out->area_mean;
}
