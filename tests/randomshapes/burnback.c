/*
 * Random grains: stars and slotted tubes against closed forms of their perimeter, bore profiles against the sum of their own
 * areas, inhibited
 * sleeves in a bore against arcs about their edges, all with memory watched.
 *
 *     random_burnback stars|slots|profiles|sleeves COUNT [FIRST]
 *
 * Shape i is drawn from the seed i alone, so `random_burnback stars 1 I` repeats one. Exit: 0 if none is worse than the
 * tolerance, 1 if one is, 2 for wrong arguments. The worst is printed, and every one beyond the tolerance.
 */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "draw.h"
#include "grain/shape.h"

/* Share of the circumference by which a perimeter may miss its closed form [1]. */
static const double TOLERANCE = 1e-9;

/* The same of the volume, for fronts followed round edges in 128 boxes to the radius. Where bare stretches all reach the wall
 * at once the area jumps, and the table ramps over a box: half a box of a wall 2 pi R L is 1/128 of pi R^2 L [1]. */
static const double BENT_TOLERANCE = 1.0 / 128.0;

/* What making one table may take [bytes]: hundreds of times the usual. */
static const size_t MOST_MEMORY = (size_t)256 << 20;

enum { LEVELS = 40 };

/* ---- memory ---- */

struct meter {
    size_t used, most; /* [bytes] */
};

/* Every block begins with its own size. */
union block {
    size_t size;
    max_align_t align;
};

static void *take(void *user, size_t size)
{
    struct meter *meter = user;
    if (meter->used + size > MOST_MEMORY)
        return NULL;
    union block *b = malloc(sizeof *b + size);
    if (!b)
        return NULL;
    b->size = size;
    meter->used += size;
    meter->most = meter->used > meter->most ? meter->used : meter->most;
    return b + 1;
}

static void give(void *user, void *at)
{
    struct meter *meter = user;
    if (!at)
        return;
    union block *b = (union block *)at - 1;
    meter->used -= b->size;
    free(b);
}

/* ---- blocks of parameters ---- */

static void set_fallbacks(const struct sm_shape *shape, void *block)
{
    for (size_t i = 0; i < shape->n_params; i++) {
        const struct sm_param *row = &shape->params[i];
        void *at = (char *)block + row->offset;
        if (row->kind == SM_QUANTITY)
            *(double *)at = row->fallback;
    }
}

static void *place_of(const struct sm_shape *shape, void *block, const char *name)
{
    for (size_t i = 0; i < shape->n_params; i++)
        if (strcmp(shape->params[i].name, name) == 0)
            return (char *)block + shape->params[i].offset;
    fprintf(stderr, "%s has no %s\n", shape->name, name);
    exit(2);
}

static void set(const struct sm_shape *shape, void *block, const char *name, double value)
{
    *(double *)place_of(shape, block, name) = value;
}

/* ---- closed forms, of half a sector in a circle of radius 1 ---- */

/* Of a circle of radius r about a point at distance l from the axis, the angle from straight outwards within which it lies
 * beyond the wall. From half the angle: the cosine would lose what is near nothing. */
static double beyond_wall(double l, double r)
{
    const double sine2 = (l + r - 1.0) * (l + r + 1.0) / (4.0 * l * r);
    return sine2 <= 0.0 ? 0.0 : 2.0 * asin(fmin(sqrt(sine2), 1.0));
}

/* A star's fillets have their centres at l, at the angle eps s from the ray through the propellant's point. */
struct star {
    int n;
    double l, f, eps, h; /* [m], [m], [1], [rad] */
};

/* Until the wall is met: M. Barrere et al., Rocket Propulsion (Elsevier, 1960), ch. 6 (from memory). Beyond it each arc and
 * flank ends at the wall, by the cosine rule. */
static double star_perimeter(const struct star *p, double w)
{
    const double s = M_PI / p->n, r = p->f + w, across = p->l * sin(p->eps * s),
                 along = p->l * cos(p->eps * s);
    const double from = beyond_wall(p->l, r);
    double sum = p->l + r < 1.0 ? (p->l + r) * (1.0 - p->eps) * s : 0.0;
    if (r >= across / cos(p->h)) /* the flanks are used up */
        return 2 * p->n * (sum + r * fmax(p->eps * s + asin(fmin(across / r, 1.0)) - from, 0.0));
    sum += r * fmax(M_PI_2 + p->eps * s - p->h - from, 0.0);
    const double point = along - across / tan(p->h) + r / sin(p->h), sine = point * sin(p->h);
    const double flank = across / sin(p->h) - r / tan(p->h);
    const double to_wall = sine < 1.0 ? sqrt((1.0 - sine) * (1.0 + sine)) - point * cos(p->h) : 0.0;
    return 2 * p->n * (sum + fmax(fmin(flank, to_wall), 0.0));
}

