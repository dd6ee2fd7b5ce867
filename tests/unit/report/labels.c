/* Places of labels: what they must never do, on fields made for it. */
#include <criterion/criterion.h>
#include <math.h>

#include "base/fail.h"
#include "report/labels.h"

static struct sm_arena arena;
static struct sm_label_field field;
static const struct sm_box area = {100.0, 50.0, 600.0, 400.0};

static void start(void)
{
    sm_arena_init(&arena, NULL);
    cr_assert(sm_label_field_init(&field, &arena, area, 0.0, 3.0));
}

static void stop(void)
{
    sm_arena_release(&arena);
}

TestSuite(labels, .init = start, .fini = stop);

static double draw(unsigned long long *state)
{
    *state = *state * 6364136223846793005ull + 1442695040888963407ull;
    return (double)(*state >> 11) / 9007199254740992.0;
}

static bool overlap(const struct sm_box *a, const struct sm_box *b)
{
    return a->x < b->x + b->w && b->x < a->x + a->w && a->y < b->y + b->h && b->y < a->y + a->h;
}

Test(labels, never_overlap_nor_leave)
{
    enum { N = 60 };
    struct sm_box boxes[N];
    size_t n = 0;
    unsigned long long state = 1;
    for (int i = 0; i < N; i++) {
        struct sm_label_search s = {
            .w = 40.0 + 100.0 * draw(&state), .h = 20.0, .gap = 3.0, .own = SM_LABEL_ANY};
        const struct sm_spot p = {area.x + area.w * draw(&state), area.y + area.h * draw(&state)};
        sm_label_offer_round(&field, &s, p, 8.0, 4, 0.0);
        if (!s.found)
            continue;
        sm_label_take(&field, &s);
        cr_assert(s.box.x >= area.x && s.box.x + s.box.w <= area.x + area.w && s.box.y >= area.y &&
                  s.box.y + s.box.h <= area.y + area.h);
        for (size_t k = 0; k < n; k++)
            cr_assert_not(overlap(&s.box, &boxes[k]), "labels %zu and %zu", k, n);
        boxes[n++] = s.box;
    }
    cr_expect_geq(n, 30, "most of them find a place: %zu", n);
}

Test(labels, keep_off_curves)
{
    sm_label_mark_segment(&field, sm_label_curve(0), (struct sm_spot){100.0, 250.0},
                          (struct sm_spot){700.0, 250.0});
    struct sm_label_search s = {.w = 100.0, .h = 20.0, .gap = 3.0, .own = sm_label_curve(0)};
    sm_label_offer(&field, &s, 300.0, 240.0, 0.0, (struct sm_spot){0});
    cr_expect_not(s.found, "over its own curve");
    sm_label_offer(&field, &s, 300.0, 222.0, 0.0, (struct sm_spot){0});
    cr_expect(s.found, "above it");

    struct sm_label_search may = {.w = 100.0, .h = 20.0, .gap = 3.0, .own = SM_LABEL_ANY, .may_cross = true};
    sm_label_offer(&field, &may, 300.0, 240.0, 0.0, (struct sm_spot){0});
    cr_expect(may.found && may.crosses);
    sm_label_offer(&field, &may, 300.0, 100.0, 500.0, (struct sm_spot){0});
    cr_expect_not(may.crosses, "a free place is better, even at a distance");
}

/* Two curves 40 px apart: between them a label belongs to the nearer. */
Test(labels, name_the_nearest_curve)
{
    sm_label_mark_segment(&field, sm_label_curve(0), (struct sm_spot){100.0, 200.0},
                          (struct sm_spot){700.0, 200.0});
    sm_label_mark_segment(&field, sm_label_curve(1), (struct sm_spot){100.0, 240.0},
                          (struct sm_spot){700.0, 240.0});
    for (int below = 0; below < 2; below++) {
        struct sm_label_search s = {.w = 100.0, .h = 18.0, .gap = 3.0, .own = sm_label_curve(below ? 1 : 0)};
        sm_label_offer(&field, &s, 300.0, below ? 206.0 : 217.0, 0.0, (struct sm_spot){0});
        cr_expect_not(s.found, "nearer to the wrong one");
        sm_label_offer(&field, &s, 300.0, below ? 217.0 : 206.0, 0.0, (struct sm_spot){0});
        cr_expect(s.found, "nearer to its own");
    }
}

Test(labels, stay_beside_their_curve)
{
    sm_label_mark_segment(&field, sm_label_curve(0), (struct sm_spot){100.0, 400.0},
                          (struct sm_spot){700.0, 400.0});
    struct sm_label_search s = {.w = 100.0, .h = 20.0, .gap = 3.0, .own = sm_label_curve(0)};
    sm_label_offer(&field, &s, 300.0, 100.0, 0.0, (struct sm_spot){0});
    cr_expect_not(s.found, "far from everything it names nothing");
}

Test(labels, curves_past_the_last_bit_share_it)
{
    cr_expect_eq(sm_label_curve(0), 1u);
    cr_expect_eq(sm_label_curve(SM_LABEL_CURVES - 1), sm_label_curve(1000));
    cr_expect_eq(sm_label_curve(1000) & (SM_LABEL_SOFT | SM_LABEL_TAKEN), 0u);
}

Test(labels, take_odd_segments)
{
    const struct sm_spot inside = {300.0, 200.0}, nowhere = {SM_NAN, 100.0}, far = {1e9, -1e9},
                         endless = {SM_INF, 0.0};
    sm_label_mark_segment(&field, 1u, inside, nowhere);
    sm_label_mark_segment(&field, 1u, inside, endless);
    sm_label_mark_segment(&field, 1u, far, far);
    for (size_t i = 0; i < field.nx * field.ny; i++)
        cr_assert_eq(field.cells[i], 0u);
    sm_label_mark_segment(&field, 1u, inside, far);
    size_t n = 0;
    for (size_t i = 0; i < field.nx * field.ny; i++)
        n += field.cells[i] != 0;
    cr_expect_geq(n, 40, "the part inside is marked: %zu cells", n);
}
