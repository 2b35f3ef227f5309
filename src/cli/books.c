/* Loading rulebooks and saying what is wrong in them. */
#include "cli/books.h"

#include "cli/input.h"
#include "text/escape.h"

bool books_read(struct run *run, const char *const *paths, size_t count, struct book_texts *out)
{
    out->items = ARENA_ARRAY(run->arena, struct rulebook_text, count);
    out->count = 0;
    for (size_t i = 0; i < count; i++) {
        struct view bytes;
        const char *why;
        if (!input_read_file(paths[i], SOURCE_SIZE_MAX, run->arena, &bytes, &why)) {
            run_refuse(run, "rulebook %s cannot be read: %s", paths[i], why);
            return false;
        }
        out->items[out->count++] =
            (struct rulebook_text){paths[i], bytes.data ? bytes.data : "", bytes.size};
    }
    return true;
}

void books_complain(struct run *run, const struct rulebook_mistakes *mistakes)
{
    const char *text = rulebook_mistakes_text(mistakes, escape_terminal);
    trouble_write(view_of(arena_format(run->arena, "%s\n", text)));
    output_discard(run->out);
}

bool books_load(struct run *run, struct books *out)
{
    *out = (struct books){.list = {&builtin_rulebook}, .count = 1};
    const struct option_value *named = &run->options.values[OPTION_RULEBOOK];
    if (!named->given)
        return true;
    if (!books_read(run, named->list.items, named->list.count, &out->own))
        return false;
    struct rulebook_mistakes mistakes = {.arena = run->arena};
    struct rulebook *book = ARENA_NEW(run->arena, struct rulebook);
    if (!rulebook_load_own(&mistakes, out->own.items, out->own.count, book)) {
        books_complain(run, &mistakes);
        return false;
    }
    out->list[out->count++] = book;
    return true;
}
