/* Reading a sketch: line by line, brackets and quoted texts across lines. */
#include "tree/sketch.h"

#include "base/bug.h"

struct scan {
    struct sketch *sketch;
    const char *data;
    uint32_t size, at;
    uint32_t line;           /* where the line at hand begins */
    struct sketch_node *top; /* the innermost list or map in lines that is open */
};

/* Bytes. */

static bool is_end(const struct scan *scan, uint32_t at)
{
    return at >= scan->size || scan->data[at] == '\n' || scan->data[at] == '\r';
}

static bool is_blank(const struct scan *scan, uint32_t at)
{
    return at < scan->size && (scan->data[at] == ' ' || scan->data[at] == '\t');
}

static bool is_gap(const struct scan *scan, uint32_t at)
{
    return is_end(scan, at) || is_blank(scan, at);
}

static bool is_digit_at(const struct scan *scan, uint32_t at)
{
    return at < scan->size && scan->data[at] >= '0' && scan->data[at] <= '9';
}

static bool is_one_of(const struct scan *scan, uint32_t at, const char *bytes)
{
    return at < scan->size && scan->data[at] && strchr(bytes, scan->data[at]);
}

/* Does a comment begin here? */
static bool is_comment(const struct scan *scan, uint32_t at)
{
    return is_one_of(scan, at, "#") && (at == scan->line || is_gap(scan, at - 1));
}

static struct view slice(const struct scan *scan, struct span span)
{
    return (struct view){scan->data + span.start, span.end - span.start};
}

static void skip_blanks(struct scan *scan)
{
    while (is_blank(scan, scan->at))
        scan->at++;
}

static uint32_t line_end(const struct scan *scan, uint32_t at)
{
    while (!is_end(scan, at))
        at++;
    return at;
}

/* To the beginning of the next line. */
static void next_line(struct scan *scan)
{
    scan->at = line_end(scan, scan->at);
    if (scan->at < scan->size)
        scan->at += scan->data[scan->at] == '\r' && is_one_of(scan, scan->at + 1, "\n") ? 2 : 1;
    scan->line = scan->at;
}

static void take_comment(struct scan *scan)
{
    struct span comment = {scan->at, line_end(scan, scan->at)};
    VECTOR_ADD(scan->sketch->arena, &scan->sketch->comments, comment);
    scan->at = comment.end;
}

/* Without blanks at its end. */
static struct span trimmed(const struct scan *scan, struct span span)
{
    while (span.end > span.start && is_gap(scan, span.end - 1))
        span.end--;
    return span;
}

/* A text in quotes, from the one to the other; to the end of the line where that is missing,
 * which it is where a line behind begins as far out as `column`. */
static struct span quoted(const struct scan *scan, uint32_t at, uint32_t column)
{
    char quote = scan->data[at];
    uint32_t start = at++;
    for (; at < scan->size; at++) {
        if (scan->data[at] == quote) {
            if (quote == '"' || !is_one_of(scan, at + 1, "'"))
                return (struct span){start, at + 1};
            at++;
        } else if (quote == '"' && scan->data[at] == '\\') {
            at++;
        } else if (scan->data[at] == '\n') {
            uint32_t text = at + 1;
            while (is_blank(scan, text))
                text++;
            if (!is_end(scan, text) && text - (at + 1) <= column)
                break;
        }
    }
    return (struct span){start, line_end(scan, start)};
}

/* Without its quotes and the escapes that quotes need. */
static struct view unquoted(const struct scan *scan, struct span span)
{
    struct view text = slice(scan, span);
    if (text.size < 2 || (*text.data != '"' && *text.data != '\'') ||
        text.data[text.size - 1] != *text.data)
        return text;
    char quote = *text.data, *out = arena_copy(scan->sketch->arena, text.data, text.size);
    size_t size = 0;
    for (size_t i = 1; i + 1 < text.size; i++) {
        bool escape = quote == '\'' ? text.data[i] == '\'' : text.data[i] == '\\';
        if (escape && i + 2 < text.size &&
            (text.data[i + 1] == quote || text.data[i + 1] == '\\'))
            i++;
        out[size++] = text.data[i];
    }
    return (struct view){out, size};
}

