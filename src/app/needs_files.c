/* From a vehicle and a wished flight to a request for the motor that flies it. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/data.h"
#include "base/text.h"
#include "design/request.h"
#include "doc/json_write.h"
#include "input/read_propellant.h"
#include "motor/vary.h"
#include "slowmatch/design.h"
#include "vehicle/needs.h"

/* What is needed, and what the request starts from. */
struct made {
    struct sm_needs needs; /* first, so that a result is also this */
    struct sm_arena arena;
    const struct sm_motor *motor; /* that the request starts from */
    struct sm_motor *own;         /* it, if it is not the vehicle's */
    const char *path;             /* of its file */
    struct sm_json_doc *request;  /* that gives free values, wishes and limits; NULL: none */
    size_t group;                 /* of the vehicle, that is to be designed */
};

/* ---- the base ---- */

static enum sm_status report(struct sm_diag *diag, struct sm_error *problem)
{
    sm_diag_add(diag, problem);
    return problem->status;
}

/* If the file is a request, its motor's path; else the file is a motor. */
static enum sm_status find_motor(struct made *m, const char *base, struct sm_error *err)
{
    struct sm_json_doc *doc;
    SM_TRY(sm_json_read_file(base, &doc, err));
    const char *format = sm_json_string(sm_json_get(sm_json_root(doc), "format"));
    const char *motor = sm_json_string(sm_json_get(sm_json_root(doc), "motor"));
    if (!format || !motor || strcmp(format, SM_REQUEST_FORMAT) != 0) {
        sm_json_free(doc);
        m->path = sm_arena_strdup(&m->arena, base);
    } else {
        m->request = doc;
        const char *folder = sm_data_folder(&m->arena, base);
        m->path = folder ? sm_data_seen_from(&m->arena, folder, motor) : NULL;
    }
    return m->path ? SM_OK : sm_fail(err, SM_E_NOMEM, "out of memory");
}

/* A request is read whole, so that its faults are told now and not when it is sized. */
static enum sm_status look_at_request(const struct made *m, const char *base,
                                      const struct sm_load_options *options, const struct sm_context *context,
                                      struct sm_diag *diag)
{
    struct sm_request *request;
    if (!m->request)
        return SM_OK;
    SM_TRY(sm_request_load(base, options, context, &request, diag));
    sm_request_free(request);
    return SM_OK;
}

static enum sm_status load_base(struct made *m, const struct sm_vehicle *vehicle, const char *base,
                                const struct sm_load_options *options, const struct sm_context *context,
                                struct sm_diag *diag)
{
    const struct sm_motor_group *group = (const struct sm_motor_group *)vehicle->spec.motors.items + m->group;
    struct sm_load_options plain = options ? *options : (struct sm_load_options){0};
    struct sm_error err = {0};
    plain.overrides = NULL;
    plain.n_overrides = 0;
    if (!base) {
        m->motor = vehicle->motors[m->group];
        m->path = sm_data_seen_from(&m->arena, vehicle->folder, group->motor);
        return m->path ? SM_OK : report(diag, (sm_fail(&err, SM_E_NOMEM, "out of memory"), &err));
    }
    if (find_motor(m, base, &err) != SM_OK)
        return report(diag, &err);
    SM_TRY(look_at_request(m, base, &plain, context, diag));
    SM_TRY(sm_motor_load(m->path, &plain, context, &m->own, diag));
    m->motor = m->own;
    return SM_OK;
}

static enum sm_status burn(const struct sm_motor *motor, const struct sm_context *context,
                           struct sm_result **run, struct sm_error *err)
{
    const struct sm_run_options options = {.without_warnings = true};
    SM_TRY(sm_simulate(motor, &options, context, run, err));
    return (*run)->complete ? SM_OK : sm_fail(err, SM_E_CANCELLED, "stopped on request");
}

/* The base in place of its group's motor. */
static enum sm_status burn_all(struct made *m, const struct sm_vehicle *vehicle,
                               const struct sm_context *context, struct sm_result **runs,
                               struct sm_error *err)
{
    if (m->motor->spec.is_curve) {
        sm_fail(err, SM_E_FIELD,
                "a motor given by its curve has no grain to size; name one with grains as the base");
        return m->own ? SM_E_FIELD : sm_at(err, SM_E_FIELD, "/motors/%zu/motor", m->group);
    }
    for (size_t i = 0; i < vehicle->spec.motors.n; i++)
        SM_TRY(burn(i == m->group ? m->motor : vehicle->motors[i], context, &runs[i], err));
    return SM_OK;
}

