#if !defined(FMI2_OVERRIDE_FUNCTION_PREFIX)
#define FMI2_FUNCTION_PREFIX slowmatch_motor_
#endif
#include "fmi2Functions.h"
/*
 * A solid motor as a co-simulation unit of the Functional Mock-up Interface 2.0: its table stands in resources/motor.tab.
 *
 * Permission to use, copy, modify, and/or distribute this software for any purpose with or without fee is hereby granted.
 *
 * THE SOFTWARE IS PROVIDED "AS IS" AND THE AUTHOR DISCLAIMS ALL WARRANTIES WITH REGARD TO THIS SOFTWARE INCLUDING ALL
 * IMPLIED WARRANTIES OF MERCHANTABILITY AND FITNESS. IN NO EVENT SHALL THE AUTHOR BE LIABLE FOR ANY SPECIAL, DIRECT,
 * INDIRECT, OR CONSEQUENTIAL DAMAGES OR ANY DAMAGES WHATSOEVER RESULTING FROM LOSS OF USE, DATA OR PROFITS, WHETHER IN AN
 * ACTION OF CONTRACT, NEGLIGENCE OR OTHER TORTIOUS ACTION, ARISING OUT OF OR IN CONNECTION WITH THE USE OR PERFORMANCE OF
 * THIS SOFTWARE.
 *
 * The file: "SMMOTOR1"; the unit's guid, 38 letters; two zeros; three whole numbers of 32 bits, rows n, ambient pressures m,
 * and a bit for each further column that there is; then doubles: the m pressures, n times, n thrusts at each pressure, n of
 * each further column. All little-endian, so that neither the machine nor a locale's decimal comma matters.
 *
 * Ignition is latched at the start of the first step during which it is true, and can't be taken back. Outputs are those at
 * the end of a step, with the ambient pressure that held during it. Impulse is the exact integral of the straight lines
 * over each step, however long. A time scale stretches time and divides thrust and flow, so that impulse and mass stay; a
 * thrust scale acts on thrust and impulse alone.
 */
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Further columns, in the order of the file. */
enum {
    MASS_FLOW,
    PRESSURE,
    PROPELLANT_MASS,
    CENTER_OF_MASS,
    INERTIA_AXIAL,
    INERTIA_TRANSVERSE,
    MOTOR_MASS,
    MOTOR_CENTER_OF_MASS,
    MOTOR_INERTIA_AXIAL,
    MOTOR_INERTIA_TRANSVERSE,
    N_FURTHER
};

/* Value references: those of the further columns follow one another from FURTHER on. */
enum {
    TIME = 0,
    AMBIENT = 1,
    IGNITION = 2,
    THRUST = 10,
    IMPULSE = 11,
    FURTHER = 12,
    BURNING = 30,
    THRUST_SCALE = 40,
    TIME_SCALE = 41
};

enum { GUID = 38, HEAD = 8 + GUID + 2 + 12, MAX_AMBIENT = 64, MAX_ROWS = 10000000 };

struct table {
    char guid[GUID + 1];
    size_t n, m;
    double *room;                     /* all of it [1] */
    const double *ambient;            /* rising [Pa] */
    const double *time;               /* strictly rising [s] */
    const double *thrust;             /* n at each pressure [N] */
    double *impulse;                  /* since ignition, n at each pressure [N s] */
    const double *further[N_FURTHER]; /* [SI]; NULL: the motor has no such thing */
};

enum mode { INSTANTIATED, INITIALIZING, STEPPING, TERMINATED };

/* All that changes; no pointers, so that a copy is a state. */
struct state {
    enum mode mode;
    int ignition; /* the input */
    int is_ignited;
    int has_stop;
    int burning;
    double ambient;            /* the input [Pa] */
    double thrust_scale;       /* [1] */
    double time_scale;         /* [1] */
    double start, stop;        /* [s] */
    double time;               /* [s] */
    double ignited_at;         /* [s] */
    double thrust;             /* [N] */
    double impulse;            /* [N s] */
    double further[N_FURTHER]; /* [SI] */
};

