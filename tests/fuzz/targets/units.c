/* Quantities with units. The first byte is the dimension. */
#include "fuzz.h"

#include <math.h>
#include <string.h>

static void run(const uint8_t *bytes, size_t n)
{
    char text[256];
    double si = 0.0;
    if (n < 1 || n > sizeof text)
        return;
    memcpy(text, bytes + 1, n - 1);
    text[n - 1] = '\0';
    if (sm_units_parse(fuzz_units(), text, (enum sm_dim)(bytes[0] % SM_DIM_COUNT), &si, NULL) == SM_OK)
        fuzz_expect(isfinite(si), "a quantity is finite");
}

const struct fuzz_target fuzz_target_units = {"units", run};