static enum sm_status study(struct made *m, const struct sm_vehicle *vehicle, const char *base,
                            const struct sm_needs_wish *wish, const struct sm_load_options *options,
                            const struct sm_context *context, struct sm_diag *diag)
{
    struct sm_error err = {0};
    const size_t n = vehicle->spec.motors.n;
    enum sm_status status = sm_needs_group(vehicle, wish->group, &m->group, &err);
    struct sm_result **runs = sm_arena_alloc(&m->arena, n, sizeof *runs);
    if (status == SM_OK && !runs)
        status = sm_fail(&err, SM_E_NOMEM, "out of memory");
    if (status == SM_OK) {
        SM_TRY(load_base(m, vehicle, base, options, context, diag));
        status = burn_all(m, vehicle, context, runs, &err);
    }
    const int is_burned = status == SM_OK;
    if (is_burned)
        status = sm_needs_reckon(vehicle, (const struct sm_result *const *)runs, m->group, wish, &m->arena,
                                 &m->needs, &err);
    if (m->motor)
        m->needs.base = m->motor->spec.name;
    for (size_t i = 0; runs && i < n; i++)
        sm_result_free(runs[i]);
    if (status == SM_OK)
        return SM_OK;
    sm_text_format(err.at.file, sizeof err.at.file, "%s", m->own && !is_burned ? base : vehicle->path);
    return report(diag, &err);
}

enum sm_status sm_needs_study(const struct sm_vehicle *vehicle, const char *base,
                              const struct sm_needs_wish *wish, const struct sm_load_options *options,
                              const struct sm_context *context, struct sm_needs **needs, struct sm_diag *diag)
{
    struct sm_arena arena;
    struct sm_error err = {0};
    *needs = NULL;
    sm_init();
    sm_arena_init(&arena, context ? context->allocator : NULL);
    struct made *m = sm_arena_alloc(&arena, 1, sizeof *m);
    if (!m) {
        sm_arena_release(&arena);
        return report(diag, (sm_fail(&err, SM_E_NOMEM, "out of memory"), &err));
    }
    m->arena = arena;
    const enum sm_status status = study(m, vehicle, base, wish, options, context, diag);
    if (status == SM_OK)
        *needs = &m->needs;
    else
        sm_needs_free(&m->needs);
    return status;
}

void sm_needs_free(struct sm_needs *needs)
{
    struct made *m = (struct made *)(void *)needs; /* it lives in its own arena */
    if (!m)
        return;
    sm_motor_free(m->own);
    sm_json_free(m->request);
    struct sm_arena arena = m->arena;
    sm_arena_release(&arena);
}

/* ---- the request ---- */

/* A path as seen from the folder in which the request will stand: up from there as far as both differ, then down. NULL if
 * memory is out. */
static const char *path_from(struct sm_arena *arena, const char *folder, const char *path)
{
    if (path[0] == '/' || folder[0] == '\0')
        return path;
    char *from = realpath(folder, NULL), *to = realpath(path, NULL);
    const size_t size = from && to ? 3 * strlen(from) + strlen(to) + 4 : 1;
    char *out = sm_arena_alloc(arena, size, 1);
    size_t same = 0;
    for (size_t i = 0; from && to && (from[i] == to[i] || (from[i] == '\0' && to[i] == '/')); i++) {
        if (to[i] == '/')
            same = i;
        if (from[i] == '\0')
            break;
    }
    if (out && from && to && same > 0) {
        for (const char *rest = from + same; *rest; rest++)
            if (*rest == '/')
                strcat(out, "../");
        strcat(out, to + same + 1);
    }
    const char *found = out && !out[0] ? to ? sm_arena_strdup(arena, to) : path : out;
    free(from);
    free(to);
    return found;
}

static void put_measure(struct sm_json_writer *w, const char *key, enum sm_dim dim, double si)
{
    char text[SM_MEASURE_TEXT];
    sm_json_member_string(w, key, sm_measure_text(text, dim, si, 7));
}

/* Values that follow a free one, so that the rest of the grain keeps its form. */
struct followers {
    struct {
        char of[SM_POINTER_MAX];
        double factor; /* [1] */
        double plus;   /* [m] */
    } items[SM_MAX_TIED];
    size_t n; /* may be more than there is room for */
};

static void follow(struct followers *f, const char *of, double factor, double plus)
{
    if (f->n < SM_MAX_TIED) {
        sm_text_format(f->items[f->n].of, sizeof f->items[f->n].of, "%s", of);
        f->items[f->n].factor = factor;
        f->items[f->n].plus = plus;
    }
    f->n++;
}

