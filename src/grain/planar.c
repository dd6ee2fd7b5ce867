#include "grain/planar.h"

#include <math.h>
#include <string.h>

/* Integrals over one part of 1, x, y, x^2, y^2 and xy by arc length, and those of their derivatives along the
 * normal with what the part's stretching adds. */
struct moments {
    double f[SM_N_PLANAR];    /* [m], [m2], [m3] */
    double df[SM_N_PLANAR];   /* [1], [m], [m2] */
    double flux[SM_N_PLANAR]; /* of f times p . n, divided by its degree plus two [m2], [m3], [m4] */
};

static const double per_degree[SM_N_PLANAR] = {1.0 / 2, 1.0 / 3, 1.0 / 3, 1.0 / 4, 1.0 / 4, 1.0 / 4};

/* The integrals over a line's length. Returned: the length [m]. */
static double line_front(const struct sm_cut_part *part, double f[SM_N_PLANAR])
{
    const struct sm_point a = part->p[0], b = part->p[1];
    const double dx = b.x - a.x, dy = b.y - a.y, x = 0.5 * (a.x + b.x), y = 0.5 * (a.y + b.y);
    const double length = dx * part->tangent[0].x + dy * part->tangent[0].y;
    f[SM_PLANE_AREA] = length;
    f[SM_PLANE_X] = length * x;
    f[SM_PLANE_Y] = length * y;
    f[SM_PLANE_XX] = length * (x * x + dx * dx / 12.0);
    f[SM_PLANE_YY] = length * (y * y + dy * dy / 12.0);
    f[SM_PLANE_XY] = length * (x * y + dx * dy / 12.0);
    return length;
}

/* On a line p . n is constant. */
static void line_moments(const struct sm_cut_part *part, struct moments *out)
{
    const struct sm_point a = part->p[0], b = part->p[1], n = part->normal[0];
    const double x = 0.5 * (a.x + b.x), y = 0.5 * (a.y + b.y), length = line_front(part, out->f);
    const double df[SM_N_PLANAR] = {0.0, n.x, n.y, 2.0 * n.x * x, 2.0 * n.y * y, n.x * y + n.y * x};
    const double height = a.x * n.x + a.y * n.y;
    for (int i = 0; i < SM_N_PLANAR; i++) {
        out->df[i] = length * df[i];
        out->flux[i] = per_degree[i] * height * out->f[i];
    }
}

/* Integrals of cos^a sin^b over an arc, t[a][b], a + b <= 2. The angle is that from the first direction to the second;
 * e0, e1 are these as unit vectors. */
static void trig_moments(struct sm_point e0, struct sm_point e1, double angle, double t[4][4])
{
    const double c0 = e0.x, s0 = e0.y, c1 = e1.x, s1 = e1.y;
    t[0][0] = angle;
    t[1][0] = s1 - s0;
    t[0][1] = c0 - c1;
    t[1][1] = 0.5 * (s1 * s1 - s0 * s0);
    t[2][0] = 0.5 * (angle + s1 * c1 - s0 * c0);
    t[0][2] = 0.5 * (angle - s1 * c1 + s0 * c0);
}

/* The same with a + b = 3. */
static void third_moments(struct sm_point e0, struct sm_point e1, double t[4][4])
{
    const double c0 = e0.x, s0 = e0.y, c1 = e1.x, s1 = e1.y;
    t[3][0] = (s1 - s1 * s1 * s1 / 3.0) - (s0 - s0 * s0 * s0 / 3.0);
    t[2][1] = (c0 * c0 * c0 - c1 * c1 * c1) / 3.0;
    t[1][2] = (s1 * s1 * s1 - s0 * s0 * s0) / 3.0;
    t[0][3] = (c0 - c0 * c0 * c0 / 3.0) - (c1 - c1 * c1 * c1 / 3.0);
}

/* With p = o + r e: integrals of the six functions over the angle, weighed by cos^a sin^b. */
static void weighed(struct sm_point o, double r, double t[4][4], int a, int b, double out[SM_N_PLANAR])
{
    out[SM_PLANE_AREA] = t[a][b];
    out[SM_PLANE_X] = o.x * t[a][b] + r * t[a + 1][b];
    out[SM_PLANE_Y] = o.y * t[a][b] + r * t[a][b + 1];
    out[SM_PLANE_XX] = o.x * o.x * t[a][b] + 2.0 * r * o.x * t[a + 1][b] + r * r * t[a + 2][b];
    out[SM_PLANE_YY] = o.y * o.y * t[a][b] + 2.0 * r * o.y * t[a][b + 1] + r * r * t[a][b + 2];
    out[SM_PLANE_XY] =
        o.x * o.y * t[a][b] + r * (o.x * t[a][b + 1] + o.y * t[a + 1][b]) + r * r * t[a + 1][b + 1];
}

