/* Calls of definitions: arguments into slots, and what they come to, kept while the arguments
 * stay the same.
 *
 * One value a call is mostly enough, since rules are asked record by record: all rules about
 * one cutter find what the first of them computed.
 */
#include "formula/internal.h"

/* All arguments are evaluated before any is stored: an argument may itself contain this call.
 */
static void store_arguments(struct evaluator *evaluator, uint32_t argument, uint32_t slot)
{
    if (argument == NODE_NONE)
        return;
    const struct formula_node *n = node_of(evaluator, argument);
    const struct formula_node *value = node_of(evaluator, n->a);
    struct slot *into = &evaluator->slots[slot];
    struct form room;
    const struct form *form = NULL;
    uint8_t state;
    bool is_record = value->type == TYPE_RECORD;
    uint32_t record = 0, entry = next_entry(evaluator);
    if (is_record)
        state = run_record(evaluator, n->a, &record);
    else
        state = form_state(form = run_quantity(evaluator, n->a, &room));
    store_arguments(evaluator, n->b, slot + 1);
    into->state = state;
    into->entry = entry;
    if (is_record) {
        into->kind = value->kind;
        into->record = record;
    } else if (state == ENV_KNOWN) {
        copy_form(&into->form, form);
    }
}

/* A call whose arguments are all records: what stands in its place for those, if anything. */

static inline uint32_t key_of(uint8_t state, uint32_t record)
{
    return state == ENV_KNOWN ? record : NODE_NONE - state;
}

/* Where what a call comes to is kept for these records; whether it is `known` already. */
static inline struct kept *place_of(const struct evaluator *evaluator, uint32_t call,
                                    const uint32_t keys[KEY_COUNT], bool is_truth, bool *known)
{
    const struct formula_call *c = &evaluator->program->calls[call];
    struct kept *kept = &evaluator->kept[call];
    if (evaluator->ways != 1)
        kept = &evaluator->kept[(size_t)call * evaluator->ways +
                                (c->parameters ? keys[0] & (evaluator->ways - 1) : 0)];
    bool same = kept->epoch == evaluator->epoch &&
                (!is_truth || kept->statistical == evaluator->statistical);
    for (uint32_t i = 0; i < c->parameters; i++) {
        same &= kept->keys[i] == keys[i];
        kept->keys[i] = keys[i];
    }
    if (!same)
        kept->epoch = 0; /* until it has been worked out */
    *known = same;
    return kept;
}

struct kept *kept_place(const struct evaluator *evaluator, uint32_t call, bool is_truth,
                        bool *known)
{
    const struct formula_call *c = &evaluator->program->calls[call];
    const struct slot *slot = &evaluator->slots[c->first_slot];
    uint32_t keys[KEY_COUNT];
    *known = false;
    if (!c->keeps)
        return NULL;
    for (uint32_t i = 0; i < c->parameters; i++)
        keys[i] = key_of(slot[i].state, slot[i].record);
    return place_of(evaluator, call, keys, is_truth, known);
}

bool kept_fill(const struct evaluator *evaluator, struct kept *kept)
{
    if (!kept || evaluator->exhausted)
        return false;
    kept->epoch = evaluator->epoch;
    kept->statistical = evaluator->statistical;
    kept->recording = evaluator->record ? evaluator->record->number : 0;
    return true;
}

static void store_records(struct evaluator *evaluator, const struct formula_node *call,
                          const struct formula_call *c, const uint32_t keys[KEY_COUNT],
                          const uint32_t entries[KEY_COUNT])
{
    struct slot *slot = &evaluator->slots[c->first_slot];
    uint32_t argument = call->b;
    for (uint32_t i = 0; i < c->parameters; i++, slot++) {
        const struct formula_node *n = node_of(evaluator, argument);
        bool known = keys[i] < NODE_NONE - ENV_OPEN;
        slot->state = known ? ENV_KNOWN : (uint8_t)(NODE_NONE - keys[i]);
        slot->record = known ? keys[i] : 0;
        slot->kind = node_of(evaluator, n->a)->kind;
        slot->entry = entries[i];
        argument = n->b;
    }
}

/* Binds the arguments of a call where it has to be worked out: where to keep what it comes to,
 * NULL where it cannot be kept; or where that is `known` already, and while recording the way
 * to it in this record. */
