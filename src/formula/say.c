/* What was recorded as text again: a formula in names or in numbers, with what was not taken
 * left out: of an `if` only the branch that counted, of an `otherwise` only the side that was
 * there.
 */
#include "formula/internal_say.h"

#include "text/escape.h"

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

/* Labels: what a value is, in words, of fields by their paths, of definitions by their names.
 */

/* "setter nose contact" of "setter.nose_contact", "stickout of cutter 2" of a field of its
 * record: a path as people would say it. */
static const char *path_label(const struct speaker *speaker, const char *path,
                              const char *record)
{
    static const char *const left_out[] = {"change.", "allowances.", "axes."};
    const char *behind = strstr(path, "].");
    if (behind)
        path = behind + 2;
    for (size_t i = 0; i < sizeof left_out / sizeof *left_out; i++)
        if (strncmp(path, left_out[i], strlen(left_out[i])) == 0)
            path += strlen(left_out[i]);
    char *label = arena_format(speaker->arena, "%s%s%s", path, behind && record ? " of " : "",
                               behind && record ? record : "");
    for (size_t i = 0; i < strlen(path); i++)
        if (label[i] == '_' || label[i] == '.')
            label[i] = ' ';
    return label;
}

/* "smallest used stickout" of "smallest used_stickout(c) for c in cutters". */
static void quantifier_label(const struct speaker *speaker, struct buffer *out,
                             const struct formula_node *n)
{
    struct buffer text;
    buffer_init(&text, out->arena);
    say_quote(speaker, &text, n);
    const char *said = buffer_string(&text) + strspn(buffer_string(&text), "( ");
    const char *end = strstr(said, " for ");
    if (!end)
        end = said + strlen(said);
    for (; said < end; said++) {
        size_t size = *said == '(' ? strcspn(said + 1, " ,()") + 1 : 0;
        if (size && said[size] == ')') /* the name that the list gives each of its items */
            said += size;
        else
            buffer_byte(out, *said == '_' ? ' ' : *said);
    }
}

const struct entry *say_named_by(const struct speaker *speaker, const struct entry *entry)
{
    const struct record *record = &speaker->evaluator->last;
    for (const struct entry *at = entry; at;) {
        switch (at->node->op) {
        case OP_LEAF:
            return at;
        case OP_CALL:
        case OP_SLOT:
            at = entry_at(record, at->stands_for);
            break;
        case OP_IF:
        case OP_OTHERWISE:
            at = say_taken(speaker, at);
            break;
        case OP_NOMINAL:
            at = say_part(speaker, at, 0);
            break;
        case OP_WIDEN:
            at = speaker->apart ? say_part(speaker, at, 0) : NULL;
            break;
        default:
            return entry;
        }
    }
    return entry;
}

/* Of a name that stands for the numbers of a list: the list; NULL where it stands for anything
 * else. */
static const struct entry *list_of(const struct speaker *speaker, const struct entry *entry)
{
    const struct record *record = &speaker->evaluator->last;
    if (entry->node->op != OP_SLOT || entry->stands_for != NODE_NONE)
        return NULL;
    for (const struct entry *around = entry_at(record, entry->outer); around;
         around = entry_at(record, around->outer))
        if (around->is_element && around->node->b == entry->node->a)
            return entry_at(record, entry_at(record, around->outer)->first);
    return NULL;
}

const char *say_place(const struct speaker *speaker, const struct entry *entry)
{
    const struct formula_namer *namer = speaker->namer;
    entry = say_named_by(speaker, entry);
    const struct entry *list = list_of(speaker, entry);
    if (list)
        entry = list;
    bool reads = list || entry->node->op == OP_LEAF;
    if (!reads || entry->read == NODE_NONE || !namer->place)
        return "";
    struct formula_read *read = &speaker->evaluator->last.reads.items[entry->read].read;
    const char *place = read->placed ? NULL
                                     : namer->place(namer->user, speaker->arena, read->leaf,
                                                    read->part, read->record);
    read->placed |= place != NULL;
    return place ? arena_format(speaker->arena, " (%s)", place) : "";
}

/* The thing that a leaf belongs to by its name; NULL where it is one of its kind. */
static const char *owner_of(const struct speaker *speaker, const struct entry *leaf)
{
    const struct entry *of = say_part(speaker, leaf, 0);
    bool named = of && of->node->type == TYPE_RECORD && of->state == ENV_KNOWN;
    return named ? say_value(speaker, of) : NULL;
}

/* A coordinate of the place that stands at `text` of the formula, in what the distance was
 * worked out of. */
