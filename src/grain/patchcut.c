#include "grain/patchcut.h"

#include <math.h>

#include "grain/patchcells.h"
#include "grain/shape.h"

/* Comparisons, since fmax is a call. */
static double larger(double a, double b)
{
    return a > b ? a : b;
}

static struct sm_turn turn_by(double angle)
{
    return (struct sm_turn){cos(angle), sin(angle)};
}

/* As deep as sides of so much [m] are halved. */
static void fill_halves(struct sm_turn halves[SM_PATCH_DEPTH], double half, bool turns, double along,
                        double cell)
{
    struct sm_turn at = turns ? turn_by(half) : (struct sm_turn){1.0, 0.0};
    halves[0] = at;
    for (int i = 1; i < SM_PATCH_DEPTH && along > 0.5 * cell / SM_PATCH_FINER; i++, along *= 0.5) {
        const double c = sqrt(0.5 * (1.0 + at.c));
        at = (struct sm_turn){c, 0.5 * at.s / c};
        halves[i] = at;
    }
}

/* Turns at a patch's ends. */
struct ends {
    struct sm_turn s0, s1, t0, t1;
};

/* The most of A cos s + B sin s from one turn on to another, half a turn farther at most. */
static double most_between(double by_cos, double by_sin, struct sm_turn from, struct sm_turn to)
{
    const double a = by_cos * from.c + by_sin * from.s, b = by_cos * to.c + by_sin * to.s;
    const bool rises = by_sin * from.c - by_cos * from.s > 0.0, falls = by_sin * to.c - by_cos * to.s < 0.0;
    return rises && falls ? sqrt(by_cos * by_cos + by_sin * by_sin) : larger(a, b);
}

/* Direction along which a patch reaches no farther than returned [m]. */
static double reach(const struct sm_patch *f, const struct ends *e, struct sm_triple way)
{
    const double half_turn = M_PI * (1.0 + 1e-9), at = sm_triple_dot(f->at, way);
    const double x = sm_triple_dot(f->axes[0], way), y = sm_triple_dot(f->axes[1], way),
                 z = sm_triple_dot(f->axes[2], way);
    if (f->kind == SM_PATCH_FLAT)
        return at + larger(x * f->s0, x * f->s1) + larger(y * f->t0, y * f->t1);
    if (f->kind == SM_PATCH_ROUND_EDGE)
        return at + f->radius * most_between(x, y, e->s0, e->s1) + larger(z * f->t0, z * f->t1);
    const double r = f->t1 - f->t0 > half_turn ? sqrt(x * x + y * y) : most_between(x, y, e->t0, e->t1);
    const double middle = at + f->r * r + f->z * z, along = f->nr * z - f->nz * r;
    if (f->kind == SM_PATCH_TURNED_LINE)
        return middle + larger(f->s0 * along, f->s1 * along);
    return middle +
           f->radius * (f->s1 - f->s0 > half_turn ? sqrt(r * r + z * z) : most_between(r, z, e->s0, e->s1));
}

/* Keeps a plane among the constraints if it passes through the patch. Returned: false if nothing of the patch is before it. */
static bool keep_plane(struct sm_patch_active *all, const struct sm_patch_cells *k, const struct ends *e,
                       int which, struct sm_triple way, double level)
{
    const struct sm_triple back = {-way.x, -way.y, -way.z};
    if (reach(k->patch, e, way) <= level)
        return false;
    if (-reach(k->patch, e, back) < level)
        all->items[all->n++] = (short)which;
    return true;
}

/* What may cut a patch. Returned: false if nothing of it can be seen. */
static bool list_constraints(const struct sm_patch_cells *k, const struct ends *e,
                             struct sm_patch_active *all)
{
    const struct sm_triple up = {0.0, 0.0, 1.0}, down = {0.0, 0.0, -1.0};
    const struct sm_patch_cut *cut = k->cut;
    const struct sm_patch *f = k->patch;
    const double close = cut->patcher->close;
    all->n = 0;
    if (f->owner != SM_PATCH_FORE && !keep_plane(all, k, e, SM_PATCH_LOW, up, cut->low + close))
        return false;
    if (f->owner != SM_PATCH_AFT && !keep_plane(all, k, e, SM_PATCH_HIGH, down, close - cut->high))
        return false;
    if (cut->has_plane && f->owner >= 0 && !keep_plane(all, k, e, SM_PATCH_PLANE, cut->plane, 0.0))
        return false;
    if (f->owner != SM_PATCH_WALL)
        all->items[all->n++] = SM_PATCH_WALLED;
    for (size_t i = 0; i < cut->patcher->n; i++)
        if ((int)i != f->owner)
            all->items[all->n++] = (short)i;
    return true;
}

static void cut_cells(const struct sm_patch_cells *cells)
{
#ifdef SM_LANES_X86
    if (cells->cut->patcher->set >= SM_LANE_AVX2) {
        sm_patch_cells_avx2(cells);
        return;
    }
#endif
    sm_patch_cells_plain(cells);
}

/* Length along t where that is the longest, of the whole patch, and along s [m]. */
static void measure(const struct sm_patch *f, double *along_s, double *along_t)
{
    double r = 1.0, scale = 1.0;
    if (f->kind == SM_PATCH_TURNED_LINE) {
        r = larger(f->r - f->s0 * f->nz, f->r - f->s1 * f->nz);
    } else if (f->kind == SM_PATCH_TURNED_ARC) {
        r = f->r + f->radius;
        scale = f->radius;
    } else if (f->kind == SM_PATCH_ROUND_EDGE) {
        scale = f->radius;
    }
    *along_s = (f->s1 - f->s0) * scale;
    *along_t = (f->t1 - f->t0) * larger(r, 0.0);
}

/* Cells to begin with turn by no more than a quarter of a right angle either way. */
void sm_patch_cut(const struct sm_patch_cut *cut, const struct sm_patch *f)
{
    struct sm_patch_cells k; /* its tables are filled as far as they are used */
    k.cut = cut;
    k.patch = f;
    k.s_turns = f->kind == SM_PATCH_TURNED_ARC || f->kind == SM_PATCH_ROUND_EDGE;
    k.t_turns = f->kind == SM_PATCH_TURNED_LINE || f->kind == SM_PATCH_TURNED_ARC;
    if (!(f->s1 > f->s0) || !(f->t1 > f->t0) || (k.s_turns && f->radius <= 0.0))
        return;
    const struct sm_turn none = {1.0, 0.0};
    const struct ends ends = {k.s_turns ? turn_by(f->s0) : none, k.s_turns ? turn_by(f->s1) : none,
                              k.t_turns ? turn_by(f->t0) : none, k.t_turns ? turn_by(f->t1) : none};
    if (!list_constraints(&k, &ends, &k.active))
        return;
    const double quarter = 0.25 * M_PI * (1.0 + 1e-9);
    double along_s, along_t;
    k.n_s = k.s_turns ? (int)ceil((f->s1 - f->s0) / quarter) : 1;
    k.n_t = k.t_turns ? (int)ceil((f->t1 - f->t0) / quarter) : 1;
    k.half_s = 0.5 * (f->s1 - f->s0) / k.n_s;
    k.half_t = 0.5 * (f->t1 - f->t0) / k.n_t;
    measure(f, &along_s, &along_t);
    fill_halves(k.halves_s, k.half_s, k.s_turns, along_s, cut->patcher->cell);
    fill_halves(k.halves_t, k.half_t, k.t_turns, along_t, cut->patcher->cell);
    cut_cells(&k);
}
