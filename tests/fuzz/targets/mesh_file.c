/* Triangle meshes of a port: binary or written STL, told apart by the reader itself; the grain is made too. */
#include "fuzz.h"

#include <stdio.h>

static void run(const uint8_t *bytes, size_t n)
{
    char text[1024];
    struct sm_diag diag = {0};
    struct sm_motor *motor = NULL;
    const char *path = fuzz_file(bytes, n, ".stl");
    const int length =
        snprintf(text, sizeof text,
                 "{\"format\":\"slowmatch-motor/1\",\"name\":\"any\",\"propellant\":\"generic-g\","
                 "\"case\":{\"bore\":\"62 mm\",\"length\":\"130 mm\"},\"grains\":[{\"shape\":\"mesh\","
                 "\"outer_diameter\":\"60 mm\",\"length\":\"120 mm\",\"file\":\"%s\",\"file_unit\":\"1 "
                 "mm\",\"resolution\":8}],"
                 "\"nozzle\":{\"throat_diameter\":\"12 mm\",\"exit_diameter\":\"24 mm\"}}",
                 path);
    const enum sm_status status =
        sm_motor_parse(text, (size_t)length, "motor", fuzz_options(), NULL, &motor, &diag);
    fuzz_expect((status == SM_OK) == (motor != NULL), "a motor comes with success alone");
    if (motor) {
        struct sm_grain_facts facts;
        sm_motor_grain(motor, 0, &facts);
        fuzz_expect_finite(&facts.mass, 1, "mass");
        fuzz_expect_finite(&facts.area_mean, 1, "area");
        fuzz_expect(facts.mass > 0.0, "a grain has mass");
    }
    sm_motor_free(motor);
    sm_diag_release(&diag);
}

const struct fuzz_target fuzz_target_mesh_file = {"mesh_file", run};
