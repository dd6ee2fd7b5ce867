/*
 * What the standards read off a thrust curve.
 *
 * Burn time: from where thrust passes 5 % of its maximum to where it falls below again, found on the straight lines
 * between samples. By rule it is the first such rise and the last such fall, or the two ends of the stretch about the
 * maximum that stays above.
 *
 * Ignition spike: with W the lesser of 5 % of the burn time and 0.2 s, the highest thrust of the first W of the burn is
 * a spike if nothing exceeds it until W later, it stands more than a tenth above all of the 2 W after that, and thrust
 * falls by less than half that height over those 2 W (else it is the beginning of a long fall). What lies up to W after
 * its peak is left out of the steady maximum. (Common practice, no source: so short a peak is the igniter's and the
 * first flame's, not the grain's.)
 *
 * Initial thrust: after a spike, thrust W after its peak. Else thrust at the knee: draw a straight line from the start of
 * the burn to the last sample within a hundredth of the maximum; the knee is the first sample whose height above that
 * line is not exceeded within W after it, or the maximum if none lies above the line. So it is the top of the ignition
 * rise whether thrust then rises, holds or falls; it needs no derivative of a noisy record and doesn't depend on scale.
 * The hundredth is for a plateau, whose highest point may lie anywhere. (A definition of our own.)
 */
#include "curve/curve.h"

#include <math.h>

#define THRESHOLD 0.05 /* of maximum thrust: NFPA 1125 as quoted at second hand [1] */
#define ACTION    0.10 /* of maximum pressure: D. Davis, PROPULSION, module 27 [1] */

/* Of the ignition spike: see above. */
#define SPIKE_SHARE   0.05 /* of the burn time [1] */
#define SPIKE_LONGEST 0.2  /* [s] */
#define SPIKE_HEIGHT  1.1  /* over what follows [1] */
#define SPIKE_AFTER   3.0  /* end of what follows, in W after the peak [1] */
#define SPIKE_FALL    0.5  /* largest fall of what follows, over the spike's height [1] */

/* Of the knee: share of the maximum that counts as reaching it [1]. */
#define KNEE_END 0.99

/* A measured thrust counts while it exceeds this many standard deviations of the noise [1]. */
#define NOISE_MULTIPLE 3.0

/* ---- columns ---- */

/* Place of the first sample later than t; n if there is none. */
static size_t first_after(const double *time, size_t n, double t)
{
    size_t lo = 0, hi = n;
    while (lo < hi) {
        const size_t mid = lo + (hi - lo) / 2;
        if (time[mid] > t)
            hi = mid;
        else
            lo = mid + 1;
    }
    return lo;
}

/* On the line between samples i - 1 and i, which differ in time. */
static double between(const double *time, const double *y, size_t i, double t)
{
    const double share = (t - time[i - 1]) / (time[i] - time[i - 1]);
    return y[i - 1] + share * (y[i] - y[i - 1]);
}

double sm_curve_at(const double *time, const double *y, size_t n, double t)
{
    const size_t i = first_after(time, n, t);
    if (i == 0)
        return y[0];
    if (i == n)
        return y[n - 1];
    return between(time, y, i, t);
}

double sm_curve_integral(const double *time, const double *y, size_t n, double a, double b)
{
    const double lo = fmax(a, time[0]), hi = fmin(b, time[n - 1]);
    if (!(lo < hi))
        return 0.0;
    size_t i = first_after(time, n, lo);
    double last_time = lo, last = between(time, y, i, lo), sum = 0.0;
    for (; i < n && time[i] <= hi; i++) {
        sum += 0.5 * (last + y[i]) * (time[i] - last_time);
        last_time = time[i];
        last = y[i];
    }
    if (i < n && last_time < hi)
        sum += 0.5 * (last + between(time, y, i, hi)) * (hi - last_time);
    return sum;
}

static size_t place_of_maximum(const double *y, size_t n)
{
    size_t place = 0;
    for (size_t i = 1; i < n; i++)
        if (y[i] > y[place])
            place = i;
    return place;
}

/* Largest value from time a to b, on the lines. */
static double largest_between(const double *time, const double *y, size_t n, double a, double b)
{
    double largest = fmax(sm_curve_at(time, y, n, a), sm_curve_at(time, y, n, b));
    for (size_t i = first_after(time, n, a); i < n && time[i] <= b; i++)
        largest = fmax(largest, y[i]);
    return largest;
}

/* ---- stretches above a level ---- */

