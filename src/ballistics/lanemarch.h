/*
 * The march of all lanes, LANE_WIDTH at a time, to be compiled once for each instruction set. See ballistics/lanes.h.
 *
 * Nearly all steps are taken by glide: the throat is choked, pressure stays within a segment of the burning-rate law and
 * changes by little, and the mean pressure that is guessed from the step before is near enough. Lanes of which that is not true
 * take the step in try_step's rounds, with a new start at every joint. Which it is hangs on the lane alone.
 */
#ifndef SM_BALLISTICS_LANEMARCH_H
#define SM_BALLISTICS_LANEMARCH_H

#include "num/lanemath.h"
#include "ballistics/lanes.h"

/* ---- the state ---- */

enum { NEAR_ORDER = 8 }; /* of the binomial series */

#define NEAR_REACH 0.12 /* change of y, as a share of it, up to which the series serves [1] */
#define STEEPEST   3.0  /* power up to which it does [1] */
#define GUESS      0.02 /* of the mean pressure may miss by this share where a step glides [1] */
#define INSIDE     1e-9 /* of a segment's ends, so that rounding leads past none [1] */

struct lane_state {
    vec t, p, y, q;               /* q is the area under the pressure until now */
    vec w, space;                 /* distance burned; gas space */
    vec trend;                    /* growth of ln P a share of the step, as of the last one's mean */
    vec rate, n, n1, power;       /* of the segment: a, n, 1 - n, 1/(1 - n) */
    vec binomial[NEAR_ORDER + 1]; /* of the power */
    vec supply;                   /* a c* / A_t */
    vec low, high;                /* its joints */
    vec least;                    /* y at the lowest pressure */
    vec speed;                    /* (1 - n) RT A_t / c* */
    vec bend;                     /* m (m + 1) / 24 of P^n = y^m */
    vec y_low, y_high;            /* between which y may glide; none where the power is too steep for that */
    size_t segment[LANE_WIDTH];
};

struct lane_gas {
    vec rt, density, drain, choking, ambient, gamma, subsonic, floor, speed;
    vec inverse;   /* 1/(RT) */
    vec per_drain; /* c* / A_t */
    vec empty;     /* gas space when all is burned */
    int at;        /* place of the first of these lanes */
};

LANE_INLINE void enter_segments(const struct sm_lanes *l, const struct lane_gas *gas, struct lane_state *s)
{
    for (int i = 0; i < LANE_WIDTH; i++) {
        const size_t k = s->segment[i];
        s->rate[i] = l->rate[k][gas->at + i];
        s->n[i] = l->exponent[k][gas->at + i];
        s->low[i] = k > 0 ? l->joint[k - 1][gas->at + i] : 0.0;
        s->high[i] = l->joint[k][gas->at + i];
    }
    s->n1 = 1.0 - s->n;
    s->power = 1.0 / s->n1;
    s->binomial[0] = all(1.0);
    for (int k = 1; k <= NEAR_ORDER; k++)
        s->binomial[k] = s->binomial[k - 1] * (s->power - (k - 1)) / (double)k;
    s->supply = s->rate / gas->drain;
    s->speed = s->n1 * gas->speed;
    s->bend = s->n * s->power * (1.0 + s->n * s->power) * (1.0 / 24.0);
    s->least = exp_of(s->n1 * log_of(gas->floor));
    s->y = exp_of(s->n1 * log_of(s->p));
    const vec low = larger(larger(s->low, gas->choking), gas->floor), high = smaller(s->high, all(1e12));
    s->y_low = exp_of(s->n1 * log_of(low)) * (1.0 + INSIDE);
    s->y_high = pick((mask)(s->power < STEEPEST), exp_of(s->n1 * log_of(high)) * (1.0 - INSIDE), all(0.0));
}

/*
 * P = y^(1/(1-n)): by the binomial series about the step's start where y is near it, which errs by 1e-10 of P at most, and by
 * logarithms else. inverse is 1/y at the start.
 */
LANE_INLINE vec pressure_at(const struct lane_state *s, vec inverse, vec y)
{
    const vec d = y * inverse - 1.0, *const c = s->binomial;
    const mask near = (mask)(d < NEAR_REACH) & (mask)(d > -NEAR_REACH) & (mask)(s->power < STEEPEST);
    const vec d2 = d * d, d4 = d2 * d2;
    const vec low = (1.0 + d * c[1]) + d2 * (c[2] + d * c[3]);
    const vec high = (c[4] + d * c[5]) + d2 * (c[6] + d * c[7]);
    const vec p = s->p * (low + d4 * (high + d4 * c[8]));
    return any(~near) ? pick(near, p, exp_of(s->power * log_of(y))) : p;
}

