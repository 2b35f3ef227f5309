#include "propose/pace.h"

#include <math.h>

/* Of a number, or of its unit where it is small: how far beside it the time is asked for. */
#define BESIDE 1e-3

void pace_open(struct pace *pace, const struct margins *margins)
{
    *pace = (struct pace){.machine = margins->machine,
                          .knobs = margins->knobs,
                          .knob_count = margins->knob_count,
                          .room = ARENA_NEW(margins->arena, struct change)};
}

double pace_seconds(void *user, const double *x)
{
    struct pace *pace = user;
    uint32_t cutters = pace->machine->groups[GROUP_CUTTER].count;
    double sum = 0;
    for (size_t k = 0; k < pace->knob_count; k++)
        pace->knobs[k].value->si = x[k];
    pace->untimed = pace->by_hand = 0;
    pace->at_most = false;
    for (uint32_t i = 0; i < cutters; i++) {
        const struct change_request request = {.from = i, .to = (i + 1) % cutters};
        if (!change_plan_times(pace->room, pace->machine, &request))
            return HUGE_VAL;
        sum += pace->room->seconds;
        pace->untimed =
            pace->untimed > pace->room->untimed ? pace->untimed : pace->room->untimed;
        pace->by_hand =
            pace->by_hand > pace->room->by_hand ? pace->by_hand : pace->room->by_hand;
        pace->at_most |= pace->room->at_most;
    }
    return cutters ? sum / cutters : HUGE_VAL;
}

bool pace_rests_on(struct arena *arena, const struct machine *machine,
                   const struct field_place *place)
{
    enum field_group group = field_table[place->field].group;
    struct machine copy = *machine;
    machine_own_values(&copy, arena, &group, 1);
    struct field_value *value = machine_field_put(&copy, place->field, place->record);
    struct knob knob = {.value = value};
    struct pace pace = {&copy, &knob, 1, ARENA_NEW(arena, struct change), 0, 0, false};
    double now = value->si,
           size = unit_to_si(value->unit, field_table[place->field].dimension, 1) -
                  unit_to_si(value->unit, field_table[place->field].dimension, 0);
    double here = pace_seconds(&pace, &now), beside = fmax(fabs(now), fabs(size)) * BESIDE;
    for (int side = -1; side <= 1; side += 2) {
        double x = now + side * beside;
        if (pace_seconds(&pace, &x) != here)
            return true;
    }
    return false;
}
