/* Our own allocations fail one after the other: each time a clean answer and nothing left behind. */
#include "slowmatch/slowmatch.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct counting {
    size_t n_live, n_made, fail_at; /* the fail_at-th request fails, from 1; 0: none */
    size_t n_warnings;              /* found by the attempt */
};

static void *take(void *user, size_t bytes)
{
    struct counting *c = user;
    if (++c->n_made == c->fail_at)
        return NULL;
    void *memory = malloc(bytes);
    c->n_live += memory != NULL;
    return memory;
}

static void give(void *user, void *memory)
{
    struct counting *c = user;
    c->n_live--;
    free(memory);
}

/* What is done with a motor that was burned, with its context. */
typedef enum sm_status then(const struct sm_motor *motor, const struct sm_result *result,
                            const struct sm_context *context);

/* Loads and burns an example with the n-th request failing. Returned: the first status that is not SM_OK. */
static enum sm_status attempt(const char *example, struct sm_units *units, then *more, struct counting *c)
{
    const struct sm_allocator allocator = {take, give, c};
    const struct sm_context context = {.allocator = &allocator};
    const struct sm_load_options options = {.units = units,
                                            .propellant_folder = SM_SOURCE_DIR "/propellants"};
    struct sm_motor *motor = NULL;
    struct sm_result *result = NULL;
    struct sm_diag diag = {0};
    struct sm_error err = {0};
    char path[1024];
    snprintf(path, sizeof path, "%s/examples/%s", SM_SOURCE_DIR, example);
    enum sm_status status = sm_motor_load(path, &options, &context, &motor, &diag);
    if (status == SM_OK) {
        status = sm_simulate(motor, NULL, &context, &result, &err);
        cr_expect((status == SM_OK) == (result != NULL));
        c->n_warnings = result ? result->n_warnings : 0;
        if (result && more)
            status = more(motor, result, &context);
    } else
        cr_expect(motor == NULL && diag.n > 0);
    sm_result_free(result);
    sm_motor_free(motor);
    sm_diag_release(&diag);
    return status;
}

static void fail_each(const char *example, then *more)
{
    struct sm_units *units;
    cr_assert(sm_units_open(&units, NULL) == SM_OK);
    enum sm_status status = SM_E_NOMEM;
    struct counting whole = {0};
    cr_assert(attempt(example, units, more, &whole) == SM_OK);
    size_t n = 1;
    for (; n < 2000 && status != SM_OK; n++) {
        struct counting c = {.fail_at = n};
        status = attempt(example, units, more, &c);
        cr_expect(status == SM_OK || status == SM_E_NOMEM, "request %zu of %s: %s", n, example,
                  sm_status_text(status));
        /* Memory that runs out in the run with a hot grain must not pass for a case that bursts. */
        cr_expect(status != SM_OK || c.n_warnings == whole.n_warnings,
                  "request %zu of %s changes the warnings", n, example);
        cr_expect(c.n_live == 0, "request %zu of %s leaves %zu behind", n, example, c.n_live);
    }
    cr_expect(status == SM_OK && n > 3, "%s never succeeds", example);
    cr_expect(n == whole.n_made + 2, "%s: %zu requests, %zu tried", example, whole.n_made, n);
    sm_units_free(units);
}

Test(alloc, an_end_burner)
{
    fail_each("sandpiper-end-burner.json", NULL);
}

Test(alloc, a_mixed_stack)
{
    fail_each("sandpiper-mixed.json", NULL);
}

Test(alloc, a_bare_curve)
{
    fail_each("curlew-from-file.json", NULL);
}

Test(alloc, a_bare_curve_with_tolerances)
{
    fail_each("curlew-tolerances.json", NULL);
}

static int take_all(void *user, const char *bytes, size_t n)
{
    size_t *sum = user;
    (void)bytes;
    *sum += n;
    return 0;
}

static enum sm_status export_all(const struct sm_motor *motor, const struct sm_result *result,
                                 const struct sm_context *context)
{
    static const char template[] = "{{#rows}}{{time}} {{thrust.lbf}}\n{{/rows}}";
    const struct sm_export_options options = {
        .template_text = template, .n_template = sizeof template - 1, .template_name = "a template"};
    size_t n = 0;
    struct sm_sink sink = {take_all, &n};
    (void)context; /* the motor remembers where its memory comes from */
    for (size_t form = 0; form < sm_format_count(); form++) {
        struct sm_export *export_ = NULL;
        enum sm_status status = sm_export_open(motor, result, form, &options, &export_, NULL);
        cr_expect((status == SM_OK) == (export_ != NULL));
        if (status == SM_OK)
            status = sm_export_write(export_, &sink, NULL);
        sm_export_close(export_);
        if (status != SM_OK)
            return status;
    }
    cr_expect(n > 0);
    return SM_OK;
}

Test(alloc, every_export)
{
    fail_each("sandpiper-end-burner.json", export_all);
    fail_each("curlew-bought.json", export_all);
}

/* A sample whose memory ran out is no motor that can't be: the spread either does without, or says that memory is out. */
Test(alloc, a_spread)
{
    enum { APART = 23 }; /* requests that fail one after the other are this far apart, to be quick */
    const struct sm_load_options options = {.propellant_folder = SM_SOURCE_DIR "/propellants"};
    const struct sm_spread_options few = {.n = 16, .threads = 1};
    struct sm_motor *motor = NULL;
    struct sm_diag diag = {0};
    cr_assert_eq(sm_motor_load(SM_SOURCE_DIR "/examples/sandpiper-tubes.json", &options, NULL, &motor, &diag),
                 SM_OK);
    size_t n_refused = 0;
    for (size_t n = 1;; n += APART) {
        struct counting c = {.fail_at = n};
        const struct sm_allocator allocator = {take, give, &c};
        const struct sm_context context = {.allocator = &allocator};
        struct sm_spread *spread = NULL;
        const enum sm_status status = sm_spread_run(motor, &few, &context, &spread, NULL);
        cr_expect(status == SM_OK || status == SM_E_NOMEM, "request %zu: status %d", n, (int)status);
        if (spread)
            cr_expect_eq(spread->n_impossible, 0, "request %zu: %zu motors that can't be", n,
                         spread->n_impossible);
        n_refused += status == SM_E_NOMEM;
        sm_spread_free(spread);
        cr_expect_eq(c.n_live, 0, "request %zu: %zu left behind", n, c.n_live);
        if (c.n_made < n)
            break;
    }
    cr_expect(n_refused > 0);
    sm_motor_free(motor);
    sm_diag_release(&diag);
}