/* Directions from an arc's centre to its ends: the normal is the arc's sign times that. */
static void arc_ends(const struct sm_front *front, const struct sm_cut_part *at, struct sm_point e[2])
{
    for (int k = 0; k < 2; k++)
        e[k] = (struct sm_point){front->sign * at->normal[k].x, front->sign * at->normal[k].y};
}

/* The integrals over an arc's angle. */
static void arc_front(const struct sm_front *front, const struct sm_cut_part *at, double plain[SM_N_PLANAR])
{
    struct sm_point e[2];
    double t[4][4];
    arc_ends(front, at, e);
    trig_moments(e[0], e[1], sm_part_sweep(e[0], e[1]), t);
    weighed(front->base, at->radius, t, 0, 0, plain);
}

static void arc_moments(const struct sm_front *front, const struct sm_cut_part *at, struct moments *out)
{
    const double r = at->radius, sign = front->sign;
    const struct sm_point o = front->base;
    struct sm_point e[2];
    double t[4][4], plain[SM_N_PLANAR], by_cos[SM_N_PLANAR], by_sin[SM_N_PLANAR];
    arc_ends(front, at, e);
    trig_moments(e[0], e[1], sm_part_sweep(e[0], e[1]), t);
    third_moments(e[0], e[1], t);
    weighed(o, r, t, 0, 0, plain);
    /* Third powers are wanted only where o.x or o.y multiplies them. */
    weighed(o, r, t, 1, 0, by_cos);
    weighed(o, r, t, 0, 1, by_sin);
    const double grown[SM_N_PLANAR] = {0.0, /* d/dr of the six functions at p = o + r e, over the angle */
                                       t[1][0],
                                       t[0][1],
                                       2.0 * (o.x * t[1][0] + r * t[2][0]),
                                       2.0 * (o.y * t[0][1] + r * t[0][2]),
                                       o.x * t[0][1] + o.y * t[1][0] + 2.0 * r * t[1][1]};
    for (int i = 0; i < SM_N_PLANAR; i++) {
        out->f[i] = r * plain[i];
        out->df[i] = sign * (plain[i] + r * grown[i]);
        out->flux[i] = sign * per_degree[i] * r * (r * plain[i] + o.x * by_cos[i] + o.y * by_sin[i]);
    }
}

static void part_moments(const struct sm_front *f, const struct sm_cut_part *at, struct moments *out)
{
    if (f->is_arc)
        arc_moments(f, at, out);
    else
        line_moments(at, out);
}

void sm_planar_part(const struct sm_fronts *fronts, const struct sm_part *part, double w,
                    double front[SM_N_PLANAR], double left[SM_N_PLANAR])
{
    struct sm_cut_part at;
    struct moments m;
    sm_part_place(fronts, part, w, &at);
    part_moments(&fronts->items[part->front], &at, &m);
    const bool is_rim = part->front >= fronts->n_burning;
    for (int i = 0; i < SM_N_PLANAR; i++) {
        front[i] = is_rim ? 0.0 : m.f[i];
        left[i] = is_rim ? m.flux[i] : -m.flux[i];
    }
}

/* Integrals over one part of 1 and r^2 by arc length, and of these times p . n, divided by their degree plus two. */
struct polar {
    double f[2];    /* [m], [m3] */
    double flux[2]; /* [m2], [m4] */
};

static struct polar polar_line(const struct sm_front *line, const struct sm_point p[2])
{
    const struct sm_point d = sm_point_minus(p[1], p[0]), middle = sm_point_along(p[0], 0.5, d);
    const double length = sm_point_dot(d, line->u), height = sm_point_dot(p[0], line->v);
    const double second = length * (sm_point_dot(middle, middle) + sm_point_dot(d, d) / 12.0);
    return (struct polar){{length, second}, {0.5 * height * length, 0.25 * height * second}};
}

