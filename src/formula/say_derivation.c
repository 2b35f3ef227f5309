/* The whole derivation, in the names of the rules, then in numbers:
 *
 *     change.probe_stroke >= gap(cutter 3): at worst 9 mm >= 14.35 mm, short by 5.35 mm
 *     gap(cutter 3) = approach_nose(cutter 3) + height_error - contact(cutter 3)
 *                   = -40 mm + (0 mm ± 0.05 mm) - (-48 mm ± 6.35 mm) = 8 mm ± 6.4 mm, ...
 */
#include "formula/internal_say.h"

#include <math.h>

static const char *sign_of(const struct formula_node *n)
{
    bool strict = n->part & FLAG_STRICT, less = n->part & FLAG_SWAPPED;
    if (n->op == OP_EQUAL)
        return n->part & FLAG_NEGATE ? "differs from" : "==";
    if (less)
        return strict ? "<" : "<=";
    return strict ? ">" : ">=";
}

static const char *inside_line(const struct speaker *speaker, const struct comparison *compared)
{
    const char *word = compared->node->part & FLAG_NEGATE ? "not inside" : "inside", *names[3];
    for (size_t i = 0; i < 3; i++)
        names[i] = say_text(speaker, compared->sides[i]);
    return arena_format(speaker->arena, "%s %s %s .. %s: %s %s %s .. %s, %s", names[0], word,
                        names[1], names[2], compared->values[0], word, compared->values[1],
                        compared->values[2], compared->spare);
}

static const char *comparison_line(const struct speaker *speaker,
                                   const struct comparison *compared)
{
    if (compared->node->op == OP_INSIDE)
        return inside_line(speaker, compared);
    const char *sign = sign_of(compared->node);
    return arena_format(
        speaker->arena, "%s %s %s: %s%s %s %s%s, %s", say_text(speaker, compared->sides[0]),
        sign, say_text(speaker, compared->sides[1]), compared->worst ? "at worst " : "",
        compared->values[0], sign, compared->values[1], compared->after, compared->spare);
}

static void add_part(struct buffer *line, const char **last, const char *part)
{
    if (strcmp(*last, part) == 0)
        return;
    buffer_format(line, " = %s", part);
    *last = part;
}

static void add_range(const struct speaker *speaker, struct buffer *line,
                      const struct entry *body)
{
    const struct form *form = say_form(speaker, body);
    double wide = form->high - form->low;
    bool lopsided = fabs(form->high + form->low - 2 * form->mid) > 1e-6 * wide;
    if (wide <= 1e-12 * form->scale || lopsided)
        return; /* the value itself says so */
    buffer_format(line, ", so %s to %s", say_number_text(speaker, body, form->low),
                  say_number_text(speaker, body, form->high));
}

/* The definition in names, in numbers, and what comes out. */
static const char *definition_line(const struct speaker *speaker, const struct entry *call,
                                   const struct entry *body)
{
    struct buffer line;
    struct speaker numbers = *speaker;
    const char *last = say_text(speaker, call);
    numbers.values = true;
    buffer_init(&line, speaker->arena);
    buffer_text(&line, last);
    add_part(&line, &last, say_text(speaker, body));
    add_part(&line, &last, say_text(&numbers, body));
    add_part(&line, &last, say_value(speaker, body));
    add_range(speaker, &line, body);
    return buffer_string(&line);
}

const struct line_writer say_derivation = {comparison_line, definition_line};
