#include "ballistics/wall.h"

#include <math.h>

enum sm_status sm_bare_wall_init(struct sm_bare_wall *wall, const struct sm_motor *motor,
                                 struct sm_arena *arena, struct sm_error *err)
{
    const struct sm_motor_spec *spec = &motor->spec;
    *wall = (struct sm_bare_wall){.around = M_PI * spec->chamber.bore, .length = spec->chamber.length};
    wall->cover = sm_arena_alloc(arena, spec->n_grains, sizeof *wall->cover);
    if (!wall->cover)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < spec->n_grains; i++) {
        const struct sm_grain_common *common = &spec->grains[i].common;
        if (common->burning & SM_FACE_OUTER)
            continue;
        const int fore = (common->burning & SM_FACE_FORE_END) != 0;
        const int aft = (common->burning & SM_FACE_AFT_END) != 0;
        const double ratio = sm_grain_number(&spec->grains[i], "bond_line_ratio", 1.0);
        wall->cover[wall->n++] = (struct sm_cover){.length = common->length,
                                                   .speed = (fore + aft) * fmax(1.0, ratio),
                                                   .web = motor->geometry[i].web,
                                                   .count = spec->grains[i].count};
    }
    return SM_OK;
}

double sm_bare_wall_area(const struct sm_bare_wall *wall, double w, double *slope)
{
    double bare = wall->length, growth = 0.0;
    for (size_t i = 0; i < wall->n; i++) {
        const struct sm_cover *c = &wall->cover[i];
        const double left = c->length - c->speed * w;
        if (w >= c->web || !(left > 0.0))
            continue;
        bare -= c->count * left;
        growth += c->count * c->speed;
    }
    if (slope)
        *slope = wall->around * growth;
    return wall->around * bare;
}
