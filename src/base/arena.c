#include "base/arena.h"

#include "base/bug.h"
#include "base/vector.h"

#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

struct arena_block {
    /* so aligned that the room behind is, whatever the size of a pointer */
    _Alignas(max_align_t) struct arena_block *older;
    size_t size; /* of the room that follows the header */
};

struct arena_guest {
    struct arena_guest *older;
    void (*end)(void *guest);
    void *guest;
};

enum {
    ALIGNMENT = _Alignof(max_align_t),
    FIRST_BLOCK = 16 * 1024,
    LARGEST_STEP = 4 * 1024 * 1024,
    CLEARED_BLOCK = 64 * 1024,
};

void arena_init(struct arena *arena, const struct arena_host *host)
{
    *arena = (struct arena){.host = host, .block_size = FIRST_BLOCK};
}

void arena_exhausted(const struct arena *arena)
{
    if (arena->host)
        arena->host->out_of_memory(arena->host->user);
    BUG("out of memory, and nobody to tell");
}

static void add_block(struct arena *arena, size_t least)
{
    size_t size = arena->block_size;
    if (size < least)
        size = least;
    else if (arena->block_size < LARGEST_STEP)
        arena->block_size *= 2;
    struct arena_block *block = malloc(sizeof *block + size);
    if (!block)
        arena_exhausted(arena);
    block->older = arena->blocks;
    block->size = size;
    arena->blocks = block;
    arena->next = (char *)(block + 1);
    arena->end = arena->next + size;
}

static size_t aligned(const struct arena *arena, size_t size)
{
    if (size > SIZE_MAX - ALIGNMENT - sizeof(struct arena_block))
        arena_exhausted(arena);
    return (size + ALIGNMENT - 1) & ~(size_t)(ALIGNMENT - 1);
}

void *arena_alloc(struct arena *arena, size_t size)
{
    size = aligned(arena, size);
    if (!arena->blocks || size > (size_t)(arena->end - arena->next))
        add_block(arena, size);
    void *room = arena->next;
    arena->next += size;
    return room;
}

/* A cleared block that holds `size` bytes and nothing else, behind the newest, whose room is
 * used on.  Of what the system hands out cleared, the pages that are never written take no
 * memory. */
static void *cleared_block(struct arena *arena, size_t size)
{
    size = aligned(arena, size);
    struct arena_block *block = calloc(1, sizeof *block + size);
    if (!block)
        arena_exhausted(arena);
    block->size = size;
    if (arena->blocks) {
        block->older = arena->blocks->older;
        arena->blocks->older = block;
    } else {
        arena->blocks = block;
        arena->next = arena->end = (char *)(block + 1) + size;
    }
    return block + 1;
}

void *arena_zero(struct arena *arena, size_t count, size_t size)
{
    size_t total;
    if (__builtin_mul_overflow(count, size, &total))
        arena_exhausted(arena);
    if (total >= CLEARED_BLOCK)
        return cleared_block(arena, total);
    return memset(arena_alloc(arena, total), 0, total);
}

/* The link to the block that holds `size` bytes at `room` and nothing else; NULL: none does. */
static struct arena_block **block_of(struct arena *arena, const void *room, size_t size)
{
    struct arena_block **link = &arena->blocks;
    while (*link && (const void *)(*link + 1) != room)
        link = &(*link)->older;
    return *link && (*link)->size == size ? link : NULL;
}

void *arena_grow(struct arena *arena, void *old, size_t old_size, size_t kept, size_t size)
{
    size = aligned(arena, size);
    struct arena_block **link =
        old_size >= FIRST_BLOCK ? block_of(arena, old, aligned(arena, old_size)) : NULL;
    if (!link) {
        void *room = arena_alloc(arena, size);
        return kept ? memcpy(room, old, kept) : room;
    }
    bool newest = link == &arena->blocks;
    struct arena_block *block = realloc(*link, sizeof *block + size);
    if (!block)
        arena_exhausted(arena);
    block->size = size;
    *link = block;
    if (newest)
        arena->next = arena->end = (char *)(block + 1) + size;
    return block + 1;
}

char *arena_copy(struct arena *arena, const void *bytes, size_t size)
{
    if (size == SIZE_MAX)
        arena_exhausted(arena);
    char *copy = arena_alloc(arena, size + 1);
    if (size)
        memcpy(copy, bytes, size);
    copy[size] = '\0';
    return copy;
}

void arena_guest_add(struct arena *arena, void (*end)(void *guest), void *guest)
{
    struct arena_guest *new = arena_alloc(arena, sizeof *new);
    *new = (struct arena_guest){arena->guests, end, guest};
    arena->guests = new;
}

void arena_guest_end(struct arena *arena, const void *guest)
{
    struct arena_guest **link = &arena->guests;
    while ((*link)->guest != guest)
        link = &(*link)->older;
    struct arena_guest *found = *link;
    *link = found->older;
    found->end(found->guest);
}

static void end_guests(struct arena *arena)
{
    for (struct arena_guest *guest; (guest = arena->guests);) {
        arena->guests = guest->older;
        guest->end(guest->guest);
    }
}

static void end_arena(void *guest)
{
    arena_free(guest);
}

struct arena *arena_new_within(struct arena *arena)
{
    struct arena *within = ARENA_NEW(arena, struct arena);
    arena_init(within, arena->host);
    arena_guest_add(arena, end_arena, within);
    return within;
}

static void free_all_but(struct arena *arena, const struct arena_block *kept)
{
    for (struct arena_block *block = arena->blocks; block;) {
        struct arena_block *older = block->older;
        if (block != kept)
            free(block);
        block = older;
    }
}

void arena_reset(struct arena *arena)
{
    end_guests(arena);
    struct arena_block *largest = arena->blocks;
    for (struct arena_block *block = arena->blocks; block; block = block->older)
        if (block->size > largest->size)
            largest = block;
    if (!largest)
        return;
    free_all_but(arena, largest);
    largest->older = NULL;
    arena->blocks = largest;
    arena->next = (char *)(largest + 1);
    arena->end = arena->next + largest->size;
}

void arena_free(struct arena *arena)
{
    end_guests(arena);
    free_all_but(arena, NULL);
    arena_init(arena, arena->host);
}

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
