/*
 * A master that knows of a unit only what the Functional Mock-up Interface 2.0 says: loads it, puts it through its states,
 * and steps it with fixed, tiny, huge and varying steps.
 *
 *     master LIBRARY RESOURCES GUID REFERENCE... < TIMES
 *
 * Reads the times of the unit's table and prints the Real values of the references at each, reached in one step. What must
 * hold for any unit of the kind is checked here; a failed check is said, and the master ends with 1.
 *
 * Reference: FMI 2.0.5, sections 2.1 and 4.2.
 */
#include <dlfcn.h>
#include <math.h>
#include <pthread.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { OK = 0, ERROR = 3, CO_SIMULATION = 1, LAST_TIME = 2, MAX_REFERENCES = 32, MAX_TIMES = 100000 };
enum {
    AMBIENT = 1,
    IGNITION = 2,
    THRUST = 10,
    IMPULSE = 11,
    MASS_FLOW = 12,
    BURNING = 30,
    THRUST_SCALE = 40,
    TIME_SCALE = 41
};

struct callbacks {
    void (*logger)(void *, const char *, int, const char *, const char *, ...);
    void *(*allocate)(size_t, size_t);
    void (*release)(void *);
    void (*step_finished)(void *, int);
    void *environment;
};

static struct {
    const char *(*types)(void);
    const char *(*version)(void);
    void *(*instantiate)(const char *, int, const char *, const char *, const struct callbacks *, int, int);
    void (*free_instance)(void *);
    int (*setup)(void *, int, double, double, int, double);
    int (*enter)(void *);
    int (*leave)(void *);
    int (*terminate)(void *);
    int (*reset)(void *);
    int (*get_real)(void *, const unsigned *, size_t, double *);
    int (*get_boolean)(void *, const unsigned *, size_t, int *);
    int (*set_real)(void *, const unsigned *, size_t, const double *);
    int (*set_boolean)(void *, const unsigned *, size_t, const int *);
    int (*get_state)(void *, void **);
    int (*set_state)(void *, void *);
    int (*free_state)(void *, void **);
    int (*size_of_state)(void *, void *, size_t *);
    int (*serialize)(void *, void *, char *, size_t);
    int (*deserialize)(void *, const char *, size_t, void **);
    int (*step)(void *, double, double, int);
    int (*real_status)(void *, int, double *);
    int (*get_integer)(void *, const unsigned *, size_t, int *);
    int (*get_string)(void *, const unsigned *, size_t, const char **);
    int (*set_integer)(void *, const unsigned *, size_t, const int *);
    int (*set_string)(void *, const unsigned *, size_t, const char *const *);
    int (*cancel)(void *);
    int (*directional)(void *, const unsigned *, size_t, const unsigned *, size_t, const double *, double *);
    int (*set_slopes)(void *, const unsigned *, size_t, const int *, const double *);
    int (*get_slopes)(void *, const unsigned *, size_t, const int *, double *);
} fmi;

static const struct {
    const char *name;
    void *place;
} names[] = {
    {"fmi2GetTypesPlatform", &fmi.types},
    {"fmi2GetVersion", &fmi.version},
    {"fmi2Instantiate", &fmi.instantiate},
    {"fmi2FreeInstance", &fmi.free_instance},
    {"fmi2SetupExperiment", &fmi.setup},
    {"fmi2EnterInitializationMode", &fmi.enter},
    {"fmi2ExitInitializationMode", &fmi.leave},
    {"fmi2Terminate", &fmi.terminate},
    {"fmi2Reset", &fmi.reset},
    {"fmi2GetReal", &fmi.get_real},
    {"fmi2GetBoolean", &fmi.get_boolean},
    {"fmi2SetReal", &fmi.set_real},
    {"fmi2SetBoolean", &fmi.set_boolean},
    {"fmi2GetFMUstate", &fmi.get_state},
    {"fmi2SetFMUstate", &fmi.set_state},
    {"fmi2FreeFMUstate", &fmi.free_state},
    {"fmi2SerializedFMUstateSize", &fmi.size_of_state},
    {"fmi2SerializeFMUstate", &fmi.serialize},
    {"fmi2DeSerializeFMUstate", &fmi.deserialize},
    {"fmi2DoStep", &fmi.step},
    {"fmi2GetRealStatus", &fmi.real_status},
    {"fmi2GetInteger", &fmi.get_integer},
    {"fmi2GetString", &fmi.get_string},
    {"fmi2SetInteger", &fmi.set_integer},
    {"fmi2SetString", &fmi.set_string},
    {"fmi2CancelStep", &fmi.cancel},
    {"fmi2GetDirectionalDerivative", &fmi.directional},
    {"fmi2SetRealInputDerivatives", &fmi.set_slopes},
    {"fmi2GetRealOutputDerivatives", &fmi.get_slopes},
};

