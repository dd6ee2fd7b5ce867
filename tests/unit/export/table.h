/* Exports of example motors for tests. */
#ifndef TESTS_EXPORT_TABLE_H
#define TESTS_EXPORT_TABLE_H

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "export/export.h"
#include "slowmatch/slowmatch.h"

static const char *const example_names[] = {"curlew-bought",        "curlew-from-file", "sandpiper-cored",
                                            "sandpiper-end-burner", "sandpiper-mixed",  "sandpiper-tubes"};

struct opened {
    struct sm_motor *motor;
    struct sm_result *result;
    struct sm_export *table;
};

static inline void burn_example(struct opened *o, const char *name, const struct sm_override *overrides,
                                size_t n_overrides)
{
    char path[1024];
    struct sm_diag diag = {0};
    struct sm_error err = {0};
    const struct sm_load_options load = {.overrides = overrides,
                                         .n_overrides = n_overrides,
                                         .propellant_folder = SM_SOURCE_DIR "/propellants"};
    *o = (struct opened){0};
    snprintf(path, sizeof path, SM_SOURCE_DIR "/examples/%s.json", name);
    cr_assert(sm_motor_load(path, &load, NULL, &o->motor, &diag) == SM_OK, "%s",
              diag.n ? diag.items[0].message : "?");
    cr_assert(sm_simulate(o->motor, NULL, NULL, &o->result, &err) == SM_OK, "%s", err.message);
    sm_diag_release(&diag);
}

static inline enum sm_status open_form(struct opened *o, const char *form,
                                       const struct sm_export_options *options, struct sm_error *err)
{
    const size_t place = sm_format_place(form, NULL);
    cr_assert(place < sm_format_count(), "no form %s", form);
    return sm_export_open(o->motor, o->result, place, options, &o->table, err);
}

static inline void open_example(struct opened *o, const char *name, const char *form,
                                const struct sm_export_options *options)
{
    struct sm_error err = {0};
    burn_example(o, name, NULL, 0);
    cr_assert(open_form(o, form, options, &err) == SM_OK, "%s: %s", name, err.message);
}

static inline void close_example(struct opened *o)
{
    sm_export_close(o->table);
    sm_result_free(o->result);
    sm_motor_free(o->motor);
}

/* What a form writes, with a NUL behind it; caller releases. */
static inline void write_form(const struct opened *o, struct sm_memory_sink *out)
{
    struct sm_error err = {0};
    sm_memory_sink_init(out, NULL);
    cr_assert(sm_export_write(o->table, &out->sink, &err) == SM_OK, "%s", err.message);
}

#endif
