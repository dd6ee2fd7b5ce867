/* Impulse classes. */
#ifndef SM_CURVE_IMPULSE_H
#define SM_CURVE_IMPULSE_H

#include "base/fail.h"
#include "slowmatch/curve.h"

#endif