/* A value that the free one may be a share to a multiple of its own, within what its row allows. */
static enum sm_status put_free(struct sm_json_writer *w, const struct sm_motor *motor, const char *of,
                               const struct followers *f, struct sm_error *err)
{
    static const double least = 0.3, most = 3.0; /* of the base's own [1] */
    const struct sm_param *row;
    double value;
    SM_TRY(sm_motor_value(motor, of, &value, &row, err));
    if (f->n > SM_MAX_TIED)
        return sm_fail(err, SM_E_RANGE,
                       "%zu values of '%.100s' go with %s, and %d can be tied: name a request as the base, "
                       "with free values of your own",
                       f->n, motor->spec.name, of, (int)SM_MAX_TIED);
    sm_json_open_object(w);
    sm_json_member_string(w, "of", of);
    put_measure(w, "from", row->dim, fmax(least * value, row->min));
    put_measure(w, "to", row->dim, fmin(most * value, row->max));
    if (f->n > 0)
        sm_json_member_array(w, "tied");
    for (size_t i = 0; i < f->n; i++) {
        sm_json_open_object_row(w);
        sm_json_member_string(w, "of", f->items[i].of);
        sm_json_member_number(w, "factor", f->items[i].factor);
        if (f->items[i].plus != 0.0)
            put_measure(w, "plus", row->dim, f->items[i].plus);
        sm_json_close(w);
    }
    if (f->n > 0)
        sm_json_close(w);
    sm_json_close(w);
    return SM_OK;
}

/* The case grows with the stack, and other grains with the first. */
static enum sm_status put_lengths(struct sm_json_writer *w, const struct sm_motor *motor,
                                  struct sm_error *err)
{
    struct followers f = {0};
    const struct sm_motor_spec *spec = &motor->spec;
    const double own = spec->grains[0].common.length;
    double stack = 0.0;
    char of[SM_POINTER_MAX];
    for (size_t i = 0; i < spec->n_grains; i++) {
        stack += spec->grains[i].count * spec->grains[i].common.length;
        sm_text_format(of, sizeof of, "/grains/%zu/length", i);
        if (i > 0)
            follow(&f, of, spec->grains[i].common.length / own, 0.0);
    }
    follow(&f, "/case/length", stack / own, spec->chamber.length - stack);
    return put_free(w, motor, "/grains/0/length", &f, err);
}

/* Cross-sections keep their form: every length of the shape goes with the outer diameter, and so does the case. */
static enum sm_status put_diameters(struct sm_json_writer *w, const struct sm_motor *motor,
                                    struct sm_error *err)
{
    struct followers f = {0};
    const struct sm_motor_spec *spec = &motor->spec;
    const double own = spec->grains[0].common.outer_diameter;
    follow(&f, "/case/bore", 1.0, spec->chamber.bore - own);
    for (size_t i = 0; i < spec->n_grains; i++) {
        const struct sm_shape *shape = spec->grains[i].shape;
        char of[SM_POINTER_MAX];
        sm_text_format(of, sizeof of, "/grains/%zu/outer_diameter", i);
        if (i > 0)
            follow(&f, of, spec->grains[i].common.outer_diameter / own, 0.0);
        for (size_t k = 0; k < shape->n_params; k++) {
            const struct sm_param *row = &shape->params[k];
            double value;
            if (row->kind != SM_QUANTITY || row->dim != SM_DIM_LENGTH)
                continue;
            sm_text_format(of, sizeof of, "/grains/%zu/%s", i, row->name);
            SM_TRY(sm_motor_value(motor, of, &value, &row, err));
            if (value > 0.0)
                follow(&f, of, value / own, 0.0);
        }
    }
    return put_free(w, motor, "/grains/0/outer_diameter", &f, err);
}

static enum sm_status put_throat(struct sm_json_writer *w, const struct sm_motor *motor, struct sm_error *err)
{
    struct followers f = {0};
    const struct sm_param *row;
    double throat, exit;
    SM_TRY(sm_motor_value(motor, "/nozzle/throat_diameter", &throat, &row, err));
    SM_TRY(sm_motor_value(motor, "/nozzle/exit_diameter", &exit, &row, err));
    if (!isnan(exit))
        follow(&f, "/nozzle/exit_diameter", exit / throat, 0.0);
    return put_free(w, motor, "/nozzle/throat_diameter", &f, err);
}

static void put_wish(struct sm_json_writer *w, const char *figure, enum sm_dim dim, double si)
{
    sm_json_member_object(w, figure);
    put_measure(w, "value", dim, si);
    sm_json_close(w);
}

