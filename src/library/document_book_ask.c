/* What an editor asks about a rulebook: what its keys are and take, what the names in its
 * formulas stand for, its rules and definitions.
 */
#include "library/document_answers.h"

#include "library/document_shape.h"
#include "library/document_tell.h"
#include "library/markdown.h"
#include "text/escape.h"

enum { NAME_SHOWN = 60, DETAIL_SHOWN = 80 };

/* --- where a node lies --- */

/* The map of the form whose keys a node has; BOOK_MAP_COUNT: none of them. */
static enum book_map map_of(const struct sketch_node *map)
{
    const struct sketch_node *way[8];
    size_t depth = 0;
    for (const struct sketch_node *node = map; node->parent; node = node->parent) {
        if (depth == sizeof way / sizeof *way)
            return BOOK_MAP_COUNT;
        way[depth++] = node;
    }
    if (!depth)
        return BOOK_MAP_BOOK;
    if (!view_is(way[depth - 1]->key, "rules") || depth < 2)
        return BOOK_MAP_COUNT;
    if (depth == 2)
        return BOOK_MAP_RULE;
    if (!view_is(way[depth - 3]->key, "examples"))
        return BOOK_MAP_COUNT;
    if (depth == 3)
        return BOOK_MAP_EXAMPLES;
    bool given = view_is(way[depth - 4]->key, "given");
    return (depth == 4 && given) || depth == 5 ? BOOK_MAP_CHANGE : BOOK_MAP_COUNT;
}

static const struct book_key *key_of(enum book_map map, struct view name)
{
    for (size_t i = 0; i < BOOK_KEY_COUNT && map != BOOK_MAP_COUNT; i++)
        if (book_key_table[i].map == map && view_is(name, book_key_table[i].key))
            return &book_key_table[i];
    return NULL;
}

/* The key of the form whose value a node is, or an item of it. */
static const struct book_key *key_around(const struct sketch_node *node)
{
    if (node->parent && node->parent->kind == SKETCH_LIST)
        node = node->parent;
    return node->parent ? key_of(map_of(node->parent), node->key) : NULL;
}

static bool is_in_define(const struct sketch_node *node)
{
    return node->parent && node->parent->parent && !node->parent->parent->parent &&
           view_is(node->parent->key, "define");
}

/* --- names in formulas --- */

static bool is_name_byte(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_' || c == '.';
}

/* The name or path around a place, as far as it is written on the line. */
static struct span word_at(const struct proveout_document *document, uint32_t offset)
{
    struct view bytes = document->source->bytes;
    struct span word = {offset, offset};
    while (word.start && is_name_byte(bytes.data[word.start - 1]))
        word.start--;
    while (word.end < bytes.size && is_name_byte(bytes.data[word.end]))
        word.end++;
    while (word.end > word.start && bytes.data[word.end - 1] == '.')
        word.end--;
    return word;
}

/* Does the place lie in a formula, or in a text that has some in braces? */
static bool in_formula(const struct sketch_node *node)
{
    static const char *const keys[] = {"when", "each", "require", "blame", "says", "put_right"};
    const struct book_key *key = key_around(node);
    if (is_in_define(node))
        return true;
    for (size_t i = 0; key && i < sizeof keys / sizeof *keys; i++)
        if (key->map == BOOK_MAP_RULE && strcmp(key->key, keys[i]) == 0)
            return true;
    return false;
}

static struct view bare_name(struct view key)
{
    const char *bracket = key.size ? memchr(key.data, '(', key.size) : NULL;
    return bracket ? view_trim((struct view){key.data, (size_t)(bracket - key.data)}) : key;
}

static const struct sketch_node *section(struct proveout_document *document, const char *key)
{
    return sketch_child(&document_sketch(document)->root, view_of(key));
}

static const struct sketch_node *definition_called(struct proveout_document *document,
                                                   struct view name)
{
    const struct sketch_node *define = section(document, "define");
    for (const struct sketch_node *node = define ? define->first : NULL; node;
         node = node->next)
        if (!node->bare && view_equal(bare_name(node->key), name))
            return node;
    return NULL;
}

