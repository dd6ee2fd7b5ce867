/* Thinning and clipping against slow and plain ways of doing the same. */
#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>

#include "base/fail.h"
#include "report/polyline.h"

static struct sm_arena arena;

static void start(void)
{
    sm_arena_init(&arena, NULL);
}

static void stop(void)
{
    sm_arena_release(&arena);
}

TestSuite(polyline, .init = start, .fini = stop);

static double draw(unsigned long long *state)
{
    *state = *state * 6364136223846793005ull + 1442695040888963407ull;
    return (double)(*state >> 11) / 9007199254740992.0;
}

enum { COLUMNS = 500, SAMPLES = 100000 };

struct reach {
    double lo, hi; /* [px] */
};

static void note_reach(struct reach *reach, const struct sm_spot *p)
{
    struct reach *r = &reach[(int)floor(p->x)];
    r->lo = fmin(r->lo, p->y);
    r->hi = fmax(r->hi, p->y);
}

/* Noise: in every pixel column the thinned curve reaches just as low and as high as all its samples do. */
Test(polyline, keeps_the_reach_of_each_column)
{
    static struct reach all[COLUMNS], kept[COLUMNS];
    for (int i = 0; i < COLUMNS; i++)
        all[i] = kept[i] = (struct reach){SM_INF, -SM_INF};
    unsigned long long state = 1;
    struct sm_polyline line;
    sm_polyline_begin(&line, &arena, 0.0);
    for (int i = 0; i < SAMPLES; i++) {
        const struct sm_spot p = {(double)i * COLUMNS / SAMPLES, 100.0 * draw(&state)};
        note_reach(all, &p);
        sm_polyline_add(&line, p);
    }
    cr_assert(sm_polyline_end(&line));
    cr_expect_leq(line.n, 4 * COLUMNS);
    for (size_t i = 0; i < line.n; i++)
        note_reach(kept, &line.points[i]);
    for (int i = 0; i < COLUMNS; i++)
        cr_assert(kept[i].lo == all[i].lo && kept[i].hi == all[i].hi, "column %d", i);
    for (size_t i = 1; i < line.n; i++)
        cr_assert_geq(line.points[i].x, line.points[i - 1].x, "samples stay in order");
}

static double distance_to_segment(struct sm_spot p, struct sm_spot a, struct sm_spot b)
{
    const double dx = b.x - a.x, dy = b.y - a.y, length2 = dx * dx + dy * dy;
    double t = length2 > 0.0 ? ((p.x - a.x) * dx + (p.y - a.y) * dy) / length2 : 0.0;
    t = fmax(0.0, fmin(1.0, t));
    return hypot(p.x - a.x - t * dx, p.y - a.y - t * dy);
}

/* A smooth curve, one sample to a column so that only the sleeve thins: no sample lies further from the curve left
 * than the tolerance, and few points are left. */
Test(polyline, stays_within_the_tolerance)
{
    enum { N = 1100 };
    static struct sm_spot p[N];
    struct sm_polyline line;
    sm_polyline_begin(&line, &arena, 0.1);
    for (int i = 0; i < N; i++) {
        p[i] = (struct sm_spot){i + 0.5, 300.0 + 200.0 * sin(i * 0.01) * exp(-i * 0.002)};
        sm_polyline_add(&line, p[i]);
    }
    cr_assert(sm_polyline_end(&line));
    cr_expect_leq(line.n, 150);
    cr_expect(line.points[0].x == p[0].x && line.points[line.n - 1].x == p[N - 1].x);
    for (int i = 0; i < N; i++) {
        double nearest = SM_INF;
        for (size_t k = 1; k < line.n; k++)
            nearest = fmin(nearest, distance_to_segment(p[i], line.points[k - 1], line.points[k]));
        cr_assert_leq(nearest, 0.1 + 1e-9, "sample %d", i);
    }
}

/* There and back again on one straight line: the turning point must stay. */
Test(polyline, keeps_a_point_of_return)
{
    struct sm_polyline line;
    sm_polyline_begin(&line, &arena, 0.1);
    for (int i = 0; i <= 20; i++)
        sm_polyline_add(&line, (struct sm_spot){i <= 10 ? 10.0 * i : 200.0 - 10.0 * i, 5.0});
    cr_assert(sm_polyline_end(&line));
    double furthest = 0.0;
    for (size_t i = 0; i < line.n; i++)
        furthest = fmax(furthest, line.points[i].x);
    cr_expect_eq(furthest, 100.0);
}

Test(polyline, breaks)
{
    struct sm_polyline line;
    sm_polyline_begin(&line, &arena, 0.1);
    sm_polyline_break(&line);
    sm_polyline_add(&line, (struct sm_spot){1.0, 1.0});
    sm_polyline_break(&line);
    sm_polyline_break(&line);
    for (int i = 0; i < 3; i++)
        sm_polyline_add(&line, (struct sm_spot){10.0 * i, 10.0 * (i % 2)});
    sm_polyline_break(&line);
    cr_assert(sm_polyline_end(&line));
    size_t at = 0, n;
    cr_assert_not_null(sm_polyline_piece(&line, &at, &n));
    cr_expect_eq(n, 1);
    cr_assert_not_null(sm_polyline_piece(&line, &at, &n));
    cr_expect_eq(n, 3);
    cr_expect_null(sm_polyline_piece(&line, &at, &n));

    sm_polyline_begin(&line, &arena, 0.1);
    cr_assert(sm_polyline_end(&line));
    at = 0;
    cr_expect_null(sm_polyline_piece(&line, &at, &n));
}

/* Against walking along the segment in small steps and seeing where it is inside. */
Test(polyline, clips_like_small_steps_do)
{
    enum { STEPS = 2000 };
    const struct sm_box box = {10.0, 20.0, 60.0, 40.0};
    unsigned long long state = 4;
    for (int i = 0; i < 2000; i++) {
        const struct sm_spot from = {90.0 * draw(&state), 90.0 * draw(&state)};
        const struct sm_spot to = {i % 7 == 0 ? from.x : 90.0 * draw(&state),
                                   i % 11 == 0 ? from.y : 90.0 * draw(&state)};
        double first = SM_NAN, last = SM_NAN;
        for (int k = 0; k <= STEPS; k++) {
            const double t = (double)k / STEPS, x = from.x + t * (to.x - from.x),
                         y = from.y + t * (to.y - from.y);
            if (x >= box.x && x <= box.x + box.w && y >= box.y && y <= box.y + box.h) {
                first = isnan(first) ? t : first;
                last = t;
            }
        }
        struct sm_spot a = from, b = to;
        const bool is_in = sm_polyline_clip(&box, &a, &b);
        const double step = hypot(to.x - from.x, to.y - from.y) / STEPS;
        if (!is_in) {
            cr_assert(isnan(first), "case %d", i);
            continue;
        }
        if (isnan(first)) { /* only a corner shorter than a step can be missed */
            cr_assert_leq(hypot(b.x - a.x, b.y - a.y), step, "case %d", i);
            continue;
        }
        cr_assert_leq(hypot(a.x - from.x - first * (to.x - from.x), a.y - from.y - first * (to.y - from.y)),
                      1.001 * step + 1e-9, "case %d", i);
        cr_assert_leq(hypot(b.x - from.x - last * (to.x - from.x), b.y - from.y - last * (to.y - from.y)),
                      1.001 * step + 1e-9, "case %d", i);
    }
}
