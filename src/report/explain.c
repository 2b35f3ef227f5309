/* Explaining rules and fields. */
#include "report/explain.h"

#include <math.h>

#include "base/vector.h"
#include "machine/field.h"
#include "quantity/quantity.h"
#include "report/wrap.h"
#include "rules/bind.h"
#include "rules/rulebook.h"
#include "text/escape.h"
#include "text/nearest.h"
#include "tree/tree.h"

enum { COLUMN = 15, FIELD_COLUMN = 34 }; /* where what is told begins */

/* --- rules in their files --- */

struct rule_book {
    const struct tree *tree;
    struct view title;
};

/* A rule or a definition. */
struct rule_entry {
    struct view name;             /* without the arguments of a definition */
    const struct tree_node *node; /* its value; its key is in it */
    struct rule_book *book;
};

struct rule_texts {
    VECTOR(struct rule_entry) rules, definitions; /* in the order of the files */
};

static const struct tree_node *child_of(const struct tree_node *map, const char *key)
{
    const struct tree_node *child = map ? tree_child(tree_resolve(map), view_of(key)) : NULL;
    return child ? tree_resolve(child) : NULL;
}

/* "gap" of "gap(c)". */
static struct view bare_name(struct view key)
{
    const char *bracket = key.size ? memchr(key.data, '(', key.size) : NULL;
    return bracket ? view_trim((struct view){key.data, (size_t)(bracket - key.data)}) : key;
}

static void add_text(struct rule_texts *out, struct arena *arena,
                     const struct rulebook_text *text)
{
    struct rule_book *book = ARENA_NEW(arena, struct rule_book);
    book->tree = tree_of(arena, view_of(text->name), (struct view){text->bytes, text->size});
    const struct tree_node *title = child_of(book->tree->root, "title");
    book->title = title && title->text.size ? title->text : view_of(text->name);
    const struct tree_node *rules = child_of(book->tree->root, "rules");
    const struct tree_node *definitions = child_of(book->tree->root, "define");
    for (const struct tree_node *n = rules ? rules->first : NULL; n; n = n->next) {
        struct rule_entry entry = {n->key, n, book};
        VECTOR_ADD(arena, &out->rules, entry);
    }
    for (const struct tree_node *n = definitions ? definitions->first : NULL; n; n = n->next) {
        struct rule_entry entry = {bare_name(n->key), n, book};
        VECTOR_ADD(arena, &out->definitions, entry);
    }
}

const struct rule_texts *rule_texts_read(struct arena *arena, const struct rulebook_text *own,
                                         size_t count)
{
    struct rule_texts *texts = ARENA_NEW(arena, struct rule_texts);
    /* The base machine of the examples is no rulebook. */
    for (size_t i = 0; i < builtin_text_count; i++)
        if (rulebook_is_text(&builtin_texts[i]) ||
            strcmp(builtin_texts[i].name, "rules/reading.yaml") == 0)
            add_text(texts, arena, &builtin_texts[i]);
    for (size_t i = 0; i < count; i++)
        add_text(texts, arena, &own[i]);
    return texts;
}

#define FIND(entries, wanted) find_entry((entries).items, (entries).count, wanted)

/* NULL where there is none. */
static const struct rule_entry *find_entry(const struct rule_entry *entries, size_t count,
                                           struct view name)
{
    for (size_t i = 0; i < count; i++)
        if (view_equal(entries[i].name, name))
            return &entries[i];
    return NULL;
}

bool rule_definition_at(const struct rule_texts *texts, size_t index, struct view *head,
                        struct view *body)
{
    if (index >= texts->definitions.count)
        return false;
    const struct tree_node *node = texts->definitions.items[index].node;
    *head = node->key;
    *body = tree_resolve(node)->text;
    return true;
}

bool rule_definition(const struct rule_texts *texts, struct view name, struct view *head,
                     struct view *body)
{
    const struct rule_entry *entry = FIND(texts->definitions, name);
    return entry &&
           rule_definition_at(texts, (size_t)(entry - texts->definitions.items), head, body);
}