static struct kept *enter(struct evaluator *evaluator, const struct formula_node *call,
                          bool is_truth, bool *known)
{
    const struct formula_call *c = &evaluator->program->calls[call->a];
    uint32_t keys[KEY_COUNT], entries[KEY_COUNT], argument = call->b;
    *known = false;
    if (!c->keeps) {
        store_arguments(evaluator, call->b, c->first_slot);
        return NULL;
    }
    for (uint32_t i = 0; i < c->parameters; i++) {
        const struct formula_node *n = node_of(evaluator, argument);
        uint32_t record = 0;
        entries[i] = next_entry(evaluator);
        uint8_t state = quick_record(evaluator, n->a, &record);
        keys[i] = key_of(state, record);
        argument = n->b;
    }
    struct kept *kept = place_of(evaluator, call->a, keys, is_truth, known);
    if (*known && evaluator->record) {
        *known = kept->recording == evaluator->record->number;
        if (*known)
            record_stand(evaluator->record, kept->entry);
    }
    if (!*known)
        store_records(evaluator, call, c, keys, entries);
    return kept;
}

/* The same at a glance: of no argument or one, where nothing is recorded, as it mostly is. */
static inline const struct kept *known_at_once(const struct evaluator *evaluator,
                                               const struct formula_node *call)
{
    const struct kept *kept = &evaluator->kept[call->a];
    if (kept->epoch != evaluator->epoch || evaluator->record || evaluator->ways != 1)
        return NULL;
    if (call->b == NODE_NONE)
        return kept;
    const struct formula_node *argument = node_of(evaluator, call->b);
    const struct formula_node *record = node_of(evaluator, argument->a);
    if (argument->b != NODE_NONE || record->op != OP_RECORD_SLOT)
        return NULL;
    const struct slot *slot = &evaluator->slots[record->a];
    return slot->state == ENV_KNOWN && slot->record == kept->keys[0] ? kept : NULL;
}

/* After the body of a call was worked out, whose entry would be `body`: is it to be kept? */
static bool leave(const struct evaluator *evaluator, struct kept *kept, uint32_t body)
{
    if (evaluator->record)
        record_stand(evaluator->record, body);
    if (!kept_fill(evaluator, kept))
        return false;
    kept->entry = body;
    return true;
}

/* What a definition comes to lies in the caller's room: where it is kept, another call of it
 * may come between. */
const struct form *call_quantity(struct evaluator *evaluator, const struct formula_node *n,
                                 struct form *room)
{
    bool known;
    const struct kept *there = known_at_once(evaluator, n);
    struct kept *place = NULL;
    if (!there) {
        place = enter(evaluator, n, false, &known);
        there = known ? place : NULL;
    }
    if (there && there->state != ENV_KNOWN)
        return form_unknown(there->state);
    if (there && n->b == NODE_NONE)
        return &there->form; /* there is no other */
    const struct form *form = there ? &there->form : NULL;
    if (!there) {
        uint32_t body = next_entry(evaluator);
        form = run_quantity(evaluator, evaluator->program->calls[n->a].body, room);
        bool is_known = form_known(form);
        if (leave(evaluator, place, body)) {
            place->state = form_state(form);
            if (is_known)
                copy_form(&place->form, form);
        }
        if (form == room || !is_known)
            return form;
    }
    copy_form(room, form);
    return room;
}

uint8_t call_text(struct evaluator *evaluator, const struct formula_node *n, struct view *out)
{
    bool known;
    struct kept *kept = enter(evaluator, n, false, &known);
    if (known) {
        *out = kept->text;
        return kept->state;
    }
    *out = (struct view){NULL, 0};
    uint32_t body = next_entry(evaluator);
    uint8_t state = run_text(evaluator, evaluator->program->calls[n->a].body, out);
    if (leave(evaluator, kept, body)) {
        kept->state = state;
        kept->text = *out;
    }
    return state;
}

void call_truth(struct evaluator *evaluator, const struct formula_node *n, struct outcome *out)
{
    const struct kept *there = known_at_once(evaluator, n);
    if (there && there->statistical == evaluator->statistical) {
        *out = there->outcome;
        return;
    }
    bool known;
    struct kept *kept = enter(evaluator, n, true, &known);
    if (known) {
        *out = kept->outcome;
        return;
    }
    uint32_t body = next_entry(evaluator);
    run_truth(evaluator, evaluator->program->calls[n->a].body, out);
    if (leave(evaluator, kept, body))
        kept->outcome = *out;
}
