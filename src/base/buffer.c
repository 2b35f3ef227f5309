#include "base/buffer.h"

#include "base/bug.h"

#include <stdint.h>
#include <stdio.h>

enum { ROOM = 256 }; /* nearly every text fits into it */

void buffer_init(struct buffer *buffer, struct arena *arena)
{
    *buffer = (struct buffer){.arena = arena};
}

/* Room for `more` bytes and the terminator. */
static void reserve(struct buffer *buffer, size_t more)
{
    if (more >= SIZE_MAX / 4 - buffer->size)
        arena_exhausted(buffer->arena);
    size_t needed = buffer->size + more + 1;
    if (needed <= buffer->capacity)
        return;
    size_t capacity = buffer->capacity ? buffer->capacity * 2 : 64;
    if (capacity < needed)
        capacity = needed;
    buffer->data =
        arena_grow(buffer->arena, buffer->data, buffer->capacity, buffer->size, capacity);
    buffer->data[buffer->size] = '\0';
    buffer->capacity = capacity;
}

void buffer_add(struct buffer *buffer, struct view text)
{
    reserve(buffer, text.size);
    if (text.size)
        memcpy(buffer->data + buffer->size, text.data, text.size);
    buffer->size += text.size;
    buffer->data[buffer->size] = '\0';
}

void buffer_text(struct buffer *buffer, const char *text)
{
    buffer_add(buffer, view_of(text));
}

void buffer_byte(struct buffer *buffer, char byte)
{
    reserve(buffer, 1);
    buffer->data[buffer->size++] = byte;
    buffer->data[buffer->size] = '\0';
}

void buffer_fill(struct buffer *buffer, char byte, size_t count)
{
    reserve(buffer, count);
    memset(buffer->data + buffer->size, byte, count);
    buffer->size += count;
    buffer->data[buffer->size] = '\0';
}

void buffer_format_list(struct buffer *buffer, const char *format, va_list arguments)
{
    BUG_UNLESS(format); /* or gcc's sanitizers see a way for it to be missing */
    va_list again;
    va_copy(again, arguments);
    reserve(buffer, 0);
    size_t room = buffer->capacity - buffer->size;
    int size = vsnprintf(buffer->data + buffer->size, room, format, arguments);
    BUG_UNLESS(size >= 0);
    if ((size_t)size >= room) {
        reserve(buffer, (size_t)size);
        vsnprintf(buffer->data + buffer->size, (size_t)size + 1, format, again);
    }
    va_end(again);
    buffer->size += (size_t)size;
}

void buffer_format(struct buffer *buffer, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    buffer_format_list(buffer, format, arguments);
    va_end(arguments);
}

const char *buffer_string(struct buffer *buffer)
{
    reserve(buffer, 0);
    return buffer->data;
}

struct view buffer_view(const struct buffer *buffer)
{
    return (struct view){buffer->data, buffer->size};
}

char *arena_format(struct arena *arena, const char *format, ...)
{
    char room[ROOM]; /* so that what lies in the arena is no longer than the text */
    va_list arguments;
    va_start(arguments, format);
    int size = vsnprintf(room, sizeof room, format, arguments);
    va_end(arguments);
    BUG_UNLESS(size >= 0);
    if ((size_t)size < sizeof room)
        return arena_copy(arena, room, (size_t)size);
    char *text = arena_alloc(arena, (size_t)size + 1);
    va_start(arguments, format);
    vsnprintf(text, (size_t)size + 1, format, arguments);
    va_end(arguments);
    return text;
}
