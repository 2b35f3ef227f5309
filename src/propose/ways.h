/* What would have to be otherwise where no set of chosen numbers will do: of each number that
 * is measured, a fact, or kept as it is, by how much it alone would have to change. */
#ifndef PROVEOUT_PROPOSE_WAYS_H
#define PROVEOUT_PROPOSE_WAYS_H

#include "propose/margins.h"

struct field_places;

struct way_out {
    const char *path; /* "cutters[number=4].stickout" */
    bool measured;
    bool kept;     /* it is chosen, and to stay as it is */
    double change; /* SI: the least with which there is a set */
    const char *by_text, *now_text;
};

struct ways {
    struct margins_of of;
    const struct field_place *chosen; /* that may be set to anything */
    size_t chosen_count;
    const struct instance_list *aside; /* fails anyhow, and is not asked for; or NULL */
    const struct field_places *kept;   /* chosen too, but to stay as they are; or NULL */
    VECTOR(struct field_place) places; /* of what is looked at */
};

/* Takes in what an instance rests on, in which the machine stands as it fails. */
void ways_look(struct ways *ways, const struct describer *describer,
               const struct instance *instance);

/* Those with which there is a set, the least change first; `*count` of them.  Of many numbers
 * only the first are looked at; `*left` are not. */
struct way_out *ways_find(const struct ways *ways, size_t *count, size_t *left);

#endif
