/* What was found, what is waived, what was not looked at.
 *
 * A list of cutters may break one rule five hundred times over.  The gravest come first, each
 * with what is to be done; of a rule that has more, the rest are named. */
#include "wall/internal.h"

#include <stdlib.h>

#include "finding/sink.h"

static const char *place(const struct poster *poster, const struct finding_spot *at)
{
    if (!at->source)
        return "";
    return arena_format(poster->arena, ", line %u",
                        source_place(at->source, at->span.start, COLUMN_BYTES).line);
}

const char *poster_told(const struct poster *poster, const char *text)
{
    return text ? finding_told(poster->arena, poster->wall->report, text) : "";
}

const char *poster_about(const struct poster *poster, const struct finding *finding)
{
    return finding->subject ? arena_format(poster->arena, ", %s", finding->subject) : "";
}

static bool is_a_cutter(const struct poster *poster, const char *subject)
{
    bool is = false;
    for (uint32_t i = 0; i < poster->machine->groups[GROUP_CUTTER].count && !is; i++)
        is = strcmp(subject,
                    machine_record_name(poster->arena, poster->machine, GROUP_CUTTER, i)) == 0;
    return is;
}

/* What can hurt a person does so whichever cutter is changed, but for what is another's own. */
bool poster_wants(const struct poster *poster, const struct finding *finding)
{
    const char *subject = finding->subject;
    if (!poster->subject || (subject && strcmp(subject, poster->subject) == 0))
        return true;
    return finding->hurts == HURTS_PERSON && finding->outcome != OUTCOME_UNCHECKED &&
           !(subject && is_a_cutter(poster, subject));
}

/* "error, can hurt a person: " */
static const char *gravity(const struct poster *poster, const struct finding *finding)
{
    return arena_format(poster->arena, "%s%s: ", finding_level_name(finding->level),
                        finding->hurts == HURTS_PERSON ? ", can hurt a person" : "");
}

/* `before`: what stands over it; what is to be done for both is said there.  NULL: nothing. */
static void add_failed(struct poster *poster, const struct finding *finding,
                       const struct finding *before)
{
    struct arena *arena = poster->arena;
    bool advises = finding->put_right && !(before && before->put_right &&
                                           strcmp(before->put_right, finding->put_right) == 0);
    paper_item(&poster->paper,
               arena_format(arena, "%s%s [%s%s%s]%s%s", gravity(poster, finding),
                            poster_told(poster, finding->message), finding->rule,
                            poster_about(poster, finding), place(poster, &finding->at),
                            advises ? "\nTo do: " : "",
                            advises ? poster_told(poster, finding->put_right) : ""),
               false);
}

static void add_waived(struct poster *poster, const struct finding *finding)
{
    struct arena *arena = poster->arena;
    paper_item(
        &poster->paper,
        arena_format(arena, "%s%s [%s%s%s]\nAccepted%s%s%s%s: %s", gravity(poster, finding),
                     poster_told(poster, finding->message), finding->rule,
                     poster_about(poster, finding), place(poster, &finding->at),
                     finding->waived_by ? " by " : "",
                     finding->waived_by ? finding->waived_by : "",
                     finding->waived_until ? " until " : ", without a last day",
                     finding->waived_until ? finding->waived_until : "",
                     finding->waived_reason ? finding->waived_reason : "no reason is given"),
        false);
}

/* A rule that is not asked keeps nobody from harm. */
static const char *not_asked(const struct finding *finding)
{
    return finding->hurts == HURTS_PERSON ? " (about what can hurt a person)" : "";
}

/* A page with little room leaves out why it matters, which the sheet of the machine tells. */
static void add_unchecked(struct poster *poster, const struct finding *finding)
{
    bool tells_why = finding->why && !poster->subject;
    paper_item(&poster->paper,
               arena_format(poster->arena, "%s%s%s: %s%s%s", finding->rule,
                            poster_about(poster, finding), not_asked(finding),
                            poster_told(poster, finding->message),
                            tells_why ? "\nIt matters since: " : "",
                            tells_why ? poster_told(poster, finding->why) : ""),
               false);
}

/* --- those of one rule --- */

/* Findings that say the same of several things. */
struct alike {
    const struct finding *const *items;
    size_t count;
};

/* A long list is broken into items that a page can hold. */
enum { FULL = 3, ITEM_SIZE = 1500 };

/* "cutter 7" is "cutter " and 7. */
static bool split_number(const char *subject, size_t *letters, unsigned *number)
{
    size_t size = strlen(subject), digits = 0;
    while (digits < size && digits < 6 && subject[size - 1 - digits] >= '0' &&
           subject[size - 1 - digits] <= '9')
        digits++;
    *letters = size - digits;
    *number = digits ? (unsigned)strtoul(subject + size - digits, NULL, 10) : 0;
    return digits && *letters && subject[size - digits] != '0';
}

