/* The axial model through whole burns and at single instants. */
#include "bench_motor.h"

#include <stdio.h>

#include "ballistics/axial.h"
#include "grain/shape.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>

/* A tube that burns from its bore alone, with neither gap before it nor behind. */
static const char bore_text[] =
    "{\"format\":\"slowmatch-motor/1\",\"name\":\"bore\",\"propellant\":{\"format\":\"slowmatch-propellant/"
    "1\","
    "\"name\":\"invented\",\"density\":\"1700 kg/m3\",\"burn_rate\":[{\"from\":\"0.1 MPa\",\"to\":\"50 "
    "MPa\",\"rate\":\"6 "
    "mm/s\",\"at\":\"1 MPa\",\"exponent\":0}],\"flame_temperature\":\"2300 K\",\"molar_mass\":\"23.5 g/mol\","
    "\"gamma\":1.22,\"source\":\"invented for tests\",\"standing\":\"invented\"},"
    "\"case\":{\"bore\":\"40 mm\",\"length\":\"400 mm\"},"
    "\"grains\":[{\"shape\":\"tube\",\"outer_diameter\":\"40 mm\",\"bore_diameter\":\"16 "
    "mm\",\"length\":\"400 mm\","
    "\"burning\":[\"bore\"]}],\"nozzle\":{\"throat_diameter\":\"10 mm\",\"exit_diameter\":\"20 mm\"},"
    "\"ignition\":{\"pressure\":\"3 MPa\",\"spread_time\":\"0 s\"},\"conditions\":{\"ambient_pressure\":\"0 "
    "Pa\"}}";

/* Uniform addition: with an exponent of 0 every station burns alike, and p_head / p_aft = 1 + gamma M^2 at the aft end, M
 * there from the ratio of its static and stagnation pressures. Elementary, from the momentum of a straight port. */
Test(axial, uniform_addition_drops_by_gamma_mach_squared)
{
    struct sm_motor *motor = load_text(bore_text, NULL, 0);
    struct sm_result *r = run_motor(motor, SM_MODEL_AXIAL, 1e-3);
    const struct sm_series *s = &r->series;
    const double g = 1.22;
    for (size_t i = 1; i < s->n; i++) {
        const double ratio = s->pressure_nozzle[i] / s->pressure_aft[i];
        const double square = 2.0 / (g - 1.0) * (pow(ratio, (g - 1.0) / g) - 1.0);
        cr_expect_float_eq(s->pressure[i] / s->pressure_aft[i], 1.0 + g * square, 1e-6, "row %zu", i);
    }
    cr_expect(r->axial.mach_maximum > 0.2, "%.3f", r->axial.mach_maximum);
    sm_result_free(r);
    sm_motor_free(motor);
}

/* ---- one instant, against GSL ---- */

#define LONG_PORT(grain)                                                                                     \
    "{\"format\":\"slowmatch-motor/1\",\"name\":\"port\",\"propellant\":{\"format\":\"slowmatch-propellant/" \
    "1\","                                                                                                   \
    "\"name\":\"invented\",\"density\":\"1700 kg/m3\",\"burn_rate\":[{\"from\":\"0.1 MPa\",\"to\":\"50 "     \
    "MPa\","                                                                                                 \
    "\"rate\":\"6 mm/s\",\"at\":\"1 MPa\",\"exponent\":0.35}],\"flame_temperature\":\"2300 "                 \
    "K\",\"molar_mass\":"                                                                                    \
    "\"23.5 g/mol\",\"gamma\":1.22,\"erosive\":{\"rate\":\"5 mm/s\",\"flux\":\"1000 kg m-2 s-1\","           \
    "\"diameter\":\"10 mm\"},\"source\":\"invented for tests\",\"standing\":\"invented\"},"                  \
    "\"case\":{\"bore\":\"40 mm\",\"length\":\"400 "                                                         \
    "mm\",\"friction_factor\":0.004},\"grains\":[{\"outer_diameter\":"                                       \
    "\"40 mm\",\"length\":\"400 mm\",\"burning\":[\"bore\"]," grain "}],"                                    \
    "\"nozzle\":{\"throat_diameter\":\"13 mm\",\"exit_diameter\":\"20 mm\"},"                                \
    "\"ignition\":{\"pressure\":\"3 MPa\",\"spread_time\":\"0 "                                              \
    "s\"},\"conditions\":{\"ambient_pressure\":\"0 Pa\"}}"

