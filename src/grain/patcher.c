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

/* A cone along the axis that gets wider beyond a face that doesn't burn ends there: no propellant burns from what lies beyond, and what
 * is left has a rim in the face, from which some does. */
static void end_in_faces(const struct sm_voids *v, struct sm_solid *s)
{
    const double straight = 1e-12, way = s->axes[2].z;
    if (s->form != SM_SOLID_CONE || fabs(way) < 1.0 - straight)
        return;
    const bool fore_stands = !(v->burning & SM_FACE_FORE_END), aft_stands = !(v->burning & SM_FACE_AFT_END);
    const double fore = way > 0.0 ? -s->at.z : s->at.z,
                 aft = way > 0.0 ? v->length - s->at.z : s->at.z - v->length;
    const double low = way > 0.0 ? fore : aft, high = way > 0.0 ? aft : fore; /* along the cone [m] */
    const bool low_stands = way > 0.0 ? fore_stands : aft_stands,
               high_stands = way > 0.0 ? aft_stands : fore_stands;
    if (s->b > s->a && high_stands && high > 0.0 && high < s->c) {
        s->b = s->a + (s->b - s->a) * high / s->c;
        s->c = high;
    } else if (s->a > s->b && low_stands && low > 0.0 && low < s->c) {
        s->a += (s->b - s->a) * low / s->c;
        s->at = sm_triple_add(s->at, low, s->axes[2]);
        s->c -= low;
    }
}

/* A solid of revolution about the axis is given its first axis along x, so that its first part is the common one. */
static struct sm_solid placed(const struct sm_patcher *p, const struct sm_void *v, int k)
{
    struct sm_solid s = sm_solid_turned(&v->solid, 2.0 * M_PI * k / v->count);
    end_in_faces(p->voids, &s);
    if (!sm_solid_is_coaxial(&s, p->close))
        return s;
    const double way = s.form == SM_SOLID_BALL || s.axes[2].z > 0.0 ? 1.0 : -1.0;
    s.at.x = s.at.y = 0.0;
    s.axes[0] = (struct sm_triple){1.0, 0.0, 0.0};
    s.axes[1] = (struct sm_triple){0.0, way, 0.0};
    s.axes[2] = (struct sm_triple){0.0, 0.0, way};
    s.is_upright = sm_triples_are_upright(s.axes);
    return s;
}

/* Of the k-th copy; it goes along with the void's own place when that is mirrored or turned. */
static struct sm_triple heading_of(const struct sm_void *v, int k)
{
    const struct sm_triple at = v->solid.at;
    const double angle = atan2(at.y, at.x) + 2.0 * M_PI * k / v->count;
    return (struct sm_triple){cos(angle), sin(angle), 0.0};
}

/* ---- features that lie in other solids ---- */

/* A point of a solid's own frame, in space. */
static struct sm_triple put(const struct sm_solid *s, double x, double y, double z)
{
    return sm_triple_add(sm_triple_add(sm_triple_add(s->at, x, s->axes[0]), y, s->axes[1]), z, s->axes[2]);
}

/* Points whose hull holds a feature. */
struct hull {
    struct sm_triple p[16]; /* [m] */
    int n;
};

/* The square round a circle about the solid's axis. */
static void add_circle(struct hull *h, const struct sm_solid *s, double r, double z)
{
    for (int i = 0; i < 4; i++)
        h->p[h->n++] = put(s, i & 1 ? r : -r, i & 2 ? r : -r, z);
}

/* A feature with both sides across the third axis is rounded: it takes the fillet's square, not a point of it. */
static void add_box_feature(struct hull *h, const struct sm_solid *s, int feature)
{
    const int side[3] = {feature % 3 - 1, feature / 3 % 3 - 1, feature / 9 - 1};
    const double half[3] = {s->a, s->b, s->c};
    const bool is_rounded = s->fillet > 0.0 && side[0] != 0 && side[1] != 0;
    for (int k = 0; k < 8; k++) {
        double q[3];
        bool is_new = true; /* one of two where the feature has no length */
        for (int i = 0; i < 3; i++) {
            const bool is_wide = side[i] == 0 || (is_rounded && i < 2), is_second = k >> i & 1;
            const double inner = side[i] == 0 ? -half[i] : side[i] * (half[i] - s->fillet);
            q[i] = side[i] == 0 ? (is_second ? half[i] : inner)
                                : (is_wide && is_second ? inner : side[i] * half[i]);
            is_new = is_new && (is_wide || !is_second);
        }
        if (is_new)
            h->p[h->n++] = put(s, q[0], q[1], q[2]);
    }
}