struct unit {
    struct table table;
    struct state state;
    char *name;
    fmi2CallbackFunctions callbacks;
};

static const char tag[8] = {'S', 'M', 'S', 'T', 'A', 'T', 'E', '1'};

/* ---- faults ---- */

static void say(const fmi2CallbackFunctions *callbacks, const char *name, const char *message)
{
    if (callbacks && callbacks->logger)
        callbacks->logger(callbacks->componentEnvironment, name, fmi2Error, "logStatusError", "%s", message);
}

static fmi2Status fail(const struct unit *u, const char *message)
{
    say(&u->callbacks, u->name, message);
    return fmi2Error;
}

/* ---- the table ---- */

static uint32_t whole(const unsigned char *bytes)
{
    return (uint32_t)bytes[0] | (uint32_t)bytes[1] << 8 | (uint32_t)bytes[2] << 16 | (uint32_t)bytes[3] << 24;
}

static void take_double(const unsigned char *bytes, double *value)
{
    const uint64_t bits = (uint64_t)whole(bytes) | (uint64_t)whole(bytes + 4) << 32;
    memcpy(value, &bits, sizeof bits);
}

static int hexadecimal(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    if (c >= 'a' && c <= 'f')
        return c - 'a' + 10;
    return c >= 'A' && c <= 'F' ? c - 'A' + 10 : -1;
}

/* The path in file:///path, file:/path, file://host/path or path, percents decoded, and the table's name behind it. */
static char *table_path(const char *location)
{
    static const char name[] = "/motor.tab";
    char *path = malloc(strlen(location) + sizeof name), *to = path;
    if (!path)
        return NULL;
    if (strncmp(location, "file:", 5) == 0) {
        location += 5;
        if (strncmp(location, "//", 2) == 0) {
            location += 2;
            while (*location != '\0' && *location != '/')
                location++;
        }
        for (; *location != '\0'; location++) {
            const int high = *location == '%' ? hexadecimal(location[1]) : -1;
            const int low = high >= 0 ? hexadecimal(location[2]) : -1;
            *to++ = low >= 0 ? (char)(16 * high + low) : *location;
            location += low >= 0 ? 2 : 0;
        }
    } else {
        while (*location != '\0')
            *to++ = *location++;
    }
    while (to > path + 1 && to[-1] == '/')
        to--;
    strcpy(to, name);
    return path;
}

/* Cumulative impulse at the knots, the sum of the trapezoids. */
static void integrate(struct table *t)
{
    for (size_t k = 0; k < t->m; k++) {
        const double *f = t->thrust + k * t->n;
        double *j = t->impulse + k * t->n;
        j[0] = 0.0;
        for (size_t i = 1; i < t->n; i++)
            j[i] = j[i - 1] + 0.5 * (f[i] + f[i - 1]) * (t->time[i] - t->time[i - 1]);
    }
}

static int is_sound(const struct table *t, size_t n_doubles)
{
    for (size_t i = 0; i < n_doubles; i++)
        if (!(t->room[i] - t->room[i] == 0.0)) /* NaN or infinite */
            return 0;
    for (size_t i = 1; i < t->n; i++)
        if (!(t->time[i] > t->time[i - 1]))
            return 0;
    for (size_t k = 1; k < t->m; k++)
        if (!(t->ambient[k] > t->ambient[k - 1]))
            return 0;
    return 1;
}

/* Puts the columns in their places. */
static void lay_out(struct table *t, uint32_t columns)
{
    const double *next = t->room;
    t->ambient = next;
    t->time = next += t->m;
    t->thrust = next += t->n;
    next += t->n * t->m;
    for (int c = 0; c < N_FURTHER; c++)
        if (columns >> c & 1u) {
            t->further[c] = next;
            next += t->n;
        }
}

