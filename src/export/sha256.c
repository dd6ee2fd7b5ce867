#include "export/sha256.h"
#include "doc/textfile.h"
#include "slowmatch/export.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

/* First 32 bits of the fractional parts of the cube roots of the first 64 primes. */
static const uint32_t constants[64] = {
    0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
    0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
    0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
    0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
    0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
    0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
    0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
    0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2};

static uint32_t rotate(uint32_t x, int by)
{
    return x >> by | x << (32 - by);
}

static void expand(const unsigned char *block, uint32_t w[64])
{
    for (int t = 0; t < 16; t++)
        w[t] = (uint32_t)block[4 * t] << 24 | (uint32_t)block[4 * t + 1] << 16 |
               (uint32_t)block[4 * t + 2] << 8 | block[4 * t + 3];
    for (int t = 16; t < 64; t++) {
        const uint32_t a = w[t - 15], b = w[t - 2];
        w[t] = (rotate(b, 17) ^ rotate(b, 19) ^ b >> 10) + w[t - 7] +
               (rotate(a, 7) ^ rotate(a, 18) ^ a >> 3) + w[t - 16];
    }
}

/* The letters are those of the standard's section 6.2.2. */
static void take_block(struct sm_sha256 *hash, const unsigned char *block)
{
    uint32_t w[64], s[8];
    expand(block, w);
    memcpy(s, hash->state, sizeof s);
    for (int t = 0; t < 64; t++) {
        const uint32_t a = s[0], e = s[4];
        const uint32_t t1 = s[7] + (rotate(e, 6) ^ rotate(e, 11) ^ rotate(e, 25)) +
                            ((e & s[5]) ^ (~e & s[6])) + constants[t] + w[t];
        const uint32_t t2 =
            (rotate(a, 2) ^ rotate(a, 13) ^ rotate(a, 22)) + ((a & s[1]) ^ (a & s[2]) ^ (s[1] & s[2]));
        memmove(s + 1, s, 7 * sizeof *s);
        s[4] += t1;
        s[0] = t1 + t2;
    }
    for (int i = 0; i < 8; i++)
        hash->state[i] += s[i];
}

void sm_sha256_init(struct sm_sha256 *hash)
{
    /* First 32 bits of the fractional parts of the square roots of the first 8 primes. */
    static const uint32_t start[8] = {0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a,
                                      0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19};
    *hash = (struct sm_sha256){0};
    memcpy(hash->state, start, sizeof start);
}

void sm_sha256_add(struct sm_sha256 *hash, const void *bytes, size_t n)
{
    const unsigned char *from = bytes;
    while (n > 0) {
        const size_t used = (size_t)(hash->n % sizeof hash->block), room = sizeof hash->block - used;
        const size_t now = n < room ? n : room;
        memcpy(hash->block + used, from, now);
        hash->n += now;
        from += now;
        n -= now;
        if (now == room)
            take_block(hash, hash->block);
    }
}

void sm_sha256_end(struct sm_sha256 *hash, unsigned char digest[SM_SHA256_BYTES])
{
    static const unsigned char padding[64] = {0x80};
    const uint64_t bits = 8 * hash->n;
    const size_t used = (size_t)(hash->n % 64);
    unsigned char length[8];
    for (int i = 0; i < 8; i++)
        length[i] = (unsigned char)(bits >> (56 - 8 * i));
    sm_sha256_add(hash, padding, used < 56 ? 56 - used : 120 - used);
    sm_sha256_add(hash, length, sizeof length);
    for (int i = 0; i < SM_SHA256_BYTES; i++)
        digest[i] = (unsigned char)(hash->state[i / 4] >> (24 - 8 * (i % 4)));
}

void sm_sha256_hex(const unsigned char digest[SM_SHA256_BYTES], char hex[2 * SM_SHA256_BYTES + 1])
{
    static const char digits[] = "0123456789abcdef";
    for (int i = 0; i < SM_SHA256_BYTES; i++) {
        hex[2 * i] = digits[digest[i] >> 4];
        hex[2 * i + 1] = digits[digest[i] & 15];
    }
    hex[2 * SM_SHA256_BYTES] = '\0';
}

enum sm_status sm_hash_file(const char *path, char hex[SM_HASH_TEXT], struct sm_error *err)
{
    struct sm_sha256 hash;
    unsigned char digest[SM_SHA256_BYTES], buffer[8192];
    size_t n;
    FILE *file = fopen(path, "rb");
    if (!file)
        return sm_textfile_fail(path, errno, err);
    sm_sha256_init(&hash);
    while ((n = fread(buffer, 1, sizeof buffer, file)) > 0)
        sm_sha256_add(&hash, buffer, n);
    const int bad = ferror(file);
    fclose(file);
    if (bad)
        return sm_textfile_fail(path, EIO, err);
    sm_sha256_end(&hash, digest);
    sm_sha256_hex(digest, hex);
    return SM_OK;
}
