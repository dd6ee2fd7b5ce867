#include "app/curve_motor.h"
#include "input/read_curve.h"

#include <string.h>

enum sm_status sm_curve_motor_fill(struct sm_motor *motor, const char *path,
                                   const struct sm_load_options *options, struct sm_units *units,
                                   struct sm_error *err)
{
    static const struct sm_curve_columns usual;
    struct sm_motor_spec *spec = &motor->spec;
    if (options && options->n_overrides > 0)
        return sm_fail(err, SM_E_FIELD, "values are set in motor files; this is a curve alone");
    spec->is_curve = 1;
    const char *slash = strrchr(path, '/');
    spec->name = sm_arena_strdup(&motor->arena, slash ? slash + 1 : path);
    if (!spec->name)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    sm_params_default(sm_conditions_params, sm_n_conditions_params, &spec->conditions);
    sm_params_default(sm_bare_curve_params, sm_n_bare_curve_params, &spec->bare);
    struct sm_bare_curve *bare = &spec->bare;
    struct sm_curve_masses masses;
    bare->length = bare->diameter = bare->delay = SM_ABSENT;
    SM_TRY(sm_read_curve_file(&motor->arena, units, path, &usual, &bare->curve, &masses, err));
    bare->propellant_mass = masses.propellant;
    bare->loaded_mass = masses.loaded;
    bare->center_of_mass_loaded = masses.center_loaded;
    bare->center_of_mass_empty = masses.center_empty;
    return sm_motor_assemble(motor, err);
}
