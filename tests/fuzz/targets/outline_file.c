/* Drawings of a grain's outline: SVG if the input begins with '<', else a CSV of points; the grain is made too. */
#include "fuzz.h"

static void run(const uint8_t *bytes, size_t n)
{
    fuzz_grain_of_file("outline", fuzz_file(bytes, n, n > 0 && bytes[0] == '<' ? ".svg" : ".csv"), "");
}

const struct fuzz_target fuzz_target_outline_file = {"outline_file", run};
