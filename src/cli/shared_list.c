/* The shop's own list of agreements, as a file. */
#include "cli/shared_list.h"

#include <string.h>

#include "cli/books.h"
#include "cli/input.h"

enum { LIST_SIZE_MAX = 4 * 1024 * 1024 };

static bool read_list(struct run *run, const char *path, struct view bytes,
                      struct shared_agreements *out)
{
    struct rulebook_mistakes mistakes = {.arena = run->arena};
    if (shared_agreements_read(&mistakes, path, bytes, out))
        return true;
    books_complain(run, &mistakes);
    return false;
}

bool shared_list_read(struct run *run, const char *path, struct shared_agreements *out)
{
    struct view bytes;
    const char *why;
    if (input_read_file(path, LIST_SIZE_MAX, run->arena, &bytes, &why))
        return read_list(run, path, bytes, out);
    run_refuse(run, "%s cannot be read: %s", path, why);
    return false;
}

static bool is_same(const struct shared_agreement *a, const struct shared_agreement *b)
{
    return view_equal(a->field, b->field) && view_equal(a->file, b->file) &&
           view_equal(a->pattern, b->pattern);
}

const char *shared_list_extend(struct run *run, const char *path,
                               const struct shared_agreement *agreement, struct companion *out)
{
    struct shared_agreements list = {0};
    const char *why = NULL;
    *out = (struct companion){.path = path, .is_new = !file_is_there(path)};
    if (strcmp(path, "-") == 0)
        why = "the list of agreements is a file: give its name in place of -";
    else if (!out->is_new &&
             !input_read_file(path, LIST_SIZE_MAX, run->arena, &out->before, &why))
        why = arena_format(run->arena, "%s cannot be read: %s", path, why);
    else if (!out->is_new && !read_list(run, path, out->before, &list))
        why = arena_format(run->arena, "%s is no list of agreements, or has a mistake in it",
                           path);
    for (size_t i = 0; !why && i < list.count; i++)
        if (is_same(&list.items[i], agreement)) {
            out->path = NULL; /* it is in it already */
            return NULL;
        }
    if (!why)
        why = shared_agreements_add(run->arena, path, out->before, agreement, &out->now);
    if (why)
        out->path = NULL;
    return why;
}
