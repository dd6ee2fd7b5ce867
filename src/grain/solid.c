#include "grain/solid.h"

#include <math.h>

#include "base/fail.h"

/* ---- where a solid stands ---- */

bool sm_triples_are_upright(const struct sm_triple axes[3])
{
    return axes[0].z == 0.0 && axes[1].z == 0.0 && axes[2].x == 0.0 && axes[2].y == 0.0 && axes[2].z == 1.0;
}

void sm_solid_aim(struct sm_solid *solid, double tilt, double heading, double roll)
{
    const double ct = cos(tilt), st = sin(tilt), ch = cos(heading), sh = sin(heading);
    const struct sm_triple lean = {ct * ch, ct * sh, -st}, aside = {-sh, ch, 0.0}, zero = {0.0, 0.0, 0.0};
    solid->axes[0] = sm_triple_add(sm_triple_add(zero, cos(roll), lean), sin(roll), aside);
    solid->axes[1] = sm_triple_add(sm_triple_add(zero, cos(roll), aside), -sin(roll), lean);
    solid->axes[2] = (struct sm_triple){st * ch, st * sh, ct};
    solid->is_upright = sm_triples_are_upright(solid->axes);
}

static struct sm_triple turned(struct sm_triple p, double c, double s)
{
    return (struct sm_triple){c * p.x - s * p.y, s * p.x + c * p.y, p.z};
}

struct sm_solid sm_solid_turned(const struct sm_solid *solid, double angle)
{
    struct sm_solid out = *solid;
    const double c = cos(angle), s = sin(angle);
    out.at = turned(solid->at, c, s);
    for (int i = 0; i < 3; i++)
        out.axes[i] = turned(solid->axes[i], c, s);
    return out;
}

bool sm_solid_is_coaxial(const struct sm_solid *solid, double tolerance)
{
    if (hypot(solid->at.x, solid->at.y) > tolerance || solid->form == SM_SOLID_BOX)
        return false;
    return solid->form == SM_SOLID_BALL || hypot(solid->axes[2].x, solid->axes[2].y) <= 1e-12;
}

/* ---- distances, in the solid's own frame ---- */

static struct sm_triple to_local(const struct sm_solid *s, struct sm_triple p)
{
    const struct sm_triple d = sm_triple_add(p, -1.0, s->at);
    return (struct sm_triple){sm_triple_dot(d, s->axes[0]), sm_triple_dot(d, s->axes[1]),
                              sm_triple_dot(d, s->axes[2])};
}

static struct sm_triple to_space(const struct sm_solid *s, struct sm_triple q)
{
    return sm_triple_add(sm_triple_add(sm_triple_add(s->at, q.x, s->axes[0]), q.y, s->axes[1]), q.z,
                         s->axes[2]);
}

/* A cone's meridian: p as distance from the axis and height. Outward unit normal of the slanted side. */
static void slant(const struct sm_solid *s, double *nr, double *nz)
{
    const double taper = s->a - s->b;
    if (taper == 0.0) {
        *nr = 1.0;
        *nz = 0.0;
        return;
    }
    const double length = sqrt(taper * taper + s->c * s->c);
    *nr = s->c / length;
    *nz = taper / length;
}

/* The nearest point of a cone's meridian to one outside it. */
static void nearest_of_cone(const struct sm_solid *s, double r, double z, double *out_r, double *out_z)
{
    double nr, nz;
    slant(s, &nr, &nz);
    const double length = (r - s->a) * -nz + z * nr, whole = s->c / nr; /* along the side */
    const double t = length < 0.0 ? 0.0 : length < whole ? length : whole;
    *out_r = s->a - t * nz;
    *out_z = t * nr;
    if (z <= 0.0 && r <= s->a) {
        *out_r = r;
        *out_z = 0.0;
    } else if (z >= s->c && r <= s->b) {
        *out_r = r;
        *out_z = s->c;
    }
}

