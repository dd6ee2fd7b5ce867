/* Mesh: a port given by the closed triangle mesh that bounds it, as solid modelling programs write. */
#include "grain/meshport.h"
#include "grain/shape.h"

#include "slowmatch/limits.h"

static const struct sm_param vertex_rows[] = {
    {.name = "x",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct sm_vertex, x),
     .min = -10.0,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "place across the grain, from its axis"},
    {.name = "y",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct sm_vertex, y),
     .min = -10.0,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "likewise"},
    {.name = "z",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct sm_vertex, z),
     .min = -100.0,
     .max = 100.0,
     .fallback = SM_REQUIRED,
     .help = "place along the grain, from the fore face towards the nozzle"},
};

#define CORNER(field, words)                                                                                 \
    {                                                                                                        \
        .name = #field, .kind = SM_WHOLE, .offset = offsetof(struct sm_facet, field), .min = 0,              \
        .max = 3 * SM_MAX_FACETS, .fallback = SM_REQUIRED, .help = (words)                                   \
    }

static const struct sm_param facet_rows[] = {
    CORNER(a, "place of its first corner in the list of vertices, from 0"),
    CORNER(b, "of the second: the three run anticlockwise as seen from outside the void"),
    CORNER(c, "of the third"),
};

static const struct sm_param params[] = {
    {.name = "file",
     .kind = SM_TEXT,
     .offset = offsetof(struct sm_meshport, file),
     .fallback = SM_OPTIONAL,
     .help = "STL file, binary or text, beside this file: the void, its facets facing out of it"},
    {.name = "file_unit",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct sm_meshport, file_unit),
     .min = 1e-9,
     .max = 1e3,
     .fallback = SM_OPTIONAL,
     .help = "length of one unit of the file, which does not say it itself, as \"1 mm\""},
    {.name = "vertices",
     .kind = SM_LIST,
     .offset = offsetof(struct sm_meshport, vertices),
     .min = 4,
     .max = 3 * SM_MAX_FACETS,
     .fallback = SM_OPTIONAL,
     .rows = vertex_rows,
     .n_rows = SM_COUNT(vertex_rows),
     .row_size = sizeof(struct sm_vertex),
     .help = "corners of the mesh, in place of a file"},
    {.name = "facets",
     .kind = SM_LIST,
     .offset = offsetof(struct sm_meshport, facets),
     .min = 4,
     .max = SM_MAX_FACETS,
     .fallback = SM_OPTIONAL,
     .rows = facet_rows,
     .n_rows = SM_COUNT(facet_rows),
     .row_size = sizeof(struct sm_facet),
     .help = "triangles between them, in place of a file; together they close round the void"},
    {.name = "resolution",
     .kind = SM_WHOLE,
     .offset = offsetof(struct sm_meshport, resolution),
     .min = 8,
     .max = 256,
     .fallback = 40,
     .help = "boxes across the grain's diameter in which fronts are taken: the error of the area, which the "
             "table states, falls about with the square, the time grows with the cube"},
};

/* A void that no end opens is sealed in the propellant, where no fire comes. */
static enum sm_status check_open(const struct sm_meshport *port, double length, struct sm_error *err)
{
    const struct sm_vertex *v = port->vertices.items;
    for (size_t i = 0; i < port->vertices.n; i++)
        if (v[i].z <= 0.0 || v[i].z >= length)
            return SM_OK;
    return sm_fail(err, SM_E_GEOMETRY, "the mesh is closed off: it reaches neither end of the grain");
}

static enum sm_status geometry(struct sm_arena *arena, const struct sm_grain_common *common,
                               const void *block, struct sm_geometry *out, struct sm_error *err)
{
    const struct sm_meshport *port = block;
    if (!(common->burning & SM_FACE_BORE))
        return sm_at(
            err,
            sm_fail(err, SM_E_GEOMETRY,
                    "with its bore inhibited, fronts of this shape go round edges, which is not solved "
                    "for: the bore must burn"),
            "/burning");
    if (port->facets.n == 0 || port->vertices.n == 0)
        return sm_at(err, sm_fail(err, SM_E_FIELD, "give a \"file\", or \"vertices\" and \"facets\""),
                     "/file");
    SM_TRY(check_open(port, common->length, err));
    return sm_meshport_geometry(arena, port, 0.5 * common->outer_diameter, common->length, common->burning,
                                out, err);
}

const struct sm_shape sm_shape_mesh = {
    .name = "mesh",
    .summary = "a port bounded by a closed triangle mesh, as from an STL file",
    .size = sizeof(struct sm_meshport),
    .params = params,
    .n_params = SM_COUNT(params),
    .faces = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END | SM_FACE_OUTER,
    .burning = SM_FACE_BORE,
    .example = "{ \"shape\": \"mesh\", \"outer_diameter\": \"60 mm\", \"length\": \"70 mm\","
               " \"resolution\": 12, \"vertices\": ["
               " { \"x\": \"13 mm\", \"y\": \"1 mm\", \"z\": \"-2 mm\" },"
               " { \"x\": \"-7 mm\", \"y\": \"9 mm\", \"z\": \"-2 mm\" },"
               " { \"x\": \"-5 mm\", \"y\": \"-11 mm\", \"z\": \"-2 mm\" },"
               " { \"x\": \"17 mm\", \"y\": \"-1 mm\", \"z\": \"73 mm\" },"
               " { \"x\": \"-8 mm\", \"y\": \"14 mm\", \"z\": \"73 mm\" },"
               " { \"x\": \"-9 mm\", \"y\": \"-14 mm\", \"z\": \"73 mm\" } ], \"facets\": ["
               " { \"a\": 0, \"b\": 2, \"c\": 1 }, { \"a\": 3, \"b\": 4, \"c\": 5 },"
               " { \"a\": 0, \"b\": 1, \"c\": 4 }, { \"a\": 0, \"b\": 4, \"c\": 3 },"
               " { \"a\": 1, \"b\": 2, \"c\": 5 }, { \"a\": 1, \"b\": 5, \"c\": 4 },"
               " { \"a\": 2, \"b\": 0, \"c\": 3 }, { \"a\": 2, \"b\": 3, \"c\": 5 } ] }",
    .is_meshed = true,
    .geometry = geometry,
};
