/*
 * Quantities with units. Factors are those of NIST Special Publication 811 (2008), appendix B, from memory where they
 * follow from the exact inch (0.0254 m), pound (0.45359237 kg) and standard gravity (9.80665 m/s2).
 */
#include <criterion/criterion.h>
#include <float.h>
#include <locale.h>
#include <math.h>
#include <string.h>

#include "base/text.h"
#include "unit/base/comma_locale.h"
#include "units/units.h"

static struct sm_units *units;

static void open_units(void)
{
    struct sm_error err = {0};
    cr_assert_eq(sm_units_open(&units, &err), SM_OK, "%s", err.message);
}

static void close_units(void)
{
    sm_units_free(units);
}

TestSuite(units, .init = open_units, .fini = close_units);

/* The library multiplies a few factors, each rounded: an inch cubed alone has three. Four roundings are its due. */
static void expect(const char *text, enum sm_dim dim, double si)
{
    double value = 0.0;
    struct sm_error err = {0};
    cr_expect_eq(sm_units_parse(units, text, dim, &value, &err), SM_OK, "%s: %s", text, err.message);
    cr_expect(fabs(value - si) <= 4.0 * DBL_EPSILON * fabs(si), "%s is %.17g, not %.17g", text, value, si);
}

/* To the bit: one rounding of the exact decimal. */
static void expect_exactly(const char *text, enum sm_dim dim, double si)
{
    double value = 0.0;
    cr_expect_eq(sm_units_parse(units, text, dim, &value, NULL), SM_OK, "%s", text);
    cr_expect_eq(value, si, "%s is %.17g, not %.17g", text, value, si);
}

static void refuse(const char *text, enum sm_dim dim, const char *in_message)
{
    double value = 7.0;
    struct sm_error err = {0};
    cr_expect_eq(sm_units_parse(units, text, dim, &value, &err), SM_E_UNIT, "%s", text);
    cr_expect(strstr(err.message, in_message), "%s: %s", text, err.message);
    cr_expect_eq(value, 7.0);
    cr_expect_eq(sm_units_parse(units, text, dim, &value, NULL), SM_E_UNIT);
}

Test(units, factors_of_nist_sp_811)
{
    expect_exactly("1 in", SM_DIM_LENGTH, 0.0254);
    expect_exactly("1 ft", SM_DIM_LENGTH, 0.3048);
    expect("1 mil", SM_DIM_LENGTH, 2.54e-5);
    expect("1 in2", SM_DIM_AREA, 6.4516e-4);
    expect("1 in3", SM_DIM_VOLUME, 1.6387064e-5);
    expect_exactly("1 lb", SM_DIM_MASS, 0.45359237);
    expect("1 avoirdupois_ounce", SM_DIM_MASS, 0.45359237 / 16.0);
    expect("1 ozf", SM_DIM_FORCE, 4.4482216152605 / 16.0);
    expect("1 poundal", SM_DIM_FORCE, 0.45359237 * 0.3048);
    expect_exactly("1 lbf", SM_DIM_FORCE, 4.4482216152605);
    expect_exactly("1 kgf", SM_DIM_FORCE, 9.80665);
    expect("1 lbf s", SM_DIM_IMPULSE, 4.4482216152605);
    expect("1 psi", SM_DIM_PRESSURE, 4.4482216152605 / 6.4516e-4);
    expect("1 ksi", SM_DIM_PRESSURE, 4.4482216152605 / 6.4516e-7);
    expect_exactly("1 atm", SM_DIM_PRESSURE, 101325.0);
    expect_exactly("1 bar", SM_DIM_PRESSURE, 1e5);
    expect("1 kgf/cm2", SM_DIM_PRESSURE, 98066.5);
    expect("1 in/s", SM_DIM_SPEED, 0.0254);
    expect("1 lb/in3", SM_DIM_DENSITY, 0.45359237 / 1.6387064e-5);
    expect("1 lb in2", SM_DIM_INERTIA, 0.45359237 * 6.4516e-4);
    expect("180 deg", SM_DIM_ANGLE, 3.14159265358979323846);
    expect("90 deg/s", SM_DIM_ANGULAR_RATE, 0.5 * 3.14159265358979323846);
    refuse("90 Hz", SM_DIM_ANGULAR_RATE, "60 deg/s");
    expect("1 standard_free_fall", SM_DIM_ACCELERATION, 9.80665);
    double value;
    cr_assert_eq(sm_units_parse(units, "1 psi", SM_DIM_PRESSURE, &value, NULL), SM_OK);
    cr_expect(fabs(value - 6894.757293168) < 5e-10, "as tabulated to 13 digits");
    cr_assert_eq(sm_units_parse(units, "1 slug", SM_DIM_MASS, &value, NULL), SM_OK);
    cr_expect(fabs(value - 14.59390293720636) < 1e-14, "exact, not the rounded 14.5939 of the data: %.17g",
              value);
    expect("2 slugs", SM_DIM_MASS, 2.0 * 4.4482216152605 / 0.3048);
}

