#include "export/template_data.h"
#include "base/suggest.h"
#include "base/text.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

/* ---- the summary ---- */

struct figure {
    const char *name;
    enum sm_dim dim;
    size_t offset; /* of the double in struct sm_result [bytes] */
};

#define FIGURE(name, dim, place)                                                                             \
    {                                                                                                        \
        name, dim, offsetof(struct sm_result, place)                                                         \
    }

/* Those that are no facts of every form. */
static const struct figure figures[] = {
    FIGURE("impulse_in_burn_time", SM_DIM_IMPULSE, thrust.impulse_in_burn_time),
    FIGURE("burn_start", SM_DIM_TIME, thrust.burn_start),
    FIGURE("action_time", SM_DIM_TIME, thrust.action_time),
    FIGURE("average_in_burn_time", SM_DIM_FORCE, thrust.average_in_burn_time),
    FIGURE("maximum_steady", SM_DIM_FORCE, thrust.maximum_steady),
    FIGURE("initial_thrust", SM_DIM_FORCE, thrust.initial),
    FIGURE("specific_impulse", SM_DIM_TIME, thrust.specific_impulse),
    FIGURE("exhaust_velocity", SM_DIM_SPEED, thrust.exhaust_velocity),
    FIGURE("pressure_average", SM_DIM_PRESSURE, chamber.pressure_average),
    FIGURE("kn_initial", SM_DIM_NONE, chamber.kn_initial),
    FIGURE("kn_maximum", SM_DIM_NONE, chamber.kn_maximum),
    FIGURE("cstar_delivered", SM_DIM_SPEED, chamber.cstar_delivered),
    FIGURE("throat_final", SM_DIM_LENGTH, chamber.throat_final),
    FIGURE("web", SM_DIM_LENGTH, grain.web),
    FIGURE("sliver_fraction", SM_DIM_NONE, grain.sliver_fraction),
    FIGURE("neutrality", SM_DIM_NONE, grain.neutrality),
    FIGURE("filling", SM_DIM_NONE, grain.filling),
    FIGURE("port_to_throat", SM_DIM_NONE, grain.port_to_throat),
    FIGURE("mass_flux_maximum", SM_DIM_MASS_FLUX, grain.mass_flux_maximum),
    FIGURE("class_upper_limit", SM_DIM_IMPULSE, impulse_class.to),
    FIGURE("class_margin", SM_DIM_IMPULSE, impulse_class.margin),
};

/* Facts that a run may lack, so that their names are known even then. */
static const char *const optional_facts[] = {"loaded_mass",
                                             "maximum_pressure",
                                             "grain_temperature",
                                             "exit_area",
                                             "motor_length",
                                             "motor_diameter",
                                             "source",
                                             "input",
                                             "input_sha256",
                                             "set",
                                             "date"};

static const char *const row_words[] = {"index", "number", "first", "last"};
enum { INDEX, NUMBER, FIRST, LAST };

/* ---- values ---- */

/* What a value is, in its i; j: which of them; n: the row; at: the unit used, NULL for SI. */
enum { ROOT, ROW, FACT, FIGURE_OF, COLUMN, COUNT, WORD };

struct quantity {
    double value; /* [SI] */
    enum sm_dim dim;
    const char *name;
};

static int is_name(const char *name, const char *text, size_t n)
{
    return strlen(name) == n && memcmp(name, text, n) == 0;
}

static void set(struct sm_template_value *out, int what, size_t which, size_t row, int is_there)
{
    *out = (struct sm_template_value){
        .kind = is_there ? SM_TEMPLATE_THING : SM_TEMPLATE_NOTHING, .n = row, .i = (size_t)what, .j = which};
}

/* The number behind a value; false if it is none. */
static int quantity_of(const struct sm_export *e, const struct sm_template_value *v, struct quantity *q)
{
    switch (v->i) {
    case FACT:
        *q = (struct quantity){e->facts[v->j].number, e->facts[v->j].dim, e->facts[v->j].key};
        return e->facts[v->j].text == NULL;
    case FIGURE_OF:
        memcpy(&q->value, (const char *)e->result + figures[v->j].offset, sizeof q->value);
        q->dim = figures[v->j].dim;
        q->name = figures[v->j].name;
        return 1;
    case COLUMN:
        *q = (struct quantity){e->column[v->j][v->n], sm_out_columns[v->j].dim, sm_out_columns[v->j].name};
        return 1;
    default:
        return 0;
    }
}