static const char *read_doubles(FILE *file, struct table *t, uint32_t columns)
{
    unsigned char bytes[8];
    size_t n_further = 0;
    for (int c = 0; c < N_FURTHER; c++)
        n_further += columns >> c & 1u;
    const size_t n = t->m + t->n * (1 + t->m + n_further);
    t->room = malloc((n + t->n * t->m) * sizeof *t->room);
    if (!t->room)
        return "out of memory";
    for (size_t i = 0; i < n; i++) {
        if (fread(bytes, 1, sizeof bytes, file) != sizeof bytes)
            return "resources/motor.tab is too short";
        take_double(bytes, &t->room[i]);
    }
    t->impulse = t->room + n;
    lay_out(t, columns);
    if (!is_sound(t, n))
        return "resources/motor.tab holds no sound table";
    integrate(t);
    return NULL;
}

/* NULL, or what is wrong. */
static const char *read_table(FILE *file, struct table *t)
{
    unsigned char head[HEAD];
    if (fread(head, 1, sizeof head, file) != sizeof head || memcmp(head, "SMMOTOR1", 8) != 0)
        return "resources/motor.tab is no table of this unit";
    memcpy(t->guid, head + 8, GUID);
    t->n = whole(head + 8 + GUID + 2);
    t->m = whole(head + 8 + GUID + 6);
    if (t->n < 2 || t->n > MAX_ROWS || t->m < 1 || t->m > MAX_AMBIENT)
        return "resources/motor.tab holds no sound table";
    return read_doubles(file, t, whole(head + 8 + GUID + 10));
}

static const char *load_table(const char *location, struct table *t)
{
    char *path = location ? table_path(location) : NULL;
    FILE *file = path ? fopen(path, "rb") : NULL;
    free(path);
    if (!file)
        return "can't open resources/motor.tab: is resourceLocation a file URI?";
    const char *fault = read_table(file, t);
    fclose(file);
    return fault;
}

/* ---- looking up ---- */

/* The interval that holds x, of n - 1 between rising values; the first or last beyond the ends. */
static size_t interval(const double *values, size_t n, double x)
{
    size_t low = 0, high = n - 1;
    while (high - low > 1) {
        const size_t middle = low + (high - low) / 2;
        if (values[middle] <= x)
            low = middle;
        else
            high = middle;
    }
    return low;
}

/* On the line between knots i and i + 1; the knots' own values at and beyond them. */
static double line(const double *x, const double *y, size_t i, double at)
{
    if (at <= x[i])
        return y[i];
    if (at >= x[i + 1])
        return y[i + 1];
    return y[i] + (y[i + 1] - y[i]) * ((at - x[i]) / (x[i + 1] - x[i]));
}

static double thrust_at_knot(const struct table *t, size_t k, size_t i, double at)
{
    return line(t->time, t->thrust + k * t->n, i, at);
}

/* Since ignition, exact for the straight lines. */
static double impulse_at_knot(const struct table *t, size_t k, size_t i, double at)
{
    const double *f = t->thrust + k * t->n, *j = t->impulse + k * t->n;
    if (at <= t->time[i])
        return j[i];
    if (at >= t->time[i + 1])
        return j[i + 1];
    return j[i] + 0.5 * (f[i] + thrust_at_knot(t, k, i, at)) * (at - t->time[i]);
}

/* Between the pressures of the table, held beyond them. */
static double by_ambient(const struct table *t, double ambient, double at,
                         double (*value)(const struct table *, size_t, size_t, double))
{
    const size_t i = interval(t->time, t->n, at);
    if (t->m == 1 || ambient <= t->ambient[0])
        return value(t, 0, i, at);
    if (ambient >= t->ambient[t->m - 1])
        return value(t, t->m - 1, i, at);
    const size_t k = interval(t->ambient, t->m, ambient);
    const double low = value(t, k, i, at);
    if (ambient == t->ambient[k])
        return low;
    return low +
           (value(t, k + 1, i, at) - low) * ((ambient - t->ambient[k]) / (t->ambient[k + 1] - t->ambient[k]));
}

/* ---- the motor ---- */

