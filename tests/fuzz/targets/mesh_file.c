/* Triangle meshes of a port: binary or written STL, told apart by the reader itself; the grain is made too. */
#include "fuzz.h"

static void run(const uint8_t *bytes, size_t n)
{
    fuzz_grain_of_file("mesh", fuzz_file(bytes, n, ".stl"), ",\"resolution\":8");
}

const struct fuzz_target fuzz_target_mesh_file = {"mesh_file", run};
