/*
 * Random motors that could be built: any shape at any size and number, any burning-rate law, a throat for a chosen pressure.
 *
 *     random_motors COUNT [FIRST]
 *
 * Each is burned by the transient model at the usual accuracy and at a fine one, and by the equilibrium model, and one in four
 * by the axial model; what must hold
 * of any motor is looked at, and at the end that every warning was met. Motor i is drawn from the seed i alone, so
 * `random_motors 1 I` repeats one. Exit: 0 if all holds, 1 if something does not, 2 for wrong arguments.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "ballistics/warning.h"
#include "draw.h"
#include "slowmatch/slowmatch.h"

/* Fewer than this many motors may leave a warning unmet [1]. */
enum { ENOUGH_FOR_WARNINGS = 200, MOST_WARNINGS = 64 };

static const double PI = 3.14159265358979324;

struct tally {
    size_t n, burned, refused, by_models, axial, axial_refused, wrong;
    double books, impulse, converged, models,
        axial_books; /* worst of each, as a share of what it may be [1] */
    struct {
        const char *code;
        size_t n;
    } warnings[MOST_WARNINGS];
    size_t n_warnings;
};

/* ---- drawing ---- */

struct choice {
    char law[1024], more[256], grains[4096];
    double density, sensitivity, flame, molar, gamma, efficiency; /* SI, molar in [g/mol] */
    double pressure;                                              /* wanted in the chamber [Pa] */
    double steepest;                                              /* exponent of the law [1] */
    bool steps_up;            /* which lets a chamber rest at two pressures */
    double rate;              /* of burning there [m/s] */
    double bore, length;      /* of the case [m] */
    double throat, expansion; /* throat diameter [m], exit over throat [1] */
    double ignition, spread;  /* [Pa], [s] */
    const char *burst;        /* what the case says of it */
};

/* One to three joined stretches of r = a P^n; some step at the joints, some have plateaus or mesas. */
static void draw_law(uint64_t *seed, struct choice *c)
{
    const int n = draw_whole(seed, 1, 3);
    double from = 2e5, at = 1e6, rate = exp(draw_uniform(seed, log(1.5e-3), log(2.5e-2)));
    size_t used = 0;
    for (int i = 0; i < n; i++) {
        const double exponent = draw_uniform(seed, i > 0 ? -0.2 : 0.15, i > 0 ? 0.6 : 0.75);
        const double to = i + 1 == n ? 2e7 : from * draw_uniform(seed, 4.0, 8.0);
        used += (size_t)snprintf(
            c->law + used, sizeof c->law - used,
            "%s{\"from\":\"%.9g Pa\",\"to\":\"%.9g Pa\",\"rate\":\"%.9g mm/s\",\"at\":\"%.9g "
            "Pa\",\"exponent\":%.6g}",
            i > 0 ? "," : "", from, to, 1e3 * rate, at, exponent);
        if (c->pressure >= from && c->pressure <= to)
            c->rate = rate * pow(c->pressure / at, exponent);
        const double step = draw_whole(seed, 0, 3) == 0 ? draw_uniform(seed, 0.8, 1.3) : 1.0;
        c->steps_up = c->steps_up || (i + 1 < n && step > 1.0);
        c->steepest = fmax(c->steepest, exponent);
        rate *= pow(to / at, exponent) * step;
        from = at = to;
    }
}

