/* What was recorded, as people read it: values with their units, formulas as text again, tests,
 * and the arithmetic of the comparison that decided, for somebody with a pocket calculator.
 *
 *     change.probe_stroke >= gap(cutter 3): at worst 9 mm >= 14.35 mm, short by 5.35 mm
 *     gap(cutter 3) = approach_nose(cutter 3) + height_error - contact(cutter 3)
 *                   = -40 mm + (0 mm ± 0.05 mm) - (-48 mm ± 6.35 mm) = 8 mm ± 6.4 mm, ...
 *
 * First the comparison, then each definition that it uses, once, in the order in which they
 * appear.
 */
#include "formula/internal.h"

#include <math.h>

#include "quantity/quantity.h"
#include "text/escape.h"

/* How values are shown to people: to whom names and units are asked, and where the texts go. */
struct speaker {
    struct evaluator *evaluator;
    const struct formula_namer *namer;
    struct arena *arena;
    bool values; /* numbers in place of names */
    bool labels; /* with `values`: each number behind what it is, in words */
    bool inside; /* of parentheses, where sums are said with signs */
};

static struct speaker within(const struct speaker *speaker)
{
    struct speaker inner = *speaker;
    inner.inside = true;
    return inner;
}

/* Values. */

enum {
    TEXT_CELLS = 60,
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

static const struct entry *part_of(const struct speaker *speaker, const struct entry *entry,
                                   uint32_t index)
{
    return entry_part(&speaker->evaluator->last, entry, index);
}

static const struct entry *last_of(const struct speaker *speaker, const struct entry *entry)
{
    return entry_at(&speaker->evaluator->last, entry->last);
}

static const struct form *form_of(const struct speaker *speaker, const struct entry *entry)
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
static unit_id own_unit(const struct speaker *speaker, const struct entry *entry)
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
static unit_id unit_of(const struct speaker *speaker, const struct entry *entry,
                       unit_id fallback)
{
    const struct formula_node *n = entry->node;
    bool reads = n->op != OP_SHORTFALL && n->op != OP_MARGIN;
    if (!reads && is_of_dates(speaker->evaluator, n))
        return unit_days();
    struct dimension dimension = n->type == TYPE_DATE ? DIMENSION_TIME : n->dimension;
    if (dimension_is_none(dimension) && fallback == UNIT_UNKNOWN)
        fallback = UNIT_BARE;
    unit_id unit = reads ? own_unit(speaker, entry) : UNIT_UNKNOWN;
    if (unit != UNIT_UNKNOWN)
        return unit;
    if (fallback != UNIT_UNKNOWN && unit_fits(fallback, dimension))
        return fallback;
    return speaker->namer->unit(speaker->namer->user, dimension);
}

/* A number of a form as it is said: what is nothing but for rounding is nothing. */
static const char *number_text(const struct speaker *speaker, const struct entry *entry,
                               double si)
{
    return quantity_text(speaker->arena, form_settle(form_of(speaker, entry), si),
                         entry->node->dimension, unit_of(speaker, entry, UNIT_UNKNOWN));
}

/* Its nominal value with its tolerance, or both bounds where they lie differently far. */
static const char *form_text(const struct speaker *speaker, const struct entry *entry)
{
    const struct form *form = form_of(speaker, entry);
    double below = form->mid - form->low, above = form->high - form->mid;
    double wide = below > above ? below : above;
    if (wide <= 1e-12 * form->scale)
        return number_text(speaker, entry, form->mid);
    if (fabs(below - above) <= 1e-6 * wide)
        return quantity_text_with(speaker->arena, form_settle(form, form->mid), wide,
                                  entry->node->dimension,
                                  unit_of(speaker, entry, UNIT_UNKNOWN));
    return arena_format(speaker->arena, "%s (%s to %s)", number_text(speaker, entry, form->mid),
                        number_text(speaker, entry, form->low),
                        number_text(speaker, entry, form->high));
}

/* Days since 1970-01-01 to a date, by eras of 400 years that start on a first of March. */
static const char *date_text(struct arena *arena, double seconds)
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

static const char *word_text(const struct speaker *speaker, uint16_t leaf, uint32_t word)
{
    const struct environment_values *values = &speaker->evaluator->values;
    if (!values->word)
        return "another word";
    struct view text = values->word(values->user, leaf, word);
    return arena_copy(speaker->arena, text.size ? text.data : "", text.size);
}

/* The name of the leaf that an entry has read. */
static const char *leaf_name(const struct speaker *speaker, const struct entry *entry)
{
    if (entry->read == NODE_NONE)
        return unknown_value; /* what it belongs to is not there */
    return speaker->namer->leaf(speaker->namer->user, speaker->arena, entry->node->leaf,
                                entry->node->part & PART_MASK, entry->owner);
}

static struct view own_text(const struct speaker *speaker, const struct formula_node *node)
{
    return (struct view){speaker->evaluator->program->text + node->text, node->text_size};
}

/* A choice's word, or a list's words in their order. */
static const char *words_text(const struct speaker *speaker, const struct entry *entry)
{
    const struct env_value *value = &entry->of.value;
    uint16_t leaf = entry->node->leaf;
    if (entry->node->type == TYPE_CHOICE)
        return word_text(speaker, leaf, (uint32_t)value->number);
    if (entry->node->type != TYPE_WORDS)
        return "a list";
    struct buffer out;
    buffer_init(&out, speaker->arena);
    for (uint32_t i = 0; i < value->count; i++)
        buffer_format(&out, "%s%s", i ? ", " : "", word_text(speaker, leaf, value->words[i]));
    return value->count ? buffer_string(&out) : "none";
}

/* The value of an entry of any type; "not known" where it is not. */
static const char *value_text(const struct speaker *speaker, const struct entry *entry)
{
    if (!entry || entry->state != ENV_KNOWN)
        return unknown_value;
    switch ((enum value_type)entry->node->type) {
    case TYPE_QUANTITY:
        return form_is_finite(form_of(speaker, entry)) ? form_text(speaker, entry)
                                                       : unknown_value;
    case TYPE_DATE:
        return date_text(speaker->arena, form_of(speaker, entry)->mid);
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
                    form_is_finite(form_of(&speaker, entry));
    if (!quantity) {
        buffer_text(out, value_text(&speaker, entry));
        return;
    }
    const struct form *form = form_of(&speaker, entry);
    buffer_text(out, quantity_text(out->arena, form_settle(form, form->mid),
                                   entry->node->dimension, unit_of(&speaker, entry, unit)));
}

/* A formula as text again, in names or in numbers, with what was not taken left out: of an `if`
 * only the branch that counted, of an `otherwise` only the side that was there. */

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
    FUNCTION_ITEMS_MAX = 32,
    SAID_MAX = 500, /* values handed on through definitions can unfold without end */
};

static void say_at(const struct speaker *speaker, struct buffer *out, const struct entry *entry,
                   enum level wanted);

/* The part of the formula's own text, on one line. */
static void quote(const struct speaker *speaker, struct buffer *out,
                  const struct formula_node *n)
{
    struct view text = own_text(speaker, n);
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
static void say_number(const struct speaker *speaker, struct buffer *out,
                       const struct entry *entry, enum level wanted)
{
    const char *text = value_text(speaker, entry);
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
    for (const struct entry *more = part_of(speaker, entry, 1); more;) {
        items[count++] = more;
        const struct entry *first = part_of(speaker, entry, 0);
        if (n->op == OP_HYPOT || first->node->op != n->op || first->node->text != n->text ||
            count == FUNCTION_ITEMS_MAX - 1)
            break;
        entry = first;
        more = part_of(speaker, entry, 1);
    }
    items[count++] = part_of(speaker, entry, 0);
    buffer_format(out, "%s(", name);
    while (count--) {
        struct speaker inner = within(speaker);
        say_at(&inner, out, items[count], LEVEL_ANY);
        buffer_text(out, count ? ", " : ")");
    }
}

/* A thing by its name; one that is not there by the field that would name it. */
static const char *record_text(const struct speaker *speaker, const struct entry *entry)
{
    bool there = entry->state == ENV_KNOWN;
    return there || entry->node->op != OP_RECORD_LEAF ? value_text(speaker, entry)
                                                      : leaf_name(speaker, entry);
}

static void say_call(const struct speaker *speaker, struct buffer *out,
                     const struct entry *entry)
{
    const struct program *program = speaker->evaluator->program;
    const struct formula_call *call = &program->calls[entry->node->a];
    buffer_add(out, (struct view){program->text + call->name, call->name_size});
    const struct entry *value = part_of(speaker, entry, 0);
    for (uint32_t i = 0; i < call->parameters && value; i++) {
        buffer_text(out, i ? ", " : "(");
        if (value->node->type == TYPE_RECORD)
            buffer_text(out, record_text(speaker, value));
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
        quote(speaker, out, entry->node);
    else
        buffer_text(out, value_text(speaker, entry));
}

/* In names: what has a value of its own in numbers. */
static void say_named(const struct speaker *speaker, struct buffer *out,
                      const struct entry *entry)
{
    const struct formula_node *n = entry->node;
    if (n->part & FLAG_SAID_NOMINAL)
        buffer_text(out, "nominal ");
    switch (n->op) {
    case OP_LEAF:
        buffer_text(out, leaf_name(speaker, entry));
        return;
    case OP_CALL:
        say_call(speaker, out, entry);
        return;
    case OP_DISTANCE:
        buffer_text(out, "distance(");
        say_end(speaker, out, part_of(speaker, entry, 1));
        buffer_text(out, ", ");
        say_end(speaker, out, part_of(speaker, entry, 2));
        buffer_byte(out, ')');
        return;
    default:
        quote(speaker, out, n);
    }
}

static void say_two(const struct speaker *speaker, struct buffer *out,
                    const struct entry *entry, const char *sign, const enum level levels[2])
{
    say_at(speaker, out, part_of(speaker, entry, 0), levels[0]);
    buffer_text(out, sign);
    say_at(speaker, out, part_of(speaker, entry, 1), levels[1]);
}

/* Operations, which look alike in names and numbers. */
static void say_operation(const struct speaker *speaker, struct buffer *out,
                          const struct entry *entry)
{
    const struct formula_node *n = entry->node;
    const struct entry *a = part_of(speaker, entry, 0);
    bool number_first = n->part & FLAG_SWAPPED;
    bool in_words = speaker->labels && !speaker->inside;
    static const enum level sum[2] = {LEVEL_SUM, LEVEL_PRODUCT};
    static const enum level product[2] = {LEVEL_PRODUCT, LEVEL_UNARY};
    switch (n->op) {
    case OP_ADD:
        say_two(speaker, out, entry, in_words ? ", and " : " + ", sum);
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
        say_at(speaker, out, number_first ? part_of(speaker, entry, 1) : a, LEVEL_PRODUCT);
        buffer_text(out, " * ");
        say_at(speaker, out, number_first ? a : part_of(speaker, entry, 1), LEVEL_UNARY);
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
static const struct entry *taken(const struct speaker *speaker, const struct entry *entry)
{
    const struct entry *last = last_of(speaker, entry);
    return entry->node->op == OP_IF && last == part_of(speaker, entry, 0) ? NULL : last;
}

/* What a definition came to where that is one field as it stands: it is said in its place,
 * since a name in between tells nothing more.  NULL where it is anything else. */
static const struct entry *mere_field(const struct speaker *speaker, const struct entry *entry)
{
    const struct record *record = &speaker->evaluator->last;
    const struct formula_node *n = entry->node;
    if (n->op != OP_CALL || n->type != TYPE_QUANTITY || n->part & FLAG_SAID_NOMINAL)
        return NULL;
    entry = entry_at(record, entry->stands_for);
    while (entry && (entry->node->op == OP_IF || entry->node->op == OP_OTHERWISE))
        entry = taken(speaker, entry);
    return entry && entry->node->op == OP_LEAF && !(entry->node->part & FLAG_SAID_NOMINAL)
               ? entry
               : NULL;
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
    if (has_own_value(n))
        say_named(speaker, out, entry);
    else if (n->op == OP_NUMBER)
        quote(speaker, out, n);
    else if (function_name(n->op))
        say_function(speaker, out, function_name(n->op), entry);
    else
        say_operation(speaker, out, entry);
    if (enclosed)
        buffer_byte(out, ')');
}

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
    quote(speaker, &text, n);
    const char *said = buffer_string(&text), *end = strstr(said, " for ");
    if (!end)
        end = said + text.size;
    for (; said < end; said++) {
        size_t size = *said == '(' ? strcspn(said + 1, " ,()") + 1 : 0;
        if (size && said[size] == ')') /* the name that the list gives each of its items */
            said += size;
        else
            buffer_byte(out, *said == '_' ? ' ' : *said);
    }
}

/* What a value is, without parentheses: a field, or a definition and what it is asked of. */
static const char *label_of(const struct speaker *speaker, const struct entry *entry)
{
    struct buffer out;
    struct speaker plain = *speaker;
    plain.values = plain.labels = false;
    if (entry->node->op == OP_LEAF) {
        const struct entry *of = part_of(speaker, entry, 0);
        bool named = of && of->node->type == TYPE_RECORD && of->state == ENV_KNOWN;
        return path_label(speaker, leaf_name(speaker, entry),
                          named ? value_text(speaker, of) : NULL);
    }
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
    const struct entry *value = part_of(speaker, entry, 0);
    for (uint32_t i = 0; i < call->parameters && value; i++) {
        buffer_text(&out, i ? " and " : " of ");
        if (value->node->type == TYPE_RECORD)
            buffer_text(&out, record_text(speaker, value));
        else if (has_own_value(value->node))
            buffer_text(&out, label_of(speaker, value));
        else
            say_at(&plain, &out, value, LEVEL_UNARY);
        value = entry_at(&speaker->evaluator->last, value->next);
    }
    return buffer_string(&out);
}

/* "contact of cutter 1 -120 mm ± 6.35 mm" */
static void say_labelled(const struct speaker *speaker, struct buffer *out,
                         const struct entry *entry, enum level wanted)
{
    const char *value = value_text(speaker, entry);
    bool wide = strstr(value, "\xc2\xb1") || strchr(value, '(');
    say_enclosed(out, arena_format(speaker->arena, "%s %s", label_of(speaker, entry), value),
                 wide && wanted >= LEVEL_PRODUCT && speaker->inside);
}

static void say_at(const struct speaker *speaker, struct buffer *out, const struct entry *entry,
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
        if (mere_field(speaker, entry))
            entry = mere_field(speaker, entry);
        break;
    case OP_IF:
    case OP_OTHERWISE:
        if (taken(speaker, entry))
            say_at(speaker, out, taken(speaker, entry), wanted);
        else
            quote(speaker, out, entry->node);
        return;
    default:
        break;
    }
    if (speaker->labels && has_own_value(entry->node))
        say_labelled(speaker, out, entry, wanted);
    else if (speaker->values && has_own_value(entry->node))
        say_number(speaker, out, entry, wanted);
    else
        say_plain(speaker, out, entry, wanted);
}

/* Tests of words, texts and things, as one line: what was asked, and what is there. */

static bool reads_leaf(const struct formula_node *n)
{
    return n->op == OP_LEAF || n->op == OP_FLAG || n->op == OP_RECORD_LEAF;
}

/* A test that holds is told as it is; of one that does not, what it wants and what there is. */
static const char *test_said(const struct speaker *speaker, const struct entry *entry,
                             const char *path, const char *wanted, const char *now)
{
    return entry->of.outcome.truth == TRUTH_TRUE
               ? arena_format(speaker->arena, "%s is %s", path, now)
               : arena_format(speaker->arena, "%s wants %s; it is %s", path, wanted, now);
}

static const char *test_leaf(const struct speaker *speaker, const struct entry *entry)
{
    const struct formula_node *n = entry->node;
    const struct entry *read = part_of(speaker, entry, 0);
    uint16_t leaf = read->node->leaf;
    const char *wanted = "none";
    if (n->op != OP_IS_NONE)
        wanted = word_text(speaker, leaf, n->b);
    if (n->op == OP_BEFORE)
        wanted = arena_format(speaker->arena, "%s before %s", wanted,
                              word_text(speaker, leaf, n->c));
    if (n->part & FLAG_NEGATE)
        wanted = arena_format(speaker->arena, "not %s", wanted);
    return test_said(speaker, entry, leaf_name(speaker, read), wanted,
                     value_text(speaker, read));
}

static const char *test_flag(const struct speaker *speaker, const struct entry *entry)
{
    bool no = entry->node->part & FLAG_NEGATE;
    bool yes_now = (entry->of.outcome.truth == TRUTH_TRUE) != no;
    return test_said(speaker, entry, leaf_name(speaker, entry), no ? "no" : "yes",
                     yes_now ? "yes" : "no");
}

/* What both sides are called, and what they are. */
static const char *test_two(const struct speaker *speaker, const struct entry *entry)
{
    const struct formula_node *n = entry->node;
    const char *names[2], *values[2];
    bool literal = false;
    for (uint32_t i = 0; i < 2; i++) {
        const struct entry *side = part_of(speaker, entry, i);
        const struct formula_node *s = side->node;
        const char *value = value_text(speaker, side);
        literal = s->op == OP_TEXT;
        values[i] =
            s->type == TYPE_TEXT ? arena_format(speaker->arena, "\"%s\"", value) : value;
        names[i] = literal ? values[i]
                   : reads_leaf(s)
                       ? leaf_name(speaker, side)
                       : escape_short(speaker->arena, own_text(speaker, s), TEXT_CELLS);
    }
    bool differ = n->part & FLAG_NEGATE, holds = entry->of.outcome.truth == TRUTH_TRUE;
    if (!literal)
        return arena_format(speaker->arena, "%s is %s, %s is %s%s", names[0], values[0],
                            names[1], values[1],
                            holds    ? ""
                            : differ ? "; they are to differ"
                                     : "; they are to be the same");
    const char *wanted = arena_format(speaker->arena, "%s%s", differ ? "not " : "", names[1]);
    if (n->op == OP_MATCHES)
        wanted = arena_format(speaker->arena, "%s match of %s", differ ? "no" : "a", names[1]);
    return test_said(speaker, entry, names[0], wanted, values[0]);
}

static const char *test_known(const struct speaker *speaker, const struct entry *entry)
{
    const struct entry *what = part_of(speaker, entry, 0);
    const char *name =
        reads_leaf(what->node)
            ? leaf_name(speaker, what)
            : escape_short(speaker->arena, own_text(speaker, what->node), TEXT_CELLS);
    return arena_format(speaker->arena, "%s is%s wanted: it is %s", name,
                        entry->node->part & FLAG_NEGATE ? " not" : "",
                        what->state == ENV_KNOWN ? "given" : "not given");
}

/* The two elements that are alike are what was recorded last. */
static const char *test_distinct(const struct speaker *speaker, const struct entry *entry)
{
    const struct entry *last = last_of(speaker, entry), *element = part_of(speaker, entry, 0);
    const char *names[2];
    uint32_t count = 0;
    for (; element; element = entry_at(&speaker->evaluator->last, element->next)) {
        if (!element->is_element)
            continue;
        const struct entry *body = last_of(speaker, element);
        const struct formula_node *n = body->node;
        struct buffer name;
        buffer_init(&name, speaker->arena);
        if (n->op == OP_LEAF)
            buffer_text(&name, leaf_name(speaker, body));
        else if (n->type == TYPE_QUANTITY || n->op == OP_CALL)
            say_at(speaker, &name, body, LEVEL_ANY);
        else
            buffer_add(&name, own_text(speaker, n));
        names[count++ & 1] = buffer_string(&name);
    }
    if (count != 2)
        return NULL;
    return arena_format(speaker->arena, "%s and %s are both %s", names[0], names[1],
                        value_text(speaker, last_of(speaker, last)));
}

/* "change.no_contact wants stops; it is continues"; NULL where there is nothing to say. */
static const char *test_line(const struct speaker *speaker, const struct entry *entry)
{
    switch (entry->node->op) {
    case OP_FLAG:
        return test_flag(speaker, entry);
    case OP_IS_WORD:
    case OP_IS_NONE:
    case OP_HAS:
    case OP_BEFORE:
        return test_leaf(speaker, entry);
    case OP_IS_TEXT:
    case OP_IS_SAME:
    case OP_IS_RECORD:
    case OP_MATCHES:
        return test_two(speaker, entry);
    case OP_KNOWN:
        return test_known(speaker, entry);
    case OP_DISTINCT:
        return test_distinct(speaker, entry);
    default:
        return NULL;
    }
}

/* Lines. */

enum { LINES_MAX = 12 };

struct lines {
    struct speaker speaker;
    VECTOR(const char *) items;
    VECTOR(const char *) titles; /* of the definitions said already */
    bool steps;                  /* as on paper, else the whole derivation */
};

static const char *said(const struct lines *lines, const struct entry *entry, bool values)
{
    struct speaker speaker = lines->speaker;
    speaker.values = values;
    struct buffer out;
    buffer_init(&out, speaker.arena);
    say_at(&speaker, &out, entry, LEVEL_ANY);
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
    const struct speaker *speaker = &lines->speaker;
    const struct formula_node *n = compared->high->node;
    if (n->type == TYPE_DATE)
        return quantity_text(speaker->arena, si, DIMENSION_TIME, unit_days());
    return quantity_text(speaker->arena, si, n->dimension,
                         unit_of(speaker, compared->high, own_unit(speaker, compared->low)));
}

static const char *bound_text(const struct lines *lines, const struct entry *entry, double si)
{
    if (entry->node->type == TYPE_DATE)
        return date_text(lines->speaker.arena, si);
    return number_text(&lines->speaker, entry, si);
}

static const char *spare_text(const struct lines *lines, const struct compared *compared,
                              double margin, bool strict)
{
    struct arena *arena = lines->speaker.arena;
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
    return arena_format(lines->speaker.arena, "they differ by at least %s",
                        size_text(lines, compared, fabs(margin)));
}

/* "9 mm >= 14.35 mm", with the sides at their worst where that is what decides. */
static const char *values_text(const struct lines *lines, const struct compared *compared,
                               const char *sign, bool swapped, double margin)
{
    const struct speaker *speaker = &lines->speaker;
    const struct form *high = form_of(speaker, compared->high);
    const struct form *low = form_of(speaker, compared->low);
    bool equal = compared->entry->node->op == OP_EQUAL;
    bool exact = high->low == high->high && low->low == low->high;
    bool plain =
        exact || equal ||
        fabs(high->low - low->high - margin) > 1e-9 * (fabs(high->low) + fabs(low->high));
    const char *of_high = plain ? value_text(speaker, compared->high)
                                : bound_text(lines, compared->high, high->low);
    const char *of_low = plain ? value_text(speaker, compared->low)
                               : bound_text(lines, compared->low, low->high);
    const char *after = !plain || exact || equal          ? ""
                        : speaker->evaluator->statistical ? ", with tolerances added as squares"
                                                          : ", where shared tolerances cancel";
    return arena_format(speaker->arena, "%s%s %s %s%s", plain ? "" : "at worst ",
                        swapped ? of_low : of_high, sign, swapped ? of_high : of_low, after);
}

static const char *inside_line(const struct lines *lines, const struct compared *compared,
                               double margin)
{
    const struct speaker *speaker = &lines->speaker;
    bool outside = compared->entry->node->part & FLAG_NEGATE;
    const char *word = outside ? "not inside" : "inside", *names[3], *values[3];
    for (uint32_t i = 0; i < 3; i++) {
        const struct entry *part = part_of(speaker, compared->entry, i);
        names[i] = said(lines, part, false);
        values[i] = value_text(speaker, part);
    }
    return arena_format(speaker->arena, "%s %s %s .. %s: %s %s %s .. %s, %s", names[0], word,
                        names[1], names[2], values[0], word, values[1], values[2],
                        spare_text(lines, compared, margin, outside));
}

static const char *comparison_line(const struct lines *lines, const struct compared *compared,
                                   double margin)
{
    const struct formula_node *n = compared->entry->node;
    struct arena *arena = lines->speaker.arena;
    if (n->op == OP_INSIDE)
        return inside_line(lines, compared, margin);
    bool equal = n->op == OP_EQUAL, swapped = !equal && n->part & FLAG_SWAPPED;
    const char *sign = !equal ? sign_of(n) : n->part & FLAG_NEGATE ? "differs from" : "==";
    const struct entry *left = swapped ? compared->low : compared->high;
    const struct entry *right = swapped ? compared->high : compared->low;
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
    VECTOR_ADD(lines->speaker.arena, &lines->titles, title);
    return false;
}

static void add_part(struct buffer *line, const char **last, const char *part)
{
    if (strcmp(*last, part) == 0)
        return;
    buffer_format(line, " = %s", part);
    *last = part;
}

static void add_range(const struct lines *lines, struct buffer *line, const struct entry *body)
{
    const struct form *form = form_of(&lines->speaker, body);
    double wide = form->high - form->low;
    bool lopsided = fabs(form->high + form->low - 2 * form->mid) > 1e-6 * wide;
    if (wide <= 1e-12 * form->scale || lopsided)
        return; /* the value itself says so */
    buffer_format(line, ", so %s to %s", number_text(&lines->speaker, body, form->low),
                  number_text(&lines->speaker, body, form->high));
}

/* The definition in names, in numbers, and what comes out. */
static void say_definition(struct lines *lines, const char *title, const struct entry *body)
{
    const struct speaker *speaker = &lines->speaker;
    if (body->node->type != TYPE_QUANTITY || body->state != ENV_KNOWN ||
        !form_is_finite(form_of(speaker, body)))
        return;
    struct buffer line;
    const char *last = title;
    buffer_init(&line, speaker->arena);
    buffer_text(&line, title);
    add_part(&line, &last, said(lines, body, false));
    add_part(&line, &last, said(lines, body, true));
    add_part(&line, &last, value_text(speaker, body));
    add_range(lines, &line, body);
    VECTOR_ADD(speaker->arena, &lines->items, buffer_string(&line));
}

/* The same as a person would do it on paper: each number behind what it is, in words. */

static const char *labelled(const struct lines *lines, const struct entry *entry)
{
    struct speaker speaker = lines->speaker;
    speaker.values = speaker.labels = true;
    struct buffer out;
    buffer_init(&out, speaker.arena);
    say_at(&speaker, &out, entry, LEVEL_ANY);
    return buffer_string(&out);
}

/* What is said in place of `entry`: the side that counts, what was handed on, a mere field. */
static const struct entry *settled(const struct speaker *speaker, const struct entry *entry)
{
    while (entry) {
        uint8_t op = entry->node->op;
        const struct entry *next = op == OP_IF || op == OP_OTHERWISE ? taken(speaker, entry)
                                   : op == OP_SLOT
                                       ? entry_at(&speaker->evaluator->last, entry->stands_for)
                                   : op == OP_CALL ? mere_field(speaker, entry)
                                                   : NULL;
        if (!next)
            break;
        entry = next;
    }
    return entry;
}

/* A side of what is compared at `si`, its worst: "gap of cutter 1 21.36 mm", or what it comes
 * to with what it is made of behind it. */
static const char *side_step(const struct lines *lines, const struct entry *side, double si,
                             bool worst)
{
    const struct speaker *speaker = &lines->speaker;
    struct arena *arena = speaker->arena;
    const char *value = worst ? bound_text(lines, side, si) : value_text(speaker, side);
    const struct entry *said_for = settled(speaker, side);
    if (said_for->node->op == OP_NUMBER)
        return value;
    if (has_own_value(said_for->node))
        return arena_format(arena, "%s %s", label_of(speaker, said_for), value);
    return arena_format(arena, "%s (%s)", value, labelled(lines, side));
}

static const char *inside_step(const struct lines *lines, const struct compared *compared,
                               double margin)
{
    const char *sides[3];
    for (uint32_t i = 0; i < 3; i++)
        sides[i] = side_step(lines, part_of(&lines->speaker, compared->entry, i), 0, false);
    bool outside = compared->entry->node->part & FLAG_NEGATE;
    return arena_format(lines->speaker.arena, "%s, %sto be from %s to %s: %s", sides[0],
                        outside ? "not " : "", sides[1], sides[2],
                        spare_text(lines, compared, margin, outside));
}

/* Of numbers and of dates; at least, more, at most, less. */
static const char *const wanted_words[] = {
    "to be no less than",    "to be more than",  "to be no more than",  "to be less than",
    "to be no earlier than", "to be later than", "to be no later than", "to be earlier than",
};

static const char *comparison_step(const struct lines *lines, const struct compared *compared,
                                   double margin)
{
    const struct formula_node *n = compared->entry->node;
    struct arena *arena = lines->speaker.arena;
    if (n->op == OP_INSIDE)
        return inside_step(lines, compared, margin);
    if (n->op == OP_EQUAL)
        return arena_format(
            arena, "%s, to %s %s: %s", side_step(lines, compared->high, 0, false),
            n->part & FLAG_NEGATE ? "differ from" : "be equal to",
            side_step(lines, compared->low, 0, false), equal_text(lines, compared, margin));
    const struct form *high = form_of(&lines->speaker, compared->high);
    const struct form *low = form_of(&lines->speaker, compared->low);
    bool swapped = n->part & FLAG_SWAPPED, strict = n->part & FLAG_STRICT;
    bool exact = high->low == high->high && low->low == low->high;
    bool worst = !exact && fabs(high->low - low->high - margin) <=
                               1e-9 * (fabs(high->low) + fabs(low->high));
    const char *of_high = side_step(lines, compared->high, high->low, worst);
    const char *of_low = side_step(lines, compared->low, low->high, worst);
    bool dates = compared->high->node->type == TYPE_DATE;
    const char *wanted = wanted_words[(dates ? 4 : 0) + (swapped ? 2 : 0) + (strict ? 1 : 0)];
    return arena_format(
        arena, "%s%s, %s %s: %s%s", worst ? "at worst " : "", swapped ? of_low : of_high,
        wanted, swapped ? of_high : of_low, spare_text(lines, compared, margin, strict),
        exact || worst                          ? ""
        : lines->speaker.evaluator->statistical ? ", with tolerances added as squares"
                                                : ", where shared tolerances cancel");
}

static void add_step(struct lines *lines, const struct entry *call, const struct entry *body)
{
    const struct speaker *speaker = &lines->speaker;
    const struct entry *makes = settled(speaker, body);
    if (body->node->type != TYPE_QUANTITY || body->state != ENV_KNOWN || !makes ||
        !form_is_finite(form_of(speaker, body)) || has_own_value(makes->node) ||
        makes->node->op == OP_NUMBER)
        return; /* another name for the same number is no step */
    VECTOR_ADD(speaker->arena, &lines->items,
               arena_format(speaker->arena, "%s %s = %s", label_of(speaker, call),
                            value_text(speaker, body), labelled(lines, body)));
}

/* The definitions used by a part, as far as it counts. */
static void unfold(struct lines *lines, const struct entry *entry)
{
    const struct record *record = &lines->speaker.evaluator->last;
    const struct formula_node *n = entry->node;
    if (lines->items.count >= LINES_MAX || op_is_quantifier(n->op) || n->type == TYPE_FLAG ||
        n->type == TYPE_RECORD || n->op == OP_LEAF)
        return;
    if (n->op == OP_IF || n->op == OP_OTHERWISE) {
        if (taken(&lines->speaker, entry))
            unfold(lines, taken(&lines->speaker, entry));
        return;
    }
    if (mere_field(&lines->speaker, entry))
        return;
    const struct entry *body = n->op == OP_CALL ? entry_at(record, entry->stands_for) : NULL;
    const char *title = body ? said(lines, entry, false) : "";
    if (body && said_already(lines, title))
        return;
    for (const struct entry *part = entry_at(record, entry->first); part;
         part = entry_at(record, part->next))
        if (part != body)
            unfold(lines, part);
    if (body) {
        if (lines->steps)
            add_step(lines, entry, body);
        else
            say_definition(lines, title, body);
        unfold(lines, body);
    }
}

/* All lines of one kind; the comparison first. */
static void gather(struct lines *lines, const struct compared *compared, double margin)
{
    const char *line = !compared->high ? test_line(&lines->speaker, compared->entry)
                       : lines->steps  ? comparison_step(lines, compared, margin)
                                       : comparison_line(lines, compared, margin);
    if (line)
        VECTOR_ADD(lines->speaker.arena, &lines->items, line);
    const struct formula_node *n = compared->entry->node;
    bool swapped = n->op != OP_EQUAL && n->part & FLAG_SWAPPED;
    if (compared->high) {
        unfold(lines, swapped ? compared->low : compared->high);
        unfold(lines, swapped ? compared->high : compared->low);
    }
}

void say_lines(struct evaluator *evaluator, const struct formula_namer *namer,
               const struct compared *compared, struct arena *arena, struct trace *trace)
{
    struct lines lines = {
        .speaker = {.evaluator = evaluator, .namer = namer, .arena = arena},
    };
    struct lines steps = {.speaker = lines.speaker, .steps = true};
    gather(&lines, compared, trace->verdict.margin);
    gather(&steps, compared, trace->verdict.margin);
    trace->lines = lines.items.items;
    trace->line_count = lines.items.count;
    trace->steps = steps.items.items;
    trace->step_count = steps.items.count;
}