Test(units, si_and_its_prefixes)
{
    expect_exactly("38 mm", SM_DIM_LENGTH, 0.038);
    expect_exactly("5 um", SM_DIM_LENGTH, 5e-6);
    expect_exactly("60 cm3", SM_DIM_VOLUME, 60e-6);
    expect_exactly("3 MPa", SM_DIM_PRESSURE, 3e6);
    expect_exactly("101.325 kPa", SM_DIM_PRESSURE, 101325.0);
    expect_exactly("140 g", SM_DIM_MASS, 0.14);
    expect_exactly("20 ms", SM_DIM_TIME, 0.02);
    expect_exactly("23.5 g/mol", SM_DIM_MOLAR_MASS, 0.0235);
    expect_exactly("2.4e-5 kg m2", SM_DIM_INERTIA, 2.4e-5);
    expect_exactly("175 N s", SM_DIM_IMPULSE, 175.0);
    expect_exactly("1680 kg/m3", SM_DIM_DENSITY, 1680.0);
    expect_exactly("1.68 g/cm3", SM_DIM_DENSITY, 1680.0);
    expect_exactly("700 kg m-2 s-1", SM_DIM_MASS_FLUX, 700.0);
    expect_exactly("80 Hz", SM_DIM_FREQUENCY, 80.0);
    expect_exactly("-5 mm", SM_DIM_LENGTH, -0.005);
    expect_exactly("  +.5\tm ", SM_DIM_LENGTH, 0.5);
    expect_exactly("5. m", SM_DIM_LENGTH, 5.0);
    expect_exactly("5e-3m", SM_DIM_LENGTH, 0.005);
}

/* Each example of a dimension must itself be right, and the SI unit must be the unit. */
Test(units, examples_of_all_dimensions)
{
    for (int dim = 0; dim < SM_DIM_COUNT; dim++) {
        double value;
        struct sm_error err = {0};
        char text[64];
        cr_expect_eq(sm_units_parse(units, sm_dim_example((enum sm_dim)dim), (enum sm_dim)dim, &value, &err),
                     SM_OK, "%s", err.message);
        sm_text_format(text, sizeof text, "2.5 %s", dim == SM_DIM_NONE ? "" : sm_dim_unit((enum sm_dim)dim));
        cr_expect_eq(sm_units_parse(units, text, (enum sm_dim)dim, &value, &err), SM_OK, "%s: %s", text,
                     err.message);
        cr_expect_eq(value, 2.5);
    }
}

Test(units, temperatures_keep_their_origin_and_differences_have_none)
{
    expect("25 degC", SM_DIM_TEMPERATURE, 298.15);
    expect("77 degF", SM_DIM_TEMPERATURE, 298.15);
    expect("-40 degF", SM_DIM_TEMPERATURE, 233.15);
    expect("536.67 degR", SM_DIM_TEMPERATURE, 298.15);
    expect("300 K", SM_DIM_TEMPERATURE, 300.0);
    expect("0 K", SM_DIM_TEMPERATURE, 0.0);
    expect_exactly("10 degC", SM_DIM_TEMPERATURE_DIFFERENCE, 10.0);
    expect("18 degF", SM_DIM_TEMPERATURE_DIFFERENCE, 10.0);
    expect("-10 K", SM_DIM_TEMPERATURE_DIFFERENCE, -10.0);
    expect("0.2 %/K", SM_DIM_PER_TEMPERATURE, 0.002);
    expect("0.2 %/degC", SM_DIM_PER_TEMPERATURE, 0.002);
    expect("0.1 %/degF", SM_DIM_PER_TEMPERATURE, 0.0018);
    expect("0.002 1/K", SM_DIM_PER_TEMPERATURE, 0.002);
    expect("0.002 /K", SM_DIM_PER_TEMPERATURE, 0.002);
    expect("0.002/K", SM_DIM_PER_TEMPERATURE, 0.002);
    expect("0.002 per K", SM_DIM_PER_TEMPERATURE, 0.002);
    expect("0.002 K-1", SM_DIM_PER_TEMPERATURE, 0.002);
    double value;
    cr_expect_eq(sm_units_parse(units, "-300 degC", SM_DIM_TEMPERATURE, &value, NULL), SM_E_RANGE);
    cr_expect_eq(sm_units_parse(units, "-1 K", SM_DIM_TEMPERATURE, &value, NULL), SM_E_RANGE);
    refuse("21 C", SM_DIM_TEMPERATURE, "'degC'");
    refuse("21 F", SM_DIM_TEMPERATURE, "'degF'");
    refuse("5 K", SM_DIM_PER_TEMPERATURE, "unit of temperature");
    refuse("5 degC", SM_DIM_PER_TEMPERATURE, "unit of temperature");
}

