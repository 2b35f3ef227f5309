/* The set with the fewest changes: two numbers that are changed are sooner right than nine. */
#include <math.h>

#include "propose/internal.h"

enum {
    TRIED_MAX = 400, /* sets that are looked at */
    FEW_MAX = 3      /* changes in such a set */
};

/* The next subset of `size` among `count`, as rising indices; false after the last. */
static bool next_subset(size_t *items, size_t size, size_t count)
{
    for (size_t i = size; i-- > 0;) {
        if (items[i] + (size - i) >= count)
            continue;
        items[i]++;
        for (size_t later = i + 1; later < size; later++)
            items[later] = items[later - 1] + 1;
        return true;
    }
    return false;
}

/* Tries this set of numbers; true where everything holds with them alone changed. */
static bool try_few(struct finder *finder, const bool *moves, struct proposed_set *out)
{
    struct margins *margins = &finder->margins;
    size_t count = margins->knob_count;
    const char **texts = ARENA_ARRAY(margins->arena, const char *, count + 1);
    struct sought found;
    seek_greatest(margins, moves, finder->now, &found);
    if (found.least < SEEK_HOLDS)
        return false;
    seek_nearest(margins, moves, finder->weights, found.least * (1 - GIVEN_UP), &found);
    if (!round_numbers(margins, &found, texts))
        return false;
    tell_set(finder, &found, texts, out);
    return out->count > 0;
}

/* Of all sets with so many changes the one that is foretold the greatest least margin. */
static bool best_few(struct finder *finder, size_t size, double *slopes, size_t *tried,
                     bool *moves)
{
    struct margins *margins = &finder->margins;
    size_t count = margins->knob_count, items[FEW_MAX];
    bool *asked = ARENA_ARRAY(margins->arena, bool, count + 1);
    double most = -HUGE_VAL;
    for (size_t i = 0; i < size; i++)
        items[i] = i;
    do {
        memset(asked, 0, count * sizeof *asked);
        for (size_t i = 0; i < size; i++)
            asked[items[i]] = finder->moves[items[i]];
        double least = seek_foretell(margins, asked, finder->now, slopes);
        if (least > most) {
            most = least;
            memcpy(moves, asked, count * sizeof *moves);
        }
    } while (++*tried < TRIED_MAX && next_subset(items, size, count));
    return most >= SEEK_HOLDS;
}

void find_fewest(struct finder *finder)
{
    struct margins *margins = &finder->margins;
    struct proposal *out = finder->out;
    size_t count = margins->knob_count, tried = 0;
    double *slopes = ARENA_ARRAY(margins->arena, double, margins->stake_count *count + 1);
    bool *moves = ARENA_ARRAY(margins->arena, bool, count + 1);
    out->fewest = out->widest;
    for (size_t size = 1; size <= FEW_MAX && size < out->widest.count; size++) {
        margins_slopes(margins, NULL, finder->now, slopes);
        if (tried < TRIED_MAX && best_few(finder, size, slopes, &tried, moves) &&
            try_few(finder, moves, &out->fewest))
            return;
        out->fewest = out->widest;
    }
}