static int n_failed, n_logged;
static const char *resources, *guid;

static void must(int holds, const char *what)
{
    if (holds)
        return;
    fprintf(stderr, "FAILED: %s\n", what);
    n_failed++;
}

static void logger(void *environment, const char *instance, int status, const char *category,
                   const char *format, ...)
{
    char text[512];
    va_list args;
    (void)environment;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    must(instance && category && status == ERROR && strcmp(category, "logStatusError") == 0 &&
             text[0] != '\0',
         "a sound log");
    n_logged++;
}

static const struct callbacks callbacks = {logger, calloc, free, NULL, NULL};

/* ---- helpers ---- */

static void *start(double begin, int has_stop, double stop)
{
    struct callbacks borrowed = callbacks; /* holds during the call only */
    void *c = fmi.instantiate("motor", CO_SIMULATION, guid, resources, &borrowed, 0, 0);
    memset(&borrowed, 0, sizeof borrowed);
    if (!c) {
        fprintf(stderr, "FAILED: no instance\n");
        exit(1);
    }
    must(fmi.setup(c, 0, 0.0, begin, has_stop, stop) == OK, "setup");
    return c;
}

static void begin(void *c)
{
    must(fmi.enter(c) == OK && fmi.leave(c) == OK, "initialization");
}

static double real(void *c, unsigned reference)
{
    double value = -1e300;
    must(fmi.get_real(c, &reference, 1, &value) == OK, "a Real is given");
    return value;
}

static int burning(void *c)
{
    const unsigned reference = BURNING;
    int value = -1;
    must(fmi.get_boolean(c, &reference, 1, &value) == OK, "burning is given");
    return value;
}

static int set(void *c, unsigned reference, double value)
{
    return fmi.set_real(c, &reference, 1, &value);
}

static int ignite(void *c, int on)
{
    const unsigned reference = IGNITION;
    return fmi.set_boolean(c, &reference, 1, &on);
}

static int near(double a, double b, double relative)
{
    return fabs(a - b) <= relative * fmax(fabs(a), fabs(b));
}

/* ---- scenarios ---- */

/* Lit at 0 and stepped to end in n steps whose lengths grow by a factor; returns the impulse. */
static double run(void *c, double end, int n, double growth)
{
    double length = growth == 1.0 ? end / n : end * (growth - 1.0) / (pow(growth, n) - 1.0), t = 0.0,
           last = 0.0;
    begin(c);
    must(ignite(c, 1) == OK, "ignition is set");
    for (int i = 0; i < n; i++) {
        must(fmi.step(c, t, length, 1) == OK, "a step");
        t += length;
        length *= growth;
        const double impulse = real(c, IMPULSE);
        must(impulse >= last, "impulse never falls");
        last = impulse;
    }
    must(near(t, end, 1e-9), "the steps add up");
    return last;
}

