/* Rulebooks of a user, on top of those built in, and the machine of the
 * examples. */
#include "rules/load.h"

const struct rulebook_text *rulebook_base_machine(void)
{
    for (size_t i = 0; i < builtin_text_count; i++)
        if (strcmp(builtin_texts[i].name, "rules/base-machine.yaml") == 0)
            return &builtin_texts[i];
    return NULL;
}

size_t rulebook_builtin_texts(struct arena *arena, struct rulebook_text **out)
{
    size_t count = 0;
    *out = ARENA_ARRAY(arena, struct rulebook_text, builtin_text_count);
    for (size_t i = 0; i < builtin_text_count; i++)
        if (rulebook_is_text(&builtin_texts[i]))
            (*out)[count++] = builtin_texts[i];
    return count;
}

bool rulebook_load_own(struct rulebook_mistakes *mistakes, const struct rulebook_text *texts,
                       size_t count, struct rulebook *out)
{
    struct rulebook_text *shared;
    size_t shared_count = rulebook_builtin_texts(mistakes->arena, &shared);
    return rulebook_load(mistakes, texts, count, shared, shared_count, out);
}
