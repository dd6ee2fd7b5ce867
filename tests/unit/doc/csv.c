/* Delimited text: the rules of RFC 4180 section 2 by their numbers, then what goes beyond it. */
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/text.h"
#include "doc/csv.h"

/* What was read, as fields in <> and rows ended by ';'. */
struct seen {
    char text[4096];
    size_t n;
    unsigned last_line;
    size_t n_uneven;
    bool first_is_header;
};

static enum sm_status take(void *user, const struct sm_csv_row *row, struct sm_error *err)
{
    (void)err;
    struct seen *seen = user;
    for (size_t i = 0; i < row->n_fields; i++)
        seen->n += (size_t)sm_text_format(seen->text + seen->n, sizeof seen->text - seen->n, "<%.*s>",
                                          (int)row->fields[i].n, row->fields[i].text);
    seen->n += (size_t)sm_text_format(seen->text + seen->n, sizeof seen->text - seen->n, ";");
    seen->last_line = row->line;
    seen->n_uneven += row->n_fields != row->n_first;
    if (row->number == 0)
        seen->first_is_header = sm_csv_is_header(row);
    return SM_OK;
}

static struct seen read_text(const char *text, const struct sm_csv_options *options)
{
    struct seen seen = {0};
    const struct sm_csv_reader reader = {take, &seen};
    struct sm_error err = {0};
    cr_expect_eq(sm_csv_read(text, strlen(text), "t", options, &reader, &err), SM_OK, "%s: %s", text,
                 err.message);
    return seen;
}

static void expect(const char *text, const char *expected)
{
    static const struct sm_csv_options comma = {.delimiter = ',', .decimal = '.', .comment = "#"};
    const struct seen seen = read_text(text, &comma);
    cr_expect_str_eq(seen.text, expected);
}

/* The examples of RFC 4180 section 2. */
Test(csv, rules_of_rfc_4180)
{
    expect("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", "<aaa><bbb><ccc>;<zzz><yyy><xxx>;");           /* 1 */
    expect("aaa,bbb,ccc\r\nzzz,yyy,xxx", "<aaa><bbb><ccc>;<zzz><yyy><xxx>;");               /* 2 */
    expect("field_name,field_name\r\naaa,bbb\r\n", "<field_name><field_name>;<aaa><bbb>;"); /* 3 */
    expect("aaa, bbb ,ccc", "<aaa>< bbb ><ccc>;");                                        /* 4: blanks stay */
    expect("\"aaa\",\"bbb\",\"ccc\"\r\nzzz,yyy,xxx", "<aaa><bbb><ccc>;<zzz><yyy><xxx>;"); /* 5 */
    expect("\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx", "<aaa><b\r\nbb><ccc>;<zzz><yyy><xxx>;"); /* 6 */
    expect("\"aaa\",\"b\"\"bb\",\"ccc\"", "<aaa><b\"bb><ccc>;");                                  /* 7 */
}

Test(csv, edges)
{
    expect("", "");
    expect("\n\r\n  \n", "");
    expect(",", "<><>;");
    expect("a,\n,b\n", "<a><>;<><b>;");
    expect("\"\"", "<>;");
    expect("\"\"\"\"", "<\">;");
    expect("\"a,b\",c", "<a,b><c>;");
    expect("a, \"b\" ,c", "<a><b><c>;");
    expect("# it's \"odd\na,b\n  # c\nd,e", "<a><b>;<d><e>;");
    expect("\xEF\xBB\xBF"
           "a,b",
           "<a><b>;");
    expect("a\tb,\xE9", "<a\tb><\xE9>;");
}