/* Flow over that of a choked throat at the same pressure, and what that share gains as y grows by its own size. */
struct lane_flow {
    vec share, gain;
    mask free; /* lanes whose throat is not choked */
};

LANE_INLINE struct lane_flow flow_at(const struct lane_gas *gas, const struct lane_state *s, vec p)
{
    struct lane_flow flow = {.share = all(1.0), .gain = all(0.0), .free = (mask)(p < gas->choking)};
    if (!any(flow.free))
        return flow;
    const vec over = larger(p / gas->ambient, all(1.0 + 1e-4));
    const vec heat = exp_of((gas->gamma - 1.0) / gas->gamma * log_of(over));
    const vec m2 = 2.0 * (heat - 1.0) / (gas->gamma - 1.0);
    const vec share = exp_of(0.5 * log_of(m2 * heat * gas->subsonic)) / over;
    const vec gain = s->power * share * larger((2.0 * heat - 1.0) / (gas->gamma * m2) - 1.0, all(0.0));
    flow.share = pick(flow.free, share, flow.share);
    flow.gain = pick(flow.free, gain, flow.gain);
    return flow;
}

/* What one step does to the chamber. */
struct lane_task {
    vec f0, f1, h;  /* lit area at both ends; length in time or distance */
    vec swing;      /* square of the area's change over its mean; of a step in distance */
    vec lit0, lit1; /* lit shares, in time */
    int in_time;
};

struct lane_step {
    vec y, p, mean, dt;
    vec share; /* of a choked throat's flow */
};

/* How much longer a step in distance takes than one at its mean y, if y goes with the area or changes by less: the mean of y^-m
 * over a straight line, a series in the square of half its change over its mean. */
LANE_INLINE vec linger(const struct lane_state *s, vec swing, vec change)
{
    enum { TERMS = 6 };
    const vec d2 = 0.25 * smaller(smaller(swing, change * change), all(4.0)), m = s->n * s->power;
    vec term = all(1.0), sum = all(1.0);
    for (int k = 0; k < TERMS; k++) {
        term = term * d2 * ((m + 2.0 * k) * (m + (2.0 * k + 1.0))) * (1.0 / ((2 * k + 2) * (2 * k + 3)));
        sum = sum + term;
    }
    return sum;
}

/*
 * One step over which the lit area goes in a straight line from f0 to f1, of length h: in time, or in distance.
 *
 * Each round takes the mean pressure of the one before for what drifts, and the flow of an unchoked throat as straight in y
 * about it, which is Newton's method: two rounds, and two more for lanes that are not choked, where the flow bends.
 */
LANE_INLINE struct lane_step try_step(const struct lane_gas *gas, const struct lane_state *s,
                                      const struct lane_task *task, vec f1, vec h, vec growth)
{
    const int in_time = task->in_time;
    const vec f0 = task->f0;
    enum { ROUNDS = 2, MORE = 2 };
    struct lane_step step = {.share = all(1.0)};
    const vec lead = 0.5 * s->trend;
    const vec speed = s->speed / (s->space + 0.5 * growth), one_over_y = 1.0 / s->y;
    vec mean = s->p * (1.0 + lead), rate = s->rate * (s->p / s->y) * (1.0 + s->n * lead);
    vec middle = s->y * (1.0 + s->n1 * lead);
    mask todo = (mask)(mean == mean);
    for (int round = 0; round < ROUNDS + MORE; round++) {
        const struct lane_flow flow = flow_at(gas, s, mean);
        if (round >= ROUNDS)
            todo &= flow.free;
        if (round >= ROUNDS && !any(todo))
            break;
        const vec dt = in_time ? h : h / rate;
        vec x = speed * dt, g = (gas->density - mean * gas->inverse) * s->supply, held = all(0.0);
        if (any(flow.free)) { /* elsewhere share is 1 and gain 0 */
            const vec slope = flow.share + flow.gain, over = 1.0 / slope;
            x = x * slope;
            g = g * over;
            held = flow.gain * middle * over;
        }
        const vec fade = exp_of(-x), inverse = 1.0 / x;
        const mask tiny = (mask)(x < 1e-3);
        const vec r =
            pick(tiny, 1.0 - x * (0.5 - x * (1.0 / 6.0 - x * (1.0 / 24.0))), (1.0 - fade) * inverse);
        const vec half =
            pick(tiny, 0.5 - x * (1.0 / 6.0 - x * (1.0 / 24.0 - x * (1.0 / 120.0))), (1.0 - r) * inverse);
        const vec rest = g * f0 + held, rise = g * (f1 - f0), off = s->y - rest;
        step.y = pick(todo, larger(rest + rise * (1.0 - r) + off * fade, s->least), step.y);
        middle = pick(todo, larger(rest + rise * (0.5 - half) + off * r, s->least), middle);
        mean = pick(todo, pressure_at(s, one_over_y, middle), mean);
        rate = pick(todo, s->rate * mean / middle, rate);
        step.share = pick(todo, flow.share, step.share);
    }
    step.dt = in_time ? h : h / rate * linger(s, task->swing, (step.y - s->y) / middle);
    step.mean = mean;
    step.p = pressure_at(s, one_over_y, step.y);
    return step;
}