static void check_steps(double end)
{
    void *c = start(0.0, 0, 0.0);
    const double whole = run(c, 3.0 * end, 1, 1.0); /* one step, longer than the burn */
    must(!burning(c) && real(c, THRUST) == 0.0, "burnt out after a step that is longer than the burn");
    static const struct {
        int n;
        double growth;
    } rows[] = {{3, 1.0}, {100, 1.0}, {20000, 1.0}, {50, 1.3}, {40, 0.8}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        must(fmi.reset(c) == OK && fmi.setup(c, 0, 0.0, 0.0, 0, 0.0) == OK, "reset");
        must(near(run(c, 3.0 * end, rows[i].n, rows[i].growth), whole, 1e-12),
             "the same impulse by any steps");
    }
    must(fmi.terminate(c) == OK && near(real(c, IMPULSE), whole, 1e-12), "values are given after the end");
    fmi.free_instance(c);
}

/* Ignition later, at a communication point; false again changes nothing; values before it. */
static void check_ignition(double end)
{
    void *c = start(10.0, 0, 0.0), *at_zero = start(0.0, 0, 0.0);
    begin(c);
    must(set(c, AMBIENT, 90e3) == OK && fmi.step(c, 10.0, 1.0, 1) == OK, "a step before ignition");
    must(real(c, THRUST) == 0.0 && real(c, IMPULSE) == 0.0 && !burning(c), "nothing before ignition");
    must(set(c, AMBIENT, 101325.0) == OK && ignite(c, 1) == OK && fmi.step(c, 11.0, 0.25 * end, 1) == OK,
         "lit");
    must(burning(c) && real(c, THRUST) > 0.0, "it burns");
    must(ignite(c, 0) == OK && fmi.step(c, 11.0 + 0.25 * end, 0.25 * end, 1) == OK, "ignition false again");
    begin(at_zero);
    must(ignite(at_zero, 1) == OK && fmi.step(at_zero, 0.0, 0.5 * end, 1) == OK, "lit at zero");
    must(near(real(c, THRUST), real(at_zero, THRUST), 1e-9) &&
             near(real(c, IMPULSE), real(at_zero, IMPULSE), 1e-9),
         "time counts from ignition");
    double last = 0.0;
    must(fmi.real_status(c, LAST_TIME, &last) == OK && near(last, 11.0 + 0.5 * end, 1e-15),
         "last successful time");
    fmi.free_instance(c);
    fmi.free_instance(at_zero);
}

static void check_scales(double end, int n_references, const unsigned *references)
{
    void *plain = start(0.0, 0, 0.0), *scaled = start(0.0, 0, 0.0);
    must(set(scaled, THRUST_SCALE, 1.5) == OK && set(scaled, TIME_SCALE, 2.0) == OK, "parameters are set");
    begin(plain);
    begin(scaled);
    must(ignite(plain, 1) == OK && ignite(scaled, 1) == OK, "ignition");
    must(fmi.step(plain, 0.0, 0.4 * end, 1) == OK && fmi.step(scaled, 0.0, 0.8 * end, 1) == OK, "a step");
    must(near(real(scaled, THRUST), 0.75 * real(plain, THRUST), 1e-12), "thrust by both scales");
    must(near(real(scaled, IMPULSE), 1.5 * real(plain, IMPULSE), 1e-12), "impulse by the thrust scale");
    for (int i = 0; i < n_references; i++)
        if (references[i] == MASS_FLOW)
            must(near(real(scaled, MASS_FLOW), 0.5 * real(plain, MASS_FLOW), 1e-12),
                 "flow by the time scale");
    must(set(scaled, THRUST_SCALE, 1.0) == ERROR, "parameters are fixed after initialization");
    fmi.free_instance(plain);
    fmi.free_instance(scaled);
}

