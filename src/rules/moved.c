/* Two reports of one machine held against each other, and a change of it judged by them. */
#include "rules/internal.h"

#include <math.h>
#include <stdlib.h>

/* One evaluation by what it is about, to find its counterpart. */
struct keyed {
    const struct finding *finding;
    size_t at; /* in its report, so that sorting keeps their order */
    bool used; /* it has its counterpart */
};

/* By rule and subject: what stays the same when a value changes. */
static int compare_subjects(const struct keyed *x, const struct keyed *y)
{
    int order = strcmp(x->finding->rule, y->finding->rule);
    return order ? order : subjects_compare(x->finding->subject, y->finding->subject);
}

static int by_subject(const void *a, const void *b)
{
    const struct keyed *x = a, *y = b;
    int order = compare_subjects(x, y);
    return order ? order : (x->at > y->at) - (x->at < y->at);
}

static struct keyed *keyed_of(struct arena *arena, const struct file_report *report)
{
    struct keyed *items = ARENA_ARRAY(arena, struct keyed, report->count);
    for (size_t i = 0; i < report->count; i++)
        items[i] = (struct keyed){&report->findings[i], i, false};
    qsort(items, report->count, sizeof *items, by_subject);
    return items;
}

static bool failed(const struct finding *finding)
{
    return finding && finding->outcome == OUTCOME_FAILED;
}

/* The difference of two computations of the same thing is no move.  A margin may be a thousand
 * times smaller than what it was computed from. */
static bool differs(double a, double b)
{
    return fabs(a - b) > 1e-9 * fmax(fabs(a), fabs(b));
}

/* What became of an evaluation; MOVED_KINDS: nothing. */
static enum moved_kind kind_of(const struct finding *before, const struct finding *after)
{
    if (failed(before) != failed(after))
        return failed(after) ? MOVED_BROKEN : MOVED_MENDED;
    if (!before || !after)
        return MOVED_KINDS;
    if (before->outcome == OUTCOME_UNCHECKED && after->outcome == OUTCOME_HELD)
        return MOVED_CHECKED;
    if (before->outcome == OUTCOME_HELD && after->outcome == OUTCOME_UNCHECKED)
        return MOVED_UNCHECKED;
    if (before->has_margin && after->has_margin && differs(before->margin, after->margin))
        return after->margin > before->margin ? MOVED_BETTER : MOVED_WORSE;
    return MOVED_KINDS;
}

static void sort_out(struct arena *arena, struct moved *out, const struct finding *before,
                     const struct finding *after)
{
    enum moved_kind kind = kind_of(before, after);
    struct move_of_margin move = {before, after, 0};
    if (before && after && before->has_margin && after->has_margin)
        move.change = after->margin - before->margin;
    if (kind < MOVED_KINDS)
        VECTOR_ADD(arena, &out->kinds[kind], move);
}

/* Some of the evaluations of one report. */
struct run_of_keyed {
    struct keyed *items;
    size_t count;
    bool cut; /* of their rule, only some are listed */
};

/* The run of one rule and subject at the start of `count` items. */
static struct run_of_keyed take_run(struct keyed *items, size_t count)
{
    struct run_of_keyed run = {items, 1, false};
    while (run.count < count && compare_subjects(&items[run.count], items) == 0)
        run.count++;
    return run;
}

/* Is some instance of this rule not listed?  Then one that is not there may be there all the
 * same. */
static bool is_cut(const struct file_report *report, const char *rule)
{
    size_t listed = 0;
    for (size_t i = 0; i < report->more_count; i++)
        if (strcmp(report->more[i].rule, rule) == 0)
            return true;
    for (size_t i = 0; i < report->count; i++)
        listed += strcmp(report->findings[i].rule, rule) == 0;
    return listed >= FINDINGS_A_NAME;
}

static struct keyed *counterpart(const struct keyed *one, const struct run_of_keyed *others,
                                 bool exact)
{
    for (size_t i = 0; i < others->count; i++) {
        struct keyed *other = &others->items[i];
        if (!other->used &&
            (!exact || one->finding->requirement == other->finding->requirement))
            return other;
    }
    return NULL;
}

/* The same requirements belong together.  The rest is what two cutters of one number leave, and
 * what the reader found: those in their order. */
static void match(struct arena *arena, struct moved *out, const struct run_of_keyed *old,
                  const struct run_of_keyed *new)
{
    for (int pass = 0; pass < 2; pass++)
        for (size_t i = 0; i < old->count; i++) {
            struct keyed *other =
                old->items[i].used ? NULL : counterpart(&old->items[i], new, pass == 0);
            if (!other)
                continue;
            old->items[i].used = other->used = true;
            sort_out(arena, out, old->items[i].finding, other->finding);
        }
    for (size_t i = 0; i < old->count && !new->cut; i++)
        if (!old->items[i].used)
            sort_out(arena, out, old->items[i].finding, NULL);
    for (size_t i = 0; i < new->count && !old->cut; i++)
        if (!new->items[i].used)
            sort_out(arena, out, NULL, new->items[i].finding);
}