static double table_time(const struct state *s, double time)
{
    return (time - s->ignited_at) / s->time_scale;
}

static void set_outputs(const struct table *t, struct state *s)
{
    const double at = s->is_ignited ? table_time(s, s->time) : t->time[0];
    const size_t i = interval(t->time, t->n, at);
    s->burning = s->is_ignited && at < t->time[t->n - 1];
    s->thrust =
        s->burning ? s->thrust_scale * by_ambient(t, s->ambient, at, thrust_at_knot) / s->time_scale : 0.0;
    for (int c = 0; c < N_FURTHER; c++)
        if (t->further[c])
            s->further[c] = line(t->time, t->further[c], i, at);
    s->further[MASS_FLOW] = s->burning ? s->further[MASS_FLOW] / s->time_scale : 0.0;
    if (!s->burning)
        s->further[PRESSURE] = s->ambient;
}

static void start_values(const struct table *t, struct state *s)
{
    memset(s, 0, sizeof *s);
    s->mode = INSTANTIATED;
    s->ambient = 101325.0;
    s->thrust_scale = s->time_scale = 1.0;
    set_outputs(t, s);
}

static void step(const struct table *t, struct state *s, double from, double to)
{
    if (s->ignition && !s->is_ignited) {
        s->is_ignited = 1;
        s->ignited_at = from;
    }
    s->time = to;
    if (s->is_ignited)
        s->impulse += s->thrust_scale * (by_ambient(t, s->ambient, table_time(s, to), impulse_at_knot) -
                                         by_ambient(t, s->ambient, table_time(s, from), impulse_at_knot));
    set_outputs(t, s);
}

/* ---- life of a unit ---- */

const char *fmi2GetTypesPlatform(void)
{
    return "default";
}

const char *fmi2GetVersion(void)
{
    return "2.0";
}

fmi2Status fmi2SetDebugLogging(fmi2Component c, fmi2Boolean on, size_t n, const fmi2String categories[])
{
    (void)c, (void)on, (void)n, (void)categories; /* only errors are said, and always */
    return fmi2OK;
}

fmi2Component fmi2Instantiate(fmi2String name, fmi2Type type, fmi2String guid, fmi2String location,
                              const fmi2CallbackFunctions *callbacks, fmi2Boolean visible,
                              fmi2Boolean logging)
{
    const char *fault = NULL;
    struct unit *u = calloc(1, sizeof *u);
    (void)visible, (void)logging;
    if (!u)
        return NULL;
    if (!name || name[0] == '\0')
        fault = "the instance has no name";
    else if (type != fmi2CoSimulation)
        fault = "this unit is for co-simulation only";
    else
        fault = load_table(location, &u->table);
    if (!fault && (!guid || strcmp(guid, u->table.guid) != 0))
        fault = "the guid is not that of this unit's table";
    u->name = fault ? NULL : malloc(strlen(name) + 1);
    if (!fault && !u->name)
        fault = "out of memory";
    if (fault) {
        say(callbacks, name ? name : "", fault);
        fmi2FreeInstance(u);
        return NULL;
    }
    strcpy(u->name, name);
    if (callbacks)
        u->callbacks = *callbacks;
    start_values(&u->table, &u->state);
    return u;
}

void fmi2FreeInstance(fmi2Component c)
{
    struct unit *u = c;
    if (!u)
        return;
    free(u->table.room);
    free(u->name);
    free(u);
}

fmi2Status fmi2SetupExperiment(fmi2Component c, fmi2Boolean tolerance_defined, fmi2Real tolerance,
                               fmi2Real start, fmi2Boolean stop_defined, fmi2Real stop)
{
    struct unit *u = c;
    (void)tolerance_defined, (void)tolerance; /* the table is exact whatever is asked for */
    if (u->state.mode != INSTANTIATED)
        return fail(u, "fmi2SetupExperiment comes before initialization");
    u->state.start = u->state.time = start;
    u->state.has_stop = stop_defined != fmi2False;
    u->state.stop = stop;
    return fmi2OK;
}

