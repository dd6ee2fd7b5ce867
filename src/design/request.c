#include "design/request.h"

#include <math.h>
#include <string.h>

#include "base/text.h"
#include "slowmatch/limits.h"

const char *const sm_wish_aims[] = {"least", "greatest", NULL};
static const char *const acceptable[] = {"burst-margin", NULL};

/* ---- rows ---- */

#define LIMIT_ROWS(code, figure, label, dimension, sense, text)                                              \
    static const struct sm_param figure##_limit[] = {                                                        \
        {.name = "least",                                                                                    \
         .kind = SM_QUANTITY,                                                                                \
         .dim = dimension,                                                                                   \
         .offset = offsetof(struct sm_limit, least),                                                         \
         .fallback = SM_OPTIONAL,                                                                            \
         .help = "no less than this"},                                                                       \
        {.name = "most",                                                                                     \
         .kind = SM_QUANTITY,                                                                                \
         .dim = dimension,                                                                                   \
         .offset = offsetof(struct sm_limit, most),                                                          \
         .fallback = SM_OPTIONAL,                                                                            \
         .help = "no more than this"},                                                                       \
    };
SM_MEASURE_LIST(LIMIT_ROWS)
#undef LIMIT_ROWS

#define WISH_ROWS(code, figure, label, dimension, sense, text)                                               \
    static const struct sm_param figure##_wish[] = {                                                         \
        {.name = "value",                                                                                    \
         .kind = SM_QUANTITY,                                                                                \
         .dim = dimension,                                                                                   \
         .offset = offsetof(struct sm_wish, value),                                                          \
         .min = 1e-9,                                                                                        \
         .max = 1e12,                                                                                        \
         .fallback = SM_OPTIONAL,                                                                            \
         .help = "as near this as can be"},                                                                  \
        {.name = "aim",                                                                                      \
         .kind = SM_CHOICE,                                                                                  \
         .words = sm_wish_aims,                                                                              \
         .offset = offsetof(struct sm_wish, aim),                                                            \
         .fallback = SM_OPTIONAL,                                                                            \
         .help = "or as small, or as great, as can be; values come before aims"},                            \
        {.name = "weight",                                                                                   \
         .kind = SM_QUANTITY,                                                                                \
         .offset = offsetof(struct sm_wish, weight),                                                         \
         .min = 1e-3,                                                                                        \
         .max = 1e3,                                                                                         \
         .fallback = 1.0,                                                                                    \
         .help = "against the other wishes"},                                                                \
    };
SM_MEASURE_LIST(WISH_ROWS)
#undef WISH_ROWS

static const struct sm_param thrust_limit_rows[] = {
    {.name = "time",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_TIME,
     .offset = offsetof(struct sm_thrust_limit, time),
     .max = 1e4,
     .fallback = SM_REQUIRED,
     .help = "after ignition"},
    {.name = "least",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_FORCE,
     .offset = offsetof(struct sm_thrust_limit, least),
     .max = 1e9,
     .fallback = SM_OPTIONAL,
     .help = "thrust is no less than this; straight between points that give one"},
    {.name = "most",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_FORCE,
     .offset = offsetof(struct sm_thrust_limit, most),
     .max = 1e9,
     .fallback = SM_OPTIONAL,
     .help = "and no more than this"},
};

static const struct sm_param thrust_wish_rows[] = {
    {.name = "time",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_TIME,
     .offset = offsetof(struct sm_thrust_wish, time),
     .max = 1e4,
     .fallback = SM_REQUIRED,
     .help = "after ignition"},
    {.name = "thrust",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_FORCE,
     .offset = offsetof(struct sm_thrust_wish, thrust),
     .max = 1e9,
     .fallback = SM_REQUIRED,
     .help = "wanted then; straight between points"},
};