static const char taper_text[] =
    LONG_PORT("\"shape\":\"bore-profile\",\"profile\":[{\"diameter\":\"16 mm\"},{\"diameter\":\"20 mm\"}]");
static const char step_text[] =
    LONG_PORT("\"shape\":\"bore-profile\",\"profile\":[{\"diameter\":\"16 mm\"},{\"z\":\"200 "
              "mm\",\"diameter\":\"16 mm\"},"
              "{\"z\":\"200 mm\",\"diameter\":\"34 mm\"},{\"diameter\":\"34 mm\"}]");
static const char straight_text[] = LONG_PORT("\"shape\":\"tube\",\"bore_diameter\":\"16 mm\"");

static void ready(struct sm_axial *a, struct sm_chamber *chamber, struct sm_motor *motor, size_t stations)
{
    cr_assert_eq(sm_chamber_init(chamber, motor, 294.15, SM_ABSENT, &motor->arena, NULL), SM_OK);
    *a = (struct sm_axial){.chamber = chamber,
                           .gamma = motor->gas.gamma,
                           .friction = motor->spec.chamber.friction_factor,
                           .spread_speed = SM_ABSENT,
                           .gas_density = 3e6 / chamber->rt,
                           .gas_space = motor->free_volume,
                           .warmth = 1.0,
                           .heat = 1.0,
                           .give = 0.6,
                           .last = 3e6,
                           .slack = 1e-12,
                           .allowed = SM_INF,
                           .epoch = chamber->epochs};
    const struct sm_propellant *p = &motor->spec.propellant;
    sm_erosive_init(&a->erosive, &p->erosive, p->density, 294.15, p->flame_temperature);
    cr_assert_eq(sm_axial_grid_init(&a->grid, motor, stations, &motor->arena, NULL), SM_OK);
}

/* Lets the pressure come to rest, each step with the webs as they are. A step stands for its middle, so the references below
 * have half of it burned too. */
static const double rest_step = 1e-4; /* [s] */

static double rest(struct sm_axial *a)
{
    double change = 1.0;
    for (int i = 0; i < 20000 && change > 1e-10; i++) {
        cr_assert_eq(sm_axial_solve(a, rest_step, a->last, NULL), SM_OK);
        change = fabs(a->head / a->last - 1.0);
        a->last = a->head;
        a->gas_density = a->density;
    }
    cr_assert(change <= 1e-10, "no rest");
    return a->head;
}

/* The same flow written the other way: mass flow and static pressure by Shapiro's influence coefficients, as functions of z,
 * y = (mdot, p), with the march's own rate law and nozzle. */
struct flow {
    const struct sm_axial *axial;
    double density_gas; /* [kg/m3] */
    double slope;       /* of the bore's radius along the axis [1] */
    double radius;      /* of the port where last asked [m] */
};

static int influence(double z, const double y[], double dy[], void *user)
{
    struct flow *f = user;
    const struct sm_axial *a = f->axial;
    const double r0 = sm_burn_law_rate(&a->chamber->law, 0, fmax(y[1], 1.0), NULL), flow = fmax(y[0], 1e-12),
                 p = y[1];
    const double slope = f->slope, steep = sqrt(1.0 + slope * slope), bore = 0.008 + slope * z;
    /* What it has burned by then: half a step at a rate that the burning itself does not change by 1e-9. */
    const double early = sm_erosive_rate(&a->erosive, r0, flow / (M_PI * bore * bore), 2.0 * bore);
    const double r = bore + 0.5 * rest_step * early * steep, area = M_PI * r * r,
                 grow = 2.0 * M_PI * r * slope;
    const double g = a->gamma, rt = a->chamber->rt;
    f->radius = r;
    /* u from mdot = p u A / (R T), T = T0 - u^2 / (2 c_p): a quadratic in u. */
    const double b = p * area / flow, c = (g - 1.0) / (2.0 * g);
    const double u = 2.0 * rt / (b + sqrt(b * b + 4.0 * c * rt)), m2 = u * u / (g * (rt - c * u * u));
    const double around = 2.0 * M_PI * r * steep;
    const double rate = sm_erosive_rate(&a->erosive, r0, flow / area, 4.0 * area / around);
    const double mass = (a->chamber->density - f->density_gas) * rate * around;
    const double t = 1.0 + 0.5 * (g - 1.0) * m2;
    /* dp/p = [gamma M^2 dA/A - gamma M^2 (1 + (gamma - 1) M^2) 2 f dx / D - 2 gamma M^2 t dm/m] / (1 - M^2). */
    dy[0] = mass;
    dy[1] = p * g * m2 / (1.0 - m2) *
            (grow / area - (1.0 + (g - 1.0) * m2) * 2.0 * a->friction * around / (4.0 * area) -
             2.0 * t * mass / flow);
    return GSL_SUCCESS;
}