static double cone_distance(const struct sm_solid *s, double r, double z)
{
    double nr, nz;
    slant(s, &nr, &nz);
    const double side = (r - s->a) * nr + z * nz, flat = -z > z - s->c ? -z : z - s->c;
    if (side <= 0.0 && flat <= 0.0)
        return side > flat ? side : flat;
    double pr, pz;
    nearest_of_cone(s, r, z, &pr, &pz);
    return sqrt((r - pr) * (r - pr) + (z - pz) * (z - pz));
}

/* Comparisons, since fmax is a call: distances are asked for by the million. */
static double larger(double a, double b)
{
    return a > b ? a : b;
}

/* Across its third axis a rounded box is a smaller rectangle, and what is within the fillet of it. */
static double rounded_distance(const struct sm_solid *s, struct sm_triple q)
{
    const double x = fabs(q.x) - (s->a - s->fillet), y = fabs(q.y) - (s->b - s->fillet), z = fabs(q.z) - s->c;
    const double ox = larger(x, 0.0), oy = larger(y, 0.0), inside = larger(x, y);
    const double across = sqrt(ox * ox + oy * oy) + (inside < 0.0 ? inside : 0.0) - s->fillet;
    const double out = larger(across, 0.0), beyond = larger(z, 0.0), most = larger(across, z);
    return most <= 0.0 ? most : sqrt(out * out + beyond * beyond);
}

static double box_distance(const struct sm_solid *s, struct sm_triple q)
{
    if (s->fillet > 0.0)
        return rounded_distance(s, q);
    const double x = fabs(q.x) - s->a, y = fabs(q.y) - s->b, z = fabs(q.z) - s->c;
    const double most = larger(x, larger(y, z));
    if (most <= 0.0)
        return most;
    const double ox = larger(x, 0.0), oy = larger(y, 0.0), oz = larger(z, 0.0);
    return sqrt(ox * ox + oy * oy + oz * oz);
}

double sm_solid_distance(const struct sm_solid *solid, struct sm_triple p)
{
    const struct sm_triple q = to_local(solid, p);
    const double across = q.x * q.x + q.y * q.y;
    switch (solid->form) {
    case SM_SOLID_BALL:
        return sqrt(across + q.z * q.z) - solid->a;
    case SM_SOLID_CONE:
        return cone_distance(solid, sqrt(across), q.z);
    case SM_SOLID_BOX:
        return box_distance(solid, q);
    case SM_SOLID_TURNED:
        return sm_turned_distance(solid->turned, (struct sm_point){q.z, sqrt(across)});
    case SM_SOLID_RING:
    default: {
        const double r = sqrt(across) - solid->a;
        return sqrt(r * r + q.z * q.z) - solid->b;
    }
    }
}

/* As far from the axis as r, in the direction of q, at height z; on the axis in the first direction. */
static struct sm_triple out_at(struct sm_triple q, double r, double z)
{
    const double across = hypot(q.x, q.y);
    if (across == 0.0)
        return (struct sm_triple){r, 0.0, z};
    return (struct sm_triple){q.x * r / across, q.y * r / across, z};
}

static double clamped(double x, double most)
{
    return fmin(fmax(x, -most), most);
}

static struct sm_triple nearest_of_box(const struct sm_solid *s, struct sm_triple q)
{
    const double x = clamped(q.x, s->a - s->fillet), y = clamped(q.y, s->b - s->fillet);
    const double off = hypot(q.x - x, q.y - y), k = off > s->fillet ? s->fillet / off : 1.0;
    return (struct sm_triple){x + k * (q.x - x), y + k * (q.y - y), clamped(q.z, s->c)};
}

struct sm_triple sm_solid_nearest(const struct sm_solid *solid, struct sm_triple p)
{
    if (sm_solid_distance(solid, p) <= 0.0)
        return p;
    struct sm_triple q = to_local(solid, p);
    const double across = hypot(q.x, q.y);
    double r, z;
    switch (solid->form) {
    case SM_SOLID_BALL: {
        const double k = solid->a / sqrt(sm_triple_dot(q, q));
        q = (struct sm_triple){k * q.x, k * q.y, k * q.z};
        break;
    }
    case SM_SOLID_CONE:
        nearest_of_cone(solid, across, q.z, &r, &z);
        q = out_at(q, r, z);
        break;
    case SM_SOLID_BOX:
        q = nearest_of_box(solid, q);
        break;
    case SM_SOLID_TURNED: {
        const struct sm_point to = sm_turned_nearest(solid->turned, (struct sm_point){q.z, across});
        q = out_at(q, to.y, to.x);
        break;
    }
    case SM_SOLID_RING:
    default: {
        const double k = solid->b / hypot(across - solid->a, q.z);
        q = out_at(q, solid->a + k * (across - solid->a), k * q.z);
        break;
    }
    }
    return to_space(solid, q);
}

