/* The proposal for one file: sets of numbers, held against the full check. */
#include "library/machine_file.h"
#include "propose/propose.h"

enum {
    PLACES_MAX = 10000, /* values that one name may stand for */
    CUTTERS_MAX = 500   /* a longer list would take minutes */
};

/* What one name stands for. */
static const char *add_named(struct arena *arena, const struct machine_file *file,
                             const char *path, struct field_places *out)
{
    const struct machine *machine = &file->machine;
    struct field_place *places = ARENA_ARRAY(arena, struct field_place, PLACES_MAX);
    size_t count = machine_resolve(arena, machine, view_of(path), places, PLACES_MAX);
    if (!count)
        return machine_file_no_place(arena, file, path);
    for (size_t i = 0; i < count; i++) {
        const struct field *field = &field_table[places[i].field];
        if (nature_is_measured(field->nature))
            return arena_format(
                arena,
                "%s is measured: what is measured is never proposed, it is measured again",
                path);
        if (field->nature == NATURE_FACT)
            return arena_format(arena, "%s is a fact: facts are never proposed", path);
        if (places[i].part || !proposal_is_possible(machine, places[i].field, places[i].record))
            return arena_format(
                arena, "%s is no single number that the file gives, so none is proposed for it",
                path);
        if (!field_places_have(out, &places[i]))
            VECTOR_ADD(arena, out, places[i]);
    }
    return NULL;
}

static const char *add_all(struct arena *arena, const struct machine_file *file,
                           const char *const *paths, size_t count, struct field_places *out)
{
    const char *wrong = NULL;
    for (size_t i = 0; i < count && !wrong; i++)
        wrong = add_named(arena, file, paths[i], out);
    return wrong;
}

/* Nothing can both change and stay. */
static const char *find_both(struct arena *arena, const struct machine_file *file,
                             const struct field_places *places, const struct field_places *kept,
                             const char *else_it_is)
{
    for (size_t i = 0; i < kept->count; i++)
        if (field_places_have(places, &kept->items[i]))
            return arena_format(arena, "%s is to be kept, and %s",
                                machine_file_path(arena, file, &kept->items[i]), else_it_is);
    return NULL;
}

/* How long changes take can be told only where it is known which moves they make. */
static const char *find_untold(struct arena *arena, const struct machine_file *file)
{
    struct change *change = ARENA_NEW(arena, struct change);
    if (!file->machine.groups[GROUP_CUTTER].count)
        return arena_format(arena, "%s lists no cutters, so there is no change to look at",
                            file->path);
    if (change_plan_times(change, &file->machine, &(struct change_request){0}))
        return NULL;
    return arena_format(arena, "which moves %s makes cannot be told without %s", file->path,
                        change->missing.count
                            ? field_path(arena, change->missing.items[0].field)
                            : "what decides them");
}

/* The wishes, the least first, then the most, then the time. */
static const char *add_wishes(struct arena *arena, const struct machine_file *file,
                              const struct proposal_asked *asked,
                              struct proposal_question *question)
{
    struct field_places least = {0}, most = {0};
    const char *wrong = add_all(arena, file, asked->least, asked->least_count, &least);
    if (!wrong)
        wrong = add_all(arena, file, asked->most, asked->most_count, &most);
    if (!wrong)
        wrong = find_both(arena, file, &least, question->kept, "wished to be least");
    if (!wrong)
        wrong = find_both(arena, file, &most, question->kept, "wished to be most");
    for (size_t i = 0; i < most.count && !wrong; i++)
        if (field_places_have(&least, &most.items[i]))
            wrong = arena_format(arena, "%s is wished to be least and most",
                                 machine_file_path(arena, file, &most.items[i]));
    if (!wrong && asked->fastest)
        wrong = find_untold(arena, file);
    if (wrong)
        return wrong;
    struct wish *wishes = ARENA_ARRAY(arena, struct wish, least.count + most.count + 1);
    for (size_t i = 0; i < least.count; i++)
        wishes[question->wish_count++] = (struct wish){WISH_LEAST, least.items[i]};
    for (size_t i = 0; i < most.count; i++)
        wishes[question->wish_count++] = (struct wish){WISH_MOST, most.items[i]};
    if (asked->fastest)
        wishes[question->wish_count++] = (struct wish){.kind = WISH_FASTEST};
    question->wishes = wishes;
    return NULL;
}

/* With names, those and what is wished of; else what a wish needs, and what fails. */
static void choose_wished(const struct proposal_question *question,
                          const struct proposal_asked *asked, struct field_places *kept,
                          struct field_places *places)
{
    for (size_t i = 0; i < question->wish_count; i++)
        if (question->wishes[i].kind != WISH_FASTEST &&
            !field_places_have(places, &question->wishes[i].place))
            VECTOR_ADD(question->arena, places, question->wishes[i].place);
    if (asked->count)
        return;
    if (asked->fastest && !asked->all)
        proposal_keep_place(question, kept);
    proposal_choose_wished(question, places);
    proposal_choose(question, asked->all, places);
}

static void count_found(struct arena *arena, const struct check_options *options,
                        struct machine_file *file, struct file_report *out)
{
    struct check_options plain = *options;
    plain.show = SHOW_FAILED;
    plain.remedies = plain.brief = false;
    plain.words = true;
    plain.agreements = NULL; /* what is proposed is told the controller afterwards */
    checker_check_machine(checker_new(arena, &plain), arena, &file->machine, &file->sink, out);
}

