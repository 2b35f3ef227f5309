#include "library/document_answers.h"

#include "library/document_shape.h"
#include "text/escape.h"

enum { NAME_SHOWN = 60, DETAIL_SHOWN = 80 };

struct walk {
    struct proveout_document *document;
    struct arena *arena;
    struct symbols *out;
};

static const char *shown(const struct walk *walk, const struct sketch_node *node, size_t cells)
{
    return node && node->kind == SKETCH_TEXT && node->text.size
               ? escape_short(walk->arena, node->text, cells)
               : NULL;
}

static const char *child_shown(const struct walk *walk, const struct sketch_node *map,
                               const char *key, size_t cells)
{
    return shown(walk, sketch_child(map, view_of(key)), cells);
}

static bool is_list_or_map(const struct sketch_node *node)
{
    return node->kind == SKETCH_LIST || node->kind == SKETCH_MAP;
}

/* All of a node, its key or dash with it. */
static struct proveout_span whole(const struct sketch_node *node)
{
    uint32_t end = node->span.end > node->key_span.end ? node->span.end : node->key_span.end;
    return (struct proveout_span){node->start, end > node->start ? end : node->start};
}

static void add(const struct walk *walk, const struct sketch_node *node,
                struct proveout_symbol symbol)
{
    symbol.span = whole(node);
    if (symbol.selection.start < symbol.span.start || symbol.selection.end > symbol.span.end ||
        symbol.selection.end <= symbol.selection.start)
        symbol.selection =
            node->key_span.end > node->key_span.start ? span_out(node->key_span) : symbol.span;
    VECTOR_ADD(walk->arena, &walk->out->list, symbol);
}

static struct proveout_span selection(const struct sketch_node *map, const char *key)
{
    const struct sketch_node *child = sketch_child(map, view_of(key));
    return child ? span_out(child->span) : (struct proveout_span){0, 0};
}

/* What records of lists are called by, and what is told beside that. */
static const struct record_form {
    enum field_group group;
    enum proveout_symbol_kind kind;
    const char *by, *detail;
    bool with_word; /* "cutter 3" */
} forms[] = {
    {GROUP_CUTTER, PROVEOUT_SYMBOL_CUTTER, "number", "description", true},
    {GROUP_OBSTACLE, PROVEOUT_SYMBOL_THING, "name", NULL, false},
    {GROUP_ATTACHMENT, PROVEOUT_SYMBOL_THING, "name", NULL, false},
    {GROUP_SETTER, PROVEOUT_SYMBOL_SETTER, "name", NULL, false},
    {GROUP_AGREEMENT, PROVEOUT_SYMBOL_AGREEMENT, "field", "file", false},
    {GROUP_WAIVER, PROVEOUT_SYMBOL_WAIVER, "rule", "where", false},
};

static void add_records(const struct walk *walk, const struct sketch_node *list,
                        const struct record_form *form)
{
    const char *word = group_table[form->group].record;
    for (const struct sketch_node *item = list->first; item; item = item->next) {
        const char *called = child_shown(walk, item, form->by, NAME_SHOWN);
        const char *name = called && !form->with_word ? called
                           : called ? arena_format(walk->arena, "%s %s", word, called)
                                    : arena_format(walk->arena, "%.*s[%u]", VIEW(list->key),
                                                   (unsigned)item->index);
        add(walk, item,
            (struct proveout_symbol){
                .name = name,
                .detail =
                    form->detail ? child_shown(walk, item, form->detail, DETAIL_SHOWN) : word,
                .kind = form->kind,
                .depth = 1,
                .selection = selection(item, form->by)});
    }
}

/* "[0 mm, 850 mm]", "15 mm": what stands on one line. */
static const char *value_shown(const struct walk *walk, const struct sketch_node *node)
{
    struct view text = document_slice(walk->document, node->span);
    if (node->kind == SKETCH_TEXT)
        return shown(walk, node, DETAIL_SHOWN);
    return node->flow && !memchr(text.data, '\n', text.size)
               ? escape_short(walk->arena, text, DETAIL_SHOWN)
               : NULL;
}

