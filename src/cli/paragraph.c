/* Text wrapped to a width that every terminal and mail has room for. */
#include "terminal.h"

#include <ctype.h>
#include <string.h>

/* Columns that a word takes: bytes that do not continue a UTF-8 sequence. */
static int columns(const char *text, size_t n)
{
    int count = 0;
    for (size_t i = 0; i < n; i++)
        count += ((unsigned char)text[i] & 0xC0) != 0x80;
    return count;
}

/* Does the line not break between two words: a number and its unit, or "N s"? */
static bool is_glued(const char *text, size_t n, const char *next)
{
    const size_t m = strcspn(next, " ");
    return m > 0 && n > 0 &&
           ((isdigit((unsigned char)text[n - 1]) && m <= 3) || (n == 1 && text[0] == 'N' && m <= 2));
}

/* Length of the first word, with what holds to it: a unit behind its number, all of a source in brackets. */
static size_t word_length(const char *text)
{
    size_t n = 0;
    for (;;) {
        const size_t m = strcspn(text + n, " ");
        const char *end = text[n] == '[' ? strchr(text + n, ']') : NULL;
        const size_t length = end && (size_t)(end - text) > n + m ? (size_t)(end - text) + 1 - n : m;
        if (text[n + length] != ' ' || !is_glued(text + n, length, text + n + length + 1))
            return n + length;
        n += length + 1;
    }
}

/* Words of text from column `at` on; further lines begin behind `hang` blanks, a first word of theirs that is longer
 * than the line stands there all the same. */
static void put_words(FILE *out, const char *text, int at, int hang)
{
    for (int n_line = 0; *text; n_line++) {
        const size_t n = word_length(text);
        const int wide = columns(text, n);
        if (n_line > 0 && at + 1 + wide > CLI_WIDTH) {
            fprintf(out, "\n%*s", hang, "");
            at = hang;
            n_line = 0;
        } else if (n_line > 0) {
            fputc(' ', out);
            at++;
        }
        fwrite(text, 1, n, out);
        at += wide;
        text += n;
        text += strspn(text, " ");
    }
    fputc('\n', out);
}

void cli_wrap(FILE *out, const char *text, int indent, int hang)
{
    fprintf(out, "%*s", indent, "");
    put_words(out, text, indent, hang);
}

void cli_entry(const char *label, const char *text, int indent, int column)
{
    const int end = indent + columns(label, strlen(label));
    printf("%*s%s", indent, "", label);
    if (end + 1 > column)
        printf("\n%*s", column, "");
    else
        printf("%*s", column - end, "");
    put_words(stdout, text, column, column);
}
