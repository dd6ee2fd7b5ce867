#include "base/fail.h"
#include "grain/shape.h"
