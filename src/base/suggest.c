#include "base/suggest.h"
#include "base/text.h"

#include <string.h>

enum { LONGEST = 64 }; /* names beyond this are not compared */

/* Lower case of ASCII letters, and one sign for both joiners. */
static char fold(char c)
{
    if (c >= 'A' && c <= 'Z')
        return (char)(c - 'A' + 'a');
    return c == '-' ? '_' : c;
}

static size_t smallest(size_t a, size_t b, size_t c)
{
    const size_t ab = a < b ? a : b;
    return ab < c ? ab : c;
}

/* Three rows of the table of distances between heads of a and b are enough: a swap looks two rows back. */
static size_t distance(const char *a, size_t na, const char *b, size_t nb)
{
    size_t rows[3][LONGEST + 1];
    size_t *before = rows[0], *last = rows[1], *now = rows[2];
    for (size_t j = 0; j <= nb; j++)
        last[j] = before[j] = j;
    for (size_t i = 1; i <= na; i++) {
        now[0] = i;
        for (size_t j = 1; j <= nb; j++) {
            const char x = fold(a[i - 1]), y = fold(b[j - 1]);
            now[j] = smallest(last[j] + 1, now[j - 1] + 1, last[j - 1] + (x != y));
            if (i > 1 && j > 1 && x == fold(b[j - 2]) && fold(a[i - 2]) == y)
                now[j] = smallest(now[j], before[j - 2] + 1, now[j]);
        }
        size_t *const oldest = before;
        before = last;
        last = now;
        now = oldest;
    }
    return last[nb];
}

/* Does word stand in name as whole parts between joiners? */
static int is_part(const char *word, size_t n_word, const char *name, size_t n_name)
{
    if (n_word < 3)
        return 0;
    for (size_t i = 0; i + n_word <= n_name; i++) {
        size_t same = 0;
        while (same < n_word && fold(word[same]) == fold(name[i + same]))
            same++;
        const int starts = i == 0 || fold(name[i - 1]) == '_';
        const int ends = i + n_word == n_name || fold(name[i + n_word]) == '_';
        if (same == n_word && starts && ends)
            return 1;
    }
    return 0;
}

void sm_suggest_offer(struct sm_suggest *suggest, const char *candidate)
{
    const size_t n_word = strlen(suggest->word), n_name = strlen(candidate);
    if (n_word == 0 || n_word > LONGEST || n_name > LONGEST)
        return;
    const size_t longer = n_word > n_name ? n_word : n_name;
    const size_t limit = longer / 3;
    size_t d = distance(suggest->word, n_word, candidate, n_name);
    if (d > limit) {
        if (!is_part(suggest->word, n_word, candidate, n_name))
            return;
        d = LONGEST; /* behind every near name */
    }
    if (suggest->best && d >= suggest->distance)
        return;
    suggest->best = candidate;
    suggest->distance = d;
}

const char *sm_suggest_from(const char *word, const char *const *words)
{
    struct sm_suggest suggest = {.word = word};
    for (size_t i = 0; words[i]; i++)
        sm_suggest_offer(&suggest, words[i]);
    return suggest.best;
}

const char *sm_suggest_text(char buf[SM_SUGGEST_TEXT], const char *best)
{
    buf[0] = '\0';
    if (best)
        sm_text_format(buf, SM_SUGGEST_TEXT, "; did you mean '%.64s'?", best);
    return buf;
}
