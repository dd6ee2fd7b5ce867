/*
 * XML as it is read: what an attacker may put into it (W3C, Extensible Markup Language 1.0, section 4; MITRE, CWE-611,
 * CWE-776 and CWE-827) and what is refused.
 */
#include "doc/xml.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "slowmatch/limits.h"

/* Text of the root element, in text[size]; empty if the document is refused. */
static enum sm_status content(const char *document, char *text, size_t size)
{
    struct sm_xml *xml;
    struct sm_arena arena;
    struct sm_error err = {0};
    text[0] = '\0';
    const enum sm_status status = sm_xml_parse(document, strlen(document), "case", &xml, &err);
    if (status != SM_OK)
        return status;
    sm_arena_init(&arena, NULL);
    snprintf(text, size, "%s", sm_xml_content(sm_xml_root(xml), &arena));
    sm_arena_release(&arena);
    sm_xml_free(xml);
    return SM_OK;
}

Test(xml, nothing_from_outside_is_put_in)
{
    char path[] = "/tmp/xml-XXXXXX", document[512], text[256];
    const int fd = mkstemp(path);
    cr_assert(fd >= 0 && write(fd, "a secret", 8) == 8);
    close(fd);
    snprintf(document, sizeof document, "<!DOCTYPE a [<!ENTITY e SYSTEM \"file://%s\">]><a>x &e; y</a>",
             path);
    content(document, text, sizeof text);
    cr_expect(!strstr(text, "secret"), "%s", text);
    snprintf(document, sizeof document, "<!DOCTYPE a SYSTEM \"file://%s\"><a>x</a>", path);
    cr_expect(content(document, text, sizeof text) == SM_OK && strcmp(text, "x") == 0, "%s", text);
    snprintf(document, sizeof document, "<!DOCTYPE a [<!ENTITY %% p SYSTEM \"file://%s\">%%p;]><a>x</a>",
             path);
    content(document, text, sizeof text);
    cr_expect(!strstr(text, "secret"), "%s", text);
    unlink(path);
}

/* Ten entities of ten each: ten thousand million letters, were they put in place. */
Test(xml, entities_do_not_grow, .timeout = 10)
{
    char document[4096], text[65536];
    size_t n = (size_t)sprintf(document, "<!DOCTYPE a [<!ENTITY e0 \"ha\">");
    for (int i = 1; i <= 10; i++) {
        n += (size_t)sprintf(document + n, "<!ENTITY e%d \"", i);
        for (int k = 0; k < 10; k++)
            n += (size_t)sprintf(document + n, "&e%d;", i - 1);
        n += (size_t)sprintf(document + n, "\">");
    }
    sprintf(document + n, "]><a>&e10;</a>");
    content(document, text, sizeof text);
    cr_expect(strlen(text) < 1000, "%zu bytes came of it", strlen(text));
}

Test(xml, faults_have_a_place_and_size_has_a_limit)
{
    static const char *const bad[] = {"",         " ",   "<a>", "<a></b>", "<a b=1/>", "<a>&none;</a>",
                                      "<a/><b/>", "text"};
    for (size_t i = 0; i < SM_COUNT(bad); i++) {
        struct sm_xml *xml;
        struct sm_error err = {0};
        cr_expect_eq(sm_xml_parse(bad[i], strlen(bad[i]), "case", &xml, &err), SM_E_SYNTAX, "%s", bad[i]);
        cr_expect(err.message[0] != '\0' && strcmp(err.at.file, "case") == 0, "%s", bad[i]);
        cr_expect_null(xml);
    }
    const size_t n = (size_t)SM_MAX_XML_BYTES + 1;
    char *text = malloc(n);
    struct sm_xml *xml;
    struct sm_error err = {0};
    memset(text, ' ', n);
    cr_expect_eq(sm_xml_parse(text, n, "case", &xml, &err), SM_E_RANGE);
    cr_expect(strstr(err.message, "an XML file may have"), "%s", err.message);
    free(text);
}
