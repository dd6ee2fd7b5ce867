#include "grain/revolve.h"

#include <math.h>

/* The four integrals kept: of r^m z^k over the front, times a factor, and as a flux of r^(m + 1) z^k / (m + 1) times the
 * same factor along the radius, whose divergence in the plane is the integrand of the volume. x^2 and y^2 are each half
 * of r^2, so r^3 / 2 in all. */
enum { N_KEPT = 4 };
static const struct weight {
    enum sm_integral integral;
    int m, k;
    double factor; /* [1] */
} weights[N_KEPT] = {
    {SM_VOLUME, 1, 0, 2.0 * M_PI}, {SM_Z, 1, 1, 2.0 * M_PI}, {SM_ZZ, 1, 2, 2.0 * M_PI}, {SM_XX, 3, 0, M_PI}};

struct sums {
    double f[N_KEPT];    /* over the front [m2], [m3], [m4] */
    double df[N_KEPT];   /* change by moving and stretching, its ends aside [m], [m2], [m3] */
    double flux[N_KEPT]; /* [m3], [m4], [m5] */
};

static double power(double x, int n)
{
    double p = 1.0;
    while (n-- > 0)
        p *= x;
    return p;
}

static double monomial(double r, int m, double z, int k)
{
    return (m < 0 || k < 0) ? 0.0 : power(r, m) * power(z, k);
}

/* Three-point Gauss is exact to degree five; the flux has four. */
static void line_sums(const struct sm_cut_part *at, struct sums *out)
{
    static const double places[3] = {0.1127016653792583, 0.5, 0.8872983346207417};
    static const double shares[3] = {5.0 / 18.0, 8.0 / 18.0, 5.0 / 18.0};
    const double dz = at->p[1].x - at->p[0].x, dr = at->p[1].y - at->p[0].y;
    const double length = dz * at->tangent[0].x + dr * at->tangent[0].y;
    const struct sm_point n = at->normal[0];
    *out = (struct sums){.f = {0.0}};
    for (int q = 0; q < 3; q++) {
        const double z = at->p[0].x + places[q] * dz, r = at->p[0].y + places[q] * dr,
                     ds = shares[q] * length;
        for (int i = 0; i < N_KEPT; i++) {
            const int m = weights[i].m, k = weights[i].k;
            out->f[i] += ds * monomial(r, m, z, k);
            out->df[i] += ds * (n.y * m * monomial(r, m - 1, z, k) + n.x * k * monomial(r, m, z, k - 1));
            out->flux[i] += ds * n.y * monomial(r, m + 1, z, k) / (m + 1);
        }
    }
}

/* Integrals of cos^a sin^b over an arc, a + b <= 5, by parts from lower ones. */
enum { ORDER = 6 };
static void trig_integrals(struct sm_point e0, struct sm_point e1, double angle, double t[ORDER][ORDER])
{
    double c0[ORDER + 1], s0[ORDER + 1], c1[ORDER + 1], s1[ORDER + 1];
    c0[0] = s0[0] = c1[0] = s1[0] = 1.0;
    for (int i = 0; i < ORDER; i++) {
        c0[i + 1] = c0[i] * e0.x;
        s0[i + 1] = s0[i] * e0.y;
        c1[i + 1] = c1[i] * e1.x;
        s1[i + 1] = s1[i] * e1.y;
    }
    for (int a = 0; a < ORDER; a++)
        for (int b = 0; a + b < ORDER; b++)
            if (b == 0)
                t[a][b] = a == 0   ? angle
                          : a == 1 ? s1[1] - s0[1]
                                   : (c1[a - 1] * s1[1] - c0[a - 1] * s0[1] + (a - 1) * t[a - 2][0]) / a;
            else if (b == 1)
                t[a][b] = (c0[a + 1] - c1[a + 1]) / (a + 1);
            else
                t[a][b] = (c0[a + 1] * s0[b - 1] - c1[a + 1] * s1[b - 1] + (b - 1) * t[a][b - 2]) / (a + b);
}

static double choose(int n, int k)
{
    double c = 1.0;
    for (int i = 1; i <= k; i++)
        c = c * (n - k + i) / i;
    return c;
}

/* Integral over the angle of r^m z^k cos^a sin^b, with z = o.x + R cos and r = o.y + R sin. */
static double arc_integral(struct sm_point o, double radius, double t[ORDER][ORDER], int m, int k, int a,
                           int b)
{
    if (m < 0 || k < 0)
        return 0.0;
    double sum = 0.0;
    for (int i = 0; i <= m; i++)
        for (int j = 0; j <= k; j++)
            sum += choose(m, i) * choose(k, j) * power(o.y, m - i) * power(o.x, k - j) *
                   power(radius, i + j) * t[a + j][b + i];
    return sum;
}

static void arc_sums(const struct sm_front *front, const struct sm_cut_part *at, struct sums *out)
{
    const double R = at->radius, sign = front->sign;
    const struct sm_point o = front->base;
    const struct sm_point e0 = {sign * at->normal[0].x, sign * at->normal[0].y};
    const struct sm_point e1 = {sign * at->normal[1].x, sign * at->normal[1].y};
    double t[ORDER][ORDER];
    trig_integrals(e0, e1, sm_part_sweep(e0, e1), t);
    for (int i = 0; i < N_KEPT; i++) {
        const int m = weights[i].m, k = weights[i].k;
        const double plain = arc_integral(o, R, t, m, k, 0, 0);
        out->f[i] = R * plain;
        out->df[i] = sign * (plain + R * (m * arc_integral(o, R, t, m - 1, k, 0, 1) +
                                          k * arc_integral(o, R, t, m, k - 1, 1, 0)));
        out->flux[i] = sign * R * arc_integral(o, R, t, m + 1, k, 0, 1) / (m + 1);
    }
}

static void knot_at(const struct sm_fronts *fronts, const struct sm_stage *stage, double w,
                    struct sm_geometry_knot *out)
{
    *out = (struct sm_geometry_knot){.w = w};
    for (int p = 0; p < stage->parts.n; p++) {
        const struct sm_part *part = &stage->parts.items[p];
        const struct sm_front *front = &fronts->items[part->front];
        struct sm_cut_part at;
        struct sums s;
        sm_part_place(fronts, part, w, &at);
        if (front->is_arc)
            arc_sums(front, &at, &s);
        else
            line_sums(&at, &s);
        const bool is_rim =
            front->speed == 0.0; /* its normal points out of the propellant, a front's into it */
        for (int i = 0; i < N_KEPT; i++) {
            const enum sm_integral q = weights[i].integral;
            out->value[q] += (is_rim ? 1.0 : -1.0) * weights[i].factor * s.flux[i];
            if (is_rim)
                continue;
            double ends = 0.0;
            for (int e = 0; e < 2; e++)
                if (at.run[e] != 0.0)
                    ends += at.run[e] * monomial(at.p[e].y, weights[i].m, at.p[e].x, weights[i].k);
            out->slope[q] -= weights[i].factor * s.f[i];
            out->bend[q] -= weights[i].factor * (s.df[i] + ends);
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
        out->value[q] += back * (out->slope[q] + 0.5 * back * out->bend[q]);
        out->slope[q] += back * out->bend[q];
    }
    out->w = w;
    out->value[SM_YY] = out->value[SM_XX];
    out->slope[SM_YY] = out->slope[SM_XX];
    out->bend[SM_YY] = out->bend[SM_XX];
}
