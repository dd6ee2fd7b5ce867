/* From samples to what is said of them. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "curve/impulse.h"
#include "num/parallel.h"
#include "num/percentile.h"
#include "num/stats.h"
#include "uncertain/samples.h"

const double sm_spread_percent[SM_SPREAD_LEVELS] = {2.5, 16.0, 50.0, 84.0, 97.5};

const struct sm_spread_column sm_spread_quantities[SM_N_Q] = {
    [SM_Q_IMPULSE] = {"total_impulse", SM_DIM_IMPULSE},
    [SM_Q_BURN_TIME] = {"burn_time", SM_DIM_TIME},
    [SM_Q_AVERAGE] = {"average", SM_DIM_FORCE},
    [SM_Q_MAXIMUM] = {"maximum", SM_DIM_FORCE},
    [SM_Q_PRESSURE] = {"pressure_maximum", SM_DIM_PRESSURE},
    [SM_Q_IGNITION] = {"ignition", SM_DIM_TIME},
    [SM_Q_BURNOUT] = {"burnout", SM_DIM_TIME},
    [SM_Q_IMPULSE_DIFFERENCE] = {"impulse_difference", SM_DIM_IMPULSE},
    [SM_Q_IGNITION_DIFFERENCE] = {"ignition_difference", SM_DIM_TIME},
    [SM_Q_BURNOUT_DIFFERENCE] = {"burnout_difference", SM_DIM_TIME},
    [SM_Q_THRUST_DIFFERENCE] = {"thrust_difference_maximum", SM_DIM_FORCE},
    [SM_Q_LATERAL_FORCE] = {"lateral_force_maximum", SM_DIM_FORCE},
    [SM_Q_MOMENT] = {"moment_maximum", SM_DIM_MOMENT},
    [SM_Q_ALONE_IGNITION] = {"alone_at_ignition", SM_DIM_TIME},
    [SM_Q_ALONE_BURNOUT] = {"alone_at_burnout", SM_DIM_TIME},
};

const struct sm_spread_column sm_spread_curves[SM_N_C] = {
    [SM_C_THRUST] = {"thrust", SM_DIM_FORCE},
    [SM_C_PRESSURE] = {"pressure", SM_DIM_PRESSURE},
    [SM_C_DIFFERENCE] = {"thrust_difference", SM_DIM_FORCE},
    [SM_C_MOMENT] = {"moment", SM_DIM_MOMENT},
};

double sm_pair_moment_arm(const struct sm_pair_options *pair, double left)
{
    const double empty = pair->arm_empty > 0.0 ? pair->arm_empty : pair->arm;
    const double arm = empty + (pair->arm - empty) * left;
    return 0.5 * pair->spacing * cos(pair->splay) - arm * sin(pair->splay);
}

static int has_quantity(const struct sm_spread_head *h, size_t q)
{
    return (h->is_pair || q < SM_Q_SINGLE) && (q != SM_Q_PRESSURE || !h->is_curve);
}

static int has_curve(const struct sm_spread_head *h, size_t c)
{
    return c == SM_C_THRUST || (c == SM_C_PRESSURE ? !h->is_curve : h->is_pair != 0);
}

size_t sm_samples_bytes(const struct sm_spread_head *head)
{
    size_t n = 0;
    for (size_t q = 0; q < SM_N_Q; q++)
        n += has_quantity(head, q) ? 1 : 0;
    for (size_t c = 0; c < SM_N_C; c++)
        n += has_curve(head, c) ? (size_t)head->n_instants : 0;
    return 1 + n * sizeof(double); /* the 1 is its state */
}

enum sm_status sm_samples_room(struct sm_spread_samples *s, struct sm_error *err)
{
    const size_t n = s->count > 0 ? s->count : 1;
    const struct sm_spread_head *h = &s->head;
    s->state = sm_arena_alloc(&s->arena, n, sizeof *s->state);
    int is_out = !s->state;
    for (size_t q = 0; q < SM_N_Q; q++) {
        const int wanted = has_quantity(h, q);
        s->quantity[q] = wanted ? sm_arena_alloc(&s->arena, n, sizeof(double)) : NULL;
        is_out = is_out || (wanted && !s->quantity[q]);
    }
    for (size_t c = 0; c < SM_N_C; c++) {
        const int wanted = has_curve(h, c);
        s->curve[c] = wanted ? sm_arena_room(&s->arena, n * h->n_instants, sizeof(double)) : NULL;
        is_out = is_out || (wanted && !s->curve[c]);
    }
    return is_out ? sm_fail(err, SM_E_NOMEM, "out of memory for %zu samples", s->count) : SM_OK;
}

