/* The axial model's rows as a series. */
#include "ballistics/axial.h"

#include <math.h>

enum sm_status sm_series_from_axial(const struct sm_motor *motor, const struct sm_axial_trace *trace,
                                    struct sm_arena *arena, struct sm_series *s, struct sm_error *err)
{
    SM_TRY(sm_series_init(s, trace->n, 1, motor->has_hardware, arena, err));
    double **own[] = {&s->pressure_aft, &s->pressure_nozzle, &s->mach, &s->mass_flux};
    for (size_t i = 0; i < SM_COUNT(own); i++) {
        *own[i] = sm_arena_alloc(arena, trace->n, sizeof(double));
        if (!*own[i])
            return sm_fail(err, SM_E_NOMEM, "out of memory");
    }
    for (size_t i = 0; i < trace->n; i++) {
        const struct sm_axial_row *row = &trace->rows[i];
        s->time[i] = row->t;
        s->thrust[i] = row->thrust;
        s->pressure[i] = row->head;
        s->mass_flow[i] = row->flow;
        s->burn_area[i] = row->area;
        s->kn[i] = row->area / (0.25 * M_PI * row->throat * row->throat);
        s->web[i] = row->web;
        s->throat_diameter[i] = row->throat;
        s->area_ratio[i] = row->ratio;
        s->pressure_aft[i] = row->aft;
        s->pressure_nozzle[i] = row->total;
        s->mach[i] = row->mach;
        s->mass_flux[i] = row->flux;
        sm_series_body(s, i, &row->propellant, &motor->hardware);
    }
    return SM_OK;
}

void sm_axial_absent(struct sm_axial_summary *summary)
{
    *summary = (struct sm_axial_summary){
        .head_maximum = SM_ABSENT,
        .aft_maximum = SM_ABSENT,
        .drop = SM_ABSENT,
        .mach_maximum = SM_ABSENT,
        .mach_place = SM_ABSENT,
        .mach_time = SM_ABSENT,
        .mass_flux_maximum = SM_ABSENT,
        .mass_flux_place = SM_ABSENT,
        .erosive_ratio = SM_ABSENT,
        .peak_ratio = SM_ABSENT,
        .erosive_peak = SM_ABSENT,
        .volume_correction = SM_ABSENT,
    };
}

/* Largest pressure of a series while its propellant goes from more to less [kg]; *from is a row before that, and moved on. */
static double highest(const struct sm_series *s, double more, double less, size_t *from)
{
    double most = 0.0;
    while (*from + 2 < s->n && s->propellant_mass[*from + 1] > more)
        (*from)++;
    for (size_t i = *from; i + 1 < s->n && s->propellant_mass[i] >= less; i++) {
        const double m0 = s->propellant_mass[i], m1 = s->propellant_mass[i + 1], span = m0 - m1;
        const double a = span > 0.0 ? fmax(0.0, (m0 - more) / span) : 0.0;
        const double b = span > 0.0 ? fmin(1.0, (m0 - less) / span) : 1.0;
        const double rise = s->pressure[i + 1] - s->pressure[i];
        most = fmax(most, s->pressure[i] + fmax(a * rise, b * rise));
    }
    return most;
}

double sm_axial_ratio(const struct sm_series *axial, const struct sm_series *lumped)
{
    /* Where one grain of several burns out the pressure falls at once, in both series but not with just as much burned. */
    static const double beside = 0.02; /* of the propellant [1] */
    const double all = axial->propellant_mass[0];
    double largest = 0.0;
    size_t k = 0;
    for (size_t i = 0; i < axial->n; i++) {
        const double mass = axial->propellant_mass[i];
        if (mass > 0.98 * all || mass < 0.10 * all)
            continue;
        largest =
            fmax(largest, axial->pressure[i] / highest(lumped, mass + beside * all, mass - beside * all, &k));
    }
    return largest;
}

void sm_axial_compare(const struct sm_motor *motor, const struct sm_run_options *options, struct sm_run *run)
{
    const struct sm_context context = {.allocator = run->arena.allocator};
    struct sm_run_options lumped = *options;
    struct sm_result *beside = NULL;
    struct sm_error why = {0};
    if (options->model != SM_MODEL_AXIAL)
        return;
    lumped.model = SM_MODEL_TRANSIENT;
    lumped.without_warnings = true;
    if (sm_simulate(motor, &lumped, &context, &beside, &why) == SM_OK) {
        run->result.axial.peak_ratio = run->result.axial.head_maximum / beside->chamber.pressure_maximum;
        run->result.axial.erosive_peak = sm_axial_ratio(&run->result.series, &beside->series);
    }
    sm_result_free(beside);
}
