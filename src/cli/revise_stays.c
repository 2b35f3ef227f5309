/* What stays as it is when all was put right that could be, and why. */
#include <string.h>

#include "cli/revise_right.h"
#include "finding/sink.h"
#include "report/wrap.h"
#include "rules/check.h"

enum { FIRST_MAX = 3 /* numbers to be measured again: with more nobody begins */ };

const char *repair_name(struct arena *arena, const struct finding *finding)
{
    return arena_format(arena, "%s: %s", finding->rule, finding->message);
}

/* Telling. */

struct teller {
    const struct repair *repair;
    struct arena *arena;
    struct buffer *out;
    struct wrap wrap;
    const char *first[FIRST_MAX]; /* to be measured again, as they were told */
    size_t first_count;
};

static const char *lasting(const struct teller *teller, const char *path)
{
    return machine_lasting_path(teller->arena, &teller->repair->revision->now->machine, path);
}

static const char *who(struct arena *arena, const char *rule, const char *subject)
{
    return subject ? arena_format(arena, "%s (%s)", rule, subject) : rule;
}

/* "a (cutter 1), b and c" */
static const char *rules_text(struct arena *arena, const struct excluded *items, size_t count)
{
    struct buffer text;
    buffer_init(&text, arena);
    for (size_t i = 0; i < count; i++)
        buffer_format(&text, "%s%s",
                      !i              ? ""
                      : i + 1 < count ? ", "
                                      : " and ",
                      who(arena, items[i].rule, items[i].subject));
    return buffer_string(&text);
}

static const struct in_vain *tried(const struct teller *teller, const struct finding *finding)
{
    const struct repair *repair = teller->repair;
    const char *name = repair_name(teller->arena, finding);
    const char *path = finding->at.field ? lasting(teller, finding->at.field) : "";
    for (size_t i = 0; i < repair->vain.count; i++)
        if (strcmp(repair->vain.items[i].what, name) == 0 ||
            strcmp(repair->vain.items[i].what, path) == 0)
            return &repair->vain.items[i];
    return NULL;
}

/* One line for each thing to mend: why no number was set, or what the rule says to do. */
static void tell_finding(struct teller *teller, const struct finding_group *group)
{
    const struct finding *finding = group->worst;
    const struct finding *doubt = finding_doubt(&teller->repair->report, finding);
    const struct in_vain *vain = tried(teller, finding);
    const char *name = who(teller->arena, finding->rule, finding->subject);
    if (finding->outcome != OUTCOME_FAILED || finding->level == LEVEL_NOTE)
        return;
    if (doubt && doubt != finding)
        wrap_format(teller->out, &teller->wrap,
                    "Left as it is: %s rests on %s, and what is found about that comes first.",
                    name, lasting(teller, doubt->at.field));
    else if (vain && vain->words)
        wrap_format(teller->out, &teller->wrap, "Left as it is: %s: %s.", name, vain->words);
    else if (finding->put_right)
        wrap_format(teller->out, &teller->wrap, "Left as it is: %s: %s.", name,
                    finding->put_right);
    else
        wrap_format(teller->out, &teller->wrap, "Left as it is: %s: %s.", name,
                    finding->message);
}

static void tell_findings(struct teller *teller)
{
    const struct file_report *report = &teller->repair->report;
    size_t count;
    struct finding_group *groups =
        findings_group(teller->arena, report->findings, report->count, &count);
    for (size_t i = 0; i < count; i++)
        tell_finding(teller, &groups[i]);
}

/* What the search for sets says. */
static void tell_sets(struct teller *teller)
{
    const struct repair *repair = teller->repair;
    const struct proposal *proposal = &repair->proposal.proposal;
    if (repair->refused)
        wrap_format(teller->out, &teller->wrap, "No set of numbers was looked for: %s.",
                    repair->refused);
    else if (repair->proposal.refuted)
        wrap_format(teller->out, &teller->wrap, "No set of numbers stood the check: %s.",
                    repair->proposal.refuted);
    if (proposal->excluded_count > 1)
        wrap_format(teller->out, &teller->wrap, "%s: %s.",
                    proposal->proved ? "Whatever is chosen, these exclude each other"
                    : proposal->stands
                        ? "Wherever it was looked, these exclude each other"
                        : "No set of numbers was found; these stood against each other",
                    rules_text(teller->arena, proposal->excluded, proposal->excluded_count));
    if (proposal->stay_count)
        wrap_format(teller->out, &teller->wrap,
                    "No numbers were found with which this holds: %s.",
                    rules_text(teller->arena, proposal->stays, proposal->stay_count));
}