/* Text `key` of a rule, its first where it is a list; empty where there is none. */
static struct view rule_text_value(const struct rule_entry *rule, const char *key)
{
    const struct tree_node *value = child_of(rule->node, key);
    if (value && value->kind == TREE_LIST && value->first)
        value = tree_resolve(value->first);
    return value && value->kind == TREE_TEXT ? value->text : (struct view){0};
}

static bool is_name_byte(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_';
}

/* The next name in `text` that stands alone, not behind a point; `text` is moved behind it. */
static struct view next_name(struct view *text)
{
    bool in_path = false;
    while (text->size) {
        size_t size = 0;
        while (size < text->size && is_name_byte(text->data[size]))
            size++;
        struct view name = {text->data, size};
        if (size) {
            *text = view_skip(*text, size);
            if (!in_path)
                return name;
        } else {
            in_path = text->data[0] == '.';
            *text = view_skip(*text, 1);
        }
    }
    return (struct view){0};
}

/* Definitions that a formula uses, each once. */
struct definition_list {
    VECTOR(const struct rule_entry *) items;
};

static bool is_listed(const struct definition_list *list, const struct rule_entry *one)
{
    for (size_t i = 0; i < list->items.count; i++)
        if (list->items.items[i] == one)
            return true;
    return false;
}

static void add_used(const struct rule_texts *texts, struct arena *arena, struct view formula,
                     struct definition_list *out)
{
    for (struct view name = next_name(&formula); name.size; name = next_name(&formula)) {
        const struct rule_entry *definition = FIND(texts->definitions, name);
        if (definition && !is_listed(out, definition))
            VECTOR_ADD(arena, &out->items, definition);
    }
}

/* The definitions that a formula uses, and those that these use, in the order of their first
 * use. */
static void rule_text_definitions(const struct rule_texts *texts, struct arena *arena,
                                  struct view formula, struct definition_list *out)
{
    size_t done = out->items.count;
    add_used(texts, arena, formula, out);
    while (done < out->items.count)
        add_used(texts, arena, tree_resolve(out->items.items[done++]->node)->text, out);
}

/* Adds a value as one would write it on one line: a text as it is, maps without their braces.
 */
static void rule_text_inline(struct buffer *out, const struct tree_node *node)
{
    node = tree_resolve(node);
    if (node->kind == TREE_TEXT) {
        buffer_add(out, node->text);
        return;
    }
    if (node->kind == TREE_LIST)
        buffer_byte(out, '[');
    for (const struct tree_node *child = node->first; child; child = child->next) {
        if (child != node->first)
            buffer_text(out, ", ");
        if (node->kind == TREE_MAP) {
            buffer_add(out, child->key);
            buffer_text(out, ": ");
        }
        bool is_inner = tree_resolve(child)->kind == TREE_MAP;
        if (is_inner)
            buffer_byte(out, '{');
        rule_text_inline(out, child);
        if (is_inner)
            buffer_byte(out, '}');
    }
    if (node->kind == TREE_LIST)
        buffer_byte(out, ']');
}

/* --- telling --- */

struct explanation {
    struct buffer *out;
    size_t width;
    const struct rule_texts *texts;
    const struct rule_entry *rule; /* NULL: a field */
};

static void tell(const struct explanation *to, const char *what, struct view text)
{
    const char *name = *what ? arena_format(to->out->arena, "  %s", what) : "";
    if (text.size)
        wrap_row(to->out, to->width, COLUMN, name, text);
}

static void tell_text(const struct explanation *to, const char *what, const char *text)
{
    if (text)
        tell(to, what, view_of(text));
}

/* --- a field, from its row in the table of fields --- */

/* "a position with its unit, such as mm, cm, m, in" */
static const char *kind_text(struct arena *arena, const struct field *field)
{
    unit_id units[16];
    struct buffer text;
    buffer_init(&text, arena);
    buffer_text(&text, field_kind_name(field->kind));
    size_t count = dimension_is_none(field->dimension)
                       ? 0
                       : unit_choices(field->dimension, units, sizeof units / sizeof *units);
    if (count > sizeof units / sizeof *units)
        count = sizeof units / sizeof *units;
    if (count)
        buffer_format(&text, " (%s), in", dimension_name(field->dimension, arena));
    for (size_t i = 0; i < count; i++)
        buffer_format(&text, "%s %s", i ? "," : "", unit_text(units[i]));
    return buffer_string(&text);
}

