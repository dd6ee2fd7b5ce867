#include "grain/shape.h"
