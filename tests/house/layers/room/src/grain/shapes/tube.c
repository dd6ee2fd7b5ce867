#include "../../view/drawing.h"
#include <view/drawing.h>