struct stretch {
    double start, end; /* [s] */
};

/* Where the line from sample i to i + 1 passes the level. */
static double crossing(const double *time, const double *y, size_t i, double level)
{
    return time[i] + (level - y[i]) / (y[i + 1] - y[i]) * (time[i + 1] - time[i]);
}

/* The stretch above level by the rule; y[peak] must exceed it. */
static struct stretch stretch_above(const double *time, const double *y, size_t n, size_t peak, double level,
                                    enum sm_burn_end rule)
{
    size_t first = peak, last = peak;
    if (rule == SM_BURN_END_CONTIGUOUS) {
        while (first > 0 && y[first - 1] > level)
            first--;
        while (last + 1 < n && y[last + 1] > level)
            last++;
    } else {
        first = 0;
        last = n - 1;
        while (!(y[first] > level))
            first++;
        while (!(y[last] > level))
            last--;
    }
    return (struct stretch){
        .start = first == 0 ? time[0] : crossing(time, y, first - 1, level),
        .end = last == n - 1 ? time[n - 1] : crossing(time, y, last, level),
    };
}

/* ---- checks ---- */

static enum sm_status check_rule(const struct sm_curve_rule *rule, struct sm_error *err)
{
    if (!(rule->threshold >= 0.0 && rule->threshold < 1.0))
        return sm_fail(err, SM_E_RANGE, "threshold %g of the maximum must lie between 0 and 1",
                       rule->threshold);
    if (!(rule->action >= 0.0 && rule->action < 1.0))
        return sm_fail(err, SM_E_RANGE, "action threshold %g of the maximum must lie between 0 and 1",
                       rule->action);
    if (!(rule->noise >= 0.0 && isfinite(rule->noise)))
        return sm_fail(err, SM_E_RANGE, "noise %g N must be 0 or more", rule->noise);
    if (!(rule->ambient >= 0.0 && isfinite(rule->ambient)))
        return sm_fail(err, SM_E_RANGE, "ambient pressure %g Pa must be 0 or more", rule->ambient);
    return SM_OK;
}

static enum sm_status check_samples(const struct sm_curve *c, struct sm_error *err)
{
    if (c->n < 2)
        return sm_fail(err, SM_E_RANGE, "a curve needs two samples or more, this one has %zu", c->n);
    for (size_t i = 0; i < c->n; i++) {
        if (!(isfinite(c->time[i]) && isfinite(c->thrust[i]) && (!c->pressure || isfinite(c->pressure[i]))))
            return sm_fail(err, SM_E_RANGE, "row %zu holds a value that is not a finite number", i + 1);
        if (i > 0 && c->time[i] < c->time[i - 1])
            return sm_fail(err, SM_E_RANGE, "time falls from %.9g to %.9g s at row %zu", c->time[i - 1],
                           c->time[i], i + 1);
    }
    return SM_OK;
}

/* ---- numbers ---- */

/* Thrust at the knee; level is that at the start of the burn, width is W. */
static double knee(const struct sm_curve *c, const struct stretch *burn, double level, double width,
                   size_t peak)
{
    const double *time = c->time, *thrust = c->thrust, top = thrust[peak];
    size_t end = c->n - 1;
    while (thrust[end] < KNEE_END * top)
        end--;
    if (!(time[end] > burn->start))
        return top;
    const double slope = (top - level) / (time[end] - burn->start);
    double highest = 0.0, value = top, until = SM_INF;
    for (size_t i = 0; i <= end; i++) {
        if (time[i] < burn->start)
            continue;
        if (time[i] > until) {
            const double height = between(time, thrust, i, until) - level - slope * (until - burn->start);
            if (!(height > highest))
                break;
        }
        const double height = thrust[i] - level - slope * (time[i] - burn->start);
        if (height > highest) {
            highest = height;
            value = thrust[i];
            until = time[i] + width;
        }
    }
    return value;
}

