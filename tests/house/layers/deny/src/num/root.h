#include "stdio.h"
