#include "plainchamber.h"

#include <criterion/criterion.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_integration.h>
#include <gsl/gsl_odeiv2.h>
#include <math.h>
#include <stdio.h>

static const double pi = 3.14159265358979323846;
static const double gas_constant = 8.31446261815324; /* [J/(mol K)], CODATA 2018 */

/* ---- grain ---- */

double plain_web(const struct plain_chamber *c)
{
    if (!(c->bore > 0.0))
        return c->length;
    return c->ends ? fmin(c->outer - c->bore, 0.5 * c->length) : c->outer - c->bore;
}

static double volume_left(const struct plain_chamber *c, double w)
{
    if (!(c->bore > 0.0))
        return pi * c->outer * c->outer * (c->length - w);
    const double r = c->bore + w, l = c->length - (c->ends ? 2.0 * w : 0.0);
    return c->count * pi * (c->outer * c->outer - r * r) * l;
}

double plain_area(const struct plain_chamber *c, double w)
{
    if (!(c->bore > 0.0))
        return pi * c->outer * c->outer;
    const double r = c->bore + w, l = c->length - (c->ends ? 2.0 * w : 0.0);
    const double faces = c->ends ? 2.0 * pi * (c->outer * c->outer - r * r) : 0.0;
    return c->count * (2.0 * pi * r * l + faces);
}

double plain_mass(const struct plain_chamber *c)
{
    return c->density * volume_left(c, 0.0);
}

/* ---- propellant ---- */

double plain_rt(const struct plain_chamber *c)
{
    return c->efficiency * c->efficiency * gas_constant / c->molar * c->flame;
}

double plain_cstar(const struct plain_chamber *c)
{
    const double g = c->gamma;
    return sqrt(plain_rt(c) / g) * pow(0.5 * (g + 1.0), 0.5 * (g + 1.0) / (g - 1.0));
}

/* A step at a joint is spread evenly over smear times its pressure, half to each side. */
double plain_rate(const struct plain_chamber *c, double pressure)
{
    for (int i = 0; i < c->n_segments; i++) {
        const struct plain_segment *s = &c->law[i];
        const double here = s->rate * pow(pressure * 1e-6, s->exponent);
        if (i == c->n_segments - 1 || pressure < s->to * (1.0 - 0.5 * c->smear))
            return here;
        if (pressure < s->to * (1.0 + 0.5 * c->smear)) {
            const double there = s[1].rate * pow(pressure * 1e-6, s[1].exponent);
            const double share = (pressure / s->to - 1.0) / c->smear + 0.5;
            return here + share * (there - here);
        }
    }
    return 0.0;
}

/* ---- nozzle ---- */

static double area_ratio(double g, double mach)
{
    return pow(2.0 / (g + 1.0) * (1.0 + 0.5 * (g - 1.0) * mach * mach), 0.5 * (g + 1.0) / (g - 1.0)) / mach;
}

static double pressure_ratio(double g, double mach)
{
    return pow(1.0 + 0.5 * (g - 1.0) * mach * mach, -g / (g - 1.0));
}

static double exit_mach(const struct plain_chamber *c)
{
    const double eps = c->exit / c->throat * c->exit / c->throat;
    double low = 1.0, high = 50.0;
    for (int i = 0; i < 200; i++) {
        const double mid = 0.5 * (low + high);
        if (area_ratio(c->gamma, mid) < eps)
            low = mid;
        else
            high = mid;
    }
    return 0.5 * (low + high);
}

/* Pressure at which the flow leaves the wall, over the ambient one: Summerfield's 0.4 below, Schmucker's form above. */
static double separation(double mach)
{
    return fmin(1.0, fmax(0.4, mach > 1.0 / 1.88 ? pow(1.88 * mach - 1.0, -0.64) : 1.0));
}

static double excess(const struct plain_chamber *c, double pressure, double mach)
{
    return pressure * pressure_ratio(c->gamma, mach) - c->ambient * separation(mach);
}

