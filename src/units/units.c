#include "units/units.h"
#include "base/text.h"
#include "units/quantity.h"

#include <errno.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <udunits2.h>

struct sm_units {
    ut_system *system;
    ut_unit *si[SM_DIM_COUNT];
    bool is_starved; /* was memory out while they were loaded? */
};

/* After a call of the library's that failed: was it memory? Some calls say only that the system failed them, and beyond the
 * reading of its data nothing but memory can. */
static bool is_starved(void)
{
    return errno == ENOMEM || ut_get_status() == UT_OS;
}

/* ---- loading ---- */

/* Names that people write and the data lacks, or holds rounded to seven digits: the slug is 14.5939 kg there. */
static const struct alias {
    const char *name, *unit;
    bool is_symbol;
} aliases[] = {
    {"deg", "arc_degree", true},
    {"lbm", "lb", true},
    {"psia", "psi", true},
    {"slug", "lbf s2/ft", false},
    {"slugs", "lbf s2/ft", false},
    {"poundal", "lb ft/s2", false},
    {"avoirdupois_ounce", "0.0625 lb", false},
    {"avoirdupois_ounces", "0.0625 lb", false},
    {"ozf", "0.0625 lbf", true},
    {"ounce_force", "0.0625 lbf", false},
    {"ounces_force", "0.0625 lbf", false},
    {"force_ounce", "0.0625 lbf", false},
    {"poundals", "lb ft/s2", false},
};

static bool add_alias(ut_system *system, const struct alias *alias)
{
    ut_unit *unit = ut_parse(system, alias->unit, UT_UTF8);
    if (!unit)
        return false;
    if (alias->is_symbol)
        ut_unmap_symbol_to_unit(system, alias->name, UT_ASCII);
    else
        ut_unmap_name_to_unit(system, alias->name, UT_ASCII);
    const ut_status status = alias->is_symbol ? ut_map_symbol_to_unit(alias->name, UT_ASCII, unit)
                                              : ut_map_name_to_unit(alias->name, UT_ASCII, unit);
    ut_free(unit);
    return status == UT_SUCCESS;
}

static void load(void *user)
{
    struct sm_units *units = user;
    ut_set_error_message_handler(ut_ignore); /* it would print to standard error */
    errno = 0;
    units->system = ut_read_xml(NULL);
    if (!units->system) {
        units->is_starved = errno == ENOMEM;
        return;
    }
    bool good = true;
    for (size_t i = 0; good && i < SM_COUNT(aliases); i++)
        good = add_alias(units->system, &aliases[i]);
    for (int dim = 0; good && dim < SM_DIM_COUNT; dim++) {
        units->si[dim] = ut_parse(units->system, sm_dim_unit((enum sm_dim)dim), UT_UTF8);
        good = units->si[dim] != NULL;
    }
    if (!good) {
        units->is_starved = is_starved();
        for (int dim = 0; dim < SM_DIM_COUNT; dim++)
            ut_free(units->si[dim]);
        ut_free_system(units->system);
        units->system = NULL;
    }
}

enum sm_status sm_units_open(struct sm_units **units, struct sm_error *err)
{
    *units = NULL;
    struct sm_units *made = calloc(1, sizeof *made);
    if (!made)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    sm_text_in_c_locale(load, made); /* it reads its own data by the current locale's decimal sign */
    if (!made->system) {
        const bool is_out = made->is_starved;
        free(made);
        if (is_out)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
        return sm_fail(err, SM_E_IO,
                       "can't load the unit data of UDUNITS-2; is its data package installed, and "
                       "UDUNITS2_XML_PATH unset or right?");
    }
    *units = made;
    return SM_OK;
}

void sm_units_free(struct sm_units *units)
{
    if (!units)
        return;
    for (int dim = 0; dim < SM_DIM_COUNT; dim++)
        ut_free(units->si[dim]);
    ut_free_system(units->system);
    free(units);
}

/* ---- what people write ---- */

