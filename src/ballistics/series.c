#include "ballistics/result.h"

#include <math.h>

enum sm_status sm_series_init(struct sm_series *series, size_t n, int with_grain, int with_hardware,
                              struct sm_arena *arena, struct sm_error *err)
{
    *series = (struct sm_series){.n = n};
    double **always[] = {
        &series->time,           &series->thrust,        &series->mass_flow,         &series->propellant_mass,
        &series->center_of_mass, &series->inertia_axial, &series->inertia_transverse};
    double **grain[] = {&series->pressure, &series->burn_area,       &series->kn,
                        &series->web,      &series->throat_diameter, &series->area_ratio};
    double **motor[] = {&series->motor_mass, &series->motor_center_of_mass, &series->motor_inertia_axial,
                        &series->motor_inertia_transverse};
    struct {
        double ***columns; /* [SI] */
        size_t n;
        int wanted;
    } groups[] = {{always, SM_COUNT(always), 1},
                  {grain, SM_COUNT(grain), with_grain},
                  {motor, SM_COUNT(motor), with_hardware}};
    for (size_t g = 0; g < SM_COUNT(groups); g++)
        for (size_t i = 0; groups[g].wanted && i < groups[g].n; i++) {
            *groups[g].columns[i] = sm_arena_alloc(arena, n, sizeof(double));
            if (!*groups[g].columns[i])
                return sm_fail(err, SM_E_NOMEM, "out of memory");
        }
    return SM_OK;
}

void sm_series_body(struct sm_series *s, size_t i, const struct sm_body *propellant,
                    const struct sm_body *hardware)
{
    s->propellant_mass[i] = propellant->mass;
    s->center_of_mass[i] =
        propellant->mass > 0.0 || i == 0 ? propellant->center_of_mass : s->center_of_mass[i - 1];
    s->inertia_axial[i] = propellant->inertia_axial;
    s->inertia_transverse[i] = propellant->inertia_transverse;
    if (!s->motor_mass)
        return;
    struct sm_body whole;
    sm_body_join(propellant, hardware, &whole);
    s->motor_mass[i] = whole.mass;
    s->motor_center_of_mass[i] = whole.center_of_mass;
    s->motor_inertia_axial[i] = whole.inertia_axial;
    s->motor_inertia_transverse[i] = whole.inertia_transverse;
}

static void fill_row(const struct sm_motor *motor, const struct sm_chamber *chamber,
                     const struct sm_bands *bands, const struct sm_node *node, size_t i, struct sm_series *s)
{
    struct sm_instant now;
    struct sm_geometry_at at = {0};
    struct sm_body propellant;
    const double w = node->y[SM_W];
    sm_chamber_instant(chamber, bands, &node->mode, node->t, node->y, &now);
    if (node->mode.piece < chamber->stack->n_pieces)
        sm_piece_eval(&chamber->stack->pieces[sm_chamber_piece(chamber, &node->mode, w)], w, &at);
    sm_propellant_body(chamber->density, &at, &propellant);
    s->time[i] = node->t;
    s->thrust[i] = now.thrust;
    s->pressure[i] = node->y[SM_P];
    s->mass_flow[i] = now.mass_flow;
    s->burn_area[i] = now.area;
    s->kn[i] = now.area / now.throat_area;
    s->web[i] = w;
    s->throat_diameter[i] = 2.0 * (chamber->throat_radius + (chamber->wears ? node->y[SM_GROWTH] : 0.0));
    s->area_ratio[i] = now.exit_area / now.throat_area;
    sm_series_body(s, i, &propellant, &motor->hardware);
}

enum sm_status sm_series_from_trace(const struct sm_motor *motor, const struct sm_chamber *chamber,
                                    const struct sm_trace *trace, struct sm_arena *arena,
                                    struct sm_series *series, struct sm_error *err)
{
    struct sm_bands bands;
    sm_bands_init(&bands, chamber);
    SM_TRY(sm_series_init(series, trace->n_nodes, 1, motor->has_hardware, arena, err));
    for (size_t i = 0; i < trace->n_nodes; i++)
        fill_row(motor, chamber, &bands, &trace->nodes[i], i, series);
    return SM_OK;
}
