/* A sheet, and what it would be now. */
#include <stdlib.h>

#include "wall/claims.h"

/* One claim of either side. */
struct side {
    const struct wall_claim *claim;
    size_t order;
    bool now;
};

/* Those of one name together, of one value beside each other. */
static int compare(const void *a, const void *b)
{
    const struct side *one = a, *other = b;
    int order = (one->claim->finding > other->claim->finding) -
                (one->claim->finding < other->claim->finding);
    if (!order)
        order = strcmp(one->claim->name, other->claim->name);
    if (!order)
        order = strcmp(one->claim->value, other->claim->value);
    if (!order)
        order = one->now - other->now;
    return order ? order : (one->order > other->order) - (one->order < other->order);
}

static bool is_same_name(const struct side *one, const struct side *other)
{
    return one->claim->finding == other->claim->finding &&
           strcmp(one->claim->name, other->claim->name) == 0;
}

static bool is_same_value(const struct side *one, const struct side *other)
{
    return is_same_name(one, other) && strcmp(one->claim->value, other->claim->value) == 0;
}

/* A difference with its place in the order in which it is told. */
struct told {
    struct sheet_difference difference;
    size_t order;
};

static int compare_told(const void *a, const void *b)
{
    const struct told *one = a, *other = b;
    return (one->order > other->order) - (one->order < other->order);
}

struct comparing {
    struct arena *arena;
    size_t now_count;
    VECTOR(struct told) told;
};

/* `then` or `now` NULL: it is not there. */
static void add(struct comparing *comparing, const struct side *then, const struct side *now)
{
    const struct wall_claim *claim = now ? now->claim : then->claim;
    VECTOR_ADD(comparing->arena, &comparing->told,
               (struct told){.difference = {.finding = claim->finding,
                                            .name = claim->name,
                                            .then = then ? then->claim->value : NULL,
                                            .now = now ? now->claim->value : NULL,
                                            .line = now ? now->claim->line : 0},
                             .order = now ? now->order : comparing->now_count + then->order});
}

/* Those of one name that are left: pairs have changed, the rest is new or gone. */
static void add_name(struct comparing *comparing, const struct side *sides, size_t count)
{
    size_t then = 0, now = 0;
    for (;;) {
        while (then < count && sides[then].now)
            then++;
        while (now < count && !sides[now].now)
            now++;
        if (then == count && now == count)
            return;
        add(comparing, then < count ? &sides[then] : NULL, now < count ? &sides[now] : NULL);
        then += then < count;
        now += now < count;
    }
}

/* Takes out what both have, one for one; returns how many are left. */
static size_t take_out_same(struct side *sides, size_t count)
{
    size_t left = 0;
    for (size_t i = 0, end; i < count; i = end) {
        size_t then = 0;
        for (end = i; end < count && is_same_value(&sides[i], &sides[end]); end++)
            then += !sides[end].now;
        size_t now = end - i - then, both = then < now ? then : now;
        for (size_t k = i + both; k < i + then; k++)
            sides[left++] = sides[k];
        for (size_t k = i + then + both; k < end; k++)
            sides[left++] = sides[k];
    }
    return left;
}

void wall_compare(struct arena *arena, const struct wall_claims *then,
                  const struct wall_claims *now, struct sheet_comparison *out)
{
    size_t count = then->items.count + now->items.count;
    struct side *sides = ARENA_ARRAY(arena, struct side, count + 1);
    for (size_t i = 0; i < then->items.count; i++)
        sides[i] = (struct side){&then->items.items[i], i, false};
    for (size_t i = 0; i < now->items.count; i++)
        sides[then->items.count + i] = (struct side){&now->items.items[i], i, true};
    struct comparing comparing = {.arena = arena, .now_count = now->items.count};
    if (count)
        qsort(sides, count, sizeof *sides, compare);
    count = take_out_same(sides, count);
    for (size_t i = 0, end; i < count; i = end) {
        for (end = i; end < count && is_same_name(&sides[i], &sides[end]);)
            end++;
        add_name(&comparing, sides + i, end - i);
    }
    if (comparing.told.count)
        qsort(comparing.told.items, comparing.told.count, sizeof(struct told), compare_told);
    struct sheet_difference *items =
        ARENA_ARRAY(arena, struct sheet_difference, comparing.told.count + 1);
    for (size_t i = 0; i < comparing.told.count; i++)
        items[i] = comparing.told.items[i].difference;
    *out = (struct sheet_comparison){
        .then = then->state, .now = now->state, .items = items, .count = comparing.told.count};
}
