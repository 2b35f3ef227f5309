/* Putting right what failed.
 *
 * Each change has to leave less that fails than there was before, the gravest first; so this
 * comes to an end, and a second run finds nothing more to do.  Words of which it is sure what
 * was meant come first, for what cannot be read is not checked; then numbers one by one, each
 * in its own window; and where those leave something, a set of several, which is taken where
 * it leaves less.
 */
#include "cli/revise_right.h"

#include <string.h>

#include "rules/check.h"

/* The revision at one moment, to go back to. */
struct moment {
    struct machine_file *now;
    struct field_place *set;
    size_t set_count;
    struct file_report report;
};

static struct moment keep(const struct repair *repair)
{
    const struct revision *revision = repair->revision;
    struct moment moment = {
        .now = revision->now, .set_count = revision->set.count, .report = repair->report};
    moment.set = ARENA_ARRAY(revision->run->arena, struct field_place, moment.set_count + 1);
    if (moment.set_count)
        memcpy(moment.set, revision->set.items, moment.set_count * sizeof *moment.set);
    return moment;
}

static void go_back(struct repair *repair, const struct moment *moment)
{
    struct revision *revision = repair->revision;
    revision->now = moment->now;
    revision->set.count = 0;
    for (size_t i = 0; i < moment->set_count; i++)
        VECTOR_ADD(revision->run->arena, &revision->set, moment->set[i]);
    repair->report = moment->report;
}

/* At a file that may not stay so: what fails, and what stands behind it. */
static void look(struct repair *repair)
{
    revise_check_thoroughly(repair->revision, repair->revision->now, &repair->report);
}

/* At one that stays: with the small changes that would do as well. */
static void settle(struct repair *repair)
{
    revise_check_with_changes(repair->revision, repair->revision->now, &repair->report);
}

static bool is_mended(const struct file_report *report)
{
    size_t failed[LEVEL_COUNT];
    failed_count(report, failed);
    return !failed[LEVEL_ERROR] && !failed[LEVEL_WARNING];
}

static bool is_in_vain(const struct repair *repair, const char *what)
{
    for (size_t i = 0; i < repair->vain.count; i++)
        if (strcmp(repair->vain.items[i].what, what) == 0)
            return true;
    return false;
}

static bool is_open(const struct finding *finding)
{
    return finding->outcome == OUTCOME_FAILED && !finding->implied_by;
}

/* What is not done without a yes. */

#define WITHOUT_YES "it is not done without a yes"

static bool is_declined(const struct repair *repair, const char *thing)
{
    for (size_t i = 0; i < repair->declined.count; i++)
        if (strcmp(repair->declined.items[i].what, thing) == 0)
            return true;
    return false;
}

/* What wants a yes; texts are sentences without a full stop. */
struct yes_wanted {
    const char *thing;    /* what it is about, of which it is asked once only */
    const char *what;     /* as it is told where it is not done */
    const char *question; /* as it is asked, with its sign; NULL: whether that is to be so */
};

static const char *begun(struct arena *arena, const char *sentence)
{
    char *text = arena_copy(arena, sentence, strlen(sentence));
    if (*text >= 'a' && *text <= 'z')
        *text = (char)(*text - 'a' + 'A');
    return text;
}

/* Asks where somebody sits there. */
static bool agreed(struct repair *repair, const struct yes_wanted *wish)
{
    struct revision *revision = repair->revision;
    struct arena *arena = revision->run->arena;
    if (is_declined(repair, wish->thing))
        return false;
    const char *question = wish->question;
    if (!question)
        question = arena_format(arena, "%s. Is it to be so?", begun(arena, wish->what));
    if (revision->run->out->is_terminal && !revision->lines->from &&
        lines_open(revision->lines, NULL) &&
        lines_agree(revision->lines, arena_format(arena, "%s (yes or no)", question)))
        return true;
    const struct in_vain declined = {wish->thing, wish->what};
    VECTOR_ADD(arena, &repair->declined, declined);
    return false;
}

/* A change as it is told. */
struct told {
    const char *thing; /* "change.standoff": what it is about */
    const char *what;  /* "set change.standoff to 12 mm (now 10 mm)" */
    bool is_set;       /* no finding blamed what it sets */
};

/* Why the change is not made that led from `before` to the file of now; NULL: it is. */
static const char *object(struct repair *repair, const struct moment *before,
                          const struct told *told)
{
    struct arena *arena = repair->revision->run->arena;
    struct against against;
    against_find(arena, &before->report, &repair->report, &against);
    if (against.doubt)
        return arena_format(arena, "to %s would suit %s, which is in doubt by %s", told->what,
                            against.doubt->at.field, against.doubt->rule);
    if (against.people &&
        !agreed(
            repair,
            &(struct yes_wanted){
                .thing = told->thing,
                .what = arena_format(
                    arena, "to %s leaves less room for what %s is about, and that is people",
                    told->what, against.people->rule)}))
        return WITHOUT_YES;
    if (told->is_set && against.measured &&
        !agreed(
            repair,
            &(struct yes_wanted){
                .thing = told->thing,
                .what = arena_format(
                    arena,
                    "to %s suits the file, but %s points at %s, which is measured again first",
                    told->what, against.measured->rule, against.measured->at.field)}))
        return WITHOUT_YES;
    return NULL;
}