Test(units, an_angle_names_its_unit_and_nothing_else_may)
{
    expect("15 deg", SM_DIM_ANGLE, 15.0 * 3.14159265358979323846 / 180.0);
    expect("15 degrees", SM_DIM_ANGLE, 15.0 * 3.14159265358979323846 / 180.0);
    expect("15 °", SM_DIM_ANGLE, 15.0 * 3.14159265358979323846 / 180.0);
    expect_exactly("0.25 rad", SM_DIM_ANGLE, 0.25);
    expect("60 arcmin", SM_DIM_ANGLE, 3.14159265358979323846 / 180.0);
    refuse("15", SM_DIM_ANGLE, "15 deg");
    refuse("15 %", SM_DIM_ANGLE, "15 deg");
    refuse("15 m/m", SM_DIM_ANGLE, "15 deg");
    refuse("1 sr", SM_DIM_ANGLE, "15 deg");
    refuse("80 rpm", SM_DIM_FREQUENCY, "1/min");
    refuse("80 rad/s", SM_DIM_FREQUENCY, "80 Hz");
    refuse("80 deg/s", SM_DIM_FREQUENCY, "80 Hz");
    refuse("3 m rad", SM_DIM_LENGTH, "34 mm");
    expect("4800 1/min", SM_DIM_FREQUENCY, 80.0);
}

Test(units, other_spellings)
{
    expect("2 lbm", SM_DIM_MASS, 0.90718474);
    expect("600 psia", SM_DIM_PRESSURE, 600.0 * 4.4482216152605 / 6.4516e-4);
    expect("5 \xC2\xB5m", SM_DIM_LENGTH, 5e-6);      /* micro sign */
    expect("5 \xCE\xBCm", SM_DIM_LENGTH, 5e-6);      /* Greek mu */
    expect("5 N\xE2\x8B\x85s", SM_DIM_IMPULSE, 5.0); /* dot operator */
    expect("5 N\xC2\xB7s", SM_DIM_IMPULSE, 5.0);     /* middle dot */
    expect("\xE2\x88\x92"
           "5 mm",
           SM_DIM_LENGTH, -0.005);                 /* minus sign */
    expect("5\xC2\xA0mm", SM_DIM_LENGTH, 0.005);   /* no-break space */
    expect("1 kg m\xC2\xB2", SM_DIM_INERTIA, 1.0); /* superscript two */
    expect("1 kg m^2", SM_DIM_INERTIA, 1.0);
    expect("1 kg.m**2", SM_DIM_INERTIA, 1.0);
    expect("1 N-s", SM_DIM_IMPULSE, 1.0);
    expect("8.314 J/(mol K) mol/kg kg K/J m", SM_DIM_LENGTH, 8.314);
    expect("2 kg/(m3)", SM_DIM_DENSITY, 2.0);
    expect("2 (kg) m^-2 s**-1", SM_DIM_MASS_FLUX, 2.0);
    expect("2 inches", SM_DIM_LENGTH, 0.0508);
    expect("2 millimeters", SM_DIM_LENGTH, 0.002);
}

Test(units, wrong_dimensions_say_both)
{
    refuse("3 lb", SM_DIM_FORCE, "'lb' is a unit of mass where force is needed");
    refuse("3 lb", SM_DIM_FORCE, "did you mean 'lbf'?");
    refuse("3 lbf", SM_DIM_MASS, "'lbf' is a unit of force where mass is needed");
    refuse("4 oz", SM_DIM_MASS, "'oz' is a unit of volume where mass is needed");
    refuse("4 kg", SM_DIM_LENGTH, "\"34 mm\"");
    refuse("5 s", SM_DIM_FREQUENCY, "unit of time");
    refuse("5 Hz", SM_DIM_TIME, "unit of frequency");
    refuse("5 1/m", SM_DIM_LENGTH, "34 mm");
    refuse("5 \"", SM_DIM_LENGTH, "did you mean 'in'?");
    refuse("5 V", SM_DIM_LENGTH, "length");
    refuse("1 m", SM_DIM_NONE, "bare number");
}

