#include "app/sizing_schema.h"

#include "input/read_request.h"
#include "input/schema.h"

static void value(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"of", true, sm_schema_text, "JSON pointer into the motor file"},
        {"value", true, sm_schema_number_or_null, "SI"},
        {"from", true, sm_schema_number_or_null, "SI"},
        {"to", true, sm_schema_number_or_null, "SI"},
        {"at", true, sm_schema_text, "from, to or between"}};
    (void)user;
    sm_schema_object(w, NULL, NULL, 0, properties, SM_COUNT(properties));
}

static void values(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"value", true, value, NULL};
    sm_schema_array(w, user, 1, SM_OPTIM_VARIABLES, &item);
}

static void wish(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"what", true, sm_schema_text, "what is wanted"},
        {"aim", true, sm_schema_text, "value, greatest or least"},
        {"wanted", true, sm_schema_number_or_null, "SI; null for an aim"},
        {"got", true, sm_schema_number_or_null, "SI, by the full burn"}};
    (void)user;
    sm_schema_object(w, NULL, NULL, 0, properties, SM_COUNT(properties));
}

static void wishes(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"wish", true, wish, NULL};
    sm_schema_array(w, user, 0, 0, &item);
}

static void limit(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"what", true, sm_schema_text, "the limit in words"},
        {"pointer", true, sm_schema_text, "its place in the request, or /case/margin of the motor"},
        {"bound", true, sm_schema_number_or_null, "SI; of the band of thrust 0"},
        {"got", true, sm_schema_number_or_null,
         "SI, by the full burn; of the band, by how much of it thrust is beyond it at worst"},
        {"active", true, sm_schema_flag, "it keeps the wishes from being met better"},
        {"gains", true, sm_schema_text_or_null, "the wish that one per cent more room betters most"},
        {"gains_from", true, sm_schema_number_or_null, "what that got, SI"},
        {"gains_to", true, sm_schema_number_or_null, "what it would get, SI"},
        {"share", true, sm_schema_number_or_null, "of motors that keep it, by fresh samples"},
        {"share_error", true, sm_schema_number_or_null, "standard error of such a share"}};
    (void)user;
    sm_schema_object(w, NULL, NULL, 0, properties, SM_COUNT(properties));
}

static void limits(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"limit", true, limit, NULL};
    sm_schema_array(w, user, 0, SM_OPTIM_LIMITS, &item);
}

static void figures(struct sm_json_writer *w, const void *user)
{
    struct sm_schema_property properties[SM_SIZE_MAX_FIGURES];
    const struct sm_size_figure *list;
    const size_t n = sm_size_figures(&list);
    for (size_t i = 0; i < n; i++)
        properties[i] =
            (struct sm_schema_property){list[i].name, true, sm_schema_number_or_null, list[i].help};
    sm_schema_object(w, user, NULL, 0, properties, n);
}

static void robust_choice(struct sm_json_writer *w, size_t i, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"share", true, sm_schema_number_or_null, "of motors that are to keep each limit"},
        {"samples", true, sm_schema_whole, "drawn for the check"},
        {"impossible", true, sm_schema_whole, "of these; they keep none"},
        {"seed", true, sm_schema_text, "of the check"},
        {"holds", true, sm_schema_flag, "every limit, within three standard errors"}};
    (void)user;
    if (i == 0)
        sm_schema_null(w, "not asked for, or stopped before its check");
    else
        sm_schema_object(w, NULL, NULL, 0, properties, SM_COUNT(properties));
}

static void robust(struct sm_json_writer *w, const void *user)
{
    sm_schema_one_of(w, 2, robust_choice, user);
}

static void search(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"seed", true, sm_schema_text, "a whole number of 64 bits, in decimal"},
        {"restarts", true, sm_schema_whole, "global searches"},
        {"evaluations", true, sm_schema_whole, "quick burns"},
        {"searches", true, sm_schema_whole, "local searches"},
        {"agreeing", true, sm_schema_whole, "of these, how many came to the same"},
        {"model_gap", true, sm_schema_number_or_null,
         "largest relative difference of the quick burn from the full one at first"}};
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void cautions(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"caution", true, sm_schema_text,
                                            "a sentence to be shown with it"};
    sm_schema_array(w, user, 1, 0, &item);
}