static void check_state(double end)
{
    void *c = start(0.0, 0, 0.0), *state = NULL, *again = NULL;
    size_t size = 0;
    begin(c);
    must(ignite(c, 1) == OK && fmi.step(c, 0.0, 0.3 * end, 1) == OK, "a step");
    must(fmi.get_state(c, &state) == OK && fmi.size_of_state(c, state, &size) == OK && size > 0, "state");
    char *bytes = malloc(size);
    must(bytes && fmi.serialize(c, state, bytes, size) == OK, "serialized");
    must(fmi.serialize(c, state, bytes, size - 1) == ERROR, "too little room is refused");
    must(fmi.step(c, 0.3 * end, 0.3 * end, 1) == OK, "a step");
    const double thrust = real(c, THRUST), impulse = real(c, IMPULSE);
    must(fmi.deserialize(c, bytes, size, &again) == OK && fmi.set_state(c, again) == OK,
         "restored from bytes");
    must(fmi.step(c, 0.3 * end, 0.3 * end, 1) == OK, "the step again");
    must(real(c, THRUST) == thrust && real(c, IMPULSE) == impulse, "the same from a restored state");
    bytes[0] ^= 1;
    must(fmi.deserialize(c, bytes, size, &again) == ERROR, "spoiled bytes are refused");
    must(fmi.free_state(c, &state) == OK && fmi.free_state(c, &again) == OK && !state && !again,
         "states are freed");
    free(bytes);
    fmi.free_instance(c);
}

static void check_misuse(double end)
{
    const unsigned unknown = 9999;
    const int before = n_logged;
    double value = 0.0;
    must(!fmi.instantiate("", CO_SIMULATION, guid, resources, &callbacks, 0, 0), "a name is wanted");
    must(!fmi.instantiate("m", 0, guid, resources, &callbacks, 0, 0), "model exchange is refused");
    must(!fmi.instantiate("m", CO_SIMULATION, "{0}", resources, &callbacks, 0, 0), "another guid is refused");
    must(!fmi.instantiate("m", CO_SIMULATION, guid, "file:///no/such/place", &callbacks, 0, 0),
         "no resources");
    must(!fmi.instantiate("m", CO_SIMULATION, guid, NULL, &callbacks, 0, 0), "no location");
    fmi.free_instance(NULL);
    void *c = start(0.0, 1, end);
    must(set(c, AMBIENT, 1e5) == ERROR && ignite(c, 1) == ERROR, "inputs can't be set before initialization");
    must(fmi.step(c, 0.0, 0.1, 1) == ERROR, "no step before initialization");
    begin(c);
    must(fmi.get_real(c, &unknown, 1, &value) == ERROR && set(c, unknown, 1.0) == ERROR,
         "an unknown reference");
    must(set(c, THRUST, 1.0) == ERROR, "an output can't be set");
    must(set(c, AMBIENT, (double)NAN) == ERROR && set(c, AMBIENT, -1.0) == ERROR, "no pressure");
    must(fmi.step(c, 0.0, 0.0, 1) == ERROR && fmi.step(c, 0.0, -1.0, 1) == ERROR, "a step of no length");
    must(fmi.step(c, 0.0, 2.0 * end, 1) == ERROR, "a step past the stop time");
    must(fmi.step(c, 0.0, end, 1) == OK, "a step up to the stop time");
    fmi.free_instance(c);
    must(n_logged >= before + 10, "errors are logged");
}

struct thread {
    double end, impulse; /* [s], [N s] */
    int n;
};

