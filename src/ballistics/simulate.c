#include "ballistics/axial.h"
#include "ballistics/beside.h"
#include "ballistics/losses.h"
#include "ballistics/onesigma.h"
#include "ballistics/result.h"
#include "ballistics/warning.h"

#include <math.h>
#include <stdlib.h>

static const double default_accuracy = 1e-4;
static const size_t default_stations = 100;

static enum sm_status check_options(const struct sm_run_options *options, struct sm_error *err)
{
    if (options->accuracy != 0.0 && !(options->accuracy >= 1e-9 && options->accuracy <= 1e-2))
        return sm_fail(err, SM_E_RANGE, "an accuracy of %.3g is outside 1e-9 to 1e-2", options->accuracy);
    if (options->grain_temperature != 0.0 &&
        !(options->grain_temperature > 150.0 && options->grain_temperature < 450.0))
        return sm_fail(err, SM_E_RANGE, "a grain temperature of %.4g K is outside 150 K to 450 K",
                       options->grain_temperature);
    if (isnan(options->heat_transfer) || options->heat_transfer > 1e4)
        return sm_fail(err, SM_E_RANGE, "a heat transfer coefficient of %.4g W/m2K is above 10000 W/m2K",
                       options->heat_transfer);
    if (options->stations != 0 &&
        !(options->stations >= SM_STATIONS_MIN && options->stations <= SM_STATIONS_MAX))
        return sm_fail(err, SM_E_RANGE, "%zu stations are outside %d to %d", options->stations,
                       SM_STATIONS_MIN, SM_STATIONS_MAX);
    return SM_OK;
}

static struct sm_run *new_run(const struct sm_context *context)
{
    struct sm_arena arena;
    sm_arena_init(&arena, context ? context->allocator : NULL);
    struct sm_run *run = sm_arena_alloc(&arena, 1, sizeof *run);
    if (run)
        run->arena = arena;
    else
        sm_arena_release(&arena);
    return run;
}

/* Books: what there was at time zero, and what the igniter added, against what left, what is left as gas and what is left unburned. */
static double imbalance(const struct sm_chamber *chamber, const struct sm_trace *trace)
{
    const double before = chamber->loaded + trace->delivered;
    const double after = trace->expelled + trace->gas_left + chamber->density * trace->volume_left;
    return fabs(before - after) / chamber->loaded;
}

static double temperature_of(const struct sm_motor *motor, const struct sm_run_options *options)
{
    return options->grain_temperature > 0.0 ? options->grain_temperature
                                            : motor->spec.conditions.grain_temperature;
}

static enum sm_status run_axial(const struct sm_motor *motor, const struct sm_run_options *options,
                                const struct sm_chamber *chamber, const struct sm_march_options *march,
                                struct sm_run *run, struct sm_trace *trace, struct sm_error *err)
{
    struct sm_axial_trace axial;
    const size_t stations = options->stations ? options->stations : default_stations;
    SM_TRY(sm_march_axial(motor, chamber, march, stations, run->temperature, &run->arena, &axial, err));
    *trace = axial.books;
    run->result.axial = axial.summary;
    return sm_series_from_axial(motor, &axial, &run->arena, &run->result.series, err);
}

static enum sm_status run_grain(const struct sm_motor *motor, const struct sm_run_options *options,
                                const struct sm_context *context, struct sm_run *run, struct sm_error *err)
{
    struct sm_chamber chamber;
    struct sm_trace trace;
    struct sm_result *result = &run->result;
    const double temperature = temperature_of(motor, options);
    const double heat = options->heat_transfer != 0.0 ? fmax(0.0, options->heat_transfer) : SM_ABSENT;
    run->temperature = temperature;
    const struct sm_march_options march = {
        .accuracy = options->accuracy > 0.0 ? options->accuracy : default_accuracy,
        .progress = context ? &context->progress : NULL,
    };
    SM_TRY(sm_chamber_init(&chamber, motor, temperature, heat, &run->arena, err));
    if (options->model == SM_MODEL_AXIAL) {
        SM_TRY(run_axial(motor, options, &chamber, &march, run, &trace, err));
    } else {
        SM_TRY(options->model == SM_MODEL_EQUILIBRIUM
                   ? sm_march_equilibrium(&chamber, &march, &run->arena, &trace, err)
                   : sm_march_transient(&chamber, &march, &run->arena, &trace, err));
        SM_TRY(sm_series_from_trace(motor, &chamber, &trace, &run->arena, &result->series, err));
    }
    result->loaded_mass = motor->has_hardware ? motor->propellant_mass + motor->hardware.mass : SM_ABSENT;
    result->complete = trace.end == SM_RUN_BURNED_OUT || trace.end == SM_RUN_FADED;
    result->statistics = (struct sm_run_statistics){
        .steps = trace.steps,
        .rejected = trace.rejected,
        .mass_residual = imbalance(&chamber, &trace),
        .accuracy = march.accuracy,
        .end = trace.end,
    };
    if (!(result->statistics.mass_residual <= sm_books_allowed(march.accuracy)))
        return sm_fail(
            err, SM_E_PHYSICS,
            "the books don't close: what flows out and what is left differ from what there was by %.3g "
            "of the loaded mass; the motor hardly burns in this chamber, or its values are beyond what "
            "this model follows",
            result->statistics.mass_residual);
    SM_TRY(sm_result_summarize(motor, &chamber, trace.impulse, run, err));
    if (options->without_warnings)
        return SM_OK;
    SM_TRY(sm_losses_reckon(motor, &chamber, run, err));
    sm_end_burner_summarize(motor, &chamber, options, run);
    sm_axial_compare(motor, options, run);
    return sm_warnings_judge(motor, &chamber, run, err);
}

enum sm_status sm_simulate(const struct sm_motor *motor, const struct sm_run_options *options,
                           const struct sm_context *context, struct sm_result **result, struct sm_error *err)
{
    static const struct sm_run_options defaults;
    const struct sm_run_options *asked = options ? options : &defaults;
    *result = NULL;
    SM_TRY(check_options(asked, err));
    struct sm_run *run = new_run(context);
    if (!run)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    run->result.motor = motor->spec.name;
    run->result.model = asked->model;
    run->result.burn_end = asked->burn_end;
    /* a bare curve without a coefficient is the same on every day */
    run->result.grain_temperature = motor->spec.is_curve && motor->spec.bare.temperature_coefficient == 0.0
                                        ? SM_ABSENT
                                        : temperature_of(motor, asked);
    sm_end_burner_absent(&run->result.end_burner);
    sm_one_sigma_absent(&run->result.one_sigma);
    sm_axial_absent(&run->result.axial);
    enum sm_status status;
    if (motor->spec.is_curve) {
        status = sm_run_bare_curve(motor, temperature_of(motor, asked), run, err);
        if (status == SM_OK && !asked->without_warnings)
            status = sm_warnings_judge(motor, NULL, run, err);
    } else {
        status = run_grain(motor, asked, context, run, err);
    }
    if (status == SM_OK && run->result.complete && !asked->without_warnings)
        status = sm_one_sigma_reckon(motor, asked, run, err);
    if (status != SM_OK)
        sm_result_free(&run->result);
    else
        *result = &run->result;
    return status;
}

void sm_result_free(struct sm_result *result)
{
    if (!result)
        return;
    /* The run lives in its own arena, so the arena is copied out before it goes. */
    struct sm_arena arena = ((struct sm_run *)result)->arena;
    sm_arena_release(&arena);
}