/* The chosen number that a finding blames; false where it blames none. */
static bool chosen_place(const struct repair *repair, const struct finding *finding,
                         struct field_place *out)
{
    const struct revision *revision = repair->revision;
    if (!is_open(finding) || finding->from_reader || !finding->at.field)
        return false;
    enum field_id id = field_find(view_of(finding->at.field));
    return id != FIELD_COUNT && field_table[id].nature == NATURE_CHOSEN &&
           machine_resolve(revision->run->arena, &revision->now->machine,
                           view_of(finding->at.field), out, 1) == 1 &&
           window_is_possible(&revision->now->machine, out->field, out->record, out->part);
}

/* Words. */

static bool is_found(const struct file_report *report, const struct finding *finding)
{
    for (size_t i = 0; i < report->count; i++) {
        const struct finding *other = &report->findings[i];
        if (other->outcome == OUTCOME_FAILED && strcmp(other->rule, finding->rule) == 0 &&
            strcmp(other->message, finding->message) == 0)
            return true;
    }
    return false;
}

/* What has to be answered with yes before a fix is written; false: nothing has. */
static bool fix_wish(struct arena *arena, const struct finding *finding,
                     const struct finding_fix *fix, struct yes_wanted *out)
{
    const bool person = finding->hurts == HURTS_PERSON;
    const char *asks = fix->asks ? fix->asks : "is it so at the machine by now?";
    const char *first =
        person && finding->put_right
            ? arena_format(arena, " At the machine first: %s.", finding->put_right)
            : "";
    const char *then =
        finding->from_reader ? "" : arena_format(arena, " In the file: %s.", fix->title);
    *out = (struct yes_wanted){
        .thing = arena_format(arena, "%s %s", repair_name(arena, finding), fix->title),
        .what = arena_format(arena, "%s: %s", fix->title, asks),
        .question = arena_format(arena, "%s.%s%s %s", begun(arena, finding->message), first,
                                 then, begun(arena, asks))};
    return fix->asks || person;
}

/* Is it a number for the chosen one that the finding blames?  Those have their own way. */
static bool is_number(const struct repair *repair, const struct finding *finding,
                      const struct finding_fix *fix)
{
    struct field_place place;
    return !fix->why && chosen_place(repair, finding, &place);
}

static bool has_words(const struct repair *repair, const struct finding *finding)
{
    for (size_t i = 0; i < finding->fix_count; i++)
        if (!is_number(repair, finding, &finding->fixes[i]))
            return true;
    return false;
}

/* Is it one of several of which none asks, so that nobody knows which? */
static bool is_unsure(const struct repair *repair, const struct finding *finding)
{
    size_t sure = 0;
    for (size_t i = 0; i < finding->fix_count; i++)
        sure += !finding->fixes[i].asks && !is_number(repair, finding, &finding->fixes[i]);
    return sure > 1;
}

/* A question about what another place says on which the finding rests: until it is answered,
 * a number that suits what stands there may suit a slip. */
static const struct finding_fix *asked_elsewhere(const struct finding *finding)
{
    for (size_t i = 0; i < finding->fix_count; i++) {
        const struct finding_fix *fix = &finding->fixes[i];
        if (fix->asks && (fix->span.start >= finding->at.span.end ||
                          fix->span.end <= finding->at.span.start))
            return fix;
    }
    return NULL;
}

/* Of what failed before and does not now, a question that is still open. */
static const struct finding_fix *unanswered(const struct file_report *before,
                                            const struct file_report *now)
{
    const struct finding_fix *asked = NULL;
    for (size_t i = 0; i < before->count && !asked; i++)
        if (is_open(&before->findings[i]) && !is_found(now, &before->findings[i]))
            asked = asked_elsewhere(&before->findings[i]);
    return asked;
}

/* Writes one fix; else why it stays as it is. */
static const char *amend(struct repair *repair, const struct finding *finding,
                         const struct finding_fix *fix)
{
    struct revision *revision = repair->revision;
    struct arena *arena = revision->run->arena;
    const struct moment before = keep(repair);
    const struct told told = {repair_name(arena, finding), fix->title, false};
    struct yes_wanted wish;
    if (fix_wish(arena, finding, fix, &wish) && !agreed(repair, &wish))
        return WITHOUT_YES;
    const char *wrong = revise_amend(revision, finding, fix);
    if (wrong)
        return wrong;
    look(repair);
    /* What was mistyped was in doubt only for being so, and was tried. */
    bool tried = finding->from_reader && fix->why;
    if (is_found(&repair->report, finding))
        wrong = arena_format(arena, "to %s does not mend it", fix->title);
    else if (!tried)
        wrong = object(repair, &before, &told);
    if (wrong)
        go_back(repair, &before);
    else
        settle(repair);
    return wrong;
}

