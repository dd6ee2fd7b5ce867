#include "grain/sheet.h"

#include <math.h>

#include "grain/fill.h"

static enum sm_status make(struct sm_arena *arena, int nu, int nv, struct sm_sheet *out, struct sm_error *err)
{
    *out = (struct sm_sheet){.nu = nu, .nv = nv};
    out->place = sm_arena_alloc(arena, (size_t)(nu * nv), sizeof *out->place);
    out->distance = sm_arena_alloc(arena, (size_t)(nu * nv), sizeof *out->distance);
    return out->place && out->distance ? SM_OK : sm_fail(err, SM_E_NOMEM, "out of memory");
}

enum sm_status sm_sheet_net_along(struct sm_arena *arena, double radius, double length, int nu, int nv,
                                  struct sm_sheet *out, struct sm_error *err)
{
    SM_TRY(make(arena, nu, nv, out, err));
    for (int j = 0; j < nv; j++)
        for (int i = 0; i < nu; i++)
            out->place[j * nu + i] =
                (struct sm_point){length * i / (nu - 1), radius * (2.0 * j / (nv - 1) - 1.0)};
    return SM_OK;
}

enum sm_status sm_sheet_net_across(struct sm_arena *arena, double radius, double turn, int nu, int nv,
                                   struct sm_sheet *out, struct sm_error *err)
{
    SM_TRY(make(arena, nu, nv, out, err));
    for (int j = 0; j < nv; j++)
        for (int i = 0; i < nu; i++) {
            const double r = radius * i / (nu - 1), a = turn * j / (nv - 1);
            out->place[j * nu + i] = (struct sm_point){r * cos(a), r * sin(a)};
        }
    return SM_OK;
}

enum sm_status sm_sheet_along(struct sm_arena *arena, const struct sm_patcher *patcher, int n,
                              struct sm_sheet *out, struct sm_error *err)
{
    const double radius = patcher->voids->radius, length = patcher->voids->length;
    const int nu = 1 + (int)ceil(n * length / radius), nv = 2 * n + 1;
    SM_TRY(sm_sheet_net_along(arena, radius, length, nu, nv, out, err));
    const struct sm_net net = {
        {-radius, 0.0, 0.0}, {2.0 * radius / (nv - 1), 0.0, length / (nu - 1)}, {(size_t)nv, 1, (size_t)nu}};
    sm_fill_doubles(patcher, &net, 1, sm_lane_set_best(), out->distance);
    const double inside = 0.25 * length / (nu - 1);
    for (int k = 0; k < nu * nv; k += k % nu == 0 ? nu - 1 : 1) {
        const double z = k % nu == 0 ? inside : length - inside;
        out->distance[k] = sm_patcher_distance(patcher, (struct sm_triple){out->place[k].y, 0.0, z});
    }
    return SM_OK;
}

enum sm_status sm_sheet_across(struct sm_arena *arena, const struct sm_patcher *patcher, double z, int n,
                               struct sm_sheet *out, struct sm_error *err)
{
    const double turn = 2.0 * M_PI / patcher->sectors;
    const int nu = n + 1, nv = 1 + (int)ceil(n * turn);
    SM_TRY(sm_sheet_net_across(arena, patcher->voids->radius, turn, nu, nv, out, err));
    for (int k = 0; k < nu * nv; k++)
        out->distance[k] =
            sm_patcher_distance(patcher, (struct sm_triple){out->place[k].x, out->place[k].y, z});
    return SM_OK;
}

/* ---- one triangle ---- */

struct triangle {
    struct sm_point p[3];
    double g[3]; /* distance less w: positive in propellant [m] */
};

/* Where the front leaves the void on its left as one walks from a to b. Returned: false if it isn't there. */
static bool front_in(const struct triangle *t, struct sm_point *a, struct sm_point *b)
{
    int n = 0;
    for (int i = 0; i < 3; i++) {
        const int j = (i + 1) % 3;
        const bool enters = t->g[i] < 0.0 && t->g[j] >= 0.0, leaves = t->g[i] >= 0.0 && t->g[j] < 0.0;
        if (!enters && !leaves)
            continue;
        /* reckoned from the same end in both triangles that share the side */
        const bool flip = t->p[i].x > t->p[j].x || (t->p[i].x == t->p[j].x && t->p[i].y > t->p[j].y);
        const int from = flip ? j : i, to = flip ? i : j;
        const double x = t->g[from] / (t->g[from] - t->g[to]);
        const struct sm_point at = {t->p[from].x + x * (t->p[to].x - t->p[from].x),
                                    t->p[from].y + x * (t->p[to].y - t->p[from].y)};
        *(enters ? a : b) = at;
        n++;
    }
    return n == 2;
}

