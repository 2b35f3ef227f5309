/* What was recorded as text again: a formula in names or in numbers, with what was not taken
 * left out: of an `if` only the branch that counted, of an `otherwise` only the side that was
 * there.
 */
#include "formula/internal_say.h"

static struct speaker within(const struct speaker *speaker)
{
    struct speaker inner = *speaker;
    inner.inside = true;
    return inner;
}

enum {
    QUOTE_MAX = 80,
    FUNCTION_ITEMS_MAX = 32,
    SAID_MAX = 500, /* values handed on through definitions can unfold without end */
};

/* The part of the formula's own text, on one line. */
void say_quote(const struct speaker *speaker, struct buffer *out, const struct formula_node *n)
{
    struct view text = say_own(speaker, n);
    bool blank = false;
    size_t size = text.size > QUOTE_MAX ? QUOTE_MAX : text.size;
    for (size_t i = 0; i < size; i++) {
        char c = text.data[i];
        bool is_blank = c == ' ' || c == '\t' || c == '\n' || c == '\r';
        if (is_blank && !blank)
            buffer_byte(out, ' ');
        else if (!is_blank)
            buffer_byte(out, c);
        blank = is_blank;
    }
    if (size < text.size)
        buffer_text(out, "...");
}

void say_enclosed(struct buffer *out, const char *text, bool enclosed)
{
    buffer_format(out, enclosed ? "(%s)" : "%s", text);
}

/* The value of a node, in parentheses where signs would run into each other. */
static void say_number(const struct speaker *speaker, struct buffer *out,
                       const struct entry *entry, enum level wanted)
{
    const char *text = say_value(speaker, entry);
    enum level level = strstr(text, "\xc2\xb1") || strchr(text, '(') ? LEVEL_WIDEN
                       : text[0] == '-'                              ? LEVEL_SUM
                       : strchr(text, ' ')                           ? LEVEL_UNARY
                                                                     : LEVEL_WHOLE;
    bool lone = wanted == LEVEL_ANY;
    say_enclosed(out, text, !lone && level < wanted);
}

/* `max` of three was read as max of max and one: said as one again. */
static void say_function(const struct speaker *speaker, struct buffer *out, const char *name,
                         const struct entry *entry)
{
    const struct entry *items[FUNCTION_ITEMS_MAX];
    const struct formula_node *n = entry->node;
    size_t count = 0;
    for (const struct entry *more = say_part(speaker, entry, 1); more;) {
        items[count++] = more;
        const struct entry *first = say_part(speaker, entry, 0);
        if (n->op == OP_HYPOT || first->node->op != n->op || first->node->text != n->text ||
            count == FUNCTION_ITEMS_MAX - 1)
            break;
        entry = first;
        more = say_part(speaker, entry, 1);
    }
    items[count++] = say_part(speaker, entry, 0);
    buffer_format(out, "%s(", name);
    while (count--) {
        struct speaker inner = within(speaker);
        say_at(&inner, out, items[count], LEVEL_ANY);
        buffer_text(out, count ? ", " : ")");
    }
}

/* A thing by its name; one that is not there by the field that would name it. */
const char *say_record(const struct speaker *speaker, const struct entry *entry)
{
    bool there = entry->state == ENV_KNOWN;
    return there || entry->node->op != OP_RECORD_LEAF ? say_value(speaker, entry)
                                                      : say_leaf(speaker, entry);
}

static void say_call(const struct speaker *speaker, struct buffer *out,
                     const struct entry *entry)
{
    const struct program *program = speaker->evaluator->program;
    const struct formula_call *call = &program->calls[entry->node->a];
    buffer_add(out, (struct view){program->text + call->name, call->name_size});
    const struct entry *value = say_part(speaker, entry, 0);
    for (uint32_t i = 0; i < call->parameters && value; i++) {
        buffer_text(out, i ? ", " : "(");
        if (value->node->type == TYPE_RECORD)
            buffer_text(out, say_record(speaker, value));
        else
            say_at(speaker, out, value, LEVEL_ANY);
        value = entry_at(&speaker->evaluator->last, value->next);
    }
    if (call->parameters)
        buffer_byte(out, ')');
}