/* A bore of radius a and slots of half width b with round ends about centres at c. */
struct slots {
    int n;
    double a, b, c; /* [m] */
};

/* Worked out for this test: lines and arcs meet by Pythagoras and the cosine rule. */
static double slots_perimeter(const struct slots *p, double w)
{
    const double s = M_PI / p->n, a = p->a + w, q = p->b + w, c = p->c, from = beyond_wall(c, q);
    const double mouth = a > q ? sqrt((a - q) * (a + q)) : 0.0;
    const bool passes = mouth > c; /* the bore has taken all of the straight sides */
    const double start = passes  ? acos(fmin((a * a + c * c - q * q) / (2.0 * a * c), 1.0))
                         : a > q ? asin(q / a)
                                 : M_PI_2;
    double arc_end = M_PI_2, side = c, sum = 0.0;
    if (start < s) {
        sum += a < 1.0 ? a * (s - start) : 0.0;
        side = fmin(mouth, c);
        if (passes)
            arc_end = acos(fmax(fmin((a * a - c * c - q * q) / (2.0 * c * q), 1.0), -1.0));
    } else if (q < c * tan(s)) {
        side = q / tan(s);
    } else {
        arc_end = s + asin(fmin(c * sin(s) / q, 1.0));
    }
    sum += q * fmax(arc_end - from, 0.0);
    const double wall = q < 1.0 ? sqrt((1.0 - q) * (1.0 + q)) : 0.0;
    sum += fmax(fmin(c, wall) - side, 0.0);
    return 2 * p->n * sum;
}

/* ---- one shape ---- */

struct job {
    struct meter meter;
    struct sm_allocator allocator;
    struct sm_arena arena;
    uint64_t seed;
    char text[768]; /* what was drawn, or what went wrong */
};

/* Draws until the shape's own check agrees. */
static void *draw_star(struct job *job, const struct sm_shape *shape, struct sm_grain_common *common,
                       struct star *p)
{
    uint64_t state = job->seed;
    void *block = sm_arena_alloc(&job->arena, 1, shape->size);
    do {
        set_fallbacks(shape, block);
        *p = (struct star){.n = draw_whole(&state, 3, 11), .l = draw_uniform(&state, 0.3, 0.9)};
        p->eps = draw_uniform(&state, 0.0, 1.3);
        p->eps = p->eps < 1.0 ? fmax(p->eps, 0.05) : 1.0;
        p->f = fmax(draw_uniform(&state, -0.3, 1.0), 0.0) * p->l * sin(p->eps * M_PI / p->n);
        p->h = draw_uniform(&state, 0.1, 1.5);
        *(int *)place_of(shape, block, "points") = p->n;
        set(shape, block, "web", 1.0 - p->l - p->f);
        set(shape, block, "fillet_radius", p->f);
        set(shape, block, "angle_fraction", p->eps);
        set(shape, block, "half_angle", p->h);
        p->l = 1.0 - (1.0 - p->l - p->f) - p->f; /* as the shape reckons it */
    } while (p->l + p->f > 0.99 || sm_shape_check(shape, common, block, NULL) != SM_OK);
    snprintf(job->text, sizeof job->text, "n %d, l %.17g, f %.17g, eps %.17g, h %.17g", p->n, p->l, p->f,
             p->eps, p->h);
    return block;
}