/* Share of a triangle that is void, by the weights of its corners. */
static double void_share(const double g[3])
{
    int n_void = 0, odd = 0;
    for (int i = 0; i < 3; i++)
        n_void += g[i] < 0.0;
    if (n_void == 0 || n_void == 3)
        return n_void == 3 ? 1.0 : 0.0;
    for (int i = 0; i < 3; i++)
        if ((g[i] < 0.0) == (n_void == 1))
            odd = i;
    const double a = g[odd], b = g[(odd + 1) % 3], c = g[(odd + 2) % 3];
    const double share = a / (a - b) * (a / (a - c));
    return n_void == 1 ? share : 1.0 - share;
}

/* Either half of a cell of the sheet, walked round anticlockwise or not as its places are. */
static struct triangle triangle_of(const struct sm_sheet *s, int i, int j, int half, double w)
{
    const int low = j * s->nu + i, high = low + s->nu;
    const int corners[2][3] = {{low, low + 1, high + 1}, {low, high + 1, high}};
    struct triangle t;
    for (int c = 0; c < 3; c++) {
        const int at = corners[half][c];
        t.p[c] = s->place[at];
        t.g[c] = s->distance[at] - w;
    }
    return t;
}

static double size_of(const struct triangle *t)
{
    return 0.5 * fabs((t->p[1].x - t->p[0].x) * (t->p[2].y - t->p[0].y) -
                      (t->p[2].x - t->p[0].x) * (t->p[1].y - t->p[0].y));
}

/* How many of a cell's corners are void; most cells have all or none, and need no more looks. */
static int void_corners(const struct sm_sheet *s, int i, int j, double w)
{
    const double *low = s->distance + (size_t)j * (size_t)s->nu + i, *high = low + s->nu;
    return (low[0] - w < 0.0) + (low[1] - w < 0.0) + (high[0] - w < 0.0) + (high[1] - w < 0.0);
}

void sm_sheet_measure(const struct sm_sheet *sheet, double w, double *area, double *length)
{
    const int nu = sheet->nu - 1, nv = sheet->nv - 1;
    *area = *length = 0.0;
    for (int j = 0; j < nv; j++)
        for (int i = 0; i < nu; i++) {
            const int n_void = void_corners(sheet, i, j, w);
            for (int half = 0; n_void > 0 && half < 2; half++) {
                const struct triangle t = triangle_of(sheet, i, j, half, w);
                struct sm_point a, b;
                *area += size_of(&t) * (n_void == 4 ? 1.0 : void_share(t.g));
                if (n_void < 4 && front_in(&t, &a, &b))
                    *length += hypot(b.x - a.x, b.y - a.y);
            }
        }
}

/* A stretch of the rim from a to b, walked with the sheet on the right, where it is propellant. */
static void add_rim(const struct sm_sheet *s, double w, int from, int to, struct sm_contour *out)
{
    struct triangle t = {{s->place[from], s->place[to], s->place[to]},
                         {s->distance[from] - w, s->distance[to] - w, s->distance[to] - w}};
    struct sm_edge edge = {.a = t.p[0], .b = t.p[1]};
    struct sm_point enters, leaves;
    if (t.g[0] < 0.0 && t.g[1] < 0.0)
        return;
    const bool is_cut = front_in(&t, &enters, &leaves);
    if (is_cut && t.g[0] < 0.0)
        edge.a = enters;
    else if (is_cut)
        edge.b = leaves;
    if (edge.a.x != edge.b.x || edge.a.y != edge.b.y)
        sm_contour_add_loose(out, &edge);
}

void sm_sheet_edges(const struct sm_sheet *sheet, double w, bool with_rim, struct sm_contour *out)
{
    const int nu = sheet->nu, nv = sheet->nv, top = (nv - 1) * nu;
    for (int k = 0; k < 2 * (nu - 1) * (nv - 1); k++) {
        const int cell = k / 2;
        const struct triangle t = triangle_of(sheet, cell % (nu - 1), cell / (nu - 1), k % 2, w);
        struct sm_edge edge = {.turn = 0};
        if (front_in(&t, &edge.a, &edge.b) && (edge.a.x != edge.b.x || edge.a.y != edge.b.y))
            sm_contour_add_loose(out, &edge);
    }
    for (int i = 0; with_rim && i + 1 < nu; i++) {
        add_rim(sheet, w, i + 1, i, out);
        add_rim(sheet, w, top + i, top + i + 1, out);
    }
    for (int j = 0; with_rim && j + 1 < nv; j++) {
        add_rim(sheet, w, j * nu, (j + 1) * nu, out);
        add_rim(sheet, w, (j + 1) * nu + nu - 1, j * nu + nu - 1, out);
    }
}
