/* The usual layout of lines: nothing behind their end, a blank behind a colon, one between a
 * number and its unit.  What it would change is read again and held against what stands there
 * now.
 */
#include "library/document_answers.h"

#include "quantity/number.h"

struct formatting {
    struct proveout_document *document;
    struct arena *arena;
    struct view bytes;
    struct span within; /* whole lines */
    VECTOR(struct proveout_edit) list;
};

static void change(struct formatting *to, uint32_t start, uint32_t end, const char *text)
{
    struct proveout_edit edit = {NULL, {start, end}, text};
    size_t i = to->list.count;
    if (start < to->within.start || end > to->within.end)
        return;
    VECTOR_ADD(to->arena, &to->list, edit);
    for (; i && to->list.items[i - 1].span.start > start; i--)
        to->list.items[i] = to->list.items[i - 1];
    to->list.items[i] = edit;
}

static bool is_blank(char c)
{
    return c == ' ' || c == '\t';
}

/* Is the end of a line at `at` within a text, where blanks may mean something? */
static bool in_text(const struct sketch *sketch, uint32_t at)
{
    const struct sketch_node *root = &sketch->root;
    for (const struct sketch_node *node = sketch_next(root, root); node;
         node = sketch_next(node, root))
        if (node->kind == SKETCH_TEXT && !node->plain && node->span.start < at &&
            at <= node->span.end)
            return true;
    return false;
}

static void format_ends(struct formatting *to, const struct sketch *sketch)
{
    uint32_t at = to->within.start;
    while (at < to->within.end) {
        uint32_t end = at;
        while (end < to->within.end && to->bytes.data[end] != '\n' &&
               to->bytes.data[end] != '\r')
            end++;
        uint32_t text = end;
        while (text > at && is_blank(to->bytes.data[text - 1]))
            text--;
        if (text < end && !in_text(sketch, end))
            change(to, text, end, "");
        at = end + 1;
    }
}

/* Between the colon of a key and its value on the same line. */
static void format_colon(struct formatting *to, const struct sketch_node *node)
{
    uint32_t at = node->key_span.end;
    while (at < node->span.start && to->bytes.data[at] != ':')
        at++;
    uint32_t start = at + 1, end = start;
    while (end < to->bytes.size && is_blank(to->bytes.data[end]))
        end++;
    if (node->span.end > node->span.start && end == node->span.start && end - start > 1)
        change(to, start, end, " ");
}

/* A number and its unit, and what is added to them: "42mm ±0.5  mm". */
static void format_number(struct formatting *to, const struct sketch_node *node)
{
    struct view text = node->text;
    double value;
    size_t used, lead = 0;
    for (int part = 0; part < 2; part++) {
        struct view rest = view_skip(text, lead);
        size_t blanks = rest.size - view_skip(rest, 0).size;
        while (blanks < rest.size && is_blank(rest.data[blanks]))
            blanks++;
        rest = view_skip(rest, blanks);
        if (number_read(rest, &value, &used) != NUMBER_OK || used >= rest.size)
            return;
        size_t gap = used;
        while (gap < rest.size && is_blank(rest.data[gap]))
            gap++;
        bool unit = gap < rest.size && ((rest.data[gap] >= 'a' && rest.data[gap] <= 'z') ||
                                        (rest.data[gap] >= 'A' && rest.data[gap] <= 'Z'));
        uint32_t at = node->span.start + (uint32_t)(rest.data - text.data) + (uint32_t)used;
        if (unit && !(gap == used + 1 && rest.data[used] == ' '))
            change(to, at, at + (uint32_t)(gap - used), " ");
        const char *plus = NULL;
        for (size_t i = gap; i + 1 < rest.size && !plus; i++)
            if (view_starts(view_skip(rest, i), "±"))
                plus = rest.data + i + 2;
        if (!plus)
            return;
        lead = (size_t)(plus - text.data);
    }
}

static bool is_size(enum field_kind kind)
{
    return kind == KIND_QUANTITY || kind == KIND_POSITION || kind == KIND_PAIR ||
           kind == KIND_LIST;
}

