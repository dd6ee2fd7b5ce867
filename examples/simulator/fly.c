/*
 * A tiny flight simulator: straight up, with drag, in the standard atmosphere's lowest layer.
 *
 *     fly UNIT.fmu TABLES.dml MASS
 *
 * Flies a rocket of MASS kilograms without its motor twice, once by a co-simulation unit (FMI 2.0) and once by the tables of
 * a DAVE-ML file, and prints both apogees; ends with 1 if they differ by more than a millionth. It uses nothing of
 * slowmatch: only the two standards, libzip, libxml2 and GSL. The rocket is invented.
 *
 * Permission to use, copy, modify, and/or distribute this software for any purpose with or without fee is hereby granted.
 * THE SOFTWARE IS PROVIDED "AS IS" AND THE AUTHOR DISCLAIMS ALL WARRANTIES.
 *
 *     cc -o fly fly.c $(pkg-config --cflags --libs libxml-2.0 libzip gsl) -ldl -lm
 */
#include <dlfcn.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>
#include <libxml/parser.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>
#include <zip.h>

static const double gravity = 9.80665; /* [m s-2] */
static const double drag_area =
    0.5 * 0.002; /* drag coefficient times frontal area, of the invented rocket [m2] */

static void stop(const char *what, const char *which)
{
    fprintf(stderr, "fly: %s %s\n", what, which);
    exit(2);
}

/* What pushes: thrust [N] and mass of the motor or, where no hardware is known, of its propellant [kg] at a time since
 * ignition [s] and an ambient pressure [Pa]. */
struct engine {
    void (*at)(void *user, double t, double ambient, double *thrust, double *mass);
    void *user;
};

/* ---- a small help with XML ---- */

static xmlNode *child(const xmlNode *node, const char *name)
{
    for (xmlNode *c = node ? node->children : NULL; c; c = c->next)
        if (c->type == XML_ELEMENT_NODE && strcmp((const char *)c->name, name) == 0)
            return c;
    return NULL;
}

static xmlNode *next(const xmlNode *node, const char *name)
{
    for (xmlNode *c = node->next; c; c = c->next)
        if (c->type == XML_ELEMENT_NODE && strcmp((const char *)c->name, name) == 0)
            return c;
    return NULL;
}

static int has(xmlNode *node, const char *attribute, const char *value)
{
    xmlChar *text = xmlGetProp(node, (const xmlChar *)attribute);
    const int same = text && strcmp((const char *)text, value) == 0;
    xmlFree(text);
    return same;
}

static void get(xmlNode *node, const char *attribute, char *out, size_t size)
{
    xmlChar *text = node ? xmlGetProp(node, (const xmlChar *)attribute) : NULL;
    snprintf(out, size, "%s", text ? (const char *)text : "");
    xmlFree(text);
}

/* The child of that name with that attribute; NULL if there is none. */
static xmlNode *pick(const xmlNode *node, const char *name, const char *attribute, const char *value)
{
    for (xmlNode *c = child(node, name); c; c = next(c, name))
        if (has(c, attribute, value))
            return c;
    return NULL;
}

/* ---- the unit ---- */

struct callbacks {
    void (*logger)(void *, const char *, int, const char *, const char *, ...);
    void *(*allocate)(size_t, size_t);
    void (*release)(void *);
    void (*step_finished)(void *, int);
    void *environment;
};

struct unit {
    char folder[64];
    void *library, *instance, *lit; /* lit: its state at ignition */
    unsigned thrust, mass, ambient;
    int (*step)(void *, double, double, int);
    int (*set_state)(void *, void *);
    int (*free_state)(void *, void **);
    int (*get_real)(void *, const unsigned *, size_t, double *);
    int (*set_real)(void *, const unsigned *, size_t, const double *);
    void (*free_instance)(void *);
};

static void logger(void *environment, const char *instance, int status, const char *category,
                   const char *text, ...)
{
    (void)environment;
    fprintf(stderr, "%s: status %d, %s: %s\n", instance, status, category, text);
}

static void make_folders(const char *path)
{
    char copy[512];
    snprintf(copy, sizeof copy, "%s", path);
    for (char *c = copy + 1; *c != '\0'; c++)
        if (*c == '/') {
            *c = '\0';
            mkdir(copy, 0700);
            *c = '/';
        }
}

