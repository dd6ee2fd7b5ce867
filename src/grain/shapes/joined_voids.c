/* Joined voids: a port put together from balls, cylinders, cones, boxes, tori and turned bodies, placed and tilted anywhere. */
#include "grain/shape.h"

#include <math.h>

enum form { CYLINDER, CONE, BALL, BOX, RING, TURNED };
static const char *const forms[] = {"cylinder", "cone", "ball", "box", "ring", "turned", NULL};

/* A corner of a turned body's meridian. */
struct place {
    double z;        /* [m] */
    double diameter; /* [m] */
};

/* Fields that a form has no use for stay absent. */
struct entry {
    int form;
    double x, y, z;         /* [m] */
    double tilt, heading;   /* [rad] */
    double roll;            /* [rad] */
    double diameter;        /* [m] */
    double end_diameter;    /* [m] */
    double length;          /* [m] */
    double width, height;   /* [m] */
    double tube_diameter;   /* [m] */
    double fillet;          /* [m] */
    struct sm_list profile; /* of struct place */
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

static const struct sm_param profile_rows[] = {
    {.name = "z",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct place, z),
     .min = -100.0,
     .max = 100.0,
     .fallback = SM_REQUIRED,
     .help = "distance along the void's own axis from its place"},
    {.name = "diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct place, diameter),
     .min = 0.0,
     .max = 20.0,
     .fallback = SM_REQUIRED,
     .help = "diameter there; 0: on the void's axis"},
};

static const struct sm_param rows[] = {
    {.name = "form",
     .kind = SM_CHOICE,
     .offset = offsetof(struct entry, form),
     .fallback = SM_REQUIRED,
     .words = forms,
     .help = "what the void is: cylinder, cone, ball, box, ring, which is a torus, or turned, a body of "
             "revolution with a profile of its own"},
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
    LENGTH_ROW(fillet, 0.0, 10.0, 0.0,
               "of a box: rounding of its four edges along its own axis; half of its height makes a slot's "
               "round end"),
    LENGTH_ROW(tube_diameter, 1e-4, 10.0, SM_OPTIONAL, "of a ring's tube"),
    {.name = "profile",
     .kind = SM_LIST,
     .offset = offsetof(struct entry, profile),
     .min = 3,
     .max = 40,
     .fallback = SM_OPTIONAL,
     .rows = profile_rows,
     .n_rows = SM_COUNT(profile_rows),
     .row_size = sizeof(struct place),
     .help = "of a turned void: the corners of one half of its lengthwise section, in order, either way "
             "round, joined "
             "by straight lines, the last with the first; it may have hollows, and a hole along its axis"},
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
                                    [RING] = DIAMETER | TUBE,
                                    [TURNED] = 0};
static const char *const size_names[N_SIZES] = {"diameter", "end_diameter", "length",
                                                "width",    "height",       "tube_diameter"};

/* On the axis the profile may lie once: along one stretch, which is none of the void's surface. */
static enum sm_status check_profile(const struct sm_list *profile, struct sm_error *err)
{
    const struct place *list = profile->items;
    const size_t n = profile->n;
    size_t n_on = 0, n_along = 0;
    double area = 0.0, size = 0.0;
    for (size_t i = 0; i < n; i++) {
        const struct place *a = &list[i], *b = &list[(i + 1) % n];
        n_on += a->diameter == 0.0;
        n_along += a->diameter == 0.0 && b->diameter == 0.0;
        area += a->z * b->diameter - b->z * a->diameter;
        size += fabs(b->z - a->z) + fabs(b->diameter - a->diameter);
        if (a->z == b->z && a->diameter == b->diameter)
            return sm_at(err, sm_fail(err, SM_E_GEOMETRY, "this corner is the same as the next one"),
                         "/profile/%zu", i);
    }
    if (!(fabs(area) > 1e-9 * size * size))
        return sm_at(err, sm_fail(err, SM_E_GEOMETRY, "the profile encloses nothing"), "/profile");
    if (n_on > 0 && n_along != n_on - 1)
        return sm_at(
            err,
            sm_fail(err, SM_E_GEOMETRY,
                    "the profile touches its axis in more places than one stretch between two corners"),
            "/profile");
    if (n_on == 1)
        return sm_at(
            err,
            sm_fail(err, SM_E_GEOMETRY,
                    "the profile touches its axis at one corner alone; let a side lie on the axis, or none"),
            "/profile");
    return SM_OK;
}

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
    if ((e->form == TURNED) != (e->profile.n > 0))
        return sm_at(err,
                     sm_fail(err, SM_E_FIELD, e->form == TURNED ? "a %s void needs its %s" : "a %s has no %s",
                             forms[e->form], "profile"),
                     "/profile");
    if (e->form != BOX && e->fillet > 0.0)
        return sm_at(err, sm_fail(err, SM_E_FIELD, "a %s has no %s", forms[e->form], "fillet"), "/fillet");
    if (e->form == BOX && e->fillet > 0.5 * fmin(e->width, e->height))
        return sm_shape_below("fillet", e->fillet, "half of the box's width and height",
                              0.5 * fmin(e->width, e->height), err);
    if (e->form == TURNED)
        return check_profile(&e->profile, err);
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