/* Books a step that is taken, in the lanes of todo. */
LANE_INLINE void take(const struct lane_gas *gas, struct lane_state *s, const struct lane_step *step,
                      vec growth, vec burned, mask todo)
{
    const vec space = s->space + growth;
    const vec kept =
        (gas->density * growth - (step->p * space - s->p * s->space) * gas->inverse) * gas->per_drain;
    const vec seen = step->dt * (s->p + 4.0 * step->mean + step->p) * (1.0 / 6.0);
    const vec under = pick((mask)(step->share < 1.0), seen, kept);
    const vec trend = larger(all(-0.4), smaller(all(0.4), (step->p - s->p) / s->p));
    s->trend = pick(todo, trend, s->trend);
    s->q = pick(todo, s->q + under, s->q);
    s->t = pick(todo, s->t + step->dt, s->t);
    s->w = pick(todo, s->w + burned, s->w);
    s->space = pick(todo, space, s->space);
    s->y = pick(todo, step->y, s->y);
    s->p = pick(todo, step->p, s->p);
}

/* As far as a share theta of it. */
LANE_INLINE struct lane_step do_share(const struct lane_gas *gas, const struct lane_state *s,
                                      const struct lane_task *task, vec theta, vec *growth, vec *burned)
{
    const vec f1 = task->f0 + theta * (task->f1 - task->f0), h = theta * task->h;
    const vec before = s->rate * s->p / s->y;
    *growth = 0.5 * (task->f0 + f1) * h * (task->in_time ? before : all(1.0));
    const struct lane_step step = try_step(gas, s, task, f1, h, *growth);
    *burned = h;
    if (task->in_time) {
        const vec lit1 = task->lit0 + theta * (task->lit1 - task->lit0), after = s->rate * step.p / step.y;
        *growth = 0.5 * (task->f0 * before + f1 * after) * h;
        *burned = 0.5 * (task->lit0 * before + lit1 * after) * h;
    }
    return step;
}

/* The share of the step at which the lanes of hit come to a joint, by false position. */
LANE_INLINE vec share_at_joint(const struct lane_gas *gas, const struct lane_state *s,
                               const struct lane_task *task, mask hit, vec joint, vec p1)
{
    enum { ROUNDS = 5 };
    vec a = all(0.0), b = all(1.0), miss_a = log_of(s->p / joint), miss_b = log_of(p1 / joint),
        theta = all(1.0);
    for (int i = 0; i < ROUNDS; i++) {
        vec growth, burned;
        const vec width = miss_b - miss_a;
        const vec next = b - miss_b * (b - a) / pick((mask)(width == 0.0), all(1.0), width);
        theta = pick(hit, larger(all(1e-9), smaller(all(1.0), next)), all(1.0));
        const struct lane_step step = do_share(gas, s, task, theta, &growth, &burned);
        const vec miss = log_of(step.p / joint);
        const mask same = (mask)(miss * miss_b > 0.0);
        a = pick(same, a, b);
        miss_a = pick(same, 0.5 * miss_a, miss_b);
        b = theta;
        miss_b = miss;
    }
    return theta;
}