Test(units, what_is_no_number_with_a_unit)
{
    refuse("", SM_DIM_LENGTH, "34 mm");
    refuse("  ", SM_DIM_LENGTH, "34 mm");
    refuse("mm", SM_DIM_LENGTH, "does not start with a number");
    refuse("34", SM_DIM_LENGTH, "needs a unit");
    refuse("34 furlng", SM_DIM_LENGTH, "unknown unit 'furlng'");
    refuse("1/2 in", SM_DIM_LENGTH, "one plain decimal number");
    refuse("1 1/2 in", SM_DIM_LENGTH, "one plain decimal number");
    refuse("2*3 mm", SM_DIM_LENGTH, "one plain decimal number");
    refuse("2+3 mm", SM_DIM_LENGTH, "one plain decimal number");
    refuse("10^3 Pa", SM_DIM_PRESSURE, "one plain decimal number");
    refuse("1,5 mm", SM_DIM_LENGTH, "decimal point");
    refuse("1 000 mm", SM_DIM_LENGTH, "one plain decimal number");
    refuse("1_000 mm", SM_DIM_LENGTH, "unknown unit");
    refuse("5 m 3", SM_DIM_LENGTH, "one plain decimal number");
    refuse("5 2 m", SM_DIM_LENGTH, "one plain decimal number");
    refuse("0x10 mm", SM_DIM_LENGTH, "unknown unit");
    refuse("inf mm", SM_DIM_LENGTH, "does not start with a number");
    refuse("nan mm", SM_DIM_LENGTH, "does not start with a number");
    refuse("5 mm mm", SM_DIM_LENGTH, "unit of area");
    refuse("5 Pa @ 3", SM_DIM_PRESSURE, "unknown unit");
    refuse("5 Pa since 3", SM_DIM_PRESSURE, "unknown unit");
    refuse("5 seconds since 1970-01-01", SM_DIM_TIME, "unknown unit");
    refuse("1 lg(re 1 mW)", SM_DIM_PRESSURE, "unknown unit");
    refuse("1 lb(re Pa)", SM_DIM_PRESSURE, "pressure");
    refuse("1 lb(re K)", SM_DIM_TEMPERATURE, "temperature");
    refuse("600 psig", SM_DIM_PRESSURE, "gauge");
    refuse("7 barg", SM_DIM_PRESSURE, "gauge");
    refuse("5 bar(g)", SM_DIM_PRESSURE, "unknown unit");
    refuse("5 K from 2", SM_DIM_TEMPERATURE, "unknown unit");
    refuse("5 m/", SM_DIM_LENGTH, "unknown unit");
    refuse("5 m//s", SM_DIM_SPEED, "unknown unit");
    refuse("5 m^", SM_DIM_LENGTH, "unknown unit");
    refuse("5 m/2", SM_DIM_LENGTH, "one plain decimal number");
    refuse("5 ((((((((((m))))))))))", SM_DIM_LENGTH, "unknown unit");
    refuse("5 m per2", SM_DIM_LENGTH, "unknown unit");
    refuse("5 m''", SM_DIM_LENGTH, "unknown unit");
    refuse("5 m(", SM_DIM_LENGTH, "unknown unit");
    refuse("5 m)", SM_DIM_LENGTH, "unknown unit");
    refuse("5 m)(", SM_DIM_LENGTH, "unknown unit");
    refuse("5 N\xC2\xB7"
           "2 s",
           SM_DIM_IMPULSE, "one plain decimal number");
    refuse("5 \xFFm", SM_DIM_LENGTH, "UTF-8");
    char long_text[600] = "5 ";
    memset(long_text + 2, 'm', 200);
    refuse(long_text, SM_DIM_LENGTH, "too long");
    memset(long_text + 2, 'm', sizeof long_text - 3);
    refuse(long_text, SM_DIM_LENGTH, "too long");
    double value;
    cr_expect_eq(sm_units_parse(units, "1e308 km", SM_DIM_LENGTH, &value, NULL), SM_E_RANGE);
    cr_expect_eq(sm_units_parse(units, "1e999 m", SM_DIM_LENGTH, &value, NULL), SM_E_RANGE);
}

Test(units, bare_numbers_and_per_cent)
{
    expect_exactly("0.95", SM_DIM_NONE, 0.95);
    expect_exactly("95 %", SM_DIM_NONE, 0.95);
    expect_exactly("95%", SM_DIM_NONE, 0.95);
    refuse("3 1", SM_DIM_NONE, "one plain decimal number");
    refuse("5 rad", SM_DIM_NONE, "bare number");
    refuse("5 g0", SM_DIM_NONE, "bare number");
}

