#include "grain/gauge.h"

#include <math.h>
#include <string.h>

#include "base/text.h"

static struct sm_point turned(const struct sm_gauges *g, struct sm_point p)
{
    const double c = cos(g->turn), s = sin(g->turn);
    return (struct sm_point){c * p.x - s * p.y, s * p.x + c * p.y};
}

static void put(struct sm_gauges *out, const char *name, struct sm_gauge gauge)
{
    if (out->n == SM_GAUGE_MOST)
        return;
    sm_text_format(gauge.name, sizeof gauge.name, "%s", name);
    gauge.is_along = out->is_along;
    gauge.a = turned(out, gauge.a);
    gauge.b = turned(out, gauge.b);
    gauge.c = turned(out, gauge.c);
    out->items[out->n++] = gauge;
}

void sm_gauge_length(struct sm_gauges *out, const char *name, struct sm_point a, struct sm_point b,
                     enum sm_gauge_side side)
{
    const bool is_level = side == SM_GAUGE_ABOVE || side == SM_GAUGE_BELOW;
    const double value = is_level                ? fabs(b.x - a.x)
                         : side == SM_GAUGE_LEFT ? fabs(b.y - a.y)
                                                 : hypot(b.x - a.x, b.y - a.y);
    put(out, name, (struct sm_gauge){.form = SM_GAUGE_LENGTH, .side = side, .value = value, .a = a, .b = b});
}

void sm_gauge_radius(struct sm_gauges *out, const char *name, struct sm_point centre, struct sm_point on_arc)
{
    put(out, name,
        (struct sm_gauge){.form = SM_GAUGE_RADIUS,
                          .value = hypot(on_arc.x - centre.x, on_arc.y - centre.y),
                          .a = centre,
                          .b = on_arc});
}

void sm_gauge_circle(struct sm_gauges *out, const char *name, struct sm_point centre, double radius,
                     double angle, bool is_traced)
{
    const struct sm_point way = {radius * cos(angle), radius * sin(angle)};
    put(out, name,
        (struct sm_gauge){.form = SM_GAUGE_CIRCLE,
                          .is_traced = is_traced,
                          .value = 2.0 * radius,
                          .a = sm_point_along(centre, -1.0, way),
                          .b = sm_point_along(centre, 1.0, way)});
}

static double angle_between(struct sm_point apex, struct sm_point from, struct sm_point to)
{
    const struct sm_point u = sm_point_minus(from, apex), v = sm_point_minus(to, apex);
    const double angle = atan2(sm_point_cross(u, v), sm_point_dot(u, v));
    return angle < 0.0 ? angle + 2.0 * M_PI : angle;
}

void sm_gauge_angle(struct sm_gauges *out, const char *name, struct sm_point apex, struct sm_point from,
                    struct sm_point to)
{
    put(out, name,
        (struct sm_gauge){
            .form = SM_GAUGE_ANGLE, .value = angle_between(apex, from, to), .a = from, .b = to, .c = apex});
}

void sm_gauge_share(struct sm_gauges *out, const char *name, struct sm_point apex, struct sm_point from,
                    struct sm_point to, double whole)
{
    put(out, name,
        (struct sm_gauge){.form = SM_GAUGE_ANGLE,
                          .is_share = true,
                          .value = angle_between(apex, from, to) / whole,
                          .a = from,
                          .b = to,
                          .c = apex});
}

const char *sm_gauge_entry(char text[SM_GAUGE_NAME], const char *list, size_t i, const char *field)
{
    sm_text_format(text, SM_GAUGE_NAME, "%s.%zu.%s", list, i, field);
    return text;
}

enum sm_dim sm_gauge_dim(const struct sm_gauge *gauge)
{
    if (gauge->is_share)
        return SM_DIM_NONE;
    return gauge->form == SM_GAUGE_ANGLE ? SM_DIM_ANGLE : SM_DIM_LENGTH;
}
