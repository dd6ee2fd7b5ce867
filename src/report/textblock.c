#include "report/textblock.h"

#include <string.h>

/* Of the letters' size: a line's height, and its baseline below its top, for a face whose capitals are 0.73
 * high. */
static const double line_height = 1.25, baseline = 0.95;
static const double shrink = 0.94;
static const char ellipsis[] = "…";

/* The text that is left to set, words apart by single spaces, and room to measure pieces of it in. */
struct setting {
    struct sm_canvas *canvas;
    struct sm_font font;
    double max_width; /* [px] */
    char *text, *piece;
};

/* Control characters (C0) become spaces, runs of spaces one, none at either end. */
static void tidy(char *out, const char *text)
{
    size_t n = 0;
    for (const char *c = text; *c; c++) {
        const bool is_space = (unsigned char)*c <= ' ' || *c == 0x7F;
        if (!is_space)
            out[n++] = *c;
        else if (n > 0 && out[n - 1] != ' ')
            out[n++] = ' ';
    }
    while (n > 0 && out[n - 1] == ' ')
        n--;
    out[n] = '\0';
}

static bool fits(const struct setting *s, const char *text, size_t n, const char *tail)
{
    memcpy(s->piece, text, n);
    strcpy(s->piece + n, tail);
    return sm_canvas_text_width(s->canvas, s->font, s->piece) <= s->max_width;
}

static bool is_inside_letter(const char *text, size_t n)
{
    return ((unsigned char)text[n] & 0xC0) == 0x80;
}

/* Bytes back from n to where the letter that holds it starts. */
static size_t letter_overhang(const char *text, size_t n)
{
    size_t back = 0;
    while (back < n && is_inside_letter(text, n - back))
        back++;
    return back;
}

/* How many bytes of text fit with the tail behind them; at least one letter. By bisection: widths grow. */
static size_t letters_that_fit(const struct setting *s, const char *text, const char *tail)
{
    size_t low = 0, high = strlen(text);
    if (fits(s, text, high, tail))
        return high;
    while (high - low > 1) {
        const size_t middle = low + (high - low) / 2;
        *(fits(s, text, middle - letter_overhang(text, middle), tail) ? &low : &high) = middle;
    }
    low -= letter_overhang(text, low);
    if (low == 0 && *text)
        do
            low++;
        while (is_inside_letter(text, low));
    return low;
}

/* Bytes of the longest run of whole words that fits; 0 if not even the first does. */
static size_t words_that_fit(const struct setting *s, const char *text)
{
    size_t best = 0;
    for (size_t n = 0;; n++) {
        if (text[n] != ' ' && text[n] != '\0')
            continue;
        if (!fits(s, text, n, ""))
            break;
        best = n;
        if (text[n] == '\0')
            break;
    }
    return best;
}

/* Lines that whole words need, or 0 if a word is too wide. Stops counting past most. */
static size_t lines_needed(const struct setting *s, size_t most)
{
    size_t lines = 0;
    for (const char *rest = s->text; *rest && lines <= most; lines++) {
        const size_t n = words_that_fit(s, rest);
        if (n == 0)
            return 0;
        rest += n;
        rest += *rest == ' ';
    }
    return lines;
}

/* The largest letters with which the text takes that many lines; false, and the smallest, if none do. */
static bool shrink_to_fit(struct setting *s, const struct sm_textblock_limits *limits, size_t max_lines)
{
    const double smallest = limits->smallest > 0.0 ? limits->smallest : limits->font.size;
    s->font.size = limits->font.size;
    for (;;) {
        const size_t lines = lines_needed(s, max_lines);
        if (lines > 0 && lines <= max_lines)
            return true;
        if (s->font.size * shrink < smallest)
            return false;
        s->font.size *= shrink;
    }
}

/* The narrowest width that takes no more lines. */
static void even_out(struct setting *s, size_t max_lines)
{
    const size_t lines = lines_needed(s, max_lines);
    const double wide = s->max_width;
    if (lines < 2 || lines > max_lines)
        return;
    for (int percent = 95; percent >= 40; percent -= 5) {
        const double last = s->max_width;
        s->max_width = wide * percent / 100.0;
        const size_t needed = lines_needed(s, max_lines);
        if (needed == 0 || needed > lines) {
            s->max_width = last;
            return;
        }
    }
}

static enum sm_status set_lines(struct sm_textblock *block, const struct setting *s, struct sm_arena *arena,
                                size_t max_lines, struct sm_error *err)
{
    block->lines = sm_arena_alloc(arena, max_lines, sizeof *block->lines);
    if (!block->lines)
        return sm_fail(err, SM_E_NOMEM, "out of memory while drawing");
    for (const char *rest = s->text; *rest && block->n < max_lines;) {
        const char *tail = "";
        size_t n = words_that_fit(s, rest);
        const bool is_cut = block->n + 1 == max_lines && rest[n] != '\0';
        if (is_cut)
            tail = ellipsis;
        if (is_cut || n == 0)
            n = letters_that_fit(s, rest, tail);
        char *line = sm_arena_alloc(arena, n + sizeof ellipsis, 1);
        if (!line)
            return sm_fail(err, SM_E_NOMEM, "out of memory while drawing");
        memcpy(line, rest, n);
        strcpy(line + n, tail);
        const double width = sm_canvas_text_width(s->canvas, s->font, line);
        if (width > block->width)
            block->width = width;
        block->lines[block->n++] = line;
        rest += n;
        rest += *rest == ' ';
    }
    block->font = s->font;
    block->height = (double)block->n * line_height * s->font.size;
    return SM_OK;
}

enum sm_status sm_textblock_make(struct sm_textblock *block, struct sm_canvas *canvas, struct sm_arena *arena,
                                 const char *text, const struct sm_textblock_limits *limits,
                                 struct sm_error *err)
{
    *block = (struct sm_textblock){.font = limits->font};
    if (!text || !*text)
        return SM_OK;
    const size_t room = strlen(text) + sizeof ellipsis;
    struct setting s = {canvas, limits->font, limits->max_width, sm_arena_alloc(arena, room, 1),
                        sm_arena_alloc(arena, room, 1)};
    if (!s.text || !s.piece)
        return sm_fail(err, SM_E_NOMEM, "out of memory while drawing");
    tidy(s.text, text);
    const bool is_set = limits->even && shrink_to_fit(&s, limits, 1);
    if (!is_set) {
        shrink_to_fit(&s, limits, limits->max_lines);
        if (limits->even)
            even_out(&s, limits->max_lines);
    }
    return set_lines(block, &s, arena, limits->max_lines, err);
}

void sm_textblock_draw(struct sm_canvas *canvas, const struct sm_textblock *block, double x, double y,
                       bool centred)
{
    for (size_t i = 0; i < block->n; i++) {
        const double free = block->width - sm_canvas_text_width(canvas, block->font, block->lines[i]);
        sm_canvas_text(canvas, x + (centred ? free / 2.0 : 0.0),
                       y + ((double)i * line_height + baseline) * block->font.size, block->font,
                       block->lines[i]);
    }
}
