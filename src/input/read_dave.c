#include "input/read_dave.h"
#include "base/text.h"
#include "doc/xml.h"
#include "slowmatch/limits.h"

#include <ctype.h>
#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { MAX_AXES = 8, MAX_CHAIN = 32, MAX_WORK = 100000 };

struct variable {
    const struct sm_xml_node *node;
    const char *id, *name, *units;
    double initial, min, max;        /* SM_ABSENT: not given [unit of the variable] */
    const struct sm_xml_node *math;  /* its calculation's tree; NULL: none */
    const struct function *function; /* that gives it; NULL: none */
    bool is_time;                    /* is it a time that nothing gives? */
};

struct axis {
    const struct variable *of;
    const double *points; /* n of them, rising [unit of the variable] */
    size_t n;
    double min, max; /* SM_ABSENT: no limit [unit of the variable] */
};

struct function {
    struct axis axes[MAX_AXES];
    size_t n_axes;
    const double *values; /* the last axis runs fastest [unit of what it gives] */
};

struct model {
    const struct sm_xml *xml;
    struct sm_arena *arena;
    struct sm_units *units;
    struct variable *variables;
    size_t n_variables;
};

/* What is found on the way to a variable's value. */
struct pass {
    const struct model *m;
    double time;               /* [unit of the time variable] */
    size_t depth;              /* of the chain of variables */
    size_t work;               /* variables reckoned so far: a chain may branch at every step */
    const struct variable *by; /* the time that was met; NULL: none */
    double *points;            /* time axes met, n_points of them [unit of by]; NULL: not gathered */
    size_t n_points, capacity;
};

static enum sm_status fault(const struct model *m, const struct sm_xml_node *node, enum sm_status status,
                            const char *text, const char *what, struct sm_error *err)
{
    return sm_xml_at(m->xml, node, sm_fail(err, status, text, what ? what : ""), err);
}

static const char *attribute(const struct model *m, const struct sm_xml_node *node, const char *name)
{
    return sm_xml_attribute(node, name, m->arena);
}

/* ---- numbers and units ---- */

static double number_of(const char *text)
{
    double value;
    const size_t n = text ? strlen(text) : 0;
    return n > 0 && sm_text_parse_double(text, n, &value) == n ? value : SM_ABSENT;
}

/* Numbers parted by commas and blanks. */
static enum sm_status read_numbers(const struct model *m, const struct sm_xml_node *node, double **out,
                                   size_t *n, struct sm_error *err)
{
    const char *text = sm_xml_content(node, m->arena), *end = text ? text + strlen(text) : NULL;
    size_t capacity = 0;
    *out = NULL;
    *n = 0;
    while (text && *text != '\0') {
        double value;
        if (*text == ',' || isspace((unsigned char)*text)) {
            text++;
            continue;
        }
        const size_t used = sm_text_parse_double(text, (size_t)(end - text), &value);
        if (used == 0 || !isfinite(value))
            return fault(m, node, SM_E_SYNTAX, "what stands in <%s> is not a list of numbers",
                         sm_xml_name(node), err);
        *out = sm_arena_grow(m->arena, *out, *n, &capacity, *n + 1, sizeof **out);
        if (!*out)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
        (*out)[(*n)++] = value;
        text += used;
    }
    return SM_OK;
}

/* A unit in the standard's spelling, where an underscore means "per". */
static bool scale_of(const struct model *m, const char *units, enum sm_dim dim, struct sm_unit_scale *scale)
{
    char text[64];
    size_t n = 0;
    if (!units || units[0] == '\0')
        return false;
    for (; units[n] != '\0' && n < sizeof text - 1; n++)
        text[n] = units[n] == '_' ? '/' : units[n];
    text[n] = '\0';
    const enum sm_status status =
        sm_units_scale(m->units, strcmp(text, "sec") == 0 ? "s" : text, dim, scale, NULL);
    if (status == SM_E_NOMEM)
        m->arena->is_starved = 1;
    return status == SM_OK;
}

/* ---- variables ---- */