/* Takes the step in the lanes of todo, with a new start wherever pressure comes to a joint. */
LANE_INLINE void pass(struct sm_lanes *l, const struct lane_gas *gas, struct lane_state *s,
                      struct lane_task task, mask todo)
{
    enum { STARTS = 10 };
    for (int i = 0; i < STARTS; i++) {
        vec growth, burned;
        struct lane_step step = do_share(gas, s, &task, all(1.0), &growth, &burned);
        const mask up = todo & (mask)(step.p > s->high), down = todo & (mask)(step.p < s->low),
                   hit = up | down;
        if (!any(hit)) {
            take(gas, s, &step, growth, burned, todo);
            return;
        }
        const vec joint = pick(up, s->high, pick(down, s->low, s->p));
        const vec theta = share_at_joint(gas, s, &task, hit, joint, step.p);
        step = do_share(gas, s, &task, theta, &growth, &burned);
        step.p = pick(hit, joint, step.p);
        take(gas, s, &step, growth, burned, todo);
        const struct lane_state before = *s;
        for (int k = 0; k < LANE_WIDTH; k++)
            s->segment[k] = up[k] ? s->segment[k] + 1 : down[k] ? s->segment[k] - 1 : s->segment[k];
        enter_segments(l, gas, s);
        s->y = pick(hit, s->y, before.y);
        s->trend = pick(hit, all(0.0), s->trend);
        task.f0 = task.f0 + theta * (task.f1 - task.f0);
        task.lit0 = task.lit0 + theta * (task.lit1 - task.lit0);
        task.h = pick(hit, (1.0 - theta) * task.h, task.h);
        todo = hit & (mask)(task.h > 0.0);
        if (!any(todo))
            return;
    }
    for (int k = 0; k < LANE_WIDTH; k++)
        if (todo[k])
            l->failed[gas->at + k] = 1;
}

/* ---- gliding ---- */

/* P over that at the step's start, d being the gain of y as a share; errs by 6e-9 at most. */
LANE_INLINE vec near_power(const struct lane_state *s, vec d)
{
    const vec *const c = s->binomial;
    const vec d2 = d * d;
    return (1.0 + d * c[1]) + d2 * (c[2] + d * c[3]) + (d2 * d2) * (c[4] + d * c[5] + d2 * c[6]);
}

/* Books a step that glided, in the lanes of done. */
LANE_INLINE void keep(const struct lane_gas *gas, struct lane_state *s, vec y, vec p, vec trend, vec growth,
                      vec dt, vec burned, mask done)
{
    const vec space = s->space + growth;
    const vec q =
        s->q + (gas->density * growth - (p * space - s->p * s->space) * gas->inverse) * gas->per_drain;
    const vec t = s->t + dt, w = s->w + burned;
    if (any(~done)) {
        s->t = pick(done, t, s->t);
        s->w = pick(done, w, s->w);
        s->q = pick(done, q, s->q);
        s->space = pick(done, space, s->space);
        s->trend = pick(done, trend, s->trend);
        s->y = pick(done, y, s->y);
        s->p = pick(done, p, s->p);
        return;
    }
    s->t = t;
    s->w = w;
    s->q = q;
    s->space = space;
    s->trend = trend;
    s->y = y;
    s->p = p;
}

/* What y comes to while the forcing goes in a straight line from rest to rest + rise, and its mean over the step. */
struct lane_glide {
    vec y, middle;
};

LANE_INLINE struct lane_glide glide_over(vec y, vec x, vec rest, vec rise)
{
    const vec fade = fade_of(-x), over = 1.0 / x;
    const vec r = (1.0 - fade) * over, half = (1.0 - r) * over, off = y - rest;
    return (struct lane_glide){rest + rise * (1.0 - r) + off * fade, rest + rise * (0.5 - half) + off * r};
}

/* x for which the formulas above keep their digits and the exponential is a normal number. */
LANE_INLINE mask is_usual(vec x)
{
    return (mask)(x > 1e-3) & (mask)(x < 700.0);
}

