/*
 * From a record to a thrust curve: quiet spans, firing, level, low-pass, and what is doubtful.
 *
 * Firing: the highest reading, and what lies about it above 5 % of its height, with hysteresis in time: it is over only
 * where thrust stays below for a fiftieth of the time from the peak, so ringing about the threshold does not cut it. It
 * starts and ends at the outermost passages. (Burn time is by definition contiguous about the maximum, so it may be
 * shorter; both are shown.) Tare: the median of the quiet span before it. The record counts to where
 * thrust is back within three standard deviations of the noise of where it comes to rest, which need not be where it
 * began. All of these settle each other, so they are found three times over.
 *
 * Level that moves: by a straight line in time between the quiet spans (linear), or in proportion to the impulse given
 * so far, as propellant leaves an upright stand (weight; its size is that of the propellant if its mass is known, else
 * the shift that was seen). (Common practice, no source.)
 */
#include "base/text.h"
#include "curve/curve.h"
#include "curve/impulse.h"
#include "num/filter.h"
#include "num/spectrum.h"
#include "num/stats.h"
#include "teststand/record.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#define STANDARD_GRAVITY 9.80665 /* CGPM 1901 [m/s2] */

enum { ROUNDS = 3, FEWEST_QUIET = 8, FEWEST_FLAT = 8 };

/* Choices of our own, without source. */
#define THRESHOLD      0.05 /* of the height: bounds the firing, as it bounds the burn time [1] */
#define HOLD           0.02 /* of the time since the peak: thrust below for longer has left for good [1] */
#define HOLD_ROWS      3.0  /* and for more rows than this [1] */
#define GUARD          0.10 /* of the firing's length, kept off the quiet spans [1] */
#define RISES_SCATTER  5.0  /* a quiet span that changes by more of its own deviations than this, [1] */
#define RISES_HEIGHT   0.01 /* and by more of the height than this, is none [1] */
#define RISE           20.0 /* a firing is higher than so many deviations of the noise, so that 5 % is one [1] */
#define OFF            3.0  /* and over when it is within so many of where it comes to rest [1] */
#define SHIFT_MOST     0.25 /* of the height: beyond it the channel did not come back [1] */
#define GAP            5.0  /* medians of the interval [1] */
#define GAP_MOST       0.25 /* of the firing's length [1] */
#define FLAT_LONGEST   0.02 /* of the firing's length at the very same highest reading [1] */
#define SPIKE          12.0 /* standard deviations above both neighbours [1] */
#define SPIKE_HEIGHT   0.15 /* of the height [1] */
#define IMPULSE_KEPT   1e-4 /* by the low-pass [1] */
#define RING_PROMINENT 20.0 /* a line of the spectrum over its neighbours [1] */

/* The part of the record with the firing, and what is known of it so far. */
struct work {
    const struct sm_record *record;
    const double *t, *f, *p; /* n of each [s], [N], [Pa] */
    const unsigned *line;
    size_t n;
    size_t peak, first, last; /* of the firing above the threshold */
    size_t rise;              /* the last row before it */
    double interval;          /* median [s] */
    size_t off;               /* where it is over */
    enum sm_burn_end burn_end;
    size_t before;             /* rows of the quiet span before: the first so many */
    size_t after, after_end;   /* rows of the quiet span after */
    double base, level_after;  /* [N] */
    double sigma, correlation; /* [N], [1] */
    double slope;              /* of the quiet span [N/s] */
    double *room;              /* n values [any] */
};

void sm_firing_note(struct sm_firing *firing, const char *code, unsigned line, const char *fmt, ...)
{
    if (firing->n_notes >= SM_MAX_FIRING_NOTES)
        return;
    struct sm_firing_note *note = &firing->notes[firing->n_notes++];
    va_list args;
    va_start(args, fmt);
    sm_text_vformat(note->text, sizeof note->text, fmt, args);
    va_end(args);
    note->code = code;
    note->line = line;
}

