/* Values that are lists: pairs, lists of quantities, lists of words, the order of homing. */
#include "machine/internal.h"

#include "base/bug.h"
#include "quantity/quantity.h"
#include "text/escape.h"

struct item *value_gather(struct value_reader *r, const struct tree_node *list)
{
    struct item *items = ARENA_ARRAY(r->arena, struct item, list->count);
    int part = 0;
    for (const struct tree_node *child = list->first; child; child = child->next) {
        const struct tree_node *node = tree_resolve(child);
        struct item *item = &items[part++];
        *item = (struct item){node->text, child, part};
        if (node->kind != TREE_TEXT) {
            machine_complain(r, item, READER_WRONG_KIND, NULL, "%s stands here",
                             node_stands(node));
            return NULL;
        }
        if (node_is_void(node)) {
            value_complain_void(r, item);
            return NULL;
        }
    }
    return items;
}

/* Does nothing but a comma stand between two numbers, the first without a unit? */
static bool is_parted(const struct item *left, const struct item *right)
{
    const struct tree_node *a = left->node, *b = right->node;
    if (a->kind != TREE_TEXT || b->kind != TREE_TEXT || a->style != STYLE_PLAIN ||
        b->style != STYLE_PLAIN || a->span.end + 1 != b->span.start)
        return false;
    char last = left->text.data[left->text.size - 1], first = right->text.data[0];
    return last >= '0' && last <= '9' && first >= '0' && first <= '9';
}

static struct item join(struct value_reader *r, const struct item *left,
                        const struct item *right)
{
    struct tree_node *node = ARENA_NEW(r->arena, struct tree_node);
    *node = *left->node;
    node->span.end = right->node->span.end;
    node->text = source_slice(r->reader->machine->tree->source, node->span);
    return (struct item){node->text, node, left->part};
}

uint32_t list_join_numbers(struct value_reader *r, struct item *items, uint32_t count)
{
    enum field_kind kind = field_table[r->id].kind;
    /* Where two limits are wanted and two numbers stand, the comma parts them. */
    if (kind == KIND_WORDS || kind == KIND_ORDER || (kind == KIND_PAIR && count == 2))
        return count;
    uint32_t joined = 0;
    bool in_row = false; /* `3,6,8 mm`: three numbers, not one and a half */
    for (uint32_t i = 0; i < count; i++) {
        bool here = i + 1 < count && is_parted(&items[i], &items[i + 1]);
        bool next = here && i + 2 < count && is_parted(&items[i + 1], &items[i + 2]);
        bool one = here && !next && !in_row;
        items[joined] = one ? join(r, &items[i], &items[i + 1]) : items[i];
        items[joined].part = (int)joined + 1;
        joined++;
        in_row = here && !one;
        i += one;
    }
    return joined;
}

static void complain_order(struct value_reader *r, const struct item *items)
{
    const char *low = escape_short(r->arena, view_trim(items[0].text), VALUE_CELLS);
    const char *high = escape_short(r->arena, view_trim(items[1].text), VALUE_CELLS);
    const char *path = "";
    if (r->reader)
        path = arena_format(r->arena, " of %s",
                            escape_short(r->arena,
                                         view_of(machine_path(r->arena, r->reader->machine,
                                                              r->id, r->record, 0)),
                                         NAME_CELLS));
    machine_tell(r, NULL, READER_OUT_OF_ORDER, "write the lower of the two first",
                 arena_format(r->arena, "the low limit%s, %s, lies above the high one, %s",
                              path, low, high));
}

static bool read_pair(struct value_reader *r, const struct item *items, uint32_t count,
                      struct field_value *out)
{
    if (count != 2) {
        machine_complain(
            r, NULL, READER_WRONG_KIND,
            count > 2 ? "a comma parts the two limits; the decimal sign is a point" : NULL,
            "%u %s here", (unsigned)count, count == 1 ? "value stands" : "values stand");
        return false;
    }
    struct field_value *pair = ARENA_ARRAY(r->arena, struct field_value, 2);
    bool right = value_read_quantity(r, &items[0], &pair[0]);
    /* Two bare numbers are one slip: the second is told only where it is another. */
    r->quiet = r->last;
    right = value_read_quantity(r, &items[1], &pair[1]) && right;
    r->quiet = -1;
    if (!right)
        return false;
    if (pair[0].si > pair[1].si) {
        complain_order(r, items);
        return false;
    }
    *out = (struct field_value){
        .state = VALUE_GIVEN, .unit = pair[0].unit, .pair = pair, .node = r->node};
    machine_judge_extent(r, out);
    return true;
}