#define LIMIT_RECORD(code, figure, label, dimension, sense, text)                                            \
    {.name = #figure,                                                                                        \
     .kind = SM_RECORD,                                                                                      \
     .offset = offsetof(struct sm_request_limits, of) + (code) * sizeof(struct sm_limit),                    \
     .fallback = SM_OPTIONAL,                                                                                \
     .rows = figure##_limit,                                                                                 \
     .n_rows = SM_COUNT(figure##_limit),                                                                     \
     .row_size = sizeof(struct sm_limit),                                                                    \
     .help = text},
static const struct sm_param limits_rows[] = {
    SM_MEASURE_LIST(LIMIT_RECORD){.name = "class",
                                  .kind = SM_TEXT,
                                  .offset = offsetof(struct sm_request_limits, impulse_class),
                                  .fallback = SM_OPTIONAL,
                                  .help = "impulse class at most, as \"H\""},
    {.name = "thrust",
     .kind = SM_LIST,
     .offset = offsetof(struct sm_request_limits, thrust),
     .min = 2,
     .max = SM_MAX_THRUST_POINTS,
     .fallback = SM_OPTIONAL,
     .rows = thrust_limit_rows,
     .n_rows = SM_COUNT(thrust_limit_rows),
     .row_size = sizeof(struct sm_thrust_limit),
     .help = "a band of thrust against time; none before its first and after its last point"},
};
#undef LIMIT_RECORD

#define WISH_RECORD(code, figure, label, dimension, sense, text)                                             \
    {.name = #figure,                                                                                        \
     .kind = SM_RECORD,                                                                                      \
     .offset = offsetof(struct sm_request_wishes, of) + (code) * sizeof(struct sm_wish),                     \
     .fallback = SM_OPTIONAL,                                                                                \
     .rows = figure##_wish,                                                                                  \
     .n_rows = SM_COUNT(figure##_wish),                                                                      \
     .row_size = sizeof(struct sm_wish),                                                                     \
     .help = text},
static const struct sm_param wishes_rows[] = {
    SM_MEASURE_LIST(WISH_RECORD){.name = "under_class",
                                 .kind = SM_TEXT,
                                 .offset = offsetof(struct sm_request_wishes, under_class),
                                 .fallback = SM_OPTIONAL,
                                 .help = "total impulse just under the end of this class, as \"H\""},
    {.name = "class_reserve",
     .kind = SM_QUANTITY,
     .offset = offsetof(struct sm_request_wishes, class_reserve),
     .max = 0.5,
     .fallback = 0.01,
     .help = "with under_class: share of its end that stays free, since motors stray"},
    {.name = "neutral",
     .kind = SM_FLAG,
     .offset = offsetof(struct sm_request_wishes, neutral),
     .fallback = 0.0,
     .help = "burning area as even as can be"},
    {.name = "thrust",
     .kind = SM_LIST,
     .offset = offsetof(struct sm_request_wishes, thrust),
     .min = 2,
     .max = SM_MAX_THRUST_POINTS,
     .fallback = SM_OPTIONAL,
     .rows = thrust_wish_rows,
     .n_rows = SM_COUNT(thrust_wish_rows),
     .row_size = sizeof(struct sm_thrust_wish),
     .help = "thrust against time, as near as can be from the first point to the last"},
};
#undef WISH_RECORD

const struct sm_param sm_request_params[] = {
    {.name = "name",
     .kind = SM_TEXT,
     .offset = offsetof(struct sm_request_spec, name),
     .fallback = SM_REQUIRED,
     .help = "what it is called"},
    {.name = "motor",
     .kind = SM_TEXT,
     .offset = offsetof(struct sm_request_spec, motor),
     .fallback = SM_REQUIRED,
     .help = "path of the motor file to start from, seen from this file's folder"},
    {.name = "release_time",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_TIME,
     .offset = offsetof(struct sm_request_spec, release_time),
     .max = 1e4,
     .fallback = SM_OPTIONAL,
     .help = "when the vehicle is let go, after ignition, for thrust_at_release"},
    {.name = "accept",
     .kind = SM_CHOICES,
     .words = acceptable,
     .offset = offsetof(struct sm_request_spec, accept),
     .fallback = SM_OPTIONAL,
     .help = "what is refused unless named here: a burst margin under 1.5"},
    {.name = "wanted",
     .kind = SM_RECORD,
     .offset = offsetof(struct sm_request_spec, wanted),
     .fallback = SM_OPTIONAL,
     .rows = wishes_rows,
     .n_rows = SM_COUNT(wishes_rows),
     .row_size = sizeof(struct sm_request_wishes),
     .help = "what is wanted, met as nearly as can be"},
    {.name = "limits",
     .kind = SM_RECORD,
     .offset = offsetof(struct sm_request_spec, limits),
     .fallback = SM_OPTIONAL,
     .rows = limits_rows,
     .n_rows = SM_COUNT(limits_rows),
     .row_size = sizeof(struct sm_request_limits),
     .help = "what is kept before anything else"},
};
const size_t sm_n_request_params = SM_COUNT(sm_request_params);

/* ---- checks ---- */

double sm_class_limit(const char *letter)
{
    enum { CLASSES = 40 }; /* from 1/8A, ends at 0.3125 N s and doubling, past every letter */
    double end = 0.3125;
    for (int i = 0; i < CLASSES; i++, end *= 2.0) {
        struct sm_impulse_class c;
        sm_impulse_class_of(end, &c);
        if (strcmp(c.letter, letter) == 0)
            return c.to;
    }
    return SM_ABSENT;
}

static enum sm_status check_class(const char *letter, const char *pointer, struct sm_error *err)
{
    if (!letter || !isnan(sm_class_limit(letter)))
        return SM_OK;
    return sm_at(err,
                 sm_fail(err, SM_E_RANGE, "there is no impulse class '%.20s'; they are as \"H\"", letter),
                 "%s", pointer);
}

static enum sm_status check_limits(const struct sm_request_limits *limits, struct sm_error *err)
{
    const struct sm_size_figure *figures;
    char least[SM_MEASURE_TEXT], most[SM_MEASURE_TEXT];
    sm_size_figures(&figures);
    for (size_t i = 0; i < SM_N_MEASURES; i++)
        if (limits->of[i].least > limits->of[i].most)
            return sm_at(err,
                         sm_fail(err, SM_E_RANGE, "at least %s and at most %s contradict each other",
                                 sm_measure_text(least, figures[i].dim, limits->of[i].least, 6),
                                 sm_measure_text(most, figures[i].dim, limits->of[i].most, 6)),
                         "/limits/%s", figures[i].name);
    const struct sm_thrust_limit *band = limits->thrust.items;
    for (size_t i = 0; i < limits->thrust.n; i++) {
        if (band[i].least > band[i].most)
            return sm_at(err,
                         sm_fail(err, SM_E_RANGE, "at least %.6g N and at most %.6g N contradict each other",
                                 band[i].least, band[i].most),
                         "/limits/thrust/%zu", i);
        if (i > 0 && !(band[i].time > band[i - 1].time))
            return sm_at(
                err, sm_fail(err, SM_E_RANGE, "times must rise; the one before is %.6g s", band[i - 1].time),
                "/limits/thrust/%zu/time", i);
    }
    return SM_OK;
}

static enum sm_status check_wishes(const struct sm_request_wishes *wanted, struct sm_error *err)
{
    const struct sm_size_figure *figures;
    sm_size_figures(&figures);
    for (size_t i = 0; i < SM_N_MEASURES; i++)
        if (!isnan(wanted->of[i].value) && wanted->of[i].aim >= 0)
            return sm_at(err,
                         sm_fail(err, SM_E_FIELD, "it has a \"value\" and an \"aim\"; one of them is enough"),
                         "/wanted/%s/aim", figures[i].name);
    const struct sm_thrust_wish *curve = wanted->thrust.items;
    for (size_t i = 1; i < wanted->thrust.n; i++)
        if (!(curve[i].time > curve[i - 1].time))
            return sm_at(
                err, sm_fail(err, SM_E_RANGE, "times must rise; the one before is %.6g s", curve[i - 1].time),
                "/wanted/thrust/%zu/time", i);
    return SM_OK;
}

enum sm_status sm_request_check(const struct sm_request_spec *spec, struct sm_error *err)
{
    SM_TRY(check_limits(&spec->limits, err));
    SM_TRY(check_wishes(&spec->wanted, err));
    SM_TRY(check_class(spec->limits.impulse_class, "/limits/class", err));
    return check_class(spec->wanted.under_class, "/wanted/under_class", err);
}
