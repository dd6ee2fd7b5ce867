/* What geometry must be, whatever the grain it came from. */
#ifndef FUZZ_GRAINS_H
#define FUZZ_GRAINS_H

#include "grain/shape.h"

/* Makes the grain's geometry and, if there is one, holds it to the laws. */
void fuzz_burn_back(struct sm_arena *arena, const struct sm_shape *shape,
                    const struct sm_grain_common *common, const void *params);

#endif