/* From a point to the nearest of a, from there to the nearest of b, and so on, which for convex solids ends at the least
 * distance (W. Cheney, A. Goldstein, Proc. Am. Math. Soc. 10 (1959) 448). */
static double gap_from(const struct sm_solid *a, const struct sm_solid *b, struct sm_triple p,
                       double tolerance)
{
    enum { STEPS = 400 };
    double gap = SM_INF;
    for (int i = 0; i < STEPS; i++) {
        const struct sm_triple pa = sm_solid_nearest(a, p);
        p = sm_solid_nearest(b, pa);
        const struct sm_triple d = sm_triple_add(p, -1.0, pa);
        const double now = sqrt(sm_triple_dot(d, d));
        if (now <= tolerance)
            return 0.0;
        if (gap - now < 1e-3 * tolerance)
            return now;
        gap = now;
    }
    return gap;
}

/* The same from places round s, one of the two, at a radius and a height. */
static double gap_from_circle(const struct sm_solid *a, const struct sm_solid *b, const struct sm_solid *s,
                              double r, double z, double tolerance)
{
    enum { PLACES = 24 };
    double gap = SM_INF;
    for (int i = 0; i < PLACES && gap > 0.0; i++) {
        const double angle = 2.0 * M_PI * i / PLACES;
        const struct sm_triple q = {r * cos(angle), r * sin(angle), z};
        gap = fmin(gap, gap_from(a, b, to_space(s, q), tolerance));
    }
    return gap;
}

double sm_solid_gap(const struct sm_solid *a, const struct sm_solid *b, double tolerance)
{
    double gap = gap_from(a, b, b->at, tolerance);
    const struct sm_solid *const both[2] = {a, b};
    for (int k = 0; k < 2; k++) {
        const struct sm_solid *s = both[k];
        if (s->form == SM_SOLID_RING)
            gap = fmin(gap, gap_from_circle(a, b, s, s->a, 0.0, tolerance));
        for (size_t i = 0; s->form == SM_SOLID_TURNED && i < s->turned->n_edges && gap > 0.0; i++) {
            const struct sm_turned_edge *e = &s->turned->edges[i];
            gap = fmin(gap, gap_from_circle(a, b, s, e->b.y, e->b.x, tolerance));
            gap = fmin(gap,
                       gap_from_circle(a, b, s, 0.5 * (e->a.y + e->b.y), 0.5 * (e->a.x + e->b.x), tolerance));
        }
    }
    return gap;
}

double sm_solid_extent(const struct sm_solid *solid, struct sm_triple way)
{
    const double middle = sm_triple_dot(solid->at, way), along = sm_triple_dot(solid->axes[2], way);
    const double x = fabs(sm_triple_dot(solid->axes[0], way)), y = fabs(sm_triple_dot(solid->axes[1], way));
    switch (solid->form) {
    case SM_SOLID_BALL:
        return middle + solid->a;
    case SM_SOLID_CONE:
        return middle + fmax(solid->a * hypot(x, y), solid->b * hypot(x, y) + solid->c * along);
    case SM_SOLID_BOX:
        return middle + (solid->a - solid->fillet) * x + (solid->b - solid->fillet) * y +
               solid->fillet * hypot(x, y) + solid->c * fabs(along);
    case SM_SOLID_TURNED:
        return middle + sm_turned_extent(solid->turned, along, hypot(x, y));
    case SM_SOLID_RING:
    default:
        return middle + solid->a * hypot(x, y) + solid->b;
    }
}