static double gsl_surplus(const struct sm_axial *a, double slope, double head, double *aft)
{
    struct flow f = {a, head / a->chamber->rt, slope, 0.0};
    gsl_odeiv2_system system = {influence, NULL, 2, &f};
    gsl_odeiv2_driver *d = gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd, 1e-5, 1e-9, 1e-9);
    double y[2] = {0.0, head}, z = 0.0, dy[2];
    /* At the head end mdot is 0 and the coefficients are 0 / 0: the first hundredth of a millimetre by mdot = mdot' z, over
     * which the pressure does not change by 1e-9. */
    influence(0.0, (double[]){1e-9, head}, dy, &f);
    y[0] = dy[0] * (z = 1e-5);
    cr_assert_eq(gsl_odeiv2_driver_apply(d, &z, 0.4, y), GSL_SUCCESS);
    gsl_odeiv2_driver_free(d);
    influence(0.4, y, dy, &f);
    const double r = f.radius, area = M_PI * r * r, g = a->gamma, rt = a->chamber->rt, b = y[1] * area / y[0],
                 c = (g - 1.0) / (2.0 * g);
    const double u = 2.0 * rt / (b + sqrt(b * b + 4.0 * c * rt)), m2 = u * u / (g * (rt - c * u * u));
    *aft = y[1];
    return y[0] -
           sm_jet_mass_flow(&a->chamber->jet, y[1] * pow(1.0 + 0.5 * (g - 1.0) * m2, g / (g - 1.0)), NULL);
}

/* Head and aft pressure of ours with so many stations over GSL's, less 1. */
static void against_gsl(double slope, size_t stations, double *head_error, double *aft_error)
{
    struct sm_motor *motor = load_text(slope > 0.0 ? taper_text : straight_text, NULL, 0);
    struct sm_chamber chamber;
    struct sm_axial a;
    ready(&a, &chamber, motor, stations);
    const double head = rest(&a);
    double low = 0.99 * head, high = 1.01 * head, aft = 0.0;
    for (int i = 0; i < 30; i++) {
        const double middle = 0.5 * (low + high);
        if (gsl_surplus(&a, slope, middle, &aft) > 0.0)
            low = middle;
        else
            high = middle;
    }
    *head_error = head / low - 1.0;
    *aft_error = a.aft / aft - 1.0;
    sm_motor_free(motor);
}

/* Friction and erosive burning, along a straight bore and along a taper. Halving the cells quarters the error, which is the
 * march's second order; at 320 stations 1e-5 is left, more than that order promises, since a rate that goes as G^0.8 is not
 * smooth at the head end, where G begins at 0. */
static void expect_second_order(double slope)
{
    double head[3], aft[3];
    against_gsl(slope, 20, &head[0], &aft[0]);
    against_gsl(slope, 40, &head[1], &aft[1]);
    against_gsl(slope, 320, &head[2], &aft[2]);
    cr_expect(fabs(head[2]) < 1e-5 && fabs(aft[2]) < 1e-5, "%.3e %.3e", head[2], aft[2]);
    cr_expect(head[0] / head[1] > 3.5 && head[0] / head[1] < 4.5, "%.3e / %.3e", head[0], head[1]);
    cr_expect(aft[0] / aft[1] > 3.5 && aft[0] / aft[1] < 4.5, "%.3e / %.3e", aft[0], aft[1]);
}

Test(axial, gsl_integrates_the_same_flow_in_a_straight_bore)
{
    expect_second_order(0.0);
}

Test(axial, gsl_integrates_the_same_flow_in_a_taper)
{
    expect_second_order(0.005);
}

