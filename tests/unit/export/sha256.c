/* Messages and digests: FIPS 180-4's example messages (NIST, "SHA-256" example file: abc and the 448-bit message); the
 * empty message and the million letters a from the NIST test vectors of the same algorithm. */
#include "export/sha256.h"

#include <criterion/criterion.h>
#include <string.h>

static const char *digest_of(const char *text, size_t n, size_t piece, char hex[65])
{
    struct sm_sha256 hash;
    unsigned char digest[SM_SHA256_BYTES];
    sm_sha256_init(&hash);
    for (size_t i = 0; i < n; i += piece)
        sm_sha256_add(&hash, text + i, n - i < piece ? n - i : piece);
    sm_sha256_end(&hash, digest);
    sm_sha256_hex(digest, hex);
    return hex;
}

Test(sha256, published_messages_give_the_published_digests)
{
    static const struct {
        const char *text, *digest;
    } rows[] = {{"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"},
                {"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"},
                {"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
                 "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"}};
    char hex[65];
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        cr_expect_str_eq(digest_of(rows[i].text, strlen(rows[i].text), 64, hex), rows[i].digest);
}

Test(sha256, pieces_of_any_size_add_up)
{
    static char text[1000000];
    char hex[65];
    memset(text, 'a', sizeof text);
    static const size_t pieces[] = {1, 55, 56, 63, 64, 65, 1000, sizeof text};
    for (size_t i = 0; i < sizeof pieces / sizeof pieces[0]; i++)
        cr_expect_str_eq(digest_of(text, sizeof text, pieces[i], hex),
                         "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}