/* Fills maximum_steady and initial. */
static void judge_start(const struct sm_curve *c, const struct stretch *burn, double level, size_t peak,
                        struct sm_curve_numbers *out)
{
    const double *time = c->time, *thrust = c->thrust;
    const double width = fmin(SPIKE_SHARE * (burn->end - burn->start), SPIKE_LONGEST);
    size_t top = first_after(time, c->n, burn->start);
    if (top > 0)
        top--; /* the sample at the start itself, or just before a crossing, which is lower */
    for (size_t i = top; i < c->n && time[i] <= burn->start + width; i++)
        if (thrust[i] > thrust[top])
            top = i;
    const double settled = time[top] + width;
    const double until_settled = largest_between(time, thrust, c->n, time[top], settled);
    const double end = time[top] + SPIKE_AFTER * width;
    const double after = largest_between(time, thrust, c->n, settled, end);
    const double fall = after - sm_curve_at(time, thrust, c->n, end);
    if (thrust[top] >= until_settled && thrust[top] > SPIKE_HEIGHT * after &&
        fall < SPIKE_FALL * (thrust[top] - after)) {
        out->maximum_steady = largest_between(time, thrust, c->n, settled, time[c->n - 1]);
        out->initial = sm_curve_at(time, thrust, c->n, settled);
    } else {
        out->maximum_steady = out->maximum;
        out->initial = knee(c, burn, level, width, peak);
    }
}

static void judge_pressure(const struct sm_curve *c, const struct sm_curve_rule *rule,
                           const struct stretch *burn, struct sm_curve_numbers *out)
{
    out->pressure_maximum = out->pressure_average = out->action_time = SM_ABSENT;
    if (!c->pressure)
        return;
    const size_t peak = place_of_maximum(c->pressure, c->n);
    const double share = rule->action > 0.0 ? rule->action : ACTION;
    const double level = rule->ambient + share * (c->pressure[peak] - rule->ambient);
    out->pressure_maximum = c->pressure[peak];
    out->pressure_average =
        sm_curve_integral(c->time, c->pressure, c->n, burn->start, burn->end) / out->burn_time;
    if (c->pressure[peak] > level) {
        const struct stretch action = stretch_above(c->time, c->pressure, c->n, peak, level, rule->burn_end);
        out->action_time = action.end - action.start;
    }
}

static enum sm_status judge_impulse(const struct sm_curve *c, const struct sm_curve_rule *rule,
                                    const struct stretch *burn, size_t peak, struct sm_curve_numbers *out,
                                    struct sm_error *err)
{
    double from = c->time[0], to = c->time[c->n - 1];
    if (rule->noise > 0.0) {
        const double level = NOISE_MULTIPLE * rule->noise;
        if (!(out->maximum > level))
            return sm_fail(err, SM_E_RANGE,
                           "the largest thrust, %.4g N, does not stand out of the noise of %.4g N",
                           out->maximum, rule->noise);
        from = burn->start;
        to = stretch_above(c->time, c->thrust, c->n, peak, level, SM_BURN_END_LAST).end;
    }
    out->total_impulse = sm_curve_integral(c->time, c->thrust, c->n, from, to);
    out->impulse_in_burn_time = sm_curve_integral(c->time, c->thrust, c->n, burn->start, burn->end);
    out->average = out->total_impulse / out->burn_time;
    out->average_in_burn_time = out->impulse_in_burn_time / out->burn_time;
    return SM_OK;
}

enum sm_status sm_curve_numbers(const struct sm_curve *curve, const struct sm_curve_rule *rule,
                                struct sm_curve_numbers *out, struct sm_error *err)
{
    static const struct sm_curve_rule usual;
    struct sm_curve_numbers n = {0};
    if (!rule)
        rule = &usual;
    SM_TRY(check_rule(rule, err));
    SM_TRY(check_samples(curve, err));
    const size_t peak = place_of_maximum(curve->thrust, curve->n);
    n.maximum = curve->thrust[peak];
    n.maximum_time = curve->time[peak];
    if (!(n.maximum > 0.0))
        return sm_fail(err, SM_E_RANGE, "thrust is never above zero");
    const double share = rule->threshold > 0.0 ? rule->threshold : THRESHOLD;
    const double level = share * n.maximum;
    const struct stretch burn =
        stretch_above(curve->time, curve->thrust, curve->n, peak, level, rule->burn_end);
    n.burn_start = burn.start;
    n.burn_end = burn.end;
    n.burn_time = burn.end - burn.start;
    if (!(n.burn_time > 0.0))
        return sm_fail(err, SM_E_RANGE, "thrust stays above %g %% of its maximum for no time at all",
                       100.0 * share);
    SM_TRY(judge_impulse(curve, rule, &burn, peak, &n, err));
    if (!(n.total_impulse > 0.0))
        return sm_fail(err, SM_E_RANGE, "the curve pulls back as much as it pushes: it has no impulse");
    judge_start(curve, &burn, level, peak, &n);
    judge_pressure(curve, rule, &burn, &n);
    *out = n;
    return SM_OK;
}
