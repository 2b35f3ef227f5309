/* What could be written at a place of a machine description. */
#include "library/document_answers.h"

#include "library/document_shape.h"
#include "library/document_tell.h"
#include "library/markdown.h"
#include "quantity/quantity.h"
#include "text/escape.h"

enum { PATHS_MOST = 2000, UNITS_MOST = 12 };

void offer_add(struct offers *offers, struct proveout_completion one)
{
    if (!one.insert)
        one.insert = one.label;
    one.span = span_out(offers->span);
    VECTOR_ADD(offers->arena, &offers->list, one);
}

static const char *text_of(struct offers *offers, struct view text)
{
    return arena_copy(offers->arena, text.data, text.size);
}

/* --- keys --- */

/* A section for which keys are offered. */
struct section_at {
    const struct sketch_node *node, *self;
    const char *general, *path;
    uint32_t column;  /* of its keys */
    bool flow, colon; /* its colon stands there already */
};

/* The path of a field in the section at hand: of this record, not in general. */
static const char *path_here(struct offers *offers, const struct section_at *at,
                             const struct shape_key *key, enum field_id id)
{
    const char *field = field_path(offers->arena, id);
    const char *rest = field + strlen(at->general) + (*at->general ? 1 : 0);
    if (*rest == '*') /* of an axis: the key is its letter */
        return arena_format(offers->arena, "%s.%.*s%s", at->path, VIEW(key->name), rest + 1);
    return arena_format(offers->arena, "%s%s%s", at->path, *at->path ? "." : "", rest);
}

/* Is anything needed under this key that is not there? */
static bool is_needed(struct offers *offers, const struct section_at *at,
                      const struct shape_key *key)
{
    const struct machine *machine = offers->machine;
    if (key->group != GROUP_ROOT && group_table[key->group].shape != SHAPE_AXES &&
        key->first >= group_table[key->group].first)
        return group_table[key->group].wanted && !machine->groups[key->group].count;
    for (enum field_id id = key->first; id < key->end && id < FIELD_COUNT; id++) {
        struct field_place place;
        if (!machine_needs(machine, id))
            continue;
        const char *path = path_here(offers, at, key, id);
        if (strchr(path, '*') ||
            machine_resolve(offers->arena, machine, view_of(path), &place, 1) != 1 ||
            machine_field(machine, place.field, place.record)->state == VALUE_ABSENT)
            return true;
    }
    return false;
}

static const char *insert_text(struct offers *offers, const struct section_at *at,
                               const struct shape_key *key)
{
    struct proveout_document *document = offers->document;
    bool list = key->group != GROUP_ROOT && group_table[key->group].shape == SHAPE_LIST;
    struct buffer out;
    buffer_init(&out, offers->arena);
    buffer_add(&out, key->name);
    if (at->colon)
        return buffer_string(&out);
    buffer_byte(&out, ':');
    if (key->leaf || at->flow) {
        buffer_text(&out, key->leaf ? " " : " {");
        return buffer_string(&out);
    }
    buffer_text(&out, document_line_end(document));
    buffer_fill(&out, ' ', at->column + document_step(document));
    buffer_text(&out, list ? "- " : "");
    return buffer_string(&out);
}

static void offer_key(struct offers *offers, const struct section_at *at,
                      const struct shape_key *key, bool needed)
{
    struct proveout_completion one = {.word = PROVEOUT_WORD_KEY,
                                      .label = text_of(offers, key->name),
                                      .insert = insert_text(offers, at, key),
                                      .needed = needed};
    if (key->told) {
        struct buffer text;
        buffer_init(&text, offers->arena);
        markdown_text(&text, view_of(key->told));
        one.text = buffer_string(&text);
        one.detail = "takes in another file";
    } else if (key->leaf) {
        one.detail = field_wanted_text(offers->arena, key->first);
        one.text = tell_field_short(offers->arena, key->first);
    } else {
        one.detail = key->group != GROUP_ROOT && group_table[key->group].shape == SHAPE_LIST
                         ? "list"
                         : "section";
    }
    offer_add(offers, one);
}

