#include "propose/internal.h"

#include <math.h>

/* A wait that keeps a hand from a turning cutter outlasts the run-down by a fifth: as the rule
 * dwell-stop-tight has it. */
#define OUTLASTS 1.2

/* A floor in floating point is not above the same number as people type it. */
#define HAIR 1e-12

/* The longest that a time may be; false where it is not known. */
static bool longest(const struct machine *machine, enum field_id id, double *out)
{
    const struct field_value *value = machine_field(machine, id, 0);
    *out = value->si + value->tolerance;
    return value->state == VALUE_GIVEN;
}

/* Never below the run-down and a fifth, nor below the coasting where it outlasts that now;
 * where the run-down is not known, never below what it is.  Who wishes for nothing is not led
 * up to there either. */
static void set_floor(struct finder *finder, struct knob *knob)
{
    const struct machine *machine = finder->margins.machine;
    double run_down, coast;
    double floor =
        longest(machine, FIELD_SPINDLE_RUN_DOWN, &run_down) ? OUTLASTS * run_down : knob->now;
    if (longest(machine, FIELD_SPINDLE_COAST_DOWN, &coast))
        floor = fmax(floor, fmin(knob->now, coast));
    else if (finder->question->wish_count)
        finder->out->coast_unknown = true;
    if (!finder->question->wish_count)
        floor = fmin(floor, knob->now);
    knob->low = fmin(fmax(knob->low, floor * (1 - HAIR)), knob->high);
    knob->guarded = true;
}

static bool is_told(const struct proposal *out, const struct held_back *what)
{
    for (size_t i = 0; i < out->held_back.count; i++) {
        const struct held_back *other = &out->held_back.items[i];
        if (other->path == what->path && strcmp(other->rule, what->rule) == 0)
            return true;
    }
    return false;
}

/* Numbers that move all the same are told each with all its rules, others with one. */
static void hold_back(struct finder *finder, size_t k, const struct stake *stake,
                      const struct held_back *how)
{
    struct proposal *out = finder->out;
    struct held_back what = *how;
    struct excluded because;
    if (!finder->moves[k])
        return;
    finder->moves[k] = how->moves;
    tell_name(finder, stake, &because);
    what.path = out->paths[k];
    what.rule = because.rule;
    what.subject = because.subject;
    if (!is_told(out, &what))
        VECTOR_ADD(finder->margins.arena, &out->held_back, what);
}

static void hold_back_all(struct finder *finder, const struct stake *stake, bool fails)
{
    const struct margins *margins = &finder->margins;
    size_t i = (size_t)(stake - margins->stakes);
    for (size_t k = 0; k < margins->knob_count; k++) {
        const struct held_back how = {.fails = fails,
                                      .moves = finder->named[k] && !stake->keeps_persons};
        if (margins->rests_on[i * margins->knob_count + k])
            hold_back(finder, k, stake, &how);
    }
}

/* What cannot be asked holds its numbers; of what is about people or about the rest. */
static void hold_untold(struct finder *finder, bool persons)
{
    struct margins *margins = &finder->margins;
    for (size_t i = 0; i < margins->stake_count; i++) {
        const struct stake *stake = &margins->stakes[i];
        if (stake->keeps_persons == persons &&
            runner_requirement(margins->runner, &stake->instance)->level != LEVEL_NOTE &&
            margins_cannot_tell(margins, stake))
            hold_back_all(finder, stake, false);
    }
}

void guard_numbers(struct finder *finder)
{
    struct margins *margins = &finder->margins;
    margins->guarded = true;
    for (size_t k = 0; k < margins->knob_count; k++) {
        enum field_id field = margins->knobs[k].place.field;
        if (field == FIELD_SPINDLE_DWELL_AFTER_STOP ||
            field == FIELD_SPINDLE_STANDSTILL_TIMEOUT)
            set_floor(finder, &margins->knobs[k]);
    }
    margins_ask(margins, finder->now);
    hold_untold(finder, true);
    if (finder->question->wish_count)
        hold_untold(finder, false);
}

void guard_stays(struct finder *finder)
{
    struct margins *margins = &finder->margins;
    for (size_t i = 0; i < margins->stake_count; i++)
        if (margins->stakes[i].resting && margins->stakes[i].keeps_persons)
            hold_back_all(finder, &margins->stakes[i], true);
}
