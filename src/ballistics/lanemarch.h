/*
 * The march of eight lanes, to be compiled once for each instruction set. See ballistics/lanes.h.
 *
 * Everything is written with + - * / and comparisons of whole vectors, without contraction, so that each set gives the same bits.
 * exp and log are our own for that reason and for speed: libm takes one number at a time.
 */
#ifndef SM_BALLISTICS_LANEMARCH_H
#define SM_BALLISTICS_LANEMARCH_H

#include <stdint.h>

#include "ballistics/lanes.h"

/* The only typedefs of the library: vector types have no other name. */
typedef double vec __attribute__((vector_size(64)));
typedef int64_t mask __attribute__((vector_size(64)));
typedef uint64_t word __attribute__((vector_size(64)));
typedef double vec_in_array __attribute__((vector_size(64), aligned(8), may_alias));

#define LANE_INLINE static inline __attribute__((always_inline))

LANE_INLINE vec load(const double *from)
{
    return *(const vec_in_array *)from;
}

LANE_INLINE vec all(double x)
{
    return (vec){x, x, x, x, x, x, x, x};
}

/* a where m holds, else b. */
LANE_INLINE vec pick(mask m, vec a, vec b)
{
    return (vec)((m & (mask)a) | (~m & (mask)b));
}

LANE_INLINE vec larger(vec a, vec b)
{
    return pick((mask)(a > b), a, b);
}

LANE_INLINE vec smaller(vec a, vec b)
{
    return pick((mask)(a < b), a, b);
}

LANE_INLINE int any(mask m)
{
    const mask half = m | __builtin_shufflevector(m, m, 4, 5, 6, 7, 0, 1, 2, 3);
    const mask quarter = half | __builtin_shufflevector(half, half, 2, 3, 0, 1, 6, 7, 4, 5);
    return (quarter[0] | quarter[1]) != 0;
}

/*
 * exp(x) = 2^k exp(r), |r| <= ln 2 / 2, by Taylor's sum to r^11, which errs by 7e-15; x is kept within +-700.
 * Adding 1.5 2^52 rounds to a whole number and leaves it in the low bits. Sums here go in pairs and pairs of pairs (Estrin's
 * scheme), for a step waits for each product in turn.
 */
LANE_INLINE vec exp_of(vec x)
{
    const vec magic = all(0x1.8p52);
    x = larger(all(-700.0), smaller(all(700.0), x));
    const vec shifted = x * 1.44269504088896340736 + magic, k = shifted - magic;
    const vec r = (x - k * 0x1.62e42feep-1) - k * 0x1.a39ef35793c76p-33;
    const vec r2 = r * r, r4 = r2 * r2;
    const vec a = (1.0 + r) + r2 * (0.5 + r * (1.0 / 6.0));
    const vec b = (1.0 / 24.0 + r * (1.0 / 120.0)) + r2 * (1.0 / 720.0 + r * (1.0 / 5040.0));
    const vec c = (1.0 / 40320.0 + r * (1.0 / 362880.0)) + r2 * (1.0 / 3628800.0 + r * (1.0 / 39916800.0));
    const vec sum = a + r4 * (b + r4 * c);
    return (vec)((word)sum + ((word)shifted << 52));
}

/* log(x) = e ln 2 + 2 artanh((m - 1)/(m + 1)), m in [1/sqrt 2, sqrt 2), by its sum to the 17th power, which errs by 1e-15;
 * x > 0 and normal. */
LANE_INLINE vec log_of(vec x)
{
    const uint64_t root_half = 0x3fe6a09e667f3bcdu, bias = (uint64_t)1024 << 52, magic = 0x4338000000000000u;
    const word bits = (word)x, e = (bits - root_half + bias) >> 52;
    const vec m = (vec)(bits - ((e - 1024) << 52));
    const vec power = (vec)(e - 1024 + magic) - 0x1.8p52;
    const vec s = (m - 1.0) / (m + 1.0), z = s * s;
    const vec z2 = z * z, z4 = z2 * z2;
    const vec a = (2.0 + z * (2.0 / 3.0)) + z2 * (2.0 / 5.0 + z * (2.0 / 7.0));
    const vec b = (2.0 / 9.0 + z * (2.0 / 11.0)) + z2 * (2.0 / 13.0 + z * (2.0 / 15.0));
    const vec sum = a + z4 * (b + z4 * (2.0 / 17.0));
    return power * 0.69314718055994530942 + s * sum;
}

