#include "slowmatch/error.h"
#include <locale.h>
#include <stdio.h>
