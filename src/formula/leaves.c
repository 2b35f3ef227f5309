/* What formulas read: numbers, and leaves with their tolerances. */
#include "formula/internal_eval.h"

#include <math.h>

/* Is it worked out of the number whose range is asked about? */
static inline bool is_moved(const struct evaluator *evaluator, const struct formula_node *n)
{
    return evaluator->moved && evaluator->moved[n->leaf] && n->leaf != evaluator->range.leaf;
}

/* Of such a leaf.  How far up its tolerances take it nobody tells: only what fails for want of
 * it can be told to fail. */
static const struct form *moved_form(const struct evaluator *evaluator,
                                     const struct formula_node *n,
                                     const struct env_value *value, struct form *room)
{
    struct form most;
    if (n->part & FLAG_NOMINAL)
        return form_unknown(ENV_OPEN);
    form_at_least(room, value->number);
    if (!evaluator->range.failing || value->most == INFINITY)
        return room;
    form_exact(room, value->number);
    form_exact(&most, value->most);
    form_either(room, room, &most);
    return room;
}

/* Adds the range that is asked about, where this is its number. */
static void add_range(const struct evaluator *evaluator, const struct formula_node *n,
                      uint32_t record, struct form *form)
{
    const struct formula_range *range = &evaluator->range;
    struct form band;
    if (n->leaf != range->leaf || (n->part & PART_MASK) != range->part ||
        record != range->record)
        return;
    form_with(&band, 0, DEVIATION_RANGE, range->half);
    form_add(form, form, &band);
}

/* What stands in a record, or comes of it. */
static inline void read_value(const struct evaluator *evaluator, const struct formula_node *n,
                              uint32_t record, struct env_value *value)
{
    const struct environment_values *values = &evaluator->values;
    if (is_moved(evaluator, n))
        values->throughout(values->user, n->leaf, record, value);
    else
        values->read(values->user, n->leaf, n->part & PART_MASK, record, value);
}

/* The form of a leaf that is known. */
static inline const struct form *form_of(struct evaluator *evaluator,
                                         const struct formula_node *n, uint32_t record,
                                         const struct env_value *value, struct form *room)
{
    if (is_moved(evaluator, n))
        return moved_form(evaluator, n, value, room);
    if (n->type == TYPE_DATE || value->tolerance == 0 || n->part & FLAG_NOMINAL)
        form_exact(room, value->number);
    else
        form_with(room, value->number, deviation_own(evaluator, n, record, NODE_NONE),
                  value->tolerance);
    if (evaluator->moved)
        add_range(evaluator, n, record, room);
    return room;
}

void leaf_fill(struct evaluator *evaluator, const struct formula_node *n, uint32_t record,
               struct leaf *leaf)
{
    struct env_value *value = &leaf->value;
    leaf->epoch = n->op == OP_DOMAIN ? 0 : evaluator->epoch; /* all lists have one place */
    leaf->record = record;
    read_value(evaluator, n, record, value);
    leaf->known = form_unknown((uint8_t)value->state);
    if (value->state == ENV_KNOWN && (n->type == TYPE_QUANTITY || n->type == TYPE_DATE))
        leaf->known = form_of(evaluator, n, record, value, &leaf->form);
}

const struct form *leaf_number(struct evaluator *evaluator, const struct formula_node *n,
                               struct form *room)
{
    if (n->part & FLAG_ONE) {
        struct leaf *place = &evaluator->leaves[n->c];
        place->epoch = evaluator->epoch;
        place->known = room = &place->form;
    }
    form_exact(room, n->number);
    return room;
}

static int rank_of(const struct env_value *list, uint32_t word)
{
    for (uint32_t i = 0; i < list->count; i++)
        if (list->words[i] == word)
            return list->ranks[i];
    return -1;
}

bool leaf_passes(const struct formula_node *n, const struct env_value *value)
{
    int first, second;
    switch (n->op) {
    case OP_FLAG:
        return value->number != 0;
    case OP_IS_WORD:
        return (uint32_t)value->number == n->b;
    case OP_IS_NONE:
        return value->none;
    case OP_HAS:
        return rank_of(value, n->b) >= 0;
    case OP_BEFORE:
        first = rank_of(value, n->b);
        second = rank_of(value, n->c);
        return first < 0 || second < 0 || first < second;
    default:
        BUG("operation %d asks no leaf", n->op);
    }
}