/* A step in distance. Returned: the lanes of todo that took it. */
LANE_INLINE mask glide(const struct lane_gas *gas, struct lane_state *s, const struct lane_task *task,
                       mask todo)
{
    const vec f0 = task->f0, f1 = task->f1, h = task->h;
    const vec one_over_y = 1.0 / s->y, growth = 0.5 * (f0 + f1) * h, lead = 0.5 * s->trend;
    const vec rate = s->rate * (s->p * one_over_y) * (1.0 + s->n * lead);
    const vec x = s->speed * h / ((s->space + 0.5 * growth) * rate);
    const vec g = (gas->density - s->p * (1.0 + lead) * gas->inverse) * s->supply;
    const struct lane_glide to = glide_over(s->y, smaller(x, all(700.0)), g * f0, g * (f1 - f0));
    const vec d = to.y * one_over_y - 1.0, half = to.middle * one_over_y - 1.0;
    const vec gain = near_power(s, d), mean_gain = near_power(s, half);
    const vec reach = all(NEAR_REACH * NEAR_REACH), off = mean_gain - 1.0 - lead;
    const mask done = todo & (mask)(d * d < reach) & (mask)(half * half < reach) & (mask)(x > 1e-3) &
                      (mask)(off * off < GUESS * GUESS) & (mask)(to.y > s->y_low) &
                      (mask)(to.middle > s->y_low) & (mask)(to.y < s->y_high);
    const vec dt = h * to.middle / (s->rate * (s->p * mean_gain)), longer = smaller(task->swing, d * d);
    keep(gas, s, to.y, s->p * gain, gain - 1.0, growth, dt * (1.0 + s->bend * longer), h, done);
    return done;
}

/* A step in time. Pressure may change by much. */
LANE_INLINE mask glide_in_time(const struct lane_gas *gas, struct lane_state *s, const struct lane_task *task,
                               mask todo)
{
    const vec before = s->rate * s->p / s->y, guess = 0.5 * (task->f0 + task->f1) * task->h * before;
    const vec x = s->speed * task->h / (s->space + 0.5 * guess);
    const vec g = (gas->density - s->p * (1.0 + 0.5 * s->trend) * gas->inverse) * s->supply;
    const struct lane_glide to = glide_over(s->y, x, g * task->f0, g * (task->f1 - task->f0));
    const mask done =
        todo & is_usual(x) & (mask)(s->y > s->y_low) & (mask)(to.y > s->y_low) & (mask)(to.y < s->y_high);
    const vec p = exp_of(s->power * log_of(pick(done, to.y, s->y))), after = s->rate * p / to.y;
    const vec growth = 0.5 * (task->f0 * before + task->f1 * after) * task->h;
    const vec burned = 0.5 * (task->lit0 * before + task->lit1 * after) * task->h;
    const vec trend = larger(all(-0.4), smaller(all(0.4), p / s->p - 1.0));
    keep(gas, s, to.y, p, trend, growth, task->h, burned, done);
    return done;
}

/* ---- the run ---- */

LANE_INLINE void note(struct sm_lanes *l, const struct lane_gas *gas, const struct lane_state *s, int node)
{
    store(&l->time[node][gas->at], s->t);
    store(&l->pressure[node][gas->at], s->p);
    store(&l->area_under[node][gas->at], s->q);
    store(&l->room[node][gas->at], s->space);
}

/* Steps of even length in time, while the lit share goes from `from` to `to`. */
LANE_INLINE void march_time(struct sm_lanes *l, const struct lane_gas *gas, struct lane_state *s, vec span,
                            int n, int is_ramp, int node)
{
    const vec area = load(l->area + gas->at), slope = load(l->slope + gas->at), h = span / (double)n;
    const mask todo = (mask)(h > 0.0);
    const int is_none = !any(todo);
    for (int k = 0; k < n; k++, node++) {
        const vec lit0 = all(is_ramp ? (double)k / n : 1.0), lit1 = all(is_ramp ? (double)(k + 1) / n : 1.0);
        const vec ahead = s->w + 0.5 * (lit0 + lit1) * s->rate * s->p / s->y * h;
        const struct lane_task task = {.f0 = lit0 * (area + slope * s->w),
                                       .f1 = lit1 * (area + slope * ahead),
                                       .h = h,
                                       .lit0 = lit0,
                                       .lit1 = lit1,
                                       .in_time = 1};
        const mask left = is_none ? todo : todo & ~glide_in_time(gas, s, &task, todo);
        if (any(left))
            pass(l, gas, s, task, left);
        note(l, gas, s, node);
    }
}

/* Row k of the tables; is_one: it is the same for all. */
struct lane_row {
    vec w, to, dw, area0, area1, pace, swing, left;
};

LANE_INLINE struct lane_row row_of(const struct sm_lane_table *const *tables, int is_one, int k)
{
    const struct sm_lane_row *r = &tables[0]->rows[k];
    struct lane_row out = {all(r->w),     all(r->to),   all(r->dw),    all(r->area0),
                           all(r->area1), all(r->pace), all(r->swing), all(r->left)};
    for (int i = 1; !is_one && i < LANE_WIDTH; i++) {
        r = &tables[i]->rows[k];
        out.w[i] = r->w;
        out.to[i] = r->to;
        out.dw[i] = r->dw;
        out.area0[i] = r->area0;
        out.area1[i] = r->area1;
        out.pace[i] = r->pace;
        out.swing[i] = r->swing;
        out.left[i] = r->left;
    }
    return out;
}

