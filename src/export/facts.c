#include "export/facts.h"
#include "base/text.h"
#include "export/export.h"
#include "slowmatch/catalog.h"

#include <math.h>
#include <string.h>

enum { MAX_FACTS = 32 };

static void add_text(struct sm_export *e, const char *key, const char *text)
{
    char *line = text ? sm_export_one_line(&e->arena, text) : NULL;
    e->is_starved = e->is_starved || (text && !line);
    if (line && e->n_facts < MAX_FACTS)
        e->facts[e->n_facts++] = (struct sm_fact){.key = key, .text = line, .number = SM_ABSENT};
}

static void add_number(struct sm_export *e, const char *key, double number, enum sm_dim dim)
{
    if (!isnan(number) && e->n_facts < MAX_FACTS)
        e->facts[e->n_facts++] = (struct sm_fact){.key = key, .number = sm_export_round(number), .dim = dim};
}

/* "nozzle.throat_diameter=2.5 mm; ..." */
static char *overrides(struct sm_export *e)
{
    const struct sm_export_options *o = &e->options;
    size_t size = 1;
    for (size_t i = 0; i < o->n_overrides; i++)
        size += strlen(o->overrides[i].place) + strlen(o->overrides[i].value) + 3;
    char *text = o->n_overrides > 0 ? sm_arena_alloc(&e->arena, size, 1) : NULL;
    e->is_starved = e->is_starved || (o->n_overrides > 0 && !text);
    size_t used = 0;
    for (size_t i = 0; text && i < o->n_overrides; i++)
        used += (size_t)sm_text_format(text + used, size - used, "%s%s=%s", i > 0 ? "; " : "",
                                       o->overrides[i].place, o->overrides[i].value);
    return text;
}

static void add_totals(struct sm_export *e)
{
    const struct sm_result *r = e->result;
    const struct sm_thrust_summary *t = &r->thrust;
    add_text(e, "impulse_class", r->impulse_class.letter);
    add_text(e, "designation", r->designation);
    add_number(e, "total_impulse", t->total_impulse, SM_DIM_IMPULSE);
    add_number(e, "burn_time", t->burn_time, SM_DIM_TIME);
    add_number(e, "average_thrust", t->average, SM_DIM_FORCE);
    add_number(e, "maximum_thrust", t->maximum, SM_DIM_FORCE);
    add_number(e, "maximum_pressure", r->chamber.pressure_maximum, SM_DIM_PRESSURE);
    add_number(e, "loaded_propellant", r->propellant_mass, SM_DIM_MASS);
    add_number(e, "loaded_mass", r->loaded_mass, SM_DIM_MASS);
    add_text(e, "mass_properties",
             e->column[SM_OUT_MOTOR_MASS]
                 ? "of the propellant, and of the whole motor with its hardware (columns motor_...)"
             : e->column[SM_OUT_PROPELLANT_MASS] ? "propellant only: no hardware was given"
                                                 : "unknown: only thrust was given");
}

static void add_conditions(struct sm_export *e)
{
    static const char *const models[] = {"transient", "equilibrium", "axial"};
    const struct sm_motor *m = e->motor;
    add_text(e, "model", e->result->is_curve ? "curve" : models[e->result->model]);
    add_number(e, "ambient_pressure", m->ambient, SM_DIM_PRESSURE);
    if (!m->spec.is_curve) {
        const double d = m->spec.nozzle.exit_diameter;
        add_number(e, "grain_temperature", m->spec.conditions.grain_temperature, SM_DIM_TEMPERATURE);
        add_number(e, "exit_area", 0.25 * M_PI * d * d, SM_DIM_AREA);
        return;
    }
    const double d = m->spec.bare.exit_diameter;
    add_number(e, "exit_area", 0.25 * M_PI * d * d, SM_DIM_AREA);
    add_number(e, "motor_length", m->spec.bare.length, SM_DIM_LENGTH);
    add_number(e, "motor_diameter", m->spec.bare.diameter, SM_DIM_LENGTH);
    if (m->spec.bare.source)
        add_text(e, "source", m->spec.bare.source);
}

enum sm_status sm_facts_make(struct sm_export *e, struct sm_error *err)
{
    char program[64];
    e->facts = sm_arena_alloc(&e->arena, MAX_FACTS, sizeof *e->facts);
    if (!e->facts)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    add_text(e, "motor", e->name);
    add_text(e, "standing",
             e->result->is_curve
                 ? "from a thrust curve as it was given; masses against time are predicted; no certification"
                 : "predicted by calculation, not measured; no certification");
    add_totals(e);
    add_conditions(e);
    sm_text_format(program, sizeof program, "slowmatch %s", sm_version());
    add_text(e, "program", program);
    add_text(e, "input", e->options.input_name);
    add_text(e, "input_sha256", e->options.input_hash);
    add_text(e, "set", overrides(e));
    add_text(e, "date", e->options.date);
    return e->is_starved ? sm_fail(err, SM_E_NOMEM, "out of memory") : SM_OK;
}

const struct sm_fact *sm_facts_find(const struct sm_export *e, const char *key)
{
    for (size_t i = 0; i < e->n_facts; i++)
        if (strcmp(e->facts[i].key, key) == 0)
            return &e->facts[i];
    return NULL;
}

const char *sm_fact_line(const struct sm_fact *fact, char buf[SM_FACT_TEXT])
{
    char key[64], number[SM_DOUBLE_TEXT];
    size_t i = 0;
    for (; fact->key[i] != '\0' && i < sizeof key - 1; i++)
        key[i] = fact->key[i] == '_' ? ' ' : fact->key[i];
    key[i] = '\0';
    if (fact->text)
        sm_text_format(buf, SM_FACT_TEXT, "%s: %s", key, fact->text);
    else
        sm_text_format(buf, SM_FACT_TEXT, "%s: %s %s", key, sm_text_double(number, fact->number),
                       sm_dim_unit(fact->dim));
    return buf;
}
