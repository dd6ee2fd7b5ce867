/*
 * The table as a C99 header for small computers: constant arrays and a function that draws lines between them, in floats
 * or in whole numbers.
 *
 * Only what a flight controller needs: time, thrust and one mass. In whole numbers, times and values are counted in the
 * finest decimal unit that leaves the largest below 2^31, so no unit is coarser than a two-hundred-millionth of the range.
 */
#include "base/text.h"
#include "export/export.h"
#include "export/licence.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

/* One array of the header. */
struct series {
    const char *name;       /* "thrust" */
    const char *unit;       /* "N" */
    const char *unit_macro; /* "NEWTON" */
    const double *values;   /* [SI], e->n of them */
    long per_unit;          /* whole numbers: so many are one SI unit */
};

struct header {
    const struct sm_export *e;
    struct series time, thrust, mass; /* mass.values NULL: none */
    char macro[256];                  /* the identifier in capitals */
};

static long choose_scale(const double *values, size_t n)
{
    double largest = 0.0;
    long scale = 1;
    for (size_t i = 0; i < n; i++)
        largest = fmax(largest, values[i]);
    while (scale < 1000000000 && largest * (double)scale * 10.0 < 2147483648.0)
        scale *= 10;
    return scale;
}

static void header_init(struct header *h, const struct sm_export *e)
{
    const enum sm_out mass = e->column[SM_OUT_MOTOR_MASS] ? SM_OUT_MOTOR_MASS : SM_OUT_PROPELLANT_MASS;
    *h = (struct header){
        .e = e,
        .time = {"time", "s", "SECOND", e->column[SM_OUT_TIME], 0},
        .thrust = {"thrust", "N", "NEWTON", e->column[SM_OUT_THRUST], 0},
        .mass = {sm_out_columns[mass].name, "kg", "KILOGRAM", e->column[mass], 0},
    };
    struct series *all[] = {&h->time, &h->thrust, &h->mass};
    for (size_t i = 0; i < SM_COUNT(all) && e->options.fixed_point; i++)
        if (all[i]->values)
            all[i]->per_unit = choose_scale(all[i]->values, e->n);
    for (size_t i = 0; e->identifier[i] != '\0' && i + 1 < sizeof h->macro; i++)
        h->macro[i] = (char)toupper((unsigned char)e->identifier[i]);
}

/* ---- numbers ---- */

/* The shortest decimal that reads back to the same float, with a point or exponent so that it is none of int. */
static const char *float_text(char buf[SM_DOUBLE_TEXT], float value)
{
    for (int digits = 6; digits <= 9; digits++) {
        double back;
        const int n = sm_text_format(buf, SM_DOUBLE_TEXT, "%.*g", digits, (double)value);
        if (sm_text_parse_double(buf, (size_t)n, &back) > 0 && (float)back == value)
            break;
    }
    return strpbrk(buf, ".e") ? buf : strcat(buf, ".0");
}

static enum sm_status put_number(const struct series *s, double value, struct sm_sink *sink,
                                 struct sm_error *err)
{
    char text[SM_DOUBLE_TEXT + 8];
    if (s->per_unit)
        return sm_sink_format(sink, err, "%lldu", llround(value * (double)s->per_unit));
    return sm_sink_format(sink, err, "%sf", float_text(text, (float)value));
}

/* Times that a float or a count can't tell apart are set one step apart. */
static double later(const struct series *s, double value, double last)
{
    if (s->per_unit)
        return fmax(value, last + 1.0 / (double)s->per_unit);
    return fmax((double)(float)value, (double)nextafterf((float)last, 3e38f));
}

