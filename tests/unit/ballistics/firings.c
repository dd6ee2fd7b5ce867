/*
 * Predictions of firings by others, as docs/validation.md prints them. That table says how far they are from what was measured;
 * here only that the program still says so.
 */
#include "bench_motor.h"

#include <stdio.h>

#include "reference/reference.h"

static struct sm_result *run_row(const struct ref_table *t, size_t row)
{
    char path[512], propellant[512];
    struct sm_motor *motor = NULL;
    struct sm_diag diag = {0};
    const int is_shipped = strncmp(ref_text(t, row, "propellant"), "kn", 2) == 0;
    snprintf(path, sizeof path, SM_SOURCE_DIR "/tests/validation/%s.json", ref_text(t, row, "motor"));
    snprintf(propellant, sizeof propellant, "\"%s\"", ref_text(t, row, "propellant"));
    /* The propellant named in the row, with the density that the stated mass gives. */
    const struct sm_override o[] = {{"propellant", propellant}, {"propellant.density", "1744 kg/m3"}};
    const struct sm_load_options options = {.overrides = o,
                                            .n_overrides = is_shipped ? SM_COUNT(o) : 0,
                                            .propellant_folder = SM_SOURCE_DIR "/propellants"};
    cr_assert(sm_motor_load(path, &options, NULL, &motor, &diag) == SM_OK, "%s: %s", path,
              diag.n ? diag.items[0].message : "?");
    const int is_axial = strcmp(ref_text(t, row, "model"), "axial") == 0;
    struct sm_result *r = run_motor(motor, is_axial ? SM_MODEL_AXIAL : SM_MODEL_TRANSIENT, 1e-4);
    sm_motor_free(motor);
    return r;
}

static double pick(const struct sm_result *r, const char *quantity)
{
    if (strcmp(quantity, "impulse") == 0)
        return r->thrust.total_impulse;
    if (strcmp(quantity, "thrust") == 0)
        return r->thrust.maximum;
    if (strcmp(quantity, "time") == 0)
        return r->thrust.burn_time;
    cr_assert_str_eq(quantity, "pressure");
    return 1e-6 * r->chamber.pressure_maximum;
}

Test(firings, are_predicted_as_the_validation_page_says)
{
    struct ref_table *t = ref_read("firings.csv");
    for (size_t i = 0; i < t->n_rows; i++) {
        struct sm_result *r = run_row(t, i);
        ref_expect(t, i, "ours", pick(r, ref_text(t, i, "quantity")));
        sm_result_free(r);
    }
    free(t);
}
