#include "grain/revolve.h"

#include <math.h>
#include <string.h>

/* The four integrals kept: of r^m z^k over the front, times a factor, and as a flux of r^(m + 1) z^k / (m + 1) times the
 * same factor along the radius, whose divergence in the plane is the integrand of the volume. x^2 and y^2 are each half
 * of r^2, so r^3 / 2 in all. */
enum { OF_R, OF_RZ, OF_RZZ, OF_RRR, N_KEPT };
static const enum sm_integral integrals[N_KEPT] = {SM_VOLUME, SM_Z, SM_ZZ, SM_XX};
static const double factors[N_KEPT] = {2.0 * M_PI, 2.0 * M_PI, 2.0 * M_PI, M_PI};

struct sums {
    double f[N_KEPT];    /* over the front [m2], [m3], [m4] */
    double df[N_KEPT];   /* change by moving and stretching, its ends aside [m], [m2], [m3] */
    double flux[N_KEPT]; /* [m3], [m4], [m5] */
};

/* The four integrands. */
static void integrands(double r, double z, double out[N_KEPT])
{
    out[OF_R] = r;
    out[OF_RZ] = r * z;
    out[OF_RZZ] = r * z * z;
    out[OF_RRR] = r * r * r;
}

/* A place of a front, and its share of the length. */
struct spot {
    double r, z;       /* [m] */
    struct sm_point n; /* the way it moves, a unit vector [1] */
    double ds;         /* [m], or of an arc's angle [rad] */
};

static inline void add_spot(struct spot at, struct sums *out)
{
    const double r = at.r, z = at.z;
    const struct sm_point n = at.n;
    double g[N_KEPT];
    integrands(r, z, g);
    const double dg[N_KEPT] = {n.y, n.y * z + n.x * r, n.y * z * z + 2.0 * n.x * r * z, 3.0 * n.y * r * r};
    for (int i = 0; i < N_KEPT; i++) {
        out->f[i] += at.ds * g[i];
        out->df[i] += at.ds * dg[i];
        out->flux[i] += (i == OF_RRR ? 0.25 : 0.5) * at.ds * n.y * r * g[i];
    }
}

static inline void add_spot_front(struct spot at, double f[N_KEPT])
{
    double g[N_KEPT];
    integrands(at.r, at.z, g);
    for (int i = 0; i < N_KEPT; i++)
        f[i] += at.ds * g[i];
}

/* ---- lines ---- */

/* Three-point Gauss is exact to degree five; the flux has four. */
enum { POINTS = 3 };
static const double places[POINTS] = {0.1127016653792583, 0.5, 0.8872983346207417};
static const double shares[POINTS] = {5.0 / 18.0, 8.0 / 18.0, 5.0 / 18.0};

/* Length along the line's own way: negative once its ends have passed each other [m]. */
static double length_of(const struct sm_front *line, const struct sm_point p[2])
{
    return (p[1].x - p[0].x) * line->u.x + (p[1].y - p[0].y) * line->u.y;
}

static inline struct spot line_spot(const struct sm_front *line, const struct sm_point p[2], double length,
                                    int q)
{
    return (struct spot){.r = p[0].y + places[q] * (p[1].y - p[0].y),
                         .z = p[0].x + places[q] * (p[1].x - p[0].x),
                         .n = line->v,
                         .ds = shares[q] * length};
}

static void line_front(const struct sm_front *line, const struct sm_point p[2], double f[N_KEPT])
{
    const double length = length_of(line, p);
    for (int q = 0; q < POINTS; q++)
        add_spot_front(line_spot(line, p, length, q), f);
}

static void line_sums(const struct sm_front *line, const struct sm_point p[2], struct sums *out)
{
    const double length = length_of(line, p);
    for (int q = 0; q < POINTS; q++)
        add_spot(line_spot(line, p, length, q), out);
}

/* ---- arcs ---- */

/* From the arc's centre to its ends, unit vectors. */
static void arc_ends(const struct sm_front *arc, const struct sm_cut_part *at, struct sm_point e[2])
{
    for (int k = 0; k < 2; k++)
        e[k] = (struct sm_point){arc->sign * at->normal[k].x, arc->sign * at->normal[k].y};
}

/* Closed forms are sums of powers of the arc's radius, which all but cancel where that is long against what the arc spans: the
 * front of an end burner 3 m long and 60 mm across has lost four digits by its end. Eight-point Gauss adds up an arc that
 * turns by no more than this to a rounding [rad]; the integrands go as its angle's fifth multiple at most. */
