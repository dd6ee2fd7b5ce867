#include "num/laneset.h"

enum sm_lane_set sm_lane_set_best(void)
{
#ifdef SM_LANES_X86
    if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq"))
        return SM_LANE_AVX512;
    if (__builtin_cpu_supports("avx2"))
        return SM_LANE_AVX2;
#endif
    return SM_LANE_PLAIN;
}
