/* One value of a revision: found, told, set. */
#include "cli/revise.h"

const char *revise_path(const struct revision *revision, const struct field_place *place)
{
    return machine_file_path(revision->run->arena, revision->now, place);
}

const char *revise_text(const struct revision *revision, const struct field_place *place)
{
    return machine_file_text(revision->run->arena, revision->now, place);
}

const char *revise_find(const struct revision *revision, const char *path,
                        struct field_place *out)
{
    return machine_file_find(revision->run->arena, revision->now, path, out);
}

const char *revise_set(struct revision *revision, const struct field_place *place,
                       struct view text)
{
    struct arena *arena = revision->run->arena;
    const char *wrong = machine_file_set(arena, &revision->now, place, text);
    if (!wrong)
        VECTOR_ADD(arena, &revision->set, *place);
    return wrong;
}
