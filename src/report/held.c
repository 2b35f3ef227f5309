/* Lines held back, the least left out. */
#include "report/held.h"

#include <string.h>

#include "base/bug.h"
#include "base/vector.h"

enum { GRAVITIES = 10, SLACK = 2 }; /* how many times the limit is held before it is enforced */

struct held_line {
    struct view text; /* without its two bytes */
    unsigned gravity;
    char part;
};

struct held_lines {
    struct held_line *items;
    size_t count, capacity;
};

struct report_held {
    const struct report_limit *limit;
    struct arena *arena; /* of what is held now */
    struct arena *other; /* empty, for what stays of it */
    struct held_lines lines;
    size_t bytes;
    unsigned full;        /* lines as light as this, or lighter, find no room any more */
    size_t left_out[256]; /* of each part */
};

struct report_held *report_held_new(struct arena *arena, const struct report_output *output)
{
    if (!output->writer->limit)
        return NULL;
    struct report_held *held = ARENA_NEW(arena, struct report_held);
    held->limit = output->writer->limit;
    held->full = GRAVITIES;
    held->arena = arena_new_within(arena);
    held->other = arena_new_within(arena);
    return held;
}

/* How many lines of a gravity fit, after all that are graver. */
static void share_room(struct report_held *held, size_t room[GRAVITIES])
{
    size_t lines = held->limit->lines, bytes = held->limit->bytes;
    memset(room, 0, GRAVITIES * sizeof *room);
    for (unsigned gravity = 0; gravity < GRAVITIES; gravity++)
        for (size_t i = 0; i < held->lines.count; i++) {
            const struct held_line *line = &held->lines.items[i];
            if (line->gravity != gravity)
                continue;
            if (!lines || line->text.size > bytes) {
                held->full = gravity;
                return;
            }
            lines--;
            bytes -= line->text.size;
            room[gravity]++;
        }
}

/* Once a line does not fit, no lesser one is taken: what stays is the beginning of all that
 * came, in order of gravity, whenever this is done. */
static void enforce(struct report_held *held)
{
    size_t room[GRAVITIES], count = held->lines.count;
    struct held_line *lines = held->lines.items;
    if (count <= held->limit->lines && held->bytes <= held->limit->bytes)
        return;
    share_room(held, room);
    struct arena *fresh = held->other;
    struct held_lines kept = {0};
    held->bytes = 0;
    for (size_t i = 0; i < count; i++) {
        struct held_line line = lines[i];
        if (!room[line.gravity]) {
            held->left_out[(unsigned char)line.part]++;
            continue;
        }
        room[line.gravity]--;
        held->bytes += line.text.size;
        line.text.data = arena_copy(fresh, line.text.data, line.text.size);
        VECTOR_ADD(fresh, &kept, line);
    }
    held->other = held->arena;
    held->arena = fresh;
    held->lines = kept;
    arena_reset(held->other);
}

void report_hold(struct report_held *held, struct view text)
{
    while (text.size) {
        const char *end = memchr(text.data, '\n', text.size);
        size_t size = end ? (size_t)(end - text.data) : text.size;
        BUG_UNLESS(size >= 2 && text.data[0] >= '0' && text.data[0] <= '9');
        const struct held_line line = {
            {arena_copy(held->arena, text.data + 2, size - 2), size - 2},
            (unsigned)(text.data[0] - '0'),
            text.data[1]};
        text = view_skip(text, size + (end != NULL));
        if (line.gravity >= held->full) {
            held->left_out[(unsigned char)line.part]++;
            continue;
        }
        VECTOR_ADD(held->arena, &held->lines, line);
        held->bytes += line.text.size;
        if (held->lines.count > SLACK * held->limit->lines ||
            held->bytes > SLACK * held->limit->bytes)
            enforce(held);
    }
}

bool held_next(const struct report_held *held, char part, size_t *at, struct view *line)
{
    while (*at < held->lines.count) {
        const struct held_line *next = &held->lines.items[(*at)++];
        *line = next->text;
        if (next->part == part)
            return true;
    }
    return false;
}

size_t held_left_out(struct report_held *held, char part)
{
    enforce(held);
    return held->left_out[(unsigned char)part];
}
