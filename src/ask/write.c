/* The machine file that the answers give: a new one, its keys in the usual order, each with
 * what it means; or the old one, in which nothing else is touched. */
#include "ask/write.h"

#include <stdlib.h>

#include "base/buffer.h"
#include "machine/file.h"
#include "text/utf8.h"
#include "tree/change.h"

enum { COMMENT_WIDTH = 96, PART_MAX = 6 };

/* One key to write. */
struct line {
    const struct ask_entry *entry;
    const struct answer *answer;
    const char *path;
    uint32_t section, rank;
    size_t serial;
};

const char *answer_source_name(enum answer_source source)
{
    static const char *const names[] = {"",          "asked", "default",  "computed",
                                        "as before", "open",  "confirmed"};
    _Static_assert(sizeof names / sizeof *names == SOURCE_COUNT, "each has its word");
    return names[source];
}

static int compare(const void *a, const void *b)
{
    const struct line *x = a, *y = b;
    if (x->section != y->section)
        return x->section < y->section ? -1 : 1;
    if (x->entry->record != y->entry->record)
        return x->entry->record < y->entry->record ? -1 : 1;
    if (x->rank != y->rank)
        return x->rank < y->rank ? -1 : 1;
    return (x->serial > y->serial) - (x->serial < y->serial);
}

static struct line *gather(struct arena *arena, const struct answers *answers,
                           const struct ask_sequence *sequence, size_t until, size_t *count)
{
    struct line *lines = ARENA_ARRAY(arena, struct line, until + 1);
    *count = 0;
    for (size_t i = 0; i < until && i < sequence->items.count; i++) {
        const struct ask_entry *entry = &sequence->items.items[i];
        const struct answer *answer = answers_get(answers, entry->row->what, entry->record);
        if (entry->row->what >= FIELD_COUNT || !answer_has_value(answer))
            continue;
        const char *path = answer_path(arena, answers, entry->row->what, entry->record);
        uint32_t rank = field_rank(view_of(path));
        lines[*count] =
            (struct line){entry, answer, path, rank / (FIELD_COUNT + 1), rank, *count};
        (*count)++;
    }
    qsort(lines, *count, sizeof *lines, compare);
    return lines;
}

static void comment(struct buffer *out, size_t indent, const char *text)
{
    struct view rest = view_of(text);
    size_t width = 0;
    while (rest.size) {
        struct view word = view_take(&rest, ' ');
        size_t cells = utf8_cells(word);
        if (width && width + 1 + cells > COMMENT_WIDTH) {
            buffer_byte(out, '\n');
            width = 0;
        }
        if (!width) {
            buffer_fill(out, ' ', indent);
            buffer_byte(out, '#');
            width = indent + 1;
        }
        buffer_format(out, " %.*s", VIEW(word));
        width += 1 + cells;
    }
    if (width)
        buffer_byte(out, '\n');
}

/* Above a key: what it means, in what unit, how it is measured. */
static void explain(struct buffer *out, size_t indent, const struct field *field)
{
    comment(out, indent,
            arena_format(out->arena, "%s (%s%s%s)", field->meaning,
                         field_nature_name(field->nature), *field->unit ? ", " : "",
                         field->unit));
    comment(out, indent, field->measure);
}

/* Is it the first of its kind, which is explained at length? */
static bool is_first(const struct line *lines, size_t index)
{
    uint16_t what = lines[index].entry->row->what;
    for (size_t i = 0; i < index; i++)
        if (lines[i].entry->row->what == what)
            return false;
    return true;
}

static const char *value_text(struct arena *arena, const struct line *line)
{
    enum field_kind kind = field_table[line->entry->row->what].kind;
    if (kind == KIND_TEXT || kind == KIND_TERMINAL || kind == KIND_INPUT)
        return change_quoted(arena, line->answer->text, false);
    return arena_copy(arena, line->answer->text.data, line->answer->text.size);
}

