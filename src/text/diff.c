/* A unified diff by Myers' greedy method on what is left between the common start and the
 * common end.
 *
 * Source: E. W. Myers, An O(ND) Difference Algorithm and Its Variations, Algorithmica 1, 1986.
 * Texts that differ in more than DISTANCE_MAX lines are shown as one block taken out and one
 * put in, which is right, if not short.
 */
#include "text/diff.h"

#include "base/vector.h"
#include "text/escape.h"

enum { CONTEXT = 3, DISTANCE_MAX = 1000 };

struct lines {
    struct view *items;
    size_t count, capacity;
};

/* A run of lines that differ: `taken` lines of the old text from `old_at` give way to `put` of
 * the new. */
struct change {
    size_t old_at, taken, new_at, put;
};

struct diff {
    struct arena *arena;
    struct lines before, after;
    VECTOR(struct change) changes;
};

static void split(struct arena *arena, struct view text, struct lines *lines)
{
    while (text.size) {
        const char *feed = memchr(text.data, '\n', text.size);
        size_t size = feed ? (size_t)(feed - text.data) + 1 : text.size;
        VECTOR_ADD(arena, lines, (struct view){text.data, size});
        text = view_skip(text, size);
    }
}

static void add_change(struct diff *diff, struct change change)
{
    if (!change.taken && !change.put)
        return;
    if (diff->changes.count) {
        struct change *last = &diff->changes.items[diff->changes.count - 1];
        if (last->old_at + last->taken == change.old_at &&
            last->new_at + last->put == change.new_at) {
            last->taken += change.taken;
            last->put += change.put;
            return;
        }
    }
    VECTOR_ADD(diff->arena, &diff->changes, change);
}

/* Where the furthest path on each diagonal stood after each step, kept for the way back. */
struct trail {
    long **furthest; /* [distance][diagonal + distance] */
    long distance;
};

/* Finds the shortest edit from lines a (n of them) to b (m of them); false where it is longer
 * than DISTANCE_MAX. */
static bool find_trail(struct diff *diff, const struct view *a, long n, const struct view *b,
                       long m, struct trail *trail)
{
    for (long d = 0; d <= DISTANCE_MAX && d <= n + m; d++) {
        long *now = ARENA_ARRAY(diff->arena, long, (size_t)(2 * d + 1));
        const long *before = d ? trail->furthest[d - 1] : NULL;
        trail->furthest[d] = now;
        for (long k = -d; k <= d; k += 2) {
            long x = 0;
            if (d) {
                bool down =
                    k == -d || (k != d && before[k - 1 + d - 1] < before[k + 1 + d - 1]);
                x = down ? before[k + 1 + d - 1] : before[k - 1 + d - 1] + 1;
            }
            long y = x - k;
            while (x < n && y < m && view_equal(a[x], b[y]))
                x++, y++;
            now[k + d] = x;
            if (x >= n && y >= m) {
                trail->distance = d;
                return true;
            }
        }
    }
    return false;
}

/* Walks the trail back from its end and notes the single steps, last first. */
static void walk_back(struct diff *diff, const struct trail *trail, size_t start, long n,
                      long m)
{
    VECTOR(struct change) steps = {0};
    long x = n, y = m;
    for (long d = trail->distance; d > 0; d--) {
        const long *before = trail->furthest[d - 1];
        long k = x - y;
        bool down = k == -d || (k != d && before[k - 1 + d - 1] < before[k + 1 + d - 1]);
        long from_k = down ? k + 1 : k - 1;
        long from_x = before[from_k + d - 1], from_y = from_x - from_k;
        struct change step = {start + (size_t)from_x, !down, start + (size_t)from_y, down};
        VECTOR_ADD(diff->arena, &steps, step);
        x = from_x;
        y = from_y;
    }
    while (steps.count)
        add_change(diff, steps.items[--steps.count]);
}