static const char *choices_text(struct arena *arena, const struct field *field)
{
    struct buffer text;
    buffer_init(&text, arena);
    for (size_t i = 0; i < field_choice_count(field); i++)
        buffer_format(&text, "%s%.*s", i ? ", " : "", VIEW(field_choice(field, i)));
    return text.size ? buffer_string(&text) : "";
}

static const char *need_text(const struct field *field)
{
    if (field->when == WHEN_ALWAYS && field->needed)
        return field->group == GROUP_ROOT ? "always" : "wherever its section or item stands";
    if (field->needed)
        return when_table[field->when].text;
    return field->fallback ? "may be left out"
                           : "may be left out; what needs it is then not checked";
}

static const char *nature_text(const struct field *field)
{
    switch (field->nature) {
    case NATURE_MEASURED:
    case NATURE_SCATTER:
        return "measured at the machine; where it does not fit, it is measured again";
    case NATURE_CHOSEN:
        return "chosen by whoever sets the machine up";
    case NATURE_FACT:
        return "a fact of the machine's parts";
    }
    return "";
}

/* What a tolerance in per cent means there; nothing where none can be written. */
static const char *percent_text(const struct field *field)
{
    bool ratio = field->kind == KIND_QUANTITY && dimension_is_none(field->dimension);
    if (!ratio)
        return "";
    if (strcmp(field->unit, "%") == 0)
        return "added as it stands: 120 % ± 10 % is 110 % to 130 %";
    if (!*field->unit)
        return "in per cent it is a part of the number: 3 ± 10 % is 2.7 to 3.3";
    return "in per cent it is a part of the number: 2 mm/m ± 10 % is 1.8 mm/m to 2.2 mm/m";
}

static unit_id unit_of(const struct field *field)
{
    unit_id unit = unit_read(view_of(field->unit));
    return *field->unit && unit != UNIT_UNKNOWN ? unit : unit_default(field->dimension);
}

static const char *range_text(struct arena *arena, const struct field *field)
{
    double low = field->plausible_low, high = field->plausible_high;
    unit_id unit = unit_of(field);
    const char *from = isnan(low) ? NULL : quantity_text(arena, low, field->dimension, unit);
    const char *to = isnan(high) ? NULL : quantity_text(arena, high, field->dimension, unit);
    if (from && to)
        return arena_format(arena, "%s to %s; beyond that there is a warning", from, to);
    if (from || to)
        return arena_format(arena, "%s %s; beyond that there is a warning",
                            from ? "from" : "up to", from ? from : to);
    return "";
}

/* What else may stand in the place of a measured number. */
static const char *readings_hint(const struct field *field)
{
    if (field->kind != KIND_QUANTITY && field->kind != KIND_POSITION)
        return "";
    if (field->nature == NATURE_SCATTER)
        return "or {readings: [...]}: how far they scatter is worked out";
    return field->nature == NATURE_MEASURED
               ? "or {readings: [...]}: their mean, and a tolerance worked out from their scatter"
               : "";
}

size_t explain_field_rows(struct arena *arena, enum field_id id,
                          struct explain_row rows[EXPLAIN_ROWS_MAX])
{
    const struct field *field = &field_table[id];
    const char *fallback = field->fallback;
    const struct explain_row all[] = {
        {"is", kind_text(arena, field)},
        {"", readings_hint(field)},
        {"words", choices_text(arena, field)},
        {"needed", need_text(field)},
        {"left out", fallback ? arena_format(arena, "counts as %s", fallback) : ""},
        {"nature", nature_text(field)},
        {"usual", range_text(arena, field)},
        {"tolerance", percent_text(field)},
        {"how", field->measure},
    };
    const size_t all_count = sizeof all / sizeof *all;
    size_t count = 0;
    for (size_t i = 0; i < all_count; i++)
        if (all[i].text && *all[i].text)
            rows[count++] = all[i];
    const char *caution;
    for (size_t i = 0; count < EXPLAIN_ROWS_MAX && (caution = field_caution(field->care, i));
         i++)
        rows[count++] = (struct explain_row){i ? "" : "caution", caution};
    return count;
}

