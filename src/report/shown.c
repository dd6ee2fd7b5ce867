/* Numbers as people read them. */
#include "base/text.h"
#include "slowmatch/show.h"

#include <math.h>
#include <string.h>

struct shown {
    const char *unit;
    double factor, offset; /* [SI]; value shown = (si - offset) / factor */
};

/* Units that people read, SI and United States customary. Factors are exact by definition (NIST SP 811). */
static const struct shown shown[SM_DIM_COUNT][2] = {
    [SM_DIM_NONE] = {{"", 1.0, 0.0}, {"", 1.0, 0.0}},
    [SM_DIM_LENGTH] = {{"mm", 1e-3, 0.0}, {"in", 0.0254, 0.0}},
    [SM_DIM_AREA] = {{"mm2", 1e-6, 0.0}, {"in2", 0.00064516, 0.0}},
    [SM_DIM_VOLUME] = {{"cm3", 1e-6, 0.0}, {"in3", 1.6387064e-5, 0.0}},
    [SM_DIM_MASS] = {{"g", 1e-3, 0.0}, {"lb", 0.45359237, 0.0}},
    [SM_DIM_TIME] = {{"s", 1.0, 0.0}, {"s", 1.0, 0.0}},
    [SM_DIM_PRESSURE] = {{"MPa", 1e6, 0.0}, {"psi", 6894.757293168361, 0.0}},
    [SM_DIM_TEMPERATURE] = {{"degC", 1.0, 273.15}, {"degF", 5.0 / 9.0, 459.67 * 5.0 / 9.0}},
    [SM_DIM_TEMPERATURE_DIFFERENCE] = {{"K", 1.0, 0.0}, {"degF", 5.0 / 9.0, 0.0}},
    [SM_DIM_PER_TEMPERATURE] = {{"%/K", 0.01, 0.0}, {"%/degF", 0.018, 0.0}},
    [SM_DIM_ANGLE] = {{"deg", 3.14159265358979323846 / 180.0, 0.0},
                      {"deg", 3.14159265358979323846 / 180.0, 0.0}},
    [SM_DIM_DENSITY] = {{"kg/m3", 1.0, 0.0}, {"lb/in3", 27679.904710203125, 0.0}},
    [SM_DIM_SPEED] = {{"mm/s", 1e-3, 0.0}, {"in/s", 0.0254, 0.0}},
    [SM_DIM_INERTIA] = {{"kg m2", 1.0, 0.0}, {"lb ft2", 0.0421401100938048, 0.0}},
    [SM_DIM_MOMENT] = {{"N m", 1.0, 0.0}, {"lbf ft", 1.3558179483314004, 0.0}},
    [SM_DIM_FORCE] = {{"N", 1.0, 0.0}, {"lbf", 4.4482216152605, 0.0}},
    [SM_DIM_IMPULSE] = {{"N s", 1.0, 0.0}, {"lbf s", 4.4482216152605, 0.0}},
    [SM_DIM_MOLAR_MASS] = {{"g/mol", 1e-3, 0.0}, {"g/mol", 1e-3, 0.0}},
    [SM_DIM_MASS_FLOW] = {{"g/s", 1e-3, 0.0}, {"lb/s", 0.45359237, 0.0}},
    [SM_DIM_MASS_FLUX] = {{"kg/m2s", 1.0, 0.0}, {"lb/in2s", 703.0695796391593, 0.0}},
    [SM_DIM_ACCELERATION] = {{"m/s2", 1.0, 0.0}, {"ft/s2", 0.3048, 0.0}},
    [SM_DIM_FREQUENCY] = {{"Hz", 1.0, 0.0}, {"Hz", 1.0, 0.0}},
    [SM_DIM_HEAT_TRANSFER] = {{"W/m2K", 1.0, 0.0}, {"W/m2K", 1.0, 0.0}},
    [SM_DIM_SPECIFIC_HEAT] = {{"J/kgK", 1.0, 0.0}, {"J/kgK", 1.0, 0.0}},
    [SM_DIM_VISCOSITY] = {{"Pa s", 1.0, 0.0}, {"Pa s", 1.0, 0.0}},
    [SM_DIM_SPECIFIC_VOLUME] = {{"m3/kg", 1.0, 0.0}, {"m3/kg", 1.0, 0.0}},
    [SM_DIM_ANGULAR_RATE] = {{"deg/s", 3.14159265358979323846 / 180.0, 0.0},
                             {"deg/s", 3.14159265358979323846 / 180.0, 0.0}},
};

