/*
 * A table of comma-separated values, and metadata beside it.
 *
 * Reference: RFC 4180; W3C, Model for Tabular Data and Metadata on the Web, and Metadata Vocabulary for Tabular Data
 * (Recommendations, 2015). Neither defines units: they are given by UCUM code and by QUDT's name, whole addresses as
 * keys, since only the vocabularies built into the standard have prefixes. No comment lines: readers that don't expect
 * them take them for the header.
 */
#include "doc/json_write.h"
#include "export/lines.h"
#include "export/spelling.h"

#include "base/text.h"

#include <string.h>

static enum sm_status write(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err)
{
    enum sm_out places[SM_N_OUT];
    const size_t n = sm_lines_columns(e, places);
    for (size_t c = 0; c < n; c++)
        SM_TRY(sm_sink_format(sink, err, "%s%s", sm_out_columns[places[c]].name, c + 1 < n ? "," : "\r\n"));
    for (size_t i = 0; i < e->n; i++)
        SM_TRY(sm_lines_row(e, places, n, i, ",", "\r\n", sink, err));
    return SM_OK;
}

static void put_context(struct sm_json_writer *w)
{
    sm_json_put_key(w, "@context");
    sm_json_open_row(w);
    sm_json_put_string(w, "http://www.w3.org/ns/csvw");
    sm_json_open_object(w);
    sm_json_member_string(w, "@language", "en");
    sm_json_close(w);
    sm_json_close(w);
}

static void put_dialect(struct sm_json_writer *w)
{
    sm_json_put_key(w, "dialect");
    sm_json_open_object_row(w);
    sm_json_member_string(w, "encoding", "utf-8");
    sm_json_member_string(w, "delimiter", ",");
    sm_json_member_bool(w, "header", true);
    sm_json_member_string(w, "quoteChar", "\"");
    sm_json_member_bool(w, "doubleQuote", true);
    sm_json_close(w);
}

static void put_created(struct sm_json_writer *w, const char *date)
{
    sm_json_put_key(w, "dc:created");
    sm_json_open_object_row(w);
    sm_json_member_string(w, "@value", date);
    sm_json_member_string(w, "@type", "xsd:date");
    sm_json_close(w);
}

static void put_column(struct sm_json_writer *w, const struct sm_out_column *c)
{
    char title[96], unit[96];
    const struct sm_spelling *s = sm_spelling_of(c->dim);
    sm_text_format(title, sizeof title, "%s (%s)", c->title, sm_dim_unit(c->dim));
    sm_text_format(unit, sizeof unit, "http://qudt.org/vocab/unit/%s", s->qudt);
    sm_json_open_object(w);
    sm_json_member_string(w, "name", c->name);
    sm_json_put_key(w, "titles");
    sm_json_open_row(w);
    sm_json_put_string(w, c->name);
    sm_json_put_string(w, title);
    sm_json_close(w);
    sm_json_member_string(w, "datatype", "double");
    sm_json_member_bool(w, "required", true);
    sm_json_member_string(w, "dc:description", c->meaning);
    sm_json_put_key(w, "http://qudt.org/schema/qudt/hasUnit");
    sm_json_open_object_row(w);
    sm_json_member_string(w, "@id", unit);
    sm_json_close(w);
    sm_json_member_string(w, "http://qudt.org/schema/qudt/ucumCode", s->ucum);
    sm_json_close(w);
}

static void put_schema(struct sm_json_writer *w, const struct sm_export *e)
{
    enum sm_out places[SM_N_OUT];
    const size_t n = sm_lines_columns(e, places);
    sm_json_member_object(w, "tableSchema");
    sm_json_member_string(w, "primaryKey", "time");
    sm_json_member_array(w, "columns");
    for (size_t c = 0; c < n; c++)
        put_column(w, &sm_out_columns[places[c]]);
    sm_json_close(w);
    sm_json_close(w);
}

/* Facts as one object; numbers with their UCUM code. */
static void put_notes(struct sm_json_writer *w, const struct sm_export *e)
{
    sm_json_member_array(w, "notes");
    sm_json_open_object(w);
    for (size_t i = 0; i < e->n_facts; i++) {
        const struct sm_fact *f = &e->facts[i];
        if (f->text) {
            sm_json_member_string(w, f->key, f->text);
            continue;
        }
        sm_json_put_key(w, f->key);
        sm_json_open_object_row(w);
        sm_json_member_number(w, "value", f->number);
        sm_json_member_string(w, "unit", sm_spelling_of(f->dim)->ucum);
        sm_json_close(w);
    }
    sm_json_close(w);
    sm_json_close(w);
}

/* A file name as a relative address (RFC 3986): what is not unreserved stands as its bytes in percent. */
static const char *address_of(const char *name, char *buf, size_t size)
{
    static const char plain[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-._~";
    size_t n = 0;
    for (; *name != '\0' && n + 4 < size; name++)
        if (strchr(plain, *name))
            buf[n++] = *name;
        else
            n += (size_t)sm_text_format(buf + n, size - n, "%%%02X", (unsigned)(unsigned char)*name);
    buf[n] = '\0';
    return buf;
}

static enum sm_status write_metadata(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err)
{
    struct sm_json_writer w;
    char title[256], name[256], url[1024];
    const struct sm_fact *standing = sm_facts_find(e, "standing");
    sm_text_format(title, sizeof title, "%.200s: thrust curve", e->name);
    sm_text_format(name, sizeof name, "%.200s.csv", e->identifier);
    sm_json_write_init(&w, sink);
    sm_json_open_object(&w);
    put_context(&w);
    sm_json_member_string(&w, "url",
                          address_of(e->options.file_name ? e->options.file_name : name, url, sizeof url));
    sm_json_member_string(&w, "dc:title", title);
    sm_json_member_string(&w, "dc:description", standing ? standing->text : NULL);
    if (e->options.date)
        put_created(&w, e->options.date);
    sm_json_member_string(&w, "dc:creator", sm_facts_find(e, "program")->text);
    put_dialect(&w);
    put_schema(&w, e);
    put_notes(&w, e);
    sm_json_close(&w);
    return sm_json_write_end(&w, err);
}

const struct sm_format sm_format_csv_on_web = {
    .name = "csvw",
    .summary =
        "comma-separated values (RFC 4180) with W3C metadata beside them, for spreadsheets and scripts",
    .ending = ".csv",
    .companion = "-metadata.json",
    .write = write,
    .write_companion = write_metadata,
};