/* Spellings that are unknown below, or mean something else there. meant NULL: a gauge pressure. */
static const struct hint {
    const char *written, *meant;
} hints[] = {
    {"C", "degC"},
    {"F", "degF"},
    {"R", "degR"},
    {"rankine", "degR"},
    {"Nm", "N m"},
    {"Ns", "N s"},
    {"mps", "m/s"},
    {"fps", "ft/s"},
    {"sq in", "in2"},
    {"kgm2", "kg m2"},
    {"lbs", "lb"},
    {"lb", "lbf"},
    {"thou", "mil"},
    {"PSI", "psi"},
    {"Psi", "psi"},
    {"degrees", "deg"},
    {"Kg", "kg"},
    {"KG", "kg"},
    {"MM", "mm"},
    {"IN", "in"},
    {"mpa", "MPa"},
    {"Mpa", "MPa"},
    {"kpa", "kPa"},
    {"KPa", "kPa"},
    {"pa", "Pa"},
    {"Bar", "bar"},
    {"BAR", "bar"},
    {"kgs", "kg"},
    {"oz", "avoirdupois_ounce"},
    {"rpm", "1/min"},
    {"\"", "in"},
    {"'", "ft"},
    {"psig", NULL},
    {"PSIG", NULL},
    {"barg", NULL},
    {"kPag", NULL},
    {"MPag", NULL},
};

static const struct hint *hint_for(const char *unit)
{
    for (size_t i = 0; i < SM_COUNT(hints); i++)
        if (strcmp(hints[i].written, unit) == 0)
            return &hints[i];
    return NULL;
}

enum { HINT_TEXT = 64 };
static const char *hint_text(char buf[HINT_TEXT], const char *unit)
{
    const struct hint *hint = hint_for(unit);
    buf[0] = '\0';
    if (hint && hint->meant)
        sm_text_format(buf, HINT_TEXT, "; did you mean '%s'?", hint->meant);
    return buf;
}

static enum sm_status unknown_unit(const char *unit, enum sm_dim dim, struct sm_error *err)
{
    const struct hint *hint = hint_for(unit);
    if (hint && !hint->meant)
        return sm_fail(
            err, SM_E_UNIT,
            "'%.40s' is gauge pressure: add the ambient pressure and write it absolute, as in \"%s\"", unit,
            sm_dim_example(SM_DIM_PRESSURE));
    char text[HINT_TEXT];
    if (hint)
        return sm_fail(err, SM_E_UNIT, "unknown unit '%.40s'%s", unit, hint_text(text, unit));
    return sm_fail(err, SM_E_UNIT, "unknown unit '%.60s' where %s is needed, as in \"%s\"", unit,
                   sm_dim_name(dim), sm_dim_example(dim));
}

/* ---- dimensions ---- */

/* What the library's own check of dimensions does not see. */
struct nature {
    int angle;     /* power of the plane angle, which to the library is a plain number */
    bool is_plain; /* neither logarithmic nor a date */
};

static ut_status visit_basic(const ut_unit *unit, void *user)
{
    struct nature *nature = user;
    nature->angle += ut_is_dimensionless(unit) ? 1 : 0;
    return UT_SUCCESS;
}

static ut_status visit_product(const ut_unit *unit, int count, const ut_unit *const *basic, const int *powers,
                               void *user)
{
    (void)unit;
    struct nature *nature = user;
    for (int i = 0; i < count; i++)
        nature->angle += ut_is_dimensionless(basic[i]) ? powers[i] : 0;
    return UT_SUCCESS;
}

static const ut_visitor visitor;

static ut_status visit_galilean(const ut_unit *unit, double scale, const ut_unit *underlying, double offset,
                                void *user)
{
    (void)unit, (void)scale, (void)offset;
    return ut_accept_visitor(underlying, &visitor, user);
}

static ut_status visit_timestamp(const ut_unit *unit, const ut_unit *time, double origin, void *user)
{
    (void)unit, (void)time, (void)origin;
    struct nature *nature = user;
    nature->is_plain = false;
    return UT_SUCCESS;
}