static const double NARROW = 0.4;
enum { PAIRS = 4 };
static const double narrow_places[PAIRS] = {0.1834346424956498, 0.5255324099163290, 0.7966664774136267,
                                            0.9602898564975363};
static const double narrow_shares[PAIRS] = {0.3626837833783620, 0.3137066458778873, 0.2223810344533745,
                                            0.1012285362903763};

/* A small turn: differences of direction are reckoned as such, so that they have small roundings. */
struct turn {
    double sine, versine; /* [1] */
};

static struct turn turn_by(double angle)
{
    const double h = sin(0.5 * angle);
    return (struct turn){2.0 * h * sqrt((1.0 - h) * (1.0 + h)), 2.0 * h * h};
}

/* Where that turn, forwards (way = 1) or backwards (way = -1), takes one along the arc from p in the direction e of its centre. */
static inline struct spot turned_spot(const struct sm_front *arc, double radius, struct sm_point p,
                                      struct sm_point e, struct turn turn, double way)
{
    const double sine = way * turn.sine;
    const struct sm_point d = {-sine * e.y - turn.versine * e.x, sine * e.x - turn.versine * e.y};
    return (struct spot){.r = p.y + radius * d.y,
                         .z = p.x + radius * d.x,
                         .n = {arc->sign * (e.x + d.x), arc->sign * (e.y + d.y)}};
}

/* In pairs about the middle. */
static void narrow_spots(const struct sm_front *arc, const struct sm_cut_part *at, double sweep,
                         struct spot out[2 * PAIRS])
{
    const double R = at->radius, half = 0.5 * sweep, sign = arc->sign;
    const struct sm_point e0 = {sign * at->normal[0].x, sign * at->normal[0].y};
    const struct spot middle = turned_spot(arc, R, at->p[0], e0, turn_by(half), 1.0);
    const struct sm_point p = {middle.z, middle.r}, e = {sign * middle.n.x, sign * middle.n.y};
    for (int k = 0; k < PAIRS; k++) {
        const struct turn turn = turn_by(half * narrow_places[k]);
        for (int m = 0; m < 2; m++) {
            out[2 * k + m] = turned_spot(arc, R, p, e, turn, m ? 1.0 : -1.0);
            out[2 * k + m].ds = half * narrow_shares[k];
        }
    }
}

/* Integrals of cos^a sin^b over an arc, t[a][b] with a + b < ORDER, as far as they are asked for: those of the front need
 * a <= 2 and a + b <= 3, those of the flux the rest. By parts from lower ones. */
enum { ORDER = 6 };

static void low_trig(const struct sm_point e[2], double angle, double t[ORDER][ORDER])
{
    const double c0 = e[0].x, s0 = e[0].y, c1 = e[1].x, s1 = e[1].y;
    t[0][0] = angle;
    t[1][0] = s1 - s0;
    t[0][1] = c0 - c1;
    t[2][0] = 0.5 * (c1 * s1 - c0 * s0 + angle);
    t[1][1] = 0.5 * (c0 * c0 - c1 * c1);
    t[0][2] = 0.5 * (c0 * s0 - c1 * s1 + angle);
    t[2][1] = (c0 * c0 * c0 - c1 * c1 * c1) / 3.0;
    t[1][2] = (c0 * c0 * s0 - c1 * c1 * s1 + t[1][0]) / 3.0;
    t[0][3] = (c0 * s0 * s0 - c1 * s1 * s1 + 2.0 * t[0][1]) / 3.0;
}

static void high_trig(const struct sm_point e[2], double t[ORDER][ORDER])
{
    const double c0 = e[0].x, s0 = e[0].y, c1 = e[1].x, s1 = e[1].y;
    const double cc0 = c0 * c0, ss0 = s0 * s0, cc1 = c1 * c1, ss1 = s1 * s1;
    t[2][2] = (cc0 * c0 * s0 - cc1 * c1 * s1 + t[2][0]) / 4.0;
    t[1][3] = (cc0 * ss0 - cc1 * ss1 + 2.0 * t[1][1]) / 4.0;
    t[0][4] = (c0 * ss0 * s0 - c1 * ss1 * s1 + 3.0 * t[0][2]) / 4.0;
    t[2][3] = (cc0 * c0 * ss0 - cc1 * c1 * ss1 + 2.0 * t[2][1]) / 5.0;
    t[0][5] = (c0 * ss0 * ss0 - c1 * ss1 * ss1 + 4.0 * t[0][3]) / 5.0;
}

