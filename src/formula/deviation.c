/* Names of deviations: whose unknown a tolerance is.
 *
 * That is told by words: what it is (origin, part of a pair, leaf or number of the width), the
 * record that the leaf belongs to, and the records in whose names the tolerance stands.  Two
 * records and small numbers, nearly all there are, fit into the name itself; what does not is
 * listed for as long as the file, and its name is its number there.  Where that list is full a
 * tolerance has no name, and cancels against nothing.
 */
#include "formula/internal_eval.h"

#include "base/hash.h"

enum {
    INDEX_BITS = 20,
    RECORD_BITS = 24,
    HEAD_SHIFT = 2 * RECORD_BITS, /* 2 bits origin, 2 bits part, 12 bits leaf or number */
    LISTED_MAX = 1 << 16,
    ELEMENT = 0, /* in place of a kind: the index of a number in a list */
};

enum origin { ORIGIN_OWN = 1, ORIGIN_FIELD = 2, ORIGIN_PLACE = 3 };

_Static_assert((int)DEVIATION_LEAF_MAX < 1 << 12, "a leaf's number fits into a name");

static uint64_t head_word(enum origin origin, uint8_t part, uint16_t leaf)
{
    return (uint64_t)origin << 14 | (uint64_t)(part & PART_MASK) << 12 | leaf;
}

/* 0 stands for none. */
static uint64_t record_word(uint8_t kind, uint32_t index)
{
    return (uint64_t)kind << 32 | (uint64_t)(index + 1);
}

static bool fits(uint64_t record)
{
    return record >> 32 < 1 << (RECORD_BITS - INDEX_BITS) &&
           (uint32_t)record < 1u << INDEX_BITS;
}

static uint64_t in_bits(uint64_t record)
{
    return record >> 32 << INDEX_BITS | (uint32_t)record;
}

static uint64_t from_bits(uint64_t bits)
{
    return (bits >> INDEX_BITS & 15) << 32 | (bits & ((1u << INDEX_BITS) - 1));
}

/* The number of the words from `start` on, which are taken off where they are listed already.
 */
static deviation_name listed(struct evaluator *evaluator, size_t start)
{
    struct deviation_list *list = &evaluator->deviations;
    const uint64_t *words = list->words.items + start;
    size_t size = (list->words.count - start) * sizeof *words;
    uint64_t hash = hash_bytes((struct view){(const char *)words, size});
    uint32_t *bucket = &list->buckets[hash % DEVIATION_BUCKETS], at = *bucket;
    for (; at; at = list->items.items[at - 1].next) {
        const struct listed_deviation *other = &list->items.items[at - 1];
        if (other->count * sizeof *words == size &&
            memcmp(list->words.items + other->start, words, size) == 0)
            break;
    }
    if (at || list->items.count == LISTED_MAX) {
        list->words.count = start;
        return at;
    }
    struct listed_deviation new = {start, (uint32_t)(list->words.count - start), *bucket};
    VECTOR_ADD(evaluator->arena, &list->items, new);
    return *bucket = (uint32_t)list->items.count;
}

static void add_word(struct evaluator *evaluator, uint64_t word)
{
    VECTOR_ADD(evaluator->arena, &evaluator->deviations.words, word);
}

static deviation_name name_of(struct evaluator *evaluator, uint64_t head, uint64_t own,
                              uint64_t other)
{
    if (fits(own) && fits(other))
        return head << HEAD_SHIFT | in_bits(own) << RECORD_BITS | in_bits(other);
    size_t start = evaluator->deviations.words.count;
    add_word(evaluator, head);
    add_word(evaluator, own);
    add_word(evaluator, other);
    return listed(evaluator, start);
}

deviation_name deviation_own(struct evaluator *evaluator, const struct formula_node *leaf,
                             uint32_t record, uint32_t element)
{
    uint8_t kind = leaf->a == NODE_NONE ? 0 : node_of(evaluator, leaf->a)->kind;
    return name_of(evaluator, head_word(ORIGIN_OWN, leaf->part, leaf->leaf),
                   kind ? record_word(kind, record) : 0,
                   element == NODE_NONE ? 0 : record_word(ELEMENT, element));
}

