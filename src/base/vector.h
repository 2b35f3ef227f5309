/* Growing arrays of any type, in an arena.
 *
 *     struct { struct cutter *items; size_t count, capacity; } cutters = {0};
 *     VECTOR_ADD(arena, &cutters, one);
 *
 * Any struct with these three members will do.  Growth doubles, and the array
 * that was outgrown stays in the arena.
 */
#ifndef PROVEOUT_BASE_VECTOR_H
#define PROVEOUT_BASE_VECTOR_H

#include "base/arena.h"

/* A larger copy of `items`; `*capacity` is set to its room. */
void *vector_grow(struct arena *arena, const void *items, size_t count, size_t size,
                  size_t *capacity);

#define VECTOR(type)                                                                           \
    struct {                                                                                   \
        type *items;                                                                           \
        size_t count, capacity;                                                                \
    }

#define VECTOR_ADD(arena, vector, ...)                                                         \
    do {                                                                                       \
        if ((vector)->count == (vector)->capacity)                                             \
            (vector)->items = vector_grow((arena), (vector)->items, (vector)->count,           \
                                          sizeof *(vector)->items, &(vector)->capacity);       \
        (vector)->items[(vector)->count++] = __VA_ARGS__;                                      \
    } while (0)

#endif
