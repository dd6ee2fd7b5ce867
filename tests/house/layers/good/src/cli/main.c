#include "option.h"
#include "slowmatch/error.h"
