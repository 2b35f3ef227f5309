/* A unified diff by Myers' greedy method on what is left between the common start and the
 * common end.
 *
 * Source: E. W. Myers, An O(ND) Difference Algorithm and Its Variations, Algorithmica 1, 1986.
 * Nothing is kept of lines that both texts have: paths remember how many bytes and lines they
 * have passed, and find the next line when they need it.  Texts that differ in more than
 * DISTANCE_MAX lines, or would have to be read more than PASSES times, are shown as one block
 * taken out and one put in, which is right, if not short.
 */
#include "text/diff.h"

#include <stdint.h>

#include "base/bug.h"
#include "base/vector.h"
#include "text/escape.h"

enum {
    CONTEXT = 3,
    DISTANCE_MAX = 1000,
    PASSES = 64,
    FREE_BYTES = 1024 * 1024, /* however short the texts are */
    CHUNK = 4096,
};

enum { OLD, NEW };

/* A place in a text: how much is before it. */
struct mark {
    size_t bytes, lines;
};

/* Where old and new part, and where they meet again. */
struct change {
    struct mark from[2], to[2];
};

struct diff {
    struct arena *arena;
    struct view texts[2];
    VECTOR(struct change) changes;
};

/* The bytes of the first line, with its end. */
static size_t line_size(struct view text)
{
    const char *feed = text.size ? memchr(text.data, '\n', text.size) : NULL;
    return feed ? (size_t)(feed - text.data) + 1 : text.size;
}

/* The end of some whole lines, seen from their start. */
static struct mark end_of(struct view text)
{
    struct mark end = {text.size, text.size && text.data[text.size - 1] != '\n'};
    for (size_t i = 0; i < text.size; i++)
        end.lines += text.data[i] == '\n';
    return end;
}

static struct mark mark_sum(struct mark a, struct mark b)
{
    return (struct mark){a.bytes + b.bytes, a.lines + b.lines};
}

/* The bytes with which both texts begin. */
static size_t common_bytes(struct view a, struct view b)
{
    size_t most = a.size < b.size ? a.size : b.size, same = 0;
    while (most - same >= CHUNK && memcmp(a.data + same, b.data + same, CHUNK) == 0)
        same += CHUNK;
    while (same < most && a.data[same] == b.data[same])
        same++;
    return same;
}

/* Of the bytes with which both begin, those in whole lines. */
static size_t whole_lines(struct view a, struct view b, size_t same)
{
    if (same < a.size || same < b.size)
        while (same && a.data[same - 1] != '\n')
            same--;
    return same;
}

static bool starts_line(struct view text, size_t at)
{
    return at == 0 || text.data[at - 1] == '\n';
}

/* The bytes of the whole lines with which both texts end. */
static size_t common_end(struct view a, struct view b)
{
    size_t most = a.size < b.size ? a.size : b.size, same = 0;
    while (most - same >= CHUNK &&
           memcmp(a.data + a.size - same - CHUNK, b.data + b.size - same - CHUNK, CHUNK) == 0)
        same += CHUNK;
    while (same < most && a.data[a.size - same - 1] == b.data[b.size - same - 1])
        same++;
    while (same && !(starts_line(a, a.size - same) && starts_line(b, b.size - same)))
        same--;
    return same;
}

static bool mark_equal(struct mark a, struct mark b)
{
    return a.bytes == b.bytes && a.lines == b.lines;
}

static void add_change(struct diff *diff, const struct change *change)
{
    struct change *last =
        diff->changes.count ? &diff->changes.items[diff->changes.count - 1] : NULL;
    if (last && mark_equal(last->to[OLD], change->from[OLD]) &&
        mark_equal(last->to[NEW], change->from[NEW])) {
        last->to[OLD] = change->to[OLD];
        last->to[NEW] = change->to[NEW];
        return;
    }
    VECTOR_ADD(diff->arena, &diff->changes, *change);
}

/* How far a path has come: lines of the old text, and bytes of both. */
struct reach {
    uint32_t lines, bytes[2];
};

/* The furthest reaches after each step, kept for the way back.  After step d there are d + 1,
 * the first with d lines put in and none taken out, the last the other way round. */
struct trail {
    struct view texts[2];
    struct reach *furthest[DISTANCE_MAX + 1];
    size_t distance;
    uint64_t left; /* bytes that may yet be read */
};

static void spend(struct trail *trail, size_t bytes)
{
    trail->left -= bytes < trail->left ? bytes : trail->left;
}

/* Does the furthest path to reach `i` of step `d` put a line in last?  Else it takes one out.
 */
static bool comes_down(const struct reach *before, size_t i, size_t d)
{
    return i == 0 || (i != d && before[i - 1].lines < before[i].lines);
}

