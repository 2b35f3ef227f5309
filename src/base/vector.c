#include "base/vector.h"

#include <stdint.h>
#include <string.h>

void *vector_grow(struct arena *arena, const void *items, size_t count, size_t size,
                  size_t *capacity)
{
    size_t room = count ? count * 2 : 8;
    if (room > SIZE_MAX / size / 2)
        arena_exhausted(arena);
    void *larger = arena_alloc(arena, room * size);
    if (count)
        memcpy(larger, items, count * size);
    *capacity = room;
    return larger;
}