/* The rule around a node; NULL: none. */
static const struct sketch_node *rule_around(const struct sketch_node *node)
{
    for (; node->parent; node = node->parent)
        if (map_of(node) == BOOK_MAP_RULE)
            return node;
    return NULL;
}

/* The general path of "c.stickout", where the rule is asked of each c in cutters. */
static const char *general_path(struct arena *arena, const struct sketch_node *node,
                                struct view word)
{
    static const struct {
        const char *list, *general;
    } lists[] = {{"cutters", "cutters[]"},     {"axes", "axes.*"},
                 {"homing", "homing.*"},       {"inputs", "inputs.*"},
                 {"obstacles", "obstacles[]"}, {"attachments", "attachments[]"}};
    struct view rest = word, first = view_take(&rest, '.');
    const struct sketch_node *rule = rule_around(node);
    const struct sketch_node *each = rule ? sketch_child(rule, view_of("each")) : NULL;
    struct view list = each && each->kind == SKETCH_TEXT ? each->text : (struct view){0};
    struct view name = view_take(&list, ' ');
    (void)view_take(&list, ' '); /* in */
    if (!view_equal(name, first) || !rest.size)
        return arena_copy(arena, word.data, word.size);
    for (size_t i = 0; i < sizeof lists / sizeof *lists; i++)
        if (view_is(view_trim(list), lists[i].list))
            return arena_format(arena, "%s.%.*s", lists[i].general, VIEW(rest));
    return arena_copy(arena, word.data, word.size);
}

/* --- what is told --- */

static void tell_key(struct buffer *out, const struct book_key *key)
{
    buffer_text(out, "**");
    markdown_code(out, view_of(key->key));
    buffer_text(out, "**: ");
    markdown_text(out, view_of(key->meaning));
    if (key->words) {
        buffer_text(out, "\n\nOne of ");
        markdown_text(out, view_of(key->words));
    }
    if (key->example) {
        buffer_text(out, "\n\nSuch as ");
        markdown_code(out, view_of(key->example));
    }
}

/* A definition of this book, or of those that come with the program. */
static bool tell_definition(struct proveout_document *document, struct buffer *out,
                            struct view name)
{
    const struct sketch_node *node = definition_called(document, name);
    struct view head, body;
    if (node) {
        head = node->key;
        body = node->text;
    } else if (!rule_definition(tell_rule_texts(document), name, &head, &body)) {
        return false;
    }
    buffer_text(out, "**");
    markdown_code(out, head);
    buffer_text(out, node ? "**, defined here\n\n" : "**, a definition of the program\n\n");
    markdown_code(out, view_trim(body));
    return true;
}

static bool is_word(struct view name)
{
    struct view word;
    for (size_t i = 0; formula_word(i, &word); i++)
        if (view_equal(word, name))
            return true;
    return false;
}

static void hover_formula(struct proveout_document *document, const struct sketch_node *node,
                          uint32_t offset, struct buffer *out, struct span *about)
{
    struct span span = word_at(document, offset);
    struct view word = document_slice(document, span);
    enum field_id id;
    if (!word.size)
        return;
    *about = span;
    if (tell_definition(document, out, word))
        return;
    id = field_find(view_of(general_path(out->arena, node, word)));
    if (id != FIELD_COUNT) {
        tell_field(out, id);
    } else if (is_word(word)) {
        markdown_code(out, word);
        buffer_text(out, ", a word of the language of formulas");
    }
}