/* One line further in one of the texts, then on through all that both have. */
static struct reach go_on(struct trail *trail, const struct reach *before, size_t i, size_t d)
{
    struct reach reach = {0};
    if (d) {
        bool down = comes_down(before, i, d);
        int in = down ? NEW : OLD;
        reach = before[down ? i : i - 1];
        size_t size = line_size(view_skip(trail->texts[in], reach.bytes[in]));
        reach.bytes[in] += (uint32_t)size;
        reach.lines += !down;
        spend(trail, size);
    }
    struct view old = view_skip(trail->texts[OLD], reach.bytes[OLD]);
    struct view new = view_skip(trail->texts[NEW], reach.bytes[NEW]);
    size_t same = common_bytes(old, new), whole = whole_lines(old, new, same);
    reach.bytes[OLD] += (uint32_t)whole;
    reach.bytes[NEW] += (uint32_t)whole;
    reach.lines += (uint32_t)end_of((struct view){old.data, whole}).lines;
    spend(trail, same + 1);
    return reach;
}

/* Finds the shortest edit; false where it is too long, or too long in coming. */
static bool find_trail(struct arena *arena, struct trail *trail)
{
    trail->left = (uint64_t)PASSES * (trail->texts[OLD].size + trail->texts[NEW].size);
    trail->left += FREE_BYTES;
    for (size_t d = 0; d <= DISTANCE_MAX && trail->left; d++) {
        struct reach *now = ARENA_ARRAY(arena, struct reach, d + 1);
        const struct reach *before = d ? trail->furthest[d - 1] : NULL;
        trail->furthest[d] = now;
        trail->distance = d;
        for (size_t i = 0; i <= d && trail->left; i++) {
            now[i] = go_on(trail, before, i, d);
            if (now[i].bytes[OLD] == trail->texts[OLD].size &&
                now[i].bytes[NEW] == trail->texts[NEW].size)
                return true;
        }
    }
    return false;
}

/* Walks the trail back from its end and notes the single steps, last first. */
static void walk_back(struct diff *diff, const struct trail *trail, const struct change *all)
{
    VECTOR(struct change) steps = {0};
    size_t i = 0;
    struct reach *last = trail->furthest[trail->distance];
    while (last[i].bytes[OLD] != trail->texts[OLD].size ||
           last[i].bytes[NEW] != trail->texts[NEW].size)
        i++;
    for (size_t d = trail->distance; d > 0; d--) {
        const struct reach *before = trail->furthest[d - 1];
        bool down = comes_down(before, i, d);
        int in = down ? NEW : OLD;
        if (!down)
            i--;
        const struct reach *from = &before[i];
        /* Of d - 1 steps i took a line out and the rest put one in. */
        const struct mark marks[2] = {
            {from->bytes[OLD], from->lines},
            {from->bytes[NEW], from->lines + (d - 1 - i) - i},
        };
        struct change step;
        for (int text = OLD; text <= NEW; text++)
            step.from[text] = step.to[text] = mark_sum(all->from[text], marks[text]);
        step.to[in].bytes += line_size(view_skip(trail->texts[in], from->bytes[in]));
        step.to[in].lines++;
        VECTOR_ADD(diff->arena, &steps, step);
    }
    while (steps.count)
        add_change(diff, &steps.items[--steps.count]);
}

static void find_changes(struct diff *diff)
{
    struct view old = diff->texts[OLD], new = diff->texts[NEW];
    size_t start = whole_lines(old, new, common_bytes(old, new));
    old = view_skip(old, start);
    new = view_skip(new, start);
    size_t end = common_end(old, new);
    old.size -= end;
    new.size -= end;
    if (!old.size && !new.size)
        return;
    struct mark from = end_of((struct view){diff->texts[OLD].data, start});
    const struct change all = {{from, from},
                               {mark_sum(from, end_of(old)), mark_sum(from, end_of(new))}};
    struct trail *trail = ARENA_NEW(diff->arena, struct trail);
    trail->texts[OLD] = old;
    trail->texts[NEW] = new;
    if (find_trail(diff->arena, trail))
        walk_back(diff, trail, &all);
    else
        add_change(diff, &all);
}

static void add_lines(struct buffer *out, char sign, struct view lines)
{
    while (lines.size) {
        size_t size = line_size(lines);
        buffer_byte(out, sign);
        buffer_add(out, (struct view){lines.data, size});
        if (lines.data[size - 1] != '\n')
            buffer_text(out, "\n\\ No newline at end of file\n");
        lines = view_skip(lines, size);
    }
}

