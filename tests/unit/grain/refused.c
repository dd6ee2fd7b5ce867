/* What no shape draws, given to what shapes are made of: refused, and never a table of no sense. */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "grain/meridian.h"
#include "grain/mesh.h"
#include "grain/section.h"
#include "grain/shape.h"

static void expect(enum sm_status status, enum sm_status expected, const struct sm_error *err,
                   const char *words)
{
    cr_expect_eq(status, expected, "%s: %d %s", words, (int)status, err->message);
    cr_expect(strstr(err->message, words), "'%s' lacks '%s'", err->message, words);
}

/* ---- sections ---- */

struct drawn {
    struct sm_arena arena;
    struct sm_section section;
};

static struct sm_contour *begin(struct drawn *d, int sectors, enum sm_outer outer)
{
    sm_arena_init(&d->arena, NULL);
    d->section = (struct sm_section){.sectors = sectors, .radius = 0.03, .outer = outer};
    sm_contour_init(&d->section.contour, &d->arena);
    return &d->section.contour;
}

static void refuse(struct drawn *d, const char *words)
{
    struct sm_burning_section out;
    struct sm_error err = {0};
    expect(sm_section_burn(&d->arena, &d->section, &out, &err), SM_E_GEOMETRY, &err, words);
    sm_arena_release(&d->arena);
}

Test(grain_refused, sections)
{
    struct drawn d;
    begin(&d, 0, SM_OUTER_HELD);
    refuse(&d, "the port leaves nothing to burn");

    struct sm_contour *c = begin(&d, 0, SM_OUTER_HELD);
    sm_contour_circle(c, 0.0, 0.0, 0.025, 1); /* two ports, one round the other */
    sm_contour_circle(c, 0.0, 0.0, 0.02, 1);
    refuse(&d, "parts lie inside each other");

    /* a slot from wall to wall, walked with the void on its right */
    c = begin(&d, 0, SM_OUTER_HELD);
    sm_contour_start(c, sqrt(0.03 * 0.03 - 0.01 * 0.01), -0.01);
    sm_contour_line(c, -sqrt(0.03 * 0.03 - 0.01 * 0.01), -0.01);
    sm_contour_start(c, sqrt(0.03 * 0.03 - 0.01 * 0.01), 0.01);
    sm_contour_line(c, -sqrt(0.03 * 0.03 - 0.01 * 0.01), 0.01);
    refuse(&d, "meets the outer wall the wrong way round");

    /* along the first ray of its sector, which does not burn */
    c = begin(&d, 4, SM_OUTER_HELD);
    sm_contour_start(c, 0.02, 0.0);
    sm_contour_line(c, 0.01, 0.0);
    sm_contour_line(c, 0.01, 0.01);
    refuse(&d, "runs along a face that does not burn");

    /* a figure said to be far smaller than it is: the front has not gone by the time that it must have */
    struct sm_fronts fronts;
    struct sm_stages stages;
    struct sm_error err = {0};
    c = begin(&d, 0, SM_OUTER_HELD);
    sm_contour_circle(c, 0.0, 0.0, 0.01, 1);
    cr_assert_eq(sm_section_fronts(&d.arena, &d.section, &fronts, &err), SM_OK, "%s", err.message);
    fronts.size = 1e-4;
    expect(sm_stages_find(&d.arena, &fronts, &stages, &err), SM_E_GEOMETRY, &err,
           "never reached by a burning face");
    sm_arena_release(&d.arena);
}

/* ---- meridians ---- */

static void refuse_meridian(struct sm_arena *arena, const struct sm_meridian *m, const char *words)
{
    struct sm_geometry g;
    struct sm_error err = {0};
    expect(sm_meridian_geometry(arena, m, &g, &err), SM_E_GEOMETRY, &err, words);
}

static void bore(struct sm_meridian *m, struct sm_arena *arena, const double (*places)[2], size_t n)
{
    sm_contour_init(&m->bore, arena);
    sm_contour_start(&m->bore, places[0][0], places[0][1]);
    for (size_t i = 1; i < n; i++)
        sm_contour_line(&m->bore, places[i][0], places[i][1]);
}

Test(grain_refused, meridians)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_meridian m = {.length = 0.1, .radius = 0.03, .burning = SM_FACE_BORE};
    static const double through[][2] = {{0.1, 0.01}, {0.0, 0.01}},
                        beyond[][2] = {{0.1, 0.01}, {0.05, 0.035}, {0.0, 0.01}},
                        backwards[][2] = {{0.0, 0.01}, {0.1, 0.01}};
    bore(&m, &arena, beyond, 3);
    refuse_meridian(&arena, &m, "the bore leaves the grain at z = 56.25 mm, radius 31.875 mm");
    sm_contour_init(&m.bore, &arena); /* a solid grain has no bore to burn */
    refuse_meridian(&arena, &m, "the port leaves nothing to burn");
    bore(&m, &arena, backwards, 2);
    refuse_meridian(&arena, &m, "does not bound the propellant");
    bore(&m, &arena, through, 2);
    m.fore_dome = m.aft_dome = 0.06;
    refuse_meridian(&arena, &m, "the domes take 120 mm");
    m = (struct sm_meridian){
        .length = 0.1, .radius = 0.03, .burning = SM_FACE_AFT_END, .fore_dome = 0.02, .is_geodesic = true};
    bore(&m, &arena, through, 2);
    refuse_meridian(&arena, &m, "not solved for beside domed ends");
    sm_arena_release(&arena);
}

/* ---- meshes ---- */

Test(grain_refused, meshes)
{
    struct sm_arena arena;
    struct sm_error err = {0};
    struct sm_vertex v[] = {{0, 0, 0}, {1, 0, 0}, {0, 1, 0}, {0, 0, 1}};
    static const struct sm_facet f[] = {{0, 2, 1}, {0, 1, 3}, {0, 3, 2}, {1, 2, 3}};
    struct sm_mesh mesh = {v, f, 4, 3, NULL};
    sm_arena_init(&arena, NULL);
    expect(sm_mesh_check(&arena, &mesh, &err), SM_E_GEOMETRY, &err, "a mesh of 3 facets bounds nothing");
    mesh.n_facets = 4;
    cr_expect_eq(sm_mesh_check(&arena, &mesh, &err), SM_OK, "%s", err.message);
    v[2].y = (double)INFINITY;
    expect(sm_mesh_check(&arena, &mesh, &err), SM_E_RANGE, &err, "vertex 3 of the mesh is no finite place");
    cr_expect_str_eq(err.at.path, "/vertices/2");
    sm_arena_release(&arena);
}
