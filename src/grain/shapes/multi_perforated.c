/* Multi-perforated: any number of round ports. */
#include "grain/shape.h"

#include <math.h>

/* A port, or a ring of equal ones spread evenly about the axis. */
struct perforation {
    double diameter; /* [m] */
    double distance; /* of the centres from the axis [m] */
    double angle;    /* of the first one [rad] */
    int count;
};

struct multi_perforated {
    struct sm_list perforations; /* of struct perforation */
};

static const struct sm_param rows[] = {
    {.name = "diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct perforation, diameter),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "diameter of the port"},
    {.name = "distance",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct perforation, distance),
     .min = 0.0,
     .max = 10.0,
     .fallback = 0.0,
     .help = "distance of its centre from the axis"},
    {.name = "angle",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_ANGLE,
     .offset = offsetof(struct perforation, angle),
     .min = -7.0,
     .max = 7.0,
     .fallback = 0.0,
     .help = "direction of its centre, from the x axis towards the y axis"},
    {.name = "count",
     .kind = SM_WHOLE,
     .offset = offsetof(struct perforation, count),
     .min = 1,
     .max = 64,
     .fallback = 1,
     .help = "number of such ports, spread evenly about the axis"},
};

static const struct sm_param params[] = {
    {.name = "perforations",
     .kind = SM_LIST,
     .offset = offsetof(struct multi_perforated, perforations),
     .min = 1,
     .max = 64,
     .fallback = SM_REQUIRED,
     .rows = rows,
     .n_rows = SM_COUNT(rows),
     .row_size = sizeof(struct perforation),
     .help = "the ports, or rings of equal ports"},
};

static struct sm_point centre_of(const struct perforation *p, int k)
{
    const double angle = p->angle + 2.0 * M_PI * k / p->count;
    return (struct sm_point){p->distance * cos(angle), p->distance * sin(angle)};
}

static enum sm_status check_apart(const struct perforation *a, const struct perforation *b, size_t i,
                                  size_t j, struct sm_error *err)
{
    const double least = 0.5 * (a->diameter + b->diameter);
    for (int k = 0; k < a->count; k++)
        for (int m = 0; m < b->count; m++) {
            if (i == j && m <= k)
                continue;
            const struct sm_point p = centre_of(a, k), q = centre_of(b, m);
            if (hypot(p.x - q.x, p.y - q.y) <= least)
                return sm_at(err,
                             sm_fail(err, SM_E_GEOMETRY,
                                     "ports overlap: this one at %.4g, %.4g mm and one of entry %zu",
                                     1e3 * p.x, 1e3 * p.y, j),
                             "/perforations/%zu", i);
        }
    return SM_OK;
}

static enum sm_status check(const struct sm_grain_common *common, const void *block, struct sm_error *err)
{
    const struct multi_perforated *grain = block;
    const struct perforation *list = grain->perforations.items;
    for (size_t i = 0; i < grain->perforations.n; i++) {
        enum sm_status status =
            sm_shape_below("diameter", list[i].diameter, "outer_diameter", common->outer_diameter, err);
        if (status == SM_OK)
            status = sm_shape_below("distance", list[i].distance, "what keeps the port within the grain",
                                    0.5 * (common->outer_diameter - list[i].diameter), err);
        if (status != SM_OK)
            return sm_at(err, status, "/perforations/%zu", i);
        for (size_t j = i; j < grain->perforations.n; j++)
            SM_TRY(check_apart(&list[i], &list[j], i, j, err));
    }
    return SM_OK;
}

