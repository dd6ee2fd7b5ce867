#include "grain/voids.h"

#include <math.h>
#include <stdlib.h>

#include "grain/facets.h"
#include "grain/shape.h"
#include "num/parallel.h"

static const double LEAST_PORT = 1e-6; /* share of the circle that still is a port, no rounding [1] */
static const double SLACK = 1e-6;      /* voids that come so near meet [share of the radius] */
static const double SHORTEST = 0.0025; /* stretch that is still halved [share of the web] */
static const double BESIDE =
    4e-9; /* a stretch is looked at from so far inside its ends [share of the radius]: more than
                                          coincident surfaces are told apart by */

/* ---- what must hold ---- */

static struct sm_solid cylinder(double z, double radius, double length)
{
    struct sm_solid s = {.form = SM_SOLID_CONE, .at = {0.0, 0.0, z}, .a = radius, .b = radius, .c = length};
    sm_solid_aim(&s, 0.0, 0.0, 0.0);
    return s;
}

static enum sm_status refuse(struct sm_error *err, const struct sm_patcher *p, size_t i, const char *words)
{
    return sm_at(err, sm_fail(err, SM_E_GEOMETRY, "%s", words), "/voids/%zu", p->entry[i]);
}

/* Every void must lie in the grain, at least in part, and lead to one of its ends by itself or through others. */
static enum sm_status check_open(struct sm_arena *scratch, const struct sm_patcher *p, struct sm_error *err)
{
    const struct sm_voids *v = p->voids;
    const double slack = SLACK * v->radius;
    const struct sm_solid grain = cylinder(0.0, v->radius, v->length),
                          fore = cylinder(-slack, v->radius, slack),
                          aft = cylinder(v->length, v->radius, slack);
    int *is_open = sm_arena_alloc(scratch, p->n, sizeof *is_open);
    size_t *queue = sm_arena_alloc(scratch, p->n, sizeof *queue), n = 0;
    if (!is_open || !queue)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < p->n; i++) {
        const struct sm_solid *s = &p->solids[i];
        if (sm_solid_gap(s, &grain, slack) > 0.0)
            return refuse(err, p, i, "this void lies outside the grain");
        is_open[i] = sm_solid_gap(s, &fore, slack) == 0.0 || sm_solid_gap(s, &aft, slack) == 0.0;
        if (is_open[i])
            queue[n++] = i;
    }
    for (size_t k = 0; k < n; k++)
        for (size_t j = 0; j < p->n; j++)
            if (!is_open[j] && sm_solid_gap(&p->solids[queue[k]], &p->solids[j], slack) == 0.0) {
                is_open[j] = 1;
                queue[n++] = j;
            }
    for (size_t i = 0; i < p->n; i++)
        if (!is_open[i])
            return refuse(
                err, p, i,
                "this void is closed off: neither it nor the voids it meets reach an end of the grain");
    return SM_OK;
}

static enum sm_status check_faces(const struct sm_voids *v, struct sm_error *err)
{
    if (!(v->burning & SM_FACE_BORE) || v->burning & SM_FACE_OUTER)
        return sm_at(
            err,
            sm_fail(
                err, SM_E_GEOMETRY,
                "in this shape the bore must burn, and the outer face can't: fronts would go round edges of "
                "the voids, where straight lines are wrong"),
            "/burning");
    return SM_OK;
}

/* ---- levels ---- */

struct levels {
    const struct sm_patcher *patcher;
    const double *w; /* [m] */
    struct sm_patch_sums *sums;
};

static void one_level(void *user, int worker, size_t i)
{
    (void)worker;
    const struct levels *l = user;
    sm_patcher_level(l->patcher, l->w[i], &l->sums[i]);
}

struct maker {
    struct sm_arena *scratch;
    const struct sm_patcher *patcher;
    int threads;
    double web;       /* [m] */
    double top;       /* largest area met [m2] */
    double tolerance; /* share of it [1] */
    double worst;     /* error of an accepted stretch [m2] */
    bool is_astray;   /* some fronts don't start from the solids' own surfaces */
    struct sm_error *err;
};

