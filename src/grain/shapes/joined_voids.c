/* Joined voids: a port put together from balls, cylinders, cones, boxes and tori, placed and tilted anywhere. */
#include "grain/shape.h"

#include <math.h>

enum form { CYLINDER, CONE, BALL, BOX, RING };
static const char *const forms[] = {"cylinder", "cone", "ball", "box", "ring", NULL};

/* Fields that a form has no use for stay absent. */
struct entry {
    int form;
    double x, y, z;       /* [m] */
    double tilt, heading; /* [rad] */
    double roll;          /* [rad] */
    double diameter;      /* [m] */
    double end_diameter;  /* [m] */
    double length;        /* [m] */
    double width, height; /* [m] */
    double tube_diameter; /* [m] */
    int count;
};

struct joined_voids {
    struct sm_list voids; /* of struct entry */
    int fineness;
};

#define LENGTH_ROW(field, least, most, absent, words)                                                        \
    {                                                                                                        \
        .name = #field, .kind = SM_QUANTITY, .dim = SM_DIM_LENGTH, .offset = offsetof(struct entry, field),  \
        .min = (least), .max = (most), .fallback = (absent), .help = (words)                                 \
    }
#define ANGLE_ROW(field, words)                                                                              \
    {                                                                                                        \
        .name = #field, .kind = SM_QUANTITY, .dim = SM_DIM_ANGLE, .offset = offsetof(struct entry, field),   \
        .min = -7.0, .max = 7.0, .fallback = 0.0, .help = (words)                                            \
    }

static const struct sm_param rows[] = {
    {.name = "form",
     .kind = SM_CHOICE,
     .offset = offsetof(struct entry, form),
     .fallback = SM_REQUIRED,
     .words = forms,
     .help = "what the void is: cylinder, cone, ball, box or ring, which is a torus"},
    LENGTH_ROW(x, -10.0, 10.0, 0.0,
               "its place across the grain: the middle of a ball or ring, else of the end it starts from"),
    LENGTH_ROW(y, -10.0, 10.0, 0.0, "likewise"),
    LENGTH_ROW(z, -100.0, 100.0, SM_REQUIRED,
               "its place along the grain, from the fore face towards the nozzle"),
    ANGLE_ROW(tilt, "angle of its own axis from the grain's; 0: towards the nozzle, 90 deg: straight across"),
    ANGLE_ROW(heading, "direction in which it is tilted, from the x axis towards the y axis"),
    ANGLE_ROW(roll, "turn of a box about its own axis"),
    LENGTH_ROW(diameter, 1e-4, 20.0, SM_OPTIONAL,
               "of a cylinder or ball; of a cone where it starts; of the middle circle of a ring"),
    LENGTH_ROW(end_diameter, 0.0, 20.0, SM_OPTIONAL, "of a cone at its other end; 0: a point"),
    LENGTH_ROW(length, 1e-4, 100.0, SM_OPTIONAL, "of a cylinder, cone or box along its own axis"),
    LENGTH_ROW(width, 1e-4, 20.0, SM_OPTIONAL, "of a box, along the direction in which it is tilted"),
    LENGTH_ROW(height, 1e-4, 20.0, SM_OPTIONAL, "of a box, across that direction"),
    LENGTH_ROW(tube_diameter, 1e-4, 10.0, SM_OPTIONAL, "of a ring's tube"),
    {.name = "count",
     .kind = SM_WHOLE,
     .offset = offsetof(struct entry, count),
     .min = 1,
     .max = 64,
     .fallback = 1,
     .help = "number of such voids, spread evenly about the grain's axis"},
};

static const struct sm_param params[] = {
    {.name = "voids",
     .kind = SM_LIST,
     .offset = offsetof(struct joined_voids, voids),
     .min = 1,
     .max = 64,
     .fallback = SM_REQUIRED,
     .rows = rows,
     .n_rows = SM_COUNT(rows),
     .row_size = sizeof(struct entry),
     .help = "what the port is made of: all that lies in any of them is void"},
    {.name = "fineness",
     .kind = SM_WHOLE,
     .offset = offsetof(struct joined_voids, fineness),
     .min = 8,
     .max = 256,
     .fallback = 32,
     .help = "smallest cells of the burning surface to the grain's radius: the error of its area, about 2e-5 "
             "at 32 on average, falls with the square, the time grows in proportion"},
};