/* `path` as the user gave it; `id` what it stands for. */
static void explain_field(struct buffer *out, size_t width, struct view path, enum field_id id)
{
    const struct explanation to = {.out = out, .width = width};
    const struct wrap line = {.width = width};
    const char *general = field_path(out->arena, id), *meaning = field_table[id].meaning;
    if (view_is(path, general))
        wrap_format(out, &line, "%s: %s", general, meaning);
    else
        wrap_format(out, &line, "%.*s (%s): %s", VIEW(path), general, meaning);
    buffer_byte(out, '\n');
    struct explain_row rows[EXPLAIN_ROWS_MAX];
    size_t count = explain_field_rows(out->arena, id, rows);
    for (size_t i = 0; i < count; i++)
        tell(&to, rows[i].what, view_of(rows[i].text));
}

void explain_worth(struct buffer *out, size_t width, const struct machine *machine,
                   const struct field_place *place, const struct worth *worth)
{
    const struct explanation to = {.out = out, .width = width};
    const struct field *field = &field_table[place->field];
    const struct field_value *value = machine_field(machine, place->field, place->record);
    struct arena *arena = out->arena;
    const char *path = machine_lasting_path(
        arena, machine, machine_path(arena, machine, place->field, place->record, 0));
    if (!worth) {
        tell_text(&to, path,
                  "not given by several readings, so nothing is known of its scatter");
        return;
    }
    struct buffer after;
    buffer_init(&after, arena);
    for (size_t i = 0; i < WORTH_COUNTS; i++)
        buffer_format(
            &after, "%s%u leave ± %s", i ? ", " : "", (unsigned)worth->after[i].count,
            quantity_text(arena, worth->after[i].half_width, field->dimension, value->unit));
    tell_text(&to, path,
              arena_format(arena, "%s: %s; standard deviation %s",
                           field_value_text(arena, place->field, value),
                           readings_text(arena, worth->readings),
                           quantity_text(arena, worth->readings->deviation, field->dimension,
                                         value->unit)));
    tell_text(&to, "readings",
              arena_format(arena, "where they scatter so, %s", buffer_string(&after)));
    tell_text(&to, "worth", worth_text(arena, worth, value->unit));
}

/* Is `path` a field below the section `name`? */
static bool is_below(struct view path, struct view name)
{
    if (path.size <= name.size || memcmp(path.data, name.data, name.size) != 0)
        return false;
    char next = path.data[name.size];
    return next == '.' || next == '[';
}

/* The fields below a section; false where it is none. */
static bool explain_section(struct buffer *out, size_t width, struct view name)
{
    size_t count = 0;
    for (unsigned id = 0; name.size && id < FIELD_COUNT; id++) {
        const char *path = field_path(out->arena, (enum field_id)id);
        if (!is_below(view_of(path), name))
            continue;
        if (!count++)
            buffer_format(out, "%.*s has these fields:\n\n", VIEW(name));
        wrap_row(out, width, FIELD_COLUMN, arena_format(out->arena, "  %s", path),
                 view_of(field_table[id].meaning));
    }
    return count > 0;
}

/* --- keys that stand for no field --- */

static const struct explain_row taking_keys[] = {
    {"extends",
     "a file, or a list of files, that this machine is built on, each by its name from the folder of the file that says so. Sections merge key by key, lists of things by number or name, all else is replaced: the file that says so is nearer than those it names, and of a list the later is the nearer. A key with ~ is taken away. Waivers are not taken over; the files that agrees_with names are looked for beside the machine's own file. At most 8 files may take each other in, one below the other."},
    {"cutters.from",
     "a file whose list of cutters is this machine's: cutters: {from: cutters.yaml}. No others are then taken from what the machine extends."},
    {"cutters.only",
     "beside from: the numbers of those cutters that this machine has, in the order in which they are to be listed: [1, 4, 7]."},
    {"<<",
     "as in YAML 1.1: keys of another map of the same file, by a reference such as *usual, or of a list of such. Own keys win, then those of the earlier."},
};

