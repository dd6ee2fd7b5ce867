#include "vehicle/wished.h"

#include <math.h>

static const double pi = 3.14159265358979323846;

/* Of the acceleration at the start and the end of each part: upwards is 1. */
static const double starts[SM_WISHED_PARTS] = {1.0, 1.0, -1.0, -1.0, 0.0, 0.0, -1.0, -1.0, 1.0};
static const double ends[SM_WISHED_PARTS] = {1.0, -1.0, -1.0, 0.0, 0.0, -1.0, -1.0, 1.0, 1.0};

double sm_wished_length(const struct sm_wished *w, int part)
{
    const double lengths[] = {w->steady, w->turn, w->steady - 0.5 * w->ease, w->ease, w->hover};
    const int half = SM_WISHED_PARTS / 2;
    return lengths[part <= half ? part : SM_WISHED_PARTS - 1 - part];
}

/* From the beginning of a part. */
static void advance(const struct sm_wished *w, int part, double dt, struct sm_instant *at)
{
    const double whole = sm_wished_length(w, part), a = w->acceleration;
    const double mean = 0.5 * a * (starts[part] + ends[part]), half = 0.5 * a * (starts[part] - ends[part]);
    const double turned = whole > 0.0 ? pi * dt / whole : 0.0, unit = whole / pi;
    at->height += at->speed * dt + 0.5 * mean * dt * dt + half * unit * unit * (1.0 - cos(turned));
    at->speed += mean * dt + half * unit * sin(turned);
    at->acceleration = mean + half * cos(turned);
    at->t += dt;
}

/*
 * The height gained from rest to rest is a (T^2 + T r + 2 (r/pi)^2 + q^2 (1/8 - 1/pi^2)), with T the time at +a, r the turn and q
 * the ease, and at -a it then stays T - q/2: integrals of the cosines, derived here.
 */
int sm_wished_make(double height, double hover, double acceleration, double turn, double ease,
                   struct sm_wished *out)
{
    const double r = turn, q = ease;
    const double rest = 2.0 * r * r / (pi * pi) + q * q * (0.125 - 1.0 / (pi * pi)) - height / acceleration;
    const double under = r * r - 4.0 * rest;
    const double steady = under >= 0.0 ? 0.5 * (sqrt(under) - r) : -1.0;
    if (!(steady >= 0.5 * q))
        return 0;
    *out = (struct sm_wished){
        .hover = hover, .acceleration = acceleration, .turn = turn, .ease = ease, .steady = steady};
    for (int i = 0; i < SM_WISHED_PARTS; i++) {
        out->begins[i + 1] = out->begins[i];
        advance(out, i, sm_wished_length(out, i), &out->begins[i + 1]);
    }
    return 1;
}

struct sm_instant sm_wished_when(const struct sm_wished *w, double t)
{
    int part = 0;
    while (part + 1 < SM_WISHED_PARTS && t >= w->begins[part + 1].t)
        part++;
    struct sm_instant at = w->begins[part];
    advance(w, part, fmin(t - at.t, sm_wished_length(w, part)), &at);
    return at;
}

double sm_wished_whole(const struct sm_wished *w)
{
    return w->begins[SM_WISHED_PARTS].t;
}