static void *draw_slots(struct job *job, const struct sm_shape *shape, struct sm_grain_common *common,
                        struct slots *p)
{
    uint64_t state = job->seed;
    void *block = sm_arena_alloc(&job->arena, 1, shape->size);
    do {
        set_fallbacks(shape, block);
        *p = (struct slots){.n = draw_whole(&state, 3, 10),
                            .a = draw_uniform(&state, 0.1, 0.7),
                            .b = draw_uniform(&state, 0.01, 0.3),
                            .c = draw_uniform(&state, 0.2, 0.9)};
        *(int *)place_of(shape, block, "slots") = p->n;
        set(shape, block, "bore_diameter", 2.0 * p->a);
        set(shape, block, "slot_width", 2.0 * p->b);
        set(shape, block, "slot_diameter", 2.0 * (p->c + p->b));
        p->c = (p->c + p->b) - p->b;
    } while (p->c + p->b > 0.99 || sm_shape_check(shape, common, block, NULL) != SM_OK);
    snprintf(job->text, sizeof job->text, "n %d, a %.17g, b %.17g, c %.17g", p->n, p->a, p->b, p->c);
    return block;
}

static double failed(struct job *job, const struct sm_error *err)
{
    snprintf(job->text + strlen(job->text), sizeof job->text - strlen(job->text), ": %.120s", err->message);
    return HUGE_VAL;
}

/* Largest miss of the perimeter at random distances burned, as a share of the circumference. */
static double section_error(struct job *job, bool is_star)
{
    const struct sm_shape *shape = sm_shape_find(is_star ? "star" : "slotted-tube");
    struct sm_grain_common common = {.outer_diameter = 2.0, .length = 1.0, .burning = SM_FACE_BORE};
    struct star star = {0};
    struct slots slots = {0};
    const void *block =
        is_star ? draw_star(job, shape, &common, &star) : draw_slots(job, shape, &common, &slots);
    struct sm_section section;
    struct sm_burning_section burning;
    struct sm_error err = {0};
    if (sm_shape_section(shape, &job->arena, &common, block, &section, &err) != SM_OK ||
        sm_section_burn(&job->arena, &section, &burning, &err) != SM_OK)
        return failed(job, &err);
    uint64_t state = ~job->seed;
    double worst = 0.0, at = 0.0;
    for (int k = 0; k < LEVELS; k++) {
        double w = draw_uniform(&state, 0.0, 1.02 * burning.stages.web), area, perimeter;
        sm_section_table(&burning, &w, 1, &area, &perimeter);
        const double want = is_star ? star_perimeter(&star, w) : slots_perimeter(&slots, w);
        const double error = fabs(perimeter - want) / (2.0 * M_PI);
        if (!(error <= worst)) {
            worst = error;
            at = w;
        }
    }
    snprintf(job->text + strlen(job->text), sizeof job->text - strlen(job->text), ", w %.17g", at);
    return worst;
}

struct place {
    double z, diameter; /* [m] */
};

static void say_profile(struct job *job, const struct sm_grain_common *common, const struct sm_list *list)
{
    const struct place *places = list->items;
    size_t used = (size_t)snprintf(job->text, sizeof job->text, "length %.17g, burning %u", common->length,
                                   common->burning);
    for (size_t i = 0; i < list->n && used < sizeof job->text; i++)
        used += (size_t)snprintf(job->text + used, sizeof job->text - used, ", %.17g %.17g", places[i].z,
                                 places[i].diameter);
}

/* Cones and steps at random, half of them of a few round measures, so that fronts meet all at once. */
static void *draw_profile(struct job *job, const struct sm_shape *shape, struct sm_grain_common *common)
{
    uint64_t state = job->seed;
    struct sm_list *list = sm_arena_alloc(&job->arena, 1, shape->size);
    for (;;) {
        const bool is_round = draw_whole(&state, 0, 1) == 0;
        const size_t n = (size_t)draw_whole(&state, 2, 9);
        struct place *places = sm_arena_alloc(&job->arena, n, sizeof *places);
        double z = 0.0;
        bool is_step = true; /* never at a face, nor two at one place */
        common->length = is_round ? draw_whole(&state, 1, 4) : draw_uniform(&state, 0.3, 4.0);
        common->burning = SM_FACE_BORE | (draw_bits(&state) & (SM_FACE_FORE_END | SM_FACE_AFT_END));
        for (size_t i = 0; i < n; i++) {
            const double way = is_round ? 0.25 * draw_whole(&state, 0, 3) : draw_uniform(&state, -0.2, 1.0);
            const double least = is_step ? 0.125 : 0.0;
            is_step = way <= 0.0 && !is_step;
            z += fmax(way, least);
            places[i].z = i == 0 ? 0.0 : i + 1 == n ? common->length : z;
            places[i].diameter =
                is_round ? 0.25 * draw_whole(&state, 1, 7) : draw_uniform(&state, 0.05, 1.95);
        }
        if (n > 2 && places[n - 2].z >= common->length)
            continue;
        *(struct sm_list *)place_of(shape, list, "profile") = (struct sm_list){.items = places, .n = n};
        if (sm_shape_check(shape, common, list, NULL) == SM_OK)
            break;
    }
    say_profile(job, common, list);
    return list;
}

