#include "../shape.h"
#include "grain/shape.h"
#include "num/root.h"
