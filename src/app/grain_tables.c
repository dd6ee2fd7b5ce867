/* Burnback tables of a motor, for people and programs. */
#include "app/pictures.h"
#include "ballistics/result.h"
#include "base/sink.h"
#include "base/text.h"
#include "doc/json_write.h"
#include "grain/aftport.h"
#include "motor/burnback.h"
#include "report/axes.h"
#include "slowmatch/grain.h"

#include <math.h>
#include <stdlib.h>

enum { MAX_ROWS = 100000, NAME = 64 };

/* Tables with the arena that they live in. */
struct owner {
    struct sm_grain_tables tables; /* first, so that tables are also their owner */
    struct sm_arena arena;
};

static enum sm_status new_column(double **column, size_t n, struct sm_arena *arena, struct sm_error *err)
{
    *column = sm_arena_alloc(arena, n, sizeof **column);
    return *column ? SM_OK : sm_fail(err, SM_E_NOMEM, "out of memory");
}

static enum sm_status new_columns(struct sm_grain_table *t, size_t n, struct sm_arena *arena,
                                  struct sm_error *err)
{
    double **columns[] = {&t->web,           &t->area,
                          &t->area_slope,    &t->volume,
                          &t->mass,          &t->center_of_mass,
                          &t->center_x,      &t->center_y,
                          &t->inertia_axial, &t->inertia_transverse};
    t->n = n;
    for (size_t i = 0; i < SM_COUNT(columns); i++)
        SM_TRY(new_column(columns[i], n, arena, err));
    for (size_t i = 0; i < SM_N_MOMENTS; i++)
        SM_TRY(new_column(&t->moments[i], n, arena, err));
    return SM_OK;
}

static void fill_figures(const struct sm_motor *motor, const struct sm_geometry *g, double port,
                         double loading, struct sm_grain_figures *out)
{
    const double throat = 0.25 * 3.14159265358979323846 * motor->spec.nozzle.throat_diameter *
                          motor->spec.nozzle.throat_diameter;
    struct sm_geometry_figures f;
    sm_geometry_figures(g, &f);
    *out = (struct sm_grain_figures){
        .web = g->web,
        .web_main = g->web_main,
        .sliver_fraction = f.sliver_fraction,
        .burn_area_initial = f.area_initial,
        .burn_area_maximum = f.area_maximum,
        .burn_area_mean = f.area_mean,
        .burn_area_minimum = f.area_minimum,
        .neutrality = f.neutrality,
        .loading = isnan(loading) ? f.loading : loading,
        .port_area = port > 0.0 ? port : SM_ABSENT,
        .port_perimeter = SM_ABSENT,
        .port_to_throat = port > 0.0 ? port / throat : SM_ABSENT,
    };
}

/* Of the case's bore and length. */
static double stack_loading(const struct sm_motor *motor)
{
    const struct sm_case *chamber = &motor->spec.chamber;
    return motor->propellant_mass / motor->spec.propellant.density /
           (0.25 * 3.14159265358979323846 * chamber->bore * chamber->bore * chamber->length);
}

/* First and second ones, in the order of the integrals behind the volume. */
static void fill_moments(const struct sm_geometry_at *at, size_t row, struct sm_grain_table *t)
{
    const double volume = at->value[SM_VOLUME];
    for (size_t q = 0; q < SM_N_MOMENTS; q++)
        t->moments[q][row] = at->value[SM_X + q];
    t->center_x[row] = volume > 0.0 ? at->value[SM_X] / volume : 0.0;
    t->center_y[row] = volume > 0.0 ? at->value[SM_Y] / volume : 0.0;
}