/* The largest Mach number up to the exit's at which the stream is at the separation pressure: sought downwards on a grid that
 * is finer near 1, where there may be several; the exit's own if the flow stays at the wall. */
static double leaving_mach(const struct plain_chamber *c, double pressure)
{
    enum { FINE = 60, COARSE = 40 };
    const double last = exit_mach(c), fold = fmin(1.2, last);
    if (excess(c, pressure, last) >= 0.0)
        return last;
    double high = last;
    for (int i = 1; i <= FINE + COARSE; i++) {
        const double mach =
            i <= COARSE ? last + (fold - last) * i / COARSE : fold + (1.0 - fold) * (i - COARSE) / FINE;
        if (excess(c, pressure, mach) < 0.0) {
            high = mach;
            continue;
        }
        double low = mach;
        for (int k = 0; k < 100 && high - low > 1e-15; k++) {
            const double mid = 0.5 * (low + high);
            if (excess(c, pressure, mid) < 0.0)
                high = mid;
            else
                low = mid;
        }
        return 0.5 * (low + high);
    }
    return 1.0;
}

static double critical(double g)
{
    return pow(0.5 * (g + 1.0), g / (g - 1.0));
}

static double throat_area(const struct plain_chamber *c)
{
    return 0.25 * pi * c->throat * c->throat;
}

/* Mach number of a jet that leaves the throat at the ambient pressure. */
static double jet_mach(const struct plain_chamber *c, double pressure)
{
    const double g = c->gamma;
    return sqrt(2.0 / (g - 1.0) * (pow(pressure / c->ambient, (g - 1.0) / g) - 1.0));
}

double plain_mass_flow(const struct plain_chamber *c, double pressure)
{
    const double g = c->gamma;
    if (pressure <= c->ambient)
        return 0.0;
    if (pressure >= critical(g) * c->ambient)
        return pressure * throat_area(c) / plain_cstar(c);
    const double m = jet_mach(c, pressure);
    /* rho v A with rho = gamma p / a^2 and a^2 = gamma R T / (1 + (gamma - 1) M^2 / 2) */
    const double sound = sqrt(g * plain_rt(c) / (1.0 + 0.5 * (g - 1.0) * m * m));
    return g * c->ambient / sound * m * throat_area(c);
}

double plain_thrust(const struct plain_chamber *c, double pressure)
{
    const double g = c->gamma, throat = throat_area(c), eps = c->exit / c->throat * c->exit / c->throat;
    if (pressure <= c->ambient)
        return 0.0;
    const int choked = pressure >= critical(g) * c->ambient;
    const double m = choked ? leaving_mach(c, pressure) : jet_mach(c, pressure);
    const double ratio = choked ? area_ratio(g, m) : 1.0;
    const double p = choked ? pressure * pressure_ratio(g, m) : c->ambient;
    const double speed = m * sqrt(g * plain_rt(c) / (1.0 + 0.5 * (g - 1.0) * m * m));
    const double lambda = 1.0 - 0.5 * (1.0 - cos(c->angle)) * (ratio - 1.0) / (eps - 1.0);
    const double stream = c->zeta * (lambda * plain_mass_flow(c, pressure) * speed + p * ratio * throat);
    return fmax(0.0, stream - c->ambient * ratio * throat);
}

/* ---- chamber ---- */

/* By time, while the flame spreads: pressure, distance burned, impulse. */
static int by_time(double t, const double y[], double dy[], void *user)
{
    const struct plain_chamber *c = user;
    const double lit = c->spread > 0.0 ? fmin(1.0, t / c->spread) : 1.0, rate = plain_rate(c, y[0]);
    const double rt = plain_rt(c), volume = c->free + volume_left(c, 0.0) - volume_left(c, y[1]);
    const double made = lit * (c->density - y[0] / rt) * plain_area(c, y[1]) * rate;
    dy[0] = rt / volume * (made - plain_mass_flow(c, y[0]));
    dy[1] = lit * rate;
    dy[2] = plain_thrust(c, y[0]);
    return GSL_SUCCESS;
}