static double shown_value(double si, const struct shown *s)
{
    return (si - s->offset) / s->factor;
}

/* Values far from the usual unit read better in another of the same kind; the last row that fits counts. */
static const struct {
    enum sm_dim dim;
    double from, below; /* of the size of the value [SI] */
    struct shown unit;
} others[] = {
    {SM_DIM_LENGTH, 1.0, 1e4, {"m", 1.0, 0.0}},       {SM_DIM_LENGTH, 1e4, HUGE_VAL, {"km", 1e3, 0.0}},
    {SM_DIM_MASS, 1.0, HUGE_VAL, {"kg", 1.0, 0.0}},   {SM_DIM_VOLUME, 0.1, HUGE_VAL, {"m3", 1.0, 0.0}},
    {SM_DIM_SPEED, 1.0, HUGE_VAL, {"m/s", 1.0, 0.0}}, {SM_DIM_PRESSURE, 1e3, 0.2e6, {"kPa", 1e3, 0.0}},
    {SM_DIM_PRESSURE, 1e-9, 1e3, {"Pa", 1.0, 0.0}},
};

static const struct shown *unit_of(double si, enum sm_dim dim, enum sm_unit_system system)
{
    const struct shown *unit = &shown[dim][system];
    const double size = fabs(si);
    for (size_t i = 0; i < SM_COUNT(others); i++)
        if (system == SM_UNITS_SI && others[i].dim == dim && size >= others[i].from && size < others[i].below)
            unit = &others[i].unit;
    return unit;
}

static const char *put_number(char buf[SM_SHOW_TEXT], double value, const char *format, const char *unit)
{
    if (isnan(value))
        return strcpy(buf, "-");
    if (fabs(value) >= 1000.0 && fabs(value) < 1e7)
        format = "%.0f";
    char number[SM_SHOW_TEXT / 2];
    sm_text_format(number, sizeof number, format, value + 0.0); /* -0 + 0 is 0 */
    const size_t n = strlen(number);
    if (number[n - 1] == '.')
        number[n - 1] = '\0';
    sm_text_format(buf, SM_SHOW_TEXT, "%s%s%s", number, unit[0] ? " " : "", unit);
    return buf;
}

const char *sm_show_number(char buf[SM_SHOW_TEXT], double si, enum sm_dim dim, enum sm_unit_system system)
{
    const struct shown *s = unit_of(si, dim, system);
    return put_number(buf, shown_value(si, s), "%.4g", s->unit);
}

const char *sm_show_measure(char buf[SM_SHOW_TEXT], double si, enum sm_dim dim, enum sm_unit_system system)
{
    const struct shown *s = &shown[dim][system];
    return put_number(buf, shown_value(si, s), "%#.4g", s->unit);
}

const char *sm_show_velocity(char buf[SM_SHOW_TEXT], double si, enum sm_unit_system system)
{
    static const struct shown fast[] = {{"m/s", 1.0, 0.0}, {"ft/s", 0.3048, 0.0}};
    return put_number(buf, shown_value(si, &fast[system]), "%#.4g", fast[system].unit);
}

const char *sm_show_digits(char buf[SM_SHOW_TEXT], double si, enum sm_dim dim, enum sm_unit_system system)
{
    return put_number(buf, shown_value(si, &shown[dim][system]), "%#.4g", "");
}

const char *sm_show_unit(enum sm_dim dim, enum sm_unit_system system)
{
    return shown[dim][system].unit;
}
