/* Who may ask. The attacks are those of common practice: another site's name led to this address (DNS rebinding), a request
 * from another site's page, a guessed address. No source. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "web/guard.h"

Test(guard, takes_only_loopback_names_with_its_own_port)
{
    cr_assert(web_host_is_ours("127.0.0.1:8123", 8123));
    cr_assert(web_host_is_ours("LOCALHOST:8123", 8123));
    static const char *const others[] = {
        "127.0.0.1", "127.0.0.1:8124",  "evil.example:8123", "127.0.0.1:8123.evil.example", "127.0.0.1:81230",
        "",          "localhost:8123 ", "[::1]:8123"};
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++)
        cr_assert_not(web_host_is_ours(others[i], 8123), "%s", others[i]);
    cr_assert_not(web_host_is_ours(NULL, 8123));
}

Test(guard, takes_only_pages_of_its_own)
{
    cr_assert(web_origin_is_ours("http://127.0.0.1:8123", 8123));
    static const char *const others[] = {"https://127.0.0.1:8123", "http://127.0.0.1",       "null",
                                         "http://evil.example",    "http://127.0.0.1:8123/", "file://"};
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++)
        cr_assert_not(web_origin_is_ours(others[i], 8123), "%s", others[i]);
    cr_assert_not(web_origin_is_ours(NULL, 8123));
}

Test(guard, takes_only_its_own_address)
{
    char token[WEB_TOKEN_TEXT], other[WEB_TOKEN_TEXT], url[200];
    cr_assert(web_token_make(token) && web_token_make(other));
    cr_assert_eq(strlen(token), 2 * WEB_TOKEN_BYTES);
    cr_assert_str_neq(token, other);
    snprintf(url, sizeof url, "/%s/trial", token);
    cr_assert_str_eq(web_token_path(token, url), "trial");
    cr_assert_null(web_token_path(other, url));
    snprintf(url, sizeof url, "/%s", token);
    cr_assert_null(web_token_path(token, url));
    snprintf(url, sizeof url, "/%sx/", token);
    cr_assert_null(web_token_path(token, url));
    cr_assert_null(web_token_path(token, "/"));
    cr_assert_null(web_token_path(token, ""));
}
