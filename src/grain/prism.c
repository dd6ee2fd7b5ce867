#include "grain/prism.h"

#include <math.h>

#include "grain/shape.h"
#include "grain/table.h"

/* Share of the largest area by which a table may miss it where nobody says. */
static const double TOLERANCE = 1e-9;

struct prism {
    struct sm_burning_section section;
    bool walls_burn;
    double length;        /* [m] */
    double fore, aft;     /* 1 if that end burns, else 0 [1] */
    size_t n_stretches;   /* of the table */
    const double *breaks; /* [m] */
};

/* Value and first two derivatives by w. */
struct jet {
    double d[3]; /* [any] */
};

static void product(struct jet a, struct jet b, enum sm_integral i, struct sm_geometry_knot *out)
{
    out->value[i] = a.d[0] * b.d[0];
    out->slope[i] = a.d[1] * b.d[0] + a.d[0] * b.d[1];
    out->bend[i] = a.d[2] * b.d[0] + 2.0 * a.d[1] * b.d[1] + a.d[0] * b.d[2];
}

/* Integrals of 1, z and z^2 between the ends. */
static void along_axis(const struct prism *p, double w, struct jet out[3])
{
    const double z0 = p->fore * w, z1 = p->length - p->aft * w, v0 = p->fore, v1 = -p->aft;
    out[0] = (struct jet){{z1 - z0, v1 - v0, 0.0}};
    out[1] = (struct jet){{0.5 * (z1 * z1 - z0 * z0), z1 * v1 - z0 * v0, v1 * v1 - v0 * v0}};
    out[2] = (struct jet){{(z1 * z1 * z1 - z0 * z0 * z0) / 3.0, z1 * z1 * v1 - z0 * z0 * v0,
                           2.0 * (z1 * v1 * v1 - z0 * v0 * v0)}};
}

static void prism_knot(void *user, size_t k, double w, struct sm_geometry_knot *out)
{
    const struct prism *p = user;
    struct sm_planar_knot plane;
    if (p->walls_burn) {
        sm_section_knot(&p->section, k, w, &plane);
    } else {
        sm_section_knot(&p->section, 0, 0.0, &plane);
        for (int i = 0; i < SM_N_PLANAR; i++)
            plane.slope[i] = plane.bend[i] = 0.0;
    }
    struct jet z[3], across[SM_N_PLANAR];
    along_axis(p, w, z);
    for (int i = 0; i < SM_N_PLANAR; i++)
        across[i] = (struct jet){{plane.value[i], plane.slope[i], plane.bend[i]}};
    product(across[SM_PLANE_AREA], z[0], SM_VOLUME, out);
    product(across[SM_PLANE_X], z[0], SM_X, out);
    product(across[SM_PLANE_Y], z[0], SM_Y, out);
    product(across[SM_PLANE_AREA], z[1], SM_Z, out);
    product(across[SM_PLANE_XX], z[0], SM_XX, out);
    product(across[SM_PLANE_YY], z[0], SM_YY, out);
    product(across[SM_PLANE_AREA], z[2], SM_ZZ, out);
    product(across[SM_PLANE_XY], z[0], SM_XY, out);
    product(across[SM_PLANE_X], z[1], SM_XZ, out);
    product(across[SM_PLANE_Y], z[1], SM_YZ, out);
}

/* Of a grain whose walls alone burn, so that the ends stand still. */
static void prism_slopes(void *user, size_t k, double w, double slope[SM_N_INTEGRALS])
{
    const struct prism *p = user;
    struct jet z[3];
    double across[SM_N_PLANAR];
    sm_section_slopes(&p->section, k, w, across);
    along_axis(p, w, z);
    slope[SM_VOLUME] = across[SM_PLANE_AREA] * z[0].d[0];
    slope[SM_X] = across[SM_PLANE_X] * z[0].d[0];
    slope[SM_Y] = across[SM_PLANE_Y] * z[0].d[0];
    slope[SM_Z] = across[SM_PLANE_AREA] * z[1].d[0];
    slope[SM_XX] = across[SM_PLANE_XX] * z[0].d[0];
    slope[SM_YY] = across[SM_PLANE_YY] * z[0].d[0];
    slope[SM_ZZ] = across[SM_PLANE_AREA] * z[2].d[0];
    slope[SM_XY] = across[SM_PLANE_XY] * z[0].d[0];
    slope[SM_XZ] = across[SM_PLANE_X] * z[1].d[0];
    slope[SM_YZ] = across[SM_PLANE_Y] * z[1].d[0];
}