/* Unpacks an archive, or, with unpack 0, removes what was unpacked. */
static void walk(const char *archive, const char *folder, int unpack)
{
    zip_t *zip = zip_open(archive, ZIP_RDONLY, NULL);
    if (!zip)
        stop("can't read", archive);
    for (zip_int64_t i = zip_get_num_entries(zip, 0); i-- > 0;) {
        char path[512], bytes[4096];
        const char *name = zip_get_name(zip, (zip_uint64_t)i, 0);
        if (!name || strstr(name, "..") || name[0] == '/')
            stop("will not unpack", name ? name : "a part without name");
        snprintf(path, sizeof path, "%s/%s", folder, name);
        if (!unpack) {
            remove(path);
            for (char *slash = strrchr(path, '/'); slash > path + strlen(folder);
                 slash = strrchr(path, '/')) {
                *slash = '\0';
                rmdir(path);
            }
            continue;
        }
        make_folders(path);
        zip_file_t *part = zip_fopen_index(zip, (zip_uint64_t)i, 0);
        FILE *out = fopen(path, "wb");
        zip_int64_t n = 0;
        while (part && out && (n = zip_fread(part, bytes, sizeof bytes)) > 0)
            fwrite(bytes, 1, (size_t)n, out);
        if (!part || !out || n < 0 || fclose(out) != 0)
            stop("can't unpack", name);
        zip_fclose(part);
    }
    zip_discard(zip);
    if (!unpack)
        rmdir(folder);
}

/* Takes a function of the library under its name in the standard. */
static void take(const struct unit *u, const char *name, void *place)
{
    void *symbol = dlsym(u->library, name);
    if (!symbol)
        stop("the unit lacks", name);
    memcpy(place, &symbol, sizeof symbol);
}

static unsigned reference(const xmlNode *root, const char *name, const char *or_else)
{
    char text[32];
    xmlNode *variables = child(root, "ModelVariables"), *v = pick(variables, "ScalarVariable", "name", name);
    if (!v && or_else)
        v = pick(variables, "ScalarVariable", "name", or_else);
    if (!v)
        stop("the unit has no variable", name);
    get(v, "valueReference", text, sizeof text);
    return (unsigned)strtoul(text, NULL, 10);
}

/* Up to the state at ignition, which each look at the unit goes back to. */
static void light(struct unit *u, const char *guid, unsigned ignition)
{
    static const struct callbacks callbacks = {logger, calloc, free, NULL, NULL};
    void *(*instantiate)(const char *, int, const char *, const char *, const struct callbacks *, int, int);
    int (*setup)(void *, int, double, double, int, double), (*enter)(void *), (*leave)(void *);
    int (*set_boolean)(void *, const unsigned *, size_t, const int *), (*get_state)(void *, void **);
    char resources[128];
    const int on = 1;
    take(u, "fmi2Instantiate", &instantiate);
    take(u, "fmi2SetupExperiment", &setup);
    take(u, "fmi2EnterInitializationMode", &enter);
    take(u, "fmi2ExitInitializationMode", &leave);
    take(u, "fmi2SetBoolean", &set_boolean);
    take(u, "fmi2GetFMUstate", &get_state);
    snprintf(resources, sizeof resources, "file://%s/resources", u->folder);
    u->instance = instantiate("motor", 1, guid, resources, &callbacks, 0, 0);
    if (!u->instance || setup(u->instance, 0, 0.0, 0.0, 0, 0.0) || enter(u->instance) || leave(u->instance) ||
        set_boolean(u->instance, &ignition, 1, &on) || get_state(u->instance, &u->lit))
        stop("the unit can't be started:", guid);
}

static void load_unit(struct unit *u, const char *archive)
{
    char path[256], guid[64], identifier[64];
    snprintf(u->folder, sizeof u->folder, "/tmp/fly.XXXXXX");
    if (!mkdtemp(u->folder))
        stop("can't make", u->folder);
    walk(archive, u->folder, 1);
    snprintf(path, sizeof path, "%s/modelDescription.xml", u->folder);
    xmlDoc *doc = xmlReadFile(path, NULL, XML_PARSE_NONET);
    xmlNode *root = doc ? xmlDocGetRootElement(doc) : NULL;
    get(root, "guid", guid, sizeof guid);
    get(child(root, "CoSimulation"), "modelIdentifier", identifier, sizeof identifier);
    snprintf(path, sizeof path, "%s/binaries/linux64/%s.so", u->folder, identifier);
    u->library = dlopen(path, RTLD_NOW | RTLD_LOCAL);
    if (!u->library)
        stop("can't load", path);
    take(u, "fmi2DoStep", &u->step);
    take(u, "fmi2SetFMUstate", &u->set_state);
    take(u, "fmi2FreeFMUstate", &u->free_state);
    take(u, "fmi2GetReal", &u->get_real);
    take(u, "fmi2SetReal", &u->set_real);
    take(u, "fmi2FreeInstance", &u->free_instance);
    u->thrust = reference(root, "thrust", NULL);
    u->mass = reference(root, "motor_mass", "propellant_mass");
    u->ambient = reference(root, "ambient_pressure", NULL);
    light(u, guid, reference(root, "ignition", NULL));
    xmlFreeDoc(doc);
}

