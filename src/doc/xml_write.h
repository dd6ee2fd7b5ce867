/* Text into XML. Reference: W3C, Extensible Markup Language 1.0, fifth edition, sections 2.4 and 4.6. */
#ifndef SM_DOC_XML_WRITE_H
#define SM_DOC_XML_WRITE_H

#include "base/sink.h"

/* UTF-8 text without control characters, as content or inside double quotes: & < > " are escaped. */
enum sm_status sm_xml_text(struct sm_sink *sink, const char *text, struct sm_error *err) SM_MUST_CHECK;

#endif