static bool read_numbers(struct value_reader *r, const struct item *items, uint32_t count,
                         struct field_value *out)
{
    struct number_list *list = ARENA_NEW(r->arena, struct number_list);
    list->count = count;
    list->items = ARENA_ARRAY(r->arena, struct field_value, count);
    bool right = true;
    for (uint32_t i = 0; i < count; i++)
        right = value_read_quantity(r, &items[i], &list->items[i]) && right;
    if (right)
        *out = (struct field_value){.state = VALUE_GIVEN,
                                    .unit = count ? list->items[0].unit : (unit_id)UNIT_BARE,
                                    .list = list,
                                    .node = r->node};
    return right;
}

static bool read_words(struct value_reader *r, const struct item *items, uint32_t count,
                       struct field_value *out)
{
    struct word_list *words = ARENA_NEW(r->arena, struct word_list);
    bool right = true;
    for (uint32_t i = 0; i < count; i++) {
        int found = value_read_word(r, &items[i]);
        if (found < 0) {
            right = false;
            continue;
        }
        words->word[words->count] = (uint8_t)found;
        words->rank[words->count++] = (uint8_t)i;
    }
    if (right)
        *out = (struct field_value){.state = VALUE_GIVEN, .words = words, .node = r->node};
    return right;
}

/* One group of letters, which share a rank. */
static bool read_group(struct value_reader *r, const struct item *item, uint8_t rank,
                       struct word_list *words)
{
    struct view text = view_trim(item->text);
    for (size_t i = 0; i < text.size; i++) {
        char letter = (char)(text.data[i] | 0x20);
        if (letter < 'x' || letter > 'z') {
            machine_complain(r, item, READER_UNKNOWN_CHOICE, NULL, "%s is no group of axes",
                             machine_quoted(r->arena, text));
            return false;
        }
        uint8_t axis = (uint8_t)(letter - 'x');
        for (uint32_t k = 0; k < words->count; k++) {
            if (words->word[k] == axis) {
                machine_complain(r, item, READER_WRONG_KIND, "name each axis once",
                                 "axis %c stands twice", letter);
                return false;
            }
        }
        words->word[words->count] = axis;
        words->rank[words->count++] = rank;
    }
    if (!text.size)
        machine_complain(r, item, READER_WRONG_KIND, NULL, "a group has no axis in it");
    return text.size > 0;
}

static bool read_order(struct value_reader *r, const struct item *items, uint32_t count,
                       struct field_value *out)
{
    struct word_list *words = ARENA_NEW(r->arena, struct word_list);
    if (!count) {
        machine_complain(r, NULL, READER_WRONG_KIND,
                         "write none where the machine does not home", "the list is empty");
        return false;
    }
    for (uint32_t i = 0; i < count; i++)
        if (!read_group(r, &items[i], (uint8_t)i, words))
            return false;
    *out = (struct field_value){.state = VALUE_GIVEN, .words = words, .node = r->node};
    return true;
}

bool value_read_none(struct value_reader *r, struct view text, struct field_value *out)
{
    if (field_table[r->id].kind != KIND_ORDER || !view_is(view_trim(text), "none"))
        return false;
    struct word_list *words = ARENA_NEW(r->arena, struct word_list);
    words->none = true;
    *out = (struct field_value){.state = VALUE_GIVEN, .words = words, .node = r->node};
    return true;
}

uint32_t kind_limit(enum field_kind kind)
{
    return kind == KIND_LIST ? NUMBERS_MAX : WORDS_MAX;
}

bool value_read_list(struct value_reader *r, const struct item *items, uint32_t count,
                     struct field_value *out)
{
    switch (field_table[r->id].kind) {
    case KIND_PAIR:
        return read_pair(r, items, count, out);
    case KIND_LIST:
        return read_numbers(r, items, count, out);
    case KIND_WORDS:
        return read_words(r, items, count, out);
    case KIND_ORDER:
        return read_order(r, items, count, out);
    default:
        BUG("a text read as a list");
    }
}