static struct variable *find(const struct model *m, const char *id)
{
    for (size_t i = 0; id && i < m->n_variables; i++)
        if (strcmp(m->variables[i].id, id) == 0)
            return &m->variables[i];
    return NULL;
}

static enum sm_status read_variable(struct model *m, const struct sm_xml_node *node, struct variable *v,
                                    struct sm_error *err)
{
    *v = (struct variable){
        .node = node,
        .id = attribute(m, node, "varID"),
        .name = attribute(m, node, "name"),
        .units = attribute(m, node, "units"),
        .initial = number_of(attribute(m, node, "initialValue")),
        .min = number_of(attribute(m, node, "minValue")),
        .max = number_of(attribute(m, node, "maxValue")),
        .math = sm_xml_first(sm_xml_first(sm_xml_first(node, "calculation"), "math"), NULL),
    };
    if (!v->id || !v->name || !v->units)
        return fault(m, node, SM_E_FIELD, "a variableDef wants name, varID and units%s", NULL, err);
    return SM_OK;
}

static enum sm_status read_variables(struct model *m, struct sm_error *err)
{
    size_t capacity = 0;
    for (const struct sm_xml_node *node = sm_xml_first(sm_xml_root(m->xml), "variableDef"); node;
         node = sm_xml_next(node, "variableDef")) {
        m->variables = sm_arena_grow(m->arena, m->variables, m->n_variables, &capacity, m->n_variables + 1,
                                     sizeof *m->variables);
        if (!m->variables)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
        SM_TRY(read_variable(m, node, &m->variables[m->n_variables++], err));
    }
    return SM_OK;
}

/* ---- tables ---- */

/* The child of the root of that name whose attribute is id. */
static const struct sm_xml_node *defined(const struct model *m, const char *name, const char *key,
                                         const char *id)
{
    for (const struct sm_xml_node *node = sm_xml_first(sm_xml_root(m->xml), name); id && node;
         node = sm_xml_next(node, name)) {
        const char *other = attribute(m, node, key);
        if (other && strcmp(other, id) == 0)
            return node;
    }
    return NULL;
}

static enum sm_status add_axis(const struct model *m, struct function *f, const struct sm_xml_node *ref,
                               const struct sm_xml_node *points, struct sm_error *err)
{
    double *values;
    if (f->n_axes == MAX_AXES)
        return fault(m, ref, SM_E_RANGE, "a table has too many dimensions%s", NULL, err);
    struct axis *axis = &f->axes[f->n_axes++];
    axis->of = find(m, attribute(m, ref, "varID"));
    axis->min = number_of(attribute(m, ref, "min"));
    axis->max = number_of(attribute(m, ref, "max"));
    if (!axis->of)
        return fault(m, ref, SM_E_FIELD, "a table depends on a variable that is not defined%s", NULL, err);
    SM_TRY(read_numbers(m, points, &values, &axis->n, err));
    axis->points = values;
    for (size_t i = 1; i < axis->n; i++)
        if (!(values[i] > values[i - 1]))
            return fault(m, points, SM_E_RANGE, "breakpoints must rise%s", NULL, err);
    return axis->n > 0 ? SM_OK : fault(m, ref, SM_E_FIELD, "a table has no breakpoints%s", NULL, err);
}

static enum sm_status take_values(const struct model *m, struct function *f, const struct sm_xml_node *node,
                                  struct sm_error *err)
{
    double *values;
    size_t n, wanted = 1;
    for (size_t i = 0; i < f->n_axes; i++)
        wanted = wanted > SIZE_MAX / f->axes[i].n ? 0 : wanted * f->axes[i].n;
    SM_TRY(read_numbers(m, node, &values, &n, err));
    f->values = values;
    return n == wanted && f->n_axes > 0
               ? SM_OK
               : fault(m, node, SM_E_RANGE, "a table has not as many values as its breakpoints tell%s", NULL,
                       err);
}