static fmi2Status change(struct unit *u, enum mode from, enum mode to, const char *fault)
{
    if (u->state.mode != from)
        return fail(u, fault);
    u->state.mode = to;
    set_outputs(&u->table, &u->state);
    return fmi2OK;
}

fmi2Status fmi2EnterInitializationMode(fmi2Component c)
{
    return change(c, INSTANTIATED, INITIALIZING,
                  "fmi2EnterInitializationMode comes once, after fmi2Instantiate");
}

fmi2Status fmi2ExitInitializationMode(fmi2Component c)
{
    return change(c, INITIALIZING, STEPPING,
                  "fmi2ExitInitializationMode comes after fmi2EnterInitializationMode");
}

fmi2Status fmi2Terminate(fmi2Component c)
{
    return change(c, STEPPING, TERMINATED, "fmi2Terminate comes after initialization");
}

fmi2Status fmi2Reset(fmi2Component c)
{
    struct unit *u = c;
    start_values(&u->table, &u->state);
    return fmi2OK;
}

/* ---- values ---- */

static int get_real(const struct unit *u, fmi2ValueReference vr, double *value)
{
    const struct state *s = &u->state;
    switch (vr) {
    case TIME:
        *value = s->time;
        return 1;
    case AMBIENT:
        *value = s->ambient;
        return 1;
    case THRUST:
        *value = s->thrust;
        return 1;
    case IMPULSE:
        *value = s->impulse;
        return 1;
    case THRUST_SCALE:
        *value = s->thrust_scale;
        return 1;
    case TIME_SCALE:
        *value = s->time_scale;
        return 1;
    default:
        if (vr < FURTHER || vr >= FURTHER + N_FURTHER || !u->table.further[vr - FURTHER])
            return 0;
        *value = s->further[vr - FURTHER];
        return 1;
    }
}

fmi2Status fmi2GetReal(fmi2Component c, const fmi2ValueReference vr[], size_t n, fmi2Real value[])
{
    struct unit *u = c;
    if (u->state.mode == INITIALIZING)
        set_outputs(&u->table, &u->state);
    for (size_t i = 0; i < n; i++)
        if (!get_real(u, vr[i], &value[i]))
            return fail(u, "fmi2GetReal: there is no such Real variable");
    return fmi2OK;
}

fmi2Status fmi2GetBoolean(fmi2Component c, const fmi2ValueReference vr[], size_t n, fmi2Boolean value[])
{
    const struct unit *u = c;
    for (size_t i = 0; i < n; i++) {
        if (vr[i] != IGNITION && vr[i] != BURNING)
            return fail(u, "fmi2GetBoolean: there is no such Boolean variable");
        value[i] = (vr[i] == IGNITION ? u->state.ignition : u->state.burning) ? fmi2True : fmi2False;
    }
    return fmi2OK;
}

static fmi2Status none_of(fmi2Component c, size_t n, const char *fault)
{
    return n == 0 ? fmi2OK : fail(c, fault);
}

fmi2Status fmi2GetInteger(fmi2Component c, const fmi2ValueReference vr[], size_t n, fmi2Integer value[])
{
    (void)vr, (void)value;
    return none_of(c, n, "fmi2GetInteger: there are no Integer variables");
}

fmi2Status fmi2GetString(fmi2Component c, const fmi2ValueReference vr[], size_t n, fmi2String value[])
{
    (void)vr, (void)value;
    return none_of(c, n, "fmi2GetString: there are no String variables");
}