/* What the lumped chamber rests at with the same surface [Pa]: (rho - P/(RT)) A_b r = P A_t / c*, by bisection. */
static double lumped_rest(const struct sm_axial *a)
{
    const struct sm_chamber *c = a->chamber;
    double low = 1e4, high = 1e9;
    for (int i = 0; i < 200; i++) {
        const double p = sqrt(low * high), rate = sm_burn_law_rate(&c->law, 0, p, NULL);
        double area, left;
        sm_piece_area(&c->stack->pieces[0], 0.5 * rest_step * rate, &area, &left);
        const double made = (c->density - p / c->rt) * area * rate;
        if (made > sm_jet_mass_flow(&c->jet, p, NULL))
            low = p;
        else
            high = p;
    }
    return low;
}

struct against_lumped {
    double head, total; /* over the lumped pressure, less 1 [1] */
    double drop;        /* head over aft pressure, less 1 [1] */
    double mach;        /* at the aft end [1] */
};

static struct against_lumped at_throat(const char *throat)
{
    const struct sm_override o[] = {{"nozzle.throat_diameter", throat},
                                    {"propellant.burn_rate.0.exponent", "0.35"},
                                    {"propellant.burn_rate.0.rate", "1 mm/s"}};
    struct sm_motor *motor = load_text(bore_text, o, 3);
    struct sm_chamber chamber;
    struct sm_axial a;
    ready(&a, &chamber, motor, 100);
    a.last = lumped_rest(&a);
    a.gas_density = a.last / chamber.rt;
    const double head = rest(&a), lumped = lumped_rest(&a), g = a.gamma;
    const double square = 2.0 / (g - 1.0) * (pow(a.total / a.aft, (g - 1.0) / g) - 1.0);
    sm_motor_free(motor);
    return (struct against_lumped){head / lumped - 1.0, a.total / lumped - 1.0, head / a.aft - 1.0,
                                   sqrt(square)};
}

/* As the port widens against the throat the model becomes the lumped one, with differences that fall as (throat/port)^2:
 * with half the throat's diameter 16 times, to what M^4 leaves, 5 %. The drop is gamma M^2 to 5 %. With a port a hundred
 * times the throat the pressure that drives the nozzle is the lumped one to 1e-4. */
Test(axial, tends_to_the_lumped_chamber)
{
    const struct against_lumped wide = at_throat("6 mm"), narrow = at_throat("3 mm"),
                                tiny = at_throat("1.6 mm");
    cr_expect(relative(wide.head / narrow.head, 16.0) < 0.05, "%.3f", wide.head / narrow.head);
    cr_expect(relative(wide.drop / narrow.drop, 16.0) < 0.05, "%.3f", wide.drop / narrow.drop);
    cr_expect(relative(wide.drop, 1.22 * wide.mach * wide.mach) < 0.05, "%.4e", wide.drop);
    cr_expect(relative(narrow.drop, 1.22 * narrow.mach * narrow.mach) < 0.05, "%.4e", narrow.drop);
    cr_expect(fabs(tiny.total) < 1e-4, "%.3e", tiny.total);
}

/* ---- books and volumes ---- */

static const char star_text[] =
    "{\"format\":\"slowmatch-motor/1\",\"name\":\"star\",\"propellant\":\"generic-p-1770\","
    "\"case\":{\"bore\":\"61 mm\",\"length\":\"160 "
    "mm\"},\"grains\":[{\"shape\":\"star\",\"outer_diameter\":\"60 mm\","
    "\"length\":\"150 mm\",\"points\":6,\"web\":\"11 mm\",\"fillet_radius\":\"1.5 "
    "mm\",\"angle_fraction\":0.8,"
    "\"half_angle\":\"33 deg\",\"burning\":[\"bore\",\"aft-end\"]}],"
    "\"nozzle\":{\"throat_diameter\":\"13 mm\",\"exit_diameter\":\"26 mm\"},"
    "\"ignition\":{\"pressure\":\"1 MPa\",\"spread_time\":\"10 "
    "ms\"},\"conditions\":{\"ambient_pressure\":\"0 Pa\"}}";

