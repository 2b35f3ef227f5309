/* Arenas: memory that is given back all at once.
 *
 * Three lifetimes use one arena each: the rulebooks (built once, then only
 * read), one checked file, and one question or rule ("scratch").  Nothing is
 * freed piece by piece.  A thing in an arena may point to one of longer life,
 * never of shorter.
 *
 * Lack of memory is not a status that every caller passes on: it goes to the
 * handler named when the arena is made, which must not return.  An arena is
 * used by one thread at a time.
 */
#ifndef PROVEOUT_BASE_ARENA_H
#define PROVEOUT_BASE_ARENA_H

#include <stddef.h>

/* Called when memory runs out; must not return (exit, or longjmp). */
struct arena_host {
    void (*out_of_memory)(void *user);
    void *user;
};

struct arena {
    struct arena_block *blocks;    /* newest first */
    char *next, *end;              /* free room in the newest block */
    const struct arena_host *host; /* outlives the arena */
    size_t block_size;             /* size of the next block, grows */
    struct arena_guest *guests;    /* newest first */
};

/* Makes `arena` empty; allocates nothing yet.  `host` NULL: abort on lack of memory. */
void arena_init(struct arena *arena, const struct arena_host *host);

/* `size` bytes aligned for any type, not cleared.  Never NULL.  Lives as long as the arena. */
void *arena_alloc(struct arena *arena, size_t size);

/* The same, for `count` objects of `size` bytes, cleared to zero; overflow counts as lack
 * of memory. */
void *arena_zero(struct arena *arena, size_t count, size_t size);

/* `size` bytes that begin with the `kept` at `old`, which came from this arena with room for
 * `old_size` and is not used any more: where it is large, it is given back. */
void *arena_grow(struct arena *arena, void *old, size_t old_size, size_t kept, size_t size);

/* A copy of `size` bytes with a NUL after it. */
char *arena_copy(struct arena *arena, const void *bytes, size_t size);

/* Gives back all but the largest block and starts over; what was in it is gone. */
void arena_reset(struct arena *arena);

/* Gives everything back.  The arena may be used again, as after arena_init. */
void arena_free(struct arena *arena);

/* Something that is not made of the arena's memory ends with what is: `end` is told when the
 * arena is freed or reset, whoever has not come back by then, and at the latest by
 * arena_guest_end.  Taken in before it holds anything, it is not lost where memory runs out. */
void arena_guest_add(struct arena *arena, void (*end)(void *guest), void *guest);
void arena_guest_end(struct arena *arena, const void *guest);

/* An arena within another, with the same host, that ends with it. */
struct arena *arena_new_within(struct arena *arena);

/* Reports lack of memory to the arena's host, for allocations that libraries make. */
_Noreturn void arena_exhausted(const struct arena *arena);

/* One zeroed object, and an array of `count` zeroed objects, of `type`. */
#define ARENA_NEW(arena, type)          ((type *)arena_zero((arena), 1, sizeof(type)))
#define ARENA_ARRAY(arena, type, count) ((type *)arena_zero((arena), (count), sizeof(type)))

#endif