/* independentVarPts and dependentVarPts: the table stands in the function itself. */
static enum sm_status read_short(const struct model *m, const struct sm_xml_node *node, struct function *f,
                                 struct sm_error *err)
{
    for (const struct sm_xml_node *p = sm_xml_first(node, "independentVarPts"); p;
         p = sm_xml_next(p, "independentVarPts"))
        SM_TRY(add_axis(m, f, p, p, err));
    return take_values(m, f, sm_xml_first(node, "dependentVarPts"), err);
}

/* The gridded table of a function, in it or by reference; NULL if it has another kind. */
static const struct sm_xml_node *table_of(const struct model *m, const struct sm_xml_node *node)
{
    const struct sm_xml_node *definition = sm_xml_first(node, "functionDefn");
    const struct sm_xml_node *ref = sm_xml_first(definition, "griddedTableRef");
    const struct sm_xml_node *within = sm_xml_first(definition, "griddedTableDef");
    if (ref)
        return defined(m, "griddedTableDef", "gtID", attribute(m, ref, "gtID"));
    return within ? within : sm_xml_first(definition, "griddedTable");
}

static enum sm_status read_gridded(const struct model *m, const struct sm_xml_node *node, struct function *f,
                                   struct sm_error *err)
{
    const struct sm_xml_node *table = table_of(m, node), *variable = sm_xml_first(node, "independentVarRef");
    for (const struct sm_xml_node *ref = sm_xml_first(sm_xml_first(table, "breakpointRefs"), "bpRef"); ref;
         ref = sm_xml_next(ref, "bpRef"), variable = sm_xml_next(variable, "independentVarRef")) {
        const struct sm_xml_node *points = defined(m, "breakpointDef", "bpID", attribute(m, ref, "bpID"));
        if (!points || !variable)
            return fault(m, ref, SM_E_FIELD, "a bpRef leads to no breakpointDef, or has no variable%s", NULL,
                         err);
        SM_TRY(add_axis(m, f, variable, sm_xml_first(points, "bpVals"), err));
    }
    return take_values(m, f, sm_xml_first(table, "dataTable"), err);
}

/* Functions with ungridded tables are passed over: a thrust that needs one then has no origin, and that is said. */
static enum sm_status read_functions(struct model *m, struct sm_error *err)
{
    for (const struct sm_xml_node *node = sm_xml_first(sm_xml_root(m->xml), "function"); node;
         node = sm_xml_next(node, "function")) {
        const struct sm_xml_node *short_form = sm_xml_first(node, "dependentVarPts");
        const struct sm_xml_node *given = short_form ? short_form : sm_xml_first(node, "dependentVarRef");
        struct variable *v = find(m, attribute(m, given, "varID"));
        struct function *f = sm_arena_alloc(m->arena, 1, sizeof *f);
        if (!f)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
        if (!v)
            return fault(m, node, SM_E_FIELD, "a function gives a variable that is not defined%s", NULL, err);
        if (!short_form && !table_of(m, node))
            continue;
        SM_TRY(short_form ? read_short(m, node, f, err) : read_gridded(m, node, f, err));
        v->function = f;
    }
    return SM_OK;
}

static void mark_times(struct model *m)
{
    struct sm_unit_scale scale;
    for (size_t i = 0; i < m->n_variables; i++) {
        struct variable *v = &m->variables[i];
        v->is_time = !v->function && !v->math && scale_of(m, v->units, SM_DIM_TIME, &scale);
    }
}

/* ---- reckoning ---- */

static enum sm_status value_of(struct pass *p, const struct variable *v, double *out, struct sm_error *err);

