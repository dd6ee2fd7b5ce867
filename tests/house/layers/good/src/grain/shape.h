#include "base/fail.h"