/* By distance burned: pressure, time, impulse. */
static int by_web(double w, const double y[], double dy[], void *user)
{
    const struct plain_chamber *c = user;
    const double rate = plain_rate(c, y[0]), rt = plain_rt(c);
    const double volume = c->free + volume_left(c, 0.0) - volume_left(c, w);
    const double made = (c->density - y[0] / rt) * plain_area(c, w) * rate;
    dy[0] = rt / volume * (made - plain_mass_flow(c, y[0])) / rate;
    dy[1] = 1.0 / rate;
    dy[2] = plain_thrust(c, y[0]) / rate;
    return GSL_SUCCESS;
}

static void integrate(int (*slope)(double, const double *, double *, void *), struct plain_chamber *c,
                      double from, double to, double first, double y[3], double *peak)
{
    gsl_odeiv2_step *step = gsl_odeiv2_step_alloc(gsl_odeiv2_step_rk8pd, 3);
    gsl_odeiv2_control *control = gsl_odeiv2_control_y_new(1e-16, 1e-12);
    gsl_odeiv2_evolve *evolve = gsl_odeiv2_evolve_alloc(3);
    const gsl_odeiv2_system system = {slope, NULL, 3, c};
    double x = from, h = first;
    while (x < to) {
        cr_assert(gsl_odeiv2_evolve_apply(evolve, control, step, &system, &x, to, &h, y) == GSL_SUCCESS);
        *peak = fmax(*peak, y[0]);
    }
    gsl_odeiv2_evolve_free(evolve);
    gsl_odeiv2_control_free(control);
    gsl_odeiv2_step_free(step);
}

/* Thrust over the fall of pressure with time, once nothing burns. */
static double tail_slope(double pressure, void *user)
{
    const struct plain_chamber *c = user;
    return plain_thrust(c, pressure) * (c->free + volume_left(c, 0.0)) /
           (plain_rt(c) * plain_mass_flow(c, pressure));
}

/* Pressure at which thrust is F, between two of which it is below and above. */
static double pressure_of(const struct plain_chamber *c, double thrust, double low, double high)
{
    for (int i = 0; i < 200; i++) {
        const double mid = 0.5 * (low + high);
        if (plain_thrust(c, mid) < thrust)
            low = mid;
        else
            high = mid;
    }
    return 0.5 * (low + high);
}

/* Pressure at which the flow comes to the wall's end. */
static double attached_pressure(const struct plain_chamber *c)
{
    const double m = exit_mach(c);
    return c->ambient * separation(m) / pressure_ratio(c->gamma, m);
}

static double tail(struct plain_chamber *c, double from, double to)
{
    /* where the flow changes, and the fold near M 1.09 where the place of separation jumps */
    double cuts[] = {from, attached_pressure(c), 1.9 * c->ambient, critical(c->gamma) * c->ambient, to};
    enum { N = sizeof cuts / sizeof cuts[0], ROOM = 2000 };
    gsl_integration_workspace *room = gsl_integration_workspace_alloc(ROOM);
    gsl_function f = {tail_slope, c};
    double sum = 0.0;
    for (int i = 0; i < N; i++)
        cuts[i] = fmin(from, fmax(to, cuts[i]));
    for (int i = 0; i + 1 < N; i++) {
        double part = 0.0, error;
        if (cuts[i] > cuts[i + 1])
            gsl_integration_qag(&f, cuts[i + 1], cuts[i], 0.0, 1e-9, ROOM, GSL_INTEG_GAUSS31, room, &part,
                                &error);
        sum += part;
    }
    gsl_integration_workspace_free(room);
    return sum;
}

