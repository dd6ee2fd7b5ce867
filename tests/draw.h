/* Numbers drawn at random by programs that try many cases: the same for the same seed everywhere. */
#ifndef TESTS_DRAW_H
#define TESTS_DRAW_H

#include <stdint.h>

/* splitmix64 (Steele, Lea, Flood, OOPSLA 2014). */
static inline uint64_t draw_bits(uint64_t *state)
{
    uint64_t z = *state += 0x9E3779B97F4A7C15u;
    z = (z ^ z >> 30) * 0xBF58476D1CE4E5B9u;
    z = (z ^ z >> 27) * 0x94D049BB133111EBu;
    return z ^ z >> 31;
}

static inline double draw_uniform(uint64_t *state, double low, double high)
{
    return low + (high - low) * ((double)(draw_bits(state) >> 11) * 0x1p-53);
}

/* Both ends among them. */
static inline int draw_whole(uint64_t *state, int low, int high)
{
    return low + (int)(draw_bits(state) % (uint64_t)(high - low + 1));
}

#endif
