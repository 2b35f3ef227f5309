/* Values from a text alone: for prompts, revising, defaults. */
#include "machine/internal.h"

/* Splits "[a, b]" or "a, b" into its texts; the count, or -1 where there are more than `most`.
 */
static int split(struct view text, struct item *items, int most)
{
    int count = 0;
    text = view_trim(text);
    if (text.size >= 2 && text.data[0] == '[' && text.data[text.size - 1] == ']')
        text = view_trim((struct view){text.data + 1, text.size - 2});
    while (text.size) {
        const char *comma = memchr(text.data, ',', text.size);
        size_t size = comma ? (size_t)(comma - text.data) : text.size;
        if (count == most)
            return -1;
        items[count] =
            (struct item){view_trim((struct view){text.data, size}), NULL, count + 1};
        count++;
        text = view_skip(text, size + 1);
    }
    return count;
}

static bool read_list(struct value_reader *r, struct view text, struct field_value *out)
{
    enum field_kind kind = field_table[r->id].kind;
    if (value_read_none(r, text, out))
        return true;
    int most = (int)kind_limit(kind);
    struct item *items = ARENA_ARRAY(r->arena, struct item, (size_t)most);
    int count = split(text, items, most);
    if (count < 0)
        machine_complain(r, NULL, READER_TOO_LONG, NULL, "more than %d entries", most);
    return count >= 0 && value_read_list(r, items, (uint32_t)count, out);
}

const char *field_read_text(struct arena *arena, enum field_id id, struct view text,
                            struct field_value *out)
{
    struct value_reader r = {.arena = arena, .id = id, .last = -1, .quiet = -1};
    struct field_value value;
    struct readings from;
    if (readings_stand(id, text))
        return readings_read_text(arena, id, text, out, &from);
    /* Values look into their text, which may not live as long as they do. */
    struct view copy = {arena_copy(arena, text.data, text.size), text.size};
    struct item item = {copy, NULL, 0};
    bool right = kind_is_list(field_table[id].kind) ? read_list(&r, copy, &value)
                                                    : value_read_text(&r, &item, &value);
    if (right)
        *out = value;
    return right ? NULL : r.message;
}
