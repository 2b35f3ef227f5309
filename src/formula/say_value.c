/* Values as people read them: units, dates, words, and evaluate_shown. */
#include "formula/internal_say.h"

#include <math.h>

#include "quantity/quantity.h"
#include "text/escape.h"

enum {
    TEXT_CELLS = 60,
    DAY_SECONDS = 86400,
    ERA_DAYS = 146097, /* 400 years */
};

static const char unknown_value[] = "not known";

/* Is it a date, or the time between two, or what is short of one? */
static bool is_of_dates(const struct evaluator *evaluator, uint32_t node)
{
    for (;;) {
        const struct formula_node *n = node_of(evaluator, node);
        if (n->type == TYPE_DATE)
            return true;
        if (n->op == OP_SUBTRACT)
            return node_of(evaluator, n->a)->type == TYPE_DATE;
        if (n->op == OP_SHORTFALL || n->op == OP_MARGIN)
            node = evaluator->verdict.decided_by;
        else if (n->op == OP_CALL)
            node = evaluator->program->calls[n->a].body;
        else if (n->op == OP_NEGATE || n->op == OP_ABSOLUTE || n->op == OP_NOMINAL ||
                 n->op == OP_SCALE || n->op == OP_LARGEST || n->op == OP_SMALLEST ||
                 n->op == OP_COMPARE || n->op == OP_INSIDE)
            node = n->a;
        else
            return false;
        if (node == NODE_NONE)
            return false;
    }
}

/* The unit of a field as the file writes it; UNIT_UNKNOWN where it has none of that dimension.
 */
unit_id say_own_unit(const struct saying *saying, uint32_t node)
{
    struct evaluator *evaluator = saying->evaluator;
    struct dimension dimension = node_of(evaluator, node)->dimension;
    if (is_of_dates(evaluator, node))
        return unit_days();
    bool comparing = evaluator->comparing;
    trace_start(evaluator, saying->arena);
    run_any(evaluator, node);
    evaluator->recording = false;
    evaluator->comparing = comparing;
    for (size_t i = 0; i < evaluator->tracer.noted.count; i++) {
        const struct formula_read *read = &evaluator->tracer.noted.items[i].read;
        if (read->state == ENV_KNOWN && read->unit != UNIT_BARE &&
            dimension_equal(read->dimension, dimension))
            return read->unit;
    }
    const struct formula_node *n = node_of(evaluator, node);
    return n->op == OP_NUMBER && n->kind != UNIT_BARE ? n->kind : UNIT_UNKNOWN;
}

unit_id say_unit(const struct saying *saying, uint32_t node, unit_id fallback)
{
    const struct formula_node *n = node_of(saying->evaluator, node);
    bool reads = n->op != OP_SHORTFALL && n->op != OP_MARGIN;
    if (!reads && is_of_dates(saying->evaluator, node))
        return unit_days();
    struct dimension dimension = n->type == TYPE_DATE ? DIMENSION_TIME : n->dimension;
    if (dimension_is_none(dimension) && fallback == UNIT_UNKNOWN)
        fallback = UNIT_BARE;
    unit_id unit = reads ? say_own_unit(saying, node) : UNIT_UNKNOWN;
    if (unit != UNIT_UNKNOWN)
        return unit;
    if (fallback != UNIT_UNKNOWN && unit_fits(fallback, dimension))
        return fallback;
    return saying->namer->unit(saying->namer->user, dimension);
}

/* A number of a form as it is said: what is nothing but for rounding is nothing. */
const char *say_number(const struct saying *saying, uint32_t node, const struct form *form,
                       double si)
{
    const struct formula_node *n = node_of(saying->evaluator, node);
    return quantity_text(saying->arena, form_settle(form, si), n->dimension,
                         say_unit(saying, node, UNIT_UNKNOWN));
}

const char *say_form(const struct saying *saying, uint32_t node, const struct form *form)
{
    struct dimension dimension = node_of(saying->evaluator, node)->dimension;
    unit_id unit = say_unit(saying, node, UNIT_UNKNOWN);
    double below = form->mid - form->low, above = form->high - form->mid;
    double wide = below > above ? below : above;
    if (wide <= 1e-12 * form->scale)
        return say_number(saying, node, form, form->mid);
    if (fabs(below - above) <= 1e-6 * wide)
        return quantity_text_with(saying->arena, form_settle(form, form->mid), wide, dimension,
                                  unit);
    return arena_format(saying->arena, "%s (%s to %s)",
                        say_number(saying, node, form, form->mid),
                        say_number(saying, node, form, form->low),
                        say_number(saying, node, form, form->high));
}

