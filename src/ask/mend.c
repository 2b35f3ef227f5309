/* Numbers that put right what fails at the review, where answers cannot all hold.
 *
 * They are found for the file that the answers give, and only among what there are questions
 * about; and they count only where less fails with them, in the file that they would give.
 */
#include "ask/internal.h"

#include "machine/file.h"
#include "propose/propose.h"
#include "report/proposals.h"
#include "rules/check.h"
#include "rules/search.h"

enum { CUTTERS_MAX = 500 }; /* a longer list would take minutes */

/* Only what can be answered is kept. */
static void keep_answerable(const struct ask *ask, struct field_places *places)
{
    size_t kept = 0;
    for (size_t i = 0; i < places->count; i++) {
        const struct field_place place = places->items[i];
        if (question_index(&ask->sequence, (uint16_t)place.field, place.record) <
            ask->sequence.items.count)
            places->items[kept++] = place;
    }
    places->count = kept;
}

static void find_set(struct ask *ask, struct view bytes, struct proposal *out)
{
    struct arena *arena = ask->scratch;
    struct machine_file *file = ARENA_NEW(arena, struct machine_file);
    struct runner *runner = &ask->judge.runner;
    struct instance_list waived;
    struct field_places places = {0};
    size_t before;
    *out = (struct proposal){.state = PROPOSAL_IDLE};
    machine_file_read(arena, ask->judge.path, bytes, ask->judge.shared, file);
    if (file->machine.groups[GROUP_CUTTER].count > CUTTERS_MAX)
        return;
    waived_failures(runner, arena, &file->machine, &file->source, ask->setup->rules->today,
                    &waived);
    const struct proposal_question question = {
        .runner = runner, .arena = arena, .machine = &file->machine, .ignored = &waived};
    proposal_choose(&question, false, &places);
    keep_answerable(ask, &places);
    do {
        before = places.count;
        proposal_find(&question, places.items, places.count, out);
        if (proposal_widen(&question, out, &places))
            keep_answerable(ask, &places);
    } while (places.count > before);
}

static const char *keep_text(struct ask *ask, const char *text)
{
    return arena_copy(ask->arena, text, strlen(text));
}

static void put_set(struct ask *ask, const struct proposed_set *set)
{
    struct mend *mend = &ask->mend;
    mend->items = ARENA_ARRAY(ask->arena, struct mending, set->count);
    mend->count = set->count;
    for (size_t i = 0; i < set->count; i++) {
        const struct proposed *item = &set->items[i];
        mend->items[i] =
            (struct mending){(uint16_t)item->place.field, item->place.record,
                             keep_text(ask, item->given ? item->now_text : "nothing"),
                             keep_text(ask, item->text)};
    }
}

/* Makes answers of the set. */
static void put_answers(struct ask *ask)
{
    for (size_t i = 0; i < ask->mend.count; i++) {
        const struct mending *item = &ask->mend.items[i];
        const struct answer answer = {.source = SOURCE_COMPUTED, .text = view_of(item->text)};
        answers_set(&ask->answers, item->what, item->record, &answer);
    }
}

/* The file with the set in it; the answers are as before afterwards.  False: there is none. */
static bool bytes_with(struct ask *ask, struct view *out)
{
    const struct mend *mend = &ask->mend;
    struct answer *before = ARENA_ARRAY(ask->scratch, struct answer, mend->count);
    for (size_t i = 0; i < mend->count; i++)
        before[i] = *answers_get(&ask->answers, mend->items[i].what, mend->items[i].record);
    put_answers(ask);
    bool whole = !ask_bytes(ask, true, out);
    for (size_t i = 0; i < mend->count; i++)
        answers_set(&ask->answers, mend->items[i].what, mend->items[i].record, &before[i]);
    return whole;
}

/* Does less fail with it?  Fills in what is to be said with it. */
static bool is_worth(struct ask *ask, struct view bytes)
{
    struct arena *arena = ask->scratch;
    struct mend *mend = &ask->mend;
    struct file_report before, after;
    struct against against;
    struct view with;
    size_t failed[LEVEL_COUNT];
    if (!bytes_with(ask, &with))
        return false;
    judge_whole(&ask->judge, arena, bytes, &before);
    judge_whole(&ask->judge, arena, with, &after);
    against_find(arena, &before, &after, &against);
    failed_count(&after, failed);
    mend->left = failed[LEVEL_ERROR] + failed[LEVEL_WARNING];
    if (against.people)
        mend->less = keep_text(ask, against.people->rule);
    if (against.measured) {
        mend->measured_rule = keep_text(ask, against.measured->rule);
        mend->measured = keep_text(ask, against.measured->at.field);
    }
    return !against.doubt && report_is_better(&after, &before);
}

/* The rules that exclude each other. */
static void put_excluded(struct ask *ask, const struct proposal *proposal)
{
    struct mend *mend = &ask->mend;
    if (!proposal->excluded_count)
        return;
    mend->exclusion = proposals_exclusion(proposal);
    mend->excluded = ARENA_ARRAY(ask->arena, const char *, proposal->excluded_count);
    for (size_t i = 0, same; i < proposal->excluded_count; i += same)
        mend->excluded[mend->excluded_count++] =
            keep_text(ask, proposals_rule(ask->scratch, &proposal->excluded[i],
                                          proposal->excluded_count - i, &same));
}

bool mend_find(struct ask *ask, struct view bytes)
{
    struct proposal proposal;
    ask->mend = (struct mend){0};
    find_set(ask, bytes, &proposal);
    if (proposal.state == PROPOSAL_NONE)
        put_excluded(ask, &proposal);
    if (proposal.state != PROPOSAL_FOUND)
        return false;
    put_set(ask, &proposal.fewest);
    if (is_worth(ask, bytes))
        return true;
    ask->mend = (struct mend){0};
    return false;
}

void mend_take(struct ask *ask)
{
    put_answers(ask);
    ask->mend = (struct mend){0};
}