static void find_changes(struct diff *diff)
{
    const struct lines *a = &diff->before, *b = &diff->after;
    size_t start = 0, old_end = a->count, new_end = b->count;
    while (start < old_end && start < new_end && view_equal(a->items[start], b->items[start]))
        start++;
    while (old_end > start && new_end > start &&
           view_equal(a->items[old_end - 1], b->items[new_end - 1]))
        old_end--, new_end--;
    struct trail trail = {.furthest = ARENA_ARRAY(diff->arena, long *, DISTANCE_MAX + 1)};
    long n = (long)(old_end - start), m = (long)(new_end - start);
    if (n == 0 && m == 0)
        return;
    const struct view *old_lines = n ? a->items + start : NULL;
    const struct view *new_lines = m ? b->items + start : NULL;
    if (find_trail(diff, old_lines, n, new_lines, m, &trail))
        walk_back(diff, &trail, start, n, m);
    else
        add_change(diff, (struct change){start, (size_t)n, start, (size_t)m});
}

static void add_line(struct buffer *out, char sign, struct view line)
{
    buffer_byte(out, sign);
    buffer_add(out, line);
    if (!line.size || line.data[line.size - 1] != '\n')
        buffer_text(out, "\n\\ No newline at end of file\n");
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

/* One hunk: changes first..last with their context. */
static void add_hunk(struct buffer *out, const struct diff *diff, size_t first, size_t last)
{
    const struct change *changes = diff->changes.items;
    size_t lead = changes[first].old_at < CONTEXT ? changes[first].old_at : CONTEXT;
    size_t old_at = changes[first].old_at - lead, new_at = changes[first].new_at - lead;
    size_t old_end = changes[last].old_at + changes[last].taken;
    size_t tail =
        diff->before.count - old_end < CONTEXT ? diff->before.count - old_end : CONTEXT;
    size_t new_end = changes[last].new_at + changes[last].put + tail;
    old_end += tail;
    buffer_text(out, "@@ ");
    add_range(out, '-', old_at, old_end - old_at);
    buffer_byte(out, ' ');
    add_range(out, '+', new_at, new_end - new_at);
    buffer_text(out, " @@\n");
    size_t at = old_at;
    for (size_t i = first; i <= last; i++) {
        for (; at < changes[i].old_at; at++)
            add_line(out, ' ', diff->before.items[at]);
        for (size_t k = 0; k < changes[i].taken; k++)
            add_line(out, '-', diff->before.items[at++]);
        for (size_t k = 0; k < changes[i].put; k++)
            add_line(out, '+', diff->after.items[changes[i].new_at + k]);
    }
    for (; at < old_end; at++)
        add_line(out, ' ', diff->before.items[at]);
}

static const char *patch_name(struct arena *arena, const char *path)
{
    const char *last = strrchr(path, '/');
    if (strstr(path, "../") && last)
        path = last + 1;
    while (*path == '/' || strncmp(path, "./", 2) == 0)
        path += *path == '/' ? 1 : 2;
    char *name = arena_copy(arena, path, strlen(path));
    for (char *c = name; *c; c++)
        if ((unsigned char)*c < 0x20 || *c == 0x7f)
            *c = '?';
    /* A blank in a name has to be told from what may follow it. */
    return strchr(name, ' ') ? arena_format(arena, "%s\t", name) : name;
}

void diff_unified(struct buffer *out, const char *path, struct view before, struct view after)
{
    struct diff diff = {.arena = out->arena};
    split(diff.arena, before, &diff.before);
    split(diff.arena, after, &diff.after);
    find_changes(&diff);
    if (!diff.changes.count)
        return;
    const char *name = patch_name(out->arena, path);
    buffer_format(out, "--- a/%s\n+++ b/%s\n", name, name);
    for (size_t first = 0; first < diff.changes.count;) {
        size_t last = first;
        while (last + 1 < diff.changes.count &&
               diff.changes.items[last + 1].old_at -
                       (diff.changes.items[last].old_at + diff.changes.items[last].taken) <=
                   2 * CONTEXT)
            last++;
        add_hunk(out, &diff, first, last);
        first = last + 1;
    }
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