/* With p = o + r e: by the integrals of o . e and of its square over the angle. */
static struct polar polar_arc(const struct sm_front *arc, double r, const struct sm_point p[2])
{
    if (!(r > 0.0))
        return (struct polar){{0.0, 0.0}, {0.0, 0.0}};
    const struct sm_point o = arc->base, d0 = sm_point_minus(p[0], o), d1 = sm_point_minus(p[1], o);
    const double angle = sm_part_sweep(d0, d1), o2 = sm_point_dot(o, o), r2 = r * r;
    const double a0 = sm_point_dot(o, d0), a1 = sm_point_dot(o, d1), b0 = sm_point_cross(o, d0),
                 b1 = sm_point_cross(o, d1);
    const double once = (b1 - b0) / r, twice = 0.5 * (o2 * angle + (a1 * b1 - a0 * b0) / r2);
    const double length = r * angle, all = o2 + r2;
    return (struct polar){{length, all * length + 2.0 * r2 * once},
                          {0.5 * arc->sign * r * (length + once),
                           0.25 * arc->sign * r * (all * (length + once) + 2.0 * r * (r * once + twice))}};
}

void sm_planar_polar_part(const struct sm_fronts *fronts, const struct sm_part *part, double w,
                          double front[2], double left[2])
{
    const struct sm_front *f = &fronts->items[part->front];
    const bool is_rim = part->front >= fronts->n_burning;
    struct sm_point p[2];
    sm_part_ends(fronts, part, w, p);
    const struct polar sums = f->is_arc ? polar_arc(f, sm_front_radius(f, w), p) : polar_line(f, p);
    for (int i = 0; i < 2; i++) {
        front[i] = is_rim ? 0.0 : sums.f[i];
        left[i] = is_rim ? sums.flux[i] : -sums.flux[i];
    }
}

static void add_ends(const struct sm_cut_part *at, double bend[SM_N_PLANAR])
{
    for (int k = 0; k < 2; k++) {
        if (at->run[k] == 0.0)
            continue;
        const double x = at->p[k].x, y = at->p[k].y, run = at->run[k];
        const double f[SM_N_PLANAR] = {1.0, x, y, x * x, y * y, x * y};
        for (int i = 0; i < SM_N_PLANAR; i++)
            bend[i] -= run * f[i];
    }
}

static void add_part(const struct sm_fronts *fronts, const struct sm_part *part, double w,
                     struct sm_planar_knot *out)
{
    struct sm_cut_part at;
    struct moments m;
    sm_part_place(fronts, part, w, &at);
    part_moments(&fronts->items[part->front], &at, &m);
    if (part->front >= fronts->n_burning) {
        for (int i = 0; i < SM_N_PLANAR; i++)
            out->value[i] += m.flux[i]; /* a rim's normal points out of the propellant, a front's into it */
        return;
    }
    for (int i = 0; i < SM_N_PLANAR; i++) {
        out->value[i] -= m.flux[i];
        out->slope[i] -= m.f[i];
        out->bend[i] -= m.df[i];
    }
    add_ends(&at, out->bend);
}

static void knot_at(const struct sm_fronts *fronts, const struct sm_stage *stage, double w,
                    struct sm_planar_knot *out)
{
    *out = (struct sm_planar_knot){0};
    for (int k = 0; k < stage->parts.n; k++)
        add_part(fronts, &stage->parts.items[k], w, out);
}

void sm_planar_knot(const struct sm_fronts *fronts, const struct sm_stage *stage, double w,
                    struct sm_planar_knot *out)
{
    const double near = sm_stage_near_start(fronts, stage);
    knot_at(fronts, stage, fmax(w, near), out);
    const double back = fmin(w - near, 0.0);
    for (int i = 0; i < SM_N_PLANAR && back < 0.0; i++) {
        const double bend = isfinite(out->bend[i]) ? out->bend[i] : 0.0;
        out->value[i] += back * (out->slope[i] + 0.5 * back * bend);
        out->slope[i] += back * bend;
        out->bend[i] = bend;
    }
}

void sm_planar_slopes(const struct sm_fronts *fronts, const struct sm_stage *stage, double w,
                      double slope[SM_N_PLANAR])
{
    if (w < sm_stage_near_start(fronts, stage)) {
        struct sm_planar_knot knot;
        sm_planar_knot(fronts, stage, w, &knot);
        memcpy(slope, knot.slope, sizeof knot.slope);
        return;
    }
    memset(slope, 0, SM_N_PLANAR * sizeof *slope);
    for (int k = 0; k < stage->parts.n_burning; k++) {
        const struct sm_part *part = &stage->parts.items[k];
        const struct sm_front *f = &fronts->items[part->front];
        struct sm_cut_part at;
        double front[SM_N_PLANAR], length = 1.0;
        sm_part_lie(fronts, part, w, &at);
        if (f->is_arc) {
            arc_front(f, &at, front);
            length = at.radius; /* of a radian */
        } else
            line_front(&at, front);
        for (int i = 0; i < SM_N_PLANAR; i++)
            slope[i] -= length * front[i];
    }
}

