/* Any physical motor, drawn from the bytes: a shape's example at another size, any burning-rate law, any nozzle. */
#include "fuzz.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static size_t put_law(struct fuzz_draw *d, char *text, size_t size)
{
    const unsigned n = 1 + fuzz_below(d, 4);
    double from = fuzz_between(d, 1e5, 1e6);
    size_t used = 0;
    for (unsigned i = 0; i < n && from < 9e7; i++) {
        const double to = fmin(from * fuzz_between(d, 1.2, 30.0), 1e8);
        used += (size_t)snprintf(text + used, size - used,
                                 "%s{\"from\":\"%.9g Pa\",\"to\":\"%.9g Pa\",\"rate\":\"%.9g mm/s\","
                                 "\"at\":\"1 MPa\",\"exponent\":%.6g}",
                                 i > 0 ? "," : "", from, to, exp(fuzz_between(d, -1.0, 3.5)),
                                 fuzz_between(d, -0.3, 0.95));
        from = to;
    }
    return used;
}

static size_t put_motor(struct fuzz_draw *d, char *text, size_t size)
{
    struct sm_shape_info shape;
    char law[1024];
    sm_shape_describe(fuzz_below(d, (unsigned)sm_shape_count()), &shape);
    if (strcmp(shape.name, "joined-voids") == 0 ||
        strcmp(shape.name, "finned-conocyl") == 0) /* take long, and are met by the target geometry */
        sm_shape_describe(sm_shape_place("tube", NULL), &shape);
    put_law(d, law, sizeof law);
    const double throat = exp(fuzz_between(d, log(1e-3), log(5e-2)));
    const unsigned more = fuzz_byte(d);
    char extra[512] = "";
    if (more & 1u)
        snprintf(extra, sizeof extra, ",\"conditions\":{\"ambient_pressure\":\"%.9g Pa\"}",
                 more & 2u ? 0.0 : fuzz_between(d, 1.0, 2e5));
    return (size_t)snprintf(text, size,
                            "{\"format\":\"slowmatch-motor/1\",\"name\":\"any\",\"propellant\":{"
                            "\"format\":\"slowmatch-propellant/1\",\"name\":\"any\",\"density\":\"%.9g "
                            "kg/m3\",\"burn_rate\":[%s],"
                            "\"temperature_sensitivity\":\"%.6g 1/K\",\"reference_temperature\":\"21 degC\","
                            "\"flame_temperature\":\"%.9g K\",\"molar_mass\":\"%.9g g/mol\",\"gamma\":%.9g,"
                            "\"cstar_efficiency\":%.6g,\"source\":\"drawn\",\"standing\":\"invented\"},"
                            "\"case\":{\"bore\":\"0.4 m\",\"length\":\"0.8 m\"},\"grains\":[%s],"
                            "\"nozzle\":{\"throat_diameter\":\"%.9g m\",\"exit_diameter\":\"%.9g m\"},"
                            "\"ignition\":{\"pressure\":\"%.9g Pa\",\"spread_time\":\"%.6g s\"}%s}",
                            fuzz_between(d, 900.0, 2200.0), law, fuzz_between(d, 0.0, 0.008),
                            fuzz_between(d, 1000.0, 3800.0), fuzz_between(d, 15.0, 45.0),
                            fuzz_between(d, 1.05, 1.4), fuzz_between(d, 0.5, 1.0), shape.example, throat,
                            throat * fuzz_between(d, 1.0, 6.0), exp(fuzz_between(d, log(1.1e5), log(1e7))),
                            fuzz_between(d, 0.0, 0.3), extra);
}

static void expect_numbers(const struct sm_result *r)
{
    const struct sm_column *columns;
    const size_t n = sm_result_columns(r, &columns);
    for (size_t i = 0; i < n; i++)
        fuzz_expect_finite(sm_result_column(r, i), r->series.n, columns[i].name);
    fuzz_expect_finite(&r->thrust.total_impulse, 1, "total impulse");
    fuzz_expect_finite(&r->chamber.pressure_maximum, 1, "peak pressure");
    for (size_t i = 1; i < r->series.n; i++)
        fuzz_expect(r->series.time[i] >= r->series.time[i - 1], "time goes on");
    fuzz_expect(r->statistics.mass_residual <= 0.1 * r->statistics.accuracy, "the books close");
}

static void run(const uint8_t *bytes, size_t n)
{
    char text[8192];
    struct fuzz_draw draw = {bytes, n};
    struct sm_diag diag = {0};
    struct sm_motor *motor = NULL;
    const unsigned way = fuzz_byte(&draw);
    const size_t length = put_motor(&draw, text, sizeof text);
    fuzz_expect(length < sizeof text, "a motor fits its room");
    fuzz_show(text);
    if (sm_motor_parse(text, length, "drawn", fuzz_options(), NULL, &motor, &diag) == SM_OK) {
        struct sm_result *result = NULL;
        struct sm_error err = {0};
        const struct sm_run_options options = {.model = (enum sm_model)(way % 3),
                                               .accuracy = way & 64u ? 1e-6 : 0.0,
                                               .stations = 20,
                                               .without_warnings = (way & 128u) == 0};
        const enum sm_status status = sm_simulate(motor, &options, NULL, &result, &err);
        fuzz_expect((status == SM_OK) == (result != NULL), "a result comes with success alone");
        /* which refuses ports that it can't follow, and says where a search for a pressure found none */
        const int is_axial = options.model == SM_MODEL_AXIAL;
        fuzz_expect(status == SM_OK || status == SM_E_PHYSICS ||
                        (is_axial && (status == SM_E_GEOMETRY || status == SM_E_NUMERIC)),
                    err.message);
        if (result)
            expect_numbers(result);
        sm_result_free(result);
    }
    sm_motor_free(motor);
    sm_diag_release(&diag);
}

const struct fuzz_target fuzz_target_march = {"march", run};