/* Linear in every direction, held at the ends; at holds what the axes' variables are. */
static double between(const struct axis *axes, size_t n_axes, const double *values, const double *at)
{
    size_t i = 0, step = 1, beyond;
    if (n_axes == 0)
        return values[0];
    for (size_t k = 1; k < n_axes; k++)
        step *= axes[k].n;
    for (beyond = axes[0].n - 1; i + 1 < beyond;) {
        const size_t middle = i + (beyond - i) / 2;
        *(axes[0].points[middle] <= at[0] ? &i : &beyond) = middle;
    }
    const double *x = axes[0].points + i;
    const double low = between(axes + 1, n_axes - 1, values + i * step, at + 1);
    if (axes[0].n == 1 || at[0] <= x[0])
        return low;
    const double high = between(axes + 1, n_axes - 1, values + (i + 1) * step, at + 1);
    return at[0] >= x[1] ? high : low + (high - low) * ((at[0] - x[0]) / (x[1] - x[0]));
}

static enum sm_status gather(struct pass *p, const struct axis *axis, struct sm_error *err)
{
    for (size_t i = 0; i < axis->n; i++) {
        p->points = sm_arena_grow(p->m->arena, p->points, p->n_points, &p->capacity, p->n_points + 1,
                                  sizeof *p->points);
        if (!p->points)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
        p->points[p->n_points++] = axis->points[i];
    }
    return SM_OK;
}

static enum sm_status by_table(struct pass *p, const struct function *f, bool gathers, double *out,
                               struct sm_error *err)
{
    double at[MAX_AXES] = {0.0};
    for (size_t i = 0; i < f->n_axes; i++) {
        const struct axis *axis = &f->axes[i];
        SM_TRY(value_of(p, axis->of, &at[i], err));
        at[i] = at[i] < axis->min ? axis->min : at[i] > axis->max ? axis->max : at[i];
        if (gathers && axis->of->is_time)
            SM_TRY(gather(p, axis, err));
    }
    *out = between(f->axes, f->n_axes, f->values, at);
    return SM_OK;
}

static enum sm_status combine(const struct pass *p, const struct sm_xml_node *operator_, size_t place,
                              double x, double *out, struct sm_error *err)
{
    static const char *const known[] = {"plus", "minus", "times", "divide", "max", "min"};
    const char *name = sm_xml_name(operator_);
    size_t which = 0;
    while (which < SM_COUNT(known) && strcmp(name, known[which]) != 0)
        which++;
    if (which == SM_COUNT(known))
        return fault(p->m, operator_, SM_E_FIELD, "a calculation uses <%s>, which is not read here", name,
                     err);
    const double so_far = *out,
                 all[] = {so_far + x, so_far - x, so_far * x, so_far / x, fmax(so_far, x), fmin(so_far, x)};
    *out = place == 0 ? x : all[which];
    return SM_OK;
}

static enum sm_status by_math(struct pass *p, const struct sm_xml_node *node, size_t depth, double *out,
                              struct sm_error *err)
{
    if (depth > MAX_CHAIN)
        return fault(p->m, node, SM_E_RANGE, "a calculation is nested too deeply%s", NULL, err);
    if (sm_xml_is(node, "cn")) {
        *out = number_of(sm_xml_content(node, p->m->arena));
        return isnan(*out) ? fault(p->m, node, SM_E_SYNTAX, "<cn> holds no number%s", NULL, err) : SM_OK;
    }
    if (sm_xml_is(node, "ci")) {
        const struct variable *v = find(p->m, sm_xml_content(node, p->m->arena));
        return v ? value_of(p, v, out, err)
                 : fault(p->m, node, SM_E_FIELD, "<ci> names no variable%s", NULL, err);
    }
    const struct sm_xml_node *operator_ = sm_xml_is(node, "apply") ? sm_xml_first(node, NULL) : NULL;
    size_t place = 0;
    *out = 0.0;
    if (!operator_)
        return fault(p->m, node, SM_E_FIELD, "a calculation uses <%s>, which is not read here",
                     sm_xml_name(node), err);
    for (const struct sm_xml_node *a = sm_xml_next(operator_, NULL); a; a = sm_xml_next(a, NULL)) {
        double x;
        SM_TRY(by_math(p, a, depth + 1, &x, err));
        SM_TRY(combine(p, operator_, place++, x, out, err));
    }
    if (place == 1 && sm_xml_is(operator_, "minus"))
        *out = -*out;
    return place > 0 ? SM_OK
                     : fault(p->m, node, SM_E_SYNTAX, "an operator has nothing to work on%s", NULL, err);
}