/* ---- area and perimeter alone ---- */

/* Length of a part, and its share of the area by Green's theorem, as of a front. */
static void measure(const struct sm_fronts *fronts, const struct sm_part *part, double w, double *area,
                    double *length)
{
    const struct sm_front *f = &fronts->items[part->front];
    struct sm_point p[2];
    sm_part_ends(fronts, part, w, p);
    if (!f->is_arc) {
        *length = (p[1].x - p[0].x) * f->u.x + (p[1].y - p[0].y) * f->u.y;
        *area = -0.5 * *length * (p[0].x * f->v.x + p[0].y * f->v.y);
        return;
    }
    const struct sm_point o = f->base, d0 = {p[0].x - o.x, p[0].y - o.y}, d1 = {p[1].x - o.x, p[1].y - o.y};
    const double r = sm_front_radius(f, w), angle = sm_part_sweep(d0, d1);
    *length = r * angle;
    *area = -0.5 * f->sign * (r * r * angle + o.x * (d1.y - d0.y) - o.y * (d1.x - d0.x));
}

/* The same added to sums: a rim's normal points out of the propellant, and it has no part in the perimeter. */
static void add_measure(const struct sm_fronts *fronts, const struct sm_part *part, double w, double *area,
                        double *perimeter)
{
    double share, length;
    measure(fronts, part, w, &share, &length);
    const bool is_rim = part->front >= fronts->n_burning;
    *area += is_rim ? -share : share;
    *perimeter += is_rim ? 0.0 : length;
}

/* With the sums at the start, the middle and the end of the stage the polynomials are known. */
void sm_planar_plan(const struct sm_fronts *fronts, const struct sm_stage *stage, int *others,
                    struct sm_planar_plan *out)
{
    *out = (struct sm_planar_plan){.fronts = fronts, .stage = stage, .others = others, .start = stage->w0};
    const double half = 0.5 * (stage->w1 - stage->w0);
    double area[3] = {0.0}, perimeter[3] = {0.0};
    for (int k = 0; k < stage->parts.n; k++) {
        const struct sm_part *part = &stage->parts.items[k];
        if (!sm_part_is_even(fronts, part)) {
            others[out->n_others++] = k;
            continue;
        }
        for (int i = 0; i < 3; i++)
            add_measure(fronts, part, stage->w0 + i * half, &area[i], &perimeter[i]);
    }
    out->area[0] = area[0];
    out->area[1] = (4.0 * area[1] - 3.0 * area[0] - area[2]) / (2.0 * half);
    out->area[2] = (area[0] - 2.0 * area[1] + area[2]) / (2.0 * half * half);
    out->perimeter[0] = perimeter[0];
    out->perimeter[1] = (perimeter[2] - perimeter[0]) / (2.0 * half);
}

void sm_planar_area(const struct sm_planar_plan *plan, double w, double *area, double *perimeter)
{
    const double t = w - plan->start;
    *area = plan->area[0] + t * (plan->area[1] + t * plan->area[2]);
    *perimeter = plan->perimeter[0] + t * plan->perimeter[1];
    for (int k = 0; k < plan->n_others; k++)
        add_measure(plan->fronts, &plan->stage->parts.items[plan->others[k]], w, area, perimeter);
}

void sm_planar_unfold(int n, double q[SM_N_PLANAR])
{
    if (n <= 0)
        return;
    const double mean = 0.5 * (q[SM_PLANE_XX] + q[SM_PLANE_YY]);
    q[SM_PLANE_X] *= n == 1 ? 2.0 : 0.0;
    q[SM_PLANE_Y] = q[SM_PLANE_XY] = 0.0;
    q[SM_PLANE_AREA] *= 2 * n;
    q[SM_PLANE_XX] = 2 * n * (n <= 2 ? q[SM_PLANE_XX] : mean);
    q[SM_PLANE_YY] = 2 * n * (n <= 2 ? q[SM_PLANE_YY] : mean);
}