/* An error at a row of the record. */
static enum sm_status at_row(const struct work *w, size_t i, enum sm_status status, struct sm_error *err)
{
    if (!err)
        return status;
    strncpy(err->at.file, w->record->name, sizeof err->at.file - 1);
    err->at.line = w->line[i];
    return status;
}

static double median_of(struct work *w, const double *x, size_t n)
{
    memcpy(w->room, x, n * sizeof *x);
    return sm_stats_median(w->room, n);
}

/* ---- where the firing is ---- */

/* The first guess: a height over the median of what lies below half of the way up, before the peak. */
static double first_base(struct work *w)
{
    double low = w->f[0];
    size_t n = 0;
    for (size_t i = 0; i < w->n; i++)
        low = fmin(low, w->f[i]);
    const double half = 0.5 * (low + w->f[w->peak]);
    for (size_t i = 0; i < w->peak; i++)
        if (w->f[i] < half)
            w->room[n++] = w->f[i];
    return n > 0 ? sm_stats_median(w->room, n) : low;
}

/* From the peak outwards in steps of `step`: the last row above the level before thrust stays below it for a while. Returned:
 * that row; *beyond is the row outside it, or itself at the record's end. */
static size_t walk_out(const struct work *w, double level, long step, int to_the_end, size_t *beyond)
{
    size_t above = w->peak;
    const size_t end = step > 0 ? w->n - 1 : 0;
    for (size_t i = w->peak; i != end;) {
        i = (size_t)((long)i + step);
        if (w->f[i] > level)
            above = i;
        const double below_for = fabs(w->t[i] - w->t[above]), above_for = fabs(w->t[above] - w->t[w->peak]);
        if (!to_the_end && below_for > fmax(HOLD_ROWS * w->interval, HOLD * above_for))
            break;
    }
    *beyond = above == end ? above : (size_t)((long)above + step);
    return above;
}

static void find_edges(struct work *w)
{
    const double level = w->base + THRESHOLD * (w->f[w->peak] - w->base);
    size_t outside;
    w->first = walk_out(w, level, -1, 0, &w->rise);
    w->last = walk_out(w, level, 1, w->burn_end == SM_BURN_END_LAST, &outside);
}

static double firing_length(const struct work *w)
{
    return w->t[w->last] - w->t[w->first];
}

static void find_spans(struct work *w)
{
    /* A long firing in a short record keeps half of what there is. */
    const double room = 0.5 * fmin(w->t[w->first] - w->t[0], w->t[w->n - 1] - w->t[w->last]);
    const double guard = fmin(GUARD * firing_length(w), room);
    w->before = w->first;
    while (w->before > 0 && w->t[w->before - 1] > w->t[w->first] - guard)
        w->before--;
    w->after = w->last + 1;
    while (w->after < w->n && w->t[w->after] < w->t[w->last] + guard)
        w->after++;
    w->after_end = w->after;
    while (w->after_end < w->n && w->t[w->after_end] < w->t[w->after] + firing_length(w))
        w->after_end++;
}

/* Noise of a span about its straight line; false if there are too few rows. */
static int noise_of_quiet(struct work *w)
{
    struct sm_stats_line line;
    if (w->before < FEWEST_QUIET || !sm_stats_line_fit(w->t, w->f, w->before, &line))
        return 0;
    w->sigma = line.deviation;
    w->slope = line.slope;
    for (size_t i = 0; i < w->before; i++)
        w->room[i] = w->f[i] - line.at_middle - line.slope * (w->t[i] - line.middle);
    w->correlation = sm_stats_correlation_length(w->room, w->before);
    return 1;
}

/* Without a quiet span: second differences of the firing, which a smooth curve has none of. Their variance is six times
 * that of independent noise. */
static void noise_of_neighbours(struct work *w)
{
    size_t n = 0;
    for (size_t i = w->first + 1; i < w->last; i++)
        w->room[n++] = (w->f[i + 1] - 2.0 * w->f[i] + w->f[i - 1]) / sqrt(6.0);
    w->sigma = n > 2 ? sm_stats_scatter(w->room, n, 0.0) : 0.0;
    w->correlation = 1.0;
}

