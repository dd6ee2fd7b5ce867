#include "vehicle/turning.h"

#include "base/fail.h"
#include <math.h>

static const double turn = 6.28318530717958648, right_angle = 1.57079632679489662;

struct vector {
    double x, y, z; /* of a direction [1], or of a place [m] */
};

/* One motor's directions and place. */
struct motor {
    struct vector out, across; /* unit vectors */
    struct vector arm;         /* from the vehicle's centre of mass */
};

static struct motor motor_of(const struct sm_turning_group *g, int k)
{
    const double phi = g->azimuth + turn * k / g->count;
    const struct vector out = {0.0, cos(phi), sin(phi)}, across = {0.0, -sin(phi), cos(phi)};
    return (struct motor){out, across, {-g->lever, g->radius * out.y, g->radius * out.z}};
}

/* How a motor's thrust points: splayed, then tilted across. */
struct tilt {
    double splay, across; /* [rad] */
};

static struct vector direction(const struct motor *m, const struct tilt *t)
{
    const double x = cos(t->splay) * cos(t->across), in = sin(t->splay) * cos(t->across),
                 side = sin(t->across);
    return (struct vector){x, side * m->across.y - in * m->out.y, side * m->across.z - in * m->out.z};
}

/* The tilt of a motor that is turned by an angle about an axis, ways that it can't tilt left out. */
static struct tilt turned(const struct sm_turning_group *g, const struct motor *m, enum sm_turning_axis axis,
                          double angle)
{
    struct tilt t = {g->splay, 0.0};
    if (axis == SM_TURN_ROLL) {
        t.across = g->across > 0.0 ? angle : 0.0;
        return t;
    }
    struct vector d = direction(m, &t);
    const double c = cos(angle), s = sin(angle);
    if (axis == SM_TURN_PITCH)
        d = (struct vector){d.x * c - d.y * s, d.x * s + d.y * c, d.z};
    else
        d = (struct vector){d.x * c - d.z * s, d.y, d.x * s + d.z * c};
    if (g->high > g->low)
        t.splay = atan2(-(d.y * m->out.y + d.z * m->out.z), d.x);
    if (g->across > 0.0)
        t.across = asin(fmin(fmax(d.y * m->across.y + d.z * m->across.z, -1.0), 1.0));
    return t;
}

/* Moment of a force of 1 N about an axis [m]. */
static double moment_of(const struct vector *arm, const struct vector *d, enum sm_turning_axis axis)
{
    switch (axis) {
    case SM_TURN_PITCH:
        return arm->x * d->y - arm->y * d->x;
    case SM_TURN_YAW:
        return arm->x * d->z - arm->z * d->x;
    default:
        return arm->y * d->z - arm->z * d->y;
    }
}

double sm_turning_moment(const struct sm_turning_group *g, enum sm_turning_axis axis, double angle)
{
    double moment = 0.0;
    for (int k = 0; k < g->count; k++) {
        const struct motor m = motor_of(g, k);
        const struct tilt was = {g->splay, 0.0}, is = turned(g, &m, axis, angle);
        const struct vector before = direction(&m, &was), now = direction(&m, &is);
        moment += g->thrust * (moment_of(&m.arm, &now, axis) - moment_of(&m.arm, &before, axis));
    }
    return fabs(moment);
}

/* Is no stop in the way of such a tilt, either way? */
static int is_within(const struct sm_turning_group *g, enum sm_turning_axis axis, double angle)
{
    static const double rounding = 1e-12; /* of angles [rad] */
    for (int k = 0; k < 2 * g->count; k++) {
        const struct motor m = motor_of(g, k / 2);
        const struct tilt t = turned(g, &m, axis, k % 2 ? angle : -angle);
        if (g->high > g->low && (t.splay > g->high + rounding || t.splay < g->low - rounding))
            return 0;
        if (fabs(t.across) > g->across + rounding)
            return 0;
    }
    return 1;
}

double sm_turning_left(const struct sm_turning_group *g, enum sm_turning_axis axis)
{
    enum { HALVINGS = 40 };
    static const double probe = 1e-3, nothing = 1e-12; /* [rad]; of the ring's or lever's whole moment [1] */
    const double arm = isnan(g->lever) ? g->radius : fabs(g->lever) + g->radius;
    const double gained = sm_turning_moment(g, axis, probe);
    double a = 0.0, b = right_angle;
    if (!isnan(gained) && !(gained > nothing * probe * arm * g->thrust * g->count))
        return 0.0;
    if (isnan(gained) && !(g->high > g->low) && !(g->across > 0.0)) /* no lever is told, nor can it tilt */
        return 0.0;
    for (int k = 0; k < HALVINGS; k++) {
        const double middle = 0.5 * (a + b);
        if (is_within(g, axis, middle))
            a = middle;
        else
            b = middle;
    }
    return a > probe * 1e-6 ? a : 0.0;
}

double sm_turning_error(const struct sm_turning_group *g, const struct sm_turning_errors *errors,
                        enum sm_turning_axis axis)
{
    double variance = 0.0; /* of the moment of 1 N each [m2] */
    for (int k = 0; k < g->count; k++) {
        const struct motor m = motor_of(g, k);
        const struct tilt splayed = {g->splay, 0.0}, further = {g->splay + right_angle, 0.0};
        const struct vector d = direction(&m, &splayed), by_splay = direction(&m, &further);
        const double parts[] = {errors->mismatch * moment_of(&m.arm, &d, axis),
                                errors->angle * moment_of(&m.arm, &by_splay, axis),
                                errors->angle * moment_of(&m.arm, &m.across, axis),
                                errors->offset * moment_of(&m.out, &d, axis),
                                errors->offset * moment_of(&m.across, &d, axis)};
        for (size_t i = 0; i < SM_COUNT(parts); i++)
            variance += parts[i] * parts[i];
    }
    return g->thrust * sqrt(variance);
}

static double moment_of_all(const struct sm_turning_group *groups, size_t n, enum sm_turning_axis axis,
                            double angle)
{
    double moment = 0.0;
    for (size_t i = 0; i < n; i++)
        moment += sm_turning_moment(&groups[i], axis, angle);
    return moment;
}

double sm_turning_trim(const struct sm_turning_group *groups, size_t n, enum sm_turning_axis axis,
                       double moment)
{
    enum { HALVINGS = 50 };
    double a = 0.0, b = right_angle;
    const double most = moment_of_all(groups, n, axis, b);
    if (!(most > 0.0))
        return SM_ABSENT;
    if (most < moment)
        return right_angle;
    for (int k = 0; k < HALVINGS && moment > 0.0; k++) {
        const double middle = 0.5 * (a + b);
        if (moment_of_all(groups, n, axis, middle) < moment)
            a = middle;
        else
            b = middle;
    }
    return a;
}
