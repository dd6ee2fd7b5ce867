/*
 * A MAT-file of level 4: matrices one behind the other, each a header of five whole numbers, a name and doubles column by
 * column.
 *
 * Reference: MathWorks, MAT-File Format (level 4 layout, public). Names have at most 19 letters, for the oldest readers;
 * all is little-endian. Text is a matrix whose numbers are characters.
 */
#include "base/text.h"
#include "export/lines.h"

#include <stdint.h>
#include <string.h>

enum { NUMBERS, TEXT }; /* types of a matrix */

static void put_whole(unsigned char *to, uint32_t value)
{
    for (int i = 0; i < 4; i++)
        to[i] = (unsigned char)(value >> (8 * i));
}

static enum sm_status put_header(struct sm_sink *sink, const char *name, int type, size_t rows,
                                 size_t columns, struct sm_error *err)
{
    unsigned char header[20];
    const uint32_t values[5] = {(uint32_t)type, (uint32_t)rows, (uint32_t)columns, 0,
                                (uint32_t)strlen(name) + 1};
    for (int i = 0; i < 5; i++)
        put_whole(header + 4 * i, values[i]);
    SM_TRY(sm_sink_bytes(sink, (const char *)header, sizeof header, err));
    return sm_sink_bytes(sink, name, strlen(name) + 1, err);
}

static enum sm_status put_doubles(struct sm_sink *sink, const double *values, size_t n, struct sm_error *err)
{
    unsigned char bytes[8 * 128];
    size_t used = 0;
    for (size_t i = 0; i < n; i++) {
        uint64_t bits;
        memcpy(&bits, &values[i], sizeof bits);
        put_whole(bytes + used, (uint32_t)bits);
        put_whole(bytes + used + 4, (uint32_t)(bits >> 32));
        used += 8;
        if (used == sizeof bytes || i + 1 == n) {
            SM_TRY(sm_sink_bytes(sink, (const char *)bytes, used, err));
            used = 0;
        }
    }
    return SM_OK;
}

static enum sm_status put_vector(struct sm_sink *sink, const char *name, const double *values, size_t rows,
                                 size_t columns, struct sm_error *err)
{
    SM_TRY(put_header(sink, name, NUMBERS, rows, columns, err));
    return put_doubles(sink, values, rows * columns, err);
}

/* The next character of UTF-8 text; those beyond Latin-1, which old readers don't know, as '?'. */
static double next_character(const char **text)
{
    const unsigned char *s = (const unsigned char *)*text;
    size_t length = 1;
    while ((s[length] & 0xC0) == 0x80)
        length++;
    *text += length;
    if (s[0] < 0x80)
        return s[0];
    return length == 2 && s[0] <= 0xC3 ? ((s[0] & 3) << 6 | (s[1] & 0x3F)) : '?';
}

static enum sm_status put_text(struct sm_sink *sink, const char *name, const char *text, struct sm_error *err)
{
    size_t n = 0;
    for (const char *rest = text; *rest != '\0'; n++)
        (void)next_character(&rest);
    SM_TRY(put_header(sink, name, TEXT, n > 0, n, err));
    while (*text != '\0') {
        const double character = next_character(&text);
        SM_TRY(put_doubles(sink, &character, 1, err));
    }
    return SM_OK;
}

/* All columns side by side as "table", and their names, a line each of one width. */
static enum sm_status put_table(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err)
{
    enum { WIDTH = 19 };
    enum sm_out places[SM_N_OUT];
    double letters[SM_N_OUT * WIDTH];
    const size_t n = sm_lines_columns(e, places);
    for (size_t c = 0; c < n; c++) {
        const char *name = sm_out_columns[places[c]].short_name;
        for (size_t i = 0; i < WIDTH; i++)
            letters[i * n + c] = i < strlen(name) ? name[i] : ' ';
    }
    SM_TRY(put_header(sink, "columns", TEXT, n, WIDTH, err));
    SM_TRY(put_doubles(sink, letters, n * WIDTH, err));
    SM_TRY(put_header(sink, "table", NUMBERS, e->n, n, err));
    for (size_t c = 0; c < n; c++)
        SM_TRY(put_doubles(sink, e->column[places[c]], e->n, err));
    for (size_t c = 0; c < n; c++)
        SM_TRY(put_vector(sink, sm_out_columns[places[c]].short_name, e->column[places[c]], e->n, 1, err));
    return SM_OK;
}

static enum sm_status put_by_ambient(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err)
{
    if (e->n_ambient < 2)
        return SM_OK;
    SM_TRY(put_vector(sink, "ambient", e->ambient, 1, e->n_ambient, err));
    SM_TRY(put_header(sink, "thrust_by_ambient", NUMBERS, e->n, e->n_ambient, err));
    for (size_t k = 0; k < e->n_ambient; k++)
        SM_TRY(put_doubles(sink, e->thrust[k], e->n, err));
    return SM_OK;
}

static enum sm_status write(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err)
{
    SM_TRY(put_table(e, sink, err));
    SM_TRY(put_by_ambient(e, sink, err));
    for (size_t i = 0; i < e->n_facts; i++) {
        const struct sm_fact *f = &e->facts[i];
        SM_TRY(f->text ? put_text(sink, f->key, f->text, err)
                       : put_vector(sink, f->key, &f->number, 1, 1, err));
    }
    return SM_OK;
}

const struct sm_format sm_format_mat_file = {
    .name = "mat",
    .summary = "MAT-file, level 4, for numerical tools of every kind",
    .ending = ".mat",
    .is_binary = 1,
    .write = write,
};