static enum sm_status ask(struct maker *m, const double *w, size_t n, struct sm_patch_sums *sums)
{
    struct levels levels = {m->patcher, w, sums};
    sm_parallel_for(n, m->threads, one_level, &levels, NULL);
    for (size_t i = 0; i < n; i++) {
        m->top = fmax(m->top, sums[i].front[SM_VOLUME]);
        m->is_astray = sums[i].astray;
        if (sums[i].astray)
            return sm_at(m->err,
                         sm_fail(m->err, SM_E_GEOMETRY,
                                 "%.4g mm from this void the front is not reached by a straight line within "
                                 "the grain: the void cuts the wall aslant; keep it within the wall",
                                 1e3 * w[i]),
                         "/voids/%zu", sums[i].astray - 1);
    }
    return SM_OK;
}

static double beside(const struct maker *m)
{
    return BESIDE * m->patcher->voids->radius;
}

/* The last distance at which there is a front. */
static enum sm_status find_web(struct maker *m)
{
    enum { LOOKS = 8, ROUNDS = 16 };
    const struct sm_voids *v = m->patcher->voids;
    double some = 0.0, none = hypot(2.0 * v->radius, v->length), w[LOOKS];
    struct sm_patch_sums sums[LOOKS];
    for (int round = 0; round < ROUNDS; round++) {
        for (int i = 0; i < LOOKS; i++)
            w[i] = some + (none - some) * (i + 1) / (LOOKS + 1);
        SM_TRY(ask(m, w, LOOKS, sums));
        int last = LOOKS - 1;
        while (last >= 0 && !(sums[last].front[SM_VOLUME] > 0.0))
            last--;
        none = last + 1 < LOOKS ? w[last + 1] : none;
        some = last >= 0 ? w[last] : some;
    }
    m->web = none;
    if (some <= SLACK * v->radius)
        return sm_at(m->err, sm_fail(m->err, SM_E_GEOMETRY, "the voids leave nothing of the grain to burn"),
                     "/voids");
    return SM_OK;
}

/* ---- stretches ---- */

/* Places of Chebyshev's kind, in w. A quartic in w goes through some of them, or, next to a tangency, a cubic in the root of the
 * distance from it: one less, for w itself is of the second degree there. The rest check it. */
enum { NODES = 9, FITTED = 5, PACES = 3 };
static const struct {
    int n, nodes[FITTED];
} fitted[PACES] = {[SM_EVEN] = {5, {0, 2, 4, 6, 8}},
                   [SM_ROOT_BEFORE] = {4, {0, 2, 5, 8}},
                   [SM_ROOT_BEHIND] = {4, {0, 3, 6, 8}}};

struct stretch {
    double a, b; /* [m] */
    enum sm_pace pace;
    double slope[SM_N_INTEGRALS][FITTED]; /* coefficients in u of each integral's slope [m2], [m3], [m4] */
    double first, last;                   /* area at its ends [m2] */
    bool is_short, is_done;
};

static double node(int j)
{
    return 0.5 * (1.0 - cos(M_PI * j / (NODES - 1)));
}

/* u at a node. */
static double place_of(enum sm_pace pace, int j)
{
    const double x = node(j);
    return pace == SM_EVEN ? x : sqrt(pace == SM_ROOT_BEFORE ? x : 1.0 - x);
}

static double poly(const double c[FITTED], double u)
{
    return c[0] + u * (c[1] + u * (c[2] + u * (c[3] + u * c[4])));
}

