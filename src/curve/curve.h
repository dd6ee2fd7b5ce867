/* A thrust curve as samples. It knows nothing of motors: measured, bought and computed curves are all this. */
#ifndef SM_CURVE_CURVE_H
#define SM_CURVE_CURVE_H

#include "base/fail.h"
#include "slowmatch/curve.h"

#endif
