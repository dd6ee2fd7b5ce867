#include "grain/aftport.h"

#include <math.h>

#include "grain/across.h"
#include "grain/facets.h"
#include "grain/geodesic.h"
#include "grain/meshport.h"
#include "grain/passage.h"
#include "grain/slices.h"
#include "grain/walls.h"
#include "num/parallel.h"

/* What is asked, and where the answers go. */
struct levels {
    const double *w; /* n of them [m] */
    size_t n;
    double *area, *perimeter; /* [m2], [m] */
    double length;            /* of the grain [m] */
    bool aft_burns;
    struct sm_error *err;
};

/* The plane at level i, a share of the length inside of the face that is left: in the face itself void and propellant may both
 * end. Solids and facets that do are flat inside, which is told from the front if it is not too thin. */
static double plane_of(const struct levels *l, size_t i, double inside)
{
    return l->length * (1.0 - inside) - (l->aft_burns ? l->w[i] : 0.0);
}

static const double INSIDE = 1e-6, HAIR = 1e-9; /* such shares [1] */

/* ---- solids ---- */

struct by_solids {
    const struct levels *levels;
    const struct sm_patcher *patcher;
};

struct plane {
    const struct sm_patcher *patcher;
    double z; /* [m] */
};

static double solids_distance(void *user, struct sm_point p)
{
    const struct plane *plane = user;
    return sm_patcher_distance(plane->patcher, (struct sm_triple){p.x, p.y, plane->z});
}

static void one_of_solids(void *user, int worker, size_t i)
{
    (void)worker;
    const struct by_solids *all = user;
    struct plane plane = {all->patcher, plane_of(all->levels, i, INSIDE)};
    const struct sm_across across = {solids_distance, &plane, all->patcher->voids->radius,
                                     all->patcher->sectors};
    sm_across_measure(&across, all->levels->w[i], &all->levels->area[i], &all->levels->perimeter[i]);
}

/* The faces' own fronts lie beyond the plane. */
static enum sm_status from_solids(const struct levels *l, struct sm_arena *scratch,
                                  const struct sm_voids *voids)
{
    struct sm_voids alone = *voids;
    struct sm_patcher patcher;
    alone.burning = SM_FACE_BORE;
    SM_TRY(sm_patcher_init(scratch, &alone, &patcher, l->err));
    struct by_solids all = {l, &patcher};
    sm_parallel_for(l->n, 0, one_of_solids, &all, NULL);
    return SM_OK;
}

/* ---- meshes ---- */

static enum sm_status from_mesh(const struct levels *l, struct sm_arena *scratch,
                                const struct sm_meshport *port, double radius)
{
    double *z = sm_arena_alloc(scratch, l->n, sizeof *z);
    if (!z)
        return sm_fail(l->err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < l->n; i++)
        z[i] = plane_of(l, i, INSIDE);
    return sm_meshport_sections(scratch, port, radius, l->length, z, l->w, l->n, l->area, l->perimeter,
                                l->err);
}

/* ---- round edges ---- */

/* A place along a radius: has it burned, or was it void? */
static bool is_free(const struct sm_walls *walls, double z, double r, double w)
{
    const struct sm_point p = {z, r};
    struct sm_way way;
    if (sm_walls_is_void(walls, p))
        return true;
    sm_walls_way(walls, p, &way);
    return way.length < w;
}

/* Is the propellant at r what the fire is coming to? If not, an inhibited wall stands before it. */
static bool is_lit(const struct sm_walls *walls, double z, double r, double w)
{
    struct sm_way way;
    sm_walls_way(walls, (struct sm_point){z, r}, &way);
    return way.length < w + 1e-6 * walls->size;
}