/* Is what comes before the firing a rise already, which neither its scatter nor the firing's height excuse? */
static int is_rising(const struct work *w)
{
    const double rise = fabs(w->slope) * (w->t[w->before - 1] - w->t[0]);
    return rise > RISES_SCATTER * w->sigma && rise > RISES_HEIGHT * (w->f[w->peak] - w->base);
}

static enum sm_status find_firing(struct work *w, double given, struct sm_error *err)
{
    w->peak = 0;
    for (size_t i = 1; i < w->n; i++)
        if (w->f[i] > w->f[w->peak])
            w->peak = i;
    w->base = isnan(given) ? first_base(w) : given;
    for (int round = 0; round < ROUNDS; round++) {
        find_edges(w);
        find_spans(w);
        if (!isnan(given))
            continue;
        if (!noise_of_quiet(w) || is_rising(w))
            return at_row(w, w->first,
                          sm_fail(err, SM_E_RANGE,
                                  "no quiet span before the firing: %zu rows%s, and %d are needed; "
                                  "or give the reading at rest (--baseline)",
                                  w->before, w->before < FEWEST_QUIET ? "" : " that rise", FEWEST_QUIET),
                          err);
        w->base = median_of(w, w->f, w->before);
    }
    if (!noise_of_quiet(w))
        noise_of_neighbours(w);
    return SM_OK;
}

/* Where the firing is over, and the level it comes to rest at; *shift absent if that is not seen. */
static void find_end(struct work *w, double *shift)
{
    *shift = SM_ABSENT;
    w->level_after = w->base;
    if (w->after_end - w->after >= FEWEST_QUIET) {
        w->level_after = median_of(w, w->f + w->after, w->after_end - w->after);
        *shift = w->level_after - w->base;
    }
    const double level = fmax(w->base, w->level_after) + OFF * w->sigma;
    w->off = w->last;
    while (w->off + 1 < w->n && w->f[w->off] > level)
        w->off++;
}

/* ---- what is wrong with it ---- */

/* Does it stand out of the noise? */
static enum sm_status check_rise(const struct work *w, struct sm_error *err)
{
    const double height = w->f[w->peak] - w->base;
    if (!(height > RISE * w->sigma && height > 0.0) || w->last - w->first < 3)
        return at_row(w, w->peak,
                      sm_fail(err, SM_E_RANGE,
                              "no firing in the record: the highest reading, %.4g N over rest, is "
                              "%.3g standard deviations of the noise in %zu rows",
                              height, w->sigma > 0.0 ? height / w->sigma : 0.0, w->last - w->first + 1),
                      err);
    return SM_OK;
}

static enum sm_status check_flat_top(const struct work *w, struct sm_error *err)
{
    size_t run = 0, longest = 0, place = 0;
    const double top = w->f[w->peak];
    for (size_t i = w->first; i <= w->last; i++) {
        run = w->f[i] >= top ? run + 1 : 0;
        if (run > longest) {
            longest = run;
            place = i + 1 - run;
        }
    }
    const double length = longest > 0 ? w->t[place + longest - 1] - w->t[place] : 0.0;
    if (longest < FEWEST_FLAT || length < FLAT_LONGEST * firing_length(w))
        return SM_OK;
    return at_row(w, place,
                  sm_fail(err, SM_E_RANGE,
                          "the channel is saturated: %zu rows in a row at its highest reading, for "
                          "%.3g s",
                          longest, length),
                  err);
}

static enum sm_status check_return(const struct work *w, double shift, struct sm_error *err)
{
    const double height = w->f[w->peak] - w->base;
    if (isnan(shift) || fabs(shift) <= fmax(SHIFT_MOST * height, OFF * w->sigma))
        return SM_OK;
    return at_row(w, w->after,
                  sm_fail(err, SM_E_RANGE,
                          "the channel does not come back: it rests %.4g N from where it began, "
                          "%.0f %% of the highest reading; no impulse can be given",
                          shift, 100.0 * fabs(shift) / height),
                  err);
}

