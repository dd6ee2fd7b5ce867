/* Solids put in their places, and the symmetry they share. */
#include <math.h>

#include "grain/patches.h"
#include "grain/shape.h"

/* Lengths of no account, as a share of the grain's radius. Surfaces that lie in one another are told apart by it. */
static const double CLOSE = 1e-9;

static int common_divisor(int a, int b)
{
    while (b != 0) {
        const int rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

/* Is the solid its own mirror image in the plane through it and the axis? */
static bool is_upright(const struct sm_solid *s, double close)
{
    const double angle = atan2(s->at.y, s->at.x);
    const struct sm_triple side = {-sin(angle), cos(angle), 0.0};
    if (hypot(s->at.x, s->at.y) <= close)
        return false;
    if (s->form == SM_SOLID_BALL)
        return true;
    if (s->form != SM_SOLID_BOX)
        return fabs(sm_triple_dot(s->axes[2], side)) <= 1e-12;
    for (int i = 0; i < 3; i++)
        if (fabs(sm_triple_dot(s->axes[i], side)) >= 1.0 - 1e-12)
            return true;
    return false;
}

/* A body of revolution is cut into this many parts, of which one is enough. */
enum { ROUND = 24 };

static void find_symmetry(struct sm_patcher *p)
{
    const struct sm_voids *v = p->voids;
    int n = 0;
    bool mirrored = true;
    for (size_t i = 0; i < v->n; i++)
        if (!sm_solid_is_coaxial(&v->items[i].solid, p->close))
            n = common_divisor(n, v->items[i].count);
    for (size_t i = 0; i < v->n && n > 0; i++) {
        const struct sm_solid *s = &v->items[i].solid;
        if (sm_solid_is_coaxial(s, p->close))
            continue;
        const double steps = atan2(s->at.y, s->at.x) * v->items[i].count / M_PI;
        mirrored = mirrored && v->items[i].count == n && is_upright(s, p->close) &&
                   fabs(steps - round(steps)) <= 1e-12;
    }
    p->all_coaxial = n == 0;
    p->sectors = n == 0 ? ROUND : n;
    p->is_mirrored = n > 2 && mirrored;
}

/* A solid of revolution about the axis is given its first axis along x, so that its first part is the common one. */
static struct sm_solid placed(const struct sm_patcher *p, const struct sm_void *v, int k)
{
    struct sm_solid s = sm_solid_turned(&v->solid, 2.0 * M_PI * k / v->count);
    if (!sm_solid_is_coaxial(&s, p->close))
        return s;
    const double way = s.form == SM_SOLID_BALL || s.axes[2].z > 0.0 ? 1.0 : -1.0;
    s.at.x = s.at.y = 0.0;
    s.axes[0] = (struct sm_triple){1.0, 0.0, 0.0};
    s.axes[1] = (struct sm_triple){0.0, way, 0.0};
    s.axes[2] = (struct sm_triple){0.0, 0.0, way};
    return s;
}

enum sm_status sm_patcher_init(struct sm_arena *arena, const struct sm_voids *voids, struct sm_patcher *out,
                               struct sm_error *err)
{
    *out = (struct sm_patcher){
        .voids = voids, .cell = voids->radius / voids->fineness, .close = CLOSE * voids->radius};
    size_t room = 0;
    for (size_t i = 0; i < voids->n; i++)
        room += (size_t)voids->items[i].count;
    if (room > SM_MOST_SOLIDS)
        return sm_fail(err, SM_E_RANGE, "there are %zu voids; %d is the most", room, SM_MOST_SOLIDS);
    out->solids = sm_arena_alloc(arena, room, sizeof *out->solids);
    out->share = sm_arena_alloc(arena, room, sizeof *out->share);
    out->entry = sm_arena_alloc(arena, room, sizeof *out->entry);
    if (!out->solids || !out->share || !out->entry)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    find_symmetry(out);
    for (size_t i = 0; i < voids->n; i++) {
        const bool coaxial = sm_solid_is_coaxial(&voids->items[i].solid, out->close);
        const int copies = coaxial ? 1 : voids->items[i].count;
        for (int k = 0; k < copies; k++, out->n++) {
            out->solids[out->n] = placed(out, &voids->items[i], k);
            out->share[out->n] = coaxial || k < copies / out->sectors;
            out->entry[out->n] = i;
        }
    }
    return SM_OK;
}

double sm_patcher_distance(const struct sm_patcher *p, struct sm_triple at)
{
    const struct sm_voids *v = p->voids;
    double least = SM_INF;
    for (size_t i = 0; i < p->n; i++)
        least = fmin(least, sm_solid_distance(&p->solids[i], at));
    if (v->burning & SM_FACE_FORE_END)
        least = fmin(least, at.z);
    if (v->burning & SM_FACE_AFT_END)
        least = fmin(least, v->length - at.z);
    return least;
}