void plain_march(const struct plain_chamber *given, struct plain_totals *totals)
{
    struct plain_chamber c = *given;
    gsl_set_error_handler_off();
    double y[3] = {c.start, 0.0, 0.0}, peak = c.start, w = 0.0, t = 0.0;
    if (c.spread > 0.0) {
        integrate(by_time, &c, 0.0, c.spread, 1e-7, y, &peak);
        w = y[1];
        t = c.spread;
    }
    y[1] = t;
    const double web = plain_web(&c);
    integrate(by_web, &c, w, web, 1e-6 * web, y, &peak);
    const double top = plain_thrust(&c, peak), end = pressure_of(&c, 1e-3 * top, c.ambient, peak);
    *totals = (struct plain_totals){.peak = peak, .burned = y[1], .impulse_burned = y[2]};
    totals->impulse = y[2] + tail(&c, y[0], end);
}

/* ---- as a file ---- */

static void write_propellant(const struct plain_chamber *c, char *text, size_t size)
{
    double from = 1e4;
    int n =
        snprintf(text, size,
                 "{\"format\":\"slowmatch-propellant/1\",\"name\":\"plain\",\"density\":\"%.17g kg/m3\","
                 "\"gamma\":%.17g,\"flame_temperature\":\"%.17g K\",\"molar_mass\":\"%.17g kg/mol\","
                 "\"cstar_efficiency\":%.17g,\"source\":\"a test\",\"standing\":\"invented\",\"burn_rate\":[",
                 c->density, c->gamma, c->flame, c->molar, c->efficiency);
    for (int i = 0; i < c->n_segments; i++) {
        const struct plain_segment *s = &c->law[i];
        n += snprintf(text + n, size - (size_t)n,
                      "%s{\"from\":\"%.17g Pa\",\"to\":\"%.17g Pa\",\"rate\":\"%.17g m/s\",\"at\":\"1 "
                      "MPa\",\"exponent\":%.17g}",
                      i > 0 ? "," : "", from, s->to, s->rate, s->exponent);
        from = s->to;
    }
    snprintf(text + n, size - (size_t)n, "]}");
}

static void write_grains(const struct plain_chamber *c, char *text, size_t size)
{
    if (c->bore > 0.0)
        snprintf(text, size,
                 "{\"shape\":\"tube\",\"outer_diameter\":\"%.17g m\",\"bore_diameter\":\"%.17g m\","
                 "\"length\":\"%.17g m\",\"count\":%d,\"burning\":[\"bore\"%s]}",
                 2.0 * c->outer, 2.0 * c->bore, c->length, c->count,
                 c->ends ? ",\"fore-end\",\"aft-end\"" : "");
    else
        snprintf(text, size,
                 "{\"shape\":\"end-burner\",\"outer_diameter\":\"%.17g m\",\"length\":\"%.17g m\"}",
                 2.0 * c->outer, c->length);
}

void plain_write(const struct plain_chamber *c, const char *name, char *text, size_t size)
{
    char grains[512], propellant[2048];
    write_grains(c, grains, sizeof grains);
    if (name)
        snprintf(propellant, sizeof propellant, "\"%s\"", name);
    else
        write_propellant(c, propellant, sizeof propellant);
    snprintf(
        text, size,
        "{\"format\":\"slowmatch-motor/1\",\"name\":\"plain\",\"propellant\":%s,"
        "\"case\":{\"bore\":\"%.17g m\",\"length\":\"2 m\",\"free_volume\":\"%.17g m3\"},\"grains\":[%s],"
        "\"nozzle\":{\"throat_diameter\":\"%.17g m\",\"exit_diameter\":\"%.17g m\","
        "\"half_angle\":\"%.17g rad\",\"thrust_efficiency\":%.17g},"
        "\"ignition\":{\"pressure\":\"%.17g Pa\",\"spread_time\":\"%.17g s\"},"
        "\"conditions\":{\"ambient_pressure\":\"%.17g Pa\"}}",
        propellant, 2.0 * c->outer, c->free, grains, c->throat, c->exit, c->angle, c->zeta, c->start,
        c->spread, c->ambient);
}