/* The polynomial through a pace's nodes, by Newton's differences. */
static void interpolate(const double y[NODES], enum sm_pace pace, double c[FITTED])
{
    const int n = fitted[pace].n;
    double x[FITTED], d[FITTED];
    for (int i = 0; i < n; i++) {
        x[i] = place_of(pace, fitted[pace].nodes[i]);
        d[i] = y[fitted[pace].nodes[i]];
    }
    for (int k = 1; k < n; k++)
        for (int i = n - 1; i >= k; i--)
            d[i] = (d[i] - d[i - 1]) / (x[i] - x[i - k]);
    for (int i = 0; i < FITTED; i++)
        c[i] = 0.0;
    for (int k = n - 1; k >= 0; k--) { /* c = c (u - x_k) + d_k */
        for (int i = n - 1; i > 0; i--)
            c[i] = c[i - 1] - x[k] * c[i];
        c[0] = d[k] - x[k] * c[0];
    }
}

/* Moments are weighed by a length that no coordinate exceeds. */
static double weight_of(const struct sm_voids *v, int integral)
{
    const double reach = fmax(v->radius, v->length);
    return integral == SM_VOLUME ? 1.0 : integral <= SM_Z ? 1.0 / reach : 1.0 / (reach * reach);
}

/* Returned: the largest error at the nodes, as an area [m2]. */
static double fit_pace(const struct maker *m, struct stretch *s, enum sm_pace pace,
                       const struct sm_patch_sums *sums)
{
    double worst = 0.0;
    s->pace = pace;
    for (int i = 0; i < SM_N_INTEGRALS; i++) {
        double y[NODES];
        for (int j = 0; j < NODES; j++)
            y[j] = -sums[j].front[i];
        interpolate(y, pace, s->slope[i]);
        for (int j = 0; j < NODES; j++)
            worst = fmax(worst,
                         weight_of(m->patcher->voids, i) * fabs(poly(s->slope[i], place_of(pace, j)) - y[j]));
    }
    return worst;
}

/* Fits a stretch to its levels at the pace that does best. Returned: its error [m2]. */
static double fit(const struct maker *m, struct stretch *s, const struct sm_patch_sums *sums)
{
    double worst = fit_pace(m, s, SM_EVEN, sums);
    for (int pace = SM_EVEN + 1; pace < PACES && worst > m->tolerance * m->top; pace++) {
        struct stretch other = *s;
        const double error = fit_pace(m, &other, (enum sm_pace)pace, sums);
        if (error < worst) {
            *s = other;
            worst = error;
        }
    }
    s->first = sums[0].front[SM_VOLUME];
    s->last = sums[NODES - 1].front[SM_VOLUME];
    return worst;
}

/* Where in a short stretch the area jumps; NaN if it only runs steeply. */
static enum sm_status find_jump(struct maker *m, const struct stretch *s, double *at)
{
    double a = s->a + beside(m), b = s->b - beside(m), fa = s->first, fb = s->last;
    *at = SM_NAN;
    while (b - a > 0.1 * beside(m)) {
        const double w = 0.5 * (a + b);
        struct sm_patch_sums sums;
        SM_TRY(ask(m, &w, 1, &sums));
        const double f = sums.front[SM_VOLUME];
        if (fabs(f - fa) > fabs(fb - f)) {
            b = w;
            fb = f;
        } else {
            a = w;
            fa = f;
        }
    }
    if (fabs(fb - fa) > 0.5 * fabs(s->last - s->first))
        *at = 0.5 * (a + b);
    return SM_OK;
}

/* All stretches, in no order; room for as many as halving can make. */
struct plan {
    struct stretch *items;
    size_t n, room;
};

static enum sm_status add_stretch(struct maker *m, struct plan *plan, double a, double b, bool is_short)
{
    struct stretch *items =
        sm_arena_grow(m->scratch, plan->items, plan->n, &plan->room, plan->n + 1, sizeof *items);
    if (!items)
        return sm_fail(m->err, SM_E_NOMEM, "out of memory");
    plan->items = items;
    items[plan->n++] = (struct stretch){.a = a, .b = b, .is_short = is_short};
    return SM_OK;
}