/* ---- the state ---- */

enum { NEAR_ORDER = 8 }; /* of the binomial series */

struct lane_state {
    vec t, p, y, q;               /* q is the area under the pressure until now */
    vec w, space;                 /* distance burned; gas space */
    vec trend;                    /* growth of ln P a share of the step, as of the last one's mean */
    vec rate, n1, power;          /* of the segment: a, 1 - n, 1/(1 - n) */
    vec binomial[NEAR_ORDER + 1]; /* of the power */
    vec supply;                   /* a c* / A_t */
    vec low, high;                /* its joints */
    vec least;                    /* y at the lowest pressure */
    size_t segment[SM_LANES];
};

struct lane_gas {
    vec rt, density, drain, choking, ambient, gamma, subsonic, floor, speed;
    vec inverse; /* 1/(RT) */
};

LANE_INLINE void enter_segments(const struct sm_lanes *l, const struct lane_gas *gas, struct lane_state *s)
{
    for (int i = 0; i < SM_LANES; i++) {
        const size_t k = s->segment[i];
        s->rate[i] = l->rate[k][i];
        s->n1[i] = 1.0 - l->exponent[k][i];
        s->low[i] = k > 0 ? l->joint[k - 1][i] : 0.0;
        s->high[i] = l->joint[k][i];
    }
    s->power = 1.0 / s->n1;
    s->binomial[0] = all(1.0);
    for (int k = 1; k <= NEAR_ORDER; k++)
        s->binomial[k] = s->binomial[k - 1] * (s->power - (k - 1)) / (double)k;
    s->supply = s->rate / gas->drain;
    s->least = exp_of(s->n1 * log_of(gas->floor));
    s->y = exp_of(s->n1 * log_of(s->p));
}

/*
 * P = y^(1/(1-n)): by the binomial series about the step's start where y is near it, which errs by 1e-10 of P at most, and by
 * logarithms else. inverse is 1/y at the start.
 */
