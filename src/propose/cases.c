#include "propose/seek.h"


#include <math.h>

/* Where along a travel it is looked from.  At the ends, since what is free beside the work may
 * be a narrow strip; the last two lie beyond. */
static const double marks[] = {0, 1.0 / 6, 0.5, 5.0 / 6, 1, -0.5, 1.5};

enum { MARKS = sizeof marks / sizeof *marks, WITHIN = MARKS - 2 };

/* Farther away only what is better by this part. */
#define BETTER 0.005

/* A place to search from. */
struct start {
    double along[2]; /* of the travel */
    bool high;       /* with all heights at the top of it, and if `beyond` as high as may be */
    bool beyond;
};

/* The axis along which a position of a change lies; AXES where it is none. */
enum { AXES = 3 };

static uint32_t axis_of(const struct knob *knob)
{
    switch (knob->place.field) {
    case FIELD_CHANGE_PARK_X:
        return 0;
    case FIELD_CHANGE_PARK_Y:
        return 1;
    case FIELD_CHANGE_PARK_Z:
    case FIELD_CHANGE_TRAVERSE_Z:
        return 2;
    default:
        return AXES;
    }
}

/* NULL: there is no such axis, or its travel is not known. */
static const struct field_value *travel_of(const struct margins *margins, uint32_t axis)
{
    const struct field_value *travel =
        axis == AXES ? NULL : machine_field(margins->machine, FIELD_AXIS_TRAVEL, axis);
    return travel && travel->state == VALUE_GIVEN ? travel : NULL;
}

/* False where nothing moves that has a place. */
static bool put_start(const struct margins *margins, const bool *moves,
                      const struct start *start, double *x)
{
    bool moved = false;
    for (size_t k = 0; k < margins->knob_count; k++) {
        const struct knob *knob = &margins->knobs[k];
        uint32_t axis = axis_of(knob);
        const struct field_value *travel = travel_of(margins, axis);
        if (!travel || !moves[k])
            continue;
        double low = travel->pair[0].si, width = travel->pair[1].si - low;
        x[k] = axis < 2      ? low + start->along[axis] * width
               : start->high ? (start->beyond ? knob->high : low + width)
                             : knob->now;
        moved |= axis < 2 || start->high;
    }
    return moved;
}

static bool is_better(const struct sought *found, const struct sought *than)
{
    return than->least == -HUGE_VAL ? found->least > than->least
                                    : found->least > than->least + BETTER * fabs(than->least);
}

/* From one place; where lists are long with the few first, and with all only where those have
 * found something better than there is. */
static void search_start(struct margins *margins, const bool *moves, const double *from,
                         bool sparse, struct sought *best)
{
    struct sought found;
    if (sparse)
        few_gather(margins, from);
    margins->sparse = sparse;
    seek_greatest(margins, moves, from, &found);
    margins->sparse = false;
    if (sparse && is_better(&found, best)) {
        seek_greatest(margins, moves, found.x, &found);
        few_gather(margins, found.x);
    }
    if (is_better(&found, best))
        *best = found;
}

/* Where one number alone is looked at: all along the travel, or so many times what it is. */
static const double times[] = {0.0625, 0.125, 0.25, 0.5, 2, 4, 8, 16, 32};
enum { PLACES = sizeof times / sizeof *times };

static double place_of(const struct margins *margins, const struct knob *knob, int i)
{
    bool approach = knob->place.field == FIELD_CHANGE_APPROACH_Z;
    const struct field_value *travel = travel_of(margins, approach ? 2 : axis_of(knob));
    double at = (knob->now != 0 ? knob->now : knob->reach) * times[i];
    if (travel)
        at = travel->pair[0].si + (travel->pair[1].si - travel->pair[0].si) * i / (PLACES - 1);
    return fmin(fmax(at, knob->low), knob->high);
}

/* Where a margin is flat about the numbers of the file no programme sees a way, though there
 * may be one a step further: each number alone, far from there. */
static void search_alone(struct margins *margins, const bool *moves, bool sparse,
                         struct sought *out)
{
    size_t count = margins->knob_count;
    double *from = ARENA_ARRAY(margins->arena, double, count + 1);
    for (size_t k = 0; k < count; k++)
        from[k] = knob_start(&margins->knobs[k], moves[k]);
    for (size_t k = 0; k < count && out->least < SEEK_HOLDS; k++) {
        double start = from[k], best = -HUGE_VAL, at = start;
        for (int i = 0; i < PLACES && moves[k]; i++) {
            from[k] = place_of(margins, &margins->knobs[k], i);
            double least = seek_ask(margins, from);
            if (least > best) {
                best = least;
                at = from[k];
            }
        }
        from[k] = at;
        if (best > -HUGE_VAL)
            search_start(margins, moves, from, sparse, out);
        from[k] = start;
    }
}

/* `across`: how many of the marks are looked at. */
static void search_from(struct margins *margins, const bool *moves, int across, double enough,
                        struct sought *out)
{
    size_t count = margins->knob_count;
    int cells = across * across;
    double *from = ARENA_ARRAY(margins->arena, double, count + 1);
    for (size_t k = 0; k < count; k++)
        from[k] = knob_start(&margins->knobs[k], moves[k]);
    seek_greatest(margins, moves, from, out);
    bool sparse = out->least < enough && few_begin(margins);
    if (sparse)
        few_gather(margins, out->x);
    for (int i = 0; i < 2 * cells && out->least < enough; i++) {
        const struct start start = {
            {marks[i % across], marks[i % cells / across]}, i >= cells, across == MARKS};
        if (put_start(margins, moves, &start, from))
            search_start(margins, moves, from, sparse, out);
    }
    if (out->least < enough && out->least < SEEK_HOLDS)
        search_alone(margins, moves, sparse, out);
}

void cases_greatest(struct margins *margins, const bool *moves, double enough,
                    struct sought *out)
{
    search_from(margins, moves, WITHIN, enough, out);
}

bool cases_hold(struct margins *margins, const bool *moves, const struct cases_of *of,
                struct sought *out)
{
    bool *resting = ARENA_ARRAY(margins->arena, bool, margins->stake_count + 1);
    for (size_t i = 0; i < margins->stake_count; i++) {
        resting[i] = margins->stakes[i].resting;
        margins->stakes[i].resting = true;
    }
    bool *concerned = ARENA_ARRAY(margins->arena, bool, margins->knob_count + 1);
    for (size_t i = 0; i < of->count; i++) {
        size_t stake = (size_t)(of->stakes[i] - margins->stakes);
        margins->stakes[stake].resting = false;
        for (size_t k = 0; k < margins->knob_count; k++)
            concerned[k] |= moves[k] && margins->rests_on[stake * margins->knob_count + k];
    }
    search_from(margins, concerned, of->anywhere ? MARKS : WITHIN, SEEK_HOLDS, out);
    for (size_t i = 0; i < margins->stake_count; i++)
        margins->stakes[i].resting = resting[i];
    return out->least >= SEEK_HOLDS;
}
