#include <cairo.h>
#include <cairo/cairo-svg.h>
#include "grain/shape.h"