/* Is there a finding of this rule about the same thing in the other report? */
static bool is_found(const struct file_report *report, const struct finding *finding)
{
    for (size_t i = 0; i < report->count; i++) {
        const struct finding *other = &report->findings[i];
        bool same_subject = finding->subject && other->subject
                                ? strcmp(finding->subject, other->subject) == 0
                                : finding->subject == other->subject;
        if (other->outcome == OUTCOME_FAILED && strcmp(other->rule, finding->rule) == 0 &&
            other->requirement == finding->requirement && same_subject)
            return true;
    }
    return false;
}

/* The file with the set in it is checked as any other: nothing may fail that held before. */
static const char *verify(struct arena *arena, const struct check_options *options,
                          struct machine_file *file, const struct proposed_set *set,
                          struct verified_set *out)
{
    struct file_report before, after;
    struct machine_file *now = file;
    *out = (struct verified_set){.set = set};
    count_found(arena, options, file, &before);
    for (size_t i = 0; i < set->count; i++) {
        const char *wrong = machine_file_set(arena, &now, &set->items[i].place,
                                             view_of(set->items[i].text), SET_AT_HOME);
        if (wrong)
            return arena_format(arena, "%s cannot be set: %s", set->items[i].lasting, wrong);
    }
    count_found(arena, options, now, &after);
    for (size_t i = 0; i < after.count; i++) {
        const struct finding *finding = &after.findings[i];
        if (finding->outcome != OUTCOME_FAILED || finding->level == LEVEL_NOTE)
            continue;
        if (!is_found(&before, finding))
            return arena_format(arena, "%s fails with it", finding->rule);
        out->left++;
    }
    return NULL;
}

/* Which of the numbers stand in files that others take in as well. */
static void find_files(struct arena *arena, const struct machine_file *file,
                       struct proposed_set *set)
{
    for (size_t i = 0; i < set->count; i++)
        set->items[i].elsewhere = machine_file_elsewhere(arena, file, &set->items[i].place);
}

/* The file that an agreement holds this number against; NULL: none does. */
static const char *find_agreement(struct arena *arena, const struct machine *machine,
                                  const struct field_place *place)
{
    enum { PLACES = 8 };
    for (uint32_t i = 0; i < machine->groups[GROUP_AGREEMENT].count; i++) {
        const struct field_value *field = machine_field(machine, FIELD_AGREEMENT_FIELD, i);
        const struct field_value *file = machine_field(machine, FIELD_AGREEMENT_FILE, i);
        struct field_place places[PLACES];
        if (field->state != VALUE_GIVEN || file->state != VALUE_GIVEN)
            continue;
        size_t count = machine_resolve(arena, machine, field->text, places, PLACES);
        for (size_t k = 0; k < count && k < PLACES; k++)
            if (places[k].field == place->field && places[k].record == place->record)
                return arena_copy(arena, file->text.data, file->text.size);
    }
    return NULL;
}

/* Which of them the controller has to be told of, too. */
static void find_agreements(struct arena *arena, const struct machine *machine,
                            struct proposed_set *set)
{
    for (size_t i = 0; i < set->count; i++)
        set->items[i].agrees_with = find_agreement(arena, machine, &set->items[i].place);
}

const char *machine_file_propose(struct arena *arena, const struct check_options *options,
                                 struct machine_file *file, const struct proposal_asked *asked,
                                 struct report_proposal *out)
{
    struct runner *runner = ARENA_NEW(arena, struct runner);
    struct field_places places = {0}, kept = {0};
    struct instance_list waived;
    *out = (struct report_proposal){0};
    uint32_t cutters = file->machine.groups[GROUP_CUTTER].count;
    if (cutters > CUTTERS_MAX)
        return arena_format(arena, "%s lists %u cutters; sets are looked for with at most %d",
                            file->path, cutters, CUTTERS_MAX);
    runner_init(runner, arena, options->books, options->book_count);
    machine_file_waived(arena, file, options->today, runner, &waived);
    struct proposal_question question = {.runner = runner,
                                         .arena = arena,
                                         .machine = &file->machine,
                                         .ignored = &waived,
                                         .kept = &kept,
                                         .named = asked->count > 0};
    const char *wrong = add_all(arena, file, asked->paths, asked->count, &places);
    if (!wrong)
        wrong = add_all(arena, file, asked->keep, asked->keep_count, &kept);
    if (!wrong)
        wrong = find_both(arena, file, &places, &kept, "named as one that may change");
    if (!wrong)
        wrong = add_wishes(arena, file, asked, &question);
    if (wrong)
        return wrong;
    if (question.wish_count)
        choose_wished(&question, asked, &kept, &places);
    else if (!asked->count)
        proposal_choose(&question, asked->all, &places);
    if (question.wish_count && !places.count)
        return arena_format(arena, "%s gives no number that may change for what is wished",
                            file->path);
    do
        proposal_find(&question, places.items, places.count, &out->proposal);
    while (!asked->count && proposal_widen(&question, &out->proposal, &places));
    if (out->proposal.state != PROPOSAL_FOUND)
        return NULL;
    find_files(arena, file, &out->proposal.widest);
    find_agreements(arena, &file->machine, &out->proposal.widest);
    find_files(arena, file, &out->proposal.fewest);
    find_agreements(arena, &file->machine, &out->proposal.fewest);
    out->refuted = verify(arena, options, file, &out->proposal.widest, &out->widest);
    if (!out->refuted && verify(arena, options, file, &out->proposal.fewest, &out->fewest))
        out->fewest = out->widest; /* it does not stand the check */
    return NULL;
}