bool explain_taking_row(size_t index, struct explain_row *out)
{
    if (index >= sizeof taking_keys / sizeof *taking_keys)
        return false;
    *out = taking_keys[index];
    return true;
}

static bool explain_taking(struct buffer *out, size_t width, struct view name)
{
    const struct wrap wrap = {.width = width, .first = 2, .rest = 2};
    for (size_t i = 0; i < sizeof taking_keys / sizeof *taking_keys; i++)
        if (view_is(name, taking_keys[i].what)) {
            buffer_format(out, "%s\n\n", taking_keys[i].what);
            wrap_add(out, &wrap, view_of(taking_keys[i].text));
            return true;
        }
    return false;
}

/* --- a rule, as its file has it, in words and formulas --- */

/* A text, or each text of a list. */
static void tell_key(const struct explanation *to, const char *key, const char *what)
{
    const struct tree_node *node = child_of(to->rule->node, key);
    if (!node)
        return;
    if (node->kind == TREE_TEXT) {
        tell(to, what, node->text);
        return;
    }
    for (const struct tree_node *child = node->first; child; child = child->next)
        tell(to, child == node->first ? what : "", tree_resolve(child)->text);
}

/* Adds every text below `key` to one formula, for finding the names in it. */
static void collect(struct buffer *formula, const struct rule_entry *rule, const char *key)
{
    const struct tree_node *node = child_of(rule->node, key);
    if (!node)
        return;
    rule_text_inline(formula, node);
    buffer_byte(formula, ' ');
}

static void tell_definitions(const struct explanation *to)
{
    struct arena *arena = to->out->arena;
    struct buffer formula;
    buffer_init(&formula, arena);
    collect(&formula, to->rule, "when");
    collect(&formula, to->rule, "require");
    struct definition_list list = {0};
    rule_text_definitions(to->texts, arena, buffer_view(&formula), &list);
    for (size_t i = 0; i < list.items.count; i++) {
        const struct tree_node *node = list.items.items[i]->node;
        struct buffer text;
        buffer_init(&text, arena);
        buffer_add(&text, node->key);
        buffer_text(&text, " = ");
        buffer_add(&text, tree_resolve(node)->text);
        tell(to, i ? "" : "where", buffer_view(&text));
    }
}

/* Does a formula use this name, and not only a longer one that begins like it? */
static bool uses_name(const char *text, const char *name)
{
    for (const char *at = text; (at = strstr(at, name)); at++) {
        char next = at[strlen(name)];
        if (next != '_' && !(next >= 'a' && next <= 'z') && !(next >= '0' && next <= '9'))
            return true;
    }
    return false;
}

/* The formulas of the rule, and of the definitions that they use. */
static const char *all_formulas(const struct explanation *to)
{
    struct arena *arena = to->out->arena;
    struct buffer text;
    struct definition_list list = {0};
    static const char *const keys[] = {"when", "require", "says", "put_right"};
    buffer_init(&text, arena);
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++)
        collect(&text, to->rule, keys[i]);
    rule_text_definitions(to->texts, arena, buffer_view(&text), &list);
    for (size_t i = 0; i < list.items.count; i++) {
        buffer_byte(&text, '\n');
        buffer_add(&text, tree_resolve(list.items.items[i]->node)->text);
    }
    return buffer_string(&text);
}

/* What the program works out of the file where the rule uses it. */
static void tell_derived(const struct explanation *to)
{
    const char *text = all_formulas(to), *what = "worked out";
    for (uint16_t leaf = DERIVED_FIRST; leaf < LEAF_COUNT; leaf++) {
        const char *name = derived_key(leaf);
        bool whole = derived_group(leaf) == GROUP_ROOT;
        if (!uses_name(text, whole ? name : arena_format(to->out->arena, ".%s", name)))
            continue;
        tell(to, what,
             view_of(arena_format(to->out->arena, "%s: %s", name, derived_meaning(leaf))));
        what = "";
    }
}