static int find_at_root(const struct sm_export *e, const char *name, size_t n, struct sm_template_value *out)
{
    struct quantity q;
    if (is_name("rows", name, n)) {
        *out = (struct sm_template_value){.kind = SM_TEMPLATE_LIST, .n = e->n};
        return 1;
    }
    if (is_name("row_count", name, n)) {
        set(out, COUNT, 0, 0, 1);
        return 1;
    }
    for (size_t i = 0; i < e->n_facts; i++)
        if (is_name(e->facts[i].key, name, n)) {
            set(out, FACT, i, 0, 1);
            return 1;
        }
    for (size_t i = 0; i < SM_COUNT(figures); i++)
        if (is_name(figures[i].name, name, n)) {
            set(out, FIGURE_OF, i, 0, 1);
            if (quantity_of(e, out, &q) && isnan(q.value))
                out->kind = SM_TEMPLATE_NOTHING;
            return 1;
        }
    for (size_t i = 0; i < SM_COUNT(optional_facts); i++)
        if (is_name(optional_facts[i], name, n)) {
            set(out, FACT, 0, 0, 0);
            return 1;
        }
    return 0;
}

static int find_in_row(const struct sm_export *e, size_t row, const char *name, size_t n,
                       struct sm_template_value *out)
{
    for (size_t c = 0; c < SM_N_OUT; c++)
        if (is_name(sm_out_columns[c].name, name, n)) {
            set(out, COLUMN, c, row, e->column[c] != NULL);
            return 1;
        }
    for (size_t i = 0; i < SM_COUNT(row_words); i++)
        if (is_name(row_words[i], name, n)) {
            set(out, WORD, i, row, (i != FIRST || row == 0) && (i != LAST || row + 1 == e->n));
            return 1;
        }
    return 0;
}

/* ---- units ---- */

/* Copies a unit's name with every underscore as the joint given. */
static void spell(const char *name, size_t n, char joint, char *out)
{
    for (size_t i = 0; i < n; i++)
        out[i] = name[i] == '_' ? joint : name[i];
    out[n] = '\0';
}

static enum sm_status find_unit(struct sm_fields *f, enum sm_dim dim, const char *name, size_t n,
                                size_t *place, struct sm_error *err)
{
    for (size_t i = 0; i < f->n_used; i++)
        if (f->used[i].dim == dim && is_name(f->used[i].name, name, n)) {
            *place = i;
            return SM_OK;
        }
    if (n >= sizeof f->used[0].name || f->n_used == SM_MAX_UNITS_USED)
        return sm_fail(err, SM_E_UNIT, "the unit's name is too long, or there are more than %d",
                       SM_MAX_UNITS_USED);
    char text[sizeof f->used[0].name];
    struct sm_unit_scale scale;
    spell(name, n, ' ', text);
    if (sm_units_scale(f->units, text, dim, &scale, NULL) != SM_OK) {
        spell(name, n, '/', text);
        SM_TRY(sm_units_scale(f->units, text, dim, &scale, err));
    }
    *place = f->n_used;
    f->used[f->n_used].dim = dim;
    f->used[f->n_used].scale = scale;
    memcpy(f->used[f->n_used].name, name, n);
    f->used[f->n_used++].name[n] = '\0';
    return SM_OK;
}

/* A unit inside a quantity: the same quantity, shown in it. */
static enum sm_status find_in_quantity(struct sm_fields *f, const struct sm_template_value *of,
                                       const char *name, size_t n, struct sm_template_value *out,
                                       struct sm_error *err)
{
    struct quantity q;
    size_t place = 0;
    if (of->at || !quantity_of(f->e, of, &q))
        return SM_OK;
    if (q.dim == SM_DIM_NONE)
        return SM_OK;
    SM_TRY(find_unit(f, q.dim, name, n, &place, err));
    *out = *of;
    out->at = &f->used[place];
    return SM_OK;
}

static enum sm_status member(void *user, const struct sm_template_value *of, const char *name, size_t n,
                             struct sm_template_value *out, struct sm_error *err)
{
    struct sm_fields *f = user;
    out->kind = SM_TEMPLATE_UNKNOWN;
    if (of->i == ROOT)
        find_at_root(f->e, name, n, out);
    else if (of->i == ROW)
        find_in_row(f->e, of->n, name, n, out);
    else
        return find_in_quantity(f, of, name, n, out, err);
    return SM_OK;
}

static void element(void *user, const struct sm_template_value *list, size_t i, struct sm_template_value *out)
{
    (void)user, (void)list;
    set(out, ROW, 0, i, 1);
}

/* ---- text ---- */

static const char *format_of(const struct sm_export *e, const char *name)
{
    for (size_t i = e->options.n_numbers; i > 0; i--)
        if (strcmp(e->options.numbers[i - 1].quantity, name) == 0)
            return e->options.numbers[i - 1].format;
    return NULL;
}

