/* The whole run as slowmatch-result/1, with where it comes from. Reference: docs/schema/slowmatch-result.schema.json. */
#include "export/export.h"
#include "export/result_json.h"

static enum sm_status check(const struct sm_export *e, struct sm_error *err)
{
    if (e->options.points)
        return sm_fail(err, SM_E_FIELD, "json hands over every instant of the run: --points is for tables");
    return SM_OK;
}

static enum sm_status write(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err)
{
    struct sm_json_writer w;
    sm_json_write_init(&w, sink);
    sm_result_put_json(&w, e->result, e);
    return sm_json_write_end(&w, err);
}

const struct sm_format sm_format_json_result = {
    .name = "json",
    .summary = "the whole run as slowmatch-result JSON with its schema, for programs",
    .ending = ".json",
    .check = check,
    .write = write,
};
