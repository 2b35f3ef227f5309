/* Recording: one formula worked out once more, with all that a finding shows.
 *
 * Each function of the evaluator enters what it works out, within the entry of what it is
 * worked out for.  Afterwards the record alone is read: which comparison decided, what was read
 * for it, what was missing, what each part came to.
 */
#include "formula/internal.h"

/* Entering. */

static void start(struct evaluator *evaluator)
{
    struct record *record = &evaluator->last;
    record->arena = evaluator->arena;
    record->number++;
    record->open = NODE_NONE;
    record->walk = 0;
    record->full = false;
    record->entries.count = record->forms.count = 0;
    if (record->reads.count)
        memset(record->buckets, 0, sizeof record->buckets);
    record->reads.count = 0;
    evaluator->record = record;
}

uint32_t record_open(struct record *record, const struct formula_node *node)
{
    uint32_t new = record_next(record);
    if (new == ENTRIES_MAX) {
        record->full = true;
        return NODE_NONE;
    }
    struct entry entry = {
        .node = node,
        .outer = record->open,
        .first = NODE_NONE,
        .last = NODE_NONE,
        .next = NODE_NONE,
        .stands_for = NODE_NONE,
        .read = NODE_NONE,
    };
    VECTOR_ADD(record->arena, &record->entries, entry);
    if (record->open != NODE_NONE) {
        struct entry *outer = &record->entries.items[record->open];
        if (outer->last == NODE_NONE)
            outer->first = new;
        else
            record->entries.items[outer->last].next = new;
        outer->last = new;
    }
    return record->open = new;
}

void record_close(struct record *record, uint32_t entry, uint8_t state)
{
    if (entry == NODE_NONE)
        return;
    record->entries.items[entry].state = state;
    record->open = record->entries.items[entry].outer;
}

void record_quantity(struct evaluator *evaluator, uint32_t entry, uint8_t state,
                     const struct form *form)
{
    struct record *record = evaluator->record;
    if (entry != NODE_NONE && state == ENV_KNOWN) {
        struct form *copy;
        record->entries.items[entry].of.form = (uint32_t)record->forms.count;
        VECTOR_ADD(record->arena, &record->forms, (struct form){0});
        copy = &record->forms.items[record->forms.count - 1];
        copy_form(copy, form);
    }
    record_close(record, entry, state);
}

void record_stand(struct record *record, uint32_t entry)
{
    if (!record->full && entry < record_next(record))
        record->entries.items[record->open].stands_for = entry;
}

static uint32_t bucket_of(uint16_t leaf, uint8_t part, uint32_t owner)
{
    uint32_t mixed = (leaf * 2654435761u) ^ (owner * 2246822519u) ^ part;
    return (mixed ^ mixed >> 15) % NOTED_BUCKETS;
}

void record_read(struct evaluator *evaluator, const struct formula_node *leaf, uint32_t owner,
                 const struct env_value *value)
{
    struct record *record = evaluator->record;
    uint8_t part = leaf->part & PART_MASK;
    uint32_t *bucket = &record->buckets[bucket_of(leaf->leaf, part, owner)], at = *bucket;
    for (; at; at = record->reads.items[at - 1].next) {
        const struct formula_read *read = &record->reads.items[at - 1].read;
        if (read->leaf == leaf->leaf && read->part == part && read->record == owner)
            break;
    }
    if (!at) {
        bool known = value->state == ENV_KNOWN;
        struct noted noted = {
            .read = {.leaf = leaf->leaf,
                     .part = part,
                     .state = (uint8_t)value->state,
                     .record = owner,
                     .defaulted = known && value->defaulted,
                     .unit = known && leaf->type == TYPE_QUANTITY ? value->unit : UNIT_BARE,
                     .dimension = leaf->dimension},
            .next = *bucket,
        };
        VECTOR_ADD(record->arena, &record->reads, noted);
        *bucket = at = (uint32_t)record->reads.count;
    }
    if (!record->full) {
        record->entries.items[record->open].read = at - 1;
        record->entries.items[record->open].owner = owner;
    }
}

/* Reading. */

const struct entry *entry_at(const struct record *record, uint32_t entry)
{
    return entry < record->entries.count ? &record->entries.items[entry] : NULL;
}

const struct entry *entry_part(const struct record *record, const struct entry *entry,
                               uint32_t index)
{
    const struct entry *part = entry_at(record, entry->first);
    while (part && index--)
        part = entry_at(record, part->next);
    return part;
}

/* From the whole to the comparison that decided; numbers in a list count as compared. */
static const struct entry *next_down(struct record *record, const struct entry *entry)
{
    const struct entry *x = entry_at(record, entry->first);
    const struct entry *last = entry_at(record, entry->last);
    switch (entry->node->op) {
    case OP_AND:
    case OP_OR:
        return x == last || outcome_side(entry->node->op == OP_AND, &x->of.outcome,
                                         &last->of.outcome) == 1
                   ? x
                   : last;
    case OP_IF:
    case OP_OTHERWISE:
        return last;
    case OP_CALL:
        return entry_at(record, entry->stands_for);
    case OP_EVERY:
    case OP_ANY:
        if (!last || !last->is_element)
            return NULL;
        if (x->read != NODE_NONE)
            record->reads.items[x->read].read.comparing = true;
        return entry_at(record, last->last);
    default:
        return NULL;
    }
}

static const struct form *form_of(const struct record *record, const struct entry *entry)
{
    return &record->forms.items[entry->of.form];
}

