#include "grain/facets.h"

#include <math.h>

#include "grain/shape.h"

enum { ROUND = 96, TUBE = 32, MOST_BANDS = 40, MOST_BOXES = 64 };

/* ---- which ports need them ---- */

/* Does it get wider beyond the end at z, at +1 the aft one? What burns from there would come back into the grain. Cones along the axis
 * do not, for those end in the face then (grain/patcher.c), nor do boxes square to it. */
static bool leans(const struct sm_solid *s, int end, double z)
{
    const double straight = 1e-12, way = s->axes[2].z;
    if (s->form == SM_SOLID_TURNED && fabs(way) >= 1.0 - straight)
        return sm_turned_widens(s->turned, (z - s->at.z) / way, way > 0.0 ? end : -end);
    if (s->form == SM_SOLID_CONE)
        return fabs(way) < 1.0 - straight;
    for (int i = 0; i < 3 && s->form == SM_SOLID_BOX; i++)
        if (fabs(s->axes[i].z) > straight && fabs(s->axes[i].z) < 1.0 - straight)
            return true;
    return s->form != SM_SOLID_BOX;
}

bool sm_voids_lean_out(const struct sm_voids *v)
{
    const struct sm_triple up = {0.0, 0.0, 1.0}, down = {0.0, 0.0, -1.0};
    const double slack = 1e-9 * v->radius;
    for (size_t i = 0; i < v->n; i++) {
        const struct sm_solid *s = &v->items[i].solid;
        if (!(v->burning & SM_FACE_AFT_END) && sm_solid_extent(s, up) > v->length + slack &&
            leans(s, 1, v->length))
            return true;
        if (!(v->burning & SM_FACE_FORE_END) && sm_solid_extent(s, down) > slack && leans(s, -1, 0.0))
            return true;
    }
    return false;
}

/* ---- facets ---- */

struct maker {
    struct sm_vertex *vertices;
    struct sm_facet *facets;
    int n_vertices;
    size_t n_facets;
    struct sm_solid solid; /* at hand */
};

static int vertex(struct maker *m, double x, double y, double h)
{
    const struct sm_solid *s = &m->solid;
    const struct sm_triple p =
        sm_triple_add(sm_triple_add(sm_triple_add(s->at, x, s->axes[0]), y, s->axes[1]), h, s->axes[2]);
    m->vertices[m->n_vertices] = (struct sm_vertex){p.x, p.y, p.z};
    return m->n_vertices++;
}

static void facet(struct maker *m, int a, int b, int c)
{
    m->facets[m->n_facets++] = (struct sm_facet){a, b, c};
}

/* A polygon has the area of its circle if its corners lie so many times as far out. */
static double outset(int n)
{
    const double turn = 2.0 * M_PI / n;
    return sqrt(turn / sin(turn));
}

static int ring(struct maker *m, double r, double h)
{
    const int first = m->n_vertices;
    for (int i = 0; i < ROUND; i++)
        vertex(m, outset(ROUND) * r * cos(2.0 * M_PI * i / ROUND),
               outset(ROUND) * r * sin(2.0 * M_PI * i / ROUND), h);
    return first;
}

/* Between rings anticlockwise as seen from above, n corners each. */
static void join(struct maker *m, int low, int high, int n)
{
    for (int i = 0; i < n; i++) {
        const int j = (i + 1) % n;
        facet(m, low + i, low + j, high + j);
        facet(m, low + i, high + j, high + i);
    }
}

static void close_below(struct maker *m, int low, int tip)
{
    for (int i = 0; i < ROUND; i++)
        facet(m, tip, low + (i + 1) % ROUND, low + i);
}

static void close_above(struct maker *m, int high, int tip)
{
    for (int i = 0; i < ROUND; i++)
        facet(m, tip, high + i, high + (i + 1) % ROUND);
}

/* Bands as high as they are wide, so that a tree of boxes tells a leaning cone's facets apart; they lie in the cone's straight
 * strips, whose shape they do not change. */
static int bands_of(const struct sm_solid *s)
{
    const double width = 2.0 * M_PI * fmax(s->a, s->b) / ROUND;
    return fabs(s->axes[2].z) >= 1.0 - 1e-12 ? 1 : (int)fmin(ceil(s->c / width), MOST_BANDS);
}

static void put_cone(struct maker *m)
{
    const struct sm_solid *s = &m->solid;
    const int foot = vertex(m, 0.0, 0.0, 0.0), top = vertex(m, 0.0, 0.0, s->c), n = bands_of(s);
    int low = ring(m, s->a, 0.0);
    close_below(m, low, foot);
    for (int k = 1; k <= n; k++) {
        const double share = (double)k / n, r = s->a + share * (s->b - s->a);
        if (!(r > 0.0)) {
            close_above(m, low, top);
            return;
        }
        const int high = ring(m, r, share * s->c);
        join(m, low, high, ROUND);
        low = high;
    }
    close_above(m, low, top);
}

static void put_ball(struct maker *m)
{
    enum { BANDS = ROUND / 2 };
    const double r = outset(ROUND) * m->solid.a;
    const int south = vertex(m, 0.0, 0.0, -r), north = vertex(m, 0.0, 0.0, r);
    int last = 0;
    for (int k = 1; k < BANDS; k++) {
        const double angle = M_PI * k / BANDS;
        const int next = ring(m, r * sin(angle), -r * cos(angle));
        if (k == 1)
            close_below(m, next, south);
        else
            join(m, last, next, ROUND);
        last = next;
    }
    close_above(m, last, north);
}

