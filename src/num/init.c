/* The one switch that GSL forces on the whole process. */
#include "slowmatch/context.h"

#include <gsl/gsl_errno.h>

void sm_init(void)
{
    gsl_set_error_handler_off();
}