/* One end of a distance: a record by its name, a place as it is written. */
static void say_end(const struct speaker *speaker, struct buffer *out,
                    const struct entry *entry)
{
    if (entry->node->op == OP_PLACE)
        say_quote(speaker, out, entry->node);
    else
        buffer_text(out, say_value(speaker, entry));
}

/* In names: what has a value of its own in numbers. */
void say_named(const struct speaker *speaker, struct buffer *out, const struct entry *entry)
{
    const struct formula_node *n = entry->node;
    if (n->part & FLAG_SAID_NOMINAL)
        buffer_text(out, "nominal ");
    switch (n->op) {
    case OP_LEAF:
        buffer_text(out, say_leaf(speaker, entry));
        return;
    case OP_CALL:
        say_call(speaker, out, entry);
        return;
    case OP_DISTANCE:
        buffer_text(out, "distance(");
        say_end(speaker, out, say_part(speaker, entry, 1));
        buffer_text(out, ", ");
        say_end(speaker, out, say_part(speaker, entry, 2));
        buffer_byte(out, ')');
        return;
    default:
        say_quote(speaker, out, n);
    }
}

static void say_two(const struct speaker *speaker, struct buffer *out,
                    const struct entry *entry, const char *sign, const enum level levels[2])
{
    say_at(speaker, out, say_part(speaker, entry, 0), levels[0]);
    buffer_text(out, sign);
    say_at(speaker, out, say_part(speaker, entry, 1), levels[1]);
}

/* Operations, which look alike in names and numbers. */
static void say_operation(const struct speaker *speaker, struct buffer *out,
                          const struct entry *entry)
{
    const struct formula_node *n = entry->node;
    const struct entry *a = say_part(speaker, entry, 0);
    bool number_first = n->part & FLAG_SWAPPED;
    bool in_words = speaker->labels && !speaker->inside;
    static const enum level sum[2] = {LEVEL_SUM, LEVEL_PRODUCT};
    static const enum level product[2] = {LEVEL_PRODUCT, LEVEL_UNARY};
    switch (n->op) {
    case OP_ADD:
        say_two(speaker, out, entry, " + ", sum);
        return;
    case OP_SUBTRACT:
        say_two(speaker, out, entry, in_words ? ", less " : " - ", sum);
        return;
    case OP_MULTIPLY:
        say_two(speaker, out, entry, " * ", product);
        return;
    case OP_DIVIDE:
        say_two(speaker, out, entry, " / ", product);
        return;
    case OP_WIDEN:
        say_two(speaker, out, entry, " \xc2\xb1 ", sum);
        return;
    case OP_SCALE:
        say_at(speaker, out, number_first ? say_part(speaker, entry, 1) : a, LEVEL_PRODUCT);
        buffer_text(out, " * ");
        say_at(speaker, out, number_first ? a : say_part(speaker, entry, 1), LEVEL_UNARY);
        return;
    case OP_NEGATE:
        buffer_byte(out, '-');
        say_at(speaker, out, a, LEVEL_POWER);
        return;
    case OP_POWER:
        say_at(speaker, out, a, LEVEL_WHOLE);
        buffer_format(out, "^%d", (int)(int32_t)n->b);
        return;
    case OP_NOMINAL:
        buffer_text(out, speaker->values ? "" : "nominal ");
        say_at(speaker, out, a, LEVEL_WHOLE);
        return;
    default:
        BUG("operation %d is not said", n->op);
    }
}

static const char *function_name(uint8_t op)
{
    switch (op) {
    case OP_ROOT:
        return "sqrt";
    case OP_ABSOLUTE:
        return "abs";
    case OP_HYPOT:
        return "combined";
    case OP_MAXIMUM:
        return "max";
    case OP_MINIMUM:
        return "min";
    default:
        return NULL;
    }
}

static enum level level_of(const struct formula_node *n)
{
    switch (n->op) {
    case OP_ADD:
    case OP_SUBTRACT:
        return LEVEL_SUM;
    case OP_MULTIPLY:
    case OP_DIVIDE:
    case OP_SCALE:
        return LEVEL_PRODUCT;
    case OP_WIDEN:
        return LEVEL_WIDEN;
    case OP_NEGATE:
        return LEVEL_SUM;
    case OP_NUMBER:
        return n->b || n->number < 0 ? LEVEL_SUM : LEVEL_UNARY; /* b: worked out of two */
    case OP_NOMINAL:
        return LEVEL_UNARY;
    case OP_POWER:
        return LEVEL_POWER;
    default:
        return n->part & FLAG_SAID_NOMINAL ? LEVEL_UNARY : LEVEL_WHOLE;
    }
}

