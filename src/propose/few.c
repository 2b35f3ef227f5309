#include "propose/seek.h"

#include <math.h>

enum { LIST_MOST = 12 /* records: of no more each is asked */ };

/* From stake `first` the end of those that ask the same of other records. */
static size_t same_end(const struct margins *margins, size_t first)
{
    const struct instance *of = &margins->stakes[first].instance;
    size_t end = first;
    while (end < margins->stake_count && margins->stakes[end].instance.rule == of->rule &&
           margins->stakes[end].instance.requirement == of->requirement)
        end++;
    return end;
}

bool few_begin(struct margins *margins)
{
    bool any = false;
    for (size_t first = 0, end; first < margins->stake_count; first = end) {
        size_t asked = 0;
        end = same_end(margins, first);
        for (size_t i = first; i < end; i++)
            asked += !margins->stakes[i].resting;
        for (size_t i = first; i < end; i++) {
            margins->stakes[i].many = asked > LIST_MOST;
            margins->stakes[i].few = false;
        }
        any |= asked > LIST_MOST;
    }
    return any;
}

/* What has no margin and fails comes before all that has one. */
static double rank(const struct stake *stake)
{
    if (stake->counts)
        return stake_part(stake);
    return stake->fails ? -HUGE_VAL : HUGE_VAL;
}

void few_gather(struct margins *margins, const double *x)
{
    margins->sparse = false;
    margins_ask(margins, x);
    for (size_t first = 0, end; first < margins->stake_count; first = end) {
        size_t worst = first;
        end = same_end(margins, first);
        for (size_t i = first; i < end; i++)
            if (rank(&margins->stakes[i]) < rank(&margins->stakes[worst]))
                worst = i;
        margins->stakes[worst].few = true;
    }
}