/* Free values and wishes of our own: as little propellant as will do; for motors that stray, away from the band's edges. */
static enum sm_status put_wishes(struct sm_json_writer *w, const struct made *m, struct sm_error *err)
{
    const struct sm_needs *n = &m->needs;
    sm_json_member_array(w, "free");
    SM_TRY(put_lengths(w, m->motor, err));
    SM_TRY(put_diameters(w, m->motor, err));
    SM_TRY(put_throat(w, m->motor, err));
    sm_json_close(w);
    sm_json_member_object(w, "wanted");
    if (n->wish.is_robust) {
        put_wish(w, "burn_time", SM_DIM_TIME, n->wish.burn_time);
        put_wish(w, "average_thrust", SM_DIM_FORCE, n->thrust);
    } else {
        sm_json_member_object(w, "propellant_mass");
        sm_json_member_string(w, "aim", "least");
        sm_json_close(w);
    }
    sm_json_close(w);
    return SM_OK;
}

/* All members of an object of the base but those named. */
static void put_kept(struct sm_json_writer *w, const struct sm_json *object, const char *const *but)
{
    for (const struct sm_json *member = sm_json_first(object); member; member = sm_json_next(member)) {
        int is_kept = 1;
        for (size_t i = 0; but[i]; i++)
            is_kept = is_kept && strcmp(but[i], sm_json_key(member)) != 0;
        if (!is_kept)
            continue;
        sm_json_put_key(w, sm_json_key(member));
        sm_json_put_value(w, member);
    }
}

static void put_limits(struct sm_json_writer *w, const struct made *m)
{
    static const char *const but[] = {"thrust", NULL};
    const struct sm_needs *n = &m->needs;
    sm_json_member_object(w, "limits");
    if (m->request)
        put_kept(w, sm_json_get(sm_json_root(m->request), "limits"), but);
    sm_json_member_array(w, "thrust");
    for (size_t i = 0; i < n->n; i++) {
        if (n->time[i] < 0.0 || isnan(n->most[i]))
            continue;
        sm_json_open_object_row(w);
        put_measure(w, "time", SM_DIM_TIME, n->time[i]);
        if (!isnan(n->least[i]))
            put_measure(w, "least", SM_DIM_FORCE, n->least[i]);
        put_measure(w, "most", SM_DIM_FORCE, n->most[i]);
        sm_json_close(w);
    }
    sm_json_close(w);
    sm_json_close(w);
}

static enum sm_status put_request(struct sm_json_writer *w, const struct made *m, const char *motor,
                                  struct sm_error *err)
{
    static const char *const but[] = {"format", "name", "note", "motor", "limits", NULL};
    const struct sm_needs *n = &m->needs;
    char text[SM_MAX_TEXT];
    sm_json_open_object(w);
    sm_json_member_string(w, "format", SM_REQUEST_FORMAT);
    sm_text_format(text, sizeof text, "%.500s: up to %.4g m, and %.4g s of hover", n->vehicle,
                   n->wish.hover_height, n->wish.hover_time);
    sm_json_member_string(w, "name", text);
    sm_text_format(
        text, sizeof text,
        "Thrust of one motor of %d against time after their ignition, for %.4g kg as it lifts off, contact "
        "at %.4g s and a specific impulse of %.4g s.",
        n->count, n->release_mass, n->begin[SM_NEEDS_LEGS], n->specific_impulse);
    for (size_t i = 0; sm_lift_caution(i); i++) {
        const size_t used = strlen(text);
        sm_text_format(text + used, sizeof text - used, " %s", sm_lift_caution(i));
    }
    sm_json_member_string(w, "note", text);
    sm_json_member_string(w, "motor", motor);
    if (m->request)
        put_kept(w, sm_json_root(m->request), but);
    else
        SM_TRY(put_wishes(w, m, err));
    put_limits(w, m);
    sm_json_close(w);
    return SM_OK;
}

enum sm_status sm_needs_write_request(const struct sm_needs *needs, const char *path, struct sm_sink *sink,
                                      struct sm_error *err)
{
    const struct made *m = (const struct made *)(const void *)needs;
    struct sm_arena arena;
    struct sm_json_writer w;
    sm_arena_init(&arena, NULL);
    const char *folder = sm_data_folder(&arena, path);
    const char *motor = folder ? path_from(&arena, folder, m->path) : NULL;
    enum sm_status status = motor ? SM_OK : sm_fail(err, SM_E_NOMEM, "out of memory");
    sm_json_write_init(&w, sink);
    if (status == SM_OK)
        status = put_request(&w, m, motor, err);
    if (status == SM_OK)
        status = sm_json_write_end(&w, err);
    sm_arena_release(&arena);
    return status;
}