/* Is `next` what follows `last` in a row of numbers? */
static bool follows(const char *last, const char *next)
{
    size_t one, other;
    unsigned before, after;
    return split_number(last, &one, &before) && split_number(next, &other, &after) &&
           one == other && strncmp(last, next, one) == 0 && after == before + 1;
}

/* Up to which the things from `first` on are told as one: "cutter 3 to cutter 500". */
static size_t run_end(const struct alike *alike, size_t first, bool margins)
{
    size_t end = first;
    while (!margins && end + 1 < alike->count &&
           follows(alike->items[end]->subject, alike->items[end + 1]->subject))
        end++;
    return end - first < 2 ? first : end;
}

/* "cutter 1 (-3 mm), cutter 7" from `*next` on, as much as an item holds. */
static const char *names_text(const struct poster *poster, const struct alike *alike,
                              size_t *next, bool margins)
{
    struct buffer text;
    buffer_init(&text, poster->arena);
    while (*next < alike->count && text.size < ITEM_SIZE) {
        const struct finding *finding = alike->items[*next];
        size_t end = run_end(alike, *next, margins);
        buffer_format(&text, "%s%s", text.size ? ", " : "", finding->subject);
        if (end > *next)
            buffer_format(&text, " to %s", alike->items[end]->subject);
        else if (margins && finding->margin_text)
            buffer_format(&text, " (%s)", finding->margin_text);
        *next = end + 1;
    }
    return buffer_string(&text);
}

/* What is left of them from `next` on, in items of their own. */
static void add_names(struct poster *poster, const struct alike *alike, size_t next,
                      bool margins)
{
    while (next < alike->count) {
        const char *names = names_text(poster, alike, &next, margins);
        paper_item(&poster->paper,
                   arena_format(poster->arena, "%s, and: %s", alike->items[0]->rule, names),
                   false);
    }
}

/* Why they were not checked: the fields for want of which, in general terms. */
static const char *wants_text(const struct poster *poster, const struct alike *alike)
{
    struct buffer text;
    bool told[FIELD_COUNT] = {0};
    buffer_init(&text, poster->arena);
    for (size_t i = 0; i < alike->count; i++)
        for (size_t k = 0; k < alike->items[i]->missing_count; k++) {
            enum field_id id = field_find(view_of(alike->items[i]->missing[k]));
            if (id == FIELD_COUNT || told[id])
                continue;
            told[id] = true;
            buffer_format(&text, "%s%s", text.size ? ", " : ", for want of ",
                          field_path(poster->arena, id));
        }
    return buffer_string(&text);
}

static void add_all_unchecked(struct poster *poster, const struct alike *alike)
{
    const struct finding *first = alike->items[0];
    if (alike->count <= FULL || !first->subject) {
        for (size_t i = 0; i < alike->count; i++)
            add_unchecked(poster, alike->items[i]);
        return;
    }
    size_t next = 0;
    const char *names = names_text(poster, alike, &next, false);
    bool all = alike->count < FINDINGS_A_NAME;
    paper_item(&poster->paper,
               arena_format(poster->arena, "%s%s: not checked %s%zu times%s: %s%s%s",
                            first->rule, not_asked(first), all ? "" : "at least ", alike->count,
                            wants_text(poster, alike), names,
                            first->why ? "\nIt matters since: " : "",
                            poster_told(poster, first->why)),
               false);
    add_names(poster, alike, next, false);
}

/* The worst in full. */
static void add_all_failed(struct poster *poster, const struct alike *alike)
{
    size_t full = alike->count > FULL + 1 && alike->items[0]->subject ? FULL : alike->count;
    const struct alike rest = {alike->items + full, alike->count - full};
    for (size_t i = 0; i < full; i++)
        add_failed(poster, alike->items[i], i ? alike->items[i - 1] : NULL);
    size_t next = 0;
    if (!rest.count)
        return;
    const char *names = names_text(poster, &rest, &next, true);
    paper_item(&poster->paper,
               arena_format(poster->arena, "%s: %s, %zu more: %s",
                            finding_level_name(rest.items[0]->level), rest.items[0]->rule,
                            rest.count, names),
               false);
    add_names(poster, &rest, next, true);
}

static void add_all_waived(struct poster *poster, const struct alike *alike)
{
    for (size_t i = 0; i < alike->count; i++)
        add_waived(poster, alike->items[i]);
}

/* What follows from others is named, since it goes away with them. */
static void add_implied(struct poster *poster, const struct alike *alike)
{
    const struct finding *first = alike->items[0];
    size_t next = 0;
    const char *names = first->subject ? names_text(poster, alike, &next, false) : "";
    paper_item(&poster->paper,
               arena_format(poster->arena, "follows from %s: %s%s%s", first->implied_by,
                            first->rule, first->subject ? ", of " : "", names),
               false);
    if (first->subject)
        add_names(poster, alike, next, false);
}

/* --- all of one outcome --- */

static int compare_margins(const struct finding *one, const struct finding *other)
{
    if (one->outcome != OUTCOME_FAILED || !one->has_margin || !other->has_margin)
        return 0;
    return (one->margin > other->margin) - (one->margin < other->margin);
}

