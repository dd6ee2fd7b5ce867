#include "motor/vary.h"

#include <string.h>

#include "base/suggest.h"

/* A block of the spec and the rows that describe it. */
struct block {
    const struct sm_param *rows;
    size_t n_rows;
    void *at;
};

enum { GRAIN_BLOCKS = 3 };

/* ---- lists ---- */

/* Puts copies of a block's lists, and of what is in them, in the place of borrowed ones. */
static enum sm_status own_lists(struct sm_arena *arena, const struct block *b, struct sm_error *err)
{
    for (size_t i = 0; i < b->n_rows; i++) {
        const struct sm_param *row = &b->rows[i];
        void *at = (char *)b->at + row->offset;
        if (row->kind == SM_RECORD)
            SM_TRY(own_lists(arena, &(struct block){row->rows, row->n_rows, at}, err));
        struct sm_list *list = at;
        if (row->kind != SM_LIST || list->n == 0)
            continue;
        char *items = sm_arena_alloc(arena, list->n, row->row_size);
        if (!items)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
        memcpy(items, list->items, list->n * row->row_size);
        list->items = items;
        for (size_t k = 0; k < list->n; k++)
            SM_TRY(own_lists(arena, &(struct block){row->rows, row->n_rows, items + k * row->row_size}, err));
    }
    return SM_OK;
}

/* ---- sections ---- */

/* The section of that name; rows NULL if there is none with numbers. */
static struct block section_of(struct sm_motor_spec *spec, const char *name)
{
    const struct {
        const char *name;
        struct block block;
    } sections[] = {
        {"propellant", {sm_propellant_params, sm_n_propellant_params, &spec->propellant}},
        {"case", {sm_case_params, sm_n_case_params, &spec->chamber}},
        {"nozzle", {sm_nozzle_params, sm_n_nozzle_params, &spec->nozzle}},
        {"hardware", {sm_hardware_params, sm_n_hardware_params, &spec->hardware}},
        {"ignition", {sm_ignition_params, sm_n_ignition_params, &spec->ignition}},
        {"conditions", {sm_conditions_params, sm_n_conditions_params, &spec->conditions}},
    };
    const struct block curve = {sm_bare_curve_params, sm_n_bare_curve_params, &spec->bare};
    if (spec->is_curve)
        return strcmp(name, "curve") == 0        ? curve
               : strcmp(name, "conditions") == 0 ? sections[SM_COUNT(sections) - 1].block
                                                 : (struct block){0};
    for (size_t i = 0; i < SM_COUNT(sections); i++)
        if (strcmp(name, sections[i].name) == 0)
            return sections[i].block;
    return (struct block){0};
}

static void grain_blocks(struct sm_grain_entry *entry, void *params, struct block blocks[GRAIN_BLOCKS])
{
    blocks[0] = (struct block){sm_grain_common_params, sm_n_grain_common_params, &entry->common};
    blocks[1] = (struct block){sm_grain_entry_params, sm_n_grain_entry_params, entry};
    blocks[2] = (struct block){entry->shape->params, entry->shape->n_params, params};
}

/* Place of the entry that a pointer behind "/grains" names; *rest is what is behind its number. */
static enum sm_status entry_of(const struct sm_motor_spec *spec, const char *pointer, size_t *i,
                               const char **rest, struct sm_error *err)
{
    char token[SM_TOKEN_MAX];
    *rest = sm_pointer_token(pointer, token);
    if (!*rest || !sm_pointer_index(token, i))
        return sm_fail(err, SM_E_FIELD, "a grain is named by its number, as in /grains/0/length");
    if (*i >= spec->n_grains)
        return sm_fail(err, SM_E_RANGE, "there is no grain %zu; there are %zu, numbered from 0", *i,
                       spec->n_grains);
    return SM_OK;
}

/* Says so, with the nearest name of all that the grain has. */
static enum sm_status no_such_value(const struct block blocks[GRAIN_BLOCKS], const char *name,
                                    struct sm_error *err)
{
    struct sm_suggest suggest = {.word = name};
    char hint[SM_SUGGEST_TEXT];
    if (!err)
        return SM_E_FIELD; /* a caller that only looks has no use for a hint */
    for (size_t k = 0; k < GRAIN_BLOCKS; k++)
        for (size_t i = 0; i < blocks[k].n_rows; i++)
            sm_suggest_offer(&suggest, blocks[k].rows[i].name);
    return sm_fail(err, SM_E_FIELD, "there is no value '%.80s'%s", name, sm_suggest_text(hint, suggest.best));
}

/* Looks a pointer behind "/grains/i" up in what all grains say, then in what the shape adds. */
static enum sm_status find_in_grain(struct sm_grain_entry *entry, void *params, const char *rest,
                                    struct sm_pointer_target *target, struct sm_error *err)
{
    struct block blocks[GRAIN_BLOCKS];
    char token[SM_TOKEN_MAX] = "";
    grain_blocks(entry, params, blocks);
    sm_pointer_token(rest, token);
    for (size_t k = 0; k < GRAIN_BLOCKS; k++)
        for (size_t i = 0; i < blocks[k].n_rows; i++)
            if (strcmp(blocks[k].rows[i].name, token) == 0)
                return sm_pointer_find(blocks[k].rows, blocks[k].n_rows, blocks[k].at, rest, target, err);
    return no_such_value(blocks, token, err);
}

