/* Breaking of texts: nothing is wider than asked, no word is lost but for an ellipsis, letters stay whole. */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "base/text.h"
#include "report/textblock.h"
#include "samples.h"

static struct sm_arena arena;
static struct sm_memory_sink sink;
static struct sm_canvas canvas;

static void start(void)
{
    sm_arena_init(&arena, NULL);
    sm_memory_sink_init(&sink, NULL);
    cr_assert_eq(sm_canvas_open(&canvas, SM_PLOT_PNG, 200, 200, NULL, &sink.sink, NULL), SM_OK);
}

static void stop(void)
{
    sm_canvas_abandon(&canvas);
    sm_memory_sink_release(&sink);
    sm_arena_release(&arena);
}

TestSuite(textblock, .init = start, .fini = stop);

static struct sm_textblock made(const char *text, double max_width, size_t max_lines, double smallest)
{
    const struct sm_textblock_limits limits = {
        .font = {20.0, false}, .smallest = smallest, .max_width = max_width, .max_lines = max_lines};
    struct sm_textblock block;
    cr_assert_eq(sm_textblock_make(&block, &canvas, &arena, text, &limits, NULL), SM_OK);
    cr_assert_leq(block.n, max_lines);
    size_t bad;
    for (size_t i = 0; i < block.n; i++) {
        cr_assert_leq(sm_canvas_text_width(&canvas, block.font, block.lines[i]), max_width + 1e-9);
        cr_assert(sm_text_is_utf8(block.lines[i], strlen(block.lines[i]), &bad));
    }
    return block;
}

static void expect_words(const struct sm_textblock *block, const char *words)
{
    char joined[512] = "";
    for (size_t i = 0; i < block->n; i++) {
        strcat(joined, i > 0 ? " " : "");
        strcat(joined, block->lines[i]);
    }
    cr_expect_str_eq(joined, words);
}

static const char sentence[] = "thrust and chamber pressure of an invented end burner at three temperatures";

Test(textblock, wraps_at_spaces)
{
    for (double width = 150.0; width < 900.0; width += 37.0) {
        const struct sm_textblock block = made(sentence, width, 20, 0.0);
        expect_words(&block, sentence);
        cr_expect_eq(block.font.size, 20.0);
        for (size_t i = 0; i + 1 < block.n; i++) { /* the next word would not have fitted */
            char more[512];
            strcpy(more, block.lines[i]);
            strcat(more, " ");
            strncat(more, block.lines[i + 1], strcspn(block.lines[i + 1], " "));
            cr_expect_gt(sm_canvas_text_width(&canvas, block.font, more), width);
        }
    }
}

Test(textblock, shrinks_before_it_cuts)
{
    const double full = sm_canvas_text_width(&canvas, (struct sm_font){20.0, false}, sentence);
    const struct sm_textblock shrunk = made(sentence, 0.8 * full, 1, 14.0);
    expect_words(&shrunk, sentence);
    cr_expect(shrunk.font.size < 20.0 && shrunk.font.size >= 14.0);
    const struct sm_textblock cut = made(sentence, 0.5 * full, 1, 14.0);
    cr_assert_eq(cut.n, 1);
    const size_t n = strlen(cut.lines[0]);
    cr_expect_str_eq(cut.lines[0] + n - strlen("…"), "…");
    cr_expect_eq(strncmp(cut.lines[0], sentence, n - strlen("…")), 0);
    cr_expect_geq(cut.width, 0.45 * full, "not more is cut than must be");
}

Test(textblock, long_words_are_cut_between_letters)
{
    char text[4 * 1000 + 1] = "";
    for (int i = 0; i < 1000; i++)
        memcpy(text + 2 * i, "ü", 3);
    const struct sm_textblock block = made(text, 300.0, 3, 15.0);
    cr_expect_eq(block.n, 3);
    cr_expect_eq(made("漢字漢字漢字", 60.0, 1, 0.0).n, 1);
}

Test(textblock, spaces_and_nothing)
{
    expect_words(&(struct sm_textblock){0}, "");
    const struct sm_textblock tidy = made("  a\tb\n\nc\x7f ", 900.0, 1, 0.0);
    expect_words(&tidy, "a b c");
    cr_expect_eq(made("", 100.0, 2, 0.0).n, 0);
    cr_expect_eq(made(NULL, 100.0, 2, 0.0).n, 0);
    const struct sm_textblock blank = made(" \n ", 100.0, 2, 0.0);
    cr_expect_eq(blank.n, 0);
    cr_expect_eq(blank.height, 0.0);
}

Test(textblock, even_lines)
{
    const struct sm_textblock_limits limits = {
        .font = {20.0, false}, .smallest = 19.0, .max_width = 500.0, .max_lines = 3, .even = true};
    struct sm_textblock block;
    cr_assert_eq(sm_textblock_make(&block, &canvas, &arena, sentence, &limits, NULL), SM_OK);
    cr_assert_eq(block.n, 2);
    expect_words(&block, sentence);
    const double a = sm_canvas_text_width(&canvas, block.font, block.lines[0]);
    const double b = sm_canvas_text_width(&canvas, block.font, block.lines[1]);
    cr_expect_leq(fabs(a - b), 150.0, "%g and %g px", a, b); /* a long word's width */
}
