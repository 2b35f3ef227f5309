#include "mend/mend.h"

#include "mend/trials.h"

struct mender {
    struct check_options options;
    struct check_options plain; /* what fails, and no more */
    struct arena *arena;
    struct checker *checker;
    struct checker *quiet; /* tries changes; NULL until there is one to try */
};

struct mender *mender_new(struct arena *arena, const struct check_options *options)
{
    struct mender *mender = ARENA_NEW(arena, struct mender);
    mender->options = mender->plain = *options;
    mender->plain.show = SHOW_FAILED;
    mender->plain.remedies = mender->plain.brief = false;
    mender->plain.places = true;
    mender->arena = arena;
    mender->checker = checker_new(arena, &mender->options);
    return mender;
}

/* Fields that a finding names: where it points first, then the others. */
static const struct finding_spot *spot(const struct finding *finding, size_t index)
{
    return index ? &finding->related[index - 1] : &finding->at;
}

static bool is_number(enum field_kind kind)
{
    return kind == KIND_QUANTITY || kind == KIND_POSITION || kind == KIND_PAIR;
}

/* What can be tried about one thing that a rule's finding names. */
static void try_spot(struct trials *trials, const struct finding_spot *named,
                     const struct field_place *place, bool blamed)
{
    const struct field *field = &field_table[place->field];
    if (is_number(field->kind)) {
        const struct tree_node *node = tree_at(&trials->file->own, view_of(named->field));
        const struct finding_spot number = {.field = named->field,
                                            .span = node ? node->span : (struct span){0, 0}};
        if (node && node->kind == TREE_TEXT && node->style == STYLE_PLAIN)
            units_try(trials, &number, place->field, blamed ? UNITS_USED : UNITS_IF_ODD);
    } else if (field->nature == NATURE_CHOSEN) {
        words_try(trials, place);
    }
}

/* What was found of trials that put a finding right: of the nearest, one and how many. */
struct found {
    const struct trial *trial;
    size_t count;
    bool cut; /* what was not tried might do as well */
};

static void look(const struct trials *trials, const struct trial_group *group, size_t finding,
                 struct found *found)
{
    found->cut |= group->cut;
    for (size_t i = group->first; i < group->end; i++) {
        const struct trial *trial = &trials->items.items[i];
        bool nearer = !found->trial || trial->edit.distance < found->trial->edit.distance;
        if (!trial->clean || !trial->gone[finding] ||
            (!nearer && trial->edit.distance > found->trial->edit.distance))
            continue;
        found->count = nearer ? 1 : found->count + 1;
        found->trial = trial;
    }
}

/* Tries what a rule's finding is about: words of the procedure that it names, and units. */
static void try_rule(struct trials *trials, size_t index, struct found *found)
{
    const struct finding *finding = &trials->before->findings[index];
    for (size_t i = 0; i <= finding->related_count; i++) {
        const struct finding_spot *named = spot(finding, i);
        struct field_place place;
        struct trial_group *group;
        if (!named->field || named->source != trials->before->source ||
            machine_resolve(trials->arena, &trials->file->machine, view_of(named->field),
                            &place, 1) != 1)
            continue;
        const char *about =
            i ? named->field : arena_format(trials->arena, "%s, blamed", named->field);
        if (!trials_are_known(trials, about, &group)) {
            try_spot(trials, named, &place, i == 0);
            if (i == 0)
                again_try(trials, named->field);
            group = &trials->groups.items[trials->groups.count - 1];
        }
        look(trials, group, index, found);
    }
}

static void try_typed(struct trials *trials, size_t index, struct found *found)
{
    const struct finding *finding = &trials->before->findings[index];
    struct trial_group *group;
    if (finding->at.source != trials->before->source)
        return;
    (void)trials_are_known(trials,
                           arena_format(trials->arena, "%s at %u", finding->rule,
                                        (unsigned)finding->at.span.start),
                           &group);
    typed_try(trials, finding);
    look(trials, &trials->groups.items[trials->groups.count - 1], index, found);
}

static void offer(struct trials *trials, struct finding *finding, const struct trial *trial)
{
    const struct proposed_edit *edit = &trial->edit;
    bool asks = edit->always_asks || finding->hurts == HURTS_PERSON;
    const struct finding_fix fix = {.title = edit->title,
                                    .source = finding->at.source,
                                    .span = edit->span,
                                    .text = edit->text,
                                    .why = edit->why,
                                    .field = edit->field,
                                    .asks = asks ? edit->asks : NULL};
    finding_offer(trials->arena, finding, &fix);
}

static struct checker *quiet_of(struct mender *mender)
{
    if (!mender->quiet)
        mender->quiet = checker_new(mender->arena, &mender->plain);
    return mender->quiet;
}

static void find_mends(struct mender *mender, struct trials *trials, struct file_report *report)
{
    for (size_t i = 0; i < report->count; i++) {
        struct finding *finding = &report->findings[i];
        struct found found = {0};
        if (finding->outcome != OUTCOME_FAILED || finding->implied_by ||
            finding->level == LEVEL_NOTE)
            continue;
        trials->checker = quiet_of(mender);
        if (!finding->from_reader)
            try_rule(trials, i, &found);
        else if (!finding->fix_count)
            try_typed(trials, i, &found);
        if (found.count == 1 && !found.cut)
            offer(trials, finding, found.trial);
    }
}

void mender_check_file(struct mender *mender, struct arena *arena, struct machine_file *file,
                       struct file_report *out)
{
    checker_check_machine(mender->checker, arena, &file->machine, &file->sink, out);
    if (!mender->options.remedies || !mender->options.words || file->bytes.size > MEND_BYTES ||
        file->machine.groups[GROUP_CUTTER].count > MEND_CUTTERS)
        return;
    struct trials trials = {
        .arena = arena, .scratch = arena_new_within(arena), .file = file, .before = out};
    find_mends(mender, &trials, out);
    arena_free(trials.scratch);
}

void mender_check(struct mender *mender, struct arena *arena, struct view path,
                  struct view bytes, struct file_report *out)
{
    struct machine_file *file = ARENA_NEW(arena, struct machine_file);
    machine_file_read(arena, arena_copy(arena, path.data, path.size), bytes,
                      mender->options.shared, file);
    mender_check_file(mender, arena, file, out);
}