void hover_book(struct proveout_document *document, uint32_t offset, struct buffer *out,
                struct span *about)
{
    bool on_key;
    const struct sketch_node *node = sketch_touched(document_sketch(document), offset, &on_key);
    if (!node || node->bare)
        return;
    *about = on_key ? node->key_span : node->span;
    enum book_map map = node->parent ? map_of(node->parent) : BOOK_MAP_COUNT;
    const struct book_key *key = key_around(node);
    if (on_key && key && node->parent->kind == SKETCH_MAP) {
        tell_key(out, key);
    } else if (on_key && map == BOOK_MAP_CHANGE) {
        enum field_id id = field_find(node->key);
        if (id != FIELD_COUNT)
            tell_field(out, id);
    } else if (on_key && is_in_define(node)) {
        (void)tell_definition(document, out, bare_name(node->key));
    } else if (!on_key && key && key->value == BOOK_IS_NAMES) {
        (void)tell_rule(document, out, node->text);
    } else if (!on_key && in_formula(node)) {
        hover_formula(document, node, offset, out, about);
    }
}

/* --- what may be written --- */

static void offer_form_key(struct offers *offers, const struct sketch_context *context,
                           const struct book_key *key)
{
    struct buffer text;
    const struct sketch_node *there = sketch_child(context->node, view_of(key->key));
    struct view bytes = offers->document->source->bytes;
    uint32_t behind = context->token.end;
    bool colon = behind < bytes.size && bytes.data[behind] == ':';
    bool below = key->value == BOOK_IS_FORMULAS || key->value == BOOK_IS_RULES ||
                 key->value == BOOK_IS_EXAMPLES || key->value == BOOK_IS_CHANGES ||
                 key->value == BOOK_IS_CHANGE_LIST;
    if (there && there != context->self)
        return;
    buffer_init(&text, offers->arena);
    markdown_text(&text, view_of(key->meaning));
    struct buffer insert;
    buffer_init(&insert, offers->arena);
    buffer_text(&insert, key->key);
    if (!colon)
        buffer_text(&insert, below ? ":" : ": ");
    if (!colon && below) {
        buffer_text(&insert, document_line_end(offers->document));
        buffer_fill(&insert, ' ', context->column + document_step(offers->document));
        buffer_text(&insert, key->value == BOOK_IS_CHANGE_LIST ? "- {" : "");
    }
    offer_add(offers, (struct proveout_completion){.word = PROVEOUT_WORD_KEY,
                                                   .label = key->key,
                                                   .detail = key->example,
                                                   .text = buffer_string(&text),
                                                   .insert = buffer_string(&insert),
                                                   .needed = key->wanted && !there});
}

static void offer_fields(struct offers *offers, bool inside)
{
    for (enum field_id id = 0; id < FIELD_COUNT; id++) {
        const char *path = field_path(offers->arena, id);
        offer_add(offers,
                  (struct proveout_completion){
                      .word = PROVEOUT_WORD_NAME,
                      .label = path,
                      .insert = inside ? path : arena_format(offers->arena, "%s: ", path),
                      .text = tell_field_short(offers->arena, id)});
    }
}

static void offer_form(struct offers *offers, const struct sketch_context *context)
{
    enum book_map map = map_of(context->node);
    for (int wanted = 1; wanted >= 0; wanted--)
        for (size_t i = 0; i < BOOK_KEY_COUNT; i++)
            if (book_key_table[i].map == map && book_key_table[i].wanted == (wanted == 1))
                offer_form_key(offers, context, &book_key_table[i]);
    if (map == BOOK_MAP_CHANGE)
        offer_fields(offers, false);
}