static enum sm_status check_gaps(const struct work *w, struct sm_firing *firing, struct sm_error *err)
{
    size_t n_elsewhere = 0, longest = 0;
    double longest_gap = 0.0;
    for (size_t i = 1; i < w->n; i++) {
        const double gap = w->t[i] - w->t[i - 1];
        if (!(gap > GAP * firing->interval))
            continue;
        if (i < w->first || i > w->last + 1) {
            n_elsewhere++;
            continue;
        }
        if (gap > GAP_MOST * firing_length(w))
            return at_row(w, i,
                          sm_fail(err, SM_E_RANGE,
                                  "a gap of %.3g s, more than a quarter of the firing, which is %.3g s", gap,
                                  firing_length(w)),
                          err);
        if (gap > longest_gap) {
            longest_gap = gap;
            longest = i;
        }
    }
    if (longest > 0)
        sm_firing_note(firing, "gap", w->line[longest],
                       "a gap of %.3g s in the firing, the longest; the line across it is a guess",
                       longest_gap);
    if (n_elsewhere > 0)
        sm_firing_note(firing, "gaps", 0, "%zu gaps of more than %.3g s outside the firing", n_elsewhere,
                       GAP * firing->interval);
    return SM_OK;
}

static void note_spikes(const struct work *w, struct sm_firing *firing)
{
    const double height = w->f[w->peak] - w->base;
    const double least = fmax(SPIKE * w->sigma, SPIKE_HEIGHT * height);
    size_t n = 0, where = 0, n_drop = 0, where_drop = 0;
    for (size_t i = 1; i + 1 < w->n; i++) {
        const double up = fmin(w->f[i] - w->f[i - 1], w->f[i] - w->f[i + 1]);
        const double down = fmin(w->f[i - 1] - w->f[i], w->f[i + 1] - w->f[i]);
        if (up > least && n++ == 0)
            where = i;
        if (down > least && n_drop++ == 0)
            where_drop = i;
    }
    if (n > 0)
        sm_firing_note(firing, "spike", w->line[where],
                       "%zu spike(s) of a single row, the first here; left in%s", n,
                       w->peak == where ? ", and it is the highest reading" : "");
    if (n_drop > 0)
        sm_firing_note(firing, "drop-out", w->line[where_drop],
                       "%zu drop-out(s) of a single row, the first here; left in", n_drop);
}

/* ---- thrust ---- */

/* Cuts the firing out: from the row before its start to its end. */
static enum sm_status cut(struct work *w, struct sm_firing *firing, struct sm_arena *arena,
                          struct sm_error *err)
{
    const size_t from = w->rise, m = w->off - from + 1;
    double *t = sm_arena_alloc(arena, m, sizeof *t), *f = sm_arena_alloc(arena, m, sizeof *f);
    double *p = w->p ? sm_arena_alloc(arena, m, sizeof *p) : NULL;
    if (!t || !f || (w->p && !p))
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < m; i++) {
        t[i] = w->t[from + i];
        f[i] = w->f[from + i] - w->base;
        if (p)
            p[i] = w->p[from + i];
    }
    firing->m = m;
    firing->t = t;
    firing->thrust = f;
    firing->p = p;
    return SM_OK;
}

/* Which way to bring the level back, and why not. */
static int choose_drift(const struct sm_stand *stand, double shift, const struct work *w,
                        struct sm_firing *firing)
{
    const double height = w->f[w->peak] - w->base;
    if (stand->drift >= 0)
        return stand->drift;
    if (stand->orientation == SM_STAND_HORIZONTAL)
        return SM_DRIFT_LINEAR;
    if (stand->orientation > SM_STAND_HORIZONTAL)
        return SM_DRIFT_WEIGHT;
    if (!isnan(shift) && fabs(shift) > fmax(0.01 * height, OFF * w->sigma))
        sm_firing_note(firing, "shift", w->line[w->after],
                       "the level after the firing is %+.3g N from that before; nothing was done about it, "
                       "since neither the orientation of the stand nor --drift is given",
                       shift);
    return SM_DRIFT_NONE;
}

