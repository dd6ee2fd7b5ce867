/*
 * Vectors of lanes. Whoever includes this says first how many go in one: LANE_WIDTH, 2, 4 or 8. Such a file is compiled once for each
 * set of instructions (num/laneset.h).
 *
 * Everything is written with + - * / and comparisons of whole vectors, without contraction, so that each set gives the same bits.
 * exp and log are our own for that reason and for speed: libm takes one number at a time.
 */
#ifndef SM_NUM_LANEMATH_H
#define SM_NUM_LANEMATH_H

#include <math.h>
#include <stdint.h>
#ifdef __SSE2__
#include <immintrin.h>
#endif

#ifndef LANE_WIDTH
#define LANE_WIDTH 2
#endif

/* The only typedefs of the library: vector types have no other name. */
typedef double vec __attribute__((vector_size(8 * LANE_WIDTH)));
typedef int64_t mask __attribute__((vector_size(8 * LANE_WIDTH)));
typedef uint64_t word __attribute__((vector_size(8 * LANE_WIDTH)));
typedef double vec_in_array __attribute__((vector_size(8 * LANE_WIDTH), aligned(8), may_alias));

#define LANE_INLINE static inline __attribute__((always_inline))

LANE_INLINE vec load(const double *from)
{
    return *(const vec_in_array *)from;
}

LANE_INLINE void store(double *to, vec x)
{
    *(vec_in_array *)to = x;
}

LANE_INLINE vec all(double x)
{
#if LANE_WIDTH == 8
    return (vec){x, x, x, x, x, x, x, x};
#elif LANE_WIDTH == 4
    return (vec){x, x, x, x};
#else
    return (vec){x, x};
#endif
}

/* a where m holds, else b. */
LANE_INLINE vec pick(mask m, vec a, vec b)
{
    return (vec)((m & (mask)a) | (~m & (mask)b));
}

/* One instruction, for these files are compiled without errno. */
LANE_INLINE vec root_of(vec x)
{
#if LANE_WIDTH == 8
    return (vec){sqrt(x[0]), sqrt(x[1]), sqrt(x[2]), sqrt(x[3]),
                 sqrt(x[4]), sqrt(x[5]), sqrt(x[6]), sqrt(x[7])};
#elif LANE_WIDTH == 4
    return (vec){sqrt(x[0]), sqrt(x[1]), sqrt(x[2]), sqrt(x[3])};
#else
    return (vec){sqrt(x[0]), sqrt(x[1])};
#endif
}

LANE_INLINE mask is_less(vec a, vec b)
{
    return (mask)(a < b);
}

LANE_INLINE mask is_at_most(vec a, vec b)
{
    return (mask)(a <= b);
}

/* One instruction each where there is one: it gives b unless a is the larger, or the smaller, as these do. */
LANE_INLINE vec larger(vec a, vec b)
{
#if LANE_WIDTH == 8 && defined __AVX512F__
    return (vec)_mm512_max_pd((__m512d)a, (__m512d)b);
#elif LANE_WIDTH == 4 && defined __AVX__
    return (vec)_mm256_max_pd((__m256d)a, (__m256d)b);
#elif LANE_WIDTH == 2 && defined __SSE2__
    return (vec)_mm_max_pd((__m128d)a, (__m128d)b);
#else
    return pick(is_less(b, a), a, b);
#endif
}

LANE_INLINE vec smaller(vec a, vec b)
{
#if LANE_WIDTH == 8 && defined __AVX512F__
    return (vec)_mm512_min_pd((__m512d)a, (__m512d)b);
#elif LANE_WIDTH == 4 && defined __AVX__
    return (vec)_mm256_min_pd((__m256d)a, (__m256d)b);
#elif LANE_WIDTH == 2 && defined __SSE2__
    return (vec)_mm_min_pd((__m128d)a, (__m128d)b);
#else
    return pick(is_less(a, b), a, b);
#endif
}