static void draw_motor(uint64_t seed, struct choice *c)
{
    struct sm_shape_info shape;
    *c = (struct choice){
        .bore = 0.4, .length = 1.0, .throat = 0.01, .density = draw_uniform(&seed, 1200.0, 1900.0)};
    sm_shape_describe((size_t)draw_whole(&seed, 0, (int)sm_shape_count() - 1), &shape);
    /* a solid anywhere in space, or a mesh, takes a second or so: the rest of the motor is what counts here */
    if (strcmp(shape.name, "joined-voids") == 0 || strcmp(shape.name, "finned-conocyl") == 0 ||
        strcmp(shape.name, "mesh") == 0)
        sm_shape_describe(sm_shape_place("tube", NULL), &shape);
    snprintf(c->grains, sizeof c->grains, "%s", shape.example);
    c->pressure = exp(draw_uniform(&seed, log(4e5), log(1.5e7)));
    draw_law(&seed, c);
    c->sensitivity = draw_uniform(&seed, 0.0, 0.004);
    c->flame = draw_uniform(&seed, 1400.0, 3500.0);
    c->molar = draw_uniform(&seed, 20.0, 42.0);
    c->gamma = draw_uniform(&seed, 1.08, 1.3);
    c->efficiency = draw_uniform(&seed, 0.85, 1.0);
    c->expansion = draw_uniform(&seed, 1.0, 4.0);
    c->ignition = draw_uniform(&seed, 0.3, 1.0) * c->pressure;
    c->spread = draw_whole(&seed, 0, 1) ? draw_uniform(&seed, 0.0, 0.1) : 0.0;
    if (draw_whole(&seed, 0, 3) == 0)
        snprintf(c->more, sizeof c->more,
                 ",\"conditions\":{\"ambient_pressure\":\"%.9g Pa\",\"grain_temperature\":\"%.9g K\"}",
                 draw_uniform(&seed, 0.0, 1e5), draw_uniform(&seed, 250.0, 320.0));
    c->burst = draw_whole(&seed, 0, 9) == 0 ? "" : ",\"burst_pressure\":\"12 MPa\"";
}

static struct sm_motor *read_motor(const struct choice *c, const struct sm_load_options *options,
                                   struct sm_diag *diag)
{
    char text[8192];
    struct sm_motor *motor = NULL;
    const int n = snprintf(
        text, sizeof text,
        "{\"format\":\"slowmatch-motor/"
        "1\",\"name\":\"drawn\",\"propellant\":{\"format\":\"slowmatch-propellant/1\","
        "\"name\":\"drawn\",\"density\":\"%.9g kg/m3\",\"burn_rate\":[%s],\"temperature_sensitivity\":\"%.6g "
        "1/K\","
        "\"reference_temperature\":\"21 degC\",\"flame_temperature\":\"%.9g K\",\"molar_mass\":\"%.9g "
        "g/mol\","
        "\"gamma\":%.9g,\"cstar_efficiency\":%.6g,\"source\":\"drawn\",\"standing\":\"invented\"},"
        "\"case\":{\"bore\":\"%.9g m\",\"length\":\"%.9g m\"%s},\"grains\":[%s],"
        "\"nozzle\":{\"throat_diameter\":\"%.9g m\",\"exit_diameter\":\"%.9g m\"},"
        "\"ignition\":{\"pressure\":\"%.9g Pa\",\"spread_time\":\"%.6g s\"}%s}",
        c->density, c->law, c->sensitivity, c->flame, c->molar, c->gamma, c->efficiency, c->bore, c->length,
        c->burst, c->grains, c->throat, c->throat * c->expansion, c->ignition, c->spread, c->more);
    if (n < 0 || (size_t)n >= sizeof text ||
        sm_motor_parse(text, (size_t)n, "drawn", options, NULL, &motor, diag) != SM_OK)
        return NULL;
    return motor;
}

/* A case around the grains of a motor read before, and the throat for the wanted pressure with their mean burning area:
 * A_t = rho A r c* / P. */
static void fit_motor(struct choice *c, const struct sm_motor *rough)
{
    struct sm_grain_facts facts;
    const double g = c->gamma, gas_constant = 8314.462618 / c->molar;
    const double cstar = c->efficiency * sqrt(gas_constant * c->flame / g) *
                         pow(2.0 / (g + 1.0), -(g + 1.0) / (2.0 * (g - 1.0)));
    sm_motor_grain(rough, 0, &facts);
    c->bore = 1.01 * facts.outer_diameter;
    c->length = 1.1 * facts.count * facts.length;
    c->throat =
        fmin(2.0 * sqrt(c->density * facts.count * facts.area_mean * c->rate * cstar / c->pressure / PI),
             0.7 * c->bore);
}

/* ---- what must hold ---- */

static void hold(struct tally *t, size_t i, double *worst, double found, double most, const char *what)
{
    const double share = found / most;
    if (!(share <= *worst))
        *worst = share;
    if (share <= 1.0)
        return;
    printf("motor %zu: %s: %.3g, and at most %.3g\n", i, what, found, most);
    t->wrong++;
}

/* Integral of y over t from the rows alone, by the trapezoidal rule. */
static double integral(const double *t, const double *y, size_t n)
{
    double sum = 0.0;
    for (size_t i = 1; i < n; i++)
        sum += 0.5 * (t[i] - t[i - 1]) * (y[i] + y[i - 1]);
    return sum;
}