/* The table's stretches are the section's stages, cut off where the ends meet. */
static enum sm_status find_breaks(struct sm_arena *scratch, struct prism *p, struct sm_error *err)
{
    const struct sm_stages *stages = &p->section.stages;
    const double along = p->fore + p->aft > 0.0 ? p->length / (p->fore + p->aft) : SM_INF;
    double *breaks = sm_arena_alloc(scratch, stages->n + 2, sizeof *breaks);
    if (!breaks)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    size_t n = 0;
    if (p->walls_burn)
        while (n < stages->n && stages->items[n].w1 < along) {
            breaks[n + 1] = stages->items[n].w1;
            n++;
        }
    if (!p->walls_burn || n < stages->n)
        breaks[++n] = along;
    p->breaks = breaks;
    p->n_stretches = n;
    return SM_OK;
}

static enum sm_status make_table(struct sm_arena *arena, struct sm_arena *scratch,
                                 const struct sm_section *section, struct prism *p, struct sm_geometry *out,
                                 struct sm_error *err)
{
    SM_TRY(sm_section_burn(scratch, section, &p->section, err));
    SM_TRY(find_breaks(scratch, p, err));
    struct sm_planar_knot start;
    sm_section_knot(&p->section, 0, 0.0, &start);
    const double circle = M_PI * section->radius * section->radius;
    *out = (struct sm_geometry){.length = p->length,
                                .outer_radius = section->radius,
                                .envelope = circle * p->length,
                                .port_area = fmax(circle - start.value[SM_PLANE_AREA], 0.0)};
    const bool stands = p->walls_burn && p->fore == 0.0 && p->aft == 0.0;
    const struct sm_table_source source = {.knot = prism_knot,
                                           .slopes = stands ? prism_slopes : NULL,
                                           .user = p,
                                           .breaks = p->breaks,
                                           .n_stretches = p->n_stretches,
                                           .reach = fmax(section->radius, p->length),
                                           .tolerance =
                                               section->tolerance > 0.0 ? section->tolerance : TOLERANCE};
    return sm_table_build(arena, &source, out, err);
}

static enum sm_status make(struct sm_arena *arena, const struct sm_section *section, struct prism *p,
                           struct sm_geometry *out, struct sm_error *err)
{
    struct sm_arena scratch;
    sm_arena_init(&scratch, arena->allocator);
    const enum sm_status status = make_table(arena, &scratch, section, p, out, err);
    sm_arena_release(&scratch);
    return status;
}

enum sm_status sm_prism_geometry(struct sm_arena *arena, const struct sm_section *section, double length,
                                 unsigned burning, struct sm_geometry *out, struct sm_error *err)
{
    const bool bore = burning & SM_FACE_BORE && section->contour.n_edges > 0, outer = burning & SM_FACE_OUTER;
    if (outer && !bore && section->contour.n_edges > 0)
        return sm_at(err,
                     sm_fail(err, SM_E_GEOMETRY,
                             "the outer face may burn only together with the bore in this shape: else fronts "
                             "would go round "
                             "the port, where straight lines are wrong"),
                     "/burning");
    struct prism p = {.walls_burn = bore || outer,
                      .length = length,
                      .fore = burning & SM_FACE_FORE_END ? 1.0 : 0.0,
                      .aft = burning & SM_FACE_AFT_END ? 1.0 : 0.0};
    return make(arena, section, &p, out, err);
}

enum sm_status sm_prism_slice(struct sm_arena *arena, const struct sm_section *section,
                              struct sm_geometry *out, struct sm_error *err)
{
    struct prism p = {.walls_burn = true, .length = 1.0};
    return make(arena, section, &p, out, err);
}