/* Writes one of the fixes of a finding; false: it stays as it is. */
static bool amend_finding(struct repair *repair, const struct finding *finding)
{
    struct arena *arena = repair->revision->run->arena;
    struct in_vain vain = {.what = repair_name(arena, finding)};
    for (size_t i = 0; i < finding->fix_count && !is_unsure(repair, finding); i++) {
        if (is_number(repair, finding, &finding->fixes[i]))
            continue;
        vain.words = amend(repair, finding, &finding->fixes[i]);
        if (!vain.words)
            return true;
    }
    VECTOR_ADD(arena, &repair->vain, vain);
    return false;
}

static bool amend_one(struct repair *repair)
{
    struct arena *arena = repair->revision->run->arena;
    const struct file_report report = repair->report;
    for (size_t i = 0; i < report.count; i++) {
        const struct finding *finding = &report.findings[i];
        if (is_open(finding) && has_words(repair, finding) &&
            !is_in_vain(repair, repair_name(arena, finding)) && amend_finding(repair, finding))
            return true;
    }
    return false;
}

/* Numbers one by one. */

/* A rule about people that rests on the number and cannot be asked: nobody knows what it would
 * say.  NULL: there is none. */
static const struct finding *unasked_for_people(struct repair *repair, enum field_id field)
{
    struct revision *revision = repair->revision;
    struct formula_change *changes =
        search_changes(&repair->runner, revision->run->arena, &revision->now->machine, field);
    for (size_t i = 0; i < repair->report.count; i++) {
        const struct finding *finding = &repair->report.findings[i];
        if (finding->outcome == OUTCOME_UNCHECKED && finding->hurts == HURTS_PERSON &&
            finding->level != LEVEL_NOTE && remedy_moves(&repair->runner, changes, finding))
            return finding;
    }
    return NULL;
}

/* Sets it within its window; `*words`: why not. */
static bool set_within(struct repair *repair, const struct field_place *place,
                       const char **words)
{
    struct revision *revision = repair->revision;
    struct arena *arena = revision->run->arena;
    const struct moment before = keep(repair);
    struct instance_list waived;
    struct window window;
    double si;
    const char *text;
    machine_file_waived(arena, revision->now, run_today(revision->run), &repair->runner,
                        &waived);
    const struct window_question question = {&repair->runner, arena, &revision->now->machine,
                                             &waived};
    *words = "nothing is proposed for it";
    if (!window_find(&question, place->field, place->record, place->part, &window))
        return false;
    if (!window_propose(arena, &window, &si, &text)) {
        if (window.empty)
            *words = window_words(arena, &window);
        return false;
    }
    *words = revise_set(revision, place, view_of(text));
    if (*words)
        return false;
    look(repair);
    const struct told told = {
        window.lasting,
        arena_format(arena, "set %s to %s (now %s)", window.lasting, text, window.value_text),
        false};
    const struct finding_fix *asked = unanswered(&before.report, &repair->report);
    const struct finding *people = unasked_for_people(repair, place->field);
    const char *though =
        people ? arena_format(arena, "to %s, though %s, which is about people, cannot be asked",
                              told.what, people->rule)
               : NULL;
    if (!report_is_better(&repair->report, &before.report))
        *words = arena_format(arena, "to %s mends no more than it spoils", told.what);
    else if (asked)
        *words = arena_format(arena, "to %s waits for an answer: %s", told.what, asked->asks);
    else if (though &&
             !agreed(repair, &(struct yes_wanted){.thing = told.thing, .what = though}))
        *words = WITHOUT_YES;
    else
        *words = object(repair, &before, &told);
    if (*words)
        go_back(repair, &before);
    else
        settle(repair);
    return !*words;
}

/* Sets one of the numbers that findings blame.  What was in vain is tried again afterwards. */
static bool set_one(struct repair *repair)
{
    struct revision *revision = repair->revision;
    struct arena *arena = revision->run->arena;
    const struct file_report report = repair->report;
    for (size_t i = 0; i < report.count; i++) {
        struct field_place place;
        if (!chosen_place(repair, &report.findings[i], &place))
            continue;
        struct in_vain vain = {.what = revise_path(revision, &place)};
        if (is_in_vain(repair, vain.what))
            continue;
        if (field_places_have(&repair->given, &place)) {
            vain.words = arena_format(arena, "%s is as the command line sets it", vain.what);
        } else if (set_within(repair, &place, &vain.words)) {
            repair->vain.count = 0;
            return true;
        }
        VECTOR_ADD(arena, &repair->vain, vain);
    }
    return false;
}

