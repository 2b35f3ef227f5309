/* The arithmetic of the comparison that decided, for somebody with a pocket calculator: first
 * the comparison, then each definition that it uses, once, in the order in which they appear.
 *
 * What is to be said is read here, once for all writers; how it is put is theirs.
 */
#include "formula/internal_say.h"

#include <math.h>

#include "quantity/quantity.h"

enum {
    LINES_MAX = 12,
    LEFT_MAX = 50, /* counted beyond these */
};

struct lines {
    struct speaker speaker;
    const struct line_writer *writer;
    VECTOR(const char *) items;
    VECTOR(const char *) titles; /* of the definitions said already */
    size_t left;                 /* lines that are beyond the most */
};

/* A margin, in the unit of whichever side has one. */
static const char *size_text(const struct speaker *speaker, const struct compared *compared,
                             double si)
{
    const struct formula_node *n = compared->high->node;
    if (n->type == TYPE_DATE)
        return quantity_text(speaker->arena, si, DIMENSION_TIME, unit_days());
    return quantity_text(
        speaker->arena, si, n->dimension,
        say_unit(speaker, compared->high, say_own_unit(speaker, compared->low)));
}

static const char *spare_text(const struct speaker *speaker, const struct compared *compared,
                              double margin)
{
    const struct formula_node *n = compared->entry->node;
    bool strict = n->part & (n->op == OP_INSIDE ? FLAG_NEGATE : FLAG_STRICT);
    if (n->op == OP_EQUAL && margin == 0)
        return "they may be equal";
    if (n->op == OP_EQUAL)
        return arena_format(speaker->arena, "they differ by at least %s",
                            size_text(speaker, compared, fabs(margin)));
    if (margin < 0)
        return arena_format(speaker->arena, "short by %s",
                            size_text(speaker, compared, -margin));
    if (margin > 0)
        return arena_format(speaker->arena, "%s to spare",
                            size_text(speaker, compared, margin));
    return strict ? "nothing to spare, where something is wanted" : "nothing to spare";
}

static const char *bound_text(const struct speaker *speaker, const struct entry *entry,
                              double si)
{
    if (entry->node->type == TYPE_DATE)
        return say_date(speaker->arena, si);
    return say_number_text(speaker, entry, si);
}

/* The sides at their worst, where the margin is what lies between these; else as they are. */
static void read_sides(const struct speaker *speaker, const struct compared *compared,
                       double margin, struct comparison *out)
{
    const struct form *high = say_form(speaker, compared->high);
    const struct form *low = say_form(speaker, compared->low);
    bool equal = out->node->op == OP_EQUAL;
    bool exact = high->low == high->high && low->low == low->high;
    double sizes = fabs(high->low) + fabs(low->high);
    out->worst = !exact && !equal && !(fabs(high->low - low->high - margin) > 1e-9 * sizes);
    const char *of_high = out->worst ? bound_text(speaker, compared->high, high->low)
                                     : say_value(speaker, compared->high);
    const char *of_low = out->worst ? bound_text(speaker, compared->low, low->high)
                                    : say_value(speaker, compared->low);
    bool swapped = !equal && out->node->part & FLAG_SWAPPED;
    out->sides[0] = swapped ? compared->low : compared->high;
    out->sides[1] = swapped ? compared->high : compared->low;
    out->values[0] = swapped ? of_low : of_high;
    out->values[1] = swapped ? of_high : of_low;
    if (!out->worst && !exact && !equal)
        out->after = speaker->evaluator->statistical ? ", with tolerances added as squares"
                                                     : ", where shared tolerances cancel";
}

static struct comparison read_comparison(const struct speaker *speaker,
                                         const struct compared *compared, double margin)
{
    struct comparison out = {.node = compared->entry->node, .after = ""};
    out.spare = spare_text(speaker, compared, margin);
    if (out.node->op != OP_INSIDE) {
        read_sides(speaker, compared, margin, &out);
        return out;
    }
    for (uint32_t i = 0; i < 3; i++) {
        out.sides[i] = say_part(speaker, compared->entry, i);
        out.values[i] = say_value(speaker, out.sides[i]);
    }
    return out;
}