/* Nodes. */

static struct sketch_node *add_child(struct scan *scan, struct sketch_node *parent,
                                     uint32_t start)
{
    struct sketch_node *node = ARENA_NEW(scan->sketch->arena, struct sketch_node);
    node->parent = parent;
    node->start = start;
    node->span = (struct span){start, start};
    node->index = parent->count++;
    if (parent->last)
        parent->last->next = node;
    else
        parent->first = node;
    parent->last = node;
    return node;
}

static void set_text(const struct scan *scan, struct sketch_node *node, struct span span)
{
    node->kind = SKETCH_TEXT;
    node->plain = span.end == span.start ||
                  (scan->data[span.start] != '"' && scan->data[span.start] != '\'');
    node->span = span;
    node->text = unquoted(scan, span);
}

static void set_key(const struct scan *scan, struct sketch_node *node, struct span key,
                    uint32_t behind)
{
    node->key_span = key;
    node->key = unquoted(scan, key);
    node->span = (struct span){behind, behind};
}

/* A list or map in lines whose children stand at `column`. */
static struct sketch_node *begin_block(struct scan *scan, struct sketch_node *node,
                                       enum sketch_kind kind, uint32_t column)
{
    node->kind = (uint8_t)kind;
    node->column = column;
    return scan->top = node;
}

/* Leaves what a line at `column` does not belong to; a key is in no list whose dashes stand
 * there.
 */
static void leave(struct scan *scan, enum sketch_kind kind, uint32_t column)
{
    while (scan->top->parent && (scan->top->column > column ||
                                 (kind == SKETCH_MAP && scan->top->kind == SKETCH_LIST &&
                                  scan->top->column == column)))
        scan->top = scan->top->parent;
}

/* Does a text stand on a line of its own, at `column`? */
static bool stands_at(const struct scan *scan, const struct sketch_node *text, uint32_t column)
{
    uint32_t at = text->span.start;
    while (at && is_blank(scan, at - 1))
        at--;
    return text->span.start - at == column && (!at || is_end(scan, at - 1));
}

/* Half a key that was taken for the value of the key above it, and has keys beside it. */
static struct sketch_node *begin_beside(struct scan *scan, struct sketch_node *node,
                                        uint32_t column)
{
    struct span text = node->span;
    struct sketch_node *half = add_child(scan, node, text.start);
    set_text(scan, half, text);
    half->bare = true;
    node->text = (struct view){0};
    node->plain = false;
    return begin_block(scan, node, SKETCH_MAP, column);
}

/* The list or map to which a dash or key at `column` belongs; NULL: to none. */
static struct sketch_node *container(struct scan *scan, enum sketch_kind kind, uint32_t column)
{
    leave(scan, kind, column);
    struct sketch_node *top = scan->top, *last = top->last;
    if (!top->parent && top->kind == SKETCH_NOTHING)
        return begin_block(scan, top, kind, column);
    if (top->kind == kind && top->column == column)
        return top;
    bool deeper = column > top->column || (kind == SKETCH_LIST && top->kind == SKETCH_MAP);
    if (last && last->kind == SKETCH_NOTHING && deeper)
        return begin_block(scan, last, kind, column);
    if (last && last->kind == SKETCH_TEXT && last->plain && !last->bare && kind == SKETCH_MAP &&
        deeper && stands_at(scan, last, column))
        return begin_beside(scan, last, column);
    return top->kind == kind ? top : NULL;
}

/* Brackets. */

static void read_flow(struct scan *scan, struct sketch_node *node, unsigned depth);

/* Past blanks, comments and ends of lines; false where the brackets end without being closed.
 */
