#include "ballistics/beside.h"
#include "motor/twin.h"

#include <math.h>

/* Heat transfer coefficients between which a bare wall's are taken to lie [W m-2 K-1]: from memory of small motors, no
 * source. */
static const double heat_low = 100.0, heat_high = 400.0;

static const double beside_accuracy = 1e-3; /* of runs beside [1] */

void sm_end_burner_absent(struct sm_end_burner_summary *summary)
{
    *summary = (struct sm_end_burner_summary){
        .ratio = SM_ABSENT,
        .area_factor = SM_ABSENT,
        .pressure_factor = SM_ABSENT,
        .pressure_limit = SM_ABSENT,
        .burn_time_flat = SM_ABSENT,
        .wall_front_time = SM_ABSENT,
        .bare_area = SM_ABSENT,
        .bare_longest = SM_ABSENT,
        .bare_mean = SM_ABSENT,
        .droop = SM_ABSENT,
        .droop_low = SM_ABSENT,
        .droop_high = SM_ABSENT,
    };
}

static int is_end_burner(const struct sm_motor *motor)
{
    for (size_t i = 0; i < motor->spec.n_grains; i++) {
        const unsigned burning = motor->spec.grains[i].common.burning;
        if (burning != SM_FACE_FORE_END && burning != SM_FACE_AFT_END)
            return 0;
    }
    return 1;
}

/* ---- the face ---- */

/* A result can't outlive its motor, so the numbers wanted of the flat twin are taken here. */
static void compare_with_flat(const struct sm_motor *motor, const struct sm_run *run,
                              const struct sm_run_options *options, struct sm_end_burner_summary *out)
{
    struct sm_motor *flat = NULL;
    struct sm_result *result = NULL;
    struct sm_run_options beside = *options;
    beside.without_warnings = true;
    beside.accuracy = beside_accuracy;
    if (sm_motor_twin_flat(motor, &flat, NULL) == SM_OK &&
        sm_simulate(flat, &beside, NULL, &result, NULL) == SM_OK) {
        const double area = result->series.burn_area[0];
        double largest = 0.0;
        for (size_t i = 0; i < run->result.series.n; i++)
            largest = fmax(largest, run->result.series.burn_area[i]);
        out->area_factor = largest / area;
        out->pressure_factor = run->result.chamber.pressure_maximum / result->chamber.pressure_maximum;
        out->burn_time_flat = result->thrust.burn_time;
    }
    sm_result_free(result);
    sm_motor_twin_release(flat);
}

static double time_at_web(const struct sm_series *s, double w)
{
    for (size_t i = 1; i < s->n; i++)
        if (s->web[i] >= w) {
            const double span = s->web[i] - s->web[i - 1];
            const double share = span > 0.0 ? (w - s->web[i - 1]) / span : 1.0;
            return s->time[i - 1] + share * (s->time[i] - s->time[i - 1]);
        }
    return SM_ABSENT;
}

static void describe_face(const struct sm_motor *motor, const struct sm_chamber *chamber,
                          const struct sm_run *run, const struct sm_run_options *options,
                          struct sm_end_burner_summary *out)
{
    const double haste = sm_motor_haste(motor);
    if (!(haste > 1.0))
        return;
    out->ratio = haste;
    const struct sm_burn_law *law = &chamber->law;
    const double n = law->segments[sm_burn_law_segment(law, run->result.chamber.pressure_average)].exponent;
    out->pressure_limit = pow(out->ratio, 1.0 / (1.0 - n));
    compare_with_flat(motor, run, options, out);
    const struct sm_cover *cover = chamber->wall.cover;
    if (motor->spec.n_grains == 1 && chamber->wall.n == 1 && cover->speed > 1.0) /* with one end that burns */
        out->wall_front_time = time_at_web(&run->result.series, cover->length / cover->speed);
}

/* ---- the wall ---- */

/* Where each part of the wall came bare at its own time, the mean is the area under the bare area's curve over its end's. */
static void describe_wall(const struct sm_chamber *chamber, const struct sm_series *s,
                          struct sm_end_burner_summary *out)
{
    const double first = sm_bare_wall_area(&chamber->wall, 0.0, NULL);
    size_t last = s->n - 1;
    while (last > 0 && !(s->burn_area[last] > 0.0))
        last--;
    double exposure = 0.0; /* [m2 s] */
    for (size_t i = 1; i <= last; i++) {
        const double a = sm_bare_wall_area(&chamber->wall, s->web[i - 1], NULL);
        const double b = sm_bare_wall_area(&chamber->wall, s->web[i], NULL);
        exposure += 0.5 * (a + b - 2.0 * first) * (s->time[i] - s->time[i - 1]);
    }
    const double bare = sm_bare_wall_area(&chamber->wall, s->web[last], NULL);
    out->bare_area = bare;
    out->bare_longest = s->time[last];
    out->bare_mean = (exposure + first * s->time[last]) / bare;
}

/* Distance burned at which the face is about to leave the wall: the last at which it is still as large as a flat one, to a
 * fiftieth [m]. */
static double last_full(const struct sm_motor *motor, const struct sm_series *s)
{
    double flat = 0.0;
    size_t last = s->n - 1;
    for (size_t i = 0; i < motor->spec.n_grains; i++) {
        const struct sm_grain_entry *e = &motor->spec.grains[i];
        flat += e->count * 0.25 * M_PI * e->common.outer_diameter * e->common.outer_diameter;
    }
    while (last > 0 && s->burn_area[last] < 0.98 * flat)
        last--;
    return s->web[last];
}

/* Pressure at rest with this much burned over that at the start [1]; absent if it has none. */
static double course(const struct sm_motor *motor, const struct sm_run_options *options, double heat_transfer,
                     double w)
{
    struct sm_result *result = NULL;
    const struct sm_run_options steady = {
        .model = SM_MODEL_EQUILIBRIUM,
        .accuracy = beside_accuracy,
        .grain_temperature = options->grain_temperature,
        .heat_transfer = heat_transfer,
        .without_warnings = true,
    };
    double ratio = SM_ABSENT;
    if (sm_simulate(motor, &steady, NULL, &result, NULL) == SM_OK) {
        const struct sm_series *s = &result->series;
        ratio = sm_curve_at(s->web, s->pressure, s->n, w) / s->pressure[0];
    }
    sm_result_free(result);
    return ratio;
}

/* What heat to the wall takes from the pressure between the start and the end: the course with it over that without, so that a
 * face or a throat that changes of itself does not count. */
static void describe_droop(const struct sm_motor *motor, const struct sm_chamber *chamber,
                           const struct sm_run_options *options, const struct sm_series *series,
                           struct sm_end_burner_summary *out)
{
    const double w = last_full(motor, series), plain = course(motor, options, -1.0, w);
    out->droop_low = 1.0 - course(motor, options, heat_low, w) / plain;
    out->droop_high = 1.0 - course(motor, options, heat_high, w) / plain;
    if (chamber->cools)
        out->droop = 1.0 - course(motor, options, options->heat_transfer, w) / plain;
}

void sm_end_burner_summarize(const struct sm_motor *motor, const struct sm_chamber *chamber,
                             const struct sm_run_options *options, struct sm_run *run)
{
    struct sm_end_burner_summary *out = &run->result.end_burner;
    if (!is_end_burner(motor) || !run->result.complete)
        return;
    describe_face(motor, chamber, run, options, out);
    describe_wall(chamber, &run->result.series, out);
    if (!isnan(motor->spec.propellant.flame_temperature))
        describe_droop(motor, chamber, options, &run->result.series, out);
}