/* The integral of the area over the burn less the volume, which the engine reckons apart, as a share of the cylinder. On
 * each piece five Gauss points, in the piece's own pace. */
static double profile_error(struct job *job)
{
    static const double x[5] = {0.046910077030668, 0.230765344947158, 0.5, 0.769234655052842,
                                0.953089922969332};
    static const double share[5] = {0.118463442528095, 0.239314335249683, 0.284444444444444,
                                    0.239314335249683, 0.118463442528095};
    const struct sm_shape *shape = sm_shape_find("bore-profile");
    struct sm_grain_common common = {.outer_diameter = 2.0};
    const void *block = draw_profile(job, shape, &common);
    struct sm_geometry g;
    struct sm_error err = {0};
    if (sm_shape_geometry(shape, &job->arena, &common, block, &g, &err) != SM_OK)
        return failed(job, &err);
    double sum = 0.0, area, volume;
    for (size_t i = 0; i < g.n_pieces; i++)
        for (int k = 0; k < 5; k++) {
            const struct sm_piece *p = &g.pieces[i];
            const double s = p->near + (p->far - p->near) * x[k];
            const double w = p->pace == SM_EVEN          ? p->w0 + (p->w1 - p->w0) * x[k]
                             : p->pace == SM_ROOT_BEFORE ? p->root + s * s
                                                         : p->root - s * s;
            const double dw = p->pace == SM_EVEN ? p->w1 - p->w0 : 2.0 * s * (p->far - p->near);
            sm_piece_area(p, w, &area, &volume);
            sum += share[k] * dw * area;
        }
    sm_piece_area(&g.pieces[0], 0.0, &area, &volume);
    return fabs(sum - volume) / g.envelope;
}

/* ---- fronts round the edges of sleeves ---- */

/* What a front that goes in under a sleeve from its edge, as far as depth, has taken of a wall from a to R: it
 * stands q = sqrt(w^2 - d^2) out at d from the edge, an arc about it. Integrals of the circle, worked out for this test. */
static double taken_by_side(double a, double R, double w, double depth)
{
    const double wall = R - a, deep = fmin(depth, w), full = w > wall ? sqrt((w - wall) * (w + wall)) : 0.0;
    const double from = fmin(full, deep), to = deep;
    double q[2], round[2];
    for (int k = 0; k < 2; k++) {
        const double d = k ? to : from;
        q[k] = sqrt(fmax((w - d) * (w + d), 0.0));
        round[k] = w > 0.0 ? asin(fmin(d / w, 1.0)) : 0.0;
    }
    const double strip = 0.5 * (to * q[1] - from * q[0] + w * w * (round[1] - round[0]));
    const double squares = w * w * (to - from) - (to * to * to - from * from * from) / 3.0;
    return M_PI * (R * R - a * a) * from + M_PI * (2.0 * a * strip + squares);
}

struct sleeve {
    double from, to; /* [m] */
};

/* A round bore of radius a in a cylinder of radius 1, one to three sleeves apart from each other in it. */
static void *draw_sleeves(struct job *job, const struct sm_shape *shape, struct sm_grain_common *common,
                          double *a, struct sleeve sleeves[3], size_t *n)
{
    uint64_t state = job->seed;
    void *block = sm_arena_alloc(&job->arena, 1, shape->size);
    struct place *places = sm_arena_alloc(&job->arena, 2, sizeof *places);
    set_fallbacks(shape, block);
    *a = draw_uniform(&state, 0.15, 0.7);
    *n = (size_t)draw_whole(&state, 1, 3);
    common->length = draw_uniform(&state, 1.0, 4.0);
    const double each = common->length / (double)*n;
    for (size_t i = 0; i < *n; i++) {
        const double start = draw_uniform(&state, 0.02, 0.4), end = draw_uniform(&state, 0.6, 0.98);
        sleeves[i] = (struct sleeve){each * ((double)i + start), each * ((double)i + end)};
    }
    if (draw_whole(&state, 0, 1))
        sleeves[0].from = 0.0;
    places[0] = (struct place){0.0, 2.0 * *a};
    places[1] = (struct place){common->length, 2.0 * *a};
    *(struct sm_list *)place_of(shape, block, "profile") = (struct sm_list){.items = places, .n = 2};
    *(struct sm_list *)place_of(shape, block, "sleeves") = (struct sm_list){.items = sleeves, .n = *n};
    size_t used =
        (size_t)snprintf(job->text, sizeof job->text, "length %.17g, bore %.17g", common->length, *a);
    for (size_t i = 0; i < *n; i++)
        used += (size_t)snprintf(job->text + used, sizeof job->text - used, ", %.17g to %.17g",
                                 sleeves[i].from, sleeves[i].to);
    return block;
}