static ut_status visit_logarithmic(const ut_unit *unit, double base, const ut_unit *reference, void *user)
{
    (void)unit, (void)base, (void)reference;
    struct nature *nature = user;
    nature->is_plain = false;
    return UT_SUCCESS;
}

static const ut_visitor visitor = {visit_basic, visit_product, visit_galilean, visit_timestamp,
                                   visit_logarithmic};

/* A converter from unit to the SI unit of dim; NULL if the dimensions differ. */
static cv_converter *converter_to(const struct sm_units *units, ut_unit *unit, enum sm_dim dim)
{
    struct nature nature = {.is_plain = true};
    if (ut_accept_visitor(unit, &visitor, &nature) != UT_SUCCESS || !nature.is_plain)
        return NULL;
    if (nature.angle != (dim == SM_DIM_ANGLE || dim == SM_DIM_ANGULAR_RATE ? 1 : 0) ||
        !ut_are_convertible(unit, units->si[dim]))
        return NULL;
    cv_converter *converter = ut_get_converter(unit, units->si[dim]);
    if (!converter)
        return NULL;
    /* A reciprocal counts as convertible to the library (s to Hz); it takes 0 to infinity. And only
     * temperatures have an origin of their own. */
    const double zero = cv_convert_double(converter, 0.0);
    const bool has_origin = dim == SM_DIM_TEMPERATURE || dim == SM_DIM_TEMPERATURE_DIFFERENCE;
    if (isfinite(zero) && (has_origin || zero == 0.0))
        return converter;
    cv_free(converter);
    return NULL;
}

static enum sm_status wrong_dimension(const struct sm_units *units, ut_unit *unit, const char *text,
                                      enum sm_dim dim, struct sm_error *err)
{
    char hint[HINT_TEXT];
    hint_text(hint, text);
    for (int other = SM_DIM_NONE + 1; other < SM_DIM_COUNT; other++) {
        cv_converter *converter = converter_to(units, unit, (enum sm_dim)other);
        cv_free(converter);
        if (converter)
            return sm_fail(err, SM_E_UNIT, "'%.40s' is a unit of %s where %s is needed, as in \"%s\"%s", text,
                           sm_dim_name((enum sm_dim)other), sm_dim_name(dim), sm_dim_example(dim), hint);
    }
    return sm_fail(err, SM_E_UNIT, "'%.60s' does not fit where %s is needed, as in \"%s\"%s", text,
                   sm_dim_name(dim), sm_dim_example(dim), hint);
}

struct parse_job {
    const struct sm_units *units;
    const char *text;
    ut_unit *unit;
};

static void parse_unit(void *user)
{
    struct parse_job *job = user;
    job->unit = ut_parse(job->units->system, job->text, UT_UTF8);
}

/* Returned: *converter from the unit called text, caller frees. */
static enum sm_status converter_from(const struct sm_units *units, const char *text, enum sm_dim dim,
                                     cv_converter **converter, struct sm_error *err)
{
    struct parse_job job = {.units = units, .text = text};
    errno = 0;
    if (sm_quantity_unit_is_formed(text))
        sm_text_in_c_locale(parse_unit, &job);
    if (job.unit)
        *converter = converter_to(units, job.unit, dim);
    if ((!job.unit || !*converter) && is_starved()) {
        ut_free(job.unit);
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    }
    if (!job.unit)
        return unknown_unit(text, dim, err);
    const enum sm_status status = *converter ? SM_OK : wrong_dimension(units, job.unit, text, dim, err);
    ut_free(job.unit);
    return status;
}

/* ---- calls ---- */

