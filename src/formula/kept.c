/* What definitions came to, kept while their arguments stay the same.
 *
 * One value a call is mostly enough, since rules are asked record by record: all rules about
 * one cutter find what the first of them computed.
 */
#include "formula/internal_eval.h"

struct kept *kept_place(const struct evaluator *evaluator, uint32_t call,
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

bool kept_fill(const struct evaluator *evaluator, struct kept *kept)
{
    if (!kept || evaluator->exhausted)
        return false;
    kept->epoch = evaluator->epoch;
    kept->statistical = evaluator->statistical;
    kept->recording = evaluator->record ? evaluator->record->number : 0;
    return true;
}

void kept_bind(struct evaluator *evaluator, const struct formula_node *call,
               const struct arguments *arguments)
{
    const struct formula_call *c = &evaluator->program->calls[call->a];
    struct slot *slot = &evaluator->slots[c->first_slot];
    uint32_t argument = call->b;
    for (uint32_t i = 0; i < c->parameters; i++, slot++) {
        const struct formula_node *n = node_of(evaluator, argument);
        uint32_t key = arguments->keys[i];
        bool known = key < NODE_NONE - ENV_OPEN;
        slot->state = known ? ENV_KNOWN : (uint8_t)(NODE_NONE - key);
        slot->record = known ? key : 0;
        slot->kind = node_of(evaluator, n->a)->kind;
        slot->entry = arguments->entries[i];
        argument = n->b;
    }
}