/* The side of an `if` or `otherwise` that counts; NULL where that is not known. */
const struct entry *say_taken(const struct speaker *speaker, const struct entry *entry)
{
    const struct entry *last = say_last(speaker, entry);
    return entry->node->op == OP_IF && last == say_part(speaker, entry, 0) ? NULL : last;
}

/* What a definition came to where that is one field as it stands: it is said in its place,
 * since a name in between tells nothing more.  NULL where it is anything else. */
const struct entry *say_mere_field(const struct speaker *speaker, const struct entry *entry)
{
    const struct record *record = &speaker->evaluator->last;
    const struct formula_node *n = entry->node;
    if (n->op != OP_CALL || n->type != TYPE_QUANTITY || n->part & FLAG_SAID_NOMINAL)
        return NULL;
    entry = entry_at(record, entry->stands_for);
    while (entry && (entry->node->op == OP_IF || entry->node->op == OP_OTHERWISE))
        entry = say_taken(speaker, entry);
    return entry && entry->node->op == OP_LEAF && !(entry->node->part & FLAG_SAID_NOMINAL)
               ? entry
               : NULL;
}

bool say_has_value(const struct formula_node *n)
{
    switch (n->op) {
    case OP_LEAF:
    case OP_SLOT:
    case OP_CALL:
    case OP_DISTANCE:
    case OP_COUNT:
    case OP_LARGEST:
    case OP_SMALLEST:
        return true;
    default:
        return false;
    }
}

/* What can be said in one way only: a value, or an operation. */
static void say_plain(const struct speaker *speaker, struct buffer *out,
                      const struct entry *entry, enum level wanted)
{
    const struct formula_node *n = entry->node;
    bool enclosed = level_of(n) < wanted;
    struct speaker inner = within(speaker);
    if (enclosed) {
        buffer_byte(out, '(');
        speaker = &inner;
    }
    if (say_has_value(n))
        say_named(speaker, out, entry);
    else if (n->op == OP_NUMBER)
        say_quote(speaker, out, n);
    else if (function_name(n->op))
        say_function(speaker, out, function_name(n->op), entry);
    else
        say_operation(speaker, out, entry);
    if (enclosed)
        buffer_byte(out, ')');
}

void say_at(const struct speaker *speaker, struct buffer *out, const struct entry *entry,
            enum level wanted)
{
    const struct entry *argument;
    if (out->size > SAID_MAX || !entry) {
        buffer_text(out, "...");
        return;
    }
    switch (entry->node->op) {
    case OP_SLOT: /* in place of a parameter, what was handed to it */
        argument = entry_at(&speaker->evaluator->last, entry->stands_for);
        if (argument && !speaker->values) {
            say_at(speaker, out, argument, wanted);
            return;
        }
        break;
    case OP_CALL:
        if (say_mere_field(speaker, entry))
            entry = say_mere_field(speaker, entry);
        break;
    case OP_NOMINAL: /* behind labels the numbers show that they are as typed */
        if (speaker->labels) {
            say_at(speaker, out, say_part(speaker, entry, 0), wanted);
            return;
        }
        break;
    case OP_IF:
    case OP_OTHERWISE:
        if (say_taken(speaker, entry))
            say_at(speaker, out, say_taken(speaker, entry), wanted);
        else
            say_quote(speaker, out, entry->node);
        return;
    default:
        break;
    }
    if (speaker->labels && say_has_value(entry->node))
        say_labelled(speaker, out, entry, wanted);
    else if (speaker->values && say_has_value(entry->node))
        say_number(speaker, out, entry, wanted);
    else
        say_plain(speaker, out, entry, wanted);
}

const char *say_text(const struct speaker *speaker, const struct entry *entry)
{
    struct buffer out;
    buffer_init(&out, speaker->arena);
    say_at(speaker, &out, entry, LEVEL_ANY);
    return buffer_string(&out);
}
