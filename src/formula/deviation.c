/* Names of deviations: whose unknown a tolerance is.  Packed into 64 bits, see internal.h. */
#include "formula/internal_run.h"

enum { RECORD_BITS = 24 };

deviation_name deviation_own(const struct formula_node *leaf, uint8_t kind, uint32_t record)
{
    uint64_t name = deviation_make(DEVIATION_OWN, leaf->part, leaf->leaf);
    return kind ? name | deviation_record(kind, record) << 24 : name;
}

/* Three records and more share the room of one by a mix of their numbers. */
static uint64_t mix(uint64_t a, uint64_t b)
{
    return ((a * 0x9e3779b97f4a7c15u ^ b) * 0xff51afd7ed558ccdu) >> (64 - RECORD_BITS);
}

static uint64_t slot_record(const struct evaluator *evaluator, uint32_t slot)
{
    const struct slot *s = &evaluator->slots[slot];
    return s->state == ENV_KNOWN ? deviation_record(s->kind, s->record) : 0;
}

static uint64_t own_record(struct evaluator *evaluator, uint32_t node)
{
    uint32_t record = 0;
    bool recording = evaluator->recording;
    evaluator->recording = false;
    uint8_t state = run_record(evaluator, node, &record);
    evaluator->recording = recording;
    return state == ENV_KNOWN ? deviation_record(node_of(evaluator, node)->kind, record) : 0;
}

deviation_name deviation_of(struct evaluator *evaluator, const struct formula_node *name)
{
    uint64_t first = 0, second = 0;
    unsigned count = 0;
    uint8_t part = name->part;
    if (name->a != NODE_NONE) {
        first = own_record(evaluator, name->a);
        count++;
    }
    for (const struct formula_node *at = name; at->b != NODE_NONE;
         at = node_of(evaluator, at->c)) {
        uint64_t record = slot_record(evaluator, at->b);
        if (count == 0)
            first = record;
        else if (count == 1)
            second = record;
        else
            second = mix(second, record);
        count++;
        if (at->c == NODE_NONE)
            break;
    }
    if (count > 2) {
        second = mix(second, part);
        part = DEVIATION_MIXED;
    }
    bool field = name->number == 0;
    return deviation_make(field ? DEVIATION_FIELD : DEVIATION_PLACE, part,
                          field ? name->leaf : (uint16_t)name->number) |
           first << RECORD_BITS | second;
}

/* Does the field that a name speaks of belong to a record? */
static bool has_record(const struct evaluator *evaluator, deviation_name name)
{
    uint16_t leaf = name >> 48 & DEVIATION_LEAF_MAX;
    for (uint32_t i = 0; i < evaluator->program->node_count; i++) {
        const struct formula_node *n = node_of(evaluator, i);
        if ((n->op == OP_NAME ? n->number == 0 : n->op == OP_LEAF) && n->leaf == leaf)
            return n->a != NODE_NONE;
    }
    return false;
}

static void add_record(struct buffer *out, const struct formula_namer *namer, uint64_t record,
                       const char *joint)
{
    uint8_t kind = record >> 21 & 7;
    uint32_t index = (uint32_t)(record & DEVIATION_INDEX_MASK);
    if (!index)
        return;
    if (kind == DEVIATION_ELEMENT)
        buffer_format(out, "[%u]", index - 1);
    else
        buffer_format(out, "%s%s", joint,
                      namer->record(namer->user, out->arena, kind, index - 1));
}

static void add_second(struct buffer *out, const struct formula_namer *namer, uint64_t record,
                       bool mixed, const char *joint)
{
    if (mixed)
        buffer_format(out, "%sothers", joint);
    else
        add_record(out, namer, record, joint);
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
    struct buffer out;
    buffer_init(&out, arena);
    uint16_t leaf = name >> 48 & DEVIATION_LEAF_MAX;
    uint8_t part = name >> 60 & PART_MASK;
    uint64_t first = name >> RECORD_BITS & 0xffffff, second = name & 0xffffff;
    bool mixed = part == DEVIATION_MIXED;
    enum deviation_origin origin = (enum deviation_origin)(name >> 62);
    if (origin == DEVIATION_PLACE) {
        add_place(evaluator, &out, leaf);
        add_record(&out, namer, first, " of ");
        add_second(&out, namer, second, mixed, " and ");
        return buffer_string(&out);
    }
    bool own = origin == DEVIATION_OWN ? (first >> 21 & 7) != 0 : has_record(evaluator, name);
    uint32_t record = own ? (uint32_t)(first & DEVIATION_INDEX_MASK) - 1 : 0;
    buffer_text(&out, namer->leaf(namer->user, arena, leaf, mixed ? 0 : part, record));
    if (!own)
        add_record(&out, namer, first, " of ");
    add_second(&out, namer, second, mixed, own ? " of " : " and ");
    return buffer_string(&out);
}