/* A step of which some lanes have burned a share already. Until then what the surface gave off was summed by trapezia; what that
 * missed of the volume burned is booked at the end. */
LANE_INLINE void catch_up(struct sm_lanes *l, const struct lane_gas *gas, struct lane_state *s,
                          const struct lane_row *row)
{
    const vec from = larger(all(0.0), smaller(all(1.0), (s->w - row->w) / row->dw)), rest = 1.0 - from;
    const mask todo = (mask)(rest > 1e-9);
    const struct lane_task task = {.f0 = row->area0 + from * (row->area1 - row->area0),
                                   .f1 = row->area1,
                                   .h = pick(todo, row->dw * rest, row->dw),
                                   .swing = row->swing * (rest * rest),
                                   .lit0 = all(1.0),
                                   .lit1 = all(1.0)};
    const vec share = pick(todo, rest, all(1.0));
    s->trend = s->trend * share;
    const mask left = todo & ~glide(gas, s, &task, todo);
    if (any(left))
        pass(l, gas, s, task, left);
    s->trend = larger(all(-0.4), smaller(all(0.4), s->trend / share));
    s->w = pick(todo, row->to, s->w);
    const vec missed = pick(todo, gas->empty - row->left - s->space, all(0.0));
    s->space = s->space + missed;
    s->q = s->q + (gas->density - s->p * gas->inverse) * missed * gas->per_drain;
}

LANE_INLINE void march_distance(struct sm_lanes *l, const struct lane_gas *gas, struct lane_state *s,
                                int node)
{
    const struct sm_lane_table *const *tables = l->table + gas->at;
    int is_one = 1;
    for (int i = 1; i < LANE_WIDTH; i++)
        is_one &= tables[i] == tables[0];
    for (int k = 0; k < SM_LANE_STEPS; k++, node++) {
        const struct lane_row row = row_of(tables, is_one, k);
        s->trend = s->trend * row.pace;
        if (any((mask)(s->w > row.w))) {
            catch_up(l, gas, s, &row);
        } else {
            const struct lane_task task = {.f0 = row.area0,
                                           .f1 = row.area1,
                                           .h = row.dw,
                                           .swing = row.swing,
                                           .lit0 = all(1.0),
                                           .lit1 = all(1.0)};
            const mask left = ~glide(gas, s, &task, (mask)(row.dw > 0.0));
            if (any(left))
                pass(l, gas, s, task, left);
            s->w = row.to;
        }
        note(l, gas, s, node);
    }
}

LANE_INLINE void march_some(struct sm_lanes *l, int at)
{
    struct lane_gas gas = {.at = at,
                           .rt = load(l->rt + at),
                           .density = load(l->density + at),
                           .drain = load(l->drain + at),
                           .choking = load(l->choking + at),
                           .ambient = load(l->ambient + at),
                           .gamma = load(l->gamma + at),
                           .subsonic = load(l->subsonic + at),
                           .floor = load(l->floor + at),
                           .empty = load(l->empty + at)};
    struct lane_state s = {.p = load(l->start + at), .space = load(l->space + at)};
    gas.speed = gas.rt * gas.drain;
    gas.inverse = 1.0 / gas.rt;
    gas.per_drain = 1.0 / gas.drain;
    for (int i = 0; i < LANE_WIDTH; i++)
        while (s.segment[i] + 1 < l->n_segments[at + i] && s.p[i] >= l->joint[s.segment[i]][at + i])
            s.segment[i]++;
    enter_segments(l, &gas, &s);
    note(l, &gas, &s, 0);
    march_time(l, &gas, &s, load(l->ramp + at), SM_LANE_RAMP, 1, 1);
    march_time(l, &gas, &s, load(l->fill + at), SM_LANE_FILL, 0, 1 + SM_LANE_RAMP);
    for (int i = 0; i < LANE_WIDTH; i++)
        if (s.w[i] > l->table[at + i]->smooth)
            l->failed[at + i] = 1;
    march_distance(l, &gas, &s, 1 + SM_LANE_RAMP + SM_LANE_FILL);
}

LANE_INLINE void march_lanes(struct sm_lanes *l)
{
    for (int at = 0; at < SM_LANES; at += LANE_WIDTH)
        march_some(l, at);
}

#endif
