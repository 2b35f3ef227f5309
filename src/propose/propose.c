#include "propose/propose.h"

#include <math.h>
#include <stdlib.h>

#include "propose/conflict.h"
#include "propose/round.h"
#include "propose/ways.h"
#include "quantity/quantity.h"

enum {
    TRIED_MAX = 400, /* sets of fewer changes that are looked at */
    FEW_MAX = 3,     /* changes in such a set */
    TIGHT_SHOWN = 3, /* margins beside those that failed */
};

/* So much of the greatest least margin may be given up for numbers nearer to what the file has.
 */
#define GIVEN_UP 0.005

/* What is under way. */
struct finder {
    const struct proposal_question *question;
    struct margins margins;
    struct describer describer;
    double *now;
    struct stake *before; /* the stakes with the numbers of the file */
    struct proposal *out;
};

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
    for (size_t k = 0; k < count; k++)
        finder->now[k] = margins->knobs[k].now;
    margins_ask(margins, finder->now);
    margins_remember(margins);
    finder->before = ARENA_ARRAY(arena, struct stake, margins->stake_count + 1);
    memcpy(finder->before, margins->stakes, margins->stake_count * sizeof *margins->stakes);
}

/* Starting places. */

/* The axis along which a number lies where cutters are changed; 2: neither X nor Y. */
static unsigned sideways_axis(const struct knob *knob)
{
    return knob->place.field == FIELD_CHANGE_PARK_X   ? 0
           : knob->place.field == FIELD_CHANGE_PARK_Y ? 1
                                                      : 2;
}

/* A place to change cutters can lie on either side of what is in the way: from a grid over the
 * table each side is reached by some start. */
static void try_starts(struct finder *finder, const bool *moves, struct sought *best)
{
    struct margins *margins = &finder->margins;
    double *from = ARENA_ARRAY(margins->arena, double, margins->knob_count + 1);
    for (int cell = 0; cell < 9 && best->least < SEEK_HOLDS; cell++) {
        struct sought found;
        bool moved = false;
        memcpy(from, finder->now, margins->knob_count * sizeof *from);
        for (size_t k = 0; k < margins->knob_count; k++) {
            const struct knob *knob = &margins->knobs[k];
            unsigned axis = sideways_axis(knob);
            if (axis > 1)
                continue;
            const struct field_value *travel =
                machine_field(margins->machine, FIELD_AXIS_TRAVEL, axis);
            int part = axis ? cell / 3 : cell % 3;
            if (travel->state != VALUE_GIVEN)
                continue;
            from[k] = travel->pair[0].si +
                      (1 + 2 * part) * (travel->pair[1].si - travel->pair[0].si) / 6;
            moved = true;
        }
        if (!moved)
            return;
        seek_greatest(margins, moves, from, &found);
        if (found.least > best->least)
            *best = found;
    }
}

/* Texts and reasons. */

static void name(struct finder *finder, const struct stake *stake, const char **rule,
                 const char **subject)
{
    struct finding bare;
    describe_bare(&finder->describer, &stake->instance, &bare);
    *rule = bare.rule;
    *subject = bare.subject;
}

/* What would fail, or have the least margin, with this one number as the file has it. */
static void give_reason(struct finder *finder, const struct sought *found, size_t k,
                        struct proposed *out)
{
    const struct stake *worst;
    double kept = found->x[k];
    found->x[k] = finder->now[k];
    margins_ask(&finder->margins, found->x);
    double least = margins_least(&finder->margins, &worst);
    found->x[k] = kept;
    if (worst && least < found->least)
        name(finder, worst, &out->rule, &out->subject);
}

static void describe_set(struct finder *finder, const struct sought *found,
                         const char *const *texts, struct proposed_set *out)
{
    struct margins *margins = &finder->margins;
    struct arena *arena = margins->arena;
    const struct machine *machine = finder->question->machine;
    *out = (struct proposed_set){.least = found->least};
    out->items = ARENA_ARRAY(arena, struct proposed, margins->knob_count + 1);
    for (size_t k = 0; k < margins->knob_count; k++) {
        const struct knob *knob = &margins->knobs[k];
        if (!texts[k] || found->x[k] == knob->now)
            continue;
        struct proposed *item = &out->items[out->count++];
        *item = (struct proposed){
            .place = knob->place, .now = knob->now, .si = found->x[k], .text = texts[k]};
        item->path = machine_path(arena, machine, knob->place.field, knob->place.record, 0);
        item->lasting = machine_lasting_path(arena, machine, item->path);
        item->given =
            machine_field(machine, knob->place.field, knob->place.record)->state == VALUE_GIVEN;
        item->now_text = quantity_text(
            arena, knob->now, field_table[knob->place.field].dimension, knob->value->unit);
        give_reason(finder, found, k, item);
    }
}