static enum sm_status value_of(struct pass *p, const struct variable *v, double *out, struct sm_error *err)
{
    enum sm_status status = SM_OK;
    if (p->depth == MAX_CHAIN || p->work++ == MAX_WORK)
        return fault(p->m, v->node, SM_E_FIELD, "variable %s depends on itself, or by too long a chain",
                     v->id, err);
    p->depth++;
    if (v->function) {
        status = by_table(p, v->function, p->n_points < SM_MAX_CURVE_POINTS && isnan(p->time), out, err);
    } else if (v->math) {
        status = by_math(p, v->math, 0, out, err);
    } else if (v->is_time) {
        p->by = v;
        *out = isnan(p->time) ? 0.0 : p->time;
    } else {
        *out = v->initial;
        if (isnan(*out))
            status =
                fault(p->m, v->node, SM_E_FIELD,
                      "variable %s has no table, calculation or initial value that is read here", v->id, err);
    }
    p->depth--;
    if (status == SM_OK)
        *out = *out < v->min ? v->min : *out > v->max ? v->max : *out;
    return status;
}

/* ---- which force ---- */

/* Is it of that dimension, and does it change with time? Then *p holds the times of its tables. */
static bool is_curve(const struct model *m, const struct variable *v, enum sm_dim dim, struct pass *p,
                     struct sm_error *err)
{
    struct sm_unit_scale scale;
    double value;
    *p = (struct pass){.m = m, .time = SM_ABSENT}; /* an absent time: gather */
    return scale_of(m, v->units, dim, &scale) && value_of(p, v, &value, err) == SM_OK && p->by &&
           p->n_points > 1;
}

static bool is_asked(const struct variable *v, const char *wanted)
{
    return strcmp(v->id, wanted) == 0 || strcmp(v->name, wanted) == 0;
}

/* How well it answers to "the thrust": what is asked for, or the standard's own name, an output, any. */
static int rank(const struct variable *v, const char *wanted)
{
    if (wanted)
        return is_asked(v, wanted) ? 3 : 0;
    if (strcmp(v->name, "thrustBodyForce_X") == 0)
        return 3;
    return sm_xml_first(v->node, "isOutput") ? 2 : 1;
}

static enum sm_status choose(const struct model *m, const char *wanted, const struct variable **out,
                             struct sm_error *err)
{
    int best = 0;
    size_t n = 0;
    struct pass p;
    struct sm_error last = {0};
    for (size_t i = 0; i < m->n_variables; i++) {
        const struct variable *v = &m->variables[i];
        const int r = rank(v, wanted);
        if (r == 0 || r < best || !is_curve(m, v, SM_DIM_FORCE, &p, &last))
            continue;
        n = r > best ? 1 : n + 1;
        best = r;
        *out = v;
    }
    if (n == 1)
        return SM_OK;
    if (n > 1)
        return fault(m, (*out)->node, SM_E_FIELD,
                     "several forces change with time, %s among them: name the thrust's column", (*out)->name,
                     err);
    if (last.status != SM_OK && err) {
        *err = last;
        return last.status;
    }
    return fault(m, NULL, SM_E_FIELD,
                 wanted ? "there is no force \"%.60s\" that changes with time"
                        : "no force changes with time%s",
                 wanted, err);
}

/* ---- the curve ---- */