static int common_divisor(int a, int b)
{
    while (b != 0) {
        const int rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

/* n if turning by 2 pi/n and mirroring at the x axis leave all rings where they are, else 0. A ring is its own mirror
 * image if a port or the middle between two lies on the axis. */
static int find_symmetry(const struct multi_perforated *grain)
{
    const struct perforation *list = grain->perforations.items;
    int n = 0;
    for (size_t i = 0; i < grain->perforations.n; i++) {
        if (list[i].distance == 0.0)
            continue;
        n = common_divisor(n, list[i].count);
        const double steps = list[i].angle * list[i].count / M_PI;
        if (fabs(steps - round(steps)) > 1e-12)
            return 0;
    }
    return n > 0 ? n : 1;
}

/* The part of a port in the half-sector between rays at 0 and at sector: all of it, half of it, or none. */
static void add_part(double r, struct sm_point at, double sector, struct sm_contour *contour)
{
    const double distance = hypot(at.x, at.y), near = 1e-9 * (distance + r);
    const double above = at.y, below = at.x * sin(sector) - at.y * cos(sector);
    const double cx = cos(sector), sx = sector < M_PI ? sin(sector) : 0.0;
    if (distance <= near) {
        sm_contour_start(contour, r, 0.0);
        sm_contour_arc(contour, r * cx, r * sx, 0.0, 0.0, 1);
    } else if (fabs(above) <= near && (at.x > 0.0 || sector == M_PI)) {
        sm_contour_start(contour, at.x + r, 0.0);
        sm_contour_arc(contour, at.x - r, 0.0, at.x, 0.0, 1);
    } else if (fabs(below) <= near && at.x * cx + at.y * sx > 0.0) {
        sm_contour_start(contour, (distance - r) * cx, (distance - r) * sx);
        sm_contour_arc(contour, (distance + r) * cx, (distance + r) * sx, distance * cx, distance * sx, 1);
    } else if (above > 0.0 && below > 0.0) {
        sm_contour_circle(contour, at.x, at.y, r, 1);
    }
}

static enum sm_status section(struct sm_arena *arena, const struct sm_grain_common *common, const void *block,
                              struct sm_section *out, struct sm_error *err)
{
    (void)arena, (void)common, (void)err;
    const struct multi_perforated *grain = block;
    const struct perforation *list = grain->perforations.items;
    out->sectors = find_symmetry(grain);
    for (size_t i = 0; i < grain->perforations.n; i++)
        for (int k = 0; k < (list[i].distance > 0.0 ? list[i].count : 1); k++) {
            const struct sm_point at = centre_of(&list[i], k);
            if (out->sectors > 0)
                add_part(0.5 * list[i].diameter, at, M_PI / out->sectors, &out->contour);
            else
                sm_contour_circle(&out->contour, at.x, at.y, 0.5 * list[i].diameter, 1);
        }
    return SM_OK;
}

static void gauges(const struct sm_grain_common *common, const void *block, struct sm_gauges *out)
{
    (void)common;
    const struct multi_perforated *grain = block;
    const struct perforation *list = grain->perforations.items;
    const struct sm_point axis = {0.0, 0.0};
    for (size_t i = 0; i < grain->perforations.n; i++) {
        char name[SM_GAUGE_NAME];
        const struct sm_point centre = centre_of(&list[i], 0);
        sm_gauge_circle(out, sm_gauge_entry(name, "perforations", i, "diameter"), centre,
                        0.5 * list[i].diameter, M_PI / 3.0, false);
        if (list[i].distance > 0.0)
            sm_gauge_length(out, sm_gauge_entry(name, "perforations", i, "distance"), axis, centre,
                            SM_GAUGE_HERE);
        if (list[i].distance > 0.0 && list[i].angle > 0.0)
            sm_gauge_angle(out, sm_gauge_entry(name, "perforations", i, "angle"), axis,
                           (struct sm_point){0.5 * list[i].distance, 0.0}, centre);
    }
}

const struct sm_shape sm_shape_multi_perforated = {
    .name = "multi-perforated",
    .summary = "any number of round ports; progressive",
    .size = sizeof(struct multi_perforated),
    .params = params,
    .n_params = SM_COUNT(params),
    .faces = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END | SM_FACE_OUTER,
    .burning = SM_FACE_BORE,
    .example = "{ \"shape\": \"multi-perforated\", \"outer_diameter\": \"75 mm\", \"length\": \"150 mm\","
               " \"perforations\": [ { \"diameter\": \"8 mm\" },"
               " { \"diameter\": \"8 mm\", \"distance\": \"22 mm\", \"count\": 6 } ] }",
    .check = check,
    .section = section,
    .gauges = gauges,
};