/* Days since 1970-01-01 to a date, by eras of 400 years that start on a first of March. */
const char *say_date(struct arena *arena, double seconds)
{
    if (!(fabs(seconds) < 1e14))
        return unknown_value;
    long long days = (long long)floor(seconds / DAY_SECONDS) + 719468;
    long long era = (days >= 0 ? days : days - (ERA_DAYS - 1)) / ERA_DAYS;
    long long day_of_era = days - era * ERA_DAYS;
    long long year_of_era =
        (day_of_era - day_of_era / 1460 + day_of_era / 36524 - day_of_era / 146096) / 365;
    long long day = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    long long month = (5 * day + 2) / 153;
    long long year = year_of_era + era * 400 + (month >= 10);
    return arena_format(arena, "%04lld-%02lld-%02lld", year, month < 10 ? month + 3 : month - 9,
                        day - (153 * month + 2) / 5 + 1);
}

const char *say_word(const struct saying *saying, uint16_t leaf, uint32_t word)
{
    const struct environment_values *values = &saying->evaluator->values;
    if (!values->word)
        return "another word";
    struct view text = values->word(values->user, leaf, word);
    return arena_copy(saying->arena, text.size ? text.data : "", text.size);
}

const char *say_leaf(const struct saying *saying, const struct formula_node *leaf)
{
    uint32_t record = 0;
    if (leaf->a != NODE_NONE && run_record(saying->evaluator, leaf->a, &record) != ENV_KNOWN)
        return unknown_value;
    return saying->namer->leaf(saying->namer->user, saying->arena, leaf->leaf,
                               leaf->part & PART_MASK, record);
}

struct view say_text_of(const struct evaluator *evaluator, const struct formula_node *node)
{
    return (struct view){evaluator->program->text + node->text, node->text_size};
}

static const char *quantity_value(const struct saying *saying, uint32_t node)
{
    struct form form;
    if (!evaluate_quantity(saying->evaluator, node, &form))
        return unknown_value;
    if (node_of(saying->evaluator, node)->type == TYPE_DATE)
        return say_date(saying->arena, form.mid);
    return say_form(saying, node, &form);
}

/* A choice's word, or a list's words in their order. */
static const char *words_value(const struct saying *saying, const struct formula_node *leaf)
{
    struct env_value value;
    uint32_t record;
    if (run_read(saying->evaluator, leaf, &value, &record) != ENV_KNOWN)
        return unknown_value;
    if (leaf->type == TYPE_CHOICE)
        return say_word(saying, leaf->leaf, (uint32_t)value.number);
    if (leaf->type != TYPE_WORDS)
        return "a list";
    struct buffer out;
    buffer_init(&out, saying->arena);
    for (uint32_t i = 0; i < value.count; i++)
        buffer_format(&out, "%s%s", i ? ", " : "",
                      say_word(saying, leaf->leaf, value.words[i]));
    return value.count ? buffer_string(&out) : "none";
}

const char *say_value(const struct saying *saying, uint32_t node)
{
    struct evaluator *evaluator = saying->evaluator;
    const struct formula_node *n = node_of(evaluator, node);
    struct outcome outcome;
    struct view text;
    uint32_t record;
    switch ((enum value_type)n->type) {
    case TYPE_QUANTITY:
    case TYPE_DATE:
        return quantity_value(saying, node);
    case TYPE_FLAG:
        run_truth(evaluator, node, &outcome);
        return outcome.truth == TRUTH_UNKNOWN ? unknown_value
               : outcome.truth == TRUTH_TRUE  ? "yes"
                                              : "no";
    case TYPE_TEXT:
        if (run_text(evaluator, node, &text) != ENV_KNOWN)
            return unknown_value;
        return escape_short(saying->arena, text, TEXT_CELLS);
    case TYPE_RECORD:
        if (run_record(evaluator, node, &record) != ENV_KNOWN)
            return unknown_value;
        return saying->namer->record(saying->namer->user, saying->arena, n->kind, record);
    default:
        return words_value(saying, n);
    }
}

void evaluate_shown(struct evaluator *evaluator, uint32_t node,
                    const struct formula_namer *namer, unit_id unit, struct buffer *out)
{
    struct saying saying = {.evaluator = evaluator, .namer = namer, .arena = out->arena};
    const struct formula_node *n = node_of(evaluator, node);
    struct form form;
    evaluator->recording = false;
    if (n->type != TYPE_QUANTITY)
        buffer_text(out, say_value(&saying, node));
    else if (!evaluate_quantity(evaluator, node, &form))
        buffer_text(out, unknown_value);
    else
        buffer_text(out, quantity_text(out->arena, form_settle(&form, form.mid), n->dimension,
                                       say_unit(&saying, node, unit)));
}
