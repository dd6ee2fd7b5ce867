#include <gsl/gsl_math.h>
