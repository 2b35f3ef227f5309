/* The arithmetic as a person would do it on paper: one line for each step, each number behind
 * what it is, in words.
 *
 *     at worst probe stroke 9 mm, to be no less than gap 14.35 mm: short by 5.35 mm
 *     gap 8 mm ± 6.4 mm = approach nose -40 mm + height error 0 mm ± 0.05 mm, less ...
 */
#include "formula/internal_say.h"

static const char *labelled(const struct speaker *speaker, const struct entry *entry)
{
    struct speaker labels = *speaker;
    labels.values = labels.labels = true;
    return say_text(&labels, entry);
}

/* What is said in place of `entry`: the side that counts, what was handed on, a field. */
static const struct entry *settled(const struct speaker *speaker, const struct entry *entry)
{
    entry = say_named_by(speaker, entry);
    while (entry) {
        uint8_t op = entry->node->op;
        const struct entry *next = op == OP_IF || op == OP_OTHERWISE ? say_taken(speaker, entry)
                                   : op == OP_SLOT
                                       ? entry_at(&speaker->evaluator->last, entry->stands_for)
                                       : NULL;
        if (!next)
            break;
        entry = next;
    }
    return entry;
}

/* A side of what is compared: "gap of cutter 1 21.36 mm", or what it comes to with what it is
 * made of behind it. */
static const char *side_step(const struct speaker *speaker, const struct entry *side,
                             const char *value)
{
    const struct entry *said_for = settled(speaker, side);
    if (said_for->node->op == OP_NUMBER)
        return value;
    if (say_has_value(said_for->node))
        return arena_format(speaker->arena, "%s %s%s", say_label(speaker, said_for), value,
                            say_place(speaker, said_for));
    return arena_format(speaker->arena, "%s (%s)", value, labelled(speaker, side));
}

/* What is wanted of the left side. */
static const char *wanted_of(const struct comparison *compared)
{
    /* of numbers and of dates; at least, more, at most, less */
    static const char *const words[] = {
        "to be no less than",  "to be more than",       "to be no more than",
        "to be less than",     "to be no earlier than", "to be later than",
        "to be no later than", "to be earlier than",
    };
    const struct formula_node *n = compared->node;
    if (n->op == OP_EQUAL)
        return n->part & FLAG_NEGATE ? "to differ from" : "to be equal to";
    bool dates = compared->sides[0]->node->type == TYPE_DATE;
    return words[(dates ? 4 : 0) + (n->part & FLAG_SWAPPED ? 2 : 0) +
                 (n->part & FLAG_STRICT ? 1 : 0)];
}

static const char *comparison_step(const struct speaker *speaker,
                                   const struct comparison *compared)
{
    bool inside = compared->node->op == OP_INSIDE;
    const char *sides[3] = {"", "", ""};
    for (size_t i = 0; i < (inside ? 3 : 2); i++)
        sides[i] = side_step(speaker, compared->sides[i], compared->values[i]);
    if (inside)
        return arena_format(speaker->arena, "%s, %sto be from %s to %s: %s", sides[0],
                            compared->node->part & FLAG_NEGATE ? "not " : "", sides[1],
                            sides[2], compared->spare);
    return arena_format(speaker->arena, "%s%s, %s %s: %s%s", compared->worst ? "at worst " : "",
                        sides[0], wanted_of(compared), sides[1], compared->spare,
                        compared->after);
}

/* Is it a bare number with a tolerance that is told elsewhere? */
static bool is_bare_tolerance(const struct speaker *speaker, const struct entry *entry)
{
    return speaker->apart && entry->node->op == OP_WIDEN &&
           say_part(speaker, entry, 0)->node->op == OP_NUMBER;
}

/* Another name for the same number is no step. */
static const char *definition_step(const struct speaker *speaker, const struct entry *call,
                                   const struct entry *body)
{
    const struct entry *makes = settled(speaker, body);
    if (!makes || say_has_value(makes->node) || makes->node->op == OP_NUMBER ||
        is_bare_tolerance(speaker, makes))
        return NULL;
    return arena_format(speaker->arena, "%s %s = %s", say_label(speaker, call),
                        say_value(speaker, body), labelled(speaker, body));
}

const struct line_writer say_steps = {comparison_step, definition_step};