static void along_radius(const struct levels *l, const struct sm_walls *walls, double radius, size_t i)
{
    enum { PLACES = 128, HALVINGS = 50 };
    const double z = plane_of(l, i, HAIR), w = l->w[i];
    bool before = is_free(walls, z, 0.0, w);
    l->perimeter[i] = 0.0;
    l->area[i] = 0.0;
    for (int k = 1; k <= PLACES; k++) {
        double low = radius * (k - 1) / PLACES, high = radius * k / PLACES;
        const bool after = is_free(walls, z, high * (k < PLACES ? 1.0 : 1.0 - 1e-9), w);
        if (before == after)
            continue;
        for (int j = 0; j < HALVINGS; j++) {
            const double middle = 0.5 * (low + high);
            if (is_free(walls, z, middle, w) == before)
                low = middle;
            else
                high = middle;
        }
        l->area[i] += before ? M_PI * low * low : -M_PI * high * high;
        l->perimeter[i] += is_lit(walls, z, before ? high : low, w) ? 2.0 * M_PI * low : 0.0;
        before = after;
    }
    l->area[i] += before ? M_PI * radius * radius : 0.0;
}

static enum sm_status from_ways(const struct levels *l, struct sm_arena *scratch,
                                const struct sm_meridian *meridian)
{
    struct sm_walls walls;
    SM_TRY(sm_walls_init(scratch, meridian, SM_GEODESIC_STEPS, &walls, l->err));
    for (size_t i = 0; i < l->n; i++)
        along_radius(l, &walls, meridian->radius, i);
    return SM_OK;
}

/* ---- all ---- */

static enum sm_status from_splices(const struct levels *l, struct sm_arena *scratch,
                                   const struct sm_spliced *grain)
{
    struct sm_slicer slicer;
    SM_TRY(sm_slicer_init(scratch, grain, &slicer, l->err));
    for (size_t i = 0; i < l->n; i++) {
        double left;
        SM_TRY(sm_slicer_slice(&slicer, l->w[i], plane_of(l, i, HAIR), &left, &l->perimeter[i], l->err));
        l->area[i] = M_PI * grain->radius * grain->radius - left;
    }
    return SM_OK;
}

static enum sm_status from_section(const struct levels *l, struct sm_arena *scratch,
                                   const struct sm_section *section)
{
    struct sm_burning_section burning;
    SM_TRY(sm_section_burn(scratch, section, &burning, l->err));
    sm_section_table(&burning, l->w, l->n, l->area, l->perimeter);
    return SM_OK;
}

static enum sm_status from_voids(const struct levels *l, struct sm_arena *scratch,
                                 const struct sm_voids *voids)
{
    struct sm_meshport port;
    if (!sm_voids_lean_out(voids))
        return from_solids(l, scratch, voids);
    SM_TRY(sm_voids_facets(scratch, voids, &port, l->err));
    return from_mesh(l, scratch, &port, voids->radius);
}

enum sm_status sm_shape_aft_port(const struct sm_shape *shape, struct sm_arena *scratch,
                                 const struct sm_grain_common *common, const void *params, const double *w,
                                 size_t n, double *area, double *perimeter, struct sm_error *err)
{
    const unsigned burning = common->burning == SM_CHOICES_ABSENT ? shape->burning : common->burning;
    const struct levels l = {w, n, area, perimeter, common->length, burning & SM_FACE_AFT_END, err};
    if (shape->voids) {
        struct sm_voids voids;
        SM_TRY(sm_shape_voids(shape, scratch, common, params, &voids, err));
        return from_voids(&l, scratch, &voids);
    }
    if (shape->is_meshed)
        return from_mesh(&l, scratch, params, 0.5 * common->outer_diameter);
    if (shape->spliced) {
        struct sm_spliced spliced;
        SM_TRY(sm_shape_spliced(shape, scratch, common, params, &spliced, err));
        return from_splices(&l, scratch, &spliced);
    }
    if (shape->section) {
        struct sm_section section;
        SM_TRY(sm_shape_section(shape, scratch, common, params, &section, err));
        return from_section(&l, scratch, &section);
    }
    struct sm_meridian meridian;
    SM_TRY(sm_shape_meridian(shape, scratch, common, params, &meridian, err));
    if (sm_meridian_bends(&meridian))
        return from_ways(&l, scratch, &meridian);
    return sm_meridian_aft_port(scratch, &meridian, w, n, area, perimeter, err);
}