static int by_size(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static enum sm_status fill(const struct model *m, const struct variable *v, struct sm_curve *curve,
                           struct sm_error *err)
{
    struct pass p;
    struct sm_unit_scale force, seconds;
    if (!is_curve(m, v, SM_DIM_FORCE, &p, err) || !scale_of(m, v->units, SM_DIM_FORCE, &force) ||
        !scale_of(m, p.by->units, SM_DIM_TIME, &seconds))
        return fault(m, v->node, SM_E_INTERNAL, "%s was a curve when it was chosen", v->name, err);
    if (p.n_points > SM_MAX_CURVE_POINTS)
        return fault(m, v->node, SM_E_RANGE, "the tables of %s have too many points", v->name, err);
    qsort(p.points, p.n_points, sizeof *p.points, by_size);
    double *time = sm_arena_alloc(m->arena, p.n_points, sizeof *time);
    double *thrust = sm_arena_alloc(m->arena, p.n_points, sizeof *thrust);
    size_t n = 0;
    if (!time || !thrust)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < p.n_points; i++) {
        if (i > 0 && p.points[i] == p.points[i - 1])
            continue;
        struct pass at = {.m = m, .time = p.points[i]};
        SM_TRY(value_of(&at, v, &thrust[n], err));
        time[n] = sm_unit_to_si(&seconds, p.points[i]);
        thrust[n] = sm_unit_to_si(&force, thrust[n]);
        if (!isfinite(thrust[n]) || fabs(thrust[n]) > 1e12 || fabs(time[n]) > 1e6)
            return fault(m, v->node, SM_E_RANGE, "%s has values beyond any motor's", v->name, err);
        n++;
    }
    *curve = (struct sm_curve){.time = time, .thrust = thrust, .n = n};
    return SM_OK;
}

/* Where a variable begins and ends; left as it is if it is none of that kind. */
static void take_ends(const struct model *m, const struct variable *v, enum sm_dim dim, double *first,
                      double *last)
{
    struct pass p;
    struct sm_unit_scale scale;
    double a, b;
    if (!is_curve(m, v, dim, &p, NULL) || !scale_of(m, v->units, dim, &scale))
        return;
    qsort(p.points, p.n_points, sizeof *p.points, by_size);
    struct pass at_first = {.m = m, .time = p.points[0]},
                at_last = {.m = m, .time = p.points[p.n_points - 1]};
    if (value_of(&at_first, v, &a, NULL) != SM_OK || value_of(&at_last, v, &b, NULL) != SM_OK)
        return;
    *first = sm_unit_to_si(&scale, a);
    *last = sm_unit_to_si(&scale, b);
}

static void read_ends(const struct model *m, struct sm_mass_ends *ends)
{
    for (int i = 0; i < SM_N_MASS_COLUMNS; i++) {
        ends->first[i] = ends->last[i] = SM_ABSENT;
        for (size_t k = 0; k < m->n_variables; k++)
            if (strcmp(m->variables[k].name, sm_mass_names[i].variable) == 0)
                take_ends(m, &m->variables[k], sm_mass_names[i].dim, &ends->first[i], &ends->last[i]);
    }
}

static enum sm_status read_model(struct model *m, const char *wanted, struct sm_curve *curve,
                                 struct sm_mass_ends *ends, struct sm_error *err)
{
    const struct variable *thrust;
    if (!sm_xml_is(sm_xml_root(m->xml), "DAVEfunc"))
        return fault(m, sm_xml_root(m->xml), SM_E_SYNTAX, "this is no DAVE-ML file: its root is <%s>",
                     sm_xml_name(sm_xml_root(m->xml)), err);
    SM_TRY(read_variables(m, err));
    SM_TRY(read_functions(m, err));
    mark_times(m);
    SM_TRY(choose(m, wanted, &thrust, err));
    if (ends)
        read_ends(m, ends);
    return fill(m, thrust, curve, err);
}

enum sm_status sm_read_dave(struct sm_arena *arena, struct sm_units *units, const char *text, size_t n,
                            const char *name, const char *wanted, struct sm_curve *curve,
                            struct sm_mass_ends *ends, struct sm_error *err)
{
    struct sm_xml *xml;
    SM_TRY(sm_xml_parse(text, n, name, &xml, err));
    struct model m = {.xml = xml, .arena = arena, .units = units};
    const enum sm_status status = read_model(&m, wanted, curve, ends, err);
    sm_xml_free(xml);
    /* What was not got looks as if it were not in the file. */
    return arena->is_starved ? sm_fail(err, SM_E_NOMEM, "out of memory") : status;
}