/* Keeps a stretch that is good enough, or cuts it in two. */
static enum sm_status settle(struct maker *m, struct plan *plan, size_t i, const struct sm_patch_sums *sums)
{
    struct stretch s = plan->items[i];
    const double error = fit(m, &s, sums);
    const bool is_good = error <= m->tolerance * m->top;
    double at = 0.5 * (s.a + s.b);
    bool is_short = s.is_short;
    if (!is_good && !is_short && s.b - s.a < SHORTEST * m->web) {
        is_short = true;
        SM_TRY(find_jump(m, &s, &at));
        if (!(at - s.a > 10.0 * beside(m) && s.b - at > 10.0 * beside(m)))
            at = SM_NAN;
    }
    if (is_good || s.is_short || isnan(at)) {
        s.is_done = true;
        plan->items[i] = s;
        m->worst = fmax(m->worst, error);
        return SM_OK;
    }
    plan->items[i] = (struct stretch){.a = s.a, .b = at, .is_short = is_short};
    return add_stretch(m, plan, at, s.b, is_short);
}

static enum sm_status settle_all(struct maker *m, struct plan *plan)
{
    for (;;) {
        const size_t n = plan->n;
        size_t n_open = 0;
        double *w = sm_arena_alloc(m->scratch, n * NODES, sizeof *w);
        size_t *which = sm_arena_alloc(m->scratch, n, sizeof *which);
        struct sm_patch_sums *sums = sm_arena_alloc(m->scratch, n * NODES, sizeof *sums);
        if (!w || !which || !sums)
            return sm_fail(m->err, SM_E_NOMEM, "out of memory");
        for (size_t i = 0; i < n; i++) {
            const struct stretch *s = &plan->items[i];
            if (s->is_done)
                continue;
            for (int j = 0; j < NODES; j++) {
                const double inset = beside(m);
                w[NODES * n_open + (size_t)j] = s->a + inset + (s->b - s->a - 2.0 * inset) * node(j);
            }
            which[n_open++] = i;
        }
        if (n_open == 0)
            return SM_OK;
        SM_TRY(ask(m, w, n_open * NODES, sums));
        for (size_t k = 0; k < n_open; k++)
            SM_TRY(settle(m, plan, which[k], &sums[NODES * k]));
    }
}

/* ---- events that can be told beforehand ---- */

/* Farthest that a solid reaches from the axis [m]: its extent in the best direction across. */
static double reach_of(const struct sm_solid *s)
{
    enum { LOOKS = 64, STEPS = 60 };
    double best = 0.0, at = 0.0, step = 2.0 * M_PI / LOOKS;
    for (int i = 0; i < LOOKS; i++) {
        const double r = sm_solid_extent(s, (struct sm_triple){cos(i * step), sin(i * step), 0.0});
        if (r > best) {
            best = r;
            at = i * step;
        }
    }
    for (int i = 0; i < STEPS; i++, step *= 0.6)
        for (int way = -1; way <= 1; way += 2) {
            const double turn = at + 0.5 * way * step;
            const double r = sm_solid_extent(s, (struct sm_triple){cos(turn), sin(turn), 0.0});
            if (r > best) {
                best = r;
                at = turn;
            }
        }
    return best;
}

static int rising(const void *a, const void *b)
{
    const struct stretch *s = a, *t = b;
    return (s->a > t->a) - (s->a < t->a);
}

