#include "propose/round.h"

#include <math.h>

#include "quantity/number.h"
#include "quantity/quantity.h"
#include "rules/window.h"

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