Test(csv, faults_have_their_line)
{
    static const struct {
        const char *text;
        size_t n;
        unsigned line, column;
    } cases[] = {
        {"a,b\nc,\"d\n\ne", 11, 2, 3},
        {"a,b\nc\"d,e\n", 10, 2, 2},
        {"\"a\"b", 4, 1, 4},
        {"a\nb\n\0c", 6, 3, 1},
        {"a,b\n1,\x01", 7, 2, 3},
        {"a\rb", 3, 1, 2},
        {"a,\"b\nc\",\"d\0\"", 12, 1, 1},
        {"\"", 1, 1, 1},
        {"a,b\r\nc,d\r\n\r\n\"x\" y", 17, 4, 5},
    };
    struct seen seen = {0};
    const struct sm_csv_reader reader = {take, &seen};
    const struct sm_csv_options comma = {.delimiter = ','};
    for (size_t i = 0; i < SM_COUNT(cases); i++) {
        struct sm_error err = {0};
        cr_expect_eq(sm_csv_read(cases[i].text, cases[i].n, "t", &comma, &reader, &err), SM_E_SYNTAX,
                     "case %zu", i);
        cr_expect_eq(err.at.line, cases[i].line, "case %zu: line %u, %s", i, err.at.line, err.message);
        cr_expect_eq(err.at.column, cases[i].column, "case %zu: column %u, %s", i, err.at.column,
                     err.message);
        cr_expect_str_eq(err.at.file, "t");
        cr_expect_eq(sm_csv_read(cases[i].text, cases[i].n, "t", &comma, &reader, NULL), SM_E_SYNTAX);
    }
}

static void expect_guess(const char *text, char delimiter, char decimal)
{
    struct sm_csv_options options = {.comment = "#"};
    sm_csv_guess(text, strlen(text), &options);
    cr_expect_eq(options.delimiter, delimiter, "%s: '%c'", text, options.delimiter);
    cr_expect_eq(options.decimal, decimal, "%s: '%c'", text, options.decimal);
}

/* Common practice, no source: what spreadsheets and loggers write in countries with a point and with a comma. */
Test(csv, delimiter_and_decimal_sign_are_guessed)
{
    expect_guess("time,thrust\n0.0,1.5\n0.1,2.5\n", ',', '.');
    expect_guess("time;thrust\n0.0;1.5\n", ';', '.');
    expect_guess("time;thrust\n0,0;1,5\n0,1;2,5\n", ';', ',');
    expect_guess("time\tthrust\n0.0\t1.5\n", '\t', '.');
    expect_guess("time\tthrust\n0,0\t1,5\n", '\t', ',');
    expect_guess("0.0 1.5\n0.1  2.5\n", ' ', '.');
    expect_guess("  0,0   1,5\n  0,1   2,5\n", ' ', ',');
    expect_guess("time (s), thrust (N)\n0, 1\n1, 5\n", ',', '.');
    expect_guess("# a; b; c\n0.1, 5\n", ',', '.');
    expect_guess("name;unit\nx;y\n", ';', '.');
    expect_guess("1,2\n", ',', '.');
    expect_guess("1,5;2,5\n", ';', ',');
    expect_guess("1\n2\n", ',', '.');
    expect_guess("", ',', '.');
    expect_guess("\"a,b\";\"c,d\"\n1.5;2\n", ';', '.');
    expect_guess("Versuch 3\nZeit [ms];Kraft [kgf]\n0;0,25\n5;0,5\n10;1,25\n", ';', ',');
    expect_guess("Shot 3, cold\ntime\tload\n0\t0.25\n5\t0.5\n10\t1.25\n", '\t', '.');
    struct sm_csv_options fixed = {.decimal = ','};
    sm_csv_guess("0,1;5\n", 6, &fixed);
    cr_expect_eq(fixed.delimiter, ';');
}

static enum sm_status add(void *user, const struct sm_csv_row *row, struct sm_error *err)
{
    double *sum = user;
    for (size_t i = 0; i < row->n_fields; i++) {
        double value;
        if (!sm_csv_number(row, i, &value))
            return sm_csv_at(row, i, sm_fail(err, SM_E_SYNTAX, "field %zu is no number", i), err);
        *sum += value;
    }
    return SM_OK;
}