/* ---- distributions ---- */

/* Moves what is finite to the front; returns how many. */
static size_t squeeze(double *x, size_t n)
{
    size_t m = 0;
    for (size_t i = 0; i < n; i++)
        if (isfinite(x[i]))
            x[m++] = x[i];
    return m;
}

static void describe(double *x, size_t n, struct sm_distribution *d)
{
    d->n = squeeze(x, n);
    d->mean = sm_stats_mean(x, d->n);
    d->deviation = sm_stats_deviation(x, d->n);
    d->mean_error = d->deviation / sqrt((double)d->n);
    sm_sort(x, d->n);
    d->minimum = d->n > 0 ? x[0] : SM_NAN;
    d->maximum = d->n > 0 ? x[d->n - 1] : SM_NAN;
    for (size_t k = 0; k < SM_SPREAD_LEVELS; k++) {
        d->level[k] = d->level_error[k] = SM_NAN;
        if (d->n > 0)
            d->level[k] = sm_percentile(x, d->n, 0.01 * sm_spread_percent[k], &d->level_error[k]);
    }
}

struct descriptions {
    struct sm_spread_samples *samples;
    size_t which[SM_N_Q]; /* quantity of each distribution */
    double *room;         /* for each worker's sorting, as many as there are samples [SI] */
};

static void describe_one(void *user, int worker, size_t i)
{
    const struct descriptions *d = user;
    const struct sm_spread_samples *s = d->samples;
    double *x = d->room + (size_t)worker * s->count;
    memcpy(x, s->quantity[d->which[i]], s->count * sizeof *x);
    describe(x, s->count, &d->samples->spread.distributions[i]);
}

static void describe_all(struct sm_spread_samples *s, int threads, double *room)
{
    struct descriptions d = {.samples = s, .room = room};
    size_t n = 0;
    for (size_t q = 0; q < SM_N_Q; q++) {
        if (!s->quantity[q])
            continue;
        s->spread.distributions[n] = (struct sm_distribution){.name = sm_spread_quantities[q].name,
                                                              .dim = sm_spread_quantities[q].dim};
        d.which[n++] = q;
    }
    s->spread.n_distributions = n;
    sm_parallel_for(n, threads, describe_one, &d, NULL);
}

/* ---- chances ---- */

/* Share of n, with its binomial standard error; where it never or always came, the bound 3/n that holds with 95 % confidence.
 * Reference: J. Hanley, A. Lippman-Hand, J. Am. Med. Assoc. 249 (1983) 1743, the rule of three. */
static void fill_chance(struct sm_chance *c, size_t hits, size_t n)
{
    const double p = (double)hits / (double)n;
    c->probability = p;
    c->error = hits == 0 || hits == n ? fmin(1.0, 3.0 / (double)n) : sqrt(p * (1.0 - p) / (double)n);
}

static size_t count_above(const double *x, size_t n, double limit)
{
    size_t hits = 0;
    for (size_t i = 0; i < n; i++)
        hits += x[i] > limit ? 1 : 0;
    return hits;
}

static void classes_of(const struct sm_spread_samples *s, size_t n, struct sm_spread *out)
{
    size_t hits[SM_SPREAD_MAX_CLASSES] = {0};
    out->n_classes = 0;
    for (size_t i = 0; i < s->count; i++) {
        struct sm_impulse_class c;
        size_t k = 0;
        if (!isfinite(s->quantity[SM_Q_IMPULSE][i]))
            continue;
        sm_impulse_class_of(s->quantity[SM_Q_IMPULSE][i], &c);
        while (k < out->n_classes && strcmp(out->classes[k].what, c.letter) != 0)
            k++;
        if (k == out->n_classes && k < SM_SPREAD_MAX_CLASSES) {
            sm_text_format(out->classes[k].what, sizeof out->classes[k].what, "%s", c.letter);
            out->classes[k].limit = c.to;
            out->n_classes++;
        }
        if (k < SM_SPREAD_MAX_CLASSES)
            hits[k]++;
    }
    for (size_t k = 0; k < out->n_classes; k++)
        fill_chance(&out->classes[k], hits[k], n);
    for (size_t k = 1; k < out->n_classes; k++) /* the likeliest first */
        for (size_t j = k; j > 0 && out->classes[j].probability > out->classes[j - 1].probability; j--) {
            const struct sm_chance swap = out->classes[j];
            out->classes[j] = out->classes[j - 1];
            out->classes[j - 1] = swap;
        }
}

