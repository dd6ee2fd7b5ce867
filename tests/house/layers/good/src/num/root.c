#include "base/fail.h"
#  include <gsl/gsl_errno.h> /* the solver; [not] the matrices */
#include <math.h>
#include <nlopt.h>