/* Takes the moving part of the level off f[m]; *size is its whole size [N]. */
static void take_drift(const struct work *w, const struct sm_stand *stand, double shift,
                       struct sm_firing *firing, double *f, double *size)
{
    const double *t = firing->t;
    const size_t m = firing->m;
    *size = isnan(shift) ? 0.0 : shift;
    if (firing->drift == SM_DRIFT_LINEAR && w->before > 0 && *size != 0.0) {
        const double a = 0.5 * (w->t[0] + w->t[w->before - 1]);
        const double b = 0.5 * (w->t[w->after] + w->t[w->after_end - 1]);
        /* The quiet span's middle may be long before: what counts is the level at the firing's start. */
        const double start = fmax(a, 2.0 * t[0] - w->t[w->last]);
        for (size_t i = 0; i < m; i++)
            f[i] -= *size * fmin(fmax((t[i] - start) / (b - start), 0.0), 1.0);
        return;
    }
    if (firing->drift != SM_DRIFT_WEIGHT)
        return;
    if (!isnan(stand->propellant_mass) && stand->orientation > SM_STAND_HORIZONTAL)
        *size = (stand->orientation == SM_STAND_NOZZLE_UP ? -1.0 : 1.0) * stand->propellant_mass *
                STANDARD_GRAVITY;
    /* The level moves with the impulse, which depends on the level: a fixed point, reached to rounding of what
     * matters in a few turns, since the weight is small beside the thrust. */
    double *level = w->room;
    memset(level, 0, m * sizeof *level);
    for (int round = 0; round < 6; round++) {
        double sum = 0.0;
        for (size_t i = 1; i < m; i++)
            sum += 0.5 * (f[i] - level[i] + f[i - 1] - level[i - 1]) * (t[i] - t[i - 1]);
        if (!(sum > 0.0))
            break;
        double so_far = 0.0, last = f[0] - level[0];
        for (size_t i = 1; i < m; i++) {
            const double now = f[i] - level[i];
            so_far += 0.5 * (now + last) * (t[i] - t[i - 1]);
            last = now;
            level[i] = *size * so_far / sum;
        }
    }
    for (size_t i = 0; i < m; i++)
        f[i] -= level[i];
}

/* ---- low-pass ---- */

/* The most prominent line of the spectrum above the firing's own slow motion; SM_ABSENT if none stands out. */
static double find_ringing(struct sm_arena *arena, const double *x, size_t n, double h)
{
    struct sm_spectrum s;
    size_t segment = 64;
    while (segment * 4 <= n && segment < 4096)
        segment *= 2;
    if (segment > n || sm_spectrum_welch(arena, x, n, h, segment, &s, NULL) != SM_OK)
        return SM_ABSENT;
    double best = 0.0, where = SM_ABSENT;
    for (size_t i = 6; i + 7 < s.n_bins; i++) {
        double around = 0.0;
        for (size_t k = 3; k <= 6; k++) /* beyond the window's own width */
            around += s.power[i - k] + s.power[i + k];
        const double over = 8.0 * s.power[i] / fmax(around, 1e-300);
        if (over > best) {
            best = over;
            where = (double)i * s.step;
        }
    }
    return best > RING_PROMINENT ? where : SM_ABSENT;
}

struct grid {
    double *x, *y, *room; /* thrust, filtered [N] */
    size_t n;
    double start, h; /* [s] */
};