/* What formulas may name: definitions, fields, what of the bound thing, words. */
static void offer_formula(struct offers *offers, const struct sketch_node *node)
{
    struct proveout_document *document = offers->document;
    const struct sketch_node *define = section(document, "define");
    struct view head, body, word;
    for (const struct sketch_node *d = define ? define->first : NULL; d; d = d->next)
        if (!d->bare)
            offer_add(offers,
                      (struct proveout_completion){
                          .word = PROVEOUT_WORD_FUNCTION,
                          .label = arena_copy(offers->arena, d->key.data, d->key.size),
                          .detail = escape_short(offers->arena, d->text, DETAIL_SHOWN)});
    for (size_t i = 0; rule_definition_at(tell_rule_texts(document), i, &head, &body); i++)
        offer_add(offers,
                  (struct proveout_completion){
                      .word = PROVEOUT_WORD_FUNCTION,
                      .label = arena_copy(offers->arena, head.data, head.size),
                      .detail = escape_short(offers->arena, view_trim(body), DETAIL_SHOWN)});
    const struct sketch_node *rule = rule_around(node);
    const struct sketch_node *each = rule ? sketch_child(rule, view_of("each")) : NULL;
    struct view list = each && each->kind == SKETCH_TEXT ? each->text : (struct view){0};
    struct view name = view_take(&list, ' ');
    (void)view_take(&list, ' ');
    for (enum field_id id = 0; id < FIELD_COUNT; id++) {
        enum field_group group = field_table[id].group;
        const char *path =
            group == GROUP_ROOT ? field_table[id].key
            : name.size && view_is(view_trim(list), group_table[group].key)
                ? arena_format(offers->arena, "%.*s.%s", VIEW(name), field_table[id].key)
                : NULL;
        if (path)
            offer_add(offers, (struct proveout_completion){
                                  .word = PROVEOUT_WORD_NAME,
                                  .label = path,
                                  .detail = field_kind_name(field_table[id].kind),
                                  .text = tell_field_short(offers->arena, id)});
    }
    for (size_t i = 0; formula_word(i, &word); i++)
        offer_add(offers, (struct proveout_completion){
                              .word = PROVEOUT_WORD_FUNCTION,
                              .label = arena_copy(offers->arena, word.data, word.size),
                              .detail = "word of formulas"});
}

static void offer_key_words(struct offers *offers, const struct book_key *key)
{
    struct view words[BOOK_NAMES_MOST];
    size_t count = book_key_words((enum book_key_id)(key - book_key_table), words);
    for (size_t i = 0; i < count; i++)
        offer_add(offers,
                  (struct proveout_completion){
                      .word = PROVEOUT_WORD_CHOICE,
                      .label = arena_copy(offers->arena, words[i].data, words[i].size)});
}

static void offer_rule_names(struct offers *offers)
{
    const struct sketch_node *rules = section(offers->document, "rules");
    struct told_rules told;
    for (const struct sketch_node *rule = rules ? rules->first : NULL; rule; rule = rule->next)
        if (!rule->bare)
            offer_add(offers,
                      (struct proveout_completion){
                          .word = PROVEOUT_WORD_RULE,
                          .label = arena_copy(offers->arena, rule->key.data, rule->key.size),
                          .detail = "of this book"});
    tell_rules(offers->document, &told);
    for (size_t i = 0; i < told.items.count; i++)
        offer_add(offers, (struct proveout_completion){.word = PROVEOUT_WORD_RULE,
                                                       .label = told.items.items[i].name});
}

static void offer_value(struct offers *offers, const struct sketch_node *node, uint32_t offset)
{
    const struct book_key *key = key_around(node);
    if (key && key->words) {
        offer_key_words(offers, key);
    } else if (key && key->value == BOOK_IS_NAMES) {
        offer_rule_names(offers);
    } else if (in_formula(node)) {
        offers->span = word_at(offers->document, offset);
        offer_formula(offers, node);
    }
}

void complete_book(struct offers *offers, uint32_t offset)
{
    const struct sketch *sketch = document_sketch(offers->document);
    struct sketch_context context;
    bool on_key;
    const struct sketch_node *node = sketch_touched(sketch, offset, &on_key);
    sketch_find_context(sketch, offset, &context);
    offers->span = context.token;
    if (node && !on_key && node->kind == SKETCH_TEXT && !node->bare && in_formula(node))
        offer_value(offers, node, offset);
    else if (context.wanted == WANTED_KEY)
        offer_form(offers, &context);
    else if (context.wanted != WANTED_NOTHING)
        offer_value(offers, context.node, offset);
}

/* --- its parts --- */

