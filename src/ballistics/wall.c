#include "ballistics/wall.h"

#include <math.h>

struct sm_cover sm_cover_of(const struct sm_grain_entry *entry, double web)
{
    const struct sm_grain_common *common = &entry->common;
    const int ends = ((common->burning & SM_FACE_FORE_END) != 0) + ((common->burning & SM_FACE_AFT_END) != 0);
    return (struct sm_cover){.length = common->length,
                             .radius = 0.5 * common->outer_diameter,
                             .speed =
                                 ends > 0 ? fmax(1.0, sm_grain_number(entry, "bond_line_ratio", 1.0)) : 0.0,
                             .other = ends > 1 ? 1.0 : 0.0,
                             .axis = sm_grain_number(entry, "axis_ratio", 1.0),
                             .recess = 0.5 * sm_grain_number(entry, "recess_diameter", 0.0),
                             .depth = sm_grain_number(entry, "recess_depth", 0.0),
                             .point = sm_grain_number(entry, "recess_point", 0.0),
                             .web = web,
                             .count = common->burning & SM_FACE_OUTER ? 0 : entry->count};
}

/* Depth at which fire from a recess's bottom, burned w, meets the wall: from the edge of its cone, the cone's side or its tip. */
static double recess_reaches(const struct sm_cover *c, double w, double *speed)
{
    const double side = hypot(c->recess, c->point), out = side > 0.0 ? c->point / side : 0.0;
    const double from_edge = c->radius - c->recess - w * out, from_tip = c->radius - w * out;
    *speed = 0.0;
    if (!(c->recess > 0.0) || w <= c->radius - c->recess)
        return 0.0;
    if (from_edge < 0.0 && from_tip > 0.0) { /* the cone's side, gone out along its normal */
        *speed = side / c->recess;
        return c->depth + c->point - from_tip * c->point / c->recess + w * c->recess / side;
    }
    const double across = from_edge >= 0.0 ? c->radius - c->recess : c->radius;
    const double along = sqrt(fmax(0.0, (w - across) * (w + across)));
    *speed = along > 0.0 ? w / along : 0.0;
    return (from_edge >= 0.0 ? c->depth : c->depth + c->point) + along;
}

double sm_cover_left(const struct sm_cover *c, double w, double *speed)
{
    double gone = c->speed * w, going = c->speed, faster;
    *speed = 0.0;
    /* A cone about the axis, whose front goes at the rate along its normal, meets the wall so far behind the axis' fire. */
    const double by_axis = c->axis * w - c->radius * sqrt((c->axis - 1.0) * (c->axis + 1.0));
    if (c->axis > 1.0 && by_axis > gone) {
        gone = by_axis;
        going = c->axis;
    }
    const double by_recess = recess_reaches(c, w, &faster);
    if (by_recess > gone) {
        gone = by_recess;
        going = faster;
    }
    const double left = c->length - gone - c->other * w;
    if (w >= c->web || !(left > 0.0))
        return 0.0;
    *speed = going + c->other;
    return left;
}

enum sm_status sm_bare_wall_init(struct sm_bare_wall *wall, const struct sm_motor *motor,
                                 struct sm_arena *arena, struct sm_error *err)
{
    const struct sm_motor_spec *spec = &motor->spec;
    *wall = (struct sm_bare_wall){.around = M_PI * spec->chamber.bore, .length = spec->chamber.length};
    wall->cover = sm_arena_alloc(arena, spec->n_grains, sizeof *wall->cover);
    if (!wall->cover)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < spec->n_grains; i++) {
        const struct sm_cover cover = sm_cover_of(&spec->grains[i], motor->geometry[i].web);
        if (cover.count > 0)
            wall->cover[wall->n++] = cover;
    }
    return SM_OK;
}

double sm_bare_wall_area(const struct sm_bare_wall *wall, double w, double *slope)
{
    double bare = wall->length, growth = 0.0, speed;
    for (size_t i = 0; i < wall->n; i++) {
        bare -= wall->cover[i].count * sm_cover_left(&wall->cover[i], w, &speed);
        growth += wall->cover[i].count * speed;
    }
    if (slope)
        *slope = wall->around * growth;
    return wall->around * bare;
}