static enum sm_status put_array(const struct header *h, const struct series *s, struct sm_sink *sink,
                                struct sm_error *err)
{
    const int is_time = s == &h->time;
    double last = 0.0; /* [SI] */
    if (!s->values)
        return SM_OK;
    SM_TRY(sm_sink_format(sink, err, "\nstatic const %s %s_%s[%s_POINTS] = {",
                          s->per_unit ? "uint32_t" : "float", h->e->identifier, s->name, h->macro));
    for (size_t i = 0; i < h->e->n; i++) {
        const double value = is_time && i > 0 ? later(s, s->values[i], last) : s->values[i];
        SM_TRY(sm_sink_text(sink, i % 8 == 0 ? "\n    " : " ", err));
        SM_TRY(put_number(s, value, sink, err));
        SM_TRY(sm_sink_text(sink, ",", err));
        last = value;
    }
    return sm_sink_text(sink, "\n};\n", err);
}

/* ---- code ---- */

static const char look_up_float[] =
    "\n/* On the lines between points; held before the first and after the last. */\n"
    "static inline float ID_between(const float *values, float t)\n"
    "{\n"
    "    int lo = 0, hi = MACRO_POINTS - 1;\n"
    "    if (!(t > ID_time[lo]))\n"
    "        return values[lo];\n"
    "    if (t >= ID_time[hi])\n"
    "        return values[hi];\n"
    "    while (hi - lo > 1) {\n"
    "        const int middle = (lo + hi) / 2;\n"
    "        if (ID_time[middle] <= t)\n"
    "            lo = middle;\n"
    "        else\n"
    "            hi = middle;\n"
    "    }\n"
    "    return values[lo] + (values[hi] - values[lo]) * ((t - ID_time[lo]) / (ID_time[hi] - ID_time[lo]));\n"
    "}\n";

static const char look_up_whole[] =
    "\n/* On the lines between points; held after the last. */\n"
    "static inline uint32_t ID_between(const uint32_t *values, uint32_t t)\n"
    "{\n"
    "    int lo = 0, hi = MACRO_POINTS - 1;\n"
    "    if (t >= ID_time[hi])\n"
    "        return values[hi];\n"
    "    while (hi - lo > 1) {\n"
    "        const int middle = (lo + hi) / 2;\n"
    "        if (ID_time[middle] <= t)\n"
    "            lo = middle;\n"
    "        else\n"
    "            hi = middle;\n"
    "    }\n"
    "    const int64_t rise = (int64_t)values[hi] - values[lo];\n"
    "    return (uint32_t)(values[lo] + rise * (t - ID_time[lo]) / (ID_time[hi] - ID_time[lo]));\n"
    "}\n";

/* A text with ID and MACRO replaced. */
static enum sm_status put_code(const struct header *h, const char *text, struct sm_sink *sink,
                               struct sm_error *err)
{
    while (*text != '\0') {
        const char *id = strstr(text, "ID_"), *macro = strstr(text, "MACRO_");
        const char *next = !id || (macro && macro < id) ? macro : id;
        if (!next)
            return sm_sink_text(sink, text, err);
        SM_TRY(sm_sink_bytes(sink, text, (size_t)(next - text), err));
        SM_TRY(sm_sink_text(sink, next == id ? h->e->identifier : h->macro, err));
        text = next + (next == id ? strlen("ID") : strlen("MACRO"));
    }
    return SM_OK;
}

static enum sm_status put_getter(const struct header *h, const struct series *s, struct sm_sink *sink,
                                 struct sm_error *err)
{
    const char *type = h->time.per_unit ? "uint32_t" : "float", *id = h->e->identifier;
    if (!s->values)
        return SM_OK;
    SM_TRY(sm_sink_format(sink, err, "\nstatic inline %s %s_%s_at(%s t)\n", type, id, s->name, type));
    return sm_sink_format(sink, err, "{\n    return %s_between(%s_%s, t);\n}\n", id, id, s->name);
}

/* ---- comments ---- */