static void unload_unit(struct unit *u, const char *archive)
{
    u->free_state(u->instance, &u->lit);
    u->free_instance(u->instance);
    dlclose(u->library);
    walk(archive, u->folder, 0);
}

/* Back to ignition, then one step up to t: so the answer does not depend on what the integrator tried before. */
static void by_unit(void *user, double t, double ambient, double *thrust, double *mass)
{
    struct unit *u = user;
    const unsigned wanted[2] = {u->thrust, u->mass};
    double got[2];
    if (u->set_state(u->instance, u->lit) || u->set_real(u->instance, &u->ambient, 1, &ambient) ||
        u->step(u->instance, 0.0, t > 0.0 ? t : 1e-12, 1) || u->get_real(u->instance, wanted, 2, got))
        stop("the unit failed a step", "");
    *thrust = got[0];
    *mass = got[1];
}

/* ---- the tables ---- */

enum { MAX_POINTS = 65536, MAX_PRESSURES = 64 };

/* A gridded table of time, or of time and ambient pressure, which then runs fastest. */
struct table {
    double time[MAX_POINTS];
    double pressure[MAX_PRESSURES];
    double *value;
    size_t n, m;
};

struct tables {
    struct table thrust, mass;
};

static size_t numbers(xmlNode *node, double *out, size_t most)
{
    xmlChar *text = node ? xmlNodeGetContent(node) : NULL;
    size_t n = 0;
    for (char *at = (char *)text, *end; at && n < most; at = end) {
        at += strspn(at, " \t\r\n,");
        out[n] = strtod(at, &end);
        if (end == at)
            break;
        n++;
    }
    xmlFree(text);
    return n;
}

/* The table behind the function that gives a variable, by the variable's varID. */
static void load_table(const xmlNode *root, const char *id, struct table *t)
{
    char name[64];
    xmlNode *f = child(root, "function");
    while (f && !has(child(f, "dependentVarRef"), "varID", id))
        f = next(f, "function");
    get(f ? child(child(f, "functionDefn"), "griddedTableRef") : NULL, "gtID", name, sizeof name);
    xmlNode *table = pick(root, "griddedTableDef", "gtID", name);
    xmlNode *ref = table ? child(child(table, "breakpointRefs"), "bpRef") : NULL;
    if (!ref)
        stop("no table gives", id);
    get(ref, "bpID", name, sizeof name);
    t->n = numbers(child(pick(root, "breakpointDef", "bpID", name), "bpVals"), t->time, MAX_POINTS);
    ref = next(ref, "bpRef");
    t->m = 1;
    if (ref) {
        get(ref, "bpID", name, sizeof name);
        t->m =
            numbers(child(pick(root, "breakpointDef", "bpID", name), "bpVals"), t->pressure, MAX_PRESSURES);
    }
    t->value = calloc(t->n * t->m + 1, sizeof *t->value);
    if (!t->value || t->n < 2 || numbers(child(table, "dataTable"), t->value, t->n * t->m + 1) != t->n * t->m)
        stop("the table is not as long as its breakpoints tell:", id);
}

static void load_tables(struct tables *t, const char *path)
{
    xmlDoc *doc = xmlReadFile(path, NULL, XML_PARSE_NONET);
    const xmlNode *root = doc ? xmlDocGetRootElement(doc) : NULL;
    char id[64];
    if (!root)
        stop("can't read", path);
    load_table(root, "F_tab", &t->thrust);
    xmlNode *mass = pick(root, "variableDef", "name", "motorMass");
    get(mass ? mass : pick(root, "variableDef", "name", "propellantMass"), "varID", id, sizeof id);
    load_table(root, id, &t->mass);
    xmlFreeDoc(doc);
}

static size_t interval(const double *x, size_t n, double at)
{
    size_t low = 0, high = n - 1;
    while (high - low > 1) {
        const size_t middle = (low + high) / 2;
        if (x[middle] <= at)
            low = middle;
        else
            high = middle;
    }
    return low;
}