static void add_symbol(struct arena *arena, struct symbols *out, const struct sketch_node *node,
                       struct proveout_symbol symbol)
{
    uint32_t end = node->span.end > node->key_span.end ? node->span.end : node->key_span.end;
    symbol.name = escape_short(arena, node->key, NAME_SHOWN);
    symbol.span = (struct proveout_span){node->start, end};
    symbol.selection = span_out(node->key_span);
    VECTOR_ADD(arena, &out->list, symbol);
}

void symbols_book(struct proveout_document *document, struct symbols *out)
{
    struct arena *arena = document_arena(document);
    const struct sketch_node *root = &document_sketch(document)->root;
    for (const struct sketch_node *top = root->first; top; top = top->next) {
        bool rules = view_is(top->key, "rules"), define = view_is(top->key, "define");
        if (top->bare || !top->key.size)
            continue;
        add_symbol(
            arena, out, top,
            (struct proveout_symbol){
                .kind = rules || define ? PROVEOUT_SYMBOL_SECTION : PROVEOUT_SYMBOL_FIELD,
                .detail = top->kind == SKETCH_TEXT
                              ? escape_short(arena, top->text, DETAIL_SHOWN)
                              : NULL});
        for (const struct sketch_node *node = rules || define ? top->first : NULL; node;
             node = node->next) {
            const struct sketch_node *level = sketch_child(node, view_of("level"));
            const struct sketch_node *detail = rules ? level : node;
            if (node->bare || !node->key.size)
                continue;
            add_symbol(arena, out, node,
                       (struct proveout_symbol){
                           .kind = rules ? PROVEOUT_SYMBOL_RULE : PROVEOUT_SYMBOL_DEFINITION,
                           .depth = 1,
                           .detail = detail && detail->kind == SKETCH_TEXT
                                         ? escape_short(arena, detail->text, DETAIL_SHOWN)
                                         : NULL});
        }
    }
}

/* --- where names lead --- */

/* Each use of one of the book's own definitions in a text. */
static void add_words(struct proveout_document *document, const struct sketch_node *node,
                      struct uses *out)
{
    struct arena *arena = document_arena(document);
    uint32_t at = node->span.start;
    while (at < node->span.end) {
        struct span word = word_at(document, at);
        struct view name = document_slice(document, word);
        if (!name.size || word.start < at) {
            at++;
            continue;
        }
        if (definition_called(document, name))
            VECTOR_ADD(
                arena, &out->list,
                (struct use){
                    .thing = THING_DEFINITION, .name = name, .span = word, .exact = true});
        at = word.end + 1;
    }
}

static void add_key_use(struct proveout_document *document, const struct sketch_node *node,
                        struct uses *out)
{
    struct view name = bare_name(node->key);
    uint32_t start = node->key_span.start, end = node->span.end;
    struct use use = {.thing = THING_DEFINITION,
                      .name = name,
                      .span = {start, start + (uint32_t)name.size},
                      .whole = {start, end > node->key_span.end ? end : node->key_span.end},
                      .defines = true,
                      .exact = true};
    VECTOR_ADD(document_arena(document), &out->list, use);
}

void uses_book(struct proveout_document *document, struct uses *out)
{
    struct arena *arena = document_arena(document);
    const struct sketch_node *root = &document_sketch(document)->root;
    for (const struct sketch_node *node = sketch_next(root, root); node;
         node = sketch_next(node, root)) {
        bool rule = node->parent->parent && !node->parent->parent->parent &&
                    view_is(node->parent->key, "rules");
        if (!node->bare && node->key.size && (rule || is_in_define(node)))
            add_key_use(document, node, out);
        if (node->kind != SKETCH_TEXT || node->bare)
            continue;
        const struct book_key *key = key_around(node);
        if (key && key->value == BOOK_IS_NAMES)
            VECTOR_ADD(arena, &out->list,
                       (struct use){.thing = THING_DEFINITION,
                                    .name = node->text,
                                    .span = node->span,
                                    .exact = node->plain});
        else if (in_formula(node))
            add_words(document, node, out);
    }
}
