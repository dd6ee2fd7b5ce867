#include "units/quantity.h"
#include "base/text.h"

#include <string.h>

enum { QUANTITY_TEXT = 256 }; /* room for a whole quantity */

static const char middle_dot[] = "\xC2\xB7";

static bool is_blank(char c)
{
    return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* ---- signs that look alike ---- */

static const struct sign {
    const char *written, *known;
} signs[] = {
    {"\xE2\x88\x92", "-"},        /* minus sign U+2212 */
    {"\xE2\x8B\x85", middle_dot}, /* dot operator U+22C5 */
    {"\xCE\xBC", "\xC2\xB5"},     /* Greek mu U+03BC to micro sign U+00B5 */
    {"\xC2\xA0", " "},            /* no-break space U+00A0 */
    {"\xE2\x80\xAF", " "},        /* narrow no-break space U+202F */
};

static size_t replace_sign(const char *text, char *out, size_t *used)
{
    for (size_t i = 0; i < SM_COUNT(signs); i++) {
        const size_t n = strlen(signs[i].written), n_known = strlen(signs[i].known);
        if (strncmp(text, signs[i].written, n) != 0)
            continue;
        memcpy(out, signs[i].known, n_known);
        *used = n;
        return n_known;
    }
    *out = *text;
    *used = 1;
    return 1;
}

/* Copies text with such signs replaced, none of which gets longer, and without blanks round it. */
static enum sm_status normalise(const char *text, char out[QUANTITY_TEXT], struct sm_error *err)
{
    size_t bad;
    const size_t length = strlen(text);
    if (length >= QUANTITY_TEXT)
        return sm_fail(err, SM_E_UNIT, "'%.60s...' is too long for a number and a unit", text);
    if (!sm_text_is_utf8(text, length, &bad))
        return sm_fail(err, SM_E_UNIT, "a quantity is not UTF-8 text");
    size_t n = 0, used;
    for (const char *p = text; *p; p += used) {
        const size_t put = replace_sign(p, out + n, &used);
        n += n == 0 && is_blank(out[0]) ? 0 : put;
    }
    while (n > 0 && is_blank(out[n - 1]))
        n--;
    out[n] = '\0';
    return SM_OK;
}

/* ---- the grammar of a unit ---- */

enum form {
    FORMED,
    HAS_NUMBER, /* a number stands as a factor: a sum to be worked out, or a blank within the number */
    MALFORMED
};

static const char *skip_blanks(const char *p)
{
    while (is_blank(*p))
        p++;
    return p;
}

static bool starts_with(const char *p, const char *head)
{
    return strncmp(p, head, strlen(head)) == 0;
}

/* "per" as a word of its own. */
static bool is_per(const char *p)
{
    return starts_with(p, "per") && is_blank(p[3]);
}

/* A letter or a byte of a longer character. */
static bool is_letter(const char *p)
{
    return (*p >= 'a' && *p <= 'z') || (*p >= 'A' && *p <= 'Z') || *p == '_' ||
           ((unsigned char)*p >= 0x80 && !starts_with(p, middle_dot));
}

/* Bytes of the symbol at p, 0 if there is none: letters and, behind the first, digits; or one of the signs. */
static size_t symbol_length(const char *p)
{
    if (*p == '%' || *p == '\'' || *p == '"')
        return 1;
    size_t n = 0;
    while (is_letter(p + n) || (n > 0 && is_digit(p[n])))
        n++;
    return n;
}

/* Is this a word by which the library would divide, shift an origin or take a logarithm? It sees such a word also
 * with digits glued to it, "per2". */
static bool is_reserved(const char *word, size_t n)
{
    static const char *const words[] = {"per", "since", "after", "from", "ref", "re"};
    size_t letters = 0;
    while (letters < n && !is_digit(word[letters]))
        letters++;
    for (size_t i = 0; i < SM_COUNT(words); i++) {
        size_t same = 0;
        while (same < letters && words[i][same] && (word[same] | 0x20) == words[i][same])
            same++;
        if (same == letters && words[i][same] == '\0')
            return true;
    }
    return false;
}

/* A sign or two and digits, if they are there. */
static enum form take_power(const char **p)
{
    const char *at = *p;
    const bool is_marked = *at == '^' || starts_with(at, "**");
    at += *at == '^' ? 1 : is_marked ? 2 : 0;
    if ((*at == '-' || *at == '+') && is_digit(at[1]))
        at++;
    if (!is_digit(*at))
        return is_marked ? MALFORMED : FORMED;
    while (is_digit(*at))
        at++;
    *p = at;
    return FORMED;
}

enum { MAX_BRACKETS = 8 };
static enum form take_unit(const char **p, int brackets);

static enum form take_factor(const char **p, int brackets)
{
    if (is_digit(**p))
        return HAS_NUMBER;
    if (**p == '(') {
        if (brackets == MAX_BRACKETS)
            return MALFORMED;
        (*p)++;
        const enum form form = take_unit(p, brackets + 1);
        if (form != FORMED || **p != ')')
            return form != FORMED ? form : MALFORMED;
        (*p)++;
        return take_power(p);
    }
    const size_t n = symbol_length(*p);
    if (n == 0 || is_reserved(*p, n))
        return MALFORMED;
    *p += n;
    return is_digit((*p)[-1]) ? FORMED : take_power(p); /* "m2" has its power */
}

/* Over an operator to the next factor; *more is false at the end of the text or before a closing bracket. */
static enum form take_operator(const char **p, bool *more)
{
    const char *at = skip_blanks(*p);
    const bool by_blank = at != *p;
    *more = *at != '\0' && *at != ')';
    if (!*more) {
        *p = at;
        return FORMED;
    }
    if (is_per(at))
        at += 3;
    else if (starts_with(at, middle_dot))
        at += 2;
    else if (*at == '/' || *at == '.' || *at == '*' || (*at == '-' && !by_blank && symbol_length(at + 1) > 0))
        at++;
    else if (!by_blank)
        return MALFORMED;
    *p = skip_blanks(at);
    return FORMED;
}

/* Up to the end of the text or a closing bracket, which stays. */
static enum form take_unit(const char **p, int brackets)
{
    *p = skip_blanks(*p);
    if (**p == '1' && (*skip_blanks(*p + 1) == '/' || (is_blank((*p)[1]) && is_per(skip_blanks(*p + 1)))))
        (*p)++;
    else {
        const enum form form = take_factor(p, brackets);
        if (form != FORMED)
            return form;
    }
    for (;;) {
        bool more;
        enum form form = take_operator(p, &more);
        if (form == FORMED && more)
            form = take_factor(p, brackets);
        if (form != FORMED || !more)
            return form;
    }
}

static enum form form_of(const char *unit)
{
    const char *p = unit;
    const enum form form = take_unit(&p, 0);
    return form == FORMED && *p != '\0' ? MALFORMED : form;
}

bool sm_quantity_unit_is_formed(const char *unit)
{
    return form_of(unit) == FORMED;
}

/* ---- calls ---- */

/* Copies a unit's text; "/K" and "per K" become "1/K" and "1 per K", which the library knows. */
static enum sm_status copy_unit(const char *text, char unit[SM_UNIT_TEXT], struct sm_error *err)
{
    const bool is_reciprocal = text[0] == '/' || is_per(text);
    const int n = sm_text_format(unit, SM_UNIT_TEXT, "%s%s", is_reciprocal ? "1 " : "", text);
    if (n < 0 || n >= SM_UNIT_TEXT)
        return sm_fail(err, SM_E_UNIT, "the unit '%.60s...' is too long", text);
    return SM_OK;
}

static enum sm_status not_plain(const char *text, enum sm_dim dim, struct sm_error *err)
{
    return sm_fail(err, SM_E_UNIT, "'%.80s': write one plain decimal number and then its unit, as in \"%s\"",
                   text, sm_dim_example(dim));
}

enum sm_status sm_quantity_split(const char *text, enum sm_dim dim, double *number, char unit[SM_UNIT_TEXT],
                                 struct sm_error *err)
{
    char plain[QUANTITY_TEXT];
    SM_TRY(normalise(text, plain, err));
    const size_t used = sm_text_parse_double(plain, strlen(plain), number);
    if (used == 0)
        return sm_fail(err, SM_E_UNIT,
                       "'%.80s' does not start with a number where %s is needed, as in \"%s\"", plain,
                       sm_dim_name(dim), sm_dim_example(dim));
    const char *rest = plain + used;
    if (rest[0] == ',' && is_digit(rest[1]))
        return sm_fail(err, SM_E_UNIT, "'%.80s': write a decimal point, not a comma", plain);
    rest = skip_blanks(rest);
    SM_TRY(copy_unit(rest, unit, err));
    if (rest[0] != '\0' && (strchr("*^+-.,@", rest[0]) || form_of(unit) == HAS_NUMBER))
        return not_plain(plain, dim, err);
    return SM_OK;
}

enum sm_status sm_quantity_unit(const char *text, enum sm_dim dim, char unit[SM_UNIT_TEXT],
                                struct sm_error *err)
{
    char plain[QUANTITY_TEXT];
    SM_TRY(normalise(text, plain, err));
    SM_TRY(copy_unit(plain, unit, err));
    if ((unit[0] == '\0' && dim != SM_DIM_NONE) || (form_of(unit) == HAS_NUMBER && strcmp(unit, "1") != 0))
        return sm_fail(err, SM_E_UNIT, "'%.60s' is not a unit of %s; write one as in '%s'", plain,
                       sm_dim_name(dim), sm_dim_unit(dim));
    return SM_OK;
}