static enum sm_status make_grid(const struct sm_firing *firing, struct sm_arena *arena, struct grid *g,
                                struct sm_error *err)
{
    const double span = firing->t[firing->m - 1] - firing->t[0];
    /* Gaps make no more points than four times the rows. */
    g->h = fmax(firing->interval, span / (4.0 * (double)firing->m));
    g->start = firing->t[0];
    g->n = (size_t)(span / g->h) + 2;
    g->x = sm_arena_alloc(arena, g->n, sizeof *g->x);
    g->y = sm_arena_alloc(arena, g->n, sizeof *g->y);
    if (!g->x || !g->y)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    size_t j = 0;
    for (size_t i = 0; i < g->n; i++) {
        const double t = fmin(g->start + (double)i * g->h, firing->t[firing->m - 1]);
        while (j + 2 < firing->m && firing->t[j + 1] <= t)
            j++;
        const double wide = firing->t[j + 1] - firing->t[j];
        const double share = wide > 0.0 ? (t - firing->t[j]) / wide : 1.0;
        g->x[i] = firing->thrust[j] + share * (firing->thrust[j + 1] - firing->thrust[j]);
    }
    return SM_OK;
}

/* One filtering at a cut-off [1/s]; *kept as in the firing. */
static enum sm_status filter_once(struct sm_firing *firing, struct grid *g, double cutoff, double *out,
                                  struct sm_arena *arena, double *kept, struct sm_error *err)
{
    struct sm_filter filter;
    SM_TRY(sm_filter_design(cutoff * g->h, &filter, err));
    double *room = sm_arena_alloc(arena, g->n + 2 * sm_filter_reach(&filter), sizeof *room);
    if (!room)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    sm_filter_apply(&filter, g->x, g->n, room, g->y);
    double before = 0.0, after = 0.0;
    for (size_t i = 1; i < g->n; i++) {
        before += 0.5 * (g->x[i] + g->x[i - 1]);
        after += 0.5 * (g->y[i] + g->y[i - 1]);
    }
    *kept = after / before - 1.0;
    for (size_t i = 0; i < firing->m; i++) {
        const double place = (firing->t[i] - g->start) / g->h;
        const size_t k = (size_t)fmin(floor(place), (double)(g->n - 2));
        out[i] = g->y[k] + (place - (double)k) * (g->y[k + 1] - g->y[k]);
    }
    return SM_OK;
}

/* Chooses the cut-off below half of what rings, else at a tenth of the rate of rows, and raises it until the impulse is
 * kept; what was asked for is kept to, and noted if it costs impulse. */
static enum sm_status low_pass(struct sm_firing *firing, const struct sm_stand *stand, struct sm_arena *arena,
                               struct sm_error *err)
{
    double *out = sm_arena_alloc(arena, firing->m, sizeof *out);
    if (!out)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    memcpy(out, firing->thrust, firing->m * sizeof *out);
    firing->filtered = out;
    firing->ringing = SM_ABSENT;
    if (stand->cutoff == 0.0)
        return SM_OK;
    struct grid g;
    SM_TRY(make_grid(firing, arena, &g, err));
    firing->ringing = find_ringing(arena, g.x, g.n, g.h);
    const double most = 0.45 / g.h;
    double cutoff = !isnan(stand->cutoff)     ? stand->cutoff
                    : !isnan(firing->ringing) ? 0.5 * firing->ringing
                                              : 0.1 / g.h;
    if (!isnan(stand->cutoff) && cutoff > most)
        return sm_fail(err, SM_E_RANGE,
                       "a cut-off of %.4g Hz is too high: rows are %.4g s apart, so it must "
                       "stay below %.4g Hz",
                       cutoff, g.h, most);
    for (;; cutoff *= 1.5) {
        if (cutoff > most) {
            memcpy(out, firing->thrust, firing->m * sizeof *out);
            firing->cutoff = firing->impulse_kept = 0.0;
            sm_firing_note(firing, "not-filtered", 0,
                           "no low-pass keeps the impulse to %g here, so none was used", IMPULSE_KEPT);
            return SM_OK;
        }
        firing->cutoff = cutoff;
        SM_TRY(filter_once(firing, &g, cutoff, out, arena, &firing->impulse_kept, err));
        if (fabs(firing->impulse_kept) <= IMPULSE_KEPT)
            return SM_OK;
        if (!isnan(stand->cutoff)) {
            sm_firing_note(
                firing, "low-cutoff", 0,
                "the low-pass at %.4g Hz changes the impulse by %.2g: it is too low for this record", cutoff,
                firing->impulse_kept);
            return SM_OK;
        }
    }
}

