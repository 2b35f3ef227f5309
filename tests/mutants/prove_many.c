/* Proves many rulebooks, one after another, each alone: for tests/mutants/rulebooks.py.
 *
 * Standard input is a row of texts, each behind a line with its size in bytes.  For each a line
 * is written at once: `proved`, `caught` (an example came out otherwise) or `refused` (does not
 * load).
 */
#include <stdio.h>
#include <stdlib.h>

#include "rules/rulebook.h"

static const char *verdict(const char *bytes, size_t size)
{
    struct arena arena;
    arena_init(&arena, NULL);
    struct rulebook_mistakes mistakes = {.arena = &arena};
    struct buffer tap;
    buffer_init(&tap, &arena);
    const struct rulebook_text text = {"mutant", bytes, size};
    bool proved = rules_prove(&mistakes, &text, 1, false, &tap);
    const char *word = mistakes.list.count ? "refused" : proved ? "proved" : "caught";
    arena_free(&arena);
    return word;
}

int main(void)
{
    size_t size;
    while (scanf("%zu", &size) == 1 && getchar() == '\n') {
        char *bytes = malloc(size + 1);
        if (!bytes || fread(bytes, 1, size, stdin) != size)
            return 2;
        puts(verdict(bytes, size));
        free(bytes);
    }
    return feof(stdin) ? 0 : 2;
}
