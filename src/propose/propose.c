#include "propose/propose.h"

#include <math.h>

#include "propose/seek.h"
#include "propose/internal.h"

static bool is_named(const struct proposal_question *question, const struct field_place *place)
{
    bool named = question->named;
    for (size_t i = 0; i < question->wish_count; i++)
        named |= question->wishes[i].kind != WISH_FASTEST &&
                 question->wishes[i].place.field == place->field &&
                 question->wishes[i].place.record == place->record;
    return named;
}

static void open_finder(struct finder *finder, const struct field_place *places, size_t count)
{
    const struct proposal_question *question = finder->question;
    struct arena *arena = question->arena;
    struct margins *margins = &finder->margins;
    margins_open(
        &(struct margins_of){question->runner, arena, question->machine, question->ignored},
        places, count, margins);
    finder->describer = (struct describer){.runner = question->runner,
                                           .machine = margins->machine,
                                           .source = question->machine->tree->source,
                                           .arena = arena};
    finder->now = ARENA_ARRAY(arena, double, count + 1);
    finder->moves = ARENA_ARRAY(arena, bool, count + 1);
    finder->named = ARENA_ARRAY(arena, bool, count + 1);
    finder->weights = ARENA_ARRAY(arena, double, count + 1);
    for (size_t k = 0; k < count; k++) {
        finder->now[k] = margins->knobs[k].now;
        finder->moves[k] = true;
        finder->named[k] = is_named(question, &places[k]);
        finder->weights[k] = 1;
    }
    margins_ask(margins, finder->now);
    margins_remember(margins);
    finder->before = ARENA_ARRAY(arena, struct stake, margins->stake_count + 1);
    finder->still = ARENA_ARRAY(arena, bool, margins->stake_count + 1);
    if (margins->stake_count)
        memcpy(finder->before, margins->stakes, margins->stake_count * sizeof *margins->stakes);
}

static bool fails_now(const struct finder *finder, size_t i)
{
    const struct stake *before = &finder->before[i];
    return before->fails && before->counts && !before->ignored;
}

/* What stays after all: with other numbers a rule may not apply any more. */
static void look_at_stays(struct finder *finder, const double *x)
{
    struct proposal *out = finder->out;
    struct margins *margins = &finder->margins;
    struct instance_list failing = {0};
    size_t kept = 0;
    for (size_t i = 0; i < margins->stake_count; i++)
        margins->stakes[i].resting = false;
    margins_ask(margins, x);
    for (size_t i = 0; i < margins->stake_count; i++)
        if (margins->stakes[i].fails)
            VECTOR_ADD(margins->arena, &failing.items, margins->stakes[i].instance);
    for (size_t i = 0; i < out->stay_count; i++)
        if (instance_is_listed(&failing, &out->stays[i].instance))
            out->stays[kept++] = out->stays[i];
    out->stay_count = kept;
}

/* Of those that fail now, what holds at x with all numbers at once needs no search of its own.
 */
static void note_holding(struct finder *finder, const double *x, bool *holds)
{
    struct margins *margins = &finder->margins;
    margins_ask(margins, x);
    for (size_t i = 0; i < margins->stake_count; i++) {
        const struct stake *stake = &margins->stakes[i];
        holds[i] |= stake->counts && !stake->fails && stake_part(stake) >= SEEK_HOLDS;
    }
}

/* The number for whose sake it stays: held back it keeps it from holding.  NULL: there is none.
 */
static const char *held_by(struct finder *finder, size_t i)
{
    struct margins *margins = &finder->margins;
    const struct stake *alone = &margins->stakes[i];
    size_t count = margins->knob_count;
    bool *moves = ARENA_ARRAY(margins->arena, bool, count + 1), any = false;
    struct sought found;
    for (size_t k = 0; k < count; k++) {
        moves[k] = finder->moves[k] || margins->rests_on[i * count + k];
        any |= moves[k] && !finder->moves[k];
    }
    if (!any || !cases_hold(margins, moves, &(struct cases_of){&alone, 1, false}, &found))
        return NULL;
    for (size_t k = 0; k < count; k++)
        if (moves[k] && !finder->moves[k] && found.x[k] != finder->now[k])
            return finder->out->paths[k];
    return NULL;
}

/* What fails whatever the numbers are is set aside, and told: it must not keep the rest from
 * being mended.  How many of those that fail are left. */
static size_t set_aside(struct finder *finder)
{
    struct margins *margins = &finder->margins;
    size_t left = 0;
    VECTOR(struct excluded) stays = {0};
    bool *holds = ARENA_ARRAY(margins->arena, bool, margins->stake_count + 1);
    for (size_t i = 0; i < margins->stake_count; i++) {
        struct stake *stake = &margins->stakes[i];
        const struct stake *alone = stake;
        struct sought found;
        if (!fails_now(finder, i))
            continue;
        if (!holds[i] &&
            cases_hold(margins, finder->moves, &(struct cases_of){&alone, 1, false}, &found)) {
            note_holding(finder, found.x, holds);
            holds[i] = true;
        }
        left += holds[i];
        if (holds[i])
            continue;
        struct excluded stay;
        tell_name(finder, stake, &stay);
        stay.held = held_by(finder, i);
        VECTOR_ADD(margins->arena, &stays, stay);
        stake->resting = true;
    }
    finder->out->stays = stays.items;
    finder->out->stay_count = stays.count;
    return left;
}