/* ---- all of it ---- */

static double median_interval(struct work *w)
{
    size_t n = 0;
    for (size_t i = 1; i < w->n; i++)
        if (w->t[i] > w->t[i - 1])
            w->room[n++] = w->t[i] - w->t[i - 1];
    return n > 0 ? sm_stats_median(w->room, n) : 0.0;
}

/* The part between restarts of the clock whose readings rise most over their median. */
static size_t choose_part(const struct sm_record *record, double *room)
{
    size_t best = 0;
    double highest = -1.0;
    for (size_t k = 0; k < record->n_starts; k++) {
        const size_t from = record->start[k],
                     to = k + 1 < record->n_starts ? record->start[k + 1] : record->n;
        double top = record->thrust[from];
        for (size_t i = from; i < to; i++)
            top = fmax(top, record->thrust[i]);
        memcpy(room, record->thrust + from, (to - from) * sizeof *room);
        const double rise = top - sm_stats_median(room, to - from);
        if (rise > highest) {
            highest = rise;
            best = k;
        }
    }
    return best;
}

/* Pressure from readings: at rest it is that of the surroundings. */
static void bring_pressure(struct work *w, const struct sm_stand *stand, double unit, double *p)
{
    double rest = stand->pressure.baseline * unit;
    if (isnan(rest) && w->before > 0)
        rest = median_of(w, p, w->before);
    else if (isnan(rest))
        rest = stand->ambient_pressure; /* readings are taken as absolute */
    for (size_t i = 0; i < w->n; i++)
        p[i] += stand->ambient_pressure - rest;
}

static enum sm_status set_up(struct work *w, const struct sm_record *record, struct sm_firing *firing,
                             struct sm_arena *arena, struct sm_error *err)
{
    *w = (struct work){.record = record};
    if (record->n < FEWEST_QUIET) {
        sm_fail(err, SM_E_RANGE, "no firing in the record: it has %zu rows of numbers", record->n);
        if (err)
            strncpy(err->at.file, record->name, sizeof err->at.file - 1);
        return SM_E_RANGE;
    }
    w->room = sm_arena_alloc(arena, record->n, sizeof *w->room);
    if (!w->room)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    const size_t part = record->n_starts > 1 ? choose_part(record, w->room) : 0;
    const size_t from = record->start[part];
    w->n = (part + 1 < record->n_starts ? record->start[part + 1] : record->n) - from;
    w->t = record->time + from;
    w->f = record->thrust + from;
    w->line = record->line + from;
    firing->n = w->n;
    firing->name = record->name;
    firing->time = w->t;
    firing->raw = w->f;
    firing->interval = w->interval = median_interval(w);
    firing->n_skipped = record->n_skipped;
    firing->n_restarts = record->n_starts - 1;
    if (record->n_starts > 1)
        sm_firing_note(firing, "clock", w->line[0],
                       "the clock starts again %zu time(s); the part that starts here has the firing",
                       record->n_starts - 1);
    if (record->n_skipped > 0)
        sm_firing_note(firing, "skipped", record->first_skipped,
                       "%zu line(s) without data were passed over, the first here", record->n_skipped);
    return SM_OK;
}

static void set_windows(const struct work *w, struct sm_firing *firing)
{
    const struct sm_span none = {SM_ABSENT, SM_ABSENT};
    firing->quiet_before = w->before >= FEWEST_QUIET ? (struct sm_span){w->t[0], w->t[w->before - 1]} : none;
    firing->quiet_after = w->after_end - w->after >= FEWEST_QUIET
                              ? (struct sm_span){w->t[w->after], w->t[w->after_end - 1]}
                              : none;
    firing->event = (struct sm_span){w->t[w->first], w->t[w->last]};
    firing->tare = w->base;
    firing->noise = w->sigma;
    firing->correlation = w->correlation;
    if (!(w->before >= FEWEST_QUIET))
        sm_firing_note(firing, "no-quiet-span", 0,
                       "no quiet span before the firing: the reading at rest is the one given, and noise is "
                       "told from neighbouring rows");
}