static enum sm_status fill(const struct sm_motor *motor, const struct sm_geometry *g, double place,
                           size_t rows, struct sm_arena *arena, struct sm_grain_table *t,
                           struct sm_error *err)
{
    struct sm_burnback_row *row;
    size_t n;
    SM_TRY(sm_burnback_rows(g, rows - 1, arena, &row, &n, err));
    SM_TRY(new_columns(t, n, arena, err));
    t->accuracy = g->accuracy;
    for (size_t i = 0; i < n; i++) {
        struct sm_body body;
        sm_propellant_body(motor->spec.propellant.density, &row[i].at, &body);
        t->web[i] = row[i].w;
        t->area[i] = -row[i].at.slope[SM_VOLUME];
        t->area_slope[i] = row[i].area_slope;
        t->volume[i] = row[i].at.value[SM_VOLUME];
        t->mass[i] = body.mass;
        t->center_of_mass[i] = place + body.center_of_mass;
        t->inertia_axial[i] = body.inertia_axial;
        t->inertia_transverse[i] = body.inertia_transverse;
        fill_moments(&row[i].at, i, t);
    }
    /* Nothing has no centre: where the last of it was. */
    struct sm_geometry_at late;
    struct sm_body last;
    sm_geometry_eval(g, g->web * (1.0 - 1e-6), &late);
    sm_propellant_body(motor->spec.propellant.density, &late, &last);
    t->center_of_mass[n - 1] = place + last.center_of_mass;
    t->center_x[n - 1] = late.value[SM_X] / late.value[SM_VOLUME];
    t->center_y[n - 1] = late.value[SM_Y] / late.value[SM_VOLUME];
    return SM_OK;
}

/* ---- ports ---- */

/* Where a row's port is cut: at a jump to the side of it that the row stands for [m]. */
static double port_level(const struct sm_grain_table *t, size_t row, double web)
{
    const double slack = 1e-12 * web;
    return t->web[row] - (row + 1 == t->n || t->web[row + 1] <= t->web[row] ? slack : 0.0);
}