static void warning(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"code", true, sm_schema_text, "which warning"},
        {"text", true, sm_schema_text, "what, and what to do"},
        {"pointer", true, sm_schema_text, "the value best changed, in the motor file"}};
    (void)user;
    sm_schema_object(w, NULL, NULL, 0, properties, SM_COUNT(properties));
}

static void warnings(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"warning", true, warning, NULL};
    sm_schema_array(w, user, 0, 0, &item);
}

static void side(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"figure", true, sm_schema_text, "its name"}, {"aim", true, sm_schema_text, "greatest or least"}};
    (void)user;
    sm_schema_object(w, NULL, NULL, 0, properties, SM_COUNT(properties));
}

static void sides(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"side", true, side, NULL};
    sm_schema_array(w, user, 2, 2, &item);
}

static void point(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"values", true, values, NULL},
        {"limits", true, limits, NULL},
        {"figures", true, figures, NULL},
        {"warnings", true, warnings, "that a burn of it raises"}};
    (void)user;
    sm_schema_object(w, NULL, NULL, 0, properties, SM_COUNT(properties));
}

static void points(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"point", true, point, NULL};
    sm_schema_array(w, user, 1, 0, &item);
}

void sm_schema_request_document(struct sm_json_writer *w, const char *id)
{
    static const struct sm_schema_property properties[] = {
        {"format", true, sm_schema_const, SM_REQUEST_FORMAT}, {"free", true, sm_schema_free, NULL}};
    const struct sm_schema_rows rows = {sm_request_params, sm_n_request_params};
    sm_schema_document(w, id, "Slowmatch request",
                       "A motor wanted: what is free, what is wanted and what is kept.", &rows, 1, properties,
                       SM_COUNT(properties));
}

void sm_schema_sizing_document(struct sm_json_writer *w, const char *id)
{
    static const struct sm_schema_property properties[] = {
        {"format", true, sm_schema_const, "slowmatch-sizing/1"},
        {"request", true, sm_schema_text, "name of the request"},
        {"motor", true, sm_schema_text, "name of the motor that it started from"},
        {"standing", true, sm_schema_text, "what the numbers are worth"},
        {"complete", true, sm_schema_flag,
         "false if it was stopped before its end: the best found by then, which may break limits"},
        {"cautions", true, cautions, NULL},
        {"values", true, values, "what was free"},
        {"wanted", true, wishes, "what was wanted, and what came of it"},
        {"limits", true, limits, "what was kept"},
        {"figures", true, figures, "all figures of the sized motor by the full burn, SI"},
        {"warnings", true, warnings, "that a burn of it raises"},
        {"robust", true, robust, NULL},
        {"search", true, search, "how it was found"}};
    sm_schema_document(w, id, "Slowmatch sizing", "What size --json writes: all numbers SI.", NULL, 0,
                       properties, SM_COUNT(properties));
}

void sm_schema_trade_document(struct sm_json_writer *w, const char *id)
{
    static const struct sm_schema_property properties[] = {
        {"format", true, sm_schema_const, "slowmatch-trade/1"},
        {"request", true, sm_schema_text, "name of the request"},
        {"standing", true, sm_schema_text, "what the numbers are worth"},
        {"complete", true, sm_schema_flag,
         "false if it was stopped before its end: the points found by then"},
        {"cautions", true, cautions, NULL},
        {"between", true, sides, "the two figures"},
        {"seed", true, sm_schema_text, "a whole number of 64 bits, in decimal"},
        {"evaluations", true, sm_schema_whole, "quick burns"},
        {"missed", true, sm_schema_whole, "levels between the ends that no motor was found for"},
        {"points", true, points, "from the best in the first figure to the best in the second"}};
    sm_schema_document(w, id, "Slowmatch trade", "What size --trade --json writes: all numbers SI.", NULL, 0,
                       properties, SM_COUNT(properties));
}