/* Margins before and after. */

struct tight {
    size_t stake;
    double tightness;
};

static int compare_tight(const void *a, const void *b)
{
    const struct tight *x = a, *y = b;
    if (x->tightness != y->tightness)
        return x->tightness < y->tightness ? -1 : 1;
    return (x->stake > y->stake) - (x->stake < y->stake);
}

static void add_margin(struct finder *finder, size_t i)
{
    struct arena *arena = finder->margins.arena;
    const struct stake *before = &finder->before[i], *after = &finder->margins.stakes[i];
    struct proposed_margin *out = &finder->out->margins[finder->out->margin_count++];
    struct finding bare;
    describe_bare(&finder->describer, &after->instance, &bare);
    unit_id unit = describe_unit(&finder->describer, &after->instance);
    *out = (struct proposed_margin){.rule = bare.rule,
                                    .subject = bare.subject,
                                    .dimension = bare.dimension,
                                    .known_before = before->counts,
                                    .known_after = after->counts,
                                    .before = before->margin,
                                    .after = after->margin,
                                    .scale = after->scale};
    if (before->counts)
        out->before_text = quantity_text(arena, before->margin, bare.dimension, unit);
    if (after->counts)
        out->after_text = quantity_text(arena, after->margin, bare.dimension, unit);
}

static void list_margins(struct finder *finder, const double *x)
{
    struct margins *margins = &finder->margins;
    struct tight *tight = ARENA_ARRAY(margins->arena, struct tight, margins->stake_count + 1);
    size_t count = 0;
    margins_ask(margins, x);
    finder->out->margins =
        ARENA_ARRAY(margins->arena, struct proposed_margin, margins->stake_count + 1);
    for (size_t i = 0; i < margins->stake_count; i++)
        if (finder->before[i].fails && !finder->before[i].ignored)
            add_margin(finder, i);
        else if (margins->stakes[i].counts && !margins->stakes[i].ignored)
            tight[count++] =
                (struct tight){i, margins->stakes[i].margin / margins->stakes[i].scale};
    qsort(tight, count, sizeof *tight, compare_tight);
    for (size_t i = 0; i < count && i < TIGHT_SHOWN; i++)
        add_margin(finder, tight[i].stake);
}

/* Fewer changes. */

/* The next subset of `size` among `count`, as rising indices; false after the last. */
static bool next_subset(size_t *items, size_t size, size_t count)
{
    for (size_t i = size; i-- > 0;) {
        if (items[i] + (size - i) >= count)
            continue;
        items[i]++;
        for (size_t later = i + 1; later < size; later++)
            items[later] = items[later - 1] + 1;
        return true;
    }
    return false;
}

/* Tries this set of numbers; true where everything holds with them alone changed. */
static bool try_few(struct finder *finder, const bool *moves, struct proposed_set *out)
{
    struct margins *margins = &finder->margins;
    size_t count = margins->knob_count;
    double *weights = ARENA_ARRAY(margins->arena, double, count + 1);
    const char **texts = ARENA_ARRAY(margins->arena, const char *, count + 1);
    struct sought found;
    for (size_t k = 0; k < count; k++)
        weights[k] = 1;
    seek_greatest(margins, moves, finder->now, &found);
    if (found.least < SEEK_HOLDS)
        return false;
    seek_nearest(margins, moves, weights, found.least * (1 - GIVEN_UP), &found);
    if (!round_numbers(margins, &found, texts))
        return false;
    describe_set(finder, &found, texts, out);
    return out->count > 0;
}

/* Of all sets with so many changes the one that is foretold the greatest least margin. */
static bool best_few(struct finder *finder, size_t size, double *slopes, size_t *tried,
                     bool *moves)
{
    struct margins *margins = &finder->margins;
    size_t count = margins->knob_count, items[FEW_MAX];
    bool *asked = ARENA_ARRAY(margins->arena, bool, count + 1);
    double most = -HUGE_VAL;
    for (size_t i = 0; i < size; i++)
        items[i] = i;
    do {
        memset(asked, 0, count * sizeof *asked);
        for (size_t i = 0; i < size; i++)
            asked[items[i]] = true;
        double least = seek_foretell(margins, asked, finder->now, slopes);
        if (least > most) {
            most = least;
            memcpy(moves, asked, count * sizeof *moves);
        }
    } while (++*tried < TRIED_MAX && next_subset(items, size, count));
    return most >= SEEK_HOLDS;
}