static double at_web(const struct sm_series *s, const double *y, double web)
{
    size_t i = 1;
    while (i + 1 < s->n && s->web[i] < web)
        i++;
    const double step = s->web[i] - s->web[i - 1];
    return step > 0.0 ? y[i - 1] + (y[i] - y[i - 1]) * (web - s->web[i - 1]) / step : y[i];
}

static void look_at(struct tally *t, size_t i, const struct sm_result *r)
{
    const struct sm_series *s = &r->series;
    hold(t, i, &t->books, r->statistics.mass_residual,
         r->statistics.accuracy <= 1e-6 ? 1e-9 : 0.1 * r->statistics.accuracy, "the books are out");
    /* the rows are fewer than the steps, and straight lines between them are another rule than the march's own */
    hold(t, i, &t->impulse, fabs(integral(s->time, s->thrust, s->n) / r->thrust.total_impulse - 1.0), 2e-3,
         "impulse is not the integral of thrust");
    hold(t, i, &t->impulse, fabs(integral(s->time, s->mass_flow, s->n) / r->propellant_mass - 1.0),
         r->statistics.end == SM_RUN_BURNED_OUT ? 5e-2 : 1.0, "propellant and what flows out differ");
    for (size_t k = 1; k < s->n; k++)
        if (!(s->time[k] >= s->time[k - 1]) || !isfinite(s->thrust[k]) || !(s->pressure[k] >= 0.0)) {
            printf("motor %zu: row %zu is none\n", i, k);
            t->wrong++;
            return;
        }
}

static void count_warnings(struct tally *t, const struct sm_result *r)
{
    for (size_t k = 0; k < r->n_warnings; k++)
        for (size_t w = 0; w < t->n_warnings; w++)
            if (strcmp(t->warnings[w].code, r->warnings[k].code) == 0)
                t->warnings[w].n++;
}

static struct sm_result *burn(struct tally *t, size_t i, const struct sm_motor *motor, enum sm_model model,
                              double accuracy, bool without_warnings)
{
    struct sm_result *result = NULL;
    struct sm_error err = {0};
    const struct sm_run_options options = {
        .model = model, .accuracy = accuracy, .without_warnings = without_warnings};
    const enum sm_status status = sm_simulate(motor, &options, NULL, &result, &err);
    if (status != SM_OK && status != SM_E_PHYSICS) {
        printf("motor %zu: %s\n", i, err.message);
        t->wrong++;
    }
    return result;
}

/*
 * Halfway through the web the pressure of a chamber that fills fast is the resting one, and lags behind it by its time
 * constant times the change of its logarithm: V c* / (A_t R T) / (1 - n), times 1 / (1 - n) that of the burning area, which
 * in these shapes is below five over the burn time (the chamber's equation in small changes; textbooks, from memory).
 */
static void compare_models(struct tally *t, size_t i, const struct choice *c, const struct sm_result *full,
                           const struct sm_result *rest)
{
    enum { FAST_ENOUGH = 400 };
    const double volume = 0.25 * PI * c->bore * c->bore * c->length, at = 0.25 * PI * c->throat * c->throat;
    const double rt = 8314.462618 / c->molar * c->flame * c->efficiency * c->efficiency;
    const double ratio = volume * full->chamber.cstar_delivered / (at * rt) / full->thrust.burn_time;
    const double stiffness = 1.0 - c->steepest, most = 5.0 * ratio / (stiffness * stiffness) + 2e-3;
    const double web = 0.5 * full->grain.web;
    if (c->steps_up || ratio * FAST_ENOUGH > 1.0)
        return;
    t->by_models++;
    hold(t, i, &t->models,
         fabs(at_web(&full->series, full->series.pressure, web) /
                  at_web(&rest->series, rest->series.pressure, web) -
              1.0),
         most, "transient and resting pressure differ");
    hold(t, i, &t->models, fabs(full->thrust.total_impulse / rest->thrust.total_impulse - 1.0), most,
         "transient and equilibrium impulse differ");
}