static bool skip_between(struct scan *scan)
{
    while (scan->at < scan->size) {
        skip_blanks(scan);
        if (is_comment(scan, scan->at))
            take_comment(scan);
        if (!is_end(scan, scan->at))
            return true;
        if (scan->at >= scan->size)
            return false;
        uint32_t kept_at = scan->at, kept_line = scan->line;
        next_line(scan);
        uint32_t at = scan->at;
        while (is_blank(scan, at))
            at++;
        if (is_end(scan, at) || at - scan->line > scan->top->column ||
            is_one_of(scan, at, "}],"))
            continue;
        /* As far out as what the brackets belong to: it goes on there. */
        scan->at = kept_at;
        scan->line = kept_line;
        return false;
    }
    return false;
}

/* A plain text in brackets, up to what ends it there. */
static struct span flow_plain(struct scan *scan, bool in_map)
{
    uint32_t start = scan->at, at = start;
    for (; !is_end(scan, at); at++) {
        bool joins = in_map && scan->data[at] == ',' && at > start &&
                     is_digit_at(scan, at - 1) && is_digit_at(scan, at + 1);
        if ((is_one_of(scan, at, ",{}[]") && !joins) || is_comment(scan, at))
            break;
        if (scan->data[at] == ':' && (is_gap(scan, at + 1) || is_one_of(scan, at + 1, ",{}[]")))
            break;
    }
    scan->at = at;
    return trimmed(scan, (struct span){start, at});
}

static struct span flow_text(struct scan *scan, bool in_map)
{
    if (!is_one_of(scan, scan->at, "\"'"))
        return flow_plain(scan, in_map);
    struct span text = quoted(scan, scan->at, scan->top->column);
    scan->at = text.end;
    return text;
}

/* Takes `&name`, `!tag`. */
static void skip_properties(struct scan *scan, struct sketch_node *node)
{
    for (skip_blanks(scan); is_one_of(scan, scan->at, "&!"); skip_blanks(scan)) {
        struct span name = {scan->at + 1, scan->at + 1};
        while (!is_gap(scan, name.end) && !is_one_of(scan, name.end, ",{}[]"))
            name.end++;
        if (scan->data[scan->at] == '&')
            node->anchor = name;
        scan->at = name.end;
    }
}

static void read_alias(struct scan *scan, struct sketch_node *node)
{
    struct span name = {scan->at, scan->at + 1};
    while (!is_gap(scan, name.end) && !is_one_of(scan, name.end, ",{}[]"))
        name.end++;
    node->kind = SKETCH_ALIAS;
    node->span = name;
    node->text = slice(scan, (struct span){name.start + 1, name.end});
    scan->at = name.end;
}

static void flow_value(struct scan *scan, struct sketch_node *node, bool in_map, unsigned depth)
{
    skip_properties(scan, node);
    if (!skip_between(scan) || is_one_of(scan, scan->at, ",}]"))
        return;
    if (is_one_of(scan, scan->at, "{[") && depth < SKETCH_DEPTH_MAX) {
        read_flow(scan, node, depth + 1);
    } else if (is_one_of(scan, scan->at, "*")) {
        read_alias(scan, node);
    } else {
        uint32_t before = scan->at;
        set_text(scan, node, flow_text(scan, in_map));
        scan->at += scan->at == before; /* what nothing can be made of */
    }
}

static void flow_pair(struct scan *scan, struct sketch_node *map, unsigned depth)
{
    struct sketch_node *node = add_child(scan, map, scan->at);
    uint32_t before = scan->at;
    struct span key = flow_text(scan, true);
    uint32_t behind = scan->at;
    while (is_blank(scan, behind))
        behind++;
    if (!is_one_of(scan, behind, ":")) {
        set_text(scan, node, key);
        node->bare = true;
        scan->at += scan->at == before;
        return;
    }
    set_key(scan, node, key, behind + 1);
    scan->at = behind + 1;
    flow_value(scan, node, true, depth);
}