/* Definitions are told apart by what they are asked of. */
static bool said_already(struct lines *lines, const struct entry *call)
{
    const char *title = say_text(&lines->speaker, call);
    for (size_t i = 0; i < lines->titles.count; i++)
        if (strcmp(lines->titles.items[i], title) == 0)
            return true;
    VECTOR_ADD(lines->speaker.arena, &lines->titles, title);
    return false;
}

static void add_definition(struct lines *lines, const struct entry *call,
                           const struct entry *body)
{
    const struct speaker *speaker = &lines->speaker;
    if (body->node->type != TYPE_QUANTITY || body->state != ENV_KNOWN ||
        !form_is_finite(say_form(speaker, body)))
        return;
    const char *line = lines->writer->definition(speaker, call, body);
    if (line && lines->items.count >= LINES_MAX)
        lines->left++;
    else if (line)
        VECTOR_ADD(speaker->arena, &lines->items, line);
}

/* The definitions used by a part, as far as it counts. */
static void unfold(struct lines *lines, const struct entry *entry)
{
    const struct speaker *speaker = &lines->speaker;
    const struct record *record = &speaker->evaluator->last;
    const struct formula_node *n = entry->node;
    if (lines->left >= LEFT_MAX || op_is_quantifier(n->op) || n->type == TYPE_FLAG ||
        n->type == TYPE_RECORD || n->op == OP_LEAF)
        return;
    if (n->op == OP_IF || n->op == OP_OTHERWISE) {
        if (say_taken(speaker, entry))
            unfold(lines, say_taken(speaker, entry));
        return;
    }
    if (say_mere_field(speaker, entry))
        return;
    const struct entry *body = n->op == OP_CALL ? entry_at(record, entry->stands_for) : NULL;
    if (body && said_already(lines, entry))
        return;
    for (const struct entry *part = entry_at(record, entry->first); part;
         part = entry_at(record, part->next))
        if (part != body)
            unfold(lines, part);
    if (body) {
        add_definition(lines, entry, body);
        unfold(lines, body);
    }
}

/* All lines of one writer; the comparison first.  Where its sides at their worst decide, every
 * tolerance in it counts, and has its part in what is told of the difference. */
static void gather(struct lines *lines, const struct compared *compared, double margin)
{
    const struct speaker *speaker = &lines->speaker;
    if (!compared->high) {
        const char *line = say_test(speaker, compared->entry);
        if (line)
            VECTOR_ADD(speaker->arena, &lines->items, line);
        return;
    }
    struct comparison read = read_comparison(speaker, compared, margin);
    lines->speaker.apart = read.worst;
    VECTOR_ADD(speaker->arena, &lines->items, lines->writer->comparison(speaker, &read));
    bool swapped = read.node->op != OP_EQUAL && read.node->part & FLAG_SWAPPED;
    unfold(lines, swapped ? compared->low : compared->high);
    unfold(lines, swapped ? compared->high : compared->low);
    if (lines->left)
        VECTOR_ADD(speaker->arena, &lines->items,
                   arena_format(speaker->arena, "and %zu more line%s of this%s", lines->left,
                                lines->left == 1 ? "" : "s",
                                lines->left < LEFT_MAX ? "" : " or more"));
}

void say_lines(struct evaluator *evaluator, const struct formula_namer *namer,
               const struct compared *compared, struct arena *arena, struct trace *trace)
{
    const struct speaker speaker = {.evaluator = evaluator, .namer = namer, .arena = arena};
    struct lines lines = {.speaker = speaker, .writer = &say_derivation};
    struct lines steps = {.speaker = speaker, .writer = &say_steps};
    gather(&lines, compared, trace->verdict.margin);
    gather(&steps, compared, trace->verdict.margin);
    trace->lines = lines.items.items;
    trace->line_count = lines.items.count;
    trace->steps = steps.items.items;
    trace->step_count = steps.items.count;
}