static double in_unit(const struct sm_fields *f, const void *at, double value)
{
    for (size_t i = 0; at && i < f->n_used; i++)
        if (at == (const void *)&f->used[i])
            return sm_export_round((value - f->used[i].scale.offset) / f->used[i].scale.scale);
    return value;
}

static const char *text_of(void *user, const struct sm_template_value *v, char buf[SM_TEMPLATE_TEXT])
{
    const struct sm_fields *f = user;
    struct quantity q;
    buf[0] = '\0';
    if (quantity_of(f->e, v, &q)) {
        const double value = in_unit(f, v->at, q.value);
        const char *format = format_of(f->e, q.name);
        if (format)
            sm_text_format(buf, SM_TEMPLATE_TEXT, format,
                           value); /* seen to hold one conversion and nothing else */
        else
            sm_text_double(buf, value);
        return buf;
    }
    if (v->i == FACT)
        return f->e->facts[v->j].text;
    if (v->i == COUNT)
        sm_text_format(buf, SM_TEMPLATE_TEXT, "%zu", f->e->n);
    else if (v->i == WORD && v->j <= NUMBER)
        sm_text_format(buf, SM_TEMPLATE_TEXT, "%zu", v->n + (v->j == NUMBER));
    else if (v->i == WORD)
        return "true";
    return buf;
}

/* ---- names ---- */

static const char *root_name(const struct sm_export *e, size_t i)
{
    static const char *const more[] = {"rows", "row_count"};
    if (i < e->n_facts)
        return e->facts[i].key;
    i -= e->n_facts;
    if (i < SM_COUNT(figures))
        return figures[i].name;
    i -= SM_COUNT(figures);
    if (i < SM_COUNT(optional_facts))
        return optional_facts[i];
    i -= SM_COUNT(optional_facts);
    return i < SM_COUNT(more) ? more[i] : NULL;
}

static const char *row_name(size_t i)
{
    if (i < SM_N_OUT)
        return sm_out_columns[i].name;
    return i - SM_N_OUT < SM_COUNT(row_words) ? row_words[i - SM_N_OUT] : NULL;
}

static const char *name_of(void *user, const struct sm_template_value *v, size_t i)
{
    const struct sm_fields *f = user;
    return v->i == ROOT ? root_name(f->e, i) : v->i == ROW ? row_name(i) : NULL;
}

void sm_fields_init(struct sm_fields *fields, const struct sm_export *e, struct sm_units *units,
                    struct sm_template_data *data)
{
    fields->e = e;
    fields->units = units;
    fields->n_used = 0;
    *data = (struct sm_template_data){.user = fields,
                                      .root = {.kind = SM_TEMPLATE_THING, .i = ROOT},
                                      .member = member,
                                      .element = element,
                                      .text = text_of,
                                      .name = name_of};
}

/* ---- number formats ---- */

/* At most two digits; where they end. */
static const char *skip_digits(const char *text)
{
    for (int i = 0; i < 2 && isdigit((unsigned char)*text); i++)
        text++;
    return text;
}

static int is_sound(const char *format)
{
    const char *at = format;
    int n_flags = 0;
    if (*at++ != '%')
        return 0;
    for (; *at != '\0' && strchr("-+ 0", *at); at++)
        n_flags++;
    at = skip_digits(at);
    if (*at == '.')
        at = skip_digits(at + 1);
    return n_flags <= 4 && *at != '\0' && strchr("efg", *at) && at[1] == '\0';
}

enum sm_status sm_fields_check_numbers(const struct sm_export *e, struct sm_error *err)
{
    for (size_t k = 0; k < e->options.n_numbers; k++) {
        const struct sm_export_number *number = &e->options.numbers[k];
        const size_t n = strlen(number->quantity);
        struct sm_suggest suggest = {.word = number->quantity};
        struct sm_template_value value;
        char near[SM_SUGGEST_TEXT];
        if (!is_sound(number->format))
            return sm_fail(err, SM_E_SYNTAX,
                           "\"%.40s\" is no number format: one of %%e, %%f, %%g with flags, width and "
                           "precision, as %%.2f",
                           number->format);
        if (find_at_root(e, number->quantity, n, &value) || find_in_row(e, 0, number->quantity, n, &value))
            continue;
        for (size_t i = 0; root_name(e, i); i++)
            sm_suggest_offer(&suggest, root_name(e, i));
        for (size_t i = 0; row_name(i); i++)
            sm_suggest_offer(&suggest, row_name(i));
        return sm_fail(err, SM_E_FIELD, "there is no quantity \"%.60s\" to give a number format%s",
                       number->quantity, sm_suggest_text(near, suggest.best));
    }
    return SM_OK;
}