/* Cells hold the volume that the grain's own exact geometry has, and all of it burns: 1e-6 is asked for. */
Test(axial, volume_closes)
{
    for (size_t n = 0; n < 2; n++) {
        struct sm_motor *motor = load_text(n ? star_text : tubes_text, NULL, 0);
        struct sm_result *r = run_motor(motor, SM_MODEL_AXIAL, 1e-4);
        const struct sm_series *s = &r->series;
        cr_expect(r->axial.volume_correction < 1e-6, "%.3e", r->axial.volume_correction);
        cr_expect(r->statistics.mass_residual < 1e-9, "%.3e", r->statistics.mass_residual);
        cr_expect(r->complete);
        cr_expect(n == 1 || s->propellant_mass[s->n - 1] == 0.0, "a star leaves slivers, a tube nothing");
        cr_expect(relative(s->propellant_mass[0], motor->propellant_mass) < 1e-9);
        sm_result_free(r);
        sm_motor_free(motor);
    }
}

/* What the lumped chamber takes, this one takes: igniter, spread, closure, wear and heat, with the books closed, and the
 * impulse that of the lumped one to the few tenths of a percent that the flow itself makes. */
Test(axial, takes_what_the_lumped_chamber_takes)
{
    static const struct sm_override cases[][2] = {
        {{"ignition.igniter", "{\"peak_flow\":\"0.05 kg/s\",\"duration\":\"40 ms\"}"},
         {"ignition.spread_time", "5 ms"}},
        {{"ignition.spread_speed", "20 m/s"}, {"ignition.pressure", "1 MPa"}},
        {{"nozzle.closure_pressure", "2 MPa"}, {"ignition.pressure", "1 MPa"}},
        {{"nozzle.erosion", "{\"rate\":\"0.2 mm/s\",\"at\":\"7 MPa\",\"exponent\":0.8}"},
         {"ignition.spread_time", "5 ms"}},
        {{"case.heat_transfer", "400 W m-2 K-1"}, {"ignition.spread_time", "5 ms"}}};
    for (size_t i = 0; i < SM_COUNT(cases); i++) {
        struct sm_override o[3] = {cases[i][0], cases[i][1], {"propellant", "\"demo-slow-composite\""}};
        struct sm_motor *motor = load_text(tubes_text, o, i == 4 ? 3 : 2);
        struct sm_result *lumped = run_motor(motor, SM_MODEL_TRANSIENT, 1e-4);
        struct sm_result *axial = run_motor(motor, SM_MODEL_AXIAL, 1e-4);
        cr_expect(axial->statistics.mass_residual < 1e-9, "case %zu: %.3e", i,
                  axial->statistics.mass_residual);
        cr_expect(relative(axial->thrust.total_impulse, lumped->thrust.total_impulse) < 5e-3,
                  "case %zu: %.6f %.6f", i, axial->thrust.total_impulse, lumped->thrust.total_impulse);
        cr_expect(relative(axial->chamber.throat_final, lumped->chamber.throat_final) < 1e-3);
        sm_result_free(lumped);
        sm_result_free(axial);
        sm_motor_free(motor);
    }
}

/* An end burner has no port, so it is the lumped chamber: 2e-4 at an accuracy of 1e-4, coning and all. */
Test(axial, end_burner_is_the_lumped_chamber)
{
    static const struct sm_override coned[] = {{"grains.0.bond_line_ratio", "1.1"}};
    for (size_t n = 0; n < 2; n++) {
        struct sm_motor *motor = load_text(end_burner_text, coned, n);
        struct sm_result *lumped = run_motor(motor, SM_MODEL_TRANSIENT, 1e-6);
        struct sm_result *axial = run_motor(motor, SM_MODEL_AXIAL, 1e-4);
        cr_expect(relative(axial->thrust.total_impulse, lumped->thrust.total_impulse) < 2e-4);
        cr_expect(relative(axial->chamber.pressure_maximum, lumped->chamber.pressure_maximum) < 2e-4);
        cr_expect(relative(axial->thrust.burn_time, lumped->thrust.burn_time) < 1e-3, "%.6f %.6f",
                  axial->thrust.burn_time, lumped->thrust.burn_time);
        sm_result_free(lumped);
        sm_result_free(axial);
        sm_motor_free(motor);
    }
}

/* A throat that the grain can't feed: the igniter's gas leaves and the pressure comes to rest where the nozzle stops, at that
 * outside, the flow going by the root of what is left. All the impulse is the igniter's; 2e-3 of it at an accuracy of 1e-4. */
