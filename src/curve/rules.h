/* Classes, certification levels and legal thresholds. */
#ifndef SM_CURVE_RULES_H
#define SM_CURVE_RULES_H

#include "base/fail.h"
#include "slowmatch/curve.h"

#endif
