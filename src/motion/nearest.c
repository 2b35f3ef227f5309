/* The change worth looking at where nobody names one.
 *
 * A list of n cutters has n * n changes, but each move has one cutter on the spindle: the least
 * room on the way out is one cutter's alone, and that on the way in another's.  And of a long list
 * only those come into question that no other is as low and as wide as.
 */
#include "base/bug.h"
#include "motion/internal_bodies.h"
#include "motion/obstacles.h"

enum { CANDIDATES = 2 * 3 * CLEARANCE_PARTS + 3 };

struct candidates {
    uint32_t count;
    uint32_t records[CANDIDATES];
};

static void add(struct candidates *candidates, uint32_t record)
{
    if (record == RECORD_NONE)
        return;
    for (uint32_t i = 0; i < candidates->count; i++)
        if (candidates->records[i] == record)
            return;
    BUG_UNLESS(candidates->count < CANDIDATES);
    candidates->records[candidates->count++] = record;
}

static void add_parts(struct candidates *candidates, const struct clearance_spindle *bodies)
{
    for (uint32_t i = 0; i < bodies->count; i++) {
        const struct clearance_part *part = &bodies->parts[i];
        add(candidates, part->length_of);
        if (BODIES_OF_CUTTER & BODY_BIT(part->body))
            add(candidates, part->width_of);
    }
}

/* The least room on the way out and on the way in. */
static void look_at(const struct machine *machine, const struct change_request *request,
                    double least[2])
{
    struct change change;
    int in = 0;
    least[0] = least[1] = INFINITY;
    if (!change_plan_spindle(&change, machine, request))
        return;
    for (uint32_t i = 0; i < change.count; i++) {
        const struct move *move = &change.moves[i];
        in = in || move->kind == MOVE_CUTTER;
        if (move->has_clearance)
            least[in] = fmin(least[in], move->clearance.value.low);
    }
}

/* Of the candidates but `but` the one with the least room on one way; of equals the one that
 * stands there already. */
static void choose(const struct candidates *candidates, double (*rooms)[2], int way,
                   uint32_t but, uint32_t *record, enum pair_reason *reason)
{
    uint32_t best = RECORD_NONE;
    double least = INFINITY;
    for (uint32_t i = 0; i < candidates->count; i++) {
        uint32_t other = candidates->records[i];
        if (other != but && (best == RECORD_NONE || other == *record)) {
            best = other;
            least = rooms[i][way];
        }
    }
    for (uint32_t i = 0; i < candidates->count; i++) {
        if (candidates->records[i] == but || rooms[i][way] >= least)
            continue;
        least = rooms[i][way];
        best = candidates->records[i];
    }
    if (best == *record)
        return;
    *record = best;
    *reason = isfinite(least) ? PAIR_NEAREST : PAIR_FIRST;
}

static double least_of(const struct candidates *candidates, double (*rooms)[2], int way)
{
    double least = INFINITY;
    for (uint32_t i = 0; i < candidates->count; i++)
        least = fmin(least, rooms[i][way]);
    return least;
}

/* Both sides, the one with less room first: one cutter cannot be on both. */
static void choose_both(const struct candidates *candidates, double (*rooms)[2],
                        struct cutter_pair *pair)
{
    bool out_given = pair->from_reason == PAIR_GIVEN, in_given = pair->to_reason == PAIR_GIVEN;
    bool out_first = least_of(candidates, rooms, 0) < least_of(candidates, rooms, 1);
    if (!out_given && (out_first || in_given))
        choose(candidates, rooms, 0, in_given ? pair->to : RECORD_NONE, &pair->from,
               &pair->from_reason);
    if (!in_given)
        choose(candidates, rooms, 1, out_first || out_given ? pair->from : RECORD_NONE, &pair->to,
               &pair->to_reason);
    if (!out_given && !out_first && !in_given)
        choose(candidates, rooms, 0, pair->to, &pair->from, &pair->from_reason);
}

bool change_nearest(struct cutter_pair *pair, const struct machine *machine,
                    const struct change_request *at)
{
    struct candidates candidates = {0};
    struct cutter_pair usual;
    struct obstacles view;
    struct change_request request = *at;
    double rooms[CANDIDATES][2];
    if (!cutters_worst_pair(&usual, machine))
        return false;
    if (pair->from_reason != PAIR_GIVEN)
        pair->from = usual.from, pair->from_reason = usual.from_reason;
    if (pair->to_reason != PAIR_GIVEN)
        pair->to = usual.to, pair->to_reason = usual.to_reason;
    if (usual.to_reason == PAIR_ONLY)
        return true;
    add(&candidates, usual.to);
    add(&candidates, usual.from);
    obstacles_look(&view, machine);
    obstacles_hang_all(&view);
    add_parts(&candidates, &view.passing.bodies);
    add_parts(&candidates, &view.touching.bodies);
    add_parts(&candidates, &view.approaching.bodies);
    for (uint32_t i = 0; i < candidates.count; i++) {
        request.from = request.to = candidates.records[i];
        look_at(machine, &request, rooms[i]);
    }
    choose_both(&candidates, rooms, pair);
    return true;
}