Test(axial, a_dud_comes_to_rest_at_the_outside_pressure)
{
    static const struct sm_override o[] = {
        {"nozzle.throat_diameter", "9 mm"},          {"nozzle.exit_diameter", "20 mm"},
        {"propellant.burn_rate.0.rate", "0.4 mm/s"}, {"ignition.pressure", "2.5 MPa"},
        {"ignition.spread_time", "0.2 s"},           {"conditions.ambient_pressure", "101325 Pa"}};
    struct sm_motor *motor = load_text(end_burner_text, o, SM_COUNT(o));
    struct sm_result *lumped = run_motor(motor, SM_MODEL_TRANSIENT, 1e-6);
    struct sm_result *axial = run_motor(motor, SM_MODEL_AXIAL, 1e-4);
    cr_expect(relative(axial->thrust.total_impulse, lumped->thrust.total_impulse) < 2e-3, "%.6f %.6f",
              axial->thrust.total_impulse, lumped->thrust.total_impulse);
    cr_expect(axial->statistics.mass_residual < 1e-9, "%.3e", axial->statistics.mass_residual);
    sm_result_free(lumped);
    sm_result_free(axial);
    sm_motor_free(motor);
}

/* With a threshold of zero and a rate that pressure does not change, r = r0 + k G with G = rho r_mean 4 z / D: the largest
 * rate at the aft end is r0 exp(4 rho k L / D) in a port of constant diameter (from d mdot / dz = rho pi D (r0 + k mdot / A)),
 * before the port has widened. Elementary; ours has burned a little by then and looks half a cell before the end. */
Test(axial, threshold_form_grows_exponentially)
{
    static const struct sm_override o[] = {
        {"propellant.erosive", "{\"threshold\":\"0 kg m-2 s-1\",\"gain\":\"1e-6 m3/kg\"}"},
        {"nozzle.throat_diameter", "12 mm"}};
    struct sm_motor *motor = load_text(bore_text, o, 2);
    struct sm_chamber chamber;
    struct sm_axial a;
    ready(&a, &chamber, motor, 400);
    rest(&a);
    const struct sm_axial_cell *aft = &a.grid.grains[0].cells[a.grid.grains[0].n_cells - 1];
    const double grown = exp(4.0 * (1700.0 - a.gas_density) * 1e-6 * (0.4 - 0.0005) / 0.016);
    cr_expect(relative(aft->rate / 0.006, grown) < 1e-4, "%.6f %.6f", aft->rate / 0.006, grown);
    sm_motor_free(motor);
}

/* A stepped bore's step runs along the axis as it burns. At each instant the cells hold what the grain's own geometry leaves: with a
 * rate that pressure does not change, all burns evenly, so both models see the same area at the same distance burned, to what
 * cells of 4 mm and straight lines between rows blur, 1 %. */
Test(axial, a_step_runs_through_the_cells)
{
    static const struct sm_override o[] = {{"propellant.burn_rate.0.exponent", "0"},
                                           {"propellant.erosive", "{}"},
                                           {"grains.0.burning", "[\"bore\", \"aft-end\"]"}};
    struct sm_motor *motor = load_text(step_text, o, SM_COUNT(o));
    struct sm_result *r = run_motor(motor, SM_MODEL_AXIAL, 1e-4);
    double most = 0.0;
    cr_expect(r->axial.volume_correction < 1e-3, "%.3e", r->axial.volume_correction);
    for (size_t i = 1; i < r->series.n; i++) {
        struct sm_geometry_at at;
        sm_geometry_eval(&motor->stack, r->series.web[i], &at);
        const double left = r->series.propellant_mass[i] / motor->spec.propellant.density;
        most = fmax(most, fabs(left - at.value[SM_VOLUME]) / motor->stack.envelope);
    }
    cr_expect(most < 0.01, "%.3e", most);
    sm_result_free(r);
    sm_motor_free(motor);
}

/* Where one of two grains burns out the pressure falls at once, in both models but not with just as much burned: that is no erosive
 * peak. Without erosive burning head-end pressure is above the lumped one by gamma M^2 of the port, 2 % here, and no more. */