/* Rings of corners, or of points round them. */
static void put_box(struct maker *m)
{
    enum { MOST = TUBE / 4 };
    static const int x[4] = {1, -1, -1, 1}, y[4] = {1, 1, -1, -1};
    const struct sm_solid *s = &m->solid;
    const double f = s->fillet, far = f * outset(4 * MOST);
    const int each = f > 0.0 ? MOST : 1, n = 4 * each, low = m->n_vertices, high = low + n;
    for (int level = 0; level < 2; level++)
        for (int k = 0; k < 4; k++)
            for (int i = 0; i < each; i++) {
                const double angle = M_PI_2 * (k + (i + 0.5) / each);
                vertex(m, x[k] * (s->a - f) + far * cos(angle), y[k] * (s->b - f) + far * sin(angle),
                       level == 0 ? -s->c : s->c);
            }
    join(m, low, high, n);
    for (int i = 1; i + 1 < n; i++) {
        facet(m, low, low + i + 1, low + i);
        facet(m, high, high + i, high + i + 1);
    }
}

/* Rings round the torus's own axis, one after the other round its tube. */
static void put_torus(struct maker *m)
{
    const struct sm_solid *s = &m->solid;
    const double tube = outset(TUBE) * s->b;
    int rings[TUBE + 1];
    for (int k = 0; k < TUBE; k++) {
        const double angle = 2.0 * M_PI * k / TUBE; /* from the outermost circle upwards */
        rings[k] = ring(m, s->a + tube * cos(angle), tube * sin(angle));
    }
    rings[TUBE] = rings[0];
    for (int k = 0; k < TUBE; k++)
        join(m, rings[k], rings[k + 1], ROUND);
}

static struct sm_point point_of(const struct sm_turned_edge *e, int k, int chords)
{
    if (k == 0)
        return e->b;
    const double angle = -2.0 * asin(fmin(0.5 * e->length / e->radius, 1.0)) * k / chords;
    const struct sm_point d = sm_point_minus(e->b, e->centre);
    return (struct sm_point){e->centre.x + cos(angle) * d.x - sin(angle) * d.y,
                             e->centre.y + sin(angle) * d.x + cos(angle) * d.y};
}

/* The profile the other way round, so that rings follow as a torus's; on the axis it begins and ends with a tip. */
static void put_turned(struct maker *m)
{
    const struct sm_turned *t = m->solid.turned;
    const bool is_solid = t->edges[0].a.y <= 0.0;
    int first = -1, last = -1;
    const int tip = is_solid ? vertex(m, 0.0, 0.0, t->edges[t->n_edges - 1].b.x) : -1;
    for (size_t i = t->n_edges; i-- > 0;) {
        const struct sm_turned_edge *e = &t->edges[i];
        const int chords = e->is_arc ? TUBE / 2 : 1;
        for (int k = 0; k < chords; k++) {
            if (is_solid && i + 1 == t->n_edges && k == 0)
                continue;
            const struct sm_point p = point_of(e, k, chords);
            const int next = ring(m, p.y, p.x);
            if (last >= 0)
                join(m, last, next, ROUND);
            else if (is_solid)
                close_below(m, next, tip);
            first = first < 0 ? next : first;
            last = next;
        }
    }
    if (is_solid)
        close_above(m, last, vertex(m, 0.0, 0.0, t->edges[0].a.x));
    else
        join(m, last, first, ROUND);
}

static void put(struct maker *m)
{
    switch (m->solid.form) {
    case SM_SOLID_BALL:
        put_ball(m);
        break;
    case SM_SOLID_BOX:
        put_box(m);
        break;
    case SM_SOLID_RING:
        put_torus(m);
        break;
    case SM_SOLID_CONE:
        put_cone(m);
        break;
    case SM_SOLID_TURNED:
        put_turned(m);
        break;
    }
}

enum sm_status sm_voids_facets(struct sm_arena *arena, const struct sm_voids *v, struct sm_meshport *out,
                               struct sm_error *err)
{
    enum {
        MOST_VERTICES = ROUND * ROUND / 2 + 2,
        MOST_FACETS = 2 * MOST_VERTICES
    }; /* a ball's; no profile
                                                                                            has so many rings */
    size_t copies = 0;
    for (size_t i = 0; i < v->n; i++)
        copies += (size_t)v->items[i].count;
    struct maker m = {.vertices = sm_arena_alloc(arena, copies * MOST_VERTICES, sizeof *m.vertices),
                      .facets = sm_arena_alloc(arena, copies * MOST_FACETS, sizeof *m.facets)};
    if (!m.vertices || !m.facets)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < v->n; i++) {
        const bool is_round = sm_solid_is_coaxial(&v->items[i].solid, 1e-9 * v->radius);
        const int count = is_round ? 1 : v->items[i].count;
        for (int k = 0; k < count; k++) {
            m.solid = sm_solid_turned(&v->items[i].solid, 2.0 * M_PI * k / v->items[i].count);
            put(&m);
        }
    }
    *out = (struct sm_meshport){.vertices = {m.vertices, (size_t)m.n_vertices},
                                .facets = {m.facets, m.n_facets},
                                .resolution = v->fineness < MOST_BOXES ? v->fineness : MOST_BOXES};
    return SM_OK;
}
