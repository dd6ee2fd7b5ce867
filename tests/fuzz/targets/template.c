/* Templates, filled with a bought motor's curve. */
#include "fuzz.h"

static struct sm_motor *motor;
static struct sm_result *result;

static void make_result(void)
{
    struct sm_diag diag = {0};
    if (result)
        return;
    fuzz_expect(sm_motor_load(SM_SOURCE_DIR "/examples/curlew-bought.json", fuzz_options(), NULL, &motor,
                              &diag) == SM_OK &&
                    sm_simulate(motor, NULL, NULL, &result, NULL) == SM_OK,
                "the example burns");
}

static void run(const uint8_t *bytes, size_t n)
{
    make_result();
    const struct sm_export_options options = {.template_text = (const char *)bytes,
                                              .n_template = n,
                                              .template_name = "input",
                                              .points = 12,
                                              .for_html = n % 2 == 1,
                                              .unknown_is_empty = n % 3 == 1};
    struct sm_export *export_ = NULL;
    struct sm_error err = {0};
    struct sm_sink sink = fuzz_nowhere();
    if (sm_export_open(motor, result, sm_format_place("template", NULL), &options, &export_, &err) == SM_OK) {
        if (sm_export_write(export_, &sink, &err) != SM_OK)
            fuzz_expect(err.message[0] != '\0', "a refusal says why");
        sm_export_close(export_);
    }
}

const struct fuzz_target fuzz_target_template = {"template", run};