Test(units, scales_and_the_way_back)
{
    struct sm_unit_scale scale;
    cr_assert_eq(sm_units_scale(units, " degF ", SM_DIM_TEMPERATURE, &scale, NULL), SM_OK);
    cr_expect(fabs(scale.scale - 5.0 / 9.0) <= DBL_EPSILON);
    cr_expect(fabs(scale.offset - 459.67 * 5.0 / 9.0) <= 300.0 * DBL_EPSILON);
    cr_expect(fabs(sm_unit_to_si(&scale, 77.0) - 298.15) <= 300.0 * DBL_EPSILON);
    cr_expect_eq(sm_units_scale(units, "", SM_DIM_LENGTH, &scale, NULL), SM_E_UNIT);
    cr_expect_eq(sm_units_scale(units, "2 mm", SM_DIM_LENGTH, &scale, NULL), SM_E_UNIT);
    cr_expect_eq(sm_units_scale(units, "psi", SM_DIM_LENGTH, &scale, NULL), SM_E_UNIT);
    static const struct {
        enum sm_dim dim;
        const char *unit;
    } cases[] = {
        {SM_DIM_PRESSURE, "psi"},     {SM_DIM_LENGTH, "in"}, {SM_DIM_TEMPERATURE, "degF"},
        {SM_DIM_TEMPERATURE, "degC"}, {SM_DIM_MASS, "lb"},   {SM_DIM_ANGLE, "deg"},
        {SM_DIM_SPEED, "mm/s"},       {SM_DIM_NONE, "%"},    {SM_DIM_FORCE, "lbf"},
        {SM_DIM_VOLUME, "cm3"},       {SM_DIM_NONE, ""},     {SM_DIM_NONE, "1"},
    };
    for (size_t i = 0; i < SM_COUNT(cases); i++) {
        double there, back;
        char text[64], number[SM_DOUBLE_TEXT];
        cr_assert_eq(sm_units_to(units, 123.456, cases[i].dim, cases[i].unit, &there, NULL), SM_OK);
        sm_text_format(text, sizeof text, "%s %s", sm_text_double(number, there),
                       strcmp(cases[i].unit, "1") == 0 ? "" : cases[i].unit);
        cr_assert_eq(sm_units_parse(units, text, cases[i].dim, &back, NULL), SM_OK, "%s", text);
        /* An offset costs digits near it; 600 is the largest value on the way. */
        cr_expect(fabs(back - 123.456) <= 600.0 * DBL_EPSILON, "%s came back as %.17g", text, back);
    }
}

Test(units, a_comma_locale_changes_nothing)
{
    enter_comma_locale();
    struct sm_units *again;
    struct sm_error err = {0};
    cr_assert_eq(sm_units_open(&again, &err), SM_OK, "%s", err.message);
    sm_units_free(units);
    units = again;
    cr_expect_str_eq(localeconv()->decimal_point, ",");
    expect("25.5 degC", SM_DIM_TEMPERATURE, 298.65);
    expect("0.368 in/s", SM_DIM_SPEED, 0.0093472);
    expect("1 psi", SM_DIM_PRESSURE, 4.4482216152605 / 6.4516e-4);
    refuse("25,5 degC", SM_DIM_TEMPERATURE, "decimal point");
}

/* Corners of binary64 (IEEE Std 754-2019, section 3.4) as quantities. */
Test(units, corners_of_doubles)
{
    expect_exactly("4.9406564584124654e-324 m", SM_DIM_LENGTH, 0x1p-1074);
    expect_exactly("2.2250738585072014e-308 Pa", SM_DIM_PRESSURE, DBL_MIN);
    expect_exactly("1.7976931348623157e308 m", SM_DIM_LENGTH, DBL_MAX);
    expect_exactly("1e-999 m", SM_DIM_LENGTH, 0.0);
    expect_exactly("-0 m", SM_DIM_LENGTH, 0.0);
    static const char *const beyond[] = {"1e999 m", "-1e999 m", "1.7976931348623157e308 km"};
    for (size_t i = 0; i < SM_COUNT(beyond); i++) {
        double value = 7.0;
        struct sm_error err = {0};
        cr_expect_eq(sm_units_parse(units, beyond[i], SM_DIM_LENGTH, &value, &err), SM_E_RANGE, "%s",
                     beyond[i]);
        cr_expect(strstr(err.message, "too large") && value == 7.0, "%s: %s", beyond[i], err.message);
    }
    refuse("0x10 mm", SM_DIM_LENGTH, "'x10 mm'");
    refuse("nan mm", SM_DIM_LENGTH, "number");
    refuse("inf mm", SM_DIM_LENGTH, "number");
}