/* Which fields each form has. */
enum { DIAMETER = 1, END_DIAMETER = 2, LENGTH = 4, WIDTH = 8, HEIGHT = 16, TUBE = 32, N_SIZES = 6 };
static const unsigned sizes_of[] = {[CYLINDER] = DIAMETER | LENGTH,
                                    [CONE] = DIAMETER | END_DIAMETER | LENGTH,
                                    [BALL] = DIAMETER,
                                    [BOX] = WIDTH | HEIGHT | LENGTH,
                                    [RING] = DIAMETER | TUBE};
static const char *const size_names[N_SIZES] = {"diameter", "end_diameter", "length",
                                                "width",    "height",       "tube_diameter"};

static enum sm_status check_entry(const struct entry *e, struct sm_error *err)
{
    const double sizes[N_SIZES] = {e->diameter, e->end_diameter, e->length,
                                   e->width,    e->height,       e->tube_diameter};
    for (int i = 0; i < N_SIZES; i++) {
        const bool has = !isnan(sizes[i]), needs = sizes_of[e->form] >> i & 1u;
        if (has == needs)
            continue;
        return sm_at(err,
                     sm_fail(err, SM_E_FIELD, needs ? "a %s needs its %s" : "a %s has no %s", forms[e->form],
                             size_names[i]),
                     "/%s", size_names[i]);
    }
    if (e->form == RING)
        return sm_shape_below("tube_diameter", e->tube_diameter, "diameter", e->diameter, err);
    return SM_OK;
}

static enum sm_status check(const struct sm_grain_common *common, const void *block, struct sm_error *err)
{
    (void)common;
    const struct joined_voids *p = block;
    const struct entry *list = p->voids.items;
    for (size_t i = 0; i < p->voids.n; i++) {
        const enum sm_status status = check_entry(&list[i], err);
        if (status != SM_OK)
            return sm_at(err, status, "/voids/%zu", i);
    }
    return SM_OK;
}

static struct sm_solid solid_of(const struct entry *e)
{
    struct sm_solid s = {.at = {e->x, e->y, e->z}};
    sm_solid_aim(&s, e->tilt, e->heading, e->roll);
    switch ((enum form)e->form) {
    case CYLINDER:
    case CONE:
        s.form = SM_SOLID_CONE;
        s.a = 0.5 * e->diameter;
        s.b = e->form == CONE ? 0.5 * e->end_diameter : s.a;
        s.c = e->length;
        break;
    case BALL:
        s.form = SM_SOLID_BALL;
        s.a = 0.5 * e->diameter;
        break;
    case BOX:
        s.form = SM_SOLID_BOX;
        s.a = 0.5 * e->width;
        s.b = 0.5 * e->height;
        s.c = 0.5 * e->length;
        s.at = sm_triple_add(s.at, s.c, s.axes[2]);
        break;
    case RING:
        s.form = SM_SOLID_RING;
        s.a = 0.5 * e->diameter;
        s.b = 0.5 * e->tube_diameter;
        break;
    }
    return s;
}

static enum sm_status voids(struct sm_arena *arena, const struct sm_grain_common *common, const void *block,
                            struct sm_voids *out, struct sm_error *err)
{
    (void)common;
    const struct joined_voids *p = block;
    const struct entry *list = p->voids.items;
    struct sm_void *items = sm_arena_alloc(arena, p->voids.n, sizeof *items);
    if (!items)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < p->voids.n; i++)
        items[i] = (struct sm_void){solid_of(&list[i]), list[i].count};
    out->items = items;
    out->n = p->voids.n;
    out->fineness = p->fineness;
    return SM_OK;
}