/* By the axial model, one motor in four: it burns with closed books, or is refused for a reason of physics, as a port that chokes. */
static void try_axial(struct tally *t, size_t i, const struct sm_motor *motor)
{
    struct sm_result *result = NULL;
    struct sm_error err = {0};
    const struct sm_run_options options = {.model = SM_MODEL_AXIAL, .stations = 20, .without_warnings = true};
    if (i % 4 != 0)
        return;
    const enum sm_status status = sm_simulate(motor, &options, NULL, &result, &err);
    t->axial++;
    t->axial_refused += status == SM_E_PHYSICS;
    if (status == SM_OK)
        hold(t, i, &t->axial_books, result->statistics.mass_residual, 0.1 * result->statistics.accuracy,
             "the axial model's books are out");
    else if (status != SM_E_PHYSICS) {
        printf("motor %zu, axial model: %s\n", i, err.message);
        t->wrong++;
    }
    sm_result_free(result);
}

static void try_motor(struct tally *t, size_t i, const struct choice *c, const struct sm_motor *motor)
{
    struct sm_result *usual = burn(t, i, motor, SM_MODEL_TRANSIENT, 0.0, false);
    struct sm_result *fine = burn(t, i, motor, SM_MODEL_TRANSIENT, 1e-6, true);
    struct sm_result *rest = burn(t, i, motor, SM_MODEL_EQUILIBRIUM, 0.0, true);
    if (usual && fine) {
        t->burned++;
        look_at(t, i, usual);
        look_at(t, i, fine);
        count_warnings(t, usual);
        hold(t, i, &t->converged, fabs(usual->thrust.total_impulse / fine->thrust.total_impulse - 1.0),
             1.01e-4, "a finer march moves the impulse");
        if (rest)
            compare_models(t, i, c, usual, rest);
        try_axial(t, i, motor);
    } else
        t->refused++;
    sm_result_free(rest);
    sm_result_free(fine);
    sm_result_free(usual);
}

static void try_one(struct tally *t, size_t i, const struct sm_load_options *options)
{
    struct choice choice;
    struct sm_diag diag = {0};
    draw_motor(i, &choice);
    t->n++;
    struct sm_motor *motor = NULL, *rough = read_motor(&choice, options, &diag);
    if (rough) {
        fit_motor(&choice, rough);
        motor = read_motor(&choice, options, &diag);
    }
    if (motor)
        try_motor(t, i, &choice, motor);
    else {
        printf("motor %zu can't be read: %s\n", i, diag.n > 0 ? diag.items[0].message : "too long");
        t->wrong++;
    }
    sm_motor_free(motor);
    sm_motor_free(rough);
    sm_diag_release(&diag);
}

/* ---- end ---- */

/* Those that motors with grains can meet. */
static void list_warnings(struct tally *t)
{
    for (size_t i = 0; sm_warning_list[i] && t->n_warnings < MOST_WARNINGS; i++)
        if (sm_warning_list[i]->of != SM_OF_CURVES)
            t->warnings[t->n_warnings++].code = sm_warning_list[i]->code;
}

static void report(struct tally *t)
{
    printf("%zu motors: %zu burned, %zu did not light or run; %zu fit for both models\n", t->n, t->burned,
           t->refused, t->by_models);
    printf("worst, as a share of what may be: books %.3g, impulse %.3g, finer march %.3g, models %.3g\n",
           t->books, t->impulse, t->converged, t->models);
    printf("%zu by the axial model, %zu of them refused; its books %.3g\n", t->axial, t->axial_refused,
           t->axial_books);
    for (size_t w = 0; w < t->n_warnings; w++) {
        printf("%8zu %s\n", t->warnings[w].n, t->warnings[w].code);
        if (t->n >= ENOUGH_FOR_WARNINGS && t->warnings[w].n == 0) {
            printf("no motor met that warning\n");
            t->wrong++;
        }
    }
    if (t->burned * 10 < t->n * 8) {
        printf("fewer than eight in ten burned\n");
        t->wrong++;
    }
}

int main(int argc, char **argv)
{
    const long count = argc > 1 ? strtol(argv[1], NULL, 10) : 0,
               first = argc > 2 ? strtol(argv[2], NULL, 10) : 0;
    struct sm_load_options options = {0};
    struct tally tally = {0};
    if (count <= 0 || first < 0 || sm_units_open(&options.units, NULL) != SM_OK) {
        fputs("usage: random_motors COUNT [FIRST]\n", stderr);
        return 2;
    }
    list_warnings(&tally);
    for (long i = first; i < first + count; i++)
        try_one(&tally, (size_t)i, &options);
    report(&tally);
    sm_units_free(options.units);
    return tally.wrong > 0;
}