static uint64_t slot_word(const struct evaluator *evaluator, uint32_t slot)
{
    const struct slot *s = &evaluator->slots[slot];
    return s->state == ENV_KNOWN ? record_word(s->kind, s->record) : 0;
}

deviation_name deviation_of(struct evaluator *evaluator, const struct formula_node *name,
                            uint32_t owner)
{
    bool field = name->number == 0;
    uint64_t head = head_word(field ? ORIGIN_FIELD : ORIGIN_PLACE, name->part,
                              field ? name->leaf : (uint16_t)name->number);
    uint64_t own =
        owner == NODE_NONE ? 0 : record_word(node_of(evaluator, name->a)->kind, owner);
    uint64_t other = name->b == NODE_NONE ? 0 : slot_word(evaluator, name->b);
    if (name->c == NODE_NONE)
        return name_of(evaluator, head, own, other);
    size_t start = evaluator->deviations.words.count;
    add_word(evaluator, head);
    add_word(evaluator, own);
    add_word(evaluator, other);
    for (uint32_t at = name->c; at != NODE_NONE; at = node_of(evaluator, at)->c)
        add_word(evaluator, slot_word(evaluator, node_of(evaluator, at)->b));
    return listed(evaluator, start);
}

void deviations_forget(struct evaluator *evaluator)
{
    struct deviation_list *list = &evaluator->deviations;
    if (list->items.count)
        memset(list->buckets, 0, sizeof list->buckets);
    list->items.count = list->words.count = 0;
}

/* "a tolerance of 2 mm": what stands after the plus-minus. */
static void add_place(const struct evaluator *evaluator, struct buffer *out, uint16_t number)
{
    for (uint32_t i = 0; i < evaluator->program->node_count; i++) {
        const struct formula_node *n = node_of(evaluator, i);
        if (n->op != OP_WIDEN || node_of(evaluator, n->c)->number != number)
            continue;
        const struct formula_node *width = node_of(evaluator, n->b);
        buffer_format(out, "the tolerance %.*s", (int)width->text_size,
                      evaluator->program->text + width->text);
        return;
    }
}

const char *evaluator_deviation(struct evaluator *evaluator, const struct formula_namer *namer,
                                struct arena *arena, deviation_name name)
{
    const struct deviation_list *list = &evaluator->deviations;
    uint64_t bits[3] = {name >> HEAD_SHIFT, from_bits(name >> RECORD_BITS), from_bits(name)};
    const uint64_t *words = bits;
    uint32_t count = 3;
    if (!bits[0]) {
        const struct listed_deviation *item = &list->items.items[name - 1];
        words = list->words.items + item->start;
        count = item->count;
    }
    struct buffer out;
    buffer_init(&out, arena);
    uint16_t leaf = words[0] & DEVIATION_LEAF_MAX;
    if (words[0] >> 14 == ORIGIN_PLACE)
        add_place(evaluator, &out, leaf);
    else
        buffer_text(&out, namer->leaf(namer->user, arena, leaf, words[0] >> 12 & PART_MASK,
                                      words[1] ? (uint32_t)words[1] - 1 : 0));
    const char *joint = " of ";
    for (uint32_t i = words[0] >> 14 == ORIGIN_PLACE ? 1 : 2; i < count; i++) {
        uint32_t index = (uint32_t)words[i] - 1;
        uint8_t kind = (uint8_t)(words[i] >> 32);
        if (words[i] && kind == ELEMENT)
            buffer_format(&out, "[%u]", index);
        else if (words[i])
            buffer_format(&out, "%s%s", joint, namer->record(namer->user, arena, kind, index));
        if (words[i])
            joint = " and ";
    }
    return buffer_string(&out);
}