static const struct entry *coordinate(const struct record *record, const struct entry *entry,
                                      uint32_t text)
{
    if (!entry || (entry->node->op == OP_LEAF && entry->node->text == text))
        return entry;
    const struct entry *found = NULL;
    for (const struct entry *part = entry_at(record, entry->first); part && !found;
         part = entry_at(record, part->next))
        found = coordinate(record, part, text);
    return found;
}

/* A path without the end that begins with `key`, where it has one. */
static struct view without_end(struct view path, const char *key)
{
    size_t size = strlen(key);
    struct view start = {path.data, path.size > size ? path.size - size : 0};
    return start.size && view_is(view_skip(path, start.size), key) ? start : path;
}

/* "setter left" of `s.at`, where the letter stands for that setter; "park" of `change.park`; a
 * thing by its name. */
static const char *end_label(const struct speaker *speaker, const struct entry *distance,
                             const struct entry *end)
{
    static const char *const ends[] = {".low", ".high", ".x", ".y", ".at"};
    if (end->node->op != OP_PLACE)
        return say_value(speaker, end);
    const struct entry *leaf =
        coordinate(&speaker->evaluator->last, say_part(speaker, distance, 0), end->node->text);
    if (!leaf || leaf->read == NODE_NONE)
        return escape_short(speaker->arena, say_own(speaker, end->node), TEXT_CELLS);
    struct view path = view_of(say_leaf(speaker, leaf));
    for (size_t i = 0; i < sizeof ends / sizeof *ends; i++)
        path = without_end(path, ends[i]);
    const char *label =
        path_label(speaker, arena_copy(speaker->arena, path.data, path.size), NULL);
    const char *owner = owner_of(speaker, leaf);
    if (!owner)
        return label;
    return path.data[path.size - 1] == ']'
               ? owner
               : arena_format(speaker->arena, "%s %s", owner, label);
}

/* What a value is, without parentheses: a field, or a definition and what it is asked of. */
const char *say_label(const struct speaker *speaker, const struct entry *entry)
{
    struct buffer out;
    struct speaker plain = *speaker;
    plain.values = plain.labels = false;
    entry = say_named_by(speaker, entry);
    if (entry->node->op == OP_LEAF)
        return path_label(speaker, say_leaf(speaker, entry), owner_of(speaker, entry));
    if (entry->node->op == OP_DISTANCE)
        return arena_format(speaker->arena, "distance from %s to %s",
                            end_label(speaker, entry, say_part(speaker, entry, 1)),
                            end_label(speaker, entry, say_part(speaker, entry, 2)));
    const struct entry *list = list_of(speaker, entry);
    if (list)
        return arena_format(speaker->arena, "one of %s",
                            path_label(speaker, say_leaf(speaker, list), NULL));
    buffer_init(&out, speaker->arena);
    if (op_is_quantifier(entry->node->op)) {
        quantifier_label(speaker, &out, entry->node);
        return buffer_string(&out);
    }
    if (entry->node->op != OP_CALL) {
        say_named(&plain, &out, entry);
        return buffer_string(&out);
    }
    const struct program *program = speaker->evaluator->program;
    const struct formula_call *call = &program->calls[entry->node->a];
    buffer_add(&out, (struct view){program->text + call->name, call->name_size});
    for (size_t i = 0; i < out.size; i++)
        if (out.data[i] == '_')
            out.data[i] = ' ';
    const struct entry *value = say_part(speaker, entry, 0);
    for (uint32_t i = 0; i < call->parameters && value; i++) {
        buffer_text(&out, i ? " and " : " of ");
        if (value->node->type == TYPE_RECORD)
            buffer_text(&out, say_record(speaker, value));
        else if (say_has_value(value->node))
            buffer_text(&out, say_label(speaker, value));
        else
            say_at(&plain, &out, value, LEVEL_UNARY);
        value = entry_at(&speaker->evaluator->last, value->next);
    }
    return buffer_string(&out);
}

/* "contact of cutter 1 -120 mm ± 6.35 mm" */
void say_labelled(const struct speaker *speaker, struct buffer *out, const struct entry *entry,
                  enum level wanted)
{
    const char *value = say_value(speaker, entry);
    bool wide = strstr(value, "\xc2\xb1") || strchr(value, '(');
    say_enclosed(out,
                 arena_format(speaker->arena, "%s %s%s", say_label(speaker, entry), value,
                              say_place(speaker, entry)),
                 wide && wanted >= LEVEL_PRODUCT && speaker->inside);
}