static enum sm_status no_such_section(const char *pointer, struct sm_error *err)
{
    char token[SM_TOKEN_MAX];
    if (sm_pointer_token(pointer, token) && strchr(token, '/')) /* no key of a motor has one */
        return sm_fail(err, SM_E_FIELD, "a JSON pointer begins with '/': write '/%.120s'", token);
    return sm_fail(err, SM_E_FIELD,
                   "'%.120s' names no number of this motor; it must be as in /nozzle/throat_diameter or "
                   "/propellant/burn_rate/0/rate",
                   pointer);
}

/* A factor of ten either way is beyond any scatter: it catches slips. */
static const struct sm_param rates_row = {.name = "burn_rate",
                                          .kind = SM_QUANTITY,
                                          .min = 0.1,
                                          .max = 10.0,
                                          .fallback = 1.0,
                                          .help = "factor on every rate of the law"};

/* ---- a motor under change ---- */

struct making {
    struct sm_motor *motor;
    const struct sm_motor_spec *base;
    int owns_grains; /* the list of entries is our own */
};

/* Gives the motor its own entries, and entry i its own values. */
static enum sm_status own_entry(struct making *m, size_t i, struct sm_error *err)
{
    struct sm_motor *motor = m->motor;
    struct sm_motor_spec *spec = &motor->spec;
    const size_t n = spec->n_grains;
    if (!m->owns_grains) {
        struct sm_grain_entry *grains = sm_arena_alloc(&motor->arena, n, sizeof *grains);
        struct sm_geometry *geometry = sm_arena_alloc(&motor->arena, n, sizeof *geometry);
        if (!grains || !geometry)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
        memcpy(grains, spec->grains, n * sizeof *grains);
        memcpy(geometry, motor->geometry, n * sizeof *geometry);
        spec->grains = grains;
        motor->geometry = geometry;
        motor->stack = (struct sm_geometry){0};
        m->owns_grains = 1;
    }
    struct sm_grain_entry *entry = &spec->grains[i];
    if (entry->params != m->base->grains[i].params)
        return SM_OK;
    void *params = sm_arena_alloc(&motor->arena, 1, entry->shape->size);
    if (!params)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    memcpy(params, entry->params, entry->shape->size);
    entry->params = params;
    return own_lists(&motor->arena, &(struct block){entry->shape->params, entry->shape->n_params, params},
                     err);
}

/* Is it only how often a grain stands there, or how far apart? Its table then stays. */
static int is_of_stack(const char *rest)
{
    char token[SM_TOKEN_MAX];
    if (!sm_pointer_token(rest, token))
        return 0;
    for (size_t i = 0; i < sm_n_grain_entry_params; i++)
        if (strcmp(token, sm_grain_entry_params[i].name) == 0)
            return 1;
    return 0;
}

static enum sm_status change_grain(struct making *m, const char *pointer, double value, struct sm_error *err)
{
    struct sm_pointer_target target;
    const char *rest;
    size_t i;
    SM_TRY(entry_of(&m->motor->spec, pointer, &i, &rest, err));
    SM_TRY(own_entry(m, i, err));
    if (!is_of_stack(rest))
        m->motor->geometry[i] = (struct sm_geometry){0}; /* its table will be made anew */
    struct sm_grain_entry *entry = &m->motor->spec.grains[i];
    /* The params are our own since own_entry, though the entry calls them constant. */
    union {
        const void *fixed;
        void *own;
    } params = {.fixed = entry->params};
    SM_TRY(find_in_grain(entry, params.own, rest, &target, err));
    return sm_pointer_set(&target, value, err);
}

/* Multiplies every rate of the law. The segments are the motor's own since own_sections. */
static enum sm_status scale_rates(struct sm_motor_spec *spec, double factor, struct sm_error *err)
{
    struct sm_burn_segment *segments = spec->propellant.burn_rate.items;
    if (!(factor >= rates_row.min && factor <= rates_row.max))
        return sm_fail(err, SM_E_RANGE, "a factor of %.6g for the burning rate is outside %g to %g", factor,
                       rates_row.min, rates_row.max);
    for (size_t i = 0; i < spec->propellant.burn_rate.n; i++)
        segments[i].rate *= factor;
    return SM_OK;
}