/* Which limit of `inside` decided. */
static void find_limit(const struct evaluator *evaluator, struct compared *out)
{
    const struct record *record = &evaluator->last;
    const struct entry *sides[3]; /* what is compared, the limits */
    struct form spare[2];
    double least[2];
    bool outside = out->entry->node->part & FLAG_NEGATE;
    for (uint32_t i = 0; i < 3; i++)
        sides[i] = entry_part(record, out->entry, i);
    for (int limit = 0; limit < 2; limit++) {
        bool above = (limit == 0) != outside;
        const struct form *x = form_of(record, sides[0]);
        const struct form *end = form_of(record, sides[1 + limit]);
        form_subtract(&spare[limit], above ? x : end, above ? end : x);
        least[limit] =
            form_settle(&spare[limit], form_least(&spare[limit], evaluator->statistical));
    }
    int at = outside ? least[1] > least[0] : least[1] < least[0];
    bool above = (at == 0) != outside;
    out->high = above ? sides[0] : sides[1 + at];
    out->low = above ? sides[1 + at] : sides[0];
}

static void find_sides(const struct evaluator *evaluator, struct compared *out)
{
    const struct record *record = &evaluator->last;
    const struct formula_node *n = out->entry->node;
    const struct entry *first = entry_part(record, out->entry, 0);
    const struct entry *second = entry_at(record, out->entry->last);
    bool swapped = n->op == OP_COMPARE && n->part & FLAG_SWAPPED; /* written second, first */
    if (n->op == OP_COMPARE_EACH) {
        second = entry_at(record, second->last); /* of the element */
        swapped = n->part & FLAG_EACH_IS_HIGH;
    }
    if (n->op == OP_INSIDE) {
        find_limit(evaluator, out);
    } else if (n->op == OP_COMPARE || n->op == OP_EQUAL || n->op == OP_COMPARE_EACH) {
        out->high = swapped ? second : first;
        out->low = swapped ? first : second;
    }
}

/* What an entry was worked out of was compared, but for the conditions of an `if`. */
static void mark_compared(struct record *record, const struct entry *entry)
{
    if (!entry || entry->walk == record->walk)
        return;
    record->entries.items[entry - record->entries.items].walk = record->walk;
    if (entry->read != NODE_NONE)
        record->reads.items[entry->read].read.comparing = true;
    const struct entry *part = entry_at(record, entry->first);
    if (part && entry->node->op == OP_IF)
        part = entry_at(record, part->next);
    for (; part; part = entry_at(record, part->next))
        mark_compared(record, part);
    mark_compared(record, entry_at(record, entry->stands_for));
}

/* What was not there is missed where nothing around it is known all the same: `known` or
 * `otherwise` had an answer, or another side decided. */
static void mark_needed(struct record *record, const struct entry *entry)
{
    bool known = entry && entry->state == ENV_KNOWN && !entry->is_element;
    if (!entry || known || entry->walk == record->walk)
        return;
    record->entries.items[entry - record->entries.items].walk = record->walk;
    if (entry->read != NODE_NONE)
        record->reads.items[entry->read].needed = true;
    for (const struct entry *part = entry_at(record, entry->first); part;
         part = entry_at(record, part->next))
        mark_needed(record, part);
    mark_needed(record, entry_at(record, entry->stands_for));
}

/* The reads in the order first asked, without those whose absence did no harm. */
static void give_reads(const struct record *record, struct arena *arena, struct trace *out)
{
    out->reads = ARENA_ARRAY(arena, struct formula_read, record->reads.count);
    for (size_t i = 0; i < record->reads.count; i++) {
        const struct noted *noted = &record->reads.items[i];
        if (noted->read.state == ENV_KNOWN || noted->needed || record->full)
            out->reads[out->read_count++] = noted->read;
    }
}

static void tell(struct evaluator *evaluator, const struct formula_namer *namer,
                 struct arena *arena, struct trace *out)
{
    struct record *record = &evaluator->last;
    struct compared compared = {.entry = entry_at(record, 0)};
    record->walk++;
    if (!compared.entry || out->verdict.truth == TRUTH_UNKNOWN) {
        mark_needed(record, compared.entry);
        return;
    }
    for (const struct entry *next = compared.entry; next; next = next_down(record, next))
        compared.entry = next;
    find_sides(evaluator, &compared);
    if (!compared.high || compared.entry->node->op == OP_COMPARE_EACH)
        mark_compared(record, compared.entry);
    mark_compared(record, compared.high);
    mark_compared(record, compared.low);
    if (compared.high)
        form_subtract(&out->difference, form_of(record, compared.high),
                      form_of(record, compared.low));
    say_lines(evaluator, namer, &compared, arena, out);
}

void evaluate_traced(struct evaluator *evaluator, uint32_t node, bool statistical,
                     const struct formula_namer *namer, struct arena *arena, struct trace *out)
{
    /* recording has as many steps as checking, of its own */
    uint64_t steps = evaluator->steps;
    bool exhausted = evaluator->exhausted;
    evaluator->steps = evaluator->recorded_steps;
    evaluator->exhausted = false;
    *out = (struct trace){0};
    form_exact(&out->difference, 0);
    start(evaluator);
    evaluate_requirement(evaluator, node, statistical, &out->verdict);
    evaluator->record = NULL;
    evaluator->recorded_steps = evaluator->steps;
    evaluator->steps = steps;
    evaluator->exhausted = exhausted;
    evaluator->verdict = out->verdict;
    if (!evaluator->last.full)
        tell(evaluator, namer, arena, out);
    give_reads(&evaluator->last, arena, out);
}

void evaluate_shown(struct evaluator *evaluator, uint32_t node,
                    const struct formula_namer *namer, unit_id unit, struct buffer *out)
{
    start(evaluator);
    run_any(evaluator, node);
    evaluator->record = NULL;
    say_shown(evaluator, namer, unit, out);
}
