/* Headers are read leniently where that can mean one thing only: any case, blanks around, a
 * bare line feed, headers that say nothing of the length.  Whatever leaves the length open ends
 * it all, since the next message could begin anywhere.
 */
#include "server/frame.h"

#include <stdint.h>

enum { KEPT_ROOM = 1024 * 1024 }; /* of bytes that have been taken */

void frames_init(struct frames *frames, const struct arena_host *host)
{
    *frames = (struct frames){0};
    arena_init(&frames->arena, host);
}

void frames_free(struct frames *frames)
{
    arena_free(&frames->arena);
}

static size_t smaller(size_t a, size_t b)
{
    return a < b ? a : b;
}

/* Drops what has been taken, and after a long message its room. */
static void drop_taken(struct frames *frames)
{
    size_t left = frames->size - frames->at;
    if (!left && frames->room > KEPT_ROOM) {
        arena_reset(&frames->arena);
        frames->bytes = NULL;
        frames->room = 0;
    } else if (left && frames->at) {
        memmove(frames->bytes, frames->bytes + frames->at, left);
    }
    frames->size = left;
    frames->at = 0;
}

void frames_add(struct frames *frames, struct view bytes)
{
    size_t skipped = smaller(frames->skipped, bytes.size);
    frames->skipped -= skipped;
    bytes = view_skip(bytes, skipped);
    if (!bytes.size || frames->is_broken)
        return;
    drop_taken(frames);
    if (bytes.size > frames->room - frames->size) {
        size_t room = (frames->size + bytes.size) * 2;
        frames->bytes =
            arena_grow(&frames->arena, frames->bytes, frames->room, frames->size, room);
        frames->room = room;
    }
    memcpy(frames->bytes + frames->size, bytes.data, bytes.size);
    frames->size += bytes.size;
}

static bool is_called(struct view name, const char *small)
{
    size_t size = strlen(small);
    for (size_t i = 0; i < size && name.size == size; i++)
        if (letter_lower(name.data[i]) != small[i])
            return false;
    return name.size == size;
}

/* False: not a number, or one beyond all measure. */
static bool read_length(struct view text, size_t *length)
{
    size_t sum = 0;
    for (size_t i = 0; i < text.size; i++) {
        if (text.data[i] < '0' || text.data[i] > '9' || sum > SIZE_MAX / 16)
            return false;
        sum = sum * 10 + (size_t)(text.data[i] - '0');
    }
    *length = sum;
    return text.size > 0;
}

/* The text in which all of JSON comes here; another one nobody could read. */
static bool is_utf8(struct view type)
{
    for (struct view rest = type; rest.size;) {
        struct view part = view_trim(view_take(&rest, ';'));
        struct view name = view_trim(view_take(&part, '='));
        part = view_trim(part);
        if (part.size >= 2 && part.data[0] == '"' && part.data[part.size - 1] == '"')
            part = (struct view){part.data + 1, part.size - 2};
        if (is_called(name, "charset") && !is_called(part, "utf-8") && !is_called(part, "utf8"))
            return false;
    }
    return true;
}

struct headers {
    bool has_length;
    size_t length;
};

static bool read_header(struct view line, struct headers *headers)
{
    struct view value = line, name = view_take(&value, ':');
    if (name.size == line.size)
        return false;
    name = view_trim(name);
    value = view_trim(value);
    if (is_called(name, "content-type"))
        return is_utf8(value);
    if (!is_called(name, "content-length"))
        return name.size > 0;
    size_t length;
    if (!read_length(value, &length) || (headers->has_length && headers->length != length))
        return false;
    *headers = (struct headers){true, length};
    return true;
}

/* Reads headers up to the empty line; `*rest` is what stands behind it then. */
static enum frame_status read_headers(struct view *rest, struct headers *headers)
{
    struct view bytes = *rest;
    for (bool any = false;;) {
        size_t most = smaller(bytes.size, FRAME_HEADERS_MAX);
        bool is_whole = most && memchr(bytes.data, '\n', most);
        if (!is_whole || rest->size - bytes.size > FRAME_HEADERS_MAX)
            return rest->size > FRAME_HEADERS_MAX ? FRAME_BROKEN : FRAME_MORE;
        struct view line = view_take(&bytes, '\n');
        if (line.size && line.data[line.size - 1] == '\r')
            line.size--;
        if (!line.size && headers->has_length) {
            *rest = bytes;
            return FRAME_BODY;
        }
        /* Empty lines before the first header harm nobody. */
        if (line.size ? !read_header(line, headers) : any)
            return FRAME_BROKEN;
        any |= line.size > 0;
    }
}

enum frame_status frames_take(struct frames *frames, struct view *body)
{
    if (frames->is_broken)
        return FRAME_BROKEN;
    struct view rest = {frames->bytes ? frames->bytes + frames->at : "",
                        frames->size - frames->at};
    struct headers headers = {0};
    enum frame_status status = read_headers(&rest, &headers);
    frames->is_broken = status == FRAME_BROKEN;
    if (status != FRAME_BODY)
        return status;
    if (headers.length > FRAME_BODY_MAX) {
        size_t there = smaller(rest.size, headers.length);
        frames->skipped = headers.length - there;
        frames->at = frames->size - (rest.size - there);
        return FRAME_TOO_LARGE;
    }
    if (rest.size < headers.length)
        return FRAME_MORE;
    *body = (struct view){rest.data, headers.length};
    frames->at = frames->size - (rest.size - headers.length);
    return FRAME_BODY;
}