/* A piece of a machine file that the reader finds fault with, and one as near to it that is
 * right: their lines are kept. */
static void tell_fragments(const struct explanation *to)
{
    static const char *const keys[] = {"broken", "twin"};
    static const char *const words[] = {"Found in", "Not found in"};
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        struct view text = rule_text_value(to->rule, keys[i]);
        if (!text.size)
            continue;
        buffer_format(to->out, "\n  %s:\n", words[i]);
        while (text.size) {
            size_t end = 0;
            while (end < text.size && text.data[end] != '\n')
                end++;
            buffer_text(to->out, end ? "    " : "");
            escape_terminal(to->out, (struct view){text.data, end});
            buffer_byte(to->out, '\n');
            text = view_skip(text, end + 1);
        }
    }
}

/* Changes to a machine stand on one line. */
static void tell_example(const struct explanation *to, const char *what,
                         const struct tree_node *node)
{
    struct buffer text;
    buffer_init(&text, to->out->arena);
    rule_text_inline(&text, node);
    if (!text.size)
        buffer_text(&text, "nothing changed");
    tell(to, what, buffer_view(&text));
}

static void tell_examples(const struct explanation *to)
{
    static const char *const keys[] = {"given", "holds", "fails", "unchecked", "inapplicable"};
    static const char *const words[] = {"given", "holds", "fails", "not checked", "not asked"};
    const struct tree_node *examples = child_of(to->rule->node, "examples");
    if (!examples)
        return;
    buffer_text(to->out, "\n  Examples, as changes to a machine on which every rule holds:\n");
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        const struct tree_node *list = child_of(examples, keys[i]);
        if (!list)
            continue;
        if (list->kind != TREE_LIST) {
            tell_example(to, words[i], list);
            continue;
        }
        for (const struct tree_node *child = list->first; child; child = child->next)
            tell_example(to, child == list->first ? words[i] : "", child);
    }
}

/* "error", "error or warning": of a rule whose requirements differ. */
static const char *level_text(struct arena *arena, const struct rule_entry *rule)
{
    const struct tree_node *node = child_of(rule->node, "level");
    struct buffer text;
    buffer_init(&text, arena);
    if (!node || node->kind == TREE_TEXT)
        buffer_add(&text, rule_text_value(rule, "level"));
    const struct tree_node *child = node && node->kind == TREE_LIST ? node->first : NULL;
    for (; child; child = child->next) {
        struct view level = tree_resolve(child)->text;
        const char *word = arena_copy(arena, level.data, level.size);
        if (!strstr(buffer_string(&text), word))
            buffer_format(&text, "%s%s", text.size ? " or " : "", word);
    }
    return buffer_string(&text);
}

/* First what it is about and what to do; the formula is for whoever doubts it. */
static void explain_rule(struct buffer *out, size_t width, const struct rule_texts *texts,
                         const struct rule_entry *rule, bool examples)
{
    const struct explanation to = {out, width, texts, rule};
    const char *level = level_text(out->arena, rule);
    struct view hurts = rule_text_value(rule, "hurts");
    struct source *source = rule->book->tree->source;
    struct place place = source_place(source, rule->node->key_span.start, COLUMN_CODE_POINTS);
    const struct wrap line = {.width = width};
    wrap_format(out, &line, "%.*s: %s%s%.*s (%.*s:%u)", VIEW(rule->name), level,
                hurts.size ? ", hurts the " : "", VIEW(hurts), VIEW(source->name), place.line);
    buffer_byte(out, '\n');
    tell_key(&to, "says", "says");
    tell_key(&to, "why", "why");
    tell_key(&to, "put_right", "put right");
    tell_key(&to, "when", "when");
    tell_key(&to, "each", "for each");
    tell_key(&to, "require", "requires");
    tell_definitions(&to);
    tell_derived(&to);
    tell_key(&to, "blame", "points at");
    tell_key(&to, "implied_by", "follows");
    tell_key(&to, "source", "source");
    if (!examples)
        return;
    tell_examples(&to);
    tell_fragments(&to);
}

/* --- either --- */