static bool is_there(const struct section_at *at, struct view name)
{
    const struct sketch_node *child = sketch_child(at->node, name);
    return child && child != at->self;
}

static void offer_keys(struct offers *offers, const struct section_at *at)
{
    struct shape_keys keys;
    shape_keys(offers->arena, at->general, &keys);
    for (int needed = 1; needed >= 0; needed--)
        for (size_t i = 0; i < keys.items.count; i++) {
            const struct shape_key *key = &keys.items.items[i];
            if (!is_there(at, key->name) && is_needed(offers, at, key) == (needed == 1))
                offer_key(offers, at, key, needed == 1);
        }
}

/* Keys of readings, where they may stand in the place of a number. */
static void offer_readings(struct offers *offers, const struct section_at *at, enum field_id id)
{
    const char *name;
    for (size_t i = 0; field_takes_readings(id) && (name = readings_key(i)); i++) {
        struct shape_key key = {.name = view_of(name), .leaf = true};
        if (!is_there(at, key.name))
            offer_add(offers, (struct proveout_completion){
                                  .word = PROVEOUT_WORD_KEY,
                                  .label = name,
                                  .insert = insert_text(offers, at, &key),
                                  .detail = "readings in the place of one number",
                                  .needed = i == 0});
    }
}

/* The group whose records a list has; GROUP_ROOT: it is no such list. */
static enum field_group group_of_list(const char *general)
{
    for (int group = GROUP_ROOT + 1; group < GROUP_COUNT; group++)
        if (group_table[group].shape == SHAPE_LIST &&
            strcmp(general, group_table[group].key) == 0)
            return (enum field_group)group;
    return GROUP_ROOT;
}

/* The start of another item of a list, with the key that comes first in it. */
static void offer_item(struct offers *offers, enum field_group group, bool flow)
{
    const char *key = field_table[group_table[group].first].key;
    offer_add(offers, (struct proveout_completion){
                          .word = PROVEOUT_WORD_KEY,
                          .label = arena_format(offers->arena, flow ? "{%s" : "- %s", key),
                          .insert = arena_format(offers->arena, flow ? "{%s: " : "- %s: ", key),
                          .detail = arena_format(offers->arena, "another %s",
                                                 group_table[group].record)});
}

static void complete_section(struct offers *offers, const struct sketch_context *context,
                             const struct sketch_node *node)
{
    struct view bytes = offers->document->source->bytes;
    uint32_t line = context->token.start, behind = context->token.end;
    while (line && bytes.data[line - 1] != '\n' && bytes.data[line - 1] != '\r')
        line--;
    if (!line)
        line = source_mark_size(offers->document->source);
    while (behind < bytes.size && bytes.data[behind] == ' ')
        behind++;
    struct section_at at = {
        .node = node,
        .self = context->self,
        .general = shape_general(offers->arena, node),
        .path = sketch_path(offers->arena, node),
        .column = context->token.start - line,
        .flow = context->flow,
        .colon = behind < bytes.size && bytes.data[behind] == ':',
    };
    enum field_group group = group_of_list(at.general);
    enum field_id id = field_find(view_of(at.general));
    if (id != FIELD_COUNT && *at.general)
        offer_readings(offers, &at, id);
    else
        offer_keys(offers, &at);
    if (group != GROUP_ROOT && node->kind != SKETCH_MAP)
        offer_item(offers, group, context->flow);
}

/* --- values --- */

static void offer_word(struct offers *offers, struct view word, bool in_brackets)
{
    offer_add(
        offers,
        (struct proveout_completion){
            .word = PROVEOUT_WORD_CHOICE,
            .label = text_of(offers, word),
            .insert = in_brackets ? arena_format(offers->arena, "[%.*s]", VIEW(word)) : NULL});
}

/* Is the word an item of the list already? */
static bool is_listed(const struct sketch_node *list, const struct sketch_node *self,
                      struct view word)
{
    for (const struct sketch_node *item = list->kind == SKETCH_LIST ? list->first : NULL; item;
         item = item->next)
        if (item != self && item->kind == SKETCH_TEXT && view_equal(item->text, word))
            return true;
    return false;
}

