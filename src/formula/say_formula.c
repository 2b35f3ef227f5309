/* A formula as text again, in names or in numbers, with what was not taken left out: of an `if`
 * only the branch that counted, of an `otherwise` only the side that was there. */
#include "formula/internal_say.h"

/* How tightly things hold together; a part that holds looser than its place wants gets
 * parentheses. */
enum level {
    LEVEL_ANY,
    LEVEL_WIDEN,
    LEVEL_SUM,
    LEVEL_PRODUCT,
    LEVEL_UNARY,
    LEVEL_POWER,
    LEVEL_WHOLE
};

enum {
    QUOTE_MAX = 80,
    SAID_MAX = 500, /* values handed on through definitions can unfold without end */
};

static void say_at(const struct saying *saying, struct buffer *out, uint32_t node,
                   enum level wanted);

/* The part of the formula's own text, on one line. */
static void quote(const struct saying *saying, struct buffer *out, const struct formula_node *n)
{
    struct view text = say_text_of(saying->evaluator, n);
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

static void say_enclosed(struct buffer *out, const char *text, bool enclosed)
{
    buffer_format(out, enclosed ? "(%s)" : "%s", text);
}

/* The value of a node, in parentheses where signs would run into each other. */
static void say_number_at(const struct saying *saying, struct buffer *out, uint32_t node,
                          enum level wanted)
{
    const char *text = say_value(saying, node);
    enum level level = strstr(text, "\xc2\xb1") || strchr(text, '(') ? LEVEL_WIDEN
                       : text[0] == '-'                              ? LEVEL_SUM
                       : strchr(text, ' ')                           ? LEVEL_UNARY
                                                                     : LEVEL_WHOLE;
    bool lone = wanted == LEVEL_ANY;
    say_enclosed(out, text, !lone && level < wanted);
}

static void say_items(const struct saying *saying, struct buffer *out, const char *name,
                      const struct formula_node *n)
{
    /* `max` of three was read as max of max and one: said as one again */
    uint32_t items[32];
    size_t count = 0;
    const struct formula_node *at = n;
    bool chain = n->op == OP_MAXIMUM || n->op == OP_MINIMUM || n->op == OP_HYPOT;
    if (!chain) {
        items[count++] = n->a;
    } else {
        items[count++] = at->b;
        while (n->op != OP_HYPOT && node_of(saying->evaluator, at->a)->op == n->op &&
               node_of(saying->evaluator, at->a)->text == n->text && count < 31) {
            at = node_of(saying->evaluator, at->a);
            items[count++] = at->b;
        }
        items[count++] = at->a;
    }
    buffer_format(out, "%s(", name);
    while (count--) {
        say_at(saying, out, items[count], LEVEL_ANY);
        buffer_text(out, count ? ", " : ")");
    }
}

/* A thing by its name; one that is not there by the field that would name it. */
static const char *say_record(const struct saying *saying, uint32_t node)
{
    const struct formula_node *n = node_of(saying->evaluator, node);
    uint32_t record;
    bool there = run_record(saying->evaluator, node, &record) == ENV_KNOWN;
    return there || n->op != OP_RECORD_LEAF ? say_value(saying, node) : say_leaf(saying, n);
}

static void say_call(const struct saying *saying, struct buffer *out,
                     const struct formula_node *n)
{
    const struct evaluator *evaluator = saying->evaluator;
    const struct formula_call *call = &evaluator->program->calls[n->a];
    struct view name = {evaluator->program->text + call->name, call->name_size};
    buffer_add(out, name);
    const char *joint = "(";
    for (uint32_t at = n->b; at != NODE_NONE; at = node_of(evaluator, at)->b) {
        uint32_t value = node_of(evaluator, at)->a;
        buffer_text(out, joint);
        if (node_of(evaluator, value)->type == TYPE_RECORD)
            buffer_text(out, say_record(saying, value));
        else
            say_at(saying, out, value, LEVEL_ANY);
        joint = ", ";
    }
    if (n->b != NODE_NONE)
        buffer_byte(out, ')');
}

/* One end of a distance: a record by its name, a place as it is written. */
static void say_end(const struct saying *saying, struct buffer *out, uint32_t node)
{
    const struct formula_node *n = node_of(saying->evaluator, node);
    if (n->op == OP_PLACE)
        quote(saying, out, n);
    else
        buffer_text(out, say_value(saying, node));
}

/* In names: what has a value of its own in numbers. */
static void say_named(const struct saying *saying, struct buffer *out,
                      const struct formula_node *n)
{
    if (n->part & FLAG_SAID_NOMINAL)
        buffer_text(out, "nominal ");
    switch (n->op) {
    case OP_LEAF:
        buffer_text(out, say_leaf(saying, n));
        return;
    case OP_CALL:
        say_call(saying, out, n);
        return;
    case OP_DISTANCE:
        buffer_text(out, "distance(");
        say_end(saying, out, n->b);
        buffer_text(out, ", ");
        say_end(saying, out, n->c);
        buffer_byte(out, ')');
        return;
    default:
        quote(saying, out, n);
    }
}

static void say_two(const struct saying *saying, struct buffer *out,
                    const struct formula_node *n, const char *sign, const enum level levels[2])
{
    say_at(saying, out, n->a, levels[0]);
    buffer_text(out, sign);
    say_at(saying, out, n->b, levels[1]);
}

static void say_scaled(const struct saying *saying, struct buffer *out,
                       const struct formula_node *n)
{
    bool number_first = n->part & FLAG_SWAPPED;
    say_at(saying, out, number_first ? n->b : n->a, LEVEL_PRODUCT);
    buffer_text(out, " * ");
    say_at(saying, out, number_first ? n->a : n->b, LEVEL_UNARY);
}

/* Operations, which look alike in names and numbers. */
static void say_operation(const struct saying *saying, struct buffer *out,
                          const struct formula_node *n)
{
    static const enum level sum[2] = {LEVEL_SUM, LEVEL_PRODUCT};
    static const enum level product[2] = {LEVEL_PRODUCT, LEVEL_UNARY};
    switch (n->op) {
    case OP_ADD:
        say_two(saying, out, n, " + ", sum);
        return;
    case OP_SUBTRACT:
        say_two(saying, out, n, " - ", sum);
        return;
    case OP_MULTIPLY:
        say_two(saying, out, n, " * ", product);
        return;
    case OP_DIVIDE:
        say_two(saying, out, n, " / ", product);
        return;
    case OP_WIDEN:
        say_two(saying, out, n, " \xc2\xb1 ", sum);
        return;
    case OP_SCALE:
        say_scaled(saying, out, n);
        return;
    case OP_NEGATE:
        buffer_byte(out, '-');
        say_at(saying, out, n->a, LEVEL_POWER);
        return;
    case OP_POWER:
        say_at(saying, out, n->a, LEVEL_WHOLE);
        buffer_format(out, "^%d", (int)(int32_t)n->b);
        return;
    case OP_NOMINAL:
        buffer_text(out, saying->values ? "" : "nominal ");
        say_at(saying, out, n->a, LEVEL_WHOLE);
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
        return "hypot";
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

/* The side of an `if` or `otherwise` that counts. */
static uint32_t taken(const struct saying *saying, const struct formula_node *n)
{
    uint8_t state;
    if (n->op == OP_IF)
        return run_branch(saying->evaluator, n, &state);
    return run_any(saying->evaluator, n->a) == ENV_ABSENT ? n->b : n->a;
}

static bool has_own_value(const struct formula_node *n)
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

/* In place of a parameter, what was handed to it. */
static bool say_argument(const struct saying *saying, struct buffer *out, uint32_t slot,
                         enum level wanted)
{
    struct saying outside = *saying;
    uint32_t argument =
        within_argument(saying->evaluator, saying->within, slot, &outside.within);
    if (argument == NODE_NONE)
        return false;
    say_at(&outside, out, argument, wanted);
    return true;
}

static void say_at(const struct saying *saying, struct buffer *out, uint32_t node,
                   enum level wanted)
{
    const struct formula_node *n = node_of(saying->evaluator, node);
    if (out->size > SAID_MAX) {
        buffer_text(out, "...");
        return;
    }
    if (n->op == OP_SLOT && !saying->values && say_argument(saying, out, n->a, wanted))
        return;
    if (n->op == OP_IF || n->op == OP_OTHERWISE) {
        uint32_t branch = taken(saying, n);
        if (branch != NODE_NONE)
            say_at(saying, out, branch, wanted);
        else
            quote(saying, out, n);
        return;
    }
    if (saying->values && has_own_value(n)) {
        say_number_at(saying, out, node, wanted);
        return;
    }
    bool enclosed = level_of(n) < wanted;
    if (enclosed)
        buffer_byte(out, '(');
    if (has_own_value(n))
        say_named(saying, out, n);
    else if (n->op == OP_NUMBER)
        quote(saying, out, n);
    else if (function_name(n->op))
        say_items(saying, out, function_name(n->op), n);
    else
        say_operation(saying, out, n);
    if (enclosed)
        buffer_byte(out, ')');
}

void say_node(const struct saying *saying, struct buffer *out, uint32_t node)
{
    say_at(saying, out, node, LEVEL_ANY);
}