/* The profile as a chain with the void on its left, from the axis to the axis if it lies on it. */
static void chain_profile(const struct sm_list *profile, struct sm_contour *chain)
{
    const struct place *list = profile->items;
    const size_t n = profile->n;
    double area = 0.0;
    size_t start = 0;
    for (size_t i = 0; i < n; i++)
        area += list[i].z * list[(i + 1) % n].diameter - list[(i + 1) % n].z * list[i].diameter;
    const size_t step = area > 0.0 ? 1 : n - 1; /* on, or back */
    while (start + 1 < n && !(list[start].diameter == 0.0 && list[(start + step) % n].diameter > 0.0))
        start++;
    sm_contour_start(chain, list[start].z, 0.5 * list[start].diameter);
    for (size_t k = 1, i = start; k <= n; k++) {
        const size_t next = (i + step) % n;
        if (list[i].diameter > 0.0 || list[next].diameter > 0.0)
            sm_contour_line(chain, list[next].z, 0.5 * list[next].diameter);
        i = next;
    }
}

/* Cuts what stands along the axis and gets wider beyond a face that doesn't burn in that face, as cones are (grain/patcher.c). */
static enum sm_status cut_in_face(struct sm_arena *arena, double z, int end, double reach,
                                  struct sm_turned *turned, struct sm_error *err)
{
    struct sm_contour chain;
    sm_contour_init(&chain, arena);
    if (!(end * ((end > 0 ? turned->high : turned->low) - z) > 0.0) || !sm_turned_widens(turned, z, end) ||
        !sm_turned_cut(&turned->profile, z, end, &chain))
        return SM_OK;
    return sm_turned_make(arena, &chain, reach, turned, err);
}

static enum sm_status turn_profile(struct sm_arena *arena, const struct sm_grain_common *common,
                                   const struct entry *e, const struct sm_turned **out, struct sm_error *err)
{
    const double reach = hypot(common->outer_diameter, common->length);
    struct sm_turned *turned = sm_arena_alloc(arena, 1, sizeof *turned);
    struct sm_contour chain;
    if (!turned)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    sm_contour_init(&chain, arena);
    chain_profile(&e->profile, &chain);
    *out = turned;
    SM_TRY(sm_turned_make(arena, &chain, reach, turned, err));
    if (e->tilt == 0.0 && !(common->burning & SM_FACE_AFT_END))
        SM_TRY(cut_in_face(arena, common->length - e->z, 1, reach, turned, err));
    if (e->tilt == 0.0 && !(common->burning & SM_FACE_FORE_END))
        SM_TRY(cut_in_face(arena, -e->z, -1, reach, turned, err));
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
        s.fillet = e->fillet;
        s.at = sm_triple_add(s.at, s.c, s.axes[2]);
        break;
    case RING:
        s.form = SM_SOLID_RING;
        s.a = 0.5 * e->diameter;
        s.b = 0.5 * e->tube_diameter;
        break;
    case TURNED:
        s.form = SM_SOLID_TURNED;
        break;
    }
    return s;
}

/* A straight void along the axis that ends in a face goes on beyond it, so that it is open there. */
static void open_ends(const struct sm_grain_common *common, struct sm_solid *s)
{
    const bool is_box = s->form == SM_SOLID_BOX,
               is_straight = is_box || (s->form == SM_SOLID_CONE && s->a == s->b);
    const double close = 1e-9 * common->outer_diameter, over = 0.5 * common->outer_diameter;
    if (!is_straight || s->axes[2].z != 1.0)
        return;
    double low = is_box ? s->at.z - s->c : s->at.z, high = s->at.z + s->c;
    low -= fabs(low) <= close ? over : 0.0;
    high += fabs(high - common->length) <= close ? over : 0.0;
    s->at.z = is_box ? 0.5 * (low + high) : low;
    s->c = is_box ? 0.5 * (high - low) : high - low;
}