static void chances_of(const struct sm_spread_samples *s, size_t n, struct sm_spread *out)
{
    static const char *const limits[] = {"the pressure asked about", "burst pressure over its margin",
                                         "burst pressure"};
    classes_of(s, n, out);
    out->border = (struct sm_chance){.what = "upper limit of the class", .limit = s->head.class_to};
    fill_chance(&out->border, count_above(s->quantity[SM_Q_IMPULSE], s->count, s->head.class_to), n);
    out->n_pressures = 0;
    for (size_t k = 0; k < SM_COUNT(limits) && s->quantity[SM_Q_PRESSURE]; k++) {
        struct sm_chance *c = &out->pressures[out->n_pressures];
        if (!(s->head.limits[k] > 0.0))
            continue;
        *c = (struct sm_chance){.limit = s->head.limits[k]};
        sm_text_format(c->what, sizeof c->what, "%s", limits[k]);
        fill_chance(c, count_above(s->quantity[SM_Q_PRESSURE], s->count, c->limit), n);
        out->n_pressures++;
    }
}

/* ---- bands ---- */

struct bands {
    const struct sm_spread_samples *samples;
    size_t curve;
    struct sm_spread_band *band;
    double *room; /* for each worker's sorting, as many as there are samples [SI] */
};

static void one_instant(void *user, int worker, size_t k)
{
    const struct bands *b = user;
    const size_t count = b->samples->count;
    double *x = b->room + (size_t)worker * count;
    memcpy(x, b->samples->curve[b->curve] + k * count, count * sizeof *x);
    const size_t n = squeeze(x, count);
    double shares[SM_SPREAD_LEVELS], levels[SM_SPREAD_LEVELS];
    for (size_t i = 0; i < SM_SPREAD_LEVELS; i++) {
        shares[i] = 0.01 * sm_spread_percent[i];
        levels[i] = SM_NAN;
    }
    if (n > 0)
        sm_percentiles(x, n, shares, SM_SPREAD_LEVELS, levels);
    for (size_t i = 0; i < SM_SPREAD_LEVELS; i++)
        b->band->level[i][k] = levels[i];
}

static enum sm_status new_band(struct sm_spread_samples *s, const char *name, enum sm_dim dim,
                               struct sm_spread_band **out, struct sm_error *err)
{
    struct sm_spread_band *band = &s->spread.bands[s->spread.n_bands++];
    *band = (struct sm_spread_band){.name = name, .dim = dim};
    for (size_t k = 0; k < SM_SPREAD_LEVELS; k++) {
        band->level[k] = sm_arena_alloc(&s->arena, s->head.n_instants, sizeof(double));
        if (!band->level[k])
            return sm_fail(err, SM_E_NOMEM, "out of memory");
    }
    *out = band;
    return SM_OK;
}

static enum sm_status fill_bands(struct sm_spread_samples *s, int threads, double *room, struct sm_error *err)
{
    s->spread.n_bands = 0;
    for (size_t c = 0; c < SM_N_C; c++) {
        struct bands b = {s, c, NULL, room};
        if (!s->curve[c])
            continue;
        SM_TRY(new_band(s, sm_spread_curves[c].name, sm_spread_curves[c].dim, &b.band, err));
        sm_parallel_for(s->head.n_instants, threads, one_instant, &b, NULL);
    }
    return SM_OK;
}