/* Where between x and the next, held at both. */
static double share(const double *x, double at)
{
    return fmin(1.0, fmax(0.0, (at - x[0]) / (x[1] - x[0])));
}

static double look_up(const struct table *t, double time, double pressure)
{
    const size_t i = interval(t->time, t->n, time);
    const double s = share(t->time + i, time), *v = t->value + i * t->m;
    if (t->m == 1)
        return v[0] + s * (v[1] - v[0]);
    const size_t k = interval(t->pressure, t->m, pressure);
    const double r = share(t->pressure + k, pressure);
    const double low = v[k] + s * (v[k + t->m] - v[k]), high = v[k + 1] + s * (v[k + 1 + t->m] - v[k + 1]);
    return low + r * (high - low);
}

static void by_tables(void *user, double t, double ambient, double *thrust, double *mass)
{
    const struct tables *tables = user;
    *thrust = fmax(0.0, look_up(&tables->thrust, t, ambient));
    *mass = look_up(&tables->mass, t, ambient);
}

/* ---- the flight ---- */

struct flight {
    const struct engine *engine;
    double mass; /* without the motor [kg] */
};

/* U.S. Standard Atmosphere 1976 below 11 km: 6.5 K less a kilometre from 288.15 K. */
static void air(double height, double *pressure, double *density)
{
    const double temperature = 288.15 - 0.0065 * fmax(0.0, height);
    *pressure = 101325.0 * pow(temperature / 288.15, 5.25588);
    *density = *pressure / (287.053 * temperature);
}

/* y: height [m] and speed [m/s]; it rests on the pad until thrust exceeds weight. */
static int slope(double t, const double y[], double dy[], void *user)
{
    const struct flight *f = user;
    double thrust, motor, pressure, density;
    air(y[0], &pressure, &density);
    f->engine->at(f->engine->user, t, pressure, &thrust, &motor);
    dy[0] = y[1];
    dy[1] = (thrust - 0.5 * density * drag_area * y[1] * fabs(y[1])) / (f->mass + motor) - gravity;
    if (y[0] <= 0.0 && y[1] <= 0.0 && dy[1] < 0.0)
        dy[0] = dy[1] = 0.0;
    return GSL_SUCCESS;
}

/* The highest point [m] and when [s]: steps of a hundredth of a second until it falls, then the last one is halved on. What
 * falls from lower than a metre has not left the pad yet. */
static double fly(const struct engine *engine, double mass, double *when)
{
    struct flight flight = {engine, mass};
    gsl_odeiv2_system system = {slope, NULL, 2, &flight};
    gsl_odeiv2_driver *driver =
        gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd, 1e-4, 1e-10, 1e-10);
    double t = 0.0, y[2] = {0.0, 0.0}, step = 0.01;
    while (step > 1e-10 && t < 200.0) {
        double ahead = t, tried[2] = {y[0], y[1]};
        gsl_odeiv2_driver_reset(driver);
        if (gsl_odeiv2_driver_apply(driver, &ahead, t + step, tried) != GSL_SUCCESS)
            stop("the integrator gave up", "");
        if (tried[1] < 0.0 && tried[0] < 1.0) {
            tried[0] = tried[1] = 0.0;
        } else if (tried[1] < 0.0) {
            step *= 0.5;
            continue;
        }
        t = ahead;
        memcpy(y, tried, sizeof y);
    }
    gsl_odeiv2_driver_free(driver);
    *when = t;
    return y[0];
}

int main(int argc, char **argv)
{
    static struct tables tables;
    struct unit unit = {0};
    double when[2];
    if (argc != 4)
        stop("usage:", "fly UNIT.fmu TABLES.dml MASS");
    const double mass = strtod(argv[3], NULL);
    load_unit(&unit, argv[1]);
    load_tables(&tables, argv[2]);
    const struct engine engines[2] = {{by_unit, &unit}, {by_tables, &tables}};
    const double heights[2] = {fly(&engines[0], mass, &when[0]), fly(&engines[1], mass, &when[1])};
    const double off = fabs(heights[0] / heights[1] - 1.0);
    printf("by the unit:   apogee %.6f m at %.4f s\n", heights[0], when[0]);
    printf("by the tables: apogee %.6f m at %.4f s\n", heights[1], when[1]);
    printf("they differ by %.1e of it\n", off);
    unload_unit(&unit, argv[1]);
    free(tables.thrust.value);
    free(tables.mass.value);
    xmlCleanupParser();
    return off <= 1e-6 ? 0 : 1;
}