Test(csv, numbers)
{
    double sum = 0.0;
    const struct sm_csv_reader reader = {add, &sum};
    struct sm_error err = {0};
    static const char good[] = "0,25; 1,5\n-1e1;\"2,0\"\n";
    cr_assert_eq(sm_csv_read(good, strlen(good), "t", NULL, &reader, &err), SM_OK, "%s", err.message);
    cr_expect_eq(sum, 0.25 + 1.5 - 10.0 + 2.0);
    static const char *const bad[] = {"1,x",   "1,2 3", "1,",      "1,0x10", "1,1e", "1,--2",
                                      "1,nan", "1,inf", "1,1.2.3", "1,\"\"", "1,+",  "1,1e5x"};
    const struct sm_csv_options comma = {.delimiter = ',', .decimal = '.'};
    for (size_t i = 0; i < SM_COUNT(bad); i++) {
        cr_expect_eq(sm_csv_read(bad[i], strlen(bad[i]), "t", &comma, &reader, &err), SM_E_SYNTAX, "%s",
                     bad[i]);
        cr_expect(err.at.line == 1 && err.at.column >= 3, "%s: column %u", bad[i], err.at.column);
        cr_expect_str_eq(err.excerpt, bad[i]);
    }
}

Test(csv, headers_and_uneven_rows_are_told)
{
    cr_expect(read_text("t (s),F (N)\n1,2\n", NULL).first_is_header);
    cr_expect_not(read_text("1,2\n3,4\n", NULL).first_is_header);
    cr_expect_not(read_text("1,,2\n3,4,5\n", NULL).first_is_header);
    const struct seen seen = read_text("1,2\n3\n4,5,6\n\n7,8\n", NULL);
    cr_expect_eq(seen.n_uneven, 2);
    cr_expect_eq(seen.last_line, 5);
}

Test(csv, limits)
{
    struct seen seen = {0};
    const struct sm_csv_reader reader = {take, &seen};
    struct sm_error err = {0};
    const struct sm_csv_options few_rows = {.max_rows = 2}, few_bytes = {.max_bytes = 5};
    cr_expect_eq(sm_csv_read("1\n2\n", 4, "t", &few_rows, &reader, &err), SM_OK);
    cr_expect_eq(sm_csv_read("1\n2\n3\n", 6, "t", &few_rows, &reader, &err), SM_E_RANGE);
    cr_expect_eq(err.at.line, 3);
    cr_expect_eq(sm_csv_read("1\n2\n3\n", 6, "t", &few_bytes, &reader, &err), SM_E_RANGE);
    enum { LONG = (1 << 20) + 2 };
    char *text = malloc(LONG);
    memset(text, ',', LONG);
    cr_expect_eq(sm_csv_read(text, LONG, "t", NULL, &reader, &err), SM_E_RANGE, "too long a row");
    cr_expect_eq(sm_csv_read(text, 5000, "t", NULL, &reader, &err), SM_E_RANGE, "too many fields");
    free(text);
}

/* A file in pieces must give what the same text in memory gives: rows, quotes and line ends across every seam. */
Test(csv, a_file_is_read_as_its_text)
{
    enum { ROWS = 60000 }; /* several times the reader's window */
    char path[] = "/tmp/sm-csv-XXXXXX";
    FILE *file = fdopen(mkstemp(path), "wb");
    double expected = 0.0, sum = 0.0;
    for (int i = 0; i < ROWS; i++) {
        const int quoted = i % 7 == 0;
        fprintf(file, "%d.25,%s%*d%s\r\n", i, quoted ? "\"" : "", 1 + i % 13, i % 10, quoted ? "\"" : "");
        if (i % 11 == 0)
            fputs("# \"a comment\n\n", file);
        expected += i + 0.25 + i % 10;
    }
    fclose(file);
    const struct sm_csv_reader reader = {add, &sum};
    const struct sm_csv_options options = {.comment = "#"};
    struct sm_error err = {0};
    cr_expect_eq(sm_csv_read_file(path, &options, &reader, &err), SM_OK, "%s:%u %s", path, err.at.line,
                 err.message);
    cr_expect_eq(sum, expected); /* quarters: exact */
    const struct sm_csv_options few = {.max_bytes = 1000, .comment = "#"};
    cr_expect_eq(sm_csv_read_file(path, &few, &reader, &err), SM_E_RANGE);
    unlink(path);
    cr_expect_eq(sm_csv_read_file(path, &options, &reader, &err), SM_E_IO);
    cr_expect_eq(sm_csv_read_file("/tmp", &options, &reader, &err), SM_E_IO);
    cr_expect(strstr(err.message, "folder"), "%s", err.message);
}