static enum sm_status apply(struct making *m, const struct sm_change *change, struct sm_error *err)
{
    char token[SM_TOKEN_MAX];
    struct sm_pointer_target target;
    const char *rest = sm_pointer_token(change->pointer, token);
    if (!rest)
        return no_such_section(change->pointer, err);
    if (strcmp(token, "grains") == 0 && !m->motor->spec.is_curve)
        return change_grain(m, rest, change->value, err);
    if (strcmp(change->pointer, SM_VARY_RATES) == 0 && !m->motor->spec.is_curve)
        return scale_rates(&m->motor->spec, change->value, err);
    const struct block b = section_of(&m->motor->spec, token);
    if (!b.rows)
        return no_such_section(change->pointer, err);
    SM_TRY(sm_pointer_find(b.rows, b.n_rows, b.at, rest, &target, err));
    return sm_pointer_set(&target, change->value, err);
}

/* Share of the area by which tables cut anew may miss it: a thousandth of what lanes may miss the impulse by, for a third of the time. */
static const double VARIED = 1e-7;

/* Where nothing but a grain's size changed, its table is the old one multiplied; others are left for the assembly to cut. */
static enum sm_status rescale_grains(const struct making *m, const struct sm_motor *base,
                                     struct sm_error *err)
{
    struct sm_motor *motor = m->motor;
    for (size_t i = 0; m->owns_grains && i < motor->spec.n_grains; i++) {
        const struct sm_grain_entry *old = &base->spec.grains[i];
        struct sm_grain_entry *new = &motor->spec.grains[i];
        if (motor->geometry[i].n_pieces > 0)
            continue;
        new->common.tolerance = VARIED;
        SM_TRY(sm_shape_rescale(new->shape, &motor->arena, &old->common, old->params, &base->geometry[i],
                                &new->common, new->params, &motor->geometry[i], err));
    }
    return SM_OK;
}

/* Lists of all sections are few and short: the motor gets its own. */
static enum sm_status own_sections(struct sm_motor *motor, struct sm_error *err)
{
    static const char *const names[] = {"propellant", "hardware", "ignition"};
    for (size_t i = 0; i < SM_COUNT(names) && !motor->spec.is_curve; i++) {
        const struct block b = section_of(&motor->spec, names[i]);
        SM_TRY(own_lists(&motor->arena, &b, err));
    }
    return SM_OK;
}

static enum sm_status change_and_assemble(struct sm_motor *motor, const struct sm_motor *base,
                                          const struct sm_change *changes, size_t n, struct sm_error *err)
{
    struct making m = {.motor = motor, .base = &base->spec};
    SM_TRY(own_sections(motor, err));
    for (int is_last = 0; is_last <= 1; is_last++) /* a rate set anew is multiplied like the others */
        for (size_t i = 0; i < n; i++) {
            if ((strcmp(changes[i].pointer, SM_VARY_RATES) == 0) != is_last)
                continue;
            const enum sm_status status = apply(&m, &changes[i], err);
            if (status != SM_OK)
                return err && err->at.path[0] == '\0' ? sm_at(err, status, "%s", changes[i].pointer) : status;
        }
    SM_TRY(rescale_grains(&m, base, err));
    return sm_motor_assemble(motor, err);
}

enum sm_status sm_motor_vary(const struct sm_motor *base, const struct sm_change *changes, size_t n,
                             const struct sm_allocator *allocator, struct sm_motor **out,
                             struct sm_error *err)
{
    struct sm_arena arena;
    *out = NULL;
    sm_arena_init(&arena, allocator);
    struct sm_motor *motor = sm_arena_alloc(&arena, 1, sizeof *motor);
    if (!motor) {
        sm_arena_release(&arena);
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    }
    *motor = *base;
    motor->arena = arena;
    const enum sm_status status = change_and_assemble(motor, base, changes, n, err);
    if (status == SM_OK) {
        *out = motor;
        return SM_OK;
    }
    arena = motor->arena; /* the motor lives in its own arena */
    sm_arena_release(&arena);
    return status;
}

enum sm_status sm_motor_value(const struct sm_motor *motor, const char *pointer, double *value,
                              const struct sm_param **row, struct sm_error *err)
{
    /* Finding does not write; only its targets could. */
    struct sm_motor_spec spec = motor->spec;
    struct sm_pointer_target target;
    char token[SM_TOKEN_MAX];
    const char *rest = sm_pointer_token(pointer, token);
    if (!rest)
        return no_such_section(pointer, err);
    if (strcmp(token, "grains") == 0 && !spec.is_curve) {
        size_t i;
        SM_TRY(entry_of(&spec, rest, &i, &rest, err));
        union {
            const void *fixed;
            void *own;
        } params = {.fixed = spec.grains[i].params};
        struct sm_grain_entry entry = spec.grains[i];
        SM_TRY(find_in_grain(&entry, params.own, rest, &target, err));
        *value = sm_pointer_get(&target);
        *row = target.row;
        return SM_OK;
    }
    if (strcmp(pointer, SM_VARY_RATES) == 0 && !spec.is_curve) {
        *value = 1.0;
        *row = &rates_row;
        return SM_OK;
    }
    const struct block b = section_of(&spec, token);
    if (!b.rows)
        return no_such_section(pointer, err);
    SM_TRY(sm_pointer_find(b.rows, b.n_rows, b.at, rest, &target, err));
    *value = sm_pointer_get(&target);
    *row = target.row;
    return SM_OK;
}
