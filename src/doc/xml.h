/*
 * XML documents as trees of elements, found by local name whatever their namespace. The only code that reads with libxml2.
 *
 * Nothing is fetched, no external DTD is loaded and no entity is put in place.
 * Reference: W3C, Extensible Markup Language 1.0, fifth edition.
 */
#ifndef SM_DOC_XML_H
#define SM_DOC_XML_H

#include "base/arena.h"
#include "base/fail.h"

struct sm_xml;      /* a document */
struct sm_xml_node; /* an element; borrowed until its document is freed */

/* Returned: *xml, caller frees with sm_xml_free; NULL on failure. Status: SM_E_SYNTAX with line and column, SM_E_RANGE for
 * more than SM_MAX_XML_BYTES. */
enum sm_status sm_xml_parse(const char *text, size_t n, const char *name, struct sm_xml **xml,
                            struct sm_error *err) SM_MUST_CHECK;
void sm_xml_free(struct sm_xml *xml);

const struct sm_xml_node *sm_xml_root(const struct sm_xml *xml);
/* The first child element, and the next sibling, of that name; of any name if it is NULL. NULL: there is none; node may be
 * NULL. */
const struct sm_xml_node *sm_xml_first(const struct sm_xml_node *node, const char *name);
const struct sm_xml_node *sm_xml_next(const struct sm_xml_node *node, const char *name);
const char *sm_xml_name(const struct sm_xml_node *node);
int sm_xml_is(const struct sm_xml_node *node, const char *name); /* false for NULL */

/* In the arena; NULL if there is no such attribute, node is NULL or memory is out (the arena is then starved). */
const char *sm_xml_attribute(const struct sm_xml_node *node, const char *name, struct sm_arena *arena);
/* All text inside, without comments, blanks at the ends taken off; NULL if node is NULL or memory is out. */
const char *sm_xml_content(const struct sm_xml_node *node, struct sm_arena *arena);

/* Puts file and line of a node into err, behind sm_fail. Returns status. */
enum sm_status sm_xml_at(const struct sm_xml *xml, const struct sm_xml_node *node, enum sm_status status,
                         struct sm_error *err);

#endif