static fmi2Status set_real(struct unit *u, fmi2ValueReference vr, double value)
{
    struct state *s = &u->state;
    if (!(value - value == 0.0))
        return fail(u, "fmi2SetReal: a value must be a finite number");
    if (vr == AMBIENT) {
        if (s->mode != INITIALIZING && s->mode != STEPPING)
            return fail(u, "fmi2SetReal: ambient_pressure is an input, set from initialization on");
        if (value < 0.0)
            return fail(u, "fmi2SetReal: ambient_pressure can't be below zero");
        s->ambient = value;
        return fmi2OK;
    }
    if (vr != THRUST_SCALE && vr != TIME_SCALE)
        return fail(u, "fmi2SetReal: there is no such Real input or parameter");
    if (s->mode != INSTANTIATED && s->mode != INITIALIZING)
        return fail(u, "fmi2SetReal: parameters are fixed once initialization has ended");
    if (value < 0.0 || (vr == TIME_SCALE && value == 0.0))
        return fail(u, "fmi2SetReal: thrust_scale can't be below zero, time_scale must be above it");
    *(vr == THRUST_SCALE ? &s->thrust_scale : &s->time_scale) = value;
    return fmi2OK;
}

fmi2Status fmi2SetReal(fmi2Component c, const fmi2ValueReference vr[], size_t n, const fmi2Real value[])
{
    for (size_t i = 0; i < n; i++)
        if (set_real(c, vr[i], value[i]) != fmi2OK)
            return fmi2Error;
    return fmi2OK;
}

fmi2Status fmi2SetBoolean(fmi2Component c, const fmi2ValueReference vr[], size_t n, const fmi2Boolean value[])
{
    struct unit *u = c;
    for (size_t i = 0; i < n; i++) {
        if (vr[i] != IGNITION)
            return fail(u, "fmi2SetBoolean: there is no such Boolean input");
        if (u->state.mode != INITIALIZING && u->state.mode != STEPPING)
            return fail(u, "fmi2SetBoolean: ignition is an input, set from initialization on");
        u->state.ignition = value[i] != fmi2False;
    }
    return fmi2OK;
}

fmi2Status fmi2SetInteger(fmi2Component c, const fmi2ValueReference vr[], size_t n, const fmi2Integer value[])
{
    (void)vr, (void)value;
    return none_of(c, n, "fmi2SetInteger: there are no Integer variables");
}

fmi2Status fmi2SetString(fmi2Component c, const fmi2ValueReference vr[], size_t n, const fmi2String value[])
{
    (void)vr, (void)value;
    return none_of(c, n, "fmi2SetString: there are no String variables");
}

/* ---- state ---- */

fmi2Status fmi2GetFMUstate(fmi2Component c, fmi2FMUstate *state)
{
    const struct unit *u = c;
    if (!*state)
        *state = malloc(sizeof u->state);
    if (!*state)
        return fail(u, "out of memory");
    memcpy(*state, &u->state, sizeof u->state);
    return fmi2OK;
}

fmi2Status fmi2SetFMUstate(fmi2Component c, fmi2FMUstate state)
{
    struct unit *u = c;
    if (!state)
        return fail(u, "fmi2SetFMUstate: there is no state");
    memcpy(&u->state, state, sizeof u->state);
    return fmi2OK;
}

fmi2Status fmi2FreeFMUstate(fmi2Component c, fmi2FMUstate *state)
{
    (void)c;
    if (state) {
        free(*state);
        *state = NULL;
    }
    return fmi2OK;
}

fmi2Status fmi2SerializedFMUstateSize(fmi2Component c, fmi2FMUstate state, size_t *size)
{
    (void)c, (void)state;
    *size = sizeof tag + GUID + sizeof(struct state);
    return fmi2OK;
}

fmi2Status fmi2SerializeFMUstate(fmi2Component c, fmi2FMUstate state, fmi2Byte bytes[], size_t size)
{
    const struct unit *u = c;
    if (!state || size < sizeof tag + GUID + sizeof u->state)
        return fail(u, "fmi2SerializeFMUstate: no state, or too little room for it");
    memcpy(bytes, tag, sizeof tag);
    memcpy(bytes + sizeof tag, u->table.guid, GUID);
    memcpy(bytes + sizeof tag + GUID, state, sizeof u->state);
    return fmi2OK;
}

