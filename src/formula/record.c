/* Recording: each function of the evaluator enters what it works out, within the entry of what
 * it is worked out for.  Afterwards the record alone is read.
 */
#include "formula/internal_eval.h"

/* Entering. */

void record_start(struct evaluator *evaluator)
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
    uint32_t new = (uint32_t)record->entries.count;
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

void record_quantity(struct evaluator *evaluator, uint32_t entry, const struct form *form)
{
    struct record *record = evaluator->record;
    if (entry != NODE_NONE && form_known(form)) {
        record->entries.items[entry].of.form = (uint32_t)record->forms.count;
        VECTOR_ADD(record->arena, &record->forms, (struct form){0});
        copy_form(&record->forms.items[record->forms.count - 1], form);
    }
    record_close(record, entry, form_state(form));
}

void record_stand(struct record *record, uint32_t entry)
{
    if (!record->full && entry < record->entries.count)
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

const struct form *entry_form(const struct record *record, const struct entry *entry)
{
    return &record->forms.items[entry->of.form];
}