static void format_values(struct formatting *to, const struct sketch *sketch)
{
    const struct sketch_node *root = &sketch->root;
    for (const struct sketch_node *node = sketch_next(root, root);
         node && node->start < to->within.end; node = sketch_next(node, root)) {
        if (node->span.end < to->within.start || node->bare)
            continue;
        if (node->key_span.end > node->key_span.start)
            format_colon(to, node);
        if (node->kind != SKETCH_TEXT || !node->plain || !to->document->file)
            continue;
        struct shape_field field = shape_field(to->arena, node);
        if (field.id != FIELD_COUNT && is_size(field_table[field.id].kind))
            format_number(to, node);
    }
}

/* --- the same? --- */

/* Does one text say what the other says, but for blanks? */
static bool same_but_blanks(struct view a, struct view b)
{
    size_t i = 0, k = 0;
    for (;;) {
        while (i < a.size && is_blank(a.data[i]))
            i++;
        while (k < b.size && is_blank(b.data[k]))
            k++;
        if (i == a.size || k == b.size)
            return i == a.size && k == b.size;
        if (a.data[i++] != b.data[k++])
            return false;
    }
}

static bool same_node(const struct tree_node *a, const struct tree_node *b)
{
    if (a->kind != b->kind || a->count != b->count || !view_equal(a->key, b->key) ||
        a->style != b->style)
        return false;
    if (a->kind == TREE_TEXT)
        return a->style == STYLE_PLAIN || a->style == STYLE_JOINED
                   ? same_but_blanks(a->text, b->text)
                   : view_equal(a->text, b->text);
    if (a->kind == TREE_ALIAS)
        return true;
    const struct tree_node *other = b->first;
    for (const struct tree_node *child = a->first; child; child = child->next) {
        if (!same_node(child, other))
            return false;
        other = other->next;
    }
    return true;
}

static bool same_machine(struct arena *arena, const struct machine *a, const struct machine *b)
{
    for (enum field_id id = 0; id < FIELD_COUNT; id++) {
        uint32_t count = a->groups[field_table[id].group].count;
        if (count != b->groups[field_table[id].group].count)
            return false;
        for (uint32_t i = 0; i < count; i++) {
            const struct field_value *x = machine_field(a, id, i), *y = machine_field(b, id, i);
            if (x->state != y->state)
                return false;
            if (x->state == VALUE_GIVEN &&
                strcmp(field_value_text(arena, id, x), field_value_text(arena, id, y)) != 0)
                return false;
        }
    }
    return true;
}

static bool says_the_same(struct proveout_document *document, struct view now)
{
    struct arena *arena = arena_new_within(document_arena(document));
    bool same;
    if (document->file) {
        struct machine_file *file = ARENA_NEW(arena, struct machine_file);
        machine_file_read(arena, document->file->path, now, document->file->shared, file);
        same = file->own.status == TREE_WHOLE &&
               same_node(document->file->own.root, file->own.root) &&
               same_machine(arena, &document->file->machine, &file->machine) &&
               file->sink.findings.count <= document->file->sink.findings.count;
    } else {
        const struct tree *tree = tree_of(arena, document->source->name, now);
        same = tree->status == TREE_WHOLE && same_node(document->book->root, tree->root);
    }
    arena_free(arena);
    return same;
}

const struct proveout_edits *format_lines(struct proveout_document *document,
                                          struct span within)
{
    struct formatting to = {.document = document,
                            .arena = document_arena(document),
                            .bytes = document->source->bytes,
                            .within = within};
    const struct tree *tree = document->file ? &document->file->own : document->book;
    if (tree->status != TREE_WHOLE)
        return NULL;
    while (to.within.start && to.bytes.data[to.within.start - 1] != '\n')
        to.within.start--;
    while (to.within.end < to.bytes.size && to.bytes.data[to.within.end] != '\n')
        to.within.end++;
    const struct sketch *sketch = document_sketch(document);
    format_ends(&to, sketch);
    format_values(&to, sketch);
    if (!to.list.count)
        return NULL;
    struct proveout_edits *edits = ARENA_NEW(to.arena, struct proveout_edits);
    *edits = (struct proveout_edits){to.list.items, to.list.count};
    return says_the_same(document, edits_applied(to.arena, to.bytes, edits)) ? edits : NULL;
}