/* What the standard has and a unit of this kind has not: refused each time, with a line in the log. */
static void check_what_is_not_there(void)
{
    const unsigned unknown = 999, scale = THRUST_SCALE, time_scale = TIME_SCALE;
    const int before = n_logged, whole = 0;
    const double below = -1.0, zero = 0.0;
    const char *text = "";
    double value;
    int out;
    void *c = start(0.0, 0, 0.0);
    must(fmi.get_integer(c, &unknown, 1, &out) == ERROR && fmi.set_integer(c, &unknown, 1, &whole) == ERROR,
         "no whole numbers");
    must(fmi.get_string(c, &unknown, 1, &text) == ERROR && fmi.set_string(c, &unknown, 1, &text) == ERROR,
         "no texts");
    must(fmi.get_boolean(c, &unknown, 1, &out) == ERROR && fmi.set_boolean(c, &unknown, 1, &whole) == ERROR,
         "no such flag");
    must(fmi.set_real(c, &scale, 1, &below) == ERROR && fmi.set_real(c, &time_scale, 1, &zero) == ERROR,
         "scales have bounds");
    must(fmi.set_state(c, NULL) == ERROR, "no state");
    must(fmi.directional(c, &unknown, 1, &unknown, 1, &zero, &value) == ERROR, "no derivatives");
    must(fmi.set_slopes(c, &unknown, 1, &whole, &zero) == ERROR &&
             fmi.get_slopes(c, &unknown, 1, &whole, &value) == ERROR,
         "no slopes of inputs and outputs");
    begin(c);
    must(fmi.setup(c, 0, 0.0, 0.0, 0, 0.0) == ERROR, "setup comes before initialization");
    must(fmi.cancel(c) == ERROR, "no step is pending");
    must(n_logged >= before + 13, "every refusal is logged");
    fmi.free_instance(c);
}

static void *in_thread(void *user)
{
    struct thread *t = user;
    void *c = start(0.0, 0, 0.0);
    t->impulse = run(c, t->end, t->n, 1.0);
    fmi.free_instance(c);
    return NULL;
}

/* Two instances at once, one in each thread. */
static void check_threads(double end)
{
    struct thread jobs[2] = {{end, 0.0, 3000}, {end, 0.0, 2000}};
    pthread_t threads[2];
    for (int i = 0; i < 2; i++)
        must(pthread_create(&threads[i], NULL, in_thread, &jobs[i]) == 0, "a thread");
    for (int i = 0; i < 2; i++)
        pthread_join(threads[i], NULL);
    must(near(jobs[0].impulse, jobs[1].impulse, 1e-12) && jobs[0].impulse > 0.0, "two at once agree");
}

/* Prints the values at every time of the table, each reached in one step from ignition. */
static void print_table(const double *times, size_t n, const unsigned *references, int n_references)
{
    void *c = start(0.0, 0, 0.0);
    for (size_t i = 0; i < n; i++) {
        must(fmi.reset(c) == OK && fmi.setup(c, 0, 0.0, 0.0, 0, 0.0) == OK, "reset");
        begin(c);
        must(ignite(c, 1) == OK, "ignition");
        must(times[i] == 0.0 || fmi.step(c, 0.0, times[i], 1) == OK, "a step");
        for (int k = 0; k < n_references; k++)
            printf("%.17g%c", real(c, references[k]), k + 1 < n_references ? ',' : '\n');
    }
    fmi.free_instance(c);
}

int main(int argc, char **argv)
{
    static double times[MAX_TIMES];
    unsigned references[MAX_REFERENCES];
    int n_references = 0;
    size_t n = 0;
    void *library = argc > 4 ? dlopen(argv[1], RTLD_NOW | RTLD_LOCAL) : NULL;
    if (!library) {
        fprintf(stderr, "FAILED: %s\n", argc > 4 ? dlerror() : "too few arguments");
        return 1;
    }
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        void *symbol = dlsym(library, names[i].name);
        must(symbol != NULL, names[i].name);
        memcpy(names[i].place, &symbol, sizeof symbol);
    }
    if (n_failed > 0)
        return 1;
    resources = argv[2];
    guid = argv[3];
    for (int i = 4; i < argc && n_references < MAX_REFERENCES; i++)
        references[n_references++] = (unsigned)strtoul(argv[i], NULL, 10);
    while (n < MAX_TIMES && scanf("%lf", &times[n]) == 1)
        n++;
    must(strcmp(fmi.types(), "default") == 0 && strcmp(fmi.version(), "2.0") == 0 && n > 1,
         "names and times");
    const double end = times[n - 1];
    print_table(times, n, references, n_references);
    check_steps(end);
    check_ignition(end);
    check_scales(end, n_references, references);
    check_state(end);
    check_misuse(end);
    check_what_is_not_there();
    check_threads(end);
    dlclose(library);
    return n_failed > 0;
}