/* Lengths of a void that lie in the plane of the cut, which is that of the axis and x. */
static void put_entry(const struct entry *e, size_t i, double radius, struct sm_gauges *out)
{
    const struct sm_point foot = {e->z, 0.0}, at = {e->z, e->x}, way = {cos(e->tilt), sin(e->tilt)};
    const double across = e->form == BOX ? e->width : e->diameter,
                 length = isnan(e->length) ? 0.0 : e->length;
    const struct sm_point middle = sm_point_along(at, e->form == CONE ? 0.0 : 0.6 * length, way);
    const struct sm_point normal = {-way.y, way.x}, end = sm_point_along(at, length, way);
    char name[SM_GAUGE_NAME];
    if (e->z > 0.0)
        sm_gauge_length(out, sm_gauge_entry(name, "voids", i, "z"), (struct sm_point){0.0, -radius}, at,
                        SM_GAUGE_BELOW);
    if (e->x != 0.0)
        sm_gauge_length(out, sm_gauge_entry(name, "voids", i, "x"), foot, at, SM_GAUGE_HERE);
    if (e->tilt > 0.0)
        sm_gauge_angle(out, sm_gauge_entry(name, "voids", i, "tilt"), at,
                       (struct sm_point){at.x + 0.4 * length, at.y}, sm_point_along(at, 0.4 * length, way));
    if (length > 0.0 && e->tilt == 0.0)
        sm_gauge_length(out, sm_gauge_entry(name, "voids", i, "length"), (struct sm_point){at.x, radius},
                        (struct sm_point){end.x, radius}, SM_GAUGE_ABOVE);
    else if (length > 0.0)
        sm_gauge_length(out, sm_gauge_entry(name, "voids", i, "length"), at, end, SM_GAUGE_HERE);
    sm_gauge_length(out, sm_gauge_entry(name, "voids", i, e->form == BOX ? "width" : "diameter"),
                    sm_point_along(middle, -0.5 * across, normal),
                    sm_point_along(middle, 0.5 * across, normal), SM_GAUGE_HERE);
    if (e->form == CONE && e->end_diameter > 0.0)
        sm_gauge_length(out, sm_gauge_entry(name, "voids", i, "end_diameter"),
                        sm_point_along(end, -0.5 * e->end_diameter, normal),
                        sm_point_along(end, 0.5 * e->end_diameter, normal), SM_GAUGE_HERE);
    if (e->form == RING)
        sm_gauge_circle(out, sm_gauge_entry(name, "voids", i, "tube_diameter"),
                        sm_point_along(at, 0.5 * e->diameter, normal), 0.5 * e->tube_diameter, M_PI / 3.0,
                        false);
}

static void gauges(const struct sm_grain_common *common, const void *block, struct sm_gauges *out)
{
    const struct joined_voids *p = block;
    const struct entry *list = p->voids.items;
    for (size_t i = 0; i < p->voids.n; i++)
        if (list[i].y == 0.0 && (list[i].tilt == 0.0 || list[i].heading == 0.0) && list[i].roll == 0.0)
            put_entry(&list[i], i, 0.5 * common->outer_diameter, out);
}

const struct sm_shape sm_shape_joined_voids = {
    .name = "joined-voids",
    .summary = "port of cylinders, cones, balls, boxes and rings, tilted and off the axis as well",
    .size = sizeof(struct joined_voids),
    .params = params,
    .n_params = SM_COUNT(params),
    .faces = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END,
    .burning = SM_FACE_BORE,
    .example =
        "{ \"shape\": \"joined-voids\", \"outer_diameter\": \"100 mm\", \"length\": \"180 mm\", \"voids\": ["
        " { \"form\": \"cylinder\", \"z\": \"0 mm\", \"diameter\": \"32 mm\", \"length\": \"180 mm\" },"
        " { \"form\": \"box\", \"x\": \"8 mm\", \"z\": \"110 mm\", \"tilt\": \"40 deg\","
        " \"width\": \"24 mm\", \"height\": \"7 mm\", \"length\": \"36 mm\", \"count\": 4 } ] }",
    .check = check,
    .voids = voids,
    .gauges = gauges,
};
