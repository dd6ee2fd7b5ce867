#include "design/measure.h"

#include "base/text.h"

#define MEASURE_ROW(code, name, label, dim, sense, help) {#name, label, dim, sense, help},
static const struct sm_size_figure measures[] = {SM_MEASURE_LIST(MEASURE_ROW)};
#undef MEASURE_ROW

_Static_assert((int)SM_N_MEASURES <= (int)SM_SIZE_MAX_FIGURES, "room for all figures");

size_t sm_size_figures(const struct sm_size_figure **figures)
{
    *figures = measures;
    return SM_COUNT(measures);
}

/* Thrust at the first instant at which the front has gone as far as the web proper. */
static double thrust_at_burnout(const struct sm_motor *motor, const struct sm_series *s)
{
    const double web = motor->stack.web_main * (1.0 - 1e-9); /* the march meets it to rounding */
    size_t i = 0;
    while (i + 1 < s->n && s->web[i] < web)
        i++;
    return s->thrust[i];
}

static double length_of(const struct sm_motor *motor)
{
    const struct sm_grain_entry *last = &motor->spec.grains[motor->spec.n_grains - 1];
    return motor->place[motor->spec.n_grains - 1] + last->count * (last->common.length + last->spacing) -
           last->spacing;
}

void sm_measure_burn(const struct sm_motor *motor, const struct sm_result *r, double release, double *f)
{
    const struct sm_series *s = &r->series;
    f[SM_F_BURN_TIME] = r->thrust.burn_time;
    f[SM_F_AVERAGE_THRUST] = r->thrust.average;
    f[SM_F_MAXIMUM_THRUST] = r->thrust.maximum;
    f[SM_F_THRUST_RELEASE] =
        release >= 0.0 ? sm_curve_at(s->time, s->thrust, s->n, release) : r->thrust.initial;
    f[SM_F_THRUST_BURNOUT] = thrust_at_burnout(motor, s);
    f[SM_F_TOTAL_IMPULSE] = r->thrust.total_impulse;
    f[SM_F_SPECIFIC_IMPULSE] = r->thrust.specific_impulse;
    f[SM_F_PEAK] = r->chamber.pressure_maximum;
    f[SM_F_AVERAGE_PRESSURE] = r->chamber.pressure_average;
    f[SM_F_KN_INITIAL] = r->chamber.kn_initial;
    f[SM_F_KN_MAXIMUM] = r->chamber.kn_maximum;
    f[SM_F_PORT_TO_THROAT] = r->grain.port_to_throat;
    f[SM_F_MASS_FLUX] = r->grain.mass_flux_maximum;
    f[SM_F_NEUTRALITY] = r->grain.neutrality;
    f[SM_F_SLIVERS] = r->grain.sliver_fraction;
    f[SM_F_FILLING] = r->grain.filling;
    f[SM_F_PROPELLANT_MASS] = r->propellant_mass;
    f[SM_F_LOADED_MASS] = r->loaded_mass;
    f[SM_F_WEB] = r->grain.web;
    f[SM_F_LENGTH] = length_of(motor);
}

const char *sm_measure_unit(enum sm_dim dim, double *scale)
{
    static const struct {
        enum sm_dim dim;
        double scale; /* [SI unit] */
        const char *unit;
    } units[] = {{SM_DIM_LENGTH, 1e-3, "mm"},
                 {SM_DIM_PRESSURE, 1e6, "MPa"},
                 {SM_DIM_SPEED, 1e-3, "mm/s"},
                 {SM_DIM_ANGLE, 3.14159265358979323846 / 180.0, "deg"}};
    for (size_t i = 0; i < SM_COUNT(units); i++)
        if (units[i].dim == dim) {
            *scale = units[i].scale;
            return units[i].unit;
        }
    *scale = 1.0;
    return dim == SM_DIM_NONE ? "" : sm_dim_unit(dim);
}

const char *sm_measure_text(char buf[SM_MEASURE_TEXT], enum sm_dim dim, double si, int digits)
{
    double scale;
    const char *unit = sm_measure_unit(dim, &scale);
    sm_text_format(buf, SM_MEASURE_TEXT, "%.*g%s%s", digits, si / scale, unit[0] ? " " : "", unit);
    return buf;
}