/* Largest miss of the volume left, as a share of the cylinder. */
static double sleeves_error(struct job *job)
{
    const struct sm_shape *shape = sm_shape_find("bore-profile");
    struct sm_grain_common common = {
        .outer_diameter = 2.0, .burning = SM_FACE_BORE, .burnback = SM_BURNBACK_GEODESIC};
    struct sleeve sleeves[3];
    size_t n;
    double a, worst = 0.0;
    const void *block = draw_sleeves(job, shape, &common, &a, sleeves, &n);
    struct sm_geometry g;
    struct sm_error err = {0};
    if (sm_shape_geometry(shape, &job->arena, &common, block, &g, &err) != SM_OK)
        return failed(job, &err);
    for (int k = 0; k < LEVELS; k++) {
        const double w = g.web * (k + 0.5) / LEVELS;
        double open = common.length, taken = 0.0;
        struct sm_geometry_at at;
        for (size_t i = 0; i < n; i++) {
            const double across = sleeves[i].to - sleeves[i].from;
            const bool at_end = sleeves[i].from == 0.0;
            open -= across;
            for (int side = 0; side < (at_end ? 1 : 2); side++)
                taken += taken_by_side(a, 1.0, w, at_end ? across : 0.5 * across);
        }
        const double reach = fmin(a + w, 1.0);
        taken += M_PI * (reach - a) * (reach + a) * open;
        sm_geometry_eval(&g, w, &at);
        const double left = M_PI * (1.0 - a * a) * common.length - taken;
        worst = fmax(worst, fabs(at.value[SM_VOLUME] - left) / (M_PI * common.length));
    }
    return worst;
}

static double one_error(struct job *job, const char *kind)
{
    if (strcmp(kind, "sleeves") == 0)
        return sleeves_error(job);
    if (strcmp(kind, "profiles") == 0)
        return profile_error(job);
    return section_error(job, strcmp(kind, "stars") == 0);
}

int main(int argc, char **argv)
{
    const char *const kinds[] = {"stars", "slots", "profiles", "sleeves"};
    const long count = argc > 2 ? strtol(argv[2], NULL, 10) : 0,
               first = argc > 3 ? strtol(argv[3], NULL, 10) : 1;
    bool is_known = false;
    for (size_t i = 0; argc > 1 && i < SM_COUNT(kinds); i++)
        is_known = is_known || strcmp(argv[1], kinds[i]) == 0;
    if (!is_known || count < 1) {
        fputs("usage: random_burnback stars|slots|profiles|sleeves COUNT [FIRST]\n", stderr);
        return 2;
    }
    double worst = 0.0;
    const double tolerance = strcmp(argv[1], "sleeves") == 0 ? BENT_TOLERANCE : TOLERANCE;
    size_t most = 0;
    long n_bad = 0;
    for (long i = first; i < first + count; i++) {
        struct job job = {.seed = (uint64_t)i * 0x2545F4914F6CDD1Du};
        job.allocator = (struct sm_allocator){.alloc = take, .release = give, .user = &job.meter};
        sm_arena_init(&job.arena, &job.allocator);
        const double error = one_error(&job, argv[1]);
        if (!(error <= tolerance)) {
            printf("%s %ld: %.3g: %s\n", argv[1], i, error, job.text);
            n_bad++;
        }
        worst = fmax(worst, error);
        most = job.meter.most > most ? job.meter.most : most;
        sm_arena_release(&job.arena);
    }
    printf("%s: %ld, %ld beyond %g, worst %.3g, most memory %.3g MB\n", argv[1], count, n_bad, tolerance,
           worst, 1e-6 * (double)most);
    return n_bad > 0;
}
