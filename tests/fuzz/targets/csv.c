/* Delimited text with everything guessed. */
#include "fuzz.h"

#include "doc/csv.h"

static enum sm_status take_row(void *user, const struct sm_csv_row *row, struct sm_error *err)
{
    size_t *sum = user;
    (void)err;
    *sum += sm_csv_is_header(row) ? 1 : 0;
    for (size_t i = 0; i < row->n_fields; i++) {
        double value = 0.0;
        if (sm_csv_number(row, i, &value))
            fuzz_expect(value == value, "what is a number is not NaN");
        for (size_t k = 0; k < row->fields[i].n; k++)
            *sum += (unsigned char)row->fields[i].text[k];
    }
    return SM_OK;
}

static void run(const uint8_t *bytes, size_t n)
{
    static const struct sm_csv_options ways[] = {{0}, {.delimiter = ' ', .comment = "#"}, {.decimal = ','}};
    for (size_t i = 0; i < sizeof ways / sizeof ways[0]; i++) {
        size_t sum = 0;
        struct sm_error err = {0};
        const struct sm_csv_reader reader = {take_row, &sum};
        if (sm_csv_read((const char *)bytes, n, "input", &ways[i], &reader, &err) != SM_OK)
            fuzz_expect(err.at.line > 0, "a refusal names a line");
    }
}

const struct fuzz_target fuzz_target_csv = {"csv", run};
