#include "export/fmu_parts.h"

const char sm_fmu_platform[] = SM_FMU_PLATFORM;