static int rising(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Levels of all rows of two tables before the web, each once, rising. */
static size_t list_levels(struct sm_grain_table *const tables[2], double web, double *w)
{
    size_t n = 0, kept = 0;
    for (int k = 0; k < 2; k++)
        for (size_t i = 0; tables[k] && i < tables[k]->n; i++)
            if (port_level(tables[k], i, web) < web)
                w[n++] = port_level(tables[k], i, web);
    qsort(w, n, sizeof *w, rising);
    for (size_t i = 0; i < n; i++)
        if (i == 0 || w[i] > w[kept - 1])
            w[kept++] = w[i];
    return kept;
}

/* Past the web the whole circle is free, and nothing burns. */
static enum sm_status put_port(struct sm_grain_table *t, double web, double circle,
                               const double *const cut[3], size_t n, struct sm_arena *arena,
                               struct sm_error *err)
{
    SM_TRY(new_column(&t->port_area, t->n, arena, err));
    SM_TRY(new_column(&t->perimeter, t->n, arena, err));
    for (size_t i = 0, at = 0; i < t->n; i++) {
        const double w = port_level(t, i, web);
        while (at < n && cut[0][at] < w)
            at++;
        t->port_area[i] = w < web ? cut[1][at] : circle;
        t->perimeter[i] = w < web ? cut[2][at] : 0.0;
    }
    t->figures.port_perimeter = t->perimeter[0];
    return SM_OK;
}

/* The port at the aft end of one grain with that web [m], cut once for its own table and, if it is the last, the whole stack's;
 * that may be NULL. */
static enum sm_status fill_port(const struct sm_grain_entry *entry, double web,
                                struct sm_grain_table *const tables[2], struct sm_arena *arena,
                                struct sm_arena *scratch, struct sm_error *err)
{
    const double radius = 0.5 * entry->common.outer_diameter;
    const size_t most = tables[0]->n + (tables[1] ? tables[1]->n : 0);
    double *w, *area, *perimeter;
    SM_TRY(new_column(&w, most, scratch, err));
    SM_TRY(new_column(&area, most, scratch, err));
    SM_TRY(new_column(&perimeter, most, scratch, err));
    const size_t n = list_levels(tables, web, w);
    SM_TRY(
        sm_shape_aft_port(entry->shape, scratch, &entry->common, entry->params, w, n, area, perimeter, err));
    for (int k = 0; k < 2 && tables[k]; k++)
        SM_TRY(put_port(tables[k], web, 3.14159265358979323846 * radius * radius,
                        (const double *const[]){w, area, perimeter}, n, arena, err));
    return SM_OK;
}

/* Tables of all grains that have a port, and that of the stack behind them. */
static enum sm_status fill_ports(const struct sm_motor *motor, struct sm_arena *arena,
                                 struct sm_grain_table *t, struct sm_error *err)
{
    const size_t n = motor->spec.n_grains;
    struct sm_grain_table *whole = &t[n];
    for (size_t i = n; i-- > 0;) {
        const struct sm_geometry *g = &motor->geometry[i];
        struct sm_arena scratch;
        if (!(g->port_area > 0.0))
            continue;
        sm_arena_init(&scratch, arena->allocator);
        const enum sm_status status =
            fill_port(&motor->spec.grains[i], g->web, (struct sm_grain_table *const[]){&t[i], whole}, arena,
                      &scratch, err);
        sm_arena_release(&scratch);
        SM_TRY(sm_at(err, status, "/grains/%zu", i));
        whole = NULL;
    }
    return SM_OK;
}

/* ---- all of them ---- */

static enum sm_status fill_all(const struct sm_motor *motor, size_t rows, struct owner *owner,
                               struct sm_error *err)
{
    const size_t n = motor->spec.n_grains;
    struct sm_grain_table *t = sm_arena_alloc(&owner->arena, n + 1, sizeof *t);
    if (!t)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < n; i++) {
        char *name = sm_arena_alloc(&owner->arena, NAME, 1);
        if (!name)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
        sm_text_format(name, NAME, "%zu: %s", i + 1, motor->spec.grains[i].shape->name);
        t[i].name = name;
        SM_TRY(fill(motor, &motor->geometry[i], motor->place[i], rows, &owner->arena, &t[i], err));
        fill_figures(motor, &motor->geometry[i], motor->geometry[i].port_area, SM_ABSENT, &t[i].figures);
    }
    t[n].name = "all";
    SM_TRY(fill(motor, &motor->stack, 0.0, rows, &owner->arena, &t[n], err));
    fill_figures(motor, &motor->stack, sm_port_area(motor, 0.0), stack_loading(motor), &t[n].figures);
    SM_TRY(fill_ports(motor, &owner->arena, t, err));
    owner->tables = (struct sm_grain_tables){t, n + 1};
    return SM_OK;
}

enum sm_status sm_grain_tables_make(const struct sm_motor *motor, size_t rows,
                                    struct sm_grain_tables **tables, struct sm_error *err)
{
    struct sm_arena arena;
    *tables = NULL;
    if (motor->spec.is_curve)
        return sm_fail(err, SM_E_FIELD, "this motor is given by its bare curve and has no grain");
    if (rows < 2 || rows > MAX_ROWS)
        return sm_fail(err, SM_E_RANGE, "%zu rows are outside 2 to %d", rows, MAX_ROWS);
    sm_arena_init(&arena, NULL);
    struct owner *owner = sm_arena_alloc(&arena, 1, sizeof *owner);
    if (!owner)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    owner->arena = arena;
    const enum sm_status status = fill_all(motor, rows, owner, err);
    if (status != SM_OK)
        sm_grain_tables_free(&owner->tables);
    else
        *tables = &owner->tables;
    return status;
}

void sm_grain_tables_free(struct sm_grain_tables *tables)
{
    if (!tables)
        return;
    struct sm_arena arena = ((struct owner *)tables)->arena; /* the tables live in their own arena */
    sm_arena_release(&arena);
}