static enum sm_status voids(struct sm_arena *arena, const struct sm_grain_common *common, const void *block,
                            struct sm_voids *out, struct sm_error *err)
{
    const struct joined_voids *p = block;
    const struct entry *list = p->voids.items;
    struct sm_void *items = sm_arena_alloc(arena, p->voids.n, sizeof *items);
    if (!items)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < p->voids.n; i++) {
        items[i] = (struct sm_void){solid_of(&list[i]), list[i].count};
        open_ends(common, &items[i].solid);
        if (list[i].form != TURNED)
            continue;
        const enum sm_status status = turn_profile(arena, common, &list[i], &items[i].solid.turned, err);
        if (status != SM_OK)
            return sm_at(err, status, "/voids/%zu/profile", i);
    }
    out->items = items;
    out->n = p->voids.n;
    out->fineness = p->fineness;
    return SM_OK;
}

/* Diameters of a profile about the grain's own axis. */
static void put_profile(const struct entry *e, size_t i, struct sm_gauges *out)
{
    const struct place *list = e->profile.items;
    char name[SM_GAUGE_NAME], field[SM_GAUGE_NAME];
    for (size_t k = 0; k < e->profile.n && e->x == 0.0 && e->tilt == 0.0; k++) {
        const double z = e->z + list[k].z, r = 0.5 * list[k].diameter;
        sm_gauge_entry(field, "profile", k, "diameter");
        if (r > 0.0)
            sm_gauge_length(out, sm_gauge_entry(name, "voids", i, field), (struct sm_point){z, -r},
                            (struct sm_point){z, r}, SM_GAUGE_HERE);
    }
}

/* Lengths of a void that lie in the plane of the cut, which is that of the axis and x. */
static void put_entry(const struct entry *e, size_t i, double radius, struct sm_gauges *out)
{
    const struct sm_point foot = {e->z, 0.0}, at = {e->z, e->x}, way = {cos(e->tilt), sin(e->tilt)};
    const double across = e->form == BOX ? e->width : e->diameter,
                 length = isnan(e->length) ? 0.0 : e->length,
                 arm = length > 0.0 ? 0.4 * length : 0.5 * radius;
    const struct sm_point middle = sm_point_along(at, e->form == CONE ? 0.0 : 0.6 * length, way);
    const struct sm_point normal = {-way.y, way.x}, end = sm_point_along(at, length, way);
    char name[SM_GAUGE_NAME];
    if (e->z > 0.0)
        sm_gauge_length(out, sm_gauge_entry(name, "voids", i, "z"), (struct sm_point){0.0, -radius}, at,
                        SM_GAUGE_BELOW);
    if (e->x != 0.0)
        sm_gauge_length(out, sm_gauge_entry(name, "voids", i, "x"), foot, at, SM_GAUGE_HERE);
    if (e->tilt > 0.0)
        sm_gauge_angle(out, sm_gauge_entry(name, "voids", i, "tilt"), at, (struct sm_point){at.x + arm, at.y},
                       sm_point_along(at, arm, way));
    if (length > 0.0 && e->tilt == 0.0)
        sm_gauge_length(out, sm_gauge_entry(name, "voids", i, "length"), (struct sm_point){at.x, radius},
                        (struct sm_point){end.x, radius}, SM_GAUGE_ABOVE);
    else if (length > 0.0)
        sm_gauge_length(out, sm_gauge_entry(name, "voids", i, "length"), at, end, SM_GAUGE_HERE);
    if (e->form != TURNED)
        sm_gauge_length(out, sm_gauge_entry(name, "voids", i, e->form == BOX ? "width" : "diameter"),
                        sm_point_along(middle, -0.5 * across, normal),
                        sm_point_along(middle, 0.5 * across, normal), SM_GAUGE_HERE);
    if (e->form == CONE && e->end_diameter > 0.0)
        sm_gauge_length(out, sm_gauge_entry(name, "voids", i, "end_diameter"),
                        sm_point_along(end, -0.5 * e->end_diameter, normal),
                        sm_point_along(end, 0.5 * e->end_diameter, normal), SM_GAUGE_HERE);
    put_profile(e, i, out);
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
    .summary =
        "port of cylinders, cones, balls, boxes, rings and turned bodies, tilted and off the axis as well",
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
