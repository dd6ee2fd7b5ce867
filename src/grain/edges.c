#include "grain/edges.h"

#include <math.h>

struct sm_edge sm_part_edge(const struct sm_fronts *fronts, const struct sm_part *part, double w)
{
    const struct sm_front *f = &fronts->items[part->front];
    struct sm_cut_part at;
    sm_part_place(fronts, part, w, &at);
    if (!f->is_arc)
        return (struct sm_edge){.a = at.p[0], .b = at.p[1]};
    const bool grows = f->sign > 0.0 && f->speed > 0.0;
    return (struct sm_edge){.a = at.p[grows ? 0 : 1],
                            .b = at.p[grows ? 1 : 0],
                            .centre = f->base,
                            .radius = at.radius,
                            .turn = grows ? 1 : -1};
}

enum sm_status sm_fronts_edges(const struct sm_fronts *fronts, const struct sm_stages *stages, double w,
                               bool with_walls, double least, struct sm_contour *out, struct sm_error *err)
{
    const double at = fmax(w, 0.0);
    size_t stage = 0;
    while (stage < stages->n && at >= stages->items[stage].w1)
        stage++;
    if (stage == stages->n)
        return SM_OK;
    const struct sm_parts *parts = &stages->items[stage].parts;
    for (int k = 0; k < (with_walls ? parts->n : parts->n_burning); k++) {
        const struct sm_edge edge = sm_part_edge(fronts, &parts->items[k], at);
        if (sm_edge_length(&edge) > least)
            sm_contour_add_loose(out, &edge);
    }
    return sm_contour_check_memory(out, err);
}