/* ---- columns ---- */

enum { N_COLUMNS = 10 };
static const char *const column_names[N_COLUMNS] = {
    "web",           "burn_area",          "volume",          "mass",     "center_of_mass",
    "inertia_axial", "inertia_transverse", "burn_area_slope", "center_x", "center_y"};
static const char *const port_names[] = {"port_area", "perimeter"}; /* of what has a port */
static const char *const moment_names[SM_N_MOMENTS] = {"x", "y", "z", "xx", "yy", "zz", "xy", "xz", "yz"};

static void columns_of(const struct sm_grain_table *t, const double **columns)
{
    const double *all[N_COLUMNS] = {t->web,
                                    t->area,
                                    t->volume,
                                    t->mass,
                                    t->center_of_mass,
                                    t->inertia_axial,
                                    t->inertia_transverse,
                                    t->area_slope,
                                    t->center_x,
                                    t->center_y};
    for (size_t i = 0; i < N_COLUMNS; i++)
        columns[i] = all[i];
}

static void put_figures(struct sm_json_writer *w, const struct sm_grain_figures *f)
{
    const struct {
        const char *name;
        double value; /* [m], [m2] or [1], as the header says */
    } members[] = {
        {"web", f->web},
        {"web_main", f->web_main},
        {"sliver_fraction", f->sliver_fraction},
        {"burn_area_initial", f->burn_area_initial},
        {"burn_area_maximum", f->burn_area_maximum},
        {"burn_area_mean", f->burn_area_mean},
        {"burn_area_minimum", f->burn_area_minimum},
        {"neutrality", f->neutrality},
        {"loading", f->loading},
        {"port_area", f->port_area},
        {"port_perimeter", f->port_perimeter},
        {"port_to_throat", f->port_to_throat},
    };
    sm_json_member_object(w, "figures");
    for (size_t i = 0; i < SM_COUNT(members); i++)
        sm_json_member_number(w, members[i].name, members[i].value);
    sm_json_close(w);
}

static void put_table(struct sm_json_writer *w, const struct sm_motor *motor, const struct sm_grain_table *t,
                      size_t i)
{
    const double *columns[N_COLUMNS];
    columns_of(t, columns);
    sm_json_open_object(w);
    sm_json_member_string(w, "name", t->name);
    sm_json_member_whole(w, "count", i < motor->spec.n_grains ? motor->spec.grains[i].count : 1);
    sm_json_member_number(w, "accuracy", t->accuracy);
    put_figures(w, &t->figures);
    for (size_t j = 0; j < N_COLUMNS; j++)
        sm_json_member_doubles(w, column_names[j], columns[j], t->n);
    if (t->port_area) {
        sm_json_member_doubles(w, port_names[0], t->port_area, t->n);
        sm_json_member_doubles(w, port_names[1], t->perimeter, t->n);
    }
    sm_json_member_object(w, "moments");
    for (size_t j = 0; j < SM_N_MOMENTS; j++)
        sm_json_member_doubles(w, moment_names[j], t->moments[j], t->n);
    sm_json_close(w);
    sm_json_close(w);
}

enum sm_status sm_grain_tables_write_json(const struct sm_motor *motor, const struct sm_grain_tables *tables,
                                          struct sm_sink *sink, struct sm_error *err)
{
    struct sm_json_writer w;
    sm_json_write_init(&w, sink);
    sm_json_open_object(&w);
    sm_json_member_string(&w, "format", "slowmatch-grain/1");
    sm_json_member_string(&w, "motor", motor->spec.name);
    sm_json_member_array(&w, "grains");
    for (size_t i = 0; i + 1 < tables->n; i++)
        put_table(&w, motor, &tables->tables[i], i);
    sm_json_close(&w);
    sm_json_put_key(&w, "all");
    put_table(&w, motor, &tables->tables[tables->n - 1], motor->spec.n_grains);
    sm_json_close(&w);
    return sm_json_write_end(&w, err);
}