LANE_INLINE int any(mask m)
{
#if LANE_WIDTH == 8 && defined __AVX512F__
    return _mm512_test_epi64_mask((__m512i)m, (__m512i)m) != 0;
#elif LANE_WIDTH == 4 && defined __AVX__
    return _mm256_movemask_pd((__m256d)m) != 0;
#elif LANE_WIDTH == 2 && defined __SSE2__
    return _mm_movemask_pd((__m128d)m) != 0;
#else
    int64_t bits = 0;
    for (int i = 0; i < LANE_WIDTH; i++)
        bits |= m[i];
    return bits != 0;
#endif
}

/*
 * exp(x) = 2^k exp(r), |r| <= ln 2 / 2, by Taylor's sum to r^11, which errs by 7e-15; x is kept within +-700.
 * Adding 1.5 2^52 rounds to a whole number and leaves it in the low bits. Sums here go in pairs and pairs of pairs (Estrin's
 * scheme), for a step waits for each product in turn.
 */
LANE_INLINE vec exp_of(vec x)
{
    const vec magic = all(0x1.8p52);
    x = larger(all(-700.0), smaller(all(700.0), x));
    const vec shifted = x * 1.44269504088896340736 + magic, k = shifted - magic;
    const vec r = (x - k * 0x1.62e42feep-1) - k * 0x1.a39ef35793c76p-33;
    const vec r2 = r * r, r4 = r2 * r2;
    const vec a = (1.0 + r) + r2 * (0.5 + r * (1.0 / 6.0));
    const vec b = (1.0 / 24.0 + r * (1.0 / 120.0)) + r2 * (1.0 / 720.0 + r * (1.0 / 5040.0));
    const vec c = (1.0 / 40320.0 + r * (1.0 / 362880.0)) + r2 * (1.0 / 3628800.0 + r * (1.0 / 39916800.0));
    const vec sum = a + r4 * (b + r4 * c);
    return (vec)((word)sum + ((word)shifted << 52));
}

/* The same for 0 >= x >= -700 by the sum to r^7, which errs by 5e-9: enough for what fades away within a step. */
LANE_INLINE vec fade_of(vec x)
{
    const vec magic = all(0x1.8p52);
    const vec shifted = x * 1.44269504088896340736 + magic, k = shifted - magic;
    const vec r = (x - k * 0x1.62e42feep-1) - k * 0x1.a39ef35793c76p-33;
    const vec r2 = r * r;
    const vec a = (1.0 + r) + r2 * (0.5 + r * (1.0 / 6.0));
    const vec b = (1.0 / 24.0 + r * (1.0 / 120.0)) + r2 * (1.0 / 720.0 + r * (1.0 / 5040.0));
    const vec sum = a + (r2 * r2) * b;
    return (vec)((word)sum + ((word)shifted << 52));
}

/* log(x) = e ln 2 + 2 artanh((m - 1)/(m + 1)), m in [1/sqrt 2, sqrt 2), by its sum to the 17th power, which errs by 1e-15;
 * x > 0 and normal. */
LANE_INLINE vec log_of(vec x)
{
    const uint64_t root_half = 0x3fe6a09e667f3bcdu, bias = (uint64_t)1024 << 52, magic = 0x4338000000000000u;
    const word bits = (word)x, e = (bits - root_half + bias) >> 52;
    const vec m = (vec)(bits - ((e - 1024) << 52));
    const vec power = (vec)(e - 1024 + magic) - 0x1.8p52;
    const vec s = (m - 1.0) / (m + 1.0), z = s * s;
    const vec z2 = z * z, z4 = z2 * z2;
    const vec a = (2.0 + z * (2.0 / 3.0)) + z2 * (2.0 / 5.0 + z * (2.0 / 7.0));
    const vec b = (2.0 / 9.0 + z * (2.0 / 11.0)) + z2 * (2.0 / 13.0 + z * (2.0 / 15.0));
    const vec sum = a + z4 * (b + z4 * (2.0 / 17.0));
    return power * 0.69314718055994530942 + s * sum;
}

#endif
