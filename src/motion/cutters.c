#include "motion/cutters.h"

#include "base/bug.h"
#include "motion/internal.h"

void cutters_extremes(struct cutter_extremes *out, const struct machine *machine)
{
    const struct machine_group *cutters = &machine->groups[GROUP_CUTTER];
    double highest = -INFINITY, lowest = INFINITY, widest = -INFINITY;
    *out = (struct cutter_extremes){
        .longest = RECORD_NONE, .shortest = RECORD_NONE, .widest = RECORD_NONE};
    for (uint32_t i = 0; i < cutters->count; i++) {
        struct spread length, radius;
        struct look lengths = look_first_missing(machine, &out->lengths_missing);
        struct look widths = look_first_missing(machine, &out->widths_missing);
        if (look_true_stickout(&lengths, i, &length)) {
            if (length.high > highest)
                highest = length.high, out->longest = i;
            if (length.low < lowest)
                lowest = length.low, out->shortest = i;
        }
        if (look_radius(&widths, FIELD_CUTTER_DIAMETER, i, &radius) && radius.high > widest)
            widest = radius.high, out->widest = i;
    }
    if (cutters->wrong) {
        miss_list(&out->lengths_missing, FIELD_CUTTER_STICKOUT);
        miss_list(&out->widths_missing, FIELD_CUTTER_DIAMETER);
    }
}

/* The longest cutter other than `but`; where no others' stick-outs are known, the first other
 * one. */
static uint32_t longest_but(const struct machine *machine, uint32_t but, bool *known)
{
    struct look look = {.machine = machine};
    uint32_t found = RECORD_NONE;
    double highest = -INFINITY;
    *known = false;
    for (uint32_t i = 0; i < machine->groups[GROUP_CUTTER].count; i++) {
        struct spread length;
        if (i == but)
            continue;
        if (found == RECORD_NONE)
            found = i;
        if (look_true_stickout(&look, i, &length) && length.high > highest) {
            highest = length.high;
            found = i;
            *known = true;
        }
    }
    return found;
}

bool cutters_worst_pair(struct cutter_pair *out, const struct machine *machine)
{
    struct cutter_extremes extremes;
    uint32_t count = machine->groups[GROUP_CUTTER].count;
    bool known;
    if (count == 0)
        return false;
    if (count == 1) {
        *out = (struct cutter_pair){0, 0, PAIR_ONLY, PAIR_ONLY};
        return true;
    }
    cutters_extremes(&extremes, machine);
    struct cutter_pair pair = {.to = extremes.longest, .to_reason = PAIR_LONGEST};
    if (pair.to == RECORD_NONE) {
        pair.to = extremes.widest == 0 ? 1 : 0;
        pair.to_reason = PAIR_FIRST;
    }
    pair.from = extremes.widest;
    pair.from_reason = PAIR_WIDEST;
    if (pair.from == RECORD_NONE || pair.from == pair.to) {
        pair.from = longest_but(machine, pair.to, &known);
        pair.from_reason = known ? PAIR_SECOND_LONGEST : PAIR_FIRST;
    }
    *out = pair;
    return true;
}

bool cutter_true_stickout(const struct machine *machine, uint32_t record, struct spread *out)
{
    struct look look = {machine, NULL, NULL};
    return look_true_stickout(&look, record, out);
}

bool cutter_tip_below(const struct machine *machine, uint32_t record, struct spread *out)
{
    struct look look = {machine, NULL, NULL};
    struct spread error;
    if (!look_true_stickout(&look, record, out) || !look_height_error(&look, &error))
        return false;
    *out = spread_add(*out, error);
    return true;
}

const char *pair_reason_text(enum pair_reason reason)
{
    switch (reason) {
    case PAIR_GIVEN:
        return "";
    case PAIR_NEAREST:
        return "which comes nearest to what stands around";
    case PAIR_LONGEST:
        return "the longest of the list";
    case PAIR_WIDEST:
        return "the widest of the list";
    case PAIR_SECOND_LONGEST:
        return "the longest of the others";
    case PAIR_ONLY:
        return "the only one of the list";
    case PAIR_FIRST:
        return "the first of the list of which nothing more is known";
    }
    BUG("no reason %d", (int)reason);
}