/* By how much else would have to change for these to hold; what else stays is left out. */
static void find_ways(struct finder *finder, const struct excluded *excluded, size_t count)
{
    struct proposal *out = finder->out;
    struct instance_list aside = {0};
    for (size_t i = 0; excluded != out->stays && i < out->stay_count; i++)
        VECTOR_ADD(finder->margins.arena, &aside.items, out->stays[i].instance);
    struct ways ways = {.of = {finder->question->runner, finder->margins.arena,
                               finder->question->machine, finder->question->ignored},
                        .chosen = out->places,
                        .chosen_count = out->place_count,
                        .aside = &aside,
                        .kept = finder->question->kept};
    for (size_t i = 0; i < finder->margins.stake_count; i++)
        finder->margins.stakes[i].resting = false;
    margins_ask(&finder->margins, finder->now);
    for (size_t i = 0; i < count; i++)
        ways_look(&ways, &finder->describer, &excluded[i].instance);
    out->ways = ways_find(&ways, &out->way_count, &out->ways_left);
}

/* Where there is none: `best` comes nearest. */
static void find_conflict(struct finder *finder, const struct sought *best)
{
    struct proposal *out = finder->out;
    struct margins *margins = &finder->margins;
    struct conflict group;
    conflict_settle(margins, finder->moves, best->x, &group);
    out->excluded = ARENA_ARRAY(margins->arena, struct excluded, group.count + 1);
    for (size_t i = 0; i < group.count; i++)
        tell_name(finder, group.items[i], &out->excluded[i]);
    out->excluded_count = group.count;
    out->stands = group.stands;
    out->proved = group.proved;
    tell_margins(finder, best->x);
    find_ways(finder, out->excluded, out->excluded_count);
}

/* From `best` to the set nearest to the file that is hardly worse. */
static bool find_widest(struct finder *finder, struct sought *best, const char **texts)
{
    struct margins *margins = &finder->margins;
    seek_nearest(margins, finder->moves, finder->weights, best->least * (1 - GIVEN_UP), best);
    return round_numbers(margins, best, texts);
}

static void find(struct finder *finder)
{
    struct margins *margins = &finder->margins;
    struct proposal *out = finder->out;
    const char **texts = ARENA_ARRAY(margins->arena, const char *, margins->knob_count + 1);
    struct sought best;
    bool wishes = finder->question->wish_count;
    out->state = PROPOSAL_NONE;
    out->exact = -HUGE_VAL;
    guard_numbers(finder);
    if (!set_aside(finder) && !wishes) {
        find_ways(finder, out->stays, out->stay_count);
        return;
    }
    guard_stays(finder);
    cases_greatest(margins, finder->moves, wishes ? SEEK_HOLDS : SEEK_ENOUGH * (1 - GIVEN_UP),
                   &best);
    out->exact = best.least;
    for (size_t i = 0; i < margins->stake_count; i++)
        finder->still[i] = margins->stakes[i].still;
    if (best.least >= SEEK_HOLDS) {
        if (wishes ? find_wished(finder, &best, texts) : find_widest(finder, &best, texts)) {
            out->state = PROPOSAL_FOUND;
            best.least = margins_least_at(&finder->margins, finder->still, best.x);
            tell_set(finder, &best, texts, &out->widest);
            out->fewest = out->widest;
            if (!wishes)
                find_fewest(finder);
            look_at_stays(finder, best.x);
            tell_margins(finder, best.x);
            if (out->stay_count)
                find_ways(finder, out->stays, out->stay_count);
            return;
        }
    }
    if (!wishes || best.least < SEEK_HOLDS)
        find_conflict(finder, &best);
}

/* "change.standoff" of each. */
static const char **paths_of(const struct proposal_question *question,
                             const struct field_place *places, size_t count)
{
    const char **paths = ARENA_ARRAY(question->arena, const char *, count + 1);
    for (size_t i = 0; i < count; i++)
        paths[i] = machine_path(question->arena, question->machine, places[i].field,
                                places[i].record, places[i].part);
    return paths;
}

void proposal_find(const struct proposal_question *question, const struct field_place *places,
                   size_t count, struct proposal *out)
{
    const struct stake *worst;
    struct finder finder = {.question = question, .out = out};
    *out = (struct proposal){.place_count = count};
    out->places = ARENA_ARRAY(question->arena, struct field_place, count + 1);
    if (count)
        memcpy(out->places, places, count * sizeof *places);
    out->paths = paths_of(question, places, count);
    if (question->kept) {
        out->kept = paths_of(question, question->kept->items, question->kept->count);
        out->kept_count = question->kept->count;
    }
    open_finder(&finder, places, count);
    out->least_before = margins_least(&finder.margins, &worst);
    bool fails = false;
    for (size_t i = 0; i < finder.margins.stake_count; i++)
        fails |= fails_now(&finder, i);
    out->ranges = ARENA_ARRAY(question->arena, struct proposal_range, count + 1);
    for (size_t k = 0; k < count; k++)
        out->ranges[k] =
            (struct proposal_range){finder.margins.knobs[k].low, finder.margins.knobs[k].high};
    if (count && (fails || question->wish_count))
        find(&finder);
    tell_scales(&finder);
    runner_reset(question->runner, question->machine);
}
