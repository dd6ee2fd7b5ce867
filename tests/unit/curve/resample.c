/* Choice of knots and keeping of totals, against what can be worked out by hand: areas of triangles and rectangles. */
#include "curve/resample.h"
#include "curve/curve.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { N = 401 };

struct sampled {
    double time[N], y[N]; /* [s], [N] */
};

/* A rise, a sagging plateau, a fall and a tail. */
static void shape(struct sampled *s)
{
    for (int i = 0; i < N; i++) {
        const double t = 0.01 * i;
        s->time[i] = t;
        s->y[i] = t < 0.1   ? 1000.0 * t
                  : t < 3.0 ? 100.0 + 20.0 * sin(t)
                            : (120.0 - 20.0) * exp(-8.0 * (t - 3.0));
    }
    s->y[0] = s->y[N - 1] = 0.0;
}

static size_t rank(const struct sampled *s, const size_t *forced, size_t n_forced, size_t order[N])
{
    struct sm_arena arena;
    size_t n_kept = 0;
    const struct sm_resample_column column = {s->y, 120.0};
    sm_arena_init(&arena, NULL);
    cr_assert(sm_resample_rank(s->time, N, &column, 1, forced, n_forced, &arena, order, &n_kept, NULL) ==
              SM_OK);
    sm_arena_release(&arena);
    return n_kept;
}

static int by_place(const void *a, const void *b)
{
    const size_t x = *(const size_t *)a, y = *(const size_t *)b;
    return (x > y) - (x < y);
}

/* Largest miss of the lines through the first m of the order [N]. */
static double miss(const struct sampled *s, const size_t *order, size_t m)
{
    size_t rows[N];
    double t[N], y[N], at;
    memcpy(rows, order, m * sizeof *rows);
    qsort(rows, m, sizeof *rows, by_place);
    for (size_t i = 0; i < m; i++) {
        t[i] = s->time[rows[i]];
        y[i] = s->y[rows[i]];
    }
    return sm_resample_deviation(s->time, s->y, N, t, y, m, &at);
}

Test(resample, every_sample_is_ranked_once_and_forced_ones_first)
{
    struct sampled s;
    size_t order[N];
    char seen[N] = {0};
    const size_t forced[] = {200, 7, 200};
    shape(&s);
    cr_assert(rank(&s, forced, 3, order) == 4);
    cr_expect(order[0] == 0 && order[1] == 7 && order[2] == 200 && order[3] == N - 1);
    for (size_t i = 0; i < N; i++)
        cr_assert(order[i] < N && !seen[order[i]]++);
}

/* Straight lines that miss a curve of curvature y'' by e need knots about sqrt(8 e / y'') apart, so four times the knots
 * miss sixteen times less; the tail's exponential asks for more. (Interpolation error, any numerical analysis text.) */
Test(resample, more_knots_miss_less_at_second_order)
{
    struct sampled s;
    size_t order[N];
    shape(&s);
    rank(&s, NULL, 0, order);
    const double coarse = miss(&s, order, 20), fine = miss(&s, order, 80);
    cr_expect(coarse < 2.0, "20 knots miss by %g", coarse);
    cr_expect(fine < coarse / 10.0, "80 knots miss by %g, 20 by %g", fine, coarse);
    cr_expect(miss(&s, order, N) == 0.0);
}

Test(resample, straight_stretches_need_only_their_corners)
{
    struct sampled s;
    size_t order[N];
    for (int i = 0; i < N; i++) {
        s.time[i] = 0.01 * i;
        s.y[i] = i < 100 ? (double)i : i < 300 ? 100.0 : 400.0 - (double)i;
    }
    rank(&s, NULL, 0, order);
    cr_expect(miss(&s, order, 4) < 1e-12); /* two ends, two corners */
}

Test(resample, total_is_kept_by_one_factor)
{
    /* A triangle of base 4 s and height 10 N has 20 N s; half of it is wanted with no cap in the way. */
    const double time[] = {0.0, 1.0, 2.0, 4.0};
    double y[] = {0.0, 5.0, 10.0, 0.0};
    cr_assert(sm_resample_conserve(time, y, 4, 10.0, SM_INF));
    cr_expect_float_eq(sm_curve_integral(time, y, 4, 0.0, 4.0), 10.0, 1e-12);
    cr_expect_float_eq(y[1], 2.5, 1e-12);
    cr_expect_float_eq(y[2], 5.0, 1e-12);
}

Test(resample, the_cap_stands_and_the_rest_makes_up)
{
    /* Knots 1 s apart: the integral is the sum of the inner values. 10 stays; 9 and 4 must become 10 and 8. */
    const double time[] = {0.0, 1.0, 2.0, 3.0, 4.0};
    double y[] = {0.0, 9.0, 10.0, 4.0, 0.0};
    cr_assert(sm_resample_conserve(time, y, 5, 28.0, 10.0));
    cr_expect_float_eq(y[1], 10.0, 1e-12);
    cr_expect_float_eq(y[2], 10.0, 1e-12);
    cr_expect_float_eq(y[3], 8.0, 1e-12);
    cr_expect(y[0] == 0.0 && y[4] == 0.0);
}

Test(resample, what_can_not_be_kept_is_said)
{
    const double time[] = {0.0, 1.0, 2.0};
    double peak_alone[] = {0.0, 10.0, 0.0};
    cr_expect(!sm_resample_conserve(time, peak_alone, 3, 9.0, 10.0), "nothing but the peak could move");
    double right[] = {0.0, 10.0, 0.0};
    cr_expect(sm_resample_conserve(time, right, 3, 10.0, 10.0));
    double too_much[] = {0.0, 5.0, 0.0};
    cr_expect(!sm_resample_conserve(time, too_much, 3, 11.0, 10.0), "more than the cap allows");
    const double four[] = {0.0, 1.0, 2.0, 3.0};
    double too_little[] = {0.0, 10.0, 1.0, 0.0};
    cr_expect(!sm_resample_conserve(four, too_little, 4, 9.0, 10.0), "would need a value below zero");
}

Test(resample, deviation_is_found_where_it_is)
{
    const double time[] = {0.0, 1.0, 2.0, 3.0}, y[] = {0.0, 4.0, 1.0, 0.0};
    const double knot_time[] = {0.0, 3.0}, knots[] = {0.0, 0.0};
    double at = -1.0;
    cr_expect(sm_resample_deviation(time, y, 4, knot_time, knots, 2, &at) == 4.0);
    cr_expect(at == 1.0);
}
