/* The arithmetic of the comparison that decided, for somebody with a pocket calculator.
 *
 *     change.probe_stroke >= gap(cutter 3): at worst 9 mm >= 14.35 mm, short by 5.35 mm
 *     gap(cutter 3) = approach_nose(cutter 3) + height_error - contact(cutter 3)
 *                   = -40 mm + (0 mm ± 0.05 mm) - (-48 mm ± 6.35 mm) = 8 mm ± 6.4 mm, ...
 *
 * First the comparison, then each definition that it uses, once, in the order in which they
 * appear.
 */
#include "formula/internal_say.h"

#include <math.h>

#include "quantity/quantity.h"

enum { LINES_MAX = 12 };

struct lines {
    struct saying saying;
    VECTOR(const char *) items;
    VECTOR(const char *) titles; /* of the definitions said already */
};

static const char *said(const struct lines *lines, uint32_t node, bool values)
{
    struct saying saying = lines->saying;
    saying.values = values;
    struct buffer out;
    buffer_init(&out, saying.arena);
    say_node(&saying, &out, node);
    return buffer_string(&out);
}

static const char *sign_of(const struct formula_node *n)
{
    bool strict = n->part & FLAG_STRICT, less = n->part & FLAG_SWAPPED;
    if (less)
        return strict ? "<" : "<=";
    return strict ? ">" : ">=";
}

/* A margin, in the unit of whichever side has one. */
static const char *size_text(const struct lines *lines, const struct compared *compared,
                             double si)
{
    const struct formula_node *n = node_of(lines->saying.evaluator, compared->high);
    if (n->type == TYPE_DATE)
        return quantity_text(lines->saying.arena, si, DIMENSION_TIME, unit_days());
    unit_id unit = say_own_unit(&lines->saying, compared->low);
    return quantity_text(lines->saying.arena, si, n->dimension,
                         say_unit(&lines->saying, compared->high, unit));
}

static const char *bound_text(const struct lines *lines, uint32_t node,
                              const struct form *form, double si)
{
    if (node_of(lines->saying.evaluator, node)->type == TYPE_DATE)
        return say_date(lines->saying.arena, si);
    return say_number(&lines->saying, node, form, si);
}

static const char *spare_text(const struct lines *lines, const struct compared *compared,
                              double margin, bool strict)
{
    struct arena *arena = lines->saying.arena;
    if (margin < 0)
        return arena_format(arena, "short by %s", size_text(lines, compared, -margin));
    if (margin > 0)
        return arena_format(arena, "%s to spare", size_text(lines, compared, margin));
    return strict ? "nothing to spare, where something is wanted" : "nothing to spare";
}

static const char *equal_text(const struct lines *lines, const struct compared *compared,
                              double margin)
{
    if (margin == 0)
        return "they may be equal";
    return arena_format(lines->saying.arena, "they differ by at least %s",
                        size_text(lines, compared, fabs(margin)));
}

/* "9 mm >= 14.35 mm", with the sides at their worst where that is what decides. */
static const char *values_text(const struct lines *lines, const struct compared *compared,
                               const char *sign, bool swapped, double margin)
{
    struct evaluator *evaluator = lines->saying.evaluator;
    struct arena *arena = lines->saying.arena;
    struct form high, low;
    if (run_quantity(evaluator, compared->high, &high) != ENV_KNOWN ||
        run_quantity(evaluator, compared->low, &low) != ENV_KNOWN)
        return "";
    bool equal = node_of(evaluator, compared->node)->op == OP_EQUAL;
    bool exact = high.low == high.high && low.low == low.high;
    bool plain = exact || equal ||
                 fabs(high.low - low.high - margin) > 1e-9 * (fabs(high.low) + fabs(low.high));
    const char *of_high, *of_low;
    if (plain) {
        of_high = say_value(&lines->saying, compared->high);
        of_low = say_value(&lines->saying, compared->low);
    } else {
        of_high = bound_text(lines, compared->high, &high, high.low);
        of_low = bound_text(lines, compared->low, &low, low.high);
    }
    const char *worst = plain ? "" : "at worst ";
    const char *after = !plain || exact || equal ? ""
                        : evaluator->statistical ? ", with tolerances added as squares"
                                                 : ", where shared tolerances cancel";
    return arena_format(arena, "%s%s %s %s%s", worst, swapped ? of_low : of_high, sign,
                        swapped ? of_high : of_low, after);
}

static const char *inside_line(const struct lines *lines, const struct formula_node *n,
                               const struct compared *compared, double margin)
{
    bool outside = n->part & FLAG_NEGATE;
    const char *word = outside ? "not inside" : "inside";
    return arena_format(lines->saying.arena, "%s %s %s .. %s: %s %s %s .. %s, %s",
                        said(lines, n->a, false), word, said(lines, n->b, false),
                        said(lines, n->c, false), say_value(&lines->saying, n->a), word,
                        say_value(&lines->saying, n->b), say_value(&lines->saying, n->c),
                        spare_text(lines, compared, margin, outside));
}