static int rising_number(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Events of the turned bodies' own fronts that are to be cut. */
static size_t list_turned(const struct sm_patcher *p, double *w)
{
    size_t n = 0;
    for (size_t i = 0; i < p->n; i++) {
        const struct sm_turned *t = p->solids[i].turned;
        for (size_t k = 0; t && p->share[i] && k < t->stages.n; k++, n++)
            if (w)
                w[n] = t->stages.items[k].w1;
    }
    return n;
}

/* When parallel surfaces first touch the wall, an end, or each other. */
static enum sm_status find_breaks(struct maker *m, struct plan *plan)
{
    const struct sm_patcher *p = m->patcher;
    const struct sm_voids *v = p->voids;
    const double fore = v->burning & SM_FACE_FORE_END ? 0.5 : 1.0,
                 aft = v->burning & SM_FACE_AFT_END ? 0.5 : 1.0;
    const struct sm_triple down = {0.0, 0.0, -1.0}, up = {0.0, 0.0, 1.0};
    double *w = sm_arena_alloc(m->scratch, 3 + p->n * (3 + p->n) + list_turned(p, NULL), sizeof *w);
    if (!w)
        return sm_fail(m->err, SM_E_NOMEM, "out of memory");
    size_t n = list_turned(p, w);
    w[n++] = 0.0;
    w[n++] = m->web;
    w[n++] = 0.5 * v->length;
    for (size_t i = 0; i < p->n; i++) {
        const struct sm_solid *s = &p->solids[i];
        if (!p->share[i])
            continue;
        w[n++] = v->radius - reach_of(s);
        w[n++] = -fore * sm_solid_extent(s, down);
        w[n++] = aft * (v->length - sm_solid_extent(s, up));
        for (size_t j = 0; j < p->n; j++)
            if (j > i || (j < i && !p->share[j]))
                w[n++] = 0.5 * sm_solid_gap(s, &p->solids[j], SLACK * v->radius);
    }
    qsort(w, n, sizeof *w, rising_number);
    double last = 0.0;
    for (size_t i = 0; i < n; i++) {
        if (w[i] > m->web || w[i] - last < 1e-4 * m->web || (w[i] < m->web && m->web - w[i] < 1e-4 * m->web))
            continue;
        SM_TRY(add_stretch(m, plan, last, w[i], false));
        last = w[i];
    }
    return SM_OK;
}

/* ---- the table ---- */

/* The integral along a piece of a stretch's slope: dw is (b - a) du at the even pace, else twice u times that, backwards from a root
 * behind. c[0] is left to the caller. */
static void integrate(const struct stretch *s, int integral, double c[FITTED + 1])
{
    const double *slope = s->slope[integral], length = s->b - s->a;
    c[1] = 0.0;
    for (int j = 1; j <= FITTED; j++)
        if (s->pace == SM_EVEN)
            c[j] = length * slope[j - 1] / j;
        else if (j > 1)
            c[j] = (s->pace == SM_ROOT_BEFORE ? 2.0 : -2.0) * length * slope[j - 2] / j;
}

/* From the web back, so that nothing is left there. */
static enum sm_status make_pieces(struct maker *m, struct plan *plan, struct sm_arena *arena,
                                  struct sm_geometry *g)
{
    qsort(plan->items, plan->n, sizeof *plan->items, rising);
    g->pieces = sm_arena_alloc(arena, plan->n, sizeof *g->pieces);
    if (!g->pieces)
        return sm_fail(m->err, SM_E_NOMEM, "out of memory");
    g->n_pieces = plan->n;
    double after[SM_N_INTEGRALS] = {0.0};
    for (size_t k = plan->n; k-- > 0;) {
        const struct stretch *s = &plan->items[k];
        struct sm_piece *piece = &g->pieces[k];
        *piece = (struct sm_piece){.w0 = s->a, .w1 = s->b, .pace = s->pace};
        if (s->pace != SM_EVEN) {
            piece->root = s->pace == SM_ROOT_BEFORE ? s->a : s->b;
            piece->far = sqrt(s->b - s->a);
        }
        for (int i = 0; i < SM_N_INTEGRALS; i++) {
            double sum = 0.0;
            integrate(s, i, piece->c[i]);
            for (int j = FITTED; j > 0; j--)
                sum += piece->c[i][j];
            piece->c[i][0] = s->pace == SM_ROOT_BEHIND ? after[i] : after[i] - sum;
            after[i] = s->pace == SM_ROOT_BEHIND ? after[i] + sum : piece->c[i][0];
        }
    }
    return SM_OK;
}

/* The area's error at a few levels, by twice the fineness: the difference is three quarters of it. */
static enum sm_status estimate(struct maker *m, double *error)
{
    enum { LOOKS = 8 };
    struct sm_voids fine = *m->patcher->voids;
    struct sm_patcher patcher;
    struct sm_patch_sums sums[LOOKS], finer[LOOKS];
    double w[LOOKS];
    fine.fineness *= 2;
    SM_TRY(sm_patcher_init(m->scratch, &fine, &patcher, m->err));
    for (int i = 0; i < LOOKS; i++)
        w[i] = m->web * (i + 0.47) / LOOKS;
    SM_TRY(ask(m, w, LOOKS, sums));
    struct levels levels = {&patcher, w, finer};
    sm_parallel_for(LOOKS, m->threads, one_level, &levels, NULL);
    *error = 0.0;
    for (int i = 0; i < LOOKS; i++)
        *error = fmax(*error, 4.0 / 3.0 * fabs(sums[i].front[SM_VOLUME] - finer[i].front[SM_VOLUME]));
    return SM_OK;
}

static double port_of(const struct maker *m)
{
    const double circle = M_PI * m->patcher->voids->radius * m->patcher->voids->radius;
    const double port = circle - sm_patcher_aft_area(m->patcher);
    return port > LEAST_PORT * circle ? port : 0.0;
}

static enum sm_status make_table(struct maker *m, struct sm_arena *arena, struct sm_geometry *out)
{
    const struct sm_voids *v = m->patcher->voids;
    const double circle = M_PI * v->radius * v->radius;
    struct plan plan = {.items = NULL};
    double error = 0.0;
    SM_TRY(check_open(m->scratch, m->patcher, m->err));
    SM_TRY(find_web(m));
    SM_TRY(find_breaks(m, &plan));
    SM_TRY(settle_all(m, &plan));
    SM_TRY(estimate(m, &error));
    *out = (struct sm_geometry){.length = v->length,
                                .outer_radius = v->radius,
                                .envelope = circle * v->length,
                                .port_area = port_of(m)};
    SM_TRY(make_pieces(m, &plan, arena, out));
    out->accuracy = (m->worst + error) / m->top;
    sm_geometry_finish(out);
    return SM_OK;
}

/* A port that leaves aslant through an end burns from what lies within the grain, which is cut as a mesh. One that cuts the wall
 * stays refused, in the words said before. */
static enum sm_status make_by_facets(struct maker *m, struct sm_arena *arena, enum sm_status said,
                                     struct sm_geometry *out)
{
    const struct sm_voids *v = m->patcher->voids;
    struct sm_meshport port;
    struct sm_error other = {0};
    SM_TRY(sm_voids_facets(m->scratch, v, &port, m->err));
    const enum sm_status status =
        sm_meshport_geometry(arena, &port, v->radius, v->length, v->burning, out, &other);
    if (status == SM_E_GEOMETRY)
        return said;
    if (status == SM_OK)
        out->port_area = port_of(m);
    else if (status == SM_E_RANGE)
        return sm_at(m->err, sm_fail(m->err, SM_E_RANGE, "%s", other.message), "/fineness");
    else if (status != SM_OK)
        return sm_fail(m->err, status, "%s", other.message);
    return status;
}

enum sm_status sm_voids_geometry(struct sm_arena *arena, const struct sm_voids *voids, int threads,
                                 struct sm_geometry *out, struct sm_error *err)
{
    SM_TRY(check_faces(voids, err));
    struct sm_arena scratch;
    struct sm_patcher patcher;
    sm_arena_init(&scratch, arena->allocator);
    enum sm_status status = sm_patcher_init(&scratch, voids, &patcher, err);
    struct maker m = {.scratch = &scratch,
                      .patcher = &patcher,
                      .threads = threads,
                      .tolerance = 0.3 / ((double)voids->fineness * voids->fineness),
                      .err = err};
    if (status == SM_OK)
        status = make_table(&m, arena, out);
    if (m.is_astray && sm_voids_lean_out(voids))
        status = make_by_facets(&m, arena, status, out);
    sm_arena_release(&scratch);
    return status;
}