static void offer_words(struct offers *offers, const struct value_at *at)
{
    const struct field *field = &field_table[at->field];
    bool brackets = kind_is_list(field->kind) && !at->item;
    for (size_t i = 0; i < field_choice_count(field); i++) {
        struct view word = field_choice(field, i);
        if (!at->item || !is_listed(at->node, at->self, word))
            offer_word(offers, word, brackets);
    }
}

static void offer_order(struct offers *offers, const struct value_at *at)
{
    static const char *const words[] = {"z", "xy", "x", "y"};
    if (!at->item) {
        offer_word(offers, view_of("[z, xy]"), false);
        offer_word(offers, view_of("none"), false);
        return;
    }
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (!is_listed(at->node, at->self, view_of(words[i])))
            offer_word(offers, view_of(words[i]), false);
}

/* Behind the last plus-minus. */
static struct view last_number(struct view text)
{
    for (size_t i = text.size; i--;) {
        struct view rest = view_skip(text, i);
        if (view_starts(rest, "±"))
            return view_skip(rest, 2);
        if (view_starts(rest, "+/-"))
            return view_skip(rest, 3);
    }
    return text;
}

/* Units that may follow the number that stands there. */
static void offer_units(struct offers *offers, struct dimension dimension)
{
    struct view typed = document_slice(offers->document, offers->span);
    struct view number = last_number(typed);
    unit_id units[UNITS_MOST];
    double value;
    size_t used;
    number.size -=
        number.size - view_trim(number).size -
        (size_t)(view_trim(number).data - number.data); /* blanks at the end stay out */
    size_t lead = (size_t)(view_trim(number).data - number.data);
    struct view text = view_trim(number);
    if (number_read(text, &value, &used) != NUMBER_OK)
        return;
    struct view unit = view_trim(view_skip(text, used));
    uint32_t start = offers->span.start + (uint32_t)(number.data - typed.data) +
                     (uint32_t)lead + (uint32_t)used;
    bool blank = start < offers->span.end;
    if (unit.size)
        start = offers->span.start + (uint32_t)(unit.data - typed.data);
    else
        start = offers->span.end;
    offers->span.start = start;
    if (offers->offset < start)
        return; /* still within the number */
    size_t count = unit_choices(dimension, units, UNITS_MOST);
    for (size_t i = 0; i < count && i < UNITS_MOST; i++) {
        const char *name = unit_text(units[i]);
        offer_add(offers, (struct proveout_completion){
                              .word = PROVEOUT_WORD_UNIT,
                              .label = name,
                              .insert = blank ? name : arena_format(offers->arena, " %s", name),
                              .detail = dimension_name(dimension, offers->arena)});
    }
}

static void offer_inputs(struct offers *offers)
{
    const struct machine_group *inputs = &offers->machine->groups[GROUP_INPUT];
    for (uint32_t i = 0; i < inputs->count; i++) {
        const struct field_value *terminal =
            machine_field(offers->machine, FIELD_INPUT_TERMINAL, i);
        const char *text = field_value_text(offers->arena, FIELD_INPUT_TERMINAL, terminal);
        offer_add(
            offers,
            (struct proveout_completion){
                .word = PROVEOUT_WORD_NAME,
                .label = text_of(offers, inputs->nodes[i]->key),
                .insert = change_quoted(offers->arena, inputs->nodes[i]->key, true),
                .detail = *text ? arena_format(offers->arena, "terminal %s", text) : "input"});
    }
}

static void offer_setters(struct offers *offers)
{
    const struct machine_group *setters = &offers->machine->groups[GROUP_SETTER];
    for (uint32_t i = 0; i < setters->written; i++) {
        const struct field_value *name = machine_field(offers->machine, FIELD_SETTERS_NAME, i);
        if (name->state == VALUE_GIVEN)
            offer_add(offers, (struct proveout_completion){
                                  .word = PROVEOUT_WORD_NAME,
                                  .label = text_of(offers, name->text),
                                  .insert = change_quoted(offers->arena, name->text, true),
                                  .detail = "setter"});
    }
}