/* Of t[a][b], once it is multiplied by a coordinate's binomial: o.y + R sin for r, o.x + R cos for z. */
struct arc {
    struct sm_point o;
    double radius; /* [m] */
    double (*t)[ORDER];
};

static double by_r(const struct arc *k, int a, int b)
{
    return k->o.y * k->t[a][b] + k->radius * k->t[a][b + 1];
}

static double by_rr(const struct arc *k, int a, int b)
{
    return k->o.y * by_r(k, a, b) + k->radius * by_r(k, a, b + 1);
}

static double by_rrr(const struct arc *k, int a, int b)
{
    return k->o.y * by_rr(k, a, b) + k->radius * by_rr(k, a, b + 1);
}

/* From an integral and those of the same times cos and cos^2 to those times z and z^2. */
static void with_z(const struct arc *k, double none, double once, double twice, double *by_z, double *by_zz)
{
    const double ox = k->o.x, R = k->radius;
    *by_z = ox * none + R * once;
    *by_zz = ox * ox * none + R * (2.0 * ox * once + R * twice);
}

/* Integrals over the angle. */
static void arc_front(const struct arc *k, double f[N_KEPT])
{
    f[OF_R] = by_r(k, 0, 0);
    with_z(k, f[OF_R], by_r(k, 1, 0), by_r(k, 2, 0), &f[OF_RZ], &f[OF_RZZ]);
    f[OF_RRR] = by_rrr(k, 0, 0);
}

/* Of r^(m + 1) z^k sin over the angle. */
static void arc_flux(const struct arc *k, double f[N_KEPT])
{
    f[OF_R] = by_rr(k, 0, 1);
    with_z(k, f[OF_R], by_rr(k, 1, 1), by_rr(k, 2, 1), &f[OF_RZ], &f[OF_RZZ]);
    f[OF_RRR] = k->o.y * by_rrr(k, 0, 1) + k->radius * by_rrr(k, 0, 2);
}

/* Of the integrands' changes by the radius: sin times their change by r, cos times that by z. */
static void arc_growth(const struct arc *k, double f[N_KEPT])
{
    double z, zz, rz, unused;
    with_z(k, k->t[0][1], k->t[1][1], k->t[2][1], &z, &zz);
    with_z(k, by_r(k, 1, 0), by_r(k, 2, 0), 0.0, &rz, &unused);
    f[OF_R] = k->t[0][1];
    f[OF_RZ] = z + by_r(k, 1, 0);
    f[OF_RZZ] = zz + 2.0 * rz;
    f[OF_RRR] = 3.0 * by_rr(k, 0, 1);
}

static void wide_sums(const struct sm_front *front, const struct sm_cut_part *at, double sweep,
                      struct sums *out)
{
    const double R = at->radius, sign = front->sign;
    struct sm_point e[2];
    double t[ORDER][ORDER], plain[N_KEPT], grown[N_KEPT], flux[N_KEPT];
    const struct arc k = {front->base, R, t};
    arc_ends(front, at, e);
    low_trig(e, sweep, t);
    high_trig(e, t);
    arc_front(&k, plain);
    arc_growth(&k, grown);
    arc_flux(&k, flux);
    for (int i = 0; i < N_KEPT; i++) {
        out->f[i] = R * plain[i];
        out->df[i] = sign * (plain[i] + R * grown[i]);
        out->flux[i] = (i == OF_RRR ? 0.25 : 0.5) * sign * R * flux[i];
    }
}

static double sweep_of(const struct sm_front *arc, const struct sm_cut_part *at)
{
    struct sm_point e[2];
    arc_ends(arc, at, e);
    return sm_part_sweep(e[0], e[1]);
}

static void arc_sums(const struct sm_front *arc, const struct sm_cut_part *at, struct sums *out)
{
    const double sweep = sweep_of(arc, at);
    if (sweep > NARROW) {
        wide_sums(arc, at, sweep, out);
        return;
    }
    struct spot spots[2 * PAIRS];
    narrow_spots(arc, at, sweep, spots);
    for (int q = 0; q < 2 * PAIRS; q++)
        add_spot(spots[q], out);
    for (int i = 0; i < N_KEPT; i++) {
        out->df[i] = arc->sign * out->f[i] + at->radius * out->df[i];
        out->f[i] *= at->radius;
        out->flux[i] *= at->radius;
    }
}

