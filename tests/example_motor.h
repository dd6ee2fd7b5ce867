/* Loads a motor of examples/ for programs that take the source folder's path. */
#ifndef TESTS_EXAMPLE_MOTOR_H
#define TESTS_EXAMPLE_MOTOR_H

#include <stdio.h>

#include "slowmatch/slowmatch.h"

/* Given: overrides, n of them. Returned: NULL, and why on standard error, if it can't be read. */
static inline struct sm_motor *example_motor(const char *folder, const char *file,
                                             const struct sm_override *overrides, size_t n)
{
    char path[1024], propellants[1024];
    struct sm_motor *motor = NULL;
    struct sm_diag diag = {0};
    snprintf(path, sizeof path, "%s/examples/%s", folder, file);
    snprintf(propellants, sizeof propellants, "%s/propellants", folder);
    const struct sm_load_options options = {
        .overrides = overrides, .n_overrides = n, .propellant_folder = propellants};
    if (sm_motor_load(path, &options, NULL, &motor, &diag) != SM_OK)
        fprintf(stderr, "%s: %s\n", path, diag.n > 0 ? diag.items[0].message : "?");
    sm_diag_release(&diag);
    return motor;
}

#endif