/* A number without a unit, or with per cent. */
static enum sm_status bare_scale(const char *unit, struct sm_unit_scale *scale, struct sm_error *err)
{
    const bool is_percent = strcmp(unit, "%") == 0 || strcmp(unit, "percent") == 0;
    if (!is_percent && unit[0] != '\0' && strcmp(unit, "1") != 0)
        return sm_fail(err, SM_E_UNIT, "unit '%.60s' where a bare number is needed, as in %s", unit,
                       sm_dim_example(SM_DIM_NONE));
    *scale = (struct sm_unit_scale){.scale = is_percent ? 0.01 : 1.0};
    return SM_OK;
}

/* The library's inch is 0.0254 m but for the last bit, since it works from 2.54 cm. A factor that is a
 * decimal of up to 14 digits to within its rounding is taken to be that decimal. */
static double tidy(double scale)
{
    const double rounding = 4e-16; /* two units in the last place */
    char text[SM_DOUBLE_TEXT];
    double decimal = scale;
    sm_text_format(text, sizeof text, "%.13e", scale);
    sm_text_parse_double(text, strlen(text), &decimal);
    return fabs(decimal - scale) <= rounding * fabs(scale) ? decimal : scale;
}

static enum sm_status scale_of(const struct sm_units *units, const char *unit, enum sm_dim dim,
                               struct sm_unit_scale *scale, struct sm_error *err)
{
    if (dim == SM_DIM_NONE)
        return bare_scale(unit, scale, err);
    cv_converter *converter = NULL;
    SM_TRY(converter_from(units, unit, dim, &converter, err));
    const double zero = cv_convert_double(converter, 0.0);
    const double far = zero == 0.0 ? 1.0 : 1024.0; /* a long way from the origin, not to lose digits to it */
    scale->scale = tidy((cv_convert_double(converter, far) - zero) / far);
    scale->offset = dim == SM_DIM_TEMPERATURE_DIFFERENCE ? 0.0 : zero;
    cv_free(converter);
    return SM_OK;
}

double sm_unit_to_si(const struct sm_unit_scale *scale, double value)
{
    /* 38 mm is 38/1000 m, rounded once; 38 * 0.001 would be rounded twice. */
    const double parts = 1.0 / scale->scale, whole = nearbyint(parts);
    if (parts > 1.5 && whole < 1e15 && tidy(1.0 / whole) == scale->scale)
        return value / whole + scale->offset;
    return value * scale->scale + scale->offset;
}

enum sm_status sm_units_parse(struct sm_units *units, const char *text, enum sm_dim dim, double *si,
                              struct sm_error *err)
{
    char unit[SM_UNIT_TEXT];
    double number;
    struct sm_unit_scale scale;
    SM_TRY(sm_quantity_split(text, dim, &number, unit, err));
    if (unit[0] == '\0' && dim != SM_DIM_NONE)
        return sm_fail(err, SM_E_UNIT, "'%.60s' needs a unit of %s, as in \"%s\"", text, sm_dim_name(dim),
                       sm_dim_example(dim));
    SM_TRY(scale_of(units, unit, dim, &scale, err));
    const double value = sm_unit_to_si(&scale, number);
    if (!isfinite(value))
        return sm_fail(err, SM_E_RANGE, "'%.60s' is too large a number", text);
    if (dim == SM_DIM_TEMPERATURE && value < 0.0)
        return sm_fail(err, SM_E_RANGE, "'%.60s' is below absolute zero", text);
    *si = value;
    return SM_OK;
}

enum sm_status sm_units_scale(struct sm_units *units, const char *unit, enum sm_dim dim,
                              struct sm_unit_scale *scale, struct sm_error *err)
{
    char plain[SM_UNIT_TEXT];
    SM_TRY(sm_quantity_unit(unit, dim, plain, err));
    return scale_of(units, plain, dim, scale, err);
}

enum sm_status sm_units_to(struct sm_units *units, double si, enum sm_dim dim, const char *unit,
                           double *value, struct sm_error *err)
{
    struct sm_unit_scale scale = {0};
    SM_TRY(sm_units_scale(units, unit, dim, &scale, err));
    *value = (si - scale.offset) / scale.scale;
    return SM_OK;
}