static void offer_rules(struct offers *offers)
{
    struct told_rules rules;
    tell_rules(offers->document, &rules);
    for (size_t i = 0; i < rules.items.count; i++) {
        const struct told_rule *rule = &rules.items.items[i];
        struct buffer text;
        buffer_init(&text, offers->arena);
        if (rule->why)
            markdown_text(&text, view_of(rule->why));
        offer_add(offers, (struct proveout_completion){
                              .word = PROVEOUT_WORD_RULE,
                              .label = rule->name,
                              .detail = arena_format(
                                  offers->arena, "%s%s", finding_level_name(rule->level),
                                  rule->hurts == HURTS_PERSON ? ", can hurt a person" : ""),
                              .text = text.size ? buffer_string(&text) : NULL});
    }
}

/* Paths of what the file gives, by which things of lists are found whatever becomes of the
 * list. */
static void offer_paths(struct offers *offers)
{
    const struct machine *machine = offers->machine;
    size_t count = 0;
    for (enum field_id id = 0; id < FIELD_COUNT && count < PATHS_MOST; id++) {
        enum field_group group = field_table[id].group;
        if (group == GROUP_AGREEMENT || group == GROUP_WAIVER)
            continue;
        for (uint32_t i = 0; i < machine->groups[group].written || (group == GROUP_ROOT && !i);
             i++) {
            const struct field_value *value = machine_field(machine, id, i);
            if (value->state != VALUE_GIVEN || !machine_is_written(machine, id, i) ||
                count++ >= PATHS_MOST)
                continue;
            const char *path = machine_lasting_path(
                offers->arena, machine, machine_path(offers->arena, machine, id, i, 0));
            offer_add(offers, (struct proveout_completion){
                                  .word = PROVEOUT_WORD_NAME,
                                  .label = path,
                                  .insert = change_quoted(offers->arena, view_of(path), true),
                                  .detail = field_value_text(offers->arena, id, value)});
        }
    }
}

/* The unit of an agreement goes with the field that has to agree. */
static void offer_agreement_units(struct offers *offers, const struct value_at *at)
{
    const struct sketch_node *named = sketch_child(at->node->parent, view_of("field"));
    unit_id units[UNITS_MOST];
    enum field_id id =
        named && named->kind == SKETCH_TEXT ? field_find(named->text) : FIELD_COUNT;
    size_t count =
        id == FIELD_COUNT ? 0 : unit_choices(field_table[id].dimension, units, UNITS_MOST);
    for (size_t i = 0; i < count && i < UNITS_MOST; i++)
        offer_add(offers, (struct proveout_completion){.word = PROVEOUT_WORD_UNIT,
                                                       .label = unit_text(units[i])});
}

static void offer_texts(struct offers *offers, const struct value_at *at)
{
    switch (at->field) {
    case FIELD_WAIVER_RULE:
        offer_rules(offers);
        break;
    case FIELD_WAIVER_WHERE:
    case FIELD_AGREEMENT_FIELD:
        offer_paths(offers);
        break;
    case FIELD_AGREEMENT_UNIT:
        offer_agreement_units(offers, at);
        break;
    case FIELD_CHANGE_SETTER:
        offer_setters(offers);
        break;
    default:
        break;
    }
}

/* Today, where it is known: what is measured is mostly measured now. */
static void offer_today(struct offers *offers)
{
    int today = offers->document->question->request.options.today;
    struct field_value value = {.state = VALUE_GIVEN, .si = today * 86400.0};
    if (today)
        offer_add(offers,
                  (struct proveout_completion){
                      .word = PROVEOUT_WORD_CHOICE,
                      .label = field_value_text(offers->arena, FIELD_TABLE_MEASURED_ON, &value),
                      .detail = "today"});
}

