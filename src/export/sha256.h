/* SHA-256, for provenance. Reference: FIPS 180-4 (2015), sections 4.1.2, 5.1.1 and 6.2. */
#ifndef SM_EXPORT_SHA256_H
#define SM_EXPORT_SHA256_H

#include <stddef.h>
#include <stdint.h>

enum { SM_SHA256_BYTES = 32 };

struct sm_sha256 {
    uint32_t state[8];
    uint64_t n; /* bytes taken */
    unsigned char block[64];
};

void sm_sha256_init(struct sm_sha256 *hash);
void sm_sha256_add(struct sm_sha256 *hash, const void *bytes, size_t n);
void sm_sha256_end(struct sm_sha256 *hash, unsigned char digest[SM_SHA256_BYTES]);

/* The digest as 64 lower-case hexadecimal digits and a NUL. */
void sm_sha256_hex(const unsigned char digest[SM_SHA256_BYTES], char hex[2 * SM_SHA256_BYTES + 1]);

#endif
