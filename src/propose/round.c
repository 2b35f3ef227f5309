#include "propose/internal.h"

#include <math.h>

#include "quantity/number.h"
#include "quantity/quantity.h"
#include "rules/search.h"

enum { FINER_MAX = 4, PASSES = 20 };

/* What differs by less than this part of a step does not differ. */
#define SAME 1e-6

/* So much of the least margin is kept, where finer steps would keep more. */
#define KEPT 0.9

/* What is rounded. */
struct rounding {
    struct margins *margins;
    double *x;
    const char **texts;
    double *counts; /* of steps */
    double part;    /* of a step that people set: 1, 0.1 ... */
};

static double step_in_unit(const struct rounding *rounding, size_t k)
{
    const struct knob *knob = &rounding->margins->knobs[k];
    unit_id unit = knob->value->unit;
    double now = unit_from_si(unit, field_table[knob->place.field].dimension, knob->now);
    double step = window_step(unit, now);
    /* Nobody reads a part of a 64th: then it is thousandths. */
    return rounding->part < 1 ? number_decade(step, 0) * rounding->part : step;
}

/* Puts so many steps; false, and nothing put, where they lie beyond what the number may be. */
static bool put(struct rounding *rounding, size_t k, double count)
{
    const struct knob *knob = &rounding->margins->knobs[k];
    struct dimension dimension = field_table[knob->place.field].dimension;
    struct quantity quantity;
    struct quantity_trouble trouble;
    const char *text = window_typed(rounding->margins->arena, knob->value->unit, dimension,
                                    count, step_in_unit(rounding, k));
    if (quantity_read(view_of(text), dimension, &quantity, &trouble) != QUANTITY_OK ||
        quantity.si < knob->low || quantity.si > knob->high)
        return false;
    rounding->counts[k] = count;
    rounding->texts[k] = text;
    rounding->x[k] = quantity.si;
    return true;
}

/* To the nearest number of steps, or the next that may be. */
static bool put_nearest(struct rounding *rounding, size_t k, double si)
{
    const struct knob *knob = &rounding->margins->knobs[k];
    struct dimension dimension = field_table[knob->place.field].dimension;
    double exact = unit_from_si(knob->value->unit, dimension, si) / step_in_unit(rounding, k);
    double nearest = round(exact), other = nearest > exact ? floor(exact) : ceil(exact);
    return put(rounding, k, nearest) || put(rounding, k, other);
}

/* One step more or less, where the least margin grows with it. */
static bool improve(struct rounding *rounding, size_t k, double *least)
{
    double kept = rounding->counts[k];
    for (int side = -1; side <= 1; side += 2) {
        double there = put(rounding, k, kept + side) ? seek_ask(rounding->margins, rounding->x)
                                                     : -HUGE_VAL;
        if (there > *least) {
            *least = there;
            return true;
        }
    }
    return !put(rounding, k, kept); /* which it was before: that can be put */
}

/* All at steps of this part; the least margin there. */
static double round_all(struct rounding *rounding, const struct sought *exact)
{
    size_t count = rounding->margins->knob_count;
    for (size_t k = 0; k < count; k++) {
        const struct knob *knob = &rounding->margins->knobs[k];
        rounding->texts[k] = NULL;
        rounding->x[k] = knob->now;
        if (fabs(exact->x[k] - knob->now) > SAME * knob->step &&
            !put_nearest(rounding, k, exact->x[k]))
            return -HUGE_VAL;
    }
    double least = seek_ask(rounding->margins, rounding->x);
    bool moved = true;
    for (int pass = 0; pass < PASSES && moved && least < exact->least * KEPT; pass++) {
        moved = false;
        for (size_t k = 0; k < count; k++)
            if (rounding->texts[k])
                moved |= improve(rounding, k, &least);
    }
    return least;
}

bool round_numbers(struct margins *margins, struct sought *inout, const char **texts)
{
    size_t count = margins->knob_count;
    struct arena *arena = margins->arena;
    double *best = ARENA_ARRAY(arena, double, count + 1), most = -HUGE_VAL;
    struct rounding rounding = {.margins = margins,
                                .x = ARENA_ARRAY(arena, double, count + 1),
                                .texts = ARENA_ARRAY(arena, const char *, count + 1),
                                .counts = ARENA_ARRAY(arena, double, count + 1),
                                .part = 1};
    for (int finer = 0; finer < FINER_MAX && most < inout->least * KEPT;
         finer++, rounding.part /= 10) {
        double least = round_all(&rounding, inout);
        if (least <= most)
            continue;
        most = least;
        memcpy(best, rounding.x, count * sizeof *best);
        memcpy(texts, rounding.texts, count * sizeof *texts);
    }
    if (most < 0)
        return false;
    memcpy(inout->x, best, count * sizeof *best);
    inout->least = most;
    return true;
}

/* One number after another. */

/* A number that a search came to lies as near as this part of a step to the whole one that it
 * means. */
#define MEANT 1e-4

enum { ABOUT = 4 /* steps about a number */ };

struct walk {
    struct rounding rounding;
    const struct stepwise *how;
    bool *moves; /* those that are still free */
    struct sought at;
    int finer; /* the coarsest steps that are tried: the part is 10 to minus this */
};

static bool stands(struct walk *walk, struct sought *inout)
{
    inout->least = seek_ask(walk->rounding.margins, inout->x);
    return inout->least >= walk->how->enough;
}