static void complete_value(struct offers *offers, const struct value_at *at)
{
    switch (field_table[at->field].kind) {
    case KIND_FLAG:
        offer_word(offers, view_of("yes"), false);
        offer_word(offers, view_of("no"), false);
        break;
    case KIND_CHOICE:
    case KIND_WORDS:
        offer_words(offers, at);
        break;
    case KIND_ORDER:
        offer_order(offers, at);
        break;
    case KIND_QUANTITY:
    case KIND_POSITION:
    case KIND_PAIR:
    case KIND_LIST:
        offer_units(offers, field_table[at->field].dimension);
        break;
    case KIND_DATE:
        offer_today(offers);
        break;
    case KIND_INPUT:
        offer_inputs(offers);
        break;
    case KIND_TEXT:
        offer_texts(offers, at);
        break;
    case KIND_VERSION:
        offer_word(offers, view_of("1"), false);
        break;
    case KIND_COUNT:
    case KIND_TERMINAL:
        break;
    }
}

/* Numbers of the cutters in the file that `cutters` are taken from. */
static void offer_cutters(struct offers *offers, const struct sketch_node *section,
                          const struct sketch_node *self)
{
    const struct request *request = &offers->document->question->request;
    const struct sketch_node *from = sketch_child(section, view_of("from"));
    const struct sketch_node *only = sketch_child(section, view_of("only"));
    struct view bytes;
    const char *why;
    if (!from || from->kind != SKETCH_TEXT ||
        !request_read(request, offers->arena,
                      arena_copy(offers->arena, from->text.data, from->text.size),
                      SHARED_SIZE_MAX, &bytes, &why))
        return;
    const struct tree *tree = tree_of(offers->arena, from->text, bytes);
    const struct tree_node *list =
        tree->root ? tree_child(tree->root, view_of("cutters")) : NULL;
    list = list ? tree_resolve(list) : NULL;
    for (const struct tree_node *item = list && list->kind == TREE_LIST ? list->first : NULL;
         item; item = item->next) {
        const struct tree_node *number = tree_child(tree_resolve(item), view_of("number"));
        const struct tree_node *is = tree_child(tree_resolve(item), view_of("description"));
        if (!number || tree_resolve(number)->kind != TREE_TEXT ||
            is_listed(only, self, tree_resolve(number)->text))
            continue;
        offer_add(offers,
                  (struct proveout_completion){
                      .word = PROVEOUT_WORD_CUTTER,
                      .label = text_of(offers, tree_resolve(number)->text),
                      .detail = is ? escape_short(offers->arena, tree_resolve(is)->text, 60)
                                   : "cutter"});
    }
}

/* The value of `node`, or one more item of it. */
static void complete_at(struct offers *offers, const struct sketch_context *context, bool item)
{
    const struct sketch_node *node = context->node;
    struct shape_field field = shape_field(offers->arena, node);
    const char *general = shape_general(offers->arena, node);
    bool in_list = node->parent && node->parent->kind == SKETCH_LIST;
    /* Below a field there are no fields, but for the keys of readings. */
    if (strncmp(general, "cutters.only", 12) == 0) {
        const struct sketch_node *only = in_list ? node->parent : node;
        offer_cutters(offers, only->parent, context->self);
    } else if (field.id != FIELD_COUNT) {
        struct value_at at = {field.id, field.node, context->self, item || in_list};
        complete_value(offers, &at);
    } else if (item && group_of_list(general) != GROUP_ROOT) {
        offer_item(offers, group_of_list(general), context->flow);
    } else if (in_list && node->kind != SKETCH_MAP) {
        complete_section(offers, context, node);
    }
}

void complete_machine(struct offers *offers, uint32_t offset)
{
    struct sketch_context context;
    sketch_find_context(document_sketch(offers->document), offset, &context);
    offers->span = context.token;
    offers->offset = offset;
    offers->machine = document_machine(offers->document, offset);
    switch (context.wanted) {
    case WANTED_NOTHING:
        break;
    case WANTED_KEY:
        complete_section(offers, &context, context.node);
        break;
    case WANTED_VALUE:
        complete_at(offers, &context, false);
        break;
    case WANTED_ITEM:
        complete_at(offers, &context, true);
        break;
    }
}