static void find_fewest(struct finder *finder)
{
    struct margins *margins = &finder->margins;
    struct proposal *out = finder->out;
    size_t count = margins->knob_count, tried = 0;
    double *slopes = ARENA_ARRAY(margins->arena, double, margins->stake_count *count + 1);
    bool *moves = ARENA_ARRAY(margins->arena, bool, count + 1);
    out->fewest = out->widest;
    for (size_t size = 1; size <= FEW_MAX && size < out->widest.count; size++) {
        margins_slopes(margins, finder->now, slopes);
        if (tried < TRIED_MAX && best_few(finder, size, slopes, &tried, moves) &&
            try_few(finder, moves, &out->fewest))
            return;
        out->fewest = out->widest;
    }
}

/* Where there is none. */
static void find_conflict(struct finder *finder, const bool *moves, const struct sought *best)
{
    size_t count;
    struct proposal *out = finder->out;
    const struct stake **group = conflict_find(&finder->margins, moves, best->x, &count);
    out->state = PROPOSAL_NONE;
    out->excluded = ARENA_ARRAY(finder->margins.arena, struct excluded, count + 1);
    for (size_t i = 0; i < count; i++) {
        out->excluded[i].instance = group[i]->instance;
        name(finder, group[i], &out->excluded[i].rule, &out->excluded[i].subject);
    }
    out->excluded_count = count;
    margins_ask(&finder->margins, best->x);
    struct ways ways = {.of = {finder->question->runner, finder->margins.arena,
                               finder->question->machine, finder->question->ignored},
                        .chosen = out->places,
                        .chosen_count = out->place_count};
    for (size_t i = 0; i < count; i++)
        ways_look(&ways, &finder->describer, &group[i]->instance);
    out->ways = ways_find(&ways, &out->way_count);
    out->widest.least = out->exact;
    list_margins(finder, best->x);
}

static bool anything_fails(const struct margins *margins)
{
    for (size_t i = 0; i < margins->stake_count; i++)
        if (margins->stakes[i].fails && !margins->stakes[i].ignored &&
            margins->stakes[i].counts)
            return true;
    return false;
}

static void find(struct finder *finder)
{
    struct margins *margins = &finder->margins;
    struct proposal *out = finder->out;
    size_t count = margins->knob_count;
    bool *moves = ARENA_ARRAY(margins->arena, bool, count + 1);
    double *weights = ARENA_ARRAY(margins->arena, double, count + 1);
    const char **texts = ARENA_ARRAY(margins->arena, const char *, count + 1);
    struct sought best;
    for (size_t k = 0; k < count; k++) {
        moves[k] = true;
        weights[k] = 1;
    }
    seek_greatest(margins, moves, finder->now, &best);
    try_starts(finder, moves, &best);
    out->exact = best.least;
    if (best.least >= SEEK_HOLDS) {
        seek_nearest(margins, moves, weights, best.least * (1 - GIVEN_UP), &best);
        if (round_numbers(margins, &best, texts)) {
            out->state = PROPOSAL_FOUND;
            describe_set(finder, &best, texts, &out->widest);
            list_margins(finder, best.x);
            find_fewest(finder);
            return;
        }
    }
    find_conflict(finder, moves, &best);
}

void proposal_find(const struct proposal_question *question, const struct field_place *places,
                   size_t count, struct proposal *out)
{
    const struct stake *worst;
    struct finder finder = {.question = question, .out = out};
    *out = (struct proposal){.place_count = count};
    out->places = ARENA_ARRAY(question->arena, struct field_place, count + 1);
    memcpy(out->places, places, count * sizeof *places);
    out->paths = ARENA_ARRAY(question->arena, const char *, count + 1);
    for (size_t i = 0; i < count; i++)
        out->paths[i] = machine_path(question->arena, question->machine, places[i].field,
                                     places[i].record, places[i].part);
    open_finder(&finder, places, count);
    out->least_before = margins_least(&finder.margins, &worst);
    if (count && anything_fails(&finder.margins))
        find(&finder);
    runner_reset(question->runner, question->machine);
}