/* The first of those sums alone. */
static void arc_areas(const struct sm_front *arc, const struct sm_cut_part *at, double f[N_KEPT])
{
    const double sweep = sweep_of(arc, at);
    if (sweep > NARROW) {
        struct sm_point e[2];
        double t[ORDER][ORDER];
        const struct arc k = {arc->base, at->radius, t};
        arc_ends(arc, at, e);
        low_trig(e, sweep, t);
        arc_front(&k, f);
    } else {
        struct spot spots[2 * PAIRS];
        narrow_spots(arc, at, sweep, spots);
        for (int q = 0; q < 2 * PAIRS; q++)
            add_spot_front(spots[q], f);
    }
    for (int i = 0; i < N_KEPT; i++)
        f[i] *= at->radius;
}

/* ---- a whole front ---- */

static void knot_at(const struct sm_fronts *fronts, const struct sm_stage *stage, double w,
                    struct sm_geometry_knot *out)
{
    *out = (struct sm_geometry_knot){.w = w};
    for (int p = 0; p < stage->parts.n; p++) {
        const struct sm_part *part = &stage->parts.items[p];
        const struct sm_front *front = &fronts->items[part->front];
        struct sm_cut_part at;
        struct sums s = {.f = {0.0}};
        sm_part_place(fronts, part, w, &at);
        if (front->is_arc)
            arc_sums(front, &at, &s);
        else
            line_sums(front, at.p, &s);
        const bool is_rim =
            front->speed == 0.0; /* its normal points out of the propellant, a front's into it */
        for (int i = 0; i < N_KEPT; i++)
            out->value[integrals[i]] += (is_rim ? factors[i] : -factors[i]) * s.flux[i];
        for (int e = 0; e < 2 && !is_rim; e++) {
            double g[N_KEPT];
            integrands(at.p[e].y, at.p[e].x, g);
            for (int i = 0; i < N_KEPT && at.run[e] != 0.0; i++)
                s.df[i] += at.run[e] * g[i];
        }
        for (int i = 0; i < N_KEPT && !is_rim; i++) {
            out->slope[integrals[i]] -= factors[i] * s.f[i];
            out->bend[integrals[i]] -= factors[i] * s.df[i];
        }
    }
}

void sm_revolve_knot(const struct sm_fronts *fronts, const struct sm_stage *stage, double w,
                     struct sm_geometry_knot *out)
{
    const double near = sm_stage_near_start(fronts, stage);
    knot_at(fronts, stage, fmax(w, near), out);
    const double back = fmin(w - near, 0.0);
    for (int q = 0; q < SM_N_INTEGRALS && back < 0.0; q++) {
        const double bend = isfinite(out->bend[q]) ? out->bend[q] : 0.0;
        out->value[q] += back * (out->slope[q] + 0.5 * back * bend);
        out->slope[q] += back * bend;
        out->bend[q] = bend;
    }
    out->w = w;
    out->value[SM_YY] = out->value[SM_XX];
    out->slope[SM_YY] = out->slope[SM_XX];
    out->bend[SM_YY] = out->bend[SM_XX];
}

void sm_revolve_slopes(const struct sm_fronts *fronts, const struct sm_stage *stage, double w,
                       double slope[SM_N_INTEGRALS])
{
    if (w < sm_stage_near_start(fronts, stage)) {
        struct sm_geometry_knot knot;
        sm_revolve_knot(fronts, stage, w, &knot);
        memcpy(slope, knot.slope, sizeof knot.slope);
        return;
    }
    memset(slope, 0, SM_N_INTEGRALS * sizeof *slope);
    for (int p = 0; p < stage->parts.n_burning; p++) {
        const struct sm_part *part = &stage->parts.items[p];
        const struct sm_front *front = &fronts->items[part->front];
        struct sm_cut_part at;
        double f[N_KEPT] = {0.0};
        sm_part_lie(fronts, part, w, &at);
        if (front->is_arc)
            arc_areas(front, &at, f);
        else
            line_front(front, at.p, f);
        for (int i = 0; i < N_KEPT; i++)
            slope[integrals[i]] -= factors[i] * f[i];
    }
    slope[SM_YY] = slope[SM_XX];
}

/* ---- volume and area alone ---- */

static void line_volume(const struct sm_front *line, const struct sm_point p[2], double *flux, double *front)
{
    const double length = length_of(line, p), a = p[0].y, b = p[1].y;
    *flux = line->v.y * length * (a * a + a * b + b * b) / 6.0;
    *front = 0.5 * length * (a + b);
}

