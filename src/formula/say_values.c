/* Values as people read them: with their units and tolerances, dates as such, words, names of
 * things and fields.
 */
#include "formula/internal_say.h"

#include <math.h>

#include "quantity/quantity.h"
#include "text/escape.h"

enum {
    DAY_SECONDS = 86400,
    ERA_DAYS = 146097, /* 400 years */
};

static const char unknown_value[] = "not known";

/* Is it a date, or the time between two, or what is short of one? */
static bool is_of_dates(const struct evaluator *evaluator, const struct formula_node *n)
{
    for (;;) {
        uint32_t node;
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
        n = node_of(evaluator, node);
    }
}

const struct entry *say_part(const struct speaker *speaker, const struct entry *entry,
                             uint32_t index)
{
    return entry_part(&speaker->evaluator->last, entry, index);
}

const struct entry *say_last(const struct speaker *speaker, const struct entry *entry)
{
    return entry_at(&speaker->evaluator->last, entry->last);
}

const struct form *say_form(const struct speaker *speaker, const struct entry *entry)
{
    return entry_form(&speaker->evaluator->last, entry);
}

/* The unit of the first field of a dimension that an entry was worked out of. */
static unit_id unit_below(struct record *record, const struct entry *entry,
                          struct dimension dimension)
{
    if (!entry || entry->walk == record->walk)
        return UNIT_UNKNOWN;
    record->entries.items[entry - record->entries.items].walk = record->walk;
    unit_id unit = UNIT_UNKNOWN;
    for (const struct entry *part = entry_at(record, entry->first);
         part && unit == UNIT_UNKNOWN; part = entry_at(record, part->next))
        unit = unit_below(record, part, dimension);
    if (unit == UNIT_UNKNOWN && entry->node->op == OP_CALL)
        unit = unit_below(record, entry_at(record, entry->stands_for), dimension);
    if (unit != UNIT_UNKNOWN || entry->read == NODE_NONE)
        return unit;
    const struct formula_read *read = &record->reads.items[entry->read].read;
    bool fits = read->state == ENV_KNOWN && read->unit != UNIT_BARE &&
                dimension_equal(read->dimension, dimension);
    return fits ? read->unit : UNIT_UNKNOWN;
}

/* The unit of a field as the file writes it; UNIT_UNKNOWN where it has none of that dimension.
 */
unit_id say_own_unit(const struct speaker *speaker, const struct entry *entry)
{
    const struct formula_node *n = entry->node;
    struct record *record = &speaker->evaluator->last;
    if (is_of_dates(speaker->evaluator, n))
        return unit_days();
    record->walk++;
    unit_id unit = unit_below(record, entry, n->dimension);
    if (unit != UNIT_UNKNOWN)
        return unit;
    return n->op == OP_NUMBER && n->kind != UNIT_BARE ? n->kind : UNIT_UNKNOWN;
}

/* The unit in which to show a quantity: that of the first field of its dimension that it reads,
 * else `fallback` where that fits, else as the namer says. */
unit_id say_unit(const struct speaker *speaker, const struct entry *entry, unit_id fallback)
{
    const struct formula_node *n = entry->node;
    bool reads = n->op != OP_SHORTFALL && n->op != OP_MARGIN;
    if (!reads && is_of_dates(speaker->evaluator, n))
        return unit_days();
    struct dimension dimension = n->type == TYPE_DATE ? DIMENSION_TIME : n->dimension;
    if (dimension_is_none(dimension) && fallback == UNIT_UNKNOWN)
        fallback = UNIT_BARE;
    unit_id unit = reads ? say_own_unit(speaker, entry) : UNIT_UNKNOWN;
    if (unit != UNIT_UNKNOWN)
        return unit;
    if (fallback != UNIT_UNKNOWN && unit_fits(fallback, dimension))
        return fallback;
    return speaker->namer->unit(speaker->namer->user, dimension);
}

/* A number of a form as it is said: what is nothing but for rounding is nothing. */
const char *say_number_text(const struct speaker *speaker, const struct entry *entry, double si)
{
    return quantity_text(speaker->arena, form_settle(say_form(speaker, entry), si),
                         entry->node->dimension, say_unit(speaker, entry, UNIT_UNKNOWN));
}

