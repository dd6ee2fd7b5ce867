/*
 * Reads the tables of published and independently computed values in this folder.
 *
 * A table is a CSV file. Lines that begin with '#' come first and must hold "source:", "units:" and
 * "tolerance:"; the tolerance begins with a number and "relative" or "absolute", and says why. Then one line
 * of column names, then rows. An empty cell has no value and is not tested. A table that breaks these rules
 * fails the test that reads it.
 */
#ifndef TESTS_REFERENCE_H
#define TESTS_REFERENCE_H

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { REF_MAX_COLUMNS = 16, REF_MAX_ROWS = 512, REF_MAX_CELL = 64, REF_MAX_LINE = 4096 };

struct ref_table {
    char file[64];
    size_t n_columns, n_rows;
    double tolerance;
    int is_relative;
    char names[REF_MAX_COLUMNS][REF_MAX_CELL];
    char cells[REF_MAX_ROWS][REF_MAX_COLUMNS][REF_MAX_CELL];
};

/* Parts a line at its commas; returns the number of cells. */
static inline size_t ref_part(char *line, char cells[REF_MAX_COLUMNS][REF_MAX_CELL])
{
    size_t n = 0;
    line[strcspn(line, "\r\n")] = '\0';
    for (char *cell = line; cell && n < REF_MAX_COLUMNS; n++) {
        char *comma = strchr(cell, ',');
        if (comma)
            *comma = '\0';
        cr_assert(strlen(cell) < REF_MAX_CELL, "cell too long: %s", cell);
        strcpy(cells[n], cell);
        cell = comma ? comma + 1 : NULL;
    }
    return n;
}

static inline void ref_read_tolerance(struct ref_table *table, const char *text)
{
    char *rest;
    table->tolerance = strtod(text, &rest);
    table->is_relative = strncmp(rest, " relative", 9) == 0;
    cr_assert(table->tolerance > 0.0 && (table->is_relative || strncmp(rest, " absolute", 9) == 0),
              "%s: tolerance is not '<number> relative' or '<number> absolute': %s", table->file, text);
}

/* Reads a table; free it with free(). */
static inline struct ref_table *ref_read(const char *file)
{
    struct ref_table *table = calloc(1, sizeof *table);
    char path[512], line[REF_MAX_LINE];
    int has_source = 0, has_units = 0;
    cr_assert_not_null(table);
    snprintf(table->file, sizeof table->file, "%s", file);
    snprintf(path, sizeof path, "%s/tests/reference/%s", SM_SOURCE_DIR, file);
    FILE *in = fopen(path, "r");
    cr_assert_not_null(in, "cannot open %s", path);
    while (fgets(line, sizeof line, in)) {
        if (line[0] == '#') {
            const char *tolerance = strstr(line, "tolerance: ");
            has_source |= strstr(line, "source: ") != NULL;
            has_units |= strstr(line, "units: ") != NULL;
            if (tolerance)
                ref_read_tolerance(table, tolerance + strlen("tolerance: "));
        } else if (table->n_columns == 0) {
            table->n_columns = ref_part(line, table->names);
        } else {
            cr_assert(table->n_rows < REF_MAX_ROWS, "%s: too many rows", file);
            const size_t n = ref_part(line, table->cells[table->n_rows]);
            cr_assert_eq(n, table->n_columns, "%s: row %zu has %zu cells", file, table->n_rows, n);
            table->n_rows++;
        }
    }
    fclose(in);
    cr_assert(has_source && has_units && table->tolerance > 0.0, "%s lacks source, units or tolerance", file);
    cr_assert(table->n_rows > 0, "%s has no rows", file);
    return table;
}

static inline const char *ref_text(const struct ref_table *table, size_t row, const char *name)
{
    for (size_t i = 0; i < table->n_columns; i++)
        if (strcmp(table->names[i], name) == 0)
            return table->cells[row][i];
    cr_assert_fail("%s has no column %s", table->file, name);
    return "";
}

static inline int ref_has(const struct ref_table *table, size_t row, const char *name)
{
    return ref_text(table, row, name)[0] != '\0';
}

static inline double ref_number(const struct ref_table *table, size_t row, const char *name)
{
    const char *text = ref_text(table, row, name);
    char *rest;
    const double value = strtod(text, &rest);
    cr_assert(rest != text && *rest == '\0', "%s: row %zu, %s: '%s' is no number", table->file, row, name,
              text);
    return value;
}

/* Expects got within the table's tolerance of the cell, if the cell has a value. */
static inline void ref_expect(const struct ref_table *table, size_t row, const char *name, double got)
{
    if (!ref_has(table, row, name))
        return;
    const double expected = ref_number(table, row, name);
    const double slack = table->tolerance * (table->is_relative ? fabs(expected) : 1.0);
    cr_expect(fabs(got - expected) <= slack, "%s: row %zu, %s: got %.17g, expected %.17g, off by %.2g",
              table->file, row, name, got, expected,
              fabs(got - expected) / (table->is_relative ? fabs(expected) : 1.0));
}

#endif
