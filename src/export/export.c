#include "export/export.h"
#include "base/suggest.h"
#include "base/text.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- columns ---- */

#define SERIES(field) offsetof(struct sm_series, field)

const struct sm_out_column sm_out_columns[SM_N_OUT] = {
    [SM_OUT_TIME] = {"time", "time", "Time since ignition", SM_DIM_TIME, "Time since the ignition command",
                     SERIES(time)},
    [SM_OUT_THRUST] = {"thrust", "thrust", "Thrust", SM_DIM_FORCE,
                       "Thrust along the motor's axis, forwards, at the run's ambient pressure", SM_OUT_OWN},
    [SM_OUT_THRUST_VACUUM] = {"thrust_vacuum", "thrust_vacuum", "Thrust in vacuum", SM_DIM_FORCE,
                              "Thrust along the motor's axis, forwards, in vacuum", SM_OUT_OWN},
    [SM_OUT_IMPULSE] = {"impulse", "impulse", "Impulse since ignition", SM_DIM_IMPULSE,
                        "Impulse delivered since ignition at the run's ambient pressure", SM_OUT_OWN},
    [SM_OUT_MASS_FLOW] = {"mass_flow", "mass_flow", "Mass flow", SM_DIM_MASS_FLOW,
                          "Mass that leaves through the nozzle, positive outwards", SERIES(mass_flow)},
    [SM_OUT_PRESSURE] = {"pressure", "pressure", "Chamber pressure", SM_DIM_PRESSURE,
                         "Chamber pressure, absolute", SERIES(pressure)},
    [SM_OUT_PROPELLANT_MASS] = {"propellant_mass", "propellant_mass", "Propellant mass", SM_DIM_MASS,
                                "Propellant not yet burned", SERIES(propellant_mass)},
    [SM_OUT_CENTER_OF_MASS] = {"center_of_mass", "center_of_mass", "Propellant centre of mass", SM_DIM_LENGTH,
                               "Centre of mass of the propellant, from the head end of the chamber aft",
                               SERIES(center_of_mass)},
    [SM_OUT_INERTIA_AXIAL] = {"inertia_axial", "inertia_axial", "Propellant axial inertia", SM_DIM_INERTIA,
                              "Moment of inertia of the propellant about the motor's axis",
                              SERIES(inertia_axial)},
    [SM_OUT_INERTIA_TRANSVERSE] =
        {"inertia_transverse", "inertia_transverse", "Propellant transverse inertia", SM_DIM_INERTIA,
         "Moment of inertia of the propellant about a transverse axis through its own "
         "centre of mass",
         SERIES(inertia_transverse)},
    [SM_OUT_MOTOR_MASS] = {"motor_mass", "motor_mass", "Motor mass", SM_DIM_MASS,
                           "Mass of the whole motor with its hardware", SERIES(motor_mass)},
    [SM_OUT_MOTOR_CENTER_OF_MASS] =
        {"motor_center_of_mass", "motor_mass_center", "Motor centre of mass", SM_DIM_LENGTH,
         "Centre of mass of the whole motor, from the head end of the chamber aft",
         SERIES(motor_center_of_mass)},
    [SM_OUT_MOTOR_INERTIA_AXIAL] = {"motor_inertia_axial", "motor_inertia_axial", "Motor axial inertia",
                                    SM_DIM_INERTIA, "Moment of inertia of the whole motor about its axis",
                                    SERIES(motor_inertia_axial)},
    [SM_OUT_MOTOR_INERTIA_TRANSVERSE] =
        {"motor_inertia_transverse", "motor_inertia_trans", "Motor transverse inertia", SM_DIM_INERTIA,
         "Moment of inertia of the whole motor about a transverse axis through "
         "its own centre of mass",
         SERIES(motor_inertia_transverse)},
};

/* ---- forms ---- */

size_t sm_format_count(void)
{
    size_t n = 0;
    while (sm_format_list[n])
        n++;
    return n;
}

void sm_format_describe(size_t i, struct sm_format_info *info)
{
    const struct sm_format *f = sm_format_list[i];
    *info = (struct sm_format_info){
        .name = f->name,
        .summary = f->summary,
        .ending = f->ending,
        .companion = f->companion,
        .is_binary = f->is_binary != 0,
    };
}

size_t sm_format_place(const char *name, const char **near)
{
    struct sm_suggest suggest = {.word = name};
    size_t i = 0;
    for (; sm_format_list[i]; i++) {
        if (strcmp(sm_format_list[i]->name, name) == 0)
            return i;
        sm_suggest_offer(&suggest, sm_format_list[i]->name);
    }
    if (near)
        *near = suggest.best;
    return i;
}

