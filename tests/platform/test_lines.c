/* What completes a word. */
#include <criterion/criterion.h>

#include "platform/internal.h"

static const char *const *list(void *user, struct arena *arena)
{
    static const char *const words[] = {"setter", "setters", "plate", "plate taken off", "not sure", NULL};
    (void)user;
    (void)arena;
    return words;
}

static const struct {
    const char *line, *more;
} typed[] = {
    {"se", "tter"}, /* both begin so */
    {"setter", ""}, {"pl", "ate"}, {"mill, pl", "ate"}, {"mill,n", "ot sure"}, {"x", ""}, {"", ""},
};

Test(lines, completion)
{
    struct arena arena;
    const struct line_words words = {list, NULL};
    arena_init(&arena, NULL);
    for (size_t i = 0; i < sizeof typed / sizeof *typed; i++) {
        struct view more = line_completion(&arena, &words, view_of(typed[i].line));
        cr_expect(view_is(more, typed[i].more), "%s: %.*s", typed[i].line, VIEW(more));
    }
    arena_free(&arena);
}
