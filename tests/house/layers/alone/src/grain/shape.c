#include <gsl/gsl_errno.h>
#include <nlopt.h>
#include <cairo-svg.h>
#include "udunits2/udunits2.h"
