#include "doc/xml_write.h"

#include <string.h>

enum sm_status sm_xml_text(struct sm_sink *sink, const char *text, struct sm_error *err)
{
    static const char marks[] = "&<>\"";
    static const char *const names[] = {"&amp;", "&lt;", "&gt;", "&quot;"};
    for (;;) {
        const size_t n = strcspn(text, marks);
        SM_TRY(sm_sink_bytes(sink, text, n, err));
        if (text[n] == '\0')
            return SM_OK;
        SM_TRY(sm_sink_text(sink, names[strchr(marks, text[n]) - marks], err));
        text += n + 1;
    }
}