fmi2Status fmi2DeSerializeFMUstate(fmi2Component c, const fmi2Byte bytes[], size_t size, fmi2FMUstate *state)
{
    const struct unit *u = c;
    if (size < sizeof tag + GUID + sizeof u->state || memcmp(bytes, tag, sizeof tag) != 0 ||
        memcmp(bytes + sizeof tag, u->table.guid, GUID) != 0)
        return fail(u, "fmi2DeSerializeFMUstate: these bytes are no state of this unit");
    if (!*state)
        *state = malloc(sizeof u->state);
    if (!*state)
        return fail(u, "out of memory");
    memcpy(*state, bytes + sizeof tag + GUID, sizeof u->state);
    return fmi2OK;
}

/* ---- stepping ---- */

fmi2Status fmi2DoStep(fmi2Component c, fmi2Real point, fmi2Real size, fmi2Boolean no_return)
{
    struct unit *u = c;
    const double end = point + size;
    (void)no_return;
    if (u->state.mode != STEPPING)
        return fail(u, "fmi2DoStep comes after initialization and before fmi2Terminate");
    if (!(size > 0.0) || !(end - end == 0.0))
        return fail(u, "fmi2DoStep: a step must be longer than zero, and end at a finite time");
    if (u->state.has_stop && end > u->state.stop) {
        const double reach = u->state.stop - u->state.start, rounding = 1e-9 * (reach > size ? reach : size);
        if (end - u->state.stop > rounding)
            return fail(u, "fmi2DoStep: the step ends past the stop time");
    }
    step(&u->table, &u->state, point, end);
    return fmi2OK;
}

fmi2Status fmi2CancelStep(fmi2Component c)
{
    return fail(c, "fmi2CancelStep: no step is ever pending");
}

fmi2Status fmi2GetDirectionalDerivative(fmi2Component c, const fmi2ValueReference unknown[], size_t n_unknown,
                                        const fmi2ValueReference known[], size_t n_known,
                                        const fmi2Real along[], fmi2Real out[])
{
    (void)unknown, (void)n_unknown, (void)known, (void)n_known, (void)along, (void)out;
    return fail(c, "fmi2GetDirectionalDerivative is not offered");
}

fmi2Status fmi2SetRealInputDerivatives(fmi2Component c, const fmi2ValueReference vr[], size_t n,
                                       const fmi2Integer order[], const fmi2Real value[])
{
    (void)vr, (void)n, (void)order, (void)value;
    return fail(c, "fmi2SetRealInputDerivatives is not offered");
}

fmi2Status fmi2GetRealOutputDerivatives(fmi2Component c, const fmi2ValueReference vr[], size_t n,
                                        const fmi2Integer order[], fmi2Real value[])
{
    (void)vr, (void)n, (void)order, (void)value;
    return fail(c, "fmi2GetRealOutputDerivatives is not offered");
}

fmi2Status fmi2GetStatus(fmi2Component c, const fmi2StatusKind kind, fmi2Status *value)
{
    (void)c, (void)kind, (void)value;
    return fmi2Discard;
}

fmi2Status fmi2GetRealStatus(fmi2Component c, const fmi2StatusKind kind, fmi2Real *value)
{
    const struct unit *u = c;
    if (kind != fmi2LastSuccessfulTime)
        return fmi2Discard;
    *value = u->state.time;
    return fmi2OK;
}

fmi2Status fmi2GetIntegerStatus(fmi2Component c, const fmi2StatusKind kind, fmi2Integer *value)
{
    (void)c, (void)kind, (void)value;
    return fmi2Discard;
}

fmi2Status fmi2GetBooleanStatus(fmi2Component c, const fmi2StatusKind kind, fmi2Boolean *value)
{
    (void)c;
    if (kind != fmi2Terminated)
        return fmi2Discard;
    *value = fmi2False;
    return fmi2OK;
}

fmi2Status fmi2GetStringStatus(fmi2Component c, const fmi2StatusKind kind, fmi2String *value)
{
    (void)c, (void)kind, (void)value;
    return fmi2Discard;
}