static const char *comparison_line(const struct lines *lines, const struct compared *compared,
                                   double margin)
{
    const struct formula_node *n = node_of(lines->saying.evaluator, compared->node);
    struct arena *arena = lines->saying.arena;
    if (n->op == OP_INSIDE)
        return inside_line(lines, n, compared, margin);
    bool equal = n->op == OP_EQUAL, swapped = !equal && n->part & FLAG_SWAPPED;
    const char *sign = !equal ? sign_of(n) : n->part & FLAG_NEGATE ? "differs from" : "==";
    uint32_t left = swapped ? compared->low : compared->high;
    uint32_t right = swapped ? compared->high : compared->low;
    return arena_format(arena, "%s %s %s: %s, %s", said(lines, left, false), sign,
                        said(lines, right, false),
                        values_text(lines, compared, sign, swapped, margin),
                        equal ? equal_text(lines, compared, margin)
                              : spare_text(lines, compared, margin, n->part & FLAG_STRICT));
}

/* Definitions. */

static bool said_already(struct lines *lines, const char *title)
{
    for (size_t i = 0; i < lines->titles.count; i++)
        if (strcmp(lines->titles.items[i], title) == 0)
            return true;
    VECTOR_ADD(lines->saying.arena, &lines->titles, title);
    return false;
}

static void add_part(struct buffer *line, const char **last, const char *part)
{
    if (strcmp(*last, part) == 0)
        return;
    buffer_format(line, " = %s", part);
    *last = part;
}

static void add_range(const struct lines *lines, struct buffer *line, uint32_t body,
                      const struct form *form)
{
    double wide = form->high - form->low;
    bool lopsided = fabs(form->high + form->low - 2 * form->mid) > 1e-6 * wide;
    if (wide <= 1e-12 * form->scale || lopsided)
        return; /* the value itself says so */
    buffer_format(line, ", so %s to %s", say_number(&lines->saying, body, form, form->low),
                  say_number(&lines->saying, body, form, form->high));
}

static void unfold(struct lines *lines, uint32_t node);

/* The definition in names, in numbers, and what comes out; its parameters are bound. */
static void say_definition(struct lines *lines, const char *title, uint32_t body)
{
    struct evaluator *evaluator = lines->saying.evaluator;
    const struct formula_node *b = node_of(evaluator, body);
    struct buffer line;
    struct form form;
    const char *last = title;
    buffer_init(&line, lines->saying.arena);
    buffer_text(&line, title);
    if (b->type != TYPE_QUANTITY || !evaluate_quantity(evaluator, body, &form))
        return;
    add_part(&line, &last, said(lines, body, false));
    add_part(&line, &last, said(lines, body, true));
    add_part(&line, &last, say_value(&lines->saying, body));
    add_range(lines, &line, body, &form);
    VECTOR_ADD(lines->saying.arena, &lines->items, buffer_string(&line));
}

static void unfold_call(struct lines *lines, uint32_t node)
{
    struct evaluator *evaluator = lines->saying.evaluator;
    const struct formula_node *n = node_of(evaluator, node);
    uint32_t body = evaluator->program->calls[n->a].body;
    const char *title = said(lines, node, false);
    if (said_already(lines, title))
        return;
    for (uint32_t at = n->b; at != NODE_NONE; at = node_of(evaluator, at)->b)
        unfold(lines, node_of(evaluator, at)->a);
    struct within within = {node, lines->saying.within};
    run_arguments(evaluator, n);
    lines->saying.within = &within;
    say_definition(lines, title, body);
    unfold(lines, body);
    lines->saying.within = within.outer;
}

/* The definitions used by a part, as far as it counts. */
static void unfold(struct lines *lines, uint32_t node)
{
    struct evaluator *evaluator = lines->saying.evaluator;
    const struct formula_node *n = node_of(evaluator, node);
    if (lines->items.count >= LINES_MAX || op_is_quantifier(n->op) || n->type == TYPE_FLAG ||
        n->type == TYPE_RECORD || n->op == OP_LEAF)
        return;
    if (n->op == OP_CALL) {
        unfold_call(lines, node);
        return;
    }
    if (n->op == OP_OTHERWISE) {
        unfold(lines, run_any(evaluator, n->a) == ENV_ABSENT ? n->b : n->a);
        return;
    }
    if (n->op == OP_IF) {
        uint8_t state;
        uint32_t branch = run_branch(evaluator, n, &state);
        if (branch != NODE_NONE)
            unfold(lines, branch);
        return;
    }
    uint32_t below[3];
    unsigned count = formula_node_below(n, below);
    for (unsigned i = 0; i < count; i++)
        if (below[i] != NODE_NONE && node_of(evaluator, below[i])->op != OP_DOMAIN)
            unfold(lines, below[i]);
}

void say_lines(struct evaluator *evaluator, const struct formula_namer *namer,
               const struct compared *compared, struct arena *arena, struct trace *trace)
{
    struct lines lines = {
        .saying = {.evaluator = evaluator,
                   .namer = namer,
                   .arena = arena,
                   .within = compared->within},
    };
    const char *line = compared->high == NODE_NONE
                           ? say_test(&lines.saying, compared->node)
                           : comparison_line(&lines, compared, trace->verdict.margin);
    if (line)
        VECTOR_ADD(arena, &lines.items, line);
    const struct formula_node *n = node_of(evaluator, compared->node);
    bool swapped = n->op != OP_EQUAL && n->part & FLAG_SWAPPED;
    if (compared->high != NODE_NONE) {
        unfold(&lines, swapped ? compared->low : compared->high);
        unfold(&lines, swapped ? compared->high : compared->low);
    }
    trace->lines = lines.items.items;
    trace->line_count = lines.items.count;
}