/* Graver ones first, those of one rule together. */
static int compare(const void *a, const void *b)
{
    const struct finding *one = *(const struct finding *const *)a;
    const struct finding *other = *(const struct finding *const *)b;
    int order = (one->implied_by != NULL) - (other->implied_by != NULL);
    if (!order)
        order = (int)other->level - (int)one->level;
    if (!order)
        order = (int)other->hurts - (int)one->hurts;
    if (!order)
        order = strcmp(one->rule, other->rule);
    if (!order)
        order = (one->subject == NULL) - (other->subject == NULL);
    if (!order && one->implied_by && other->implied_by)
        order = strcmp(one->implied_by, other->implied_by);
    if (!order)
        order = compare_margins(one, other);
    return order ? order : (one->serial > other->serial) - (one->serial < other->serial);
}

static bool is_alike(const struct finding *one, const struct finding *other)
{
    bool same_cause = !one->implied_by == !other->implied_by &&
                      (!one->implied_by || strcmp(one->implied_by, other->implied_by) == 0);
    return same_cause && one->level == other->level && strcmp(one->rule, other->rule) == 0 &&
           !one->subject == !other->subject;
}

/* What is not listed one by one may be about the cutter of a page too. */
static void add_more(struct poster *poster, bool waived)
{
    const struct file_report *report = poster->wall->report;
    for (size_t i = 0; i < report->more_count; i++)
        if (report->more[i].waived == waived)
            paper_item(
                &poster->paper,
                arena_format(poster->arena, "%s: %zu more of the same%s", report->more[i].rule,
                             report->more[i].failed,
                             poster->subject ? ", not listed: this may be among them" : ""),
                false);
}

static const char *const others_text[OUTCOME_COUNT][2] = {
    [OUTCOME_FAILED] = {"more finding is", "more findings are"},
    [OUTCOME_WAIVED] = {"more waiver is", "more waivers are"},
    [OUTCOME_UNCHECKED] = {"more rule was not asked, and is", "more were not asked, and are"}};

/* `none` is said where there is nothing; NULL: nothing is. */
static void add_outcome(struct poster *poster, enum finding_outcome outcome, const char *none,
                        void (*add)(struct poster *poster, const struct alike *alike))
{
    const struct file_report *report = poster->wall->report;
    const struct finding **items =
        ARENA_ARRAY(poster->arena, const struct finding *, report->count + 1);
    size_t count = 0, others = 0;
    struct buffer implied; /* on a page with little room only named */
    buffer_init(&implied, poster->arena);
    for (size_t i = 0; i < report->count; i++)
        if (report->findings[i].outcome == outcome) {
            bool wanted = poster_wants(poster, &report->findings[i]);
            others += !wanted;
            if (wanted)
                items[count++] = &report->findings[i];
        }
    if (count)
        qsort(items, count, sizeof *items, compare);
    for (size_t i = 0, end; i < count; i = end) {
        for (end = i + 1; end < count && is_alike(items[i], items[end]);)
            end++;
        const struct alike alike = {items + i, end - i};
        if (items[i]->implied_by && poster->subject)
            buffer_format(&implied, "%s%s", implied.size ? ", " : "", items[i]->rule);
        else if (items[i]->implied_by)
            add_implied(poster, &alike);
        else
            add(poster, &alike);
    }
    if (implied.size)
        paper_item(&poster->paper,
                   arena_format(poster->arena, "these follow: %s", buffer_string(&implied)),
                   false);
    if (outcome == OUTCOME_FAILED || outcome == OUTCOME_WAIVED)
        add_more(poster, outcome == OUTCOME_WAIVED);
    const char *elsewhere =
        others ? arena_format(poster->arena,
                              "%zu %s about other things: see the sheet of the machine.",
                              others, others_text[outcome][others > 1])
               : NULL;
    bool says_none = !count && none && !(poster->subject && report->more_count);
    if (says_none || elsewhere)
        paper_text(&poster->paper,
                   arena_format(poster->arena, "%s%s%s", says_none ? none : "",
                                says_none && elsewhere ? " " : "", elsewhere ? elsewhere : ""),
                   elsewhere && outcome == OUTCOME_FAILED);
}

void wall_add_findings(struct poster *poster)
{
    bool all = !poster->subject;
    if (all)
        paper_heading(&poster->paper, "What fails");
    add_outcome(
        poster, OUTCOME_FAILED,
        all ? "Nothing was found. That is no promise: the first run is made in air, a hand on "
              "the stop."
            : "Nothing was found about it, which is no promise.",
        add_all_failed);
    if (all)
        paper_heading(&poster->paper, "What somebody accepted");
    add_outcome(poster, OUTCOME_WAIVED, all ? "Nothing is waived." : NULL, add_all_waived);
    if (all)
        paper_heading(&poster->paper, "What was not checked");
    add_outcome(poster, OUTCOME_UNCHECKED,
                all ? "Every rule that applies to this machine was asked." : NULL,
                add_all_unchecked);
}
