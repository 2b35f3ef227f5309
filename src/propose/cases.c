#include "propose/cases.h"

#include <math.h>

/* Where along a travel it is looked from.  At the ends, since what is free beside the work may
 * be a narrow strip. */
static const double marks[] = {0, 1.0 / 6, 0.5, 5.0 / 6, 1};

enum { ACROSS = sizeof marks / sizeof *marks, CELLS = ACROSS * ACROSS, CORNERS = 4 };

/* Farther away only what is better by this part. */
#define BETTER 0.005

/* The axis along which a number lies where cutters are changed; 2: neither X nor Y. */
static uint32_t sideways_axis(const struct knob *knob)
{
    return knob->place.field == FIELD_CHANGE_PARK_X   ? 0
           : knob->place.field == FIELD_CHANGE_PARK_Y ? 1
                                                      : 2;
}

/* Where a place lies along one axis: all over the travel, then the corners of all that the
 * numbers may be.  False where there is none. */
static bool place_along(const struct margins *margins, const struct knob *knob, uint32_t axis,
                        int place, double *x)
{
    const struct field_value *travel = machine_field(margins->machine, FIELD_AXIS_TRAVEL, axis);
    int corner = place - CELLS;
    if (corner >= 0) {
        *x = (axis ? corner / 2 : corner % 2) ? knob->high : knob->low;
        return true;
    }
    if (travel->state != VALUE_GIVEN)
        return false;
    double low = travel->pair[0].si, width = travel->pair[1].si - low;
    *x = low + marks[axis ? place / ACROSS : place % ACROSS] * width;
    return true;
}

/* False where nothing moves sideways. */
static bool put_place(const struct margins *margins, const bool *moves, int place, double *x)
{
    bool moved = false;
    for (size_t k = 0; k < margins->knob_count; k++) {
        const struct knob *knob = &margins->knobs[k];
        uint32_t axis = sideways_axis(knob);
        if (axis < 2 && moves[k])
            moved |= place_along(margins, knob, axis, place, &x[k]);
    }
    return moved;
}

static void search_from(struct margins *margins, const bool *moves, int places, double enough,
                        struct sought *out)
{
    size_t count = margins->knob_count;
    double *from = ARENA_ARRAY(margins->arena, double, count + 1);
    for (size_t k = 0; k < count; k++)
        from[k] = knob_start(&margins->knobs[k], moves[k]);
    seek_greatest(margins, moves, from, out);
    for (int place = 0; place < places && out->least < enough; place++) {
        struct sought found;
        if (!put_place(margins, moves, place, from))
            continue;
        seek_greatest(margins, moves, from, &found);
        if (found.least > out->least + BETTER * fabs(out->least))
            *out = found;
    }
}

void cases_greatest(struct margins *margins, const bool *moves, double enough,
                    struct sought *out)
{
    search_from(margins, moves, CELLS, enough, out);
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
    search_from(margins, concerned, of->anywhere ? CELLS + CORNERS : CELLS, SEEK_HOLDS, out);
    for (size_t i = 0; i < margins->stake_count; i++)
        margins->stakes[i].resting = resting[i];
    return out->least >= SEEK_HOLDS;
}