Test(axial, a_grain_that_burns_out_is_no_erosive_peak)
{
    static const struct sm_override o[] = {{"grains",
                                            "[{\"shape\":\"tube\",\"outer_diameter\":\"36 "
                                            "mm\",\"bore_diameter\":\"24 mm\",\"length\":\"120 mm\"},"
                                            "{\"shape\":\"tube\",\"outer_diameter\":\"36 "
                                            "mm\",\"bore_diameter\":\"18 mm\",\"length\":\"120 mm\"}]"}};
    struct sm_motor *motor = load_text(tubes_text, o, 1);
    const struct sm_run_options options = {.model = SM_MODEL_AXIAL};
    struct sm_result *r = NULL;
    cr_assert_eq(sm_simulate(motor, &options, NULL, &r, NULL), SM_OK);
    cr_expect(r->axial.erosive_peak > 1.0 && r->axial.erosive_peak < 1.1, "%g", r->axial.erosive_peak);
    sm_result_free(r);
    sm_motor_free(motor);
}

/* Every registered shape, by its own example: with a throat a tenth of the port or less the flow costs little, so impulse is the
 * lumped one's to 3e-3, and the books close. */
Test(axial, takes_every_shape)
{
    struct sm_units *units = NULL;
    cr_assert(sm_units_open(&units, NULL) == SM_OK);
    for (size_t i = 0; sm_shape_list[i]; i++) {
        char text[4096];
        snprintf(
            text, sizeof text,
            "{\"format\":\"slowmatch-motor/1\",\"name\":\"any\",\"propellant\":\"generic-g\",\"case\":"
            "{\"bore\":\"1 m\",\"length\":\"1 m\"},\"grains\":[%s],\"nozzle\":{\"throat_diameter\":\"%s\","
            "\"exit_diameter\":\"30 mm\"},\"ignition\":{\"pressure\":\"3 MPa\"},\"conditions\":"
            "{\"ambient_pressure\":\"0 Pa\"}}",
            sm_shape_list[i]->example, i % 2 ? "8 mm" : "9 mm");
        struct sm_motor *motor = load_sharing(text, NULL, 0, units);
        struct sm_result *lumped = run_motor(motor, SM_MODEL_TRANSIENT, 1e-3);
        struct sm_result *axial = run_motor(motor, SM_MODEL_AXIAL, 1e-3);
        cr_expect(axial->statistics.mass_residual < 1e-9, "%s", sm_shape_list[i]->name);
        cr_expect(relative(axial->series.propellant_mass[0], motor->propellant_mass) < 1e-6, "%s",
                  sm_shape_list[i]->name);
        cr_expect(relative(axial->thrust.total_impulse, lumped->thrust.total_impulse) < 3e-3, "%s: %.6g %.6g",
                  sm_shape_list[i]->name, axial->thrust.total_impulse, lumped->thrust.total_impulse);
        sm_result_free(lumped);
        sm_result_free(axial);
        sm_motor_free(motor);
    }
    sm_units_free(units);
}

/* ---- faults ---- */

static void expect_fault(const char *text, const struct sm_override *o, size_t n, size_t stations,
                         enum sm_status status, const char *words)
{
    struct sm_motor *motor = load_text(text, o, n);
    struct sm_result *r = NULL;
    struct sm_error err = {0};
    const struct sm_run_options options = {
        .model = SM_MODEL_AXIAL, .stations = stations, .without_warnings = true};
    const enum sm_status got = sm_simulate(motor, &options, NULL, &r, &err);
    cr_expect_eq(got, status, "%s", err.message);
    cr_expect(strstr(err.message, words) != NULL, "%s", err.message);
    cr_expect_null(r);
    sm_motor_free(motor);
}

Test(axial, faults_are_told)
{
    static const struct sm_override narrow[] = {{"nozzle.throat_diameter", "17 mm"},
                                                {"nozzle.exit_diameter", "20 mm"}};
    static const struct sm_override blocked[] = {{"grains.0.count", "2"}, {"grains.0.length", "40 mm"}};
    expect_fault(bore_text, narrow, 2, 100, SM_E_PHYSICS, "m from the head end");
    expect_fault(end_burner_text, blocked, 2, 100, SM_E_GEOMETRY, "no port behind another");
    static const struct sm_override forward[] = {{"grains.0.burning", "[\"fore-end\"]"}};
    expect_fault(end_burner_text, forward, 1, 100, SM_E_GEOMETRY, "gas of a fore end can't pass");
    expect_fault(bore_text, NULL, 0, 1, SM_E_RANGE, "1 stations");
    expect_fault(bore_text, NULL, 0, 2001, SM_E_RANGE, "2001 stations");
}