static struct hull hull_of(const struct sm_solid *s, int feature)
{
    struct hull h = {.n = 0};
    if (s->form == SM_SOLID_BOX) {
        add_box_feature(&h, s, feature);
    } else if (s->form == SM_SOLID_CONE) {
        if (feature == SM_CONE_SIDE || feature == SM_CONE_FOOT || feature == SM_CONE_FOOT_RIM)
            add_circle(&h, s, s->a, 0.0);
        if (feature == SM_CONE_SIDE || feature == SM_CONE_TOP || feature == SM_CONE_TOP_RIM)
            add_circle(&h, s, s->b, s->c);
    } else if (s->form == SM_SOLID_TURNED) {
        add_circle(&h, s, s->turned->radius, s->turned->low);
        add_circle(&h, s, s->turned->radius, s->turned->high);
    } else {
        const double across = s->form == SM_SOLID_RING ? s->a + s->b : s->a,
                     along = s->form == SM_SOLID_RING ? s->b : s->a;
        add_circle(&h, s, across, -along);
        add_circle(&h, s, across, along);
    }
    return h;
}

/* Distances from a convex solid are convex, so what holds at the hull's points holds within it. And a front is no farther from
 * what its feature lies in than from the feature. */
static bool lies_in(const struct hull *h, const struct sm_solid *other, double shift)
{
    for (int i = 0; i < h->n; i++)
        if (sm_solid_distance(other, h->p[i]) + shift >= 0.0)
            return false;
    return true;
}

static unsigned find_hidden(const struct sm_patcher *p, size_t own)
{
    static const int features[] = {[SM_SOLID_BALL] = 1,
                                   [SM_SOLID_CONE] = 5,
                                   [SM_SOLID_BOX] = SM_BOX_FEATURES,
                                   [SM_SOLID_RING] = 1,
                                   [SM_SOLID_TURNED] = 1};
    const struct sm_solid *s = &p->solids[own];
    unsigned hidden = 0;
    for (int f = 0; f < features[s->form]; f++) {
        const struct hull h = hull_of(s, f);
        for (size_t i = 0; i < p->n && !(hidden >> f & 1); i++)
            if (i != own && p->solids[i].form != SM_SOLID_RING && p->solids[i].form != SM_SOLID_TURNED &&
                lies_in(&h, &p->solids[i],
                        i < own && p->entry[i] != p->entry[own] ? -p->close
                                                                : p->close)) /* as where patches are cut */
                hidden |= 1u << f;
    }
    return hidden;
}

/* ---- all of it ---- */

enum sm_status sm_patcher_init(struct sm_arena *arena, const struct sm_voids *voids, struct sm_patcher *out,
                               struct sm_error *err)
{
    *out = (struct sm_patcher){.voids = voids,
                               .set = sm_lane_set_best(),
                               .cell = voids->radius / voids->fineness,
                               .close = CLOSE * voids->radius};
    size_t room = 0;
    for (size_t i = 0; i < voids->n; i++)
        room += (size_t)voids->items[i].count;
    if (room > SM_MOST_SOLIDS)
        return sm_fail(err, SM_E_RANGE, "there are %zu voids; %d is the most", room, SM_MOST_SOLIDS);
    out->solids = sm_arena_alloc(arena, room, sizeof *out->solids);
    out->share = sm_arena_alloc(arena, room, sizeof *out->share);
    out->entry = sm_arena_alloc(arena, room, sizeof *out->entry);
    out->hidden = sm_arena_alloc(arena, room, sizeof *out->hidden);
    out->heading = sm_arena_alloc(arena, room, sizeof *out->heading);
    if (!out->solids || !out->share || !out->entry || !out->hidden || !out->heading)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    find_symmetry(out);
    for (size_t i = 0; i < voids->n; i++) {
        const bool coaxial = sm_solid_is_coaxial(&voids->items[i].solid, out->close);
        const int copies = coaxial ? 1 : voids->items[i].count;
        for (int k = 0; k < copies; k++, out->n++) {
            out->solids[out->n] = placed(out, &voids->items[i], k);
            out->share[out->n] = coaxial || k < copies / out->sectors;
            out->entry[out->n] = i;
            out->heading[out->n] = heading_of(&voids->items[i], k);
        }
    }
    for (size_t i = 0; i < out->n; i++)
        out->hidden[i] = out->share[i] ? find_hidden(out, i) : 0;
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
