/* Sets of vector instructions: what is written in num/lanemath.h is compiled for each, and the best that is there is taken. */
#ifndef SM_NUM_LANESET_H
#define SM_NUM_LANESET_H

/* In rising order. Elsewhere than on x86-64 only the plain one is compiled. */
enum sm_lane_set { SM_LANE_PLAIN, SM_LANE_AVX2, SM_LANE_AVX512, SM_LANE_SETS };

/* The best that this machine has. */
enum sm_lane_set sm_lane_set_best(void);

#endif