/* Sets of several. */

static struct told set_told(struct arena *arena, const struct proposed_set *set)
{
    struct buffer thing, words;
    buffer_init(&thing, arena);
    buffer_init(&words, arena);
    for (size_t i = 0; i < set->count; i++)
        buffer_format(&words, "%s%s to %s (now %s)",
                      !i                    ? "set "
                      : i + 1 == set->count ? " and "
                                            : ", ",
                      set->items[i].lasting, set->items[i].text, set->items[i].now_text);
    for (size_t i = 0; i < set->count; i++)
        buffer_format(&thing, "%s%s", i ? " " : "", set->items[i].lasting);
    return (struct told){buffer_string(&thing), buffer_string(&words), true};
}

/* Of what the command line sets, the numbers that a set might change. */
static const char *const *given_paths(const struct repair *repair, size_t *count)
{
    const struct revision *revision = repair->revision;
    const struct field_places *given = &repair->given;
    const char **paths = ARENA_ARRAY(revision->run->arena, const char *, given->count + 1);
    *count = 0;
    for (size_t i = 0; i < given->count; i++)
        if (proposal_is_possible(&revision->now->machine, given->items[i].field,
                                 given->items[i].record))
            paths[(*count)++] = revise_path(revision, &given->items[i]);
    return paths;
}

/* Takes the set with the fewest changes where less fails with it than in `than`. */
static bool set_several(struct repair *repair, const struct moment *than)
{
    struct revision *revision = repair->revision;
    struct arena *arena = revision->run->arena;
    const struct moment before = keep(repair);
    size_t keep_count;
    const struct check_options checking = {.books = revision->books.list,
                                           .book_count = revision->books.count,
                                           .today = run_today(revision->run),
                                           .policy = revision->books.policy};
    const struct proposal_asked asked = {.keep = given_paths(repair, &keep_count),
                                         .keep_count = keep_count};
    const struct report_proposal *found = &repair->proposal;
    repair->refused =
        machine_file_propose(arena, &checking, revision->now, &asked, &repair->proposal);
    if (repair->refused || found->proposal.state != PROPOSAL_FOUND || found->refuted)
        return false;
    const struct proposed_set *set = found->fewest.set;
    const char *wrong = NULL;
    for (size_t i = 0; i < set->count && !wrong; i++)
        wrong = revise_set(revision, &set->items[i].place, view_of(set->items[i].text));
    if (!wrong) {
        look(repair);
        const struct told told = set_told(arena, set);
        if (report_is_better(&repair->report, &than->report) &&
            !unanswered(&before.report, &repair->report) && !object(repair, &before, &told)) {
            settle(repair);
            return true;
        }
    }
    go_back(repair, &before);
    return false;
}

/* One number that mends all is better than a set, and a set than mending a part.  False: there
 * is nothing more to be done. */
static bool set_numbers(struct repair *repair)
{
    const struct moment start = keep(repair);
    bool any = false;
    repair->proposal = (struct report_proposal){0};
    repair->refused = NULL;
    while (set_one(repair))
        any = true;
    if (is_mended(&repair->report))
        return any;
    const struct moment singles = keep(repair);
    go_back(repair, &start);
    if (set_several(repair, &singles))
        return true;
    go_back(repair, &singles);
    return any;
}

void revise_put_right(struct revision *revision)
{
    struct repair *repair = ARENA_NEW(revision->run->arena, struct repair);
    repair->revision = revision;
    runner_init(&repair->runner, revision->run->arena, revision->books.list,
                revision->books.count);
    for (size_t i = 0; i < revision->set.count; i++)
        VECTOR_ADD(revision->run->arena, &repair->given, revision->set.items[i]);
    settle(repair);
    do {
        repair->vain.count = 0;
        while (amend_one(repair))
            continue;
    } while (set_numbers(repair));
    repair_tell_left(repair);
}

static const struct finding *sure_of_form(const struct file_report *report)
{
    for (size_t i = 0; i < report->count; i++) {
        const struct finding *finding = &report->findings[i];
        if (is_open(finding) && finding->from_reader && finding->fix_count == 1 &&
            !finding->fixes[0].asks)
            return finding;
    }
    return NULL;
}

void revise_put_form_right(struct revision *revision)
{
    enum { FORMS_MOST = 20 };
    for (int i = 0; i < FORMS_MOST && revision->now->tree.status != TREE_WHOLE; i++) {
        struct file_report report;
        revise_check_with_changes(revision, revision->now, &report);
        const struct finding *finding = sure_of_form(&report);
        if (!finding || revise_amend(revision, finding, &finding->fixes[0]))
            break;
    }
}
