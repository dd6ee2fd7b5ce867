#include "doc/xml.h"
#include "doc/place.h"
#include "slowmatch/limits.h"

#include <ctype.h>
#include <libxml/parser.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

struct sm_xml {
    xmlDoc *doc;
    char *name;
};

/* What the library would print. It tells of memory in no other way than this. */
static void hear(void *is_starved, const xmlError *e)
{
    if (e && e->code == XML_ERR_NO_MEMORY)
        *(bool *)is_starved = true;
}

/* The library's calls with complaints heard, not printed. Whoever listens is kept by it for each thread alone. */
struct listening {
    xmlStructuredErrorFunc before;
    void *user;
    bool is_starved;
};

static void listen(struct listening *l)
{
    l->before = xmlStructuredError;
    l->user = xmlStructuredErrorContext;
    l->is_starved = false;
#if LIBXML_VERSION < 21200 /* the error was not const before */
    xmlSetStructuredErrorFunc(&l->is_starved, (xmlStructuredErrorFunc)(void (*)(void))hear);
#else
    xmlSetStructuredErrorFunc(&l->is_starved, hear);
#endif
}

/* Returned: was memory out? */
static bool stop_listening(const struct listening *l)
{
    xmlSetStructuredErrorFunc(l->user, l->before);
    return l->is_starved;
}

/* The library's last complaint as ours. */
static enum sm_status complain(xmlParserCtxt *context, const char *name, struct sm_error *err)
{
    const xmlError *e = xmlCtxtGetLastError(context);
    const int length = e && e->message ? (int)strcspn(e->message, "\n") : 0;
    sm_fail(err, SM_E_SYNTAX, "not well-formed XML: %.*s", length, length ? e->message : "");
    if (err) {
        sm_place_file(err, name);
        err->at.line = e && e->line > 0 ? (unsigned)e->line : 0;
        err->at.column = e && e->int2 > 0 ? (unsigned)e->int2 : 0;
    }
    return SM_E_SYNTAX;
}

static enum sm_status read(struct sm_xml *xml, const char *text, size_t n, struct sm_error *err)
{
    const int options = XML_PARSE_NONET | XML_PARSE_NOWARNING | XML_PARSE_NOCDATA;
    struct listening listening;
    listen(&listening);
    xmlParserCtxt *context = xmlNewParserCtxt();
    if (context)
        xml->doc = xmlCtxtReadMemory(context, text, (int)n, NULL, NULL, options);
    enum sm_status status = SM_OK;
    if (stop_listening(&listening) || !context)
        status = sm_fail(err, SM_E_NOMEM, "out of memory");
    else if (!xml->doc || !xmlDocGetRootElement(xml->doc))
        status = complain(context, xml->name, err);
    xmlFreeParserCtxt(context);
    return status;
}

enum sm_status sm_xml_parse(const char *text, size_t n, const char *name, struct sm_xml **out,
                            struct sm_error *err)
{
    *out = NULL;
    if (n > SM_MAX_XML_BYTES) {
        sm_fail(err, SM_E_RANGE, "an XML file may have %d bytes at most", SM_MAX_XML_BYTES);
        if (err)
            sm_place_file(err, name);
        return SM_E_RANGE;
    }
    struct sm_xml *xml = calloc(1, sizeof *xml);
    if (xml)
        xml->name = strdup(name);
    enum sm_status status =
        xml && xml->name ? read(xml, text, n, err) : sm_fail(err, SM_E_NOMEM, "out of memory");
    if (status == SM_OK)
        *out = xml;
    else
        sm_xml_free(xml);
    return status;
}

void sm_xml_free(struct sm_xml *xml)
{
    if (!xml)
        return;
    xmlFreeDoc(xml->doc);
    free(xml->name);
    free(xml);
}

/* A node as the library knows it; it takes no pointers to const. */
static xmlNode *inside(const struct sm_xml_node *node)
{
    union {
        const struct sm_xml_node *ours;
        xmlNode *theirs;
    } both = {node};
    return both.theirs;
}

static const struct sm_xml_node *outside(const xmlNode *node)
{
    return (const struct sm_xml_node *)(const void *)node;
}

const struct sm_xml_node *sm_xml_root(const struct sm_xml *xml)
{
    return outside(xmlDocGetRootElement(xml->doc));
}

/* This node or the next sibling that is an element of that name. */
static const struct sm_xml_node *from(const xmlNode *node, const char *name)
{
    for (; node; node = node->next)
        if (node->type == XML_ELEMENT_NODE && (!name || strcmp((const char *)node->name, name) == 0))
            return outside(node);
    return NULL;
}

const struct sm_xml_node *sm_xml_first(const struct sm_xml_node *node, const char *name)
{
    return node ? from(inside(node)->children, name) : NULL;
}

const struct sm_xml_node *sm_xml_next(const struct sm_xml_node *node, const char *name)
{
    return node ? from(inside(node)->next, name) : NULL;
}

const char *sm_xml_name(const struct sm_xml_node *node)
{
    return (const char *)inside(node)->name;
}

int sm_xml_is(const struct sm_xml_node *node, const char *name)
{
    return node && strcmp(sm_xml_name(node), name) == 0;
}

/* Takes over a text of the library's, without blanks at its ends. */
static const char *keep(xmlChar *text, const struct listening *listening, struct sm_arena *arena)
{
    if (stop_listening(listening))
        arena->is_starved = 1;
    if (!text)
        return NULL;
    const char *start = (const char *)text;
    while (isspace((unsigned char)*start))
        start++;
    char *copy = sm_arena_strdup(arena, start);
    for (size_t n = copy ? strlen(copy) : 0; n > 0 && isspace((unsigned char)copy[n - 1]); n--)
        copy[n - 1] = '\0';
    xmlFree(text);
    return copy;
}

const char *sm_xml_attribute(const struct sm_xml_node *node, const char *name, struct sm_arena *arena)
{
    struct listening listening;
    if (!node)
        return NULL;
    listen(&listening);
    return keep(xmlGetNoNsProp(inside(node), (const xmlChar *)name), &listening, arena);
}

const char *sm_xml_content(const struct sm_xml_node *node, struct sm_arena *arena)
{
    struct listening listening;
    if (!node)
        return NULL;
    listen(&listening);
    return keep(xmlNodeGetContent(inside(node)), &listening, arena);
}

enum sm_status sm_xml_at(const struct sm_xml *xml, const struct sm_xml_node *node, enum sm_status status,
                         struct sm_error *err)
{
    if (!err)
        return status;
    sm_place_file(err, xml->name);
    const long line = node ? xmlGetLineNo(inside(node)) : 0;
    err->at.line = line > 0 ? (unsigned)line : 0;
    return status;
}
