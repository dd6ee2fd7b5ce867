#include <stdio.h>
#include <udunits2/udunits2.h>