static void read_flow(struct scan *scan, struct sketch_node *node, unsigned depth)
{
    bool map = scan->data[scan->at] == '{';
    node->kind = map ? SKETCH_MAP : SKETCH_LIST;
    node->flow = true;
    node->span = (struct span){scan->at, scan->at + 1};
    scan->at++;
    while (skip_between(scan)) {
        char here = scan->data[scan->at];
        if (here == '}' || here == ']') {
            node->span.end = ++scan->at;
            return;
        }
        if (here == ',')
            scan->at++;
        else if (map)
            flow_pair(scan, node, depth);
        else
            flow_value(scan, add_child(scan, node, scan->at), false, depth);
    }
    node->open = true;
    node->span.end = trimmed(scan, (struct span){node->span.start, scan->at}).end;
}

/* Values in lines. */

/* A block of lines behind | or >, which stand further in than `column`. */
static void read_lines(struct scan *scan, struct sketch_node *node)
{
    uint32_t start = scan->at, end = line_end(scan, start);
    uint32_t least = scan->top->column + 1;
    if (!scan->top->parent && scan->top->kind != SKETCH_MAP)
        least = 0;
    for (next_line(scan); scan->at < scan->size; next_line(scan)) {
        uint32_t at = scan->at;
        while (is_blank(scan, at))
            at++;
        if (is_end(scan, at))
            continue;
        if (at - scan->at < least)
            break;
        end = line_end(scan, at);
    }
    set_text(scan, node, (struct span){start, end});
    node->plain = false;
    /* The line at hand is looked at next. */
    scan->at = scan->line;
}

static struct span rest_of_line(struct scan *scan)
{
    uint32_t start = scan->at;
    while (!is_end(scan, scan->at) && !is_comment(scan, scan->at))
        scan->at++;
    return trimmed(scan, (struct span){start, scan->at});
}

/* What stands behind a colon or a dash, or alone on the next line. */
static void read_value(struct scan *scan, struct sketch_node *node)
{
    skip_properties(scan, node);
    if (is_end(scan, scan->at) || is_comment(scan, scan->at))
        return;
    if (is_one_of(scan, scan->at, "|>")) {
        read_lines(scan, node);
        return;
    }
    if (is_one_of(scan, scan->at, "{[")) {
        read_flow(scan, node, 1);
    } else if (is_one_of(scan, scan->at, "\"'")) {
        struct span text = quoted(scan, scan->at, scan->top->column);
        set_text(scan, node, text);
        scan->at = text.end;
    } else if (is_one_of(scan, scan->at, "*") && !is_gap(scan, scan->at + 1)) {
        read_alias(scan, node);
    } else {
        set_text(scan, node, rest_of_line(scan));
    }
}

/* A key at `at`, with its quotes; `*behind` is behind its colon.  Empty: there is none. */
static struct span find_key(const struct scan *scan, uint32_t at, uint32_t *behind)
{
    const struct span none = {at, at};
    uint32_t end = at;
    if (is_one_of(scan, at, "{}[],#&*!|>%@`"))
        return none;
    if (is_one_of(scan, at, "\"'")) {
        end = quoted(scan, at, UINT32_MAX).end;
        uint32_t colon = end;
        while (is_blank(scan, colon))
            colon++;
        *behind = colon + 1;
        return is_one_of(scan, colon, ":") && is_gap(scan, colon + 1) && end > at + 1
                   ? (struct span){at, end}
                   : none;
    }
    for (; !is_end(scan, end) && !is_comment(scan, end); end++)
        if (scan->data[end] == ':' && is_gap(scan, end + 1)) {
            *behind = end + 1;
            return trimmed(scan, (struct span){at, end});
        }
    return none;
}

/* The plain text that a line goes on with which begins at `column`; NULL: none. */
static struct sketch_node *continued(struct scan *scan, enum sketch_kind kind, uint32_t column)
{
    leave(scan, kind, column);
    struct sketch_node *last = scan->top->last;
    bool text = last && last->kind == SKETCH_TEXT && last->plain && !last->bare;
    return text && column > scan->top->column ? last : NULL;
}

static void go_on(struct scan *scan, struct sketch_node *text)
{
    text->span.end = rest_of_line(scan).end;
    text->text = slice(scan, text->span);
}

