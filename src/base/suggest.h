/* The nearest known name to one that is unknown. */
#ifndef SM_BASE_SUGGEST_H
#define SM_BASE_SUGGEST_H

#include <stddef.h>

/* Start as {.word = what the user wrote}; best is the nearest candidate so far, NULL while none is near. */
struct sm_suggest {
    const char *word;
    const char *best;
    size_t distance; /* of best */
};

/*
 * Offers one candidate (borrowed).
 *
 * Notes:
 *   1) Distance counts inserted, dropped and changed letters and swaps of neighbours, each as one (optimal
 *      string alignment). Case counts for nothing, nor does '-' against '_'.
 *   2) Near means a distance of at most a third of the longer name's length; or that the word is one or more
 *      whole parts of the candidate, as "diameter" is of "outer_diameter", if no closer name is found.
 * Reference: Damerau, Comm. ACM 7 (1964) 171; Wagner and Fischer, J. ACM 21 (1974) 168.
 */
void sm_suggest_offer(struct sm_suggest *suggest, const char *candidate);

/* The nearest of a NULL-terminated list, or NULL. */
const char *sm_suggest_from(const char *word, const char *const *words);

enum { SM_SUGGEST_TEXT = 96 };
/* "; did you mean 'x'?" in buf, or "" if best is NULL; returns buf. */
const char *sm_suggest_text(char buf[SM_SUGGEST_TEXT], const char *best);

#endif