/* Lets the free ones give way where something fails with x; false where that is not enough. */
static bool give_way(struct walk *walk, struct sought *inout)
{
    if (!stands(walk, inout))
        seek_least(walk->rounding.margins, walk->moves, walk->how->goal, SEEK_SPARE, inout);
    return inout->least >= walk->how->enough;
}

/* The whole steps about a number, the nearest first.  True where that is the one it means. */
static bool steps_about(const struct rounding *rounding, size_t k, double si, double out[ABOUT])
{
    const struct knob *knob = &rounding->margins->knobs[k];
    double exact =
        unit_from_si(knob->value->unit, field_table[knob->place.field].dimension, si) /
        step_in_unit(rounding, k);
    double nearest = round(exact), side = nearest > exact ? -1 : 1;
    out[0] = nearest;
    out[1] = nearest + side;
    out[2] = nearest - side;
    out[3] = nearest + 2 * side;
    return fabs(nearest - exact) < MEANT;
}

static double value_of(const struct walk *walk, const struct sought *found)
{
    return seek_value(walk->rounding.margins, walk->how->goal, found->x);
}

/* What one number is tried at: a step about it or, behind those, what the file has.  False
 * where it may not be that. */
static bool try_at(struct walk *walk, size_t k, const double steps[ABOUT], size_t which,
                   double *x)
{
    const struct knob *knob = &walk->rounding.margins->knobs[k];
    if (which < ABOUT) {
        bool may = put(&walk->rounding, k, steps[which]);
        *x = walk->rounding.x[k];
        return may;
    }
    *x = knob->now;
    return knob->now >= knob->low && knob->now <= knob->high;
}

/* One number to steps of this size; false where none will do.  First with all others where they
 * are, unless it means a whole step. */
static bool round_to(struct walk *walk, size_t k, const char **text)
{
    struct margins *margins = walk->rounding.margins;
    const struct sought from = walk->at;
    double steps[ABOUT], best = HUGE_VAL;
    bool meant = steps_about(&walk->rounding, k, from.x[k], steps);
    for (size_t i = 0; i < 2 * (ABOUT + 1) && !(i > ABOUT && best < HUGE_VAL); i++) {
        size_t which = i % (ABOUT + 1);
        struct sought found = {
            .x = ARENA_ARRAY(margins->arena, double, margins->knob_count + 1)};
        memcpy(found.x, from.x, margins->knob_count * sizeof *found.x);
        if (!try_at(walk, k, steps, which, &found.x[k]) ||
            (i <= ABOUT && value_of(walk, &found) >= best) ||
            !(i > ABOUT || (meant && i == 0) ? give_way(walk, &found) : stands(walk, &found)))
            continue;
        double value = value_of(walk, &found);
        if (value >= best)
            continue;
        best = value;
        walk->at = found;
        *text = which < ABOUT ? walk->rounding.texts[k] : NULL;
    }
    return best < HUGE_VAL;
}

/* One number, which then moves no more; finer steps where no others will do, or where what the
 * file has lies nearer to the goal than they do. */
static bool round_one(struct walk *walk, size_t k, const char **text)
{
    const struct sought from = walk->at;
    const double part = walk->rounding.part;
    struct sought best = from;
    double least = HUGE_VAL;
    const char *finest = NULL;
    walk->moves[k] = false;
    for (int finer = walk->finer; finer < FINER_MAX && !finest; finer++) {
        walk->at = from;
        if (round_to(walk, k, text) && value_of(walk, &walk->at) < least) {
            least = value_of(walk, &walk->at);
            best = walk->at;
            finest = *text;
        }
        walk->rounding.part /= 10;
    }
    walk->rounding.part = part;
    walk->at = best;
    *text = finest;
    return least < HUGE_VAL;
}

static bool round_each(struct walk *walk, const char **texts)
{
    struct margins *margins = walk->rounding.margins;
    for (size_t k = 0; k < margins->knob_count; k++) {
        const struct knob *knob = &margins->knobs[k];
        if (!walk->how->which[k])
            continue;
        texts[k] = NULL;
        if (fabs(walk->at.x[k] - knob->now) > MEANT * knob->step) {
            if (!round_one(walk, k, &texts[k]))
                return false;
        } else {
            walk->at.x[k] = knob->now;
            walk->moves[k] = false;
        }
    }
    return give_way(walk, &walk->at);
}

bool round_stepwise(struct margins *margins, const struct stepwise *how, struct sought *inout,
                    const char **texts)
{
    size_t count = margins->knob_count;
    struct arena *arena = margins->arena;
    struct walk walk = {.rounding = {.margins = margins,
                                     .x = ARENA_ARRAY(arena, double, count + 1),
                                     .texts = ARENA_ARRAY(arena, const char *, count + 1),
                                     .counts = ARENA_ARRAY(arena, double, count + 1),
                                     .part = 1},
                        .how = how,
                        .moves = ARENA_ARRAY(arena, bool, count + 1)};
    for (; walk.finer < FINER_MAX; walk.finer++, walk.rounding.part /= 10) {
        walk.at = (struct sought){ARENA_ARRAY(arena, double, count + 1), inout->least};
        memcpy(walk.at.x, inout->x, count * sizeof *inout->x);
        memcpy(walk.moves, how->moves, count * sizeof *how->moves);
        if (!round_each(&walk, texts))
            continue;
        *inout = walk.at;
        return true;
    }
    return false;
}
