/* Loading vehicles with their motors. */
#include "app/data.h"
#include "base/pointer.h"
#include "base/text.h"
#include "input/read_params.h"
#include "input/read_propellant.h"
#include "vehicle/vehicle.h"

#include <string.h>

struct loading {
    struct sm_vehicle *vehicle;
    struct sm_json_doc *doc;
    struct sm_load_options options; /* of the motors: without the overrides, which are the vehicle's */
    const struct sm_load_options *given;
    const struct sm_context *context;
    const char *folder;
    struct sm_units *own;
    struct sm_diag *diag;
};

static enum sm_status report(const struct loading *l, struct sm_error *problem)
{
    if (l->doc)
        sm_json_locate(l->doc, problem);
    sm_diag_add(l->diag, problem);
    return problem->status;
}

/* An override into a section that may be left out starts it. */
static enum sm_status start_section(struct loading *l, const char *place, struct sm_error *err)
{
    static const char *const optional[] = {"aerodynamics", "site", "launch", "landing", "tolerances"};
    char pointer[SM_POINTER_MAX], first[SM_TOKEN_MAX];
    SM_TRY(sm_pointer_from_text(place, pointer, err));
    if (!sm_pointer_token(pointer, first) || sm_json_get(sm_json_root(l->doc), first))
        return SM_OK;
    for (size_t i = 0; i < SM_COUNT(optional); i++)
        if (strcmp(first, optional[i]) == 0)
            return sm_json_set(l->doc, first, "{}", "--set", err);
    return SM_OK;
}

static enum sm_status apply_overrides(struct loading *l)
{
    for (size_t i = 0; l->given && i < l->given->n_overrides; i++) {
        const struct sm_override *o = &l->given->overrides[i];
        struct sm_error err = {0};
        if (start_section(l, o->place, &err) == SM_OK &&
            sm_json_set(l->doc, o->place, o->value, "--set", &err) == SM_OK)
            continue;
        strcpy(err.at.file, "--set");
        if (err.at.line == 0) {
            err.at.line = err.at.column = err.caret = 1;
            sm_text_format(err.excerpt, sizeof err.excerpt, "%s=%s", o->place, o->value);
        }
        sm_diag_add(l->diag, &err);
        return err.status;
    }
    return SM_OK;
}

static enum sm_status read_spec(struct loading *l)
{
    static const char *const handled[] = {"format", NULL};
    struct sm_vehicle *v = l->vehicle;
    const struct sm_json *root = sm_json_root(l->doc);
    const size_t before = l->diag->n;
    struct sm_reader reader = {.arena = &v->arena, .units = l->options.units, .diag = l->diag};
    const struct sm_param_table table = {sm_vehicle_params, sm_n_vehicle_params, &v->spec};
    const enum sm_status format = sm_read_format(&reader, root, "", SM_VEHICLE_FORMAT);
    enum sm_status status = format;
    if (format == SM_OK || (sm_json_is(root, SM_JSON_OBJECT) && !sm_json_get(root, "format"))) {
        status = sm_read_params(&reader, root, "", &table, 1, handled);
        status = format != SM_OK ? format : status;
    }
    for (size_t i = before; i < l->diag->n; i++)
        sm_json_locate(l->doc, &l->diag->items[i]);
    return status;
}

/* A fault of naming the motor stands at its name; one within its file stands there. */
static enum sm_status load_motor(struct loading *l, size_t i)
{
    const struct sm_motor_group *group = (const struct sm_motor_group *)l->vehicle->spec.motors.items + i;
    const char *path = sm_data_seen_from(&l->vehicle->arena, l->folder, group->motor);
    struct sm_error err = {0};
    if (!path) {
        sm_fail(&err, SM_E_NOMEM, "out of memory");
        return report(l, &err);
    }
    struct sm_diag problems = {0};
    const enum sm_status status =
        sm_motor_load(path, &l->options, l->context, &l->vehicle->motors[i], &problems);
    for (size_t k = 0; k < problems.n; k++) {
        struct sm_error problem = problems.items[k];
        if (problem.status == SM_E_IO) {
            problem.at = (struct sm_loc){0};
            sm_at(&problem, problem.status, "/motors/%zu/motor", i);
            sm_json_locate(l->doc, &problem);
        }
        sm_diag_add(l->diag, &problem);
    }
    if (l->diag)
        l->diag->n_found += problems.n_found - problems.n;
    sm_diag_release(&problems);
    return status;
}

static enum sm_status load_motors(struct loading *l)
{
    struct sm_vehicle *v = l->vehicle;
    struct sm_error err = {0};
    v->motors = sm_arena_alloc(&v->arena, v->spec.motors.n, sizeof *v->motors);
    if (!v->motors) {
        sm_fail(&err, SM_E_NOMEM, "out of memory");
        return report(l, &err);
    }
    for (size_t i = 0; i < v->spec.motors.n; i++)
        SM_TRY(load_motor(l, i));
    if (sm_vehicle_settle(v, &err) != SM_OK || sm_vehicle_check(v, &err) != SM_OK)
        return report(l, &err);
    return SM_OK;
}

static enum sm_status load(struct loading *l, const char *path)
{
    struct sm_error err = {0};
    l->folder = l->vehicle->folder = sm_data_folder(&l->vehicle->arena, path);
    l->vehicle->path = sm_arena_strdup(&l->vehicle->arena, path);
    if (!l->folder || !l->vehicle->path) {
        sm_fail(&err, SM_E_NOMEM, "out of memory");
        return report(l, &err);
    }
    if (!l->options.units && sm_units_open(&l->own, &err) != SM_OK)
        return report(l, &err);
    l->options.units = l->options.units ? l->options.units : l->own;
    SM_TRY(apply_overrides(l));
    SM_TRY(read_spec(l));
    return load_motors(l);
}

static struct sm_vehicle *new_vehicle(const struct sm_context *context)
{
    struct sm_arena arena;
    sm_arena_init(&arena, context ? context->allocator : NULL);
    struct sm_vehicle *vehicle = sm_arena_alloc(&arena, 1, sizeof *vehicle);
    if (vehicle)
        vehicle->arena = arena;
    else
        sm_arena_release(&arena);
    return vehicle;
}

enum sm_status sm_vehicle_load(const char *path, const struct sm_load_options *options,
                               const struct sm_context *context, struct sm_vehicle **vehicle,
                               struct sm_diag *diag)
{
    struct sm_error err = {0};
    struct loading l = {.given = options, .context = context, .diag = diag};
    *vehicle = NULL;
    if (options) {
        l.options = *options;
        l.options.overrides = NULL;
        l.options.n_overrides = 0;
    }
    if (sm_json_read_file(path, &l.doc, &err) != SM_OK)
        return report(&l, &err);
    l.vehicle = new_vehicle(context);
    enum sm_status status =
        l.vehicle ? load(&l, path) : report(&l, (sm_fail(&err, SM_E_NOMEM, "out of memory"), &err));
    sm_units_free(l.own);
    sm_json_free(l.doc);
    if (status == SM_OK)
        *vehicle = l.vehicle;
    else
        sm_vehicle_free(l.vehicle);
    return status;
}

void sm_vehicle_free(struct sm_vehicle *vehicle)
{
    if (!vehicle)
        return;
    for (size_t i = 0; vehicle->motors && i < vehicle->spec.motors.n; i++)
        sm_motor_free(vehicle->motors[i]);
    struct sm_arena arena = vehicle->arena; /* the vehicle lives in its own arena */
    sm_arena_release(&arena);
}