static void add_range(struct buffer *out, char sign, size_t at, size_t count)
{
    /* An empty range is named by the line before it. */
    size_t first = count ? at + 1 : at;
    if (count == 1)
        buffer_format(out, "%c%zu", sign, first);
    else
        buffer_format(out, "%c%zu,%zu", sign, first, count);
}

static struct view part(struct view text, struct mark from, struct mark to)
{
    return (struct view){from.bytes < text.size ? text.data + from.bytes : NULL,
                         to.bytes - from.bytes};
}

/* CONTEXT lines further, or as many as there are. */
static struct mark context_after(struct view text, struct mark mark)
{
    for (int i = 0; i < CONTEXT && mark.bytes < text.size; i++, mark.lines++)
        mark.bytes += line_size(view_skip(text, mark.bytes));
    return mark;
}

static struct mark context_before(struct view text, struct mark mark)
{
    for (int i = 0; i < CONTEXT && mark.bytes; i++, mark.lines--)
        do
            mark.bytes--;
        while (!starts_line(text, mark.bytes));
    return mark;
}

/* One hunk: changes first..last with their context. */
static void add_hunk(struct buffer *out, const struct diff *diff, size_t first, size_t last)
{
    const struct change *changes = diff->changes.items;
    struct view old = diff->texts[OLD], new = diff->texts[NEW];
    struct mark at = context_before(old, changes[first].from[OLD]);
    struct mark end = context_after(old, changes[last].to[OLD]);
    size_t lead = changes[first].from[OLD].lines - at.lines;
    size_t tail = end.lines - changes[last].to[OLD].lines;
    size_t new_at = changes[first].from[NEW].lines - lead;
    buffer_text(out, "@@ ");
    add_range(out, '-', at.lines, end.lines - at.lines);
    buffer_byte(out, ' ');
    add_range(out, '+', new_at, changes[last].to[NEW].lines + tail - new_at);
    buffer_text(out, " @@\n");
    for (size_t i = first; i <= last; i++) {
        const struct change *change = &changes[i];
        add_lines(out, ' ', part(old, at, change->from[OLD]));
        add_lines(out, '-', part(old, change->from[OLD], change->to[OLD]));
        add_lines(out, '+', part(new, change->from[NEW], change->to[NEW]));
        at = change->to[OLD];
    }
    add_lines(out, ' ', part(old, at, end));
}

/* Is a step of the path `..`? */
static bool leads_up(struct view path)
{
    while (path.size)
        if (view_is(view_take(&path, '/'), ".."))
            return true;
    return false;
}

/* "--- a/yards/shed.yaml" */
static void add_name(struct buffer *out, const char *sign, const char *side, const char *path)
{
    const char *last = strrchr(path, '/');
    if (last && leads_up(view_of(path)))
        path = last + 1;
    while (*path == '/' || strncmp(path, "./", 2) == 0)
        path += *path == '/' ? 1 : 2;
    struct view name = view_of(arena_format(out->arena, "%s/%s", side, path));
    buffer_format(out, "%s ", sign);
    bool quoted = escape_patch_name(out, name);
    /* A blank in a name has to be told from what may follow it. */
    buffer_text(out, !quoted && strchr(path, ' ') ? "\t\n" : "\n");
}

void diff_unified(struct buffer *out, const char *path, struct view before, struct view after)
{
    struct arena scratch;
    arena_init(&scratch, out->arena->host);
    struct diff diff = {.arena = &scratch, .texts = {before, after}};
    BUG_UNLESS(before.size <= UINT32_MAX && after.size <= UINT32_MAX);
    find_changes(&diff);
    if (diff.changes.count) {
        add_name(out, "---", "a", path);
        add_name(out, "+++", "b", path);
    }
    for (size_t first = 0, last; first < diff.changes.count; first = last + 1) {
        const struct change *changes = diff.changes.items;
        last = first;
        while (last + 1 < diff.changes.count &&
               changes[last + 1].from[OLD].lines - changes[last].to[OLD].lines <= 2 * CONTEXT)
            last++;
        add_hunk(out, &diff, first, last);
    }
    arena_free(&scratch);
}

void diff_shown(struct buffer *out, const char *path, struct view before, struct view after,
                bool color)
{
    struct buffer diff;
    buffer_init(&diff, out->arena);
    diff_unified(&diff, path, before, after);
    struct view rest = buffer_view(&diff);
    while (rest.size) {
        struct view line = view_take(&rest, '\n');
        if (line.size && line.data[line.size - 1] == '\r')
            line.size--;
        bool put = color && view_starts(line, "+"), taken = color && view_starts(line, "-");
        buffer_text(out, put ? "\x1b[32m" : taken ? "\x1b[31m" : "");
        escape_terminal(out, line);
        buffer_text(out, put || taken ? "\x1b[0m\n" : "\n");
    }
}