/* Standard uncertainty of the level: noise of the median (1.25 times that of the mean for normal noise), the slope of the
 * quiet span over its length, and half of what moved, both as even spreads (JCGM 100, 4.3.7). */
static double level_uncertainty(const struct work *w, const struct sm_firing *firing, double size)
{
    const double n = w->before >= FEWEST_QUIET ? (double)w->before / w->correlation : 1.0;
    const double noise = 1.2533 * w->sigma / sqrt(fmax(n, 1.0));
    const double length =
        w->before >= FEWEST_QUIET ? fmin(w->t[w->before - 1] - w->t[0], firing_length(w)) : 0.0;
    const double slope = w->slope * length / sqrt(12.0);
    const double moved = firing->drift == SM_DRIFT_WEIGHT ? 0.1 * size : 0.5 * size;
    return sqrt(noise * noise + slope * slope + moved * moved / 12.0);
}

enum sm_status sm_reduce(const struct sm_record *record, const struct sm_stand *stand,
                         enum sm_burn_end burn_end, struct sm_arena *arena, struct sm_firing *firing,
                         struct sm_error *err)
{
    struct work w;
    double size = 0.0;
    memset(firing, 0, sizeof *firing);
    SM_TRY(set_up(&w, record, firing, arena, err));
    w.burn_end = burn_end;
    SM_TRY(find_firing(&w, stand->thrust.baseline * record->thrust_unit, err));
    find_end(&w, &firing->shift);
    SM_TRY(check_return(&w, firing->shift, err));
    SM_TRY(check_rise(&w, err));
    SM_TRY(check_flat_top(&w, err));
    SM_TRY(check_gaps(&w, firing, err));
    note_spikes(&w, firing);
    if (record->pressure) {
        w.p = record->pressure + (w.t - record->time);
        bring_pressure(&w, stand, record->pressure_unit, record->pressure + (w.t - record->time));
        firing->pressure = w.p;
    }
    set_windows(&w, firing);
    firing->drift = choose_drift(stand, firing->shift, &w, firing);
    SM_TRY(cut(&w, firing, arena, err));
    double *thrust = (double *)sm_arena_alloc(arena, firing->m, sizeof *thrust);
    if (!thrust)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    memcpy(thrust, firing->thrust, firing->m * sizeof *thrust);
    take_drift(&w, stand, firing->shift, firing, thrust, &size);
    firing->thrust = thrust;
    if (isnan(firing->shift))
        size = 0.0;
    else if (firing->drift == SM_DRIFT_NONE)
        size = firing->shift;
    SM_TRY(low_pass(firing, stand, arena, err));
    firing->propellant_mass = stand->propellant_mass;
    firing->grain_temperature = stand->grain_temperature;
    firing->throat_diameter = stand->throat_diameter;
    firing->gain_uncertainty = stand->thrust.gain_uncertainty;
    firing->pressure_gain_uncertainty = stand->pressure.gain_uncertainty;
    firing->ambient_pressure = stand->ambient_pressure;
    SM_TRY(sm_firing_figures(firing, stand, burn_end, level_uncertainty(&w, firing, size), arena, err));
    const double seconds = firing->figures[SM_FIGURE_SPECIFIC_IMPULSE].value;
    if (sm_specific_impulse_is_odd(seconds))
        sm_firing_note(
            firing, "odd-impulse", 0,
            "a specific impulse of %.3g s is no solid propellant's (about 80 to 300 s): look at the "
            "propellant mass, and at the units of the thrust",
            seconds);
    return SM_OK;
}