enum sm_status sm_grain_tables_write_csv(const struct sm_grain_tables *tables, struct sm_sink *sink,
                                         struct sm_error *err)
{
    const struct sm_grain_table *t = &tables->tables[tables->n - 1];
    const double *columns[N_COLUMNS + 2];
    size_t n = N_COLUMNS;
    columns_of(t, columns);
    if (t->port_area) {
        columns[n++] = t->port_area;
        columns[n++] = t->perimeter;
    }
    for (size_t j = 0; j < n; j++)
        SM_TRY(sm_sink_format(sink, err, "%s%s", j > 0 ? "," : "",
                              j < N_COLUMNS ? column_names[j] : port_names[j - N_COLUMNS]));
    for (size_t i = 0; i < t->n; i++)
        for (size_t j = 0; j < n; j++) {
            char number[SM_DOUBLE_TEXT];
            SM_TRY(sm_sink_format(sink, err, "%s%s", j > 0 ? "," : "\r\n",
                                  sm_text_double(number, columns[j][i])));
        }
    return sm_sink_text(sink, "\r\n", err);
}

/* ---- plot ---- */

static enum sm_status plot_series(const struct sm_grain_table *t, double length, double area,
                                  const char *label, struct sm_arena *arena, struct sm_plot_series *out,
                                  struct sm_error *err)
{
    double *x = sm_arena_alloc(arena, t->n + 1, sizeof *x), *y = sm_arena_alloc(arena, t->n + 1, sizeof *y);
    if (!x || !y)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < t->n; i++) {
        x[i] = t->web[i] / length;
        y[i] = t->area[i] / area;
    }
    x[t->n] = x[t->n - 1]; /* at the web all that is left goes at once, or nothing is left */
    *out = (struct sm_plot_series){.x = x, .y = y, .n = t->n + 1, .label = label};
    return SM_OK;
}

enum sm_status sm_grain_tables_plot(const struct sm_motor *motor, const struct sm_grain_tables *tables,
                                    enum sm_unit_system system, enum sm_picture_kind kind,
                                    struct sm_sink *sink, struct sm_error *err)
{
    static const double inch = 0.0254; /* exact by definition [m] */
    const int is_us = system == SM_UNITS_US, is_one = tables->n == 2;
    const double length = is_us ? inch : 1e-3, area = is_us ? inch * inch : 1e-6;
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_plot_series *series = sm_arena_alloc(&arena, tables->n, sizeof *series);
    enum sm_status status = series ? SM_OK : sm_fail(err, SM_E_NOMEM, "out of memory");
    const size_t n = is_one ? 1 : tables->n;
    /* The whole lies under its parts, and broader: where one of them burns alone both are seen. */
    for (size_t i = 0; i < n && status == SM_OK; i++) {
        const struct sm_grain_table *t = &tables->tables[i == 0 ? tables->n - 1 : i - 1];
        status = plot_series(t, length, area, is_one ? NULL : t->name, &arena, &series[i], err);
        series[i].width = is_one ? 0.0 : i == 0 ? 7.0 : 2.5;
        series[i].colour = i == 0 && !is_one ? (int)n : (int)(i + (size_t)is_one);
    }
    const struct sm_plot_panel panel = {
        .x = {.label = is_us ? "distance burned (in)" : "distance burned (mm)"},
        .y = {.label = is_us ? "burning area (in2)" : "burning area (mm2)"},
        .series = series,
        .n_series = n,
    };
    const struct sm_plot plot = {
        .title = motor->spec.name,
        .subtitle = is_one ? "all grains together" : "one grain of each entry, and all together",
        .panels = &panel,
        .n_panels = 1,
    };
    if (status == SM_OK)
        status = sm_plot_write(&plot, sm_picture_plot_kind(kind), sink, err);
    sm_arena_release(&arena);
    return status;
}
