#include "geometry_geos.h"

#include <geos_c.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

struct geos_section {
    GEOSContextHandle_t geos;
    GEOSGeometry *port, *cylinder;
    int pieces; /* to a quarter circle */
};

static void stop(const char *what)
{
    fprintf(stderr, "GEOS: %s\n", what);
    exit(1);
}

static GEOSGeometry *polygon_of(GEOSContextHandle_t geos, const struct sm_contour *contour, size_t k,
                                int pieces)
{
    const struct sm_chain *chain = &contour->chains[k];
    unsigned n = 1;
    for (size_t i = 0; i < chain->n; i++) {
        const struct sm_edge *e = &contour->edges[chain->first + i];
        n += e->turn == 0 ? 1u : (unsigned)ceil(sm_edge_sweep(e) / (0.5 * M_PI) * pieces);
    }
    if (chain->n == 0 || !sm_chain_is_closed(contour, chain))
        stop("a chain is open");
    GEOSCoordSequence *points = GEOSCoordSeq_create_r(geos, n, 2);
    unsigned at = 0;
    for (size_t i = 0; i < chain->n; i++) {
        const struct sm_edge *e = &contour->edges[chain->first + i];
        const unsigned steps = e->turn == 0 ? 1u : (unsigned)ceil(sm_edge_sweep(e) / (0.5 * M_PI) * pieces);
        for (unsigned j = 0; j < steps; j++) {
            const struct sm_point p = sm_edge_point(e, (double)j / steps);
            GEOSCoordSeq_setXY_r(geos, points, at++, p.x, p.y);
        }
    }
    const struct sm_point first =
        sm_edge_point(&contour->edges[chain->first], 0.0); /* the same to the last bit */
    GEOSCoordSeq_setXY_r(geos, points, at, first.x, first.y);
    GEOSGeometry *ring = GEOSGeom_createLinearRing_r(geos, points);
    GEOSGeometry *polygon = ring ? GEOSGeom_createPolygon_r(geos, ring, NULL, 0) : NULL;
    if (!polygon)
        stop("no polygon from a chain");
    return polygon;
}

struct sm_section geos_whole(struct sm_arena *arena, const struct sm_section *section)
{
    struct sm_section whole = *section;
    if (section->sectors == 0)
        return whole;
    sm_contour_init(&whole.contour, arena);
    sm_contour_unfold(section->contour.edges, section->contour.n_edges, section->sectors, &whole.contour);
    if (sm_contour_stitch(&whole.contour, 1e-9 * section->radius, NULL) != SM_OK)
        stop("a half-sector does not unfold");
    whole.sectors = 0;
    return whole;
}

/* Ports less rods: what is walked anticlockwise is void. */
static GEOSGeometry *port_of(GEOSContextHandle_t geos, const struct sm_contour *contour, int pieces)
{
    GEOSGeometry *port = GEOSGeom_createEmptyPolygon_r(geos);
    for (size_t k = 0; k < contour->n_chains; k++) {
        double twice = 0.0;
        for (size_t i = 0; i < contour->chains[k].n; i++) {
            const struct sm_edge *e = &contour->edges[contour->chains[k].first + i];
            twice += e->a.x * e->b.y - e->a.y * e->b.x;
            if (e->turn != 0)
                twice += e->turn * e->radius * e->radius * (sm_edge_sweep(e) - sin(sm_edge_sweep(e)));
        }
        GEOSGeometry *polygon = polygon_of(geos, contour, k, pieces), *before = port;
        port = twice > 0.0 ? GEOSUnion_r(geos, before, polygon) : GEOSDifference_r(geos, before, polygon);
        GEOSGeom_destroy_r(geos, before);
        GEOSGeom_destroy_r(geos, polygon);
        if (!port)
            stop("ports can't be joined");
    }
    return port;
}

struct geos_section *geos_section_new(const struct sm_section *whole, int pieces)
{
    struct geos_section *s = calloc(1, sizeof *s);
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_contour circle;
    sm_contour_init(&circle, &arena);
    sm_contour_circle(&circle, 0.0, 0.0, whole->radius, 1);
    if (!s || circle.is_short_of_memory)
        stop("out of memory");
    s->geos = GEOS_init_r();
    s->pieces = pieces;
    s->port = port_of(s->geos, &whole->contour, pieces);
    s->cylinder = polygon_of(s->geos, &circle, 0, pieces);
    sm_arena_release(&arena);
    return s;
}

void geos_section_free(struct geos_section *s)
{
    GEOSGeom_destroy_r(s->geos, s->port);
    GEOSGeom_destroy_r(s->geos, s->cylinder);
    GEOS_finish_r(s->geos);
    free(s);
}

void geos_section_burn(const struct geos_section *s, double w, double *area, double *perimeter)
{
    GEOSGeometry *burned = GEOSBuffer_r(s->geos, s->port, w, s->pieces);
    GEOSGeometry *edge = burned ? GEOSBoundary_r(s->geos, burned) : NULL;
    GEOSGeometry *within = burned ? GEOSIntersection_r(s->geos, burned, s->cylinder) : NULL;
    GEOSGeometry *front = edge ? GEOSIntersection_r(s->geos, edge, s->cylinder) : NULL;
    if (!within || !front || !GEOSArea_r(s->geos, within, area) || !GEOSLength_r(s->geos, front, perimeter))
        stop("no buffer");
    GEOSGeom_destroy_r(s->geos, burned);
    GEOSGeom_destroy_r(s->geos, edge);
    GEOSGeom_destroy_r(s->geos, within);
    GEOSGeom_destroy_r(s->geos, front);
}