/* Its nominal value with its tolerance, or both bounds where they lie differently far. */
static const char *form_text(const struct speaker *speaker, const struct entry *entry)
{
    const struct form *form = say_form(speaker, entry);
    double below = form->mid - form->low, above = form->high - form->mid;
    double wide = below > above ? below : above;
    if (wide <= 1e-12 * form->scale)
        return say_number_text(speaker, entry, form->mid);
    if (fabs(below - above) <= 1e-6 * wide)
        return quantity_text_with(speaker->arena, form_settle(form, form->mid), wide,
                                  entry->node->dimension,
                                  say_unit(speaker, entry, UNIT_UNKNOWN));
    return arena_format(speaker->arena, "%s (%s to %s)",
                        say_number_text(speaker, entry, form->mid),
                        say_number_text(speaker, entry, form->low),
                        say_number_text(speaker, entry, form->high));
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

const char *say_word(const struct speaker *speaker, uint16_t leaf, uint32_t word)
{
    const struct environment_values *values = &speaker->evaluator->values;
    if (!values->word)
        return "another word";
    struct view text = values->word(values->user, leaf, word);
    return arena_copy(speaker->arena, text.size ? text.data : "", text.size);
}

/* The name of the leaf that an entry has read. */
const char *say_leaf(const struct speaker *speaker, const struct entry *entry)
{
    if (entry->read == NODE_NONE)
        return unknown_value; /* what it belongs to is not there */
    return speaker->namer->leaf(speaker->namer->user, speaker->arena, entry->node->leaf,
                                entry->node->part & PART_MASK, entry->owner);
}

struct view say_own(const struct speaker *speaker, const struct formula_node *node)
{
    return (struct view){speaker->evaluator->program->text + node->text, node->text_size};
}

/* A choice's word, or a list's words in their order. */
static const char *words_text(const struct speaker *speaker, const struct entry *entry)
{
    const struct env_value *value = &entry->of.value;
    uint16_t leaf = entry->node->leaf;
    if (entry->node->type == TYPE_CHOICE)
        return say_word(speaker, leaf, (uint32_t)value->number);
    if (entry->node->type != TYPE_WORDS)
        return "a list";
    struct buffer out;
    buffer_init(&out, speaker->arena);
    for (uint32_t i = 0; i < value->count; i++)
        buffer_format(&out, "%s%s", i ? ", " : "", say_word(speaker, leaf, value->words[i]));
    return value->count ? buffer_string(&out) : "none";
}

/* The value of an entry of any type; "not known" where it is not. */
const char *say_value(const struct speaker *speaker, const struct entry *entry)
{
    if (!entry || entry->state != ENV_KNOWN)
        return unknown_value;
    switch ((enum value_type)entry->node->type) {
    case TYPE_QUANTITY:
        return form_is_finite(say_form(speaker, entry)) ? form_text(speaker, entry)
                                                        : unknown_value;
    case TYPE_DATE:
        return say_date(speaker->arena, say_form(speaker, entry)->mid);
    case TYPE_FLAG:
        return entry->of.outcome.truth == TRUTH_TRUE ? "yes" : "no";
    case TYPE_TEXT:
        return escape_short(speaker->arena, entry->of.text, TEXT_CELLS);
    case TYPE_RECORD:
        return speaker->namer->record(speaker->namer->user, speaker->arena, entry->node->kind,
                                      entry->of.record);
    default:
        return words_text(speaker, entry);
    }
}

void say_shown(struct evaluator *evaluator, const struct formula_namer *namer, unit_id unit,
               struct buffer *out)
{
    struct speaker speaker = {.evaluator = evaluator, .namer = namer, .arena = out->arena};
    const struct entry *entry = entry_at(&evaluator->last, 0);
    bool quantity = entry && entry->state == ENV_KNOWN && entry->node->type == TYPE_QUANTITY &&
                    form_is_finite(say_form(&speaker, entry));
    if (!quantity) {
        buffer_text(out, say_value(&speaker, entry));
        return;
    }
    const struct form *form = say_form(&speaker, entry);
    buffer_text(out, quantity_text(out->arena, form_settle(form, form->mid),
                                   entry->node->dimension, say_unit(&speaker, entry, unit)));
}