/* A line of text that is no key and no item. */
static void read_text(struct scan *scan)
{
    uint32_t column = scan->at - scan->line, start = scan->at;
    struct sketch_node *before = continued(scan, SKETCH_MAP, column), *last = scan->top->last;
    if (before) {
        go_on(scan, before);
        return;
    }
    if (last && column > scan->top->column && last->kind == SKETCH_NOTHING) {
        read_value(scan, last);
        return;
    }
    struct span text = rest_of_line(scan);
    struct sketch_node *map = container(scan, SKETCH_MAP, column);
    if (!map)
        return;
    struct sketch_node *node = add_child(scan, map, start);
    set_text(scan, node, text);
    node->bare = true;
}

static void read_content(struct scan *scan)
{
    while (is_one_of(scan, scan->at, "-") && is_gap(scan, scan->at + 1)) {
        uint32_t column = scan->at - scan->line;
        struct sketch_node *before = continued(scan, SKETCH_LIST, column);
        if (before) {
            go_on(scan, before);
            return;
        }
        struct sketch_node *list = container(scan, SKETCH_LIST, column);
        if (!list)
            return;
        struct sketch_node *item = add_child(scan, list, scan->at++);
        item->span = (struct span){scan->at, scan->at};
        skip_properties(scan, item);
        if (is_end(scan, scan->at) || is_comment(scan, scan->at))
            return;
    }
    uint32_t behind = 0;
    struct span key = find_key(scan, scan->at, &behind);
    if (key.end == key.start) {
        read_text(scan);
        return;
    }
    struct sketch_node *map = container(scan, SKETCH_MAP, scan->at - scan->line);
    if (!map) {
        scan->at = line_end(scan, scan->at);
        return;
    }
    struct sketch_node *node = add_child(scan, map, key.start);
    set_key(scan, node, key, behind);
    scan->at = behind;
    read_value(scan, node);
}

/* --- and ... and what YAML says of itself. */
static bool is_mark(const struct scan *scan)
{
    uint32_t at = scan->line;
    if (is_one_of(scan, at, "%"))
        return true;
    return at + 2 < scan->size && is_gap(scan, at + 3) &&
           (memcmp(scan->data + at, "---", 3) == 0 || memcmp(scan->data + at, "...", 3) == 0);
}

/* Lists and maps in lines reach from their first child to the end of their last. */
static void close_blocks(struct sketch_node *root)
{
    for (const struct sketch_node *child = sketch_next(root, root); child;
         child = sketch_next(child, root)) {
        uint32_t end = child->span.end;
        for (struct sketch_node *up = child->parent; up; up = up->parent) {
            bool block = !up->flow && (up->kind == SKETCH_MAP || up->kind == SKETCH_LIST);
            if (!block || up->span.end >= end)
                break;
            if (up->span.end <= up->first->start)
                up->span.start = up->first->start;
            up->span.end = end;
        }
    }
}

void sketch_read(struct sketch *out, struct arena *arena, struct source *source)
{
    *out = (struct sketch){.arena = arena, .source = source};
    struct scan scan = {.sketch = out,
                        .data = source->bytes.data,
                        .size = (uint32_t)source->bytes.size,
                        .at = source_mark_size(source)};
    scan.line = scan.at;
    scan.top = &out->root;
    while (scan.at < scan.size) {
        if (scan.at == scan.line && is_mark(&scan)) {
            next_line(&scan);
            continue;
        }
        skip_blanks(&scan);
        uint32_t before = scan.at;
        if (is_comment(&scan, scan.at))
            take_comment(&scan);
        else if (!is_end(&scan, scan.at))
            read_content(&scan);
        /* A block of lines ends at the beginning of one that is not its own. */
        if (scan.at == scan.line && scan.at != before)
            continue;
        skip_blanks(&scan);
        if (is_comment(&scan, scan.at))
            take_comment(&scan);
        next_line(&scan);
    }
    close_blocks(&out->root);
}