/* By how much it alone would have to be otherwise, where that is known. */
static const char *way_words(const struct teller *teller, const char *path)
{
    const struct proposal *proposal = &teller->repair->proposal.proposal;
    for (size_t i = 0; i < proposal->way_count; i++) {
        const struct way_out *way = &proposal->ways[i];
        if (strcmp(way->path, path) == 0)
            return arena_format(teller->arena, ", now %s; with %s %s it would do",
                                way->now_text, way->by_text, way->change > 0 ? "more" : "less");
    }
    return "";
}

/* What is to be done about a number that would have to be otherwise. */
enum again { AGAIN_MEASURE, AGAIN_FACT, AGAIN_CHOOSE, AGAIN_COUNT };

/* Names a number to be measured again, once. */
static void tell_first(struct teller *teller, const char *path, enum again again)
{
    static const char *const orders[AGAIN_COUNT][2] = {
        {"Measure again first:", "Then measure again:"},
        {"Look again first at the fact", "Then look again at the fact"},
        {"It would do to choose otherwise:", "Or to choose otherwise:"}};
    for (size_t i = 0; i < teller->first_count; i++)
        if (strcmp(teller->first[i], path) == 0)
            return;
    if (teller->first_count == FIRST_MAX)
        return;
    wrap_format(teller->out, &teller->wrap, "%s %s%s.", orders[again][teller->first_count > 0],
                path, way_words(teller, path));
    teller->first[teller->first_count++] = path;
}

/* What findings point at, those of the reader first; then what would do. */
static void tell_measured(struct teller *teller)
{
    const struct file_report *report = &teller->repair->report;
    const struct proposal *proposal = &teller->repair->proposal.proposal;
    for (int reader = 1; reader >= 0; reader--)
        for (size_t i = 0; i < report->count; i++) {
            const struct finding *finding = &report->findings[i];
            if (finding->outcome == OUTCOME_FAILED && finding->from_reader == reader &&
                !finding->implied_by && finding->level != LEVEL_NOTE &&
                finding_is_measured(finding))
                tell_first(teller, lasting(teller, finding->at.field),
                           nature_is_measured(
                               field_table[field_find(view_of(finding->at.field))].nature)
                               ? AGAIN_MEASURE
                               : AGAIN_FACT);
        }
    for (size_t i = 0; i < proposal->way_count; i++) {
        const struct way_out *way = &proposal->ways[i];
        tell_first(teller, way->path,
                   way->kept       ? AGAIN_CHOOSE
                   : way->measured ? AGAIN_MEASURE
                                   : AGAIN_FACT);
    }
}

/* What was chosen anew stands in the file alone so far. */
static void tell_set(const struct teller *teller)
{
    enum { NAMED_MAX = 8 };
    const struct revision *revision = teller->repair->revision;
    struct field_places told = {0};
    struct buffer names;
    buffer_init(&names, teller->arena);
    for (size_t i = 0; i < revision->set.count; i++) {
        const struct field_place *place = &revision->set.items[i];
        if (field_table[place->field].nature != NATURE_CHOSEN ||
            field_places_have(&told, place))
            continue;
        if (told.count < NAMED_MAX)
            buffer_format(&names, "%s%s", names.size ? ", " : "", revise_path(revision, place));
        VECTOR_ADD(teller->arena, &told, *place);
    }
    if (told.count > NAMED_MAX)
        buffer_format(&names, " and %zu more", told.count - NAMED_MAX);
    if (told.count)
        wrap_format(teller->out, &teller->wrap, "To be set at the machine as well: %s.",
                    buffer_string(&names));
}

static void tell_declined(struct teller *teller, const char *words)
{
    bool question = *words && words[strlen(words) - 1] == '?';
    wrap_format(teller->out, &teller->wrap, "Not done without a yes: %s%s", words,
                question ? "" : ".");
}

void repair_tell_left(const struct repair *repair)
{
    struct revision *revision = repair->revision;
    struct teller teller = {.repair = repair,
                            .arena = revision->run->arena,
                            .out = &revision->remarks,
                            .wrap = {wrap_width(run_layout(revision->run).width), 0, 2}};
    tell_set(&teller);
    for (size_t i = 0; i < repair->declined.count; i++)
        tell_declined(&teller, repair->declined.items[i].words);
    tell_findings(&teller);
    tell_sets(&teller);
    tell_measured(&teller);
}