/* The names on the way to a key, the record of a list as one of its own. */
static size_t split_path(const char *path, struct view *parts)
{
    size_t count = 0;
    struct view rest = view_of(path);
    while (rest.size && count < PART_MAX) {
        size_t size = 0;
        while (size < rest.size && rest.data[size] != '.' && rest.data[size] != '[')
            size++;
        parts[count++] = (struct view){rest.data, size};
        bool list = size < rest.size && rest.data[size] == '[';
        rest = view_skip(rest, list ? size : size + 1);
        if (list && count < PART_MAX) {
            const char *end = memchr(rest.data, ']', rest.size);
            size = end ? (size_t)(end - rest.data) + 1 : rest.size;
            parts[count++] = (struct view){rest.data, size};
            rest = view_skip(rest, size + 1);
        }
    }
    return count;
}

static bool is_item(struct view part)
{
    return part.size && part.data[0] == '[';
}

static void add_line(struct buffer *out, const struct line *lines, size_t index, bool explained)
{
    const struct line *line = &lines[index];
    const struct field *field = &field_table[line->entry->row->what];
    struct view parts[PART_MAX], before[PART_MAX];
    size_t count = split_path(line->path, parts);
    size_t known = index ? split_path(lines[index - 1].path, before) : 0, same = 0;
    while (same < known && same + 1 < count && view_equal(parts[same], before[same]))
        same++;
    if (explained && same == 0)
        buffer_byte(out, '\n');
    bool dash = false;
    for (size_t i = same; i + 1 < count; i++) {
        dash = is_item(parts[i]);
        if (dash)
            continue;
        buffer_fill(out, ' ', 2 * i);
        buffer_format(out, "%.*s:\n", VIEW(parts[i]));
    }
    size_t indent = 2 * (count - 1);
    bool first = is_first(lines, index);
    if (explained && first)
        explain(out, dash ? indent - 2 : indent, field);
    buffer_fill(out, ' ', dash ? indent - 2 : indent);
    buffer_format(out, "%s%.*s: %s", dash ? "- " : "", VIEW(parts[count - 1]),
                  value_text(out->arena, line));
    const char *source = answer_source_name((enum answer_source)line->answer->source);
    if (explained && first)
        buffer_format(out, "  # %s", source);
    else if (explained)
        buffer_format(out, "  # %s: %s", source, field->meaning);
    buffer_byte(out, '\n');
}

struct view compose_new(struct arena *arena, const struct answers *answers,
                        const struct ask_sequence *sequence, size_t until, bool explained)
{
    struct buffer out;
    size_t count;
    struct line *lines = gather(arena, answers, sequence, until, &count);
    buffer_init(&out, arena);
    if (explained) {
        buffer_text(&out, "# A machine file for proveout, written from answers.\n");
        comment(
            &out, 0,
            "Behind each value: asked, it was answered so; default, a usual value was taken "
            "as offered; computed, it was worked out from other answers. Check the file "
            "after every change: proveout check FILE.");
    }
    buffer_text(&out, "proveout: 1\n");
    for (size_t i = 0; i < count; i++)
        add_line(&out, lines, i, explained);
    return buffer_view(&out);
}

/* A file that is there. */

const char *compose_amended(struct arena *arena, const struct answers *answers,
                            const struct ask_sequence *sequence, struct view base,
                            struct view *out)
{
    struct view bytes = base;
    for (size_t i = 0; i < sequence->items.count; i++) {
        const struct ask_entry *entry = &sequence->items.items[i];
        const struct answer *answer = answers_get(answers, entry->row->what, entry->record);
        if (entry->row->what >= FIELD_COUNT || !answer_has_value(answer) ||
            answer->source == SOURCE_FILE)
            continue;
        const char *path = answer_path(arena, answers, entry->row->what, entry->record);
        bool list =
            kind_is_list(field_table[entry->row->what].kind) && view_starts(answer->text, "[");
        const struct tree *tree = tree_of(arena, (struct view){0}, bytes);
        const char *why = field_write(arena, tree, path, answer->text, list, &bytes);
        if (why)
            return arena_format(arena, "%s cannot be put into the file: %s", path, why);
    }
    *out = bytes;
    return NULL;
}