LANE_INLINE vec pressure_at(const struct lane_state *s, vec inverse, vec y)
{
    const vec d = y * inverse - 1.0, *const c = s->binomial;
    const mask near = (mask)(d < 0.12) & (mask)(d > -0.12) & (mask)(s->power < 3.0);
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

struct lane_step {
    vec y, p, mean, dt;
    vec share; /* of a choked throat's flow */
};

/*
 * One step over which the lit area goes in a straight line from f0 to f1, of length h: in time, or in distance.
 *
 * Each round takes the mean pressure of the one before for what drifts, and the flow of an unchoked throat as straight in y
 * about it, which is Newton's method: two rounds, and two more for lanes that are not choked, where the flow bends.
 */
LANE_INLINE struct lane_step try_step(const struct lane_gas *gas, const struct lane_state *s, vec f0, vec f1,
                                      vec h, vec growth, int in_time)
{
    enum { ROUNDS = 2, MORE = 2 };
    struct lane_step step = {.share = all(1.0)};
    const vec lead = larger(all(-0.2), smaller(all(0.2), 0.5 * s->trend));
    const vec speed = s->n1 * gas->speed / (s->space + 0.5 * growth), one_over_y = 1.0 / s->y;
    vec mean = s->p * (1.0 + lead), rate = s->rate * (s->p / s->y) * (1.0 + (1.0 - s->n1) * lead);
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
    step.dt = in_time ? h : h / rate;
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
        (gas->density * growth - (step->p * space - s->p * s->space) * gas->inverse) / gas->drain;
    const vec seen = step->dt * (s->p + 4.0 * step->mean + step->p) * (1.0 / 6.0);
    const vec under = pick((mask)(step->share < 1.0), seen, kept);
    s->trend = pick(todo, (step->p - s->p) / s->p, s->trend);
    s->q = pick(todo, s->q + under, s->q);
    s->t = pick(todo, s->t + step->dt, s->t);
    s->w = pick(todo, s->w + burned, s->w);
    s->space = pick(todo, space, s->space);
    s->y = pick(todo, step->y, s->y);
    s->p = pick(todo, step->p, s->p);
}

/* What one step does to the chamber, as far as its share theta. */
struct lane_task {
    vec f0, f1, h;  /* lit area at both ends; length in time or distance */
    vec lit0, lit1; /* lit shares, in time */
    int in_time;
};

LANE_INLINE struct lane_step do_share(const struct lane_gas *gas, const struct lane_state *s,
                                      const struct lane_task *task, vec theta, vec *growth, vec *burned)
{
    const vec f1 = task->f0 + theta * (task->f1 - task->f0), h = theta * task->h;
    const vec before = s->rate * s->p / s->y;
    *growth = 0.5 * (task->f0 + f1) * h * (task->in_time ? before : all(1.0));
    const struct lane_step step = try_step(gas, s, task->f0, f1, h, *growth, task->in_time);
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
        for (int k = 0; k < SM_LANES; k++)
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
    for (int k = 0; k < SM_LANES; k++)
        if (todo[k])
            l->failed[k] = 1;
}

/* ---- the run ---- */

LANE_INLINE void note(struct sm_lanes *l, const struct lane_state *s, int node)
{
    for (int i = 0; i < SM_LANES; i++) {
        l->time[i][node] = s->t[i];
        l->pressure[i][node] = s->p[i];
        l->area_under[i][node] = s->q[i];
        l->room[i][node] = s->space[i];
    }
}

/* Steps of even length in time, while the lit share goes from `from` to `to`. */
LANE_INLINE void march_time(struct sm_lanes *l, const struct lane_gas *gas, struct lane_state *s, vec span,
                            int n, int is_ramp, int node)
{
    const vec area = load(l->area), slope = load(l->slope), h = span / (double)n;
    for (int k = 0; k < n; k++, node++) {
        const vec lit0 = all(is_ramp ? (double)k / n : 1.0), lit1 = all(is_ramp ? (double)(k + 1) / n : 1.0);
        const vec ahead = s->w + 0.5 * (lit0 + lit1) * s->rate * s->p / s->y * h;
        const struct lane_task task = {.f0 = lit0 * (area + slope * s->w),
                                       .f1 = lit1 * (area + slope * ahead),
                                       .h = h,
                                       .lit0 = lit0,
                                       .lit1 = lit1,
                                       .in_time = 1};
        pass(l, gas, s, task, (mask)(h > 0.0));
        note(l, s, node);
    }
}

LANE_INLINE void march_distance(struct sm_lanes *l, const struct lane_gas *gas, struct lane_state *s,
                                int node)
{
    vec last = all(1.0);
    for (int k = 0; k < SM_LANE_STEPS; k++, node++) {
        const vec w = load(l->w[k]), dw = load(l->dw[k]), a0 = load(l->area0[k]), a1 = load(l->area1[k]);
        const vec from = larger(all(0.0), smaller(all(1.0), (s->w - w) / dw)), h = dw * (1.0 - from);
        const mask todo = (mask)(from < 1.0 - 1e-9);
        const struct lane_task task = {.f0 = a0 + from * (a1 - a0),
                                       .f1 = a1,
                                       .h = pick(todo, h, dw),
                                       .lit0 = all(1.0),
                                       .lit1 = all(1.0)};
        s->trend = s->trend * task.h / last;
        pass(l, gas, s, task, todo);
        s->w = pick(todo, w + dw, s->w);
        last = task.h;
        note(l, s, node);
    }
}

LANE_INLINE void march_lanes(struct sm_lanes *l)
{
    struct lane_gas gas = {.rt = load(l->rt),
                           .density = load(l->density),
                           .drain = load(l->drain),
                           .choking = load(l->choking),
                           .ambient = load(l->ambient),
                           .gamma = load(l->gamma),
                           .subsonic = load(l->subsonic),
                           .floor = load(l->floor)};
    struct lane_state s = {.p = load(l->start), .space = load(l->space)};
    gas.speed = gas.rt * gas.drain;
    gas.inverse = 1.0 / gas.rt;
    for (int i = 0; i < SM_LANES; i++)
        while (s.segment[i] + 1 < l->n_segments[i] && s.p[i] >= l->joint[s.segment[i]][i])
            s.segment[i]++;
    enter_segments(l, &gas, &s);
    note(l, &s, 0);
    march_time(l, &gas, &s, load(l->ramp), SM_LANE_RAMP, 1, 1);
    march_time(l, &gas, &s, load(l->fill), SM_LANE_FILL, 0, 1 + SM_LANE_RAMP);
    for (int i = 0; i < SM_LANES; i++)
        if (s.w[i] > l->smooth[i])
            l->failed[i] = 1;
    s.trend = all(0.0);
    march_distance(l, &gas, &s, 1 + SM_LANE_RAMP + SM_LANE_FILL);
}

#endif
