/* The table of a rulebook's keys, and what is read off its rows. */
#include "rules/form.h"

#include "base/bug.h"

const struct book_key book_key_table[BOOK_KEY_COUNT] = {
#define BOOK_KEY(map, id, key, value, ...)                                                     \
    [BOOK_##id] = {BOOK_MAP_##map, key, BOOK_IS_##value, __VA_ARGS__},
#include "rules/form.inc"
#undef BOOK_KEY
};

size_t book_map_keys(enum book_map map, struct view out[BOOK_NAMES_MOST])
{
    size_t count = 0;
    for (unsigned id = 0; id < BOOK_KEY_COUNT; id++)
        if (book_key_table[id].map == map) {
            BUG_UNLESS(count < BOOK_NAMES_MOST);
            out[count++] = view_of(book_key_table[id].key);
        }
    return count;
}

size_t book_key_words(enum book_key_id id, struct view out[BOOK_NAMES_MOST])
{
    struct view rest = view_of(book_key_table[id].words);
    size_t count = 0;
    while (rest.size) {
        BUG_UNLESS(count < BOOK_NAMES_MOST);
        out[count++] = view_take(&rest, ' ');
    }
    return count;
}