/* A fact in a comment, which nothing in it can end. */
static enum sm_status put_fact(const struct sm_fact *fact, struct sm_sink *sink, struct sm_error *err)
{
    char line[SM_FACT_TEXT];
    sm_fact_line(fact, line);
    for (char *c = strstr(line, "*/"); c; c = strstr(line, "*/"))
        c[1] = '|';
    return sm_sink_format(sink, err, " * %s\n", line);
}

static enum sm_status put_unit(const struct header *h, const struct series *s, struct sm_sink *sink,
                               struct sm_error *err)
{
    if (!s->values)
        return SM_OK;
    if (!s->per_unit)
        return sm_sink_format(sink, err, " * %s_%s [%s]\n", h->e->identifier, s->name, s->unit);
    return sm_sink_format(sink, err, " * %s_%s in 1/%ld %s\n", h->e->identifier, s->name, s->per_unit,
                          s->unit);
}

static enum sm_status put_comment(const struct header *h, struct sm_sink *sink, struct sm_error *err)
{
    const size_t n_arrays = h->mass.values ? 3 : 2;
    SM_TRY(sm_sink_text(sink, "/*\n", err));
    for (size_t i = 0; i < h->e->n_facts; i++)
        SM_TRY(put_fact(&h->e->facts[i], sink, err));
    SM_TRY(sm_sink_text(sink, " *\n", err));
    SM_TRY(put_unit(h, &h->time, sink, err));
    SM_TRY(put_unit(h, &h->thrust, sink, err));
    SM_TRY(put_unit(h, &h->mass, sink, err));
    SM_TRY(
        sm_sink_format(sink, err,
                       " * Time is since the ignition command; thrust holds at the ambient pressure above.\n"
                       " * The arrays take %zu bytes.\n *\n",
                       4 * n_arrays * h->e->n));
    for (const char *line = SM_LICENCE_0BSD; *line != '\0';) {
        const size_t n = strcspn(line, "\n");
        SM_TRY(sm_sink_format(sink, err, n > 0 ? " * %.*s\n" : " *%.*s\n", (int)n, line));
        line += n + 1;
    }
    return sm_sink_text(sink, " */\n", err);
}

static enum sm_status put_macros(const struct header *h, struct sm_sink *sink, struct sm_error *err)
{
    const struct series *all[] = {&h->time, &h->thrust, &h->mass};
    SM_TRY(sm_sink_format(sink, err, "#ifndef %s_CURVE_H\n#define %s_CURVE_H\n\n", h->macro, h->macro));
    if (h->time.per_unit)
        SM_TRY(sm_sink_text(sink, "#include <stdint.h>\n\n", err));
    SM_TRY(sm_sink_format(sink, err, "#define %s_POINTS %zu\n", h->macro, h->e->n));
    for (size_t i = 0; i < SM_COUNT(all); i++)
        if (all[i]->per_unit)
            SM_TRY(sm_sink_format(sink, err, "#define %s_PER_%s %ldu\n", h->macro, all[i]->unit_macro,
                                  all[i]->per_unit));
    return SM_OK;
}

static enum sm_status write(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err)
{
    struct header h;
    header_init(&h, e);
    SM_TRY(put_comment(&h, sink, err));
    SM_TRY(put_macros(&h, sink, err));
    SM_TRY(put_array(&h, &h.time, sink, err));
    SM_TRY(put_array(&h, &h.thrust, sink, err));
    SM_TRY(put_array(&h, &h.mass, sink, err));
    SM_TRY(put_code(&h, h.time.per_unit ? look_up_whole : look_up_float, sink, err));
    SM_TRY(put_getter(&h, &h.thrust, sink, err));
    SM_TRY(put_getter(&h, &h.mass, sink, err));
    return sm_sink_text(sink, "\n#endif\n", err);
}

const struct sm_format sm_format_c_header = {
    .name = "c-header",
    .summary = "C99 header with constant arrays and a look-up, for flight controllers; 64 points unless told",
    .ending = ".h",
    .usual_points = 64,
    .write = write,
};