static void arc_volume(const struct sm_front *arc, const struct sm_cut_part *at, double *flux, double *front)
{
    const double R = at->radius, y = arc->base.y, sweep = sweep_of(arc, at);
    if (sweep <= NARROW) {
        struct sums sums = {.f = {0.0}};
        arc_sums(arc, at, &sums);
        *flux = sums.flux[OF_R];
        *front = sums.f[OF_R];
        return;
    }
    struct sm_point e[2];
    double t[ORDER][ORDER];
    arc_ends(arc, at, e);
    low_trig(e, sweep, t);
    *flux = 0.5 * arc->sign * R * (y * y * t[0][1] + R * (2.0 * y * t[0][2] + R * t[0][3]));
    *front = R * (y * sweep + R * t[0][1]);
}

void sm_revolve_volume(const struct sm_fronts *fronts, const struct sm_stage *stage, double w, double *volume,
                       double *area)
{
    *volume = *area = 0.0;
    if (w < sm_stage_near_start(fronts, stage)) {
        struct sm_geometry_knot knot;
        sm_revolve_knot(fronts, stage, w, &knot);
        *volume = knot.value[SM_VOLUME];
        *area = -knot.slope[SM_VOLUME];
        return;
    }
    for (int p = 0; p < stage->parts.n; p++) {
        const struct sm_part *part = &stage->parts.items[p];
        const struct sm_front *f = &fronts->items[part->front];
        const bool is_rim = f->speed == 0.0;
        struct sm_cut_part at;
        double flux, front;
        sm_part_lie(fronts, part, w, &at);
        if (f->is_arc)
            arc_volume(f, &at, &flux, &front);
        else
            line_volume(f, at.p, &flux, &front);
        *volume += 2.0 * M_PI * (is_rim ? flux : -flux);
        *area += is_rim ? 0.0 : 2.0 * M_PI * front;
    }
}

/* ---- the area alone ---- */

/* By Pappus' theorem: a line's middle, or an arc's centre of gravity, goes round the axis. A ball's zone needs no angle. */
static double area_of(const struct sm_fronts *fronts, const struct sm_part *part, double w)
{
    const struct sm_front *f = &fronts->items[part->front];
    struct sm_point p[2];
    sm_part_ends(fronts, part, w, p);
    if (!f->is_arc)
        return M_PI * (p[0].y + p[1].y) * length_of(f, p);
    const struct sm_point o = f->base;
    const double turned =
        o.y != 0.0 ? o.y * sm_part_sweep(sm_point_minus(p[0], o), sm_point_minus(p[1], o)) : 0.0;
    return 2.0 * M_PI * sm_front_radius(f, w) * (turned + p[0].x - p[1].x);
}

/* With the sums at the start, the middle and the end of the stage the polynomial is known. */
void sm_revolve_plan(const struct sm_fronts *fronts, const struct sm_stage *stage, int *others,
                     struct sm_revolve_plan *out)
{
    *out = (struct sm_revolve_plan){
        .stage = stage, .others = others, .start = stage->w0, .near = sm_stage_near_start(fronts, stage)};
    const double half = 0.5 * (stage->w1 - stage->w0);
    double area[3] = {0.0};
    for (int p = 0; p < stage->parts.n_burning; p++) {
        const struct sm_part *part = &stage->parts.items[p];
        if (!sm_part_is_even(fronts, part)) {
            others[out->n_others++] = p;
            continue;
        }
        for (int i = 0; i < 3; i++)
            area[i] += area_of(fronts, part, stage->w0 + i * half);
    }
    out->area[0] = area[0];
    out->area[1] = (4.0 * area[1] - 3.0 * area[0] - area[2]) / (2.0 * half);
    out->area[2] = (area[0] - 2.0 * area[1] + area[2]) / (2.0 * half * half);
}

double sm_revolve_area(const struct sm_fronts *fronts, const struct sm_revolve_plan *plan, double w)
{
    if (w < plan->near) {
        double slope[SM_N_INTEGRALS];
        sm_revolve_slopes(fronts, plan->stage, w, slope);
        return -slope[SM_VOLUME];
    }
    const double t = w - plan->start;
    double area = plan->area[0] + t * (plan->area[1] + t * plan->area[2]);
    for (int k = 0; k < plan->n_others; k++)
        area += area_of(fronts, &plan->stage->parts.items[plan->others[k]], w);
    return area;
}