static enum proveout_symbol_kind kind_of(const struct walk *walk,
                                         const struct sketch_node *node, size_t depth)
{
    const char *general = shape_general(walk->arena, node);
    size_t size = strlen(general);
    if (depth == 1 && size > 2 && strcmp(general + size - 2, ".*") == 0)
        return strcmp(general, "inputs.*") == 0 ? PROVEOUT_SYMBOL_INPUT : PROVEOUT_SYMBOL_AXIS;
    bool field = field_find(view_of(general)) != FIELD_COUNT;
    return !is_list_or_map(node) || field                 ? PROVEOUT_SYMBOL_FIELD
           : depth == 0 && strcmp(general, "setter") == 0 ? PROVEOUT_SYMBOL_SETTER
                                                          : PROVEOUT_SYMBOL_SECTION;
}

static void add_section(const struct walk *walk, const struct sketch_node *map, size_t depth)
{
    enum { DEEPEST = 8 };
    for (const struct sketch_node *node = map->first; node; node = node->next) {
        if (node->bare || !node->key.size)
            continue;
        enum proveout_symbol_kind kind = kind_of(walk, node, depth);
        bool leaf = kind == PROVEOUT_SYMBOL_FIELD || kind == PROVEOUT_SYMBOL_INPUT;
        add(walk, node,
            (struct proveout_symbol){.name = escape_short(walk->arena, node->key, NAME_SHOWN),
                                     .detail = leaf ? value_shown(walk, node) : NULL,
                                     .kind = kind,
                                     .depth = depth});
        for (size_t i = 0; depth == 0 && i < sizeof forms / sizeof *forms; i++)
            if (node->kind == SKETCH_LIST &&
                view_is(node->key, group_table[forms[i].group].key))
                add_records(walk, node, &forms[i]);
        if (node->kind == SKETCH_MAP && !leaf && depth < DEEPEST)
            add_section(walk, node, depth + 1);
    }
}

void symbols_machine(struct proveout_document *document, struct symbols *out)
{
    struct walk walk = {document, document_arena(document), out};
    const struct sketch_node *root = &document_sketch(document)->root;
    if (root->kind == SKETCH_MAP)
        add_section(&walk, root, 0);
}

/* --- folds --- */

static uint32_t line_end(struct view bytes, uint32_t at)
{
    while (at < bytes.size && bytes.data[at] != '\n' && bytes.data[at] != '\r')
        at++;
    return at;
}

static void add_fold(struct arena *arena, struct folds *out, uint32_t start, uint32_t end)
{
    if (start < end)
        VECTOR_ADD(arena, &out->list, (struct proveout_span){start, end});
}

/* Comments of several lines, one below the other. */
static void add_comments(struct arena *arena, const struct sketch *sketch, struct folds *out)
{
    struct view bytes = sketch->source->bytes;
    for (size_t i = 0; i < sketch->comments.count; i++) {
        size_t last = i;
        while (last + 1 < sketch->comments.count) {
            struct span gap = {sketch->comments.items[last].end,
                               sketch->comments.items[last + 1].start};
            uint32_t lines = 0;
            bool blank = true;
            for (uint32_t at = gap.start; at < gap.end; at++) {
                lines += bytes.data[at] == '\n';
                blank &= strchr(" \t\r\n", bytes.data[at]) && bytes.data[at];
            }
            if (!blank || lines != 1)
                break;
            last++;
        }
        if (last > i)
            add_fold(arena, out, sketch->comments.items[i].end,
                     sketch->comments.items[last].end);
        i = last;
    }
}

void folds_find(struct proveout_document *document, struct folds *out)
{
    struct arena *arena = document_arena(document);
    const struct sketch *sketch = document_sketch(document);
    struct view bytes = document->source->bytes;
    const struct sketch_node *root = &sketch->root;
    for (const struct sketch_node *node = sketch_next(root, root); node;
         node = sketch_next(node, root)) {
        bool several = is_list_or_map(node) || (node->kind == SKETCH_TEXT && !node->plain);
        if (several)
            add_fold(arena, out, line_end(bytes, node->start), node->span.end);
    }
    add_comments(arena, sketch, out);
}