/* The difference of thrusts by the sine of the splay; its high end is the low one's if the motors lean inwards. */
static enum sm_status fill_lateral(struct sm_spread_samples *s, struct sm_error *err)
{
    const double share = sin(s->head.pair.splay);
    struct sm_spread_band *band = NULL;
    if (!s->curve[SM_C_DIFFERENCE])
        return SM_OK;
    SM_TRY(new_band(s, "lateral_force", SM_DIM_FORCE, &band, err));
    const struct sm_spread_band *difference = s->spread.bands;
    while (strcmp(difference->name, sm_spread_curves[SM_C_DIFFERENCE].name) != 0)
        difference++;
    for (size_t k = 0; k < SM_SPREAD_LEVELS; k++)
        for (size_t i = 0; i < s->head.n_instants; i++)
            band->level[k][i] = share * difference->level[share < 0.0 ? SM_SPREAD_LEVELS - 1 - k : k][i];
    return SM_OK;
}

/* ---- all ---- */

/* A sample that was not burned, or has no answer, has no numbers. */
static void blank(struct sm_spread_samples *s, size_t i)
{
    for (size_t q = 0; q < SM_N_Q; q++)
        if (s->quantity[q])
            s->quantity[q][i] = SM_NAN;
    for (size_t c = 0; c < SM_N_C; c++)
        for (size_t k = 0; k < s->head.n_instants && s->curve[c]; k++)
            s->curve[c][k * s->count + i] = SM_NAN;
}

static void fill_pair(const struct sm_spread_head *h, struct sm_spread *out)
{
    const struct sm_pair_options *p = &h->pair;
    const double empty = p->arm_empty > 0.0 ? p->arm_empty : p->arm;
    out->pair = *p;
    if (!h->is_pair)
        return;
    out->neutral_splay = atan2(p->spacing, 2.0 * p->arm);
    out->neutral_splay_empty = atan2(p->spacing, 2.0 * empty);
    out->moment_arm = sm_pair_moment_arm(p, 1.0);
    out->moment_arm_empty = sm_pair_moment_arm(p, 0.0);
    out->single_thrust = h->single_thrust;
}

enum sm_status sm_samples_reckon(struct sm_spread_samples *s, int threads, struct sm_error *err)
{
    struct sm_spread *out = &s->spread;
    out->motor = s->head.motor;
    out->is_curve = s->head.is_curve != 0;
    out->is_usual = s->head.is_usual != 0;
    out->n = (size_t)s->head.n;
    out->n_held = s->count;
    out->seed = s->head.seed;
    out->inputs = s->inputs;
    out->n_inputs = (size_t)s->head.n_inputs;
    out->n_done = out->n_impossible = 0;
    for (size_t i = 0; i < s->count; i++) {
        if (s->state[i] != SM_SAMPLE_DONE)
            blank(s, i);
        out->n_done += s->state[i] != SM_SAMPLE_OPEN;
        out->n_impossible += s->state[i] == SM_SAMPLE_IMPOSSIBLE;
    }
    out->complete = out->n_done == s->count;
    out->time = s->time;
    out->n_instants = (size_t)s->head.n_instants;
    fill_pair(&s->head, out);
    const size_t n = out->n_done - out->n_impossible;
    if (n == 0)
        return out->n_done == 0
                   ? sm_fail(err, SM_E_CANCELLED, "stopped before the first sample was done")
                   : sm_fail(err, SM_E_PHYSICS, "none of %zu samples has an answer; the first: %s",
                             out->n_done, out->reasons[0]);
    double *room = malloc((size_t)sm_parallel_threads(threads) * s->count * sizeof *room);
    if (!room)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    describe_all(s, threads, room);
    chances_of(s, n, out);
    const enum sm_status status = fill_bands(s, threads, room, err);
    free(room);
    return status == SM_OK ? fill_lateral(s, err) : status;
}

void sm_spread_free(struct sm_spread *spread)
{
    if (!spread)
        return;
    struct sm_arena arena = ((struct sm_spread_samples *)spread)->arena; /* it lives in its own arena */
    sm_arena_release(&arena);
}

const char *sm_chance_text(char buf[SM_CHANCE_TEXT], const struct sm_chance *chance)
{
    const double percent = 100.0 * chance->probability, error = 100.0 * chance->error;
    if (chance->probability <= 0.0)
        sm_text_format(buf, SM_CHANCE_TEXT, "none of the samples; under %.2g %%", error);
    else if (chance->probability >= 1.0)
        sm_text_format(buf, SM_CHANCE_TEXT, "all of the samples; over %.4g %%",
                       100.0 * (1.0 - chance->error));
    else
        sm_text_format(buf, SM_CHANCE_TEXT, "%.2f %% +-%.2g", percent, error);
    return buf;
}