size_t sm_format_of_file(const char *path)
{
    const size_t n = strlen(path), none = sm_format_count();
    size_t found = none;
    for (size_t i = 0; sm_format_list[i]; i++) {
        const char *ending = sm_format_list[i]->ending;
        const size_t length = strlen(ending);
        if (length == 0 || n <= length || strcmp(path + n - length, ending) != 0)
            continue;
        if (found != none)
            return none;
        found = i;
    }
    return found;
}

/* ---- names and numbers ---- */

char *sm_export_one_line(struct sm_arena *arena, const char *text)
{
    char *line = sm_arena_strdup(arena, text);
    for (char *c = line; c && *c != '\0'; c++)
        if ((unsigned char)*c < 0x20 || *c == 0x7F)
            *c = ' ';
    return line;
}

/* Letters of ASCII without case, digits, and one underscore for any run of others. */
static char *make_identifier(struct sm_arena *arena, const char *name)
{
    char *out = sm_arena_alloc(arena, strlen(name) + sizeof "motor_", 1);
    size_t n = 0;
    if (!out)
        return NULL;
    for (; *name != '\0'; name++) {
        const char c = (char)tolower((unsigned char)*name);
        const bool is_letter = c >= 'a' && c <= 'z', is_digit = c >= '0' && c <= '9';
        if (n == 0 && is_digit) {
            memcpy(out, "motor_", 6);
            n = 6;
        }
        if (is_letter || is_digit)
            out[n++] = c;
        else if (n > 0 && out[n - 1] != '_')
            out[n++] = '_';
    }
    while (n > 0 && out[n - 1] == '_')
        n--;
    out[n] = '\0';
    return n > 0 ? out : strcpy(out, "motor");
}

double sm_export_round(double value)
{
    static const double powers[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
                                    1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
    const double size = fabs(value);
    if (!(size >= 1e-11 && size < 1e20)) /* where one power of ten reaches */
        return value;
    const int scale = 11 - (int)floor(log10(size));
    return scale >= 0 ? nearbyint(value * powers[scale]) / powers[scale]
                      : nearbyint(value / powers[-scale]) * powers[-scale];
}

/* ---- opening and writing ---- */

/* Its memory comes from where the motor's does. */
static struct sm_export *new_export(const struct sm_motor *motor)
{
    struct sm_arena arena;
    sm_arena_init(&arena, motor->arena.allocator);
    struct sm_export *e = sm_arena_alloc(&arena, 1, sizeof *e);
    if (e)
        e->arena = arena;
    else
        sm_arena_release(&arena);
    return e;
}

static enum sm_status prepare(struct sm_export *e, struct sm_error *err)
{
    e->name = sm_export_one_line(&e->arena, e->result->motor ? e->result->motor : "");
    e->identifier = e->name ? make_identifier(&e->arena, e->name) : NULL;
    if (!e->identifier)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    if (e->format->check)
        SM_TRY(e->format->check(e, err));
    SM_TRY(sm_export_tabulate(e, err));
    return sm_facts_make(e, err);
}

enum sm_status sm_export_open(const struct sm_motor *motor, const struct sm_result *result, size_t form,
                              const struct sm_export_options *options, struct sm_export **export_,
                              struct sm_error *err)
{
    *export_ = NULL;
    struct sm_export *e = new_export(motor);
    if (!e)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    e->motor = motor;
    e->result = result;
    e->format = sm_format_list[form];
    if (options)
        e->options = *options;
    const enum sm_status status = prepare(e, err);
    if (status == SM_OK)
        *export_ = e;
    else
        sm_export_close(e);
    return status;
}

void sm_export_close(struct sm_export *e)
{
    if (!e)
        return;
    struct sm_arena arena = e->arena; /* the export lives in its own arena */
    sm_arena_release(&arena);
}

enum sm_status sm_export_write(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err)
{
    return e->format->write(e, sink, err);
}

enum sm_status sm_export_write_companion(const struct sm_export *e, struct sm_sink *sink,
                                         struct sm_error *err)
{
    if (!e->format->write_companion)
        return sm_fail(err, SM_E_INTERNAL, "the form %s has no second file", e->format->name);
    return e->format->write_companion(e, sink, err);
}

void sm_export_report(const struct sm_export *e, struct sm_export_report *report)
{
    *report = e->report;
}