void reports_compare(struct arena *arena, const struct file_report *before,
                     const struct file_report *after, struct moved *out)
{
    struct keyed *old = keyed_of(arena, before), *new = keyed_of(arena, after);
    const char *last = "";
    bool gone_cut = false, come_cut = false;
    *out = (struct moved){.after = after};
    for (size_t i = 0, k = 0; i < before->count || k < after->count;) {
        int order = i == before->count  ? 1
                    : k == after->count ? -1
                                        : compare_subjects(&old[i], &new[k]);
        const char *rule = order <= 0 ? old[i].finding->rule : new[k].finding->rule;
        struct run_of_keyed gone = {0}, come = {0};
        if (strcmp(rule, last) != 0) {
            gone_cut = is_cut(before, rule);
            come_cut = is_cut(after, rule);
            last = rule;
        }
        if (order <= 0)
            gone = take_run(&old[i], before->count - i);
        if (order >= 0)
            come = take_run(&new[k], after->count - k);
        gone.cut = gone_cut;
        come.cut = come_cut;
        match(arena, out, &gone, &come);
        i += gone.count;
        k += come.count;
    }
}

/* --- whether a change has put something right --- */

void failed_count(const struct file_report *report, size_t failed[LEVEL_COUNT])
{
    memset(failed, 0, LEVEL_COUNT * sizeof *failed);
    for (size_t i = 0; i < report->count; i++) {
        const struct finding *finding = &report->findings[i];
        failed[finding->level] +=
            finding->outcome == OUTCOME_FAILED && !finding_stands_for_others(finding);
    }
    for (size_t i = 0; i < report->more_count; i++)
        if (!report->more[i].waived)
            failed[report->more[i].level] += report->more[i].failed;
}

bool report_is_better(const struct file_report *report, const struct file_report *than)
{
    size_t now[LEVEL_COUNT], before[LEVEL_COUNT];
    failed_count(report, now);
    failed_count(than, before);
    for (size_t level = LEVEL_COUNT; level-- > 0;)
        if (now[level] != before[level])
            return now[level] < before[level];
    return false;
}

bool finding_is_measured(const struct finding *finding)
{
    enum field_id id = finding->at.field ? field_find(view_of(finding->at.field)) : FIELD_COUNT;
    if (id == FIELD_COUNT || field_table[id].nature == NATURE_CHOSEN)
        return false;
    enum field_kind kind = field_table[id].kind;
    return kind == KIND_QUANTITY || kind == KIND_POSITION || kind == KIND_PAIR;
}

/* Is one the other, or a part of it: axes.z.travel.high of axes.z.travel? */
static bool is_at(const struct finding_spot *spot, const char *path)
{
    if (!spot->field)
        return false;
    size_t size = strlen(spot->field), other = strlen(path);
    size_t least = size < other ? size : other;
    const char *rest = size < other ? path + least : spot->field + least;
    return strncmp(spot->field, path, least) == 0 && (!*rest || *rest == '.' || *rest == '[');
}

bool finding_rests_on(const struct finding *finding, const char *path)
{
    if (is_at(&finding->at, path))
        return true;
    for (size_t i = 0; i < finding->related_count; i++)
        if (is_at(&finding->related[i], path))
            return true;
    return false;
}

static const struct finding *doubt_of(const struct file_report *report,
                                      const struct finding *finding, bool of_rules)
{
    for (size_t i = 0; i < report->count; i++) {
        const struct finding *other = &report->findings[i];
        if (other->outcome == OUTCOME_FAILED && other->level != LEVEL_NOTE &&
            (other->from_reader || of_rules) && finding_is_measured(other) &&
            finding_rests_on(finding, other->at.field))
            return other;
    }
    return NULL;
}

const struct finding *finding_doubt(const struct file_report *report,
                                    const struct finding *finding)
{
    return doubt_of(report, finding, false);
}

/* Did the reader find fault with a chosen number on which this rests, and does so no longer?
 * Then that was to blame, whatever the rule points at. */
static bool was_chosen_badly(const struct moved *moved, const struct finding *finding)
{
    for (size_t i = 0; i < moved->kinds[MOVED_MENDED].count; i++) {
        const struct finding *other = moved->kinds[MOVED_MENDED].items[i].before;
        if (other->from_reader && !finding_is_measured(other) && other->at.field &&
            finding_rests_on(finding, other->at.field))
            return true;
    }
    return false;
}

static const struct finding *less_for_people(const struct moved *moved)
{
    static const enum moved_kind kinds[] = {MOVED_BROKEN, MOVED_UNCHECKED, MOVED_WORSE};
    for (size_t k = 0; k < sizeof kinds / sizeof *kinds; k++)
        for (size_t i = 0; i < moved->kinds[kinds[k]].count; i++) {
            const struct finding *finding = moved->kinds[kinds[k]].items[i].after;
            if (finding && finding->hurts == HURTS_PERSON)
                return finding;
        }
    /* What failed and is not asked any more is not mended by that. */
    for (size_t i = 0; i < moved->kinds[MOVED_MENDED].count; i++) {
        const struct move_of_margin *move = &moved->kinds[MOVED_MENDED].items[i];
        if (!move->after && !move->before->from_reader && move->before->hurts == HURTS_PERSON)
            return move->before;
    }
    return NULL;
}

void against_find(struct arena *arena, const struct file_report *before,
                  const struct file_report *after, struct against *out)
{
    struct moved moved;
    reports_compare(arena, before, after, &moved);
    *out = (struct against){.people = less_for_people(&moved)};
    for (size_t i = 0; i < moved.kinds[MOVED_MENDED].count; i++) {
        const struct finding *finding = moved.kinds[MOVED_MENDED].items[i].before;
        if (!out->doubt)
            out->doubt = doubt_of(before, finding, false);
        if (!out->doubt)
            out->doubt = doubt_of(after, finding, true);
        if (!out->measured && !finding->implied_by && finding_is_measured(finding) &&
            !was_chosen_badly(&moved, finding))
            out->measured = finding;
    }
}