const char *explain_nearest(struct arena *arena, const struct rule_texts *texts,
                            struct view name)
{
    const char *field = field_nearest(arena, name);
    int least = field ? nearest_distance(name, view_of(field)) : -1;
    const struct rule_entry *found = NULL;
    for (size_t i = 0; i < texts->rules.count; i++) {
        int distance = nearest_distance(name, texts->rules.items[i].name);
        if (distance < 0 || (least >= 0 && distance >= least))
            continue;
        least = distance;
        found = &texts->rules.items[i];
    }
    return found ? arena_copy(arena, found->name.data, found->name.size) : field;
}

bool explain_name(struct buffer *out, size_t width, const struct rule_texts *texts,
                  struct view name, bool examples)
{
    const struct rule_entry *rule = FIND(texts->rules, name);
    if (rule) {
        explain_rule(out, width, texts, rule, examples);
        return true;
    }
    enum field_id id = field_find(name);
    if (id == FIELD_COUNT)
        return explain_taking(out, width, name) || explain_section(out, width, name);
    explain_field(out, width, name, id);
    return true;
}

/* --- all rules --- */

/* Of the reason why a rule is there. */
static struct view first_sentence(const struct rule_entry *rule)
{
    struct view why = rule_text_value(rule, "why");
    for (size_t i = 0; i + 1 < why.size; i++)
        if (why.data[i] == '.' && (why.data[i + 1] == ' ' || why.data[i + 1] == '\n'))
            return (struct view){why.data, i};
    return why;
}

/* Adds the words of a text, which may stand on several lines, on one. */
static void add_on_a_line(struct buffer *out, struct view text)
{
    for (size_t i = 0; i < text.size; i++) {
        bool blank = text.data[i] == ' ' || text.data[i] == '\n';
        if (!blank)
            buffer_byte(out, text.data[i]);
        else if (i + 1 < text.size && text.data[i + 1] != ' ' && text.data[i + 1] != '\n')
            buffer_byte(out, ' ');
    }
}

static const char *on_a_line(struct arena *arena, struct view text)
{
    struct buffer out;
    buffer_init(&out, arena);
    add_on_a_line(&out, text);
    return buffer_string(&out);
}

bool rule_summary(struct arena *arena, const struct rule_texts *texts, size_t index,
                  struct rule_summary *out)
{
    if (index >= texts->rules.count)
        return false;
    const struct rule_entry *rule = &texts->rules.items[index];
    struct view says = rule_text_value(rule, "says");
    *out = (struct rule_summary){
        .name = rule->name,
        .hurts = rule_text_value(rule, "hurts"),
        .level = level_text(arena, rule),
        .says = on_a_line(arena, says.size ? says : first_sentence(rule)),
        .why = on_a_line(arena, rule_text_value(rule, "why")),
        .put_right = on_a_line(arena, rule_text_value(rule, "put_right")),
    };
    return true;
}

/* One rule, one line: its name, level, what it saves from harm, and what it says. */
static void list_rule(struct buffer *out, const struct rule_entry *rule, size_t width)
{
    struct view says = rule_text_value(rule, "says");
    struct buffer line;
    buffer_init(&line, out->arena);
    buffer_format(&line, "  %-24.*s %-8.*s%-8.*s", VIEW(rule->name),
                  VIEW(rule_text_value(rule, "level")), VIEW(rule_text_value(rule, "hurts")));
    /* What the reader finds has no words of its own here: its reason stands for them. */
    add_on_a_line(&line, says.size ? says : first_sentence(rule));
    buffer_text(out, escape_short(out->arena, buffer_view(&line), width));
    buffer_byte(out, '\n');
}

void explain_list(struct buffer *out, size_t width, size_t line, const struct rule_texts *texts)
{
    const struct wrap heading = {.width = width};
    const struct rule_book *book = NULL;
    for (size_t i = 0; i < texts->rules.count; i++) {
        const struct rule_entry *rule = &texts->rules.items[i];
        if (rule->book != book) {
            if (book)
                buffer_byte(out, '\n');
            wrap_add(out, &heading, rule->book->title);
        }
        book = rule->book;
        list_rule(out, rule, line);
    }
}
