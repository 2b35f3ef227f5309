#include "propose/cases.h"

enum { ACROSS = 3, CELLS = ACROSS * ACROSS };

/* The axis along which a number lies where cutters are changed; 2: neither X nor Y. */
static uint32_t sideways_axis(const struct knob *knob)
{
    return knob->place.field == FIELD_CHANGE_PARK_X   ? 0
           : knob->place.field == FIELD_CHANGE_PARK_Y ? 1
                                                      : 2;
}

/* The middle of one of the cells that the travel is divided into; false where there is no place
 * that moves. */
static bool place_in(const struct margins *margins, const bool *moves, int cell, double *x)
{
    bool moved = false;
    for (size_t k = 0; k < margins->knob_count; k++) {
        const struct knob *knob = &margins->knobs[k];
        uint32_t axis = sideways_axis(knob);
        if (axis > 1 || !moves[k])
            continue;
        const struct field_value *travel =
            machine_field(margins->machine, FIELD_AXIS_TRAVEL, axis);
        int part = axis ? cell / ACROSS : cell % ACROSS;
        if (travel->state != VALUE_GIVEN)
            continue;
        double low = travel->pair[0].si, width = travel->pair[1].si - low;
        x[k] = low + (1 + 2 * part) * width / (2 * ACROSS);
        moved = true;
    }
    return moved;
}

void cases_greatest(struct margins *margins, const bool *moves, struct sought *out)
{
    size_t count = margins->knob_count;
    double *from = ARENA_ARRAY(margins->arena, double, count + 1);
    for (size_t k = 0; k < count; k++)
        from[k] = margins->knobs[k].now;
    seek_greatest(margins, moves, from, out);
    for (int cell = 0; cell < CELLS && out->least < SEEK_HOLDS; cell++) {
        struct sought found;
        if (!place_in(margins, moves, cell, from))
            return;
        seek_greatest(margins, moves, from, &found);
        if (found.least > out->least)
            *out = found;
    }
}

void cases_greatest_of(struct margins *margins, const bool *moves,
                       const struct stake *const *stakes, size_t count, struct sought *out)
{
    bool *resting = ARENA_ARRAY(margins->arena, bool, margins->stake_count + 1);
    for (size_t i = 0; i < margins->stake_count; i++) {
        resting[i] = margins->stakes[i].resting;
        margins->stakes[i].resting = true;
    }
    bool *concerned = ARENA_ARRAY(margins->arena, bool, margins->knob_count + 1);
    for (size_t i = 0; i < count; i++) {
        size_t stake = (size_t)(stakes[i] - margins->stakes);
        margins->stakes[stake].resting = false;
        for (size_t k = 0; k < margins->knob_count; k++)
            concerned[k] |= moves[k] && margins->rests_on[stake * margins->knob_count + k];
    }
    cases_greatest(margins, concerned, out);
    for (size_t i = 0; i < margins->stake_count; i++)
        margins->stakes[i].resting = resting[i];
}
