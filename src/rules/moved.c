#include "rules/moved.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/vector.h"
#include "finding/sink.h"

/* One evaluation by what it is about, to find its counterpart. */
struct keyed {
    const struct finding *finding;
    size_t at; /* in its report, so that sorting keeps their order */
    bool used; /* it has its counterpart */
};

struct move_list {
    struct move_of_margin *items;
    size_t count, capacity;
};

static int compare_texts(const char *a, const char *b)
{
    if (!a || !b)
        return (a != NULL) - (b != NULL);
    return strcmp(a, b);
}

/* By rule and subject: what stays the same when a value changes. */
static int compare_subjects(const struct keyed *x, const struct keyed *y)
{
    int order = strcmp(x->finding->rule, y->finding->rule);
    return order ? order : compare_texts(x->finding->subject, y->finding->subject);
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

struct lists {
    struct arena *arena;
    struct move_list mended, broken, told, untold, margins;
};

static void sort_out(struct lists *lists, const struct finding *before,
                     const struct finding *after)
{
    struct move_of_margin move = {before, after, 0};
    bool both = before && after && before->has_margin && after->has_margin;
    if (both)
        move.change = after->margin - before->margin;
    if (failed(before) && !failed(after))
        VECTOR_ADD(lists->arena, &lists->mended, move);
    else if (failed(after) && !failed(before))
        VECTOR_ADD(lists->arena, &lists->broken, move);
    else if (before && after && before->outcome == OUTCOME_UNCHECKED &&
             after->outcome == OUTCOME_HELD)
        VECTOR_ADD(lists->arena, &lists->told, move);
    else if (before && after && after->outcome == OUTCOME_UNCHECKED &&
             before->outcome == OUTCOME_HELD)
        VECTOR_ADD(lists->arena, &lists->untold, move);
    else if (both && differs(before->margin, after->margin))
        VECTOR_ADD(lists->arena, &lists->margins, move);
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

/* Was every instance of this rule listed?  Only then is one that is not there not there. */
static bool is_cut(const struct file_report *report, const struct keyed *items, size_t count)
{
    size_t same = 0;
    for (size_t i = 0; i < report->more_count; i++)
        if (strcmp(report->more[i].rule, items->finding->rule) == 0)
            return true;
    while (same < count && strcmp(items[same].finding->rule, items->finding->rule) == 0)
        same++;
    return same >= FINDINGS_A_NAME;
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
static void match(struct lists *lists, const struct run_of_keyed *old,
                  const struct run_of_keyed *new)
{
    for (int pass = 0; pass < 2; pass++)
        for (size_t i = 0; i < old->count; i++) {
            struct keyed *other =
                old->items[i].used ? NULL : counterpart(&old->items[i], new, pass == 0);
            if (!other)
                continue;
            old->items[i].used = other->used = true;
            sort_out(lists, old->items[i].finding, other->finding);
        }
    for (size_t i = 0; i < old->count && !new->cut; i++)
        if (!old->items[i].used)
            sort_out(lists, old->items[i].finding, NULL);
    for (size_t i = 0; i < new->count && !old->cut; i++)
        if (!new->items[i].used)
            sort_out(lists, NULL, new->items[i].finding);
}

/* The rules of which a report lists only some instances. */
struct cut_rules {
    VECTOR(const char *) names;
};

static void find_cut(struct arena *arena, const struct file_report *report,
                     const struct keyed *items, struct cut_rules *out)
{
    for (size_t i = 0; i < report->count; i++)
        if ((i == 0 || strcmp(items[i].finding->rule, items[i - 1].finding->rule) != 0) &&
            is_cut(report, &items[i], report->count - i))
            VECTOR_ADD(arena, &out->names, items[i].finding->rule);
}

static bool has_name(const struct cut_rules *cut, const char *rule)
{
    for (size_t i = 0; i < cut->names.count; i++)
        if (strcmp(cut->names.items[i], rule) == 0)
            return true;
    return false;
}

void reports_compare(struct arena *arena, const struct file_report *before,
                     const struct file_report *after, struct moved *out)
{
    struct keyed *old = keyed_of(arena, before), *new = keyed_of(arena, after);
    struct lists lists = {.arena = arena};
    struct cut_rules cut_before = {0}, cut_after = {0};
    find_cut(arena, before, old, &cut_before);
    find_cut(arena, after, new, &cut_after);
    size_t i = 0, k = 0;
    while (i < before->count || k < after->count) {
        int order = i == before->count  ? 1
                    : k == after->count ? -1
                                        : compare_subjects(&old[i], &new[k]);
        const char *rule = order <= 0 ? old[i].finding->rule : new[k].finding->rule;
        struct run_of_keyed gone = {0}, come = {0};
        if (order <= 0)
            gone = take_run(&old[i], before->count - i);
        if (order >= 0)
            come = take_run(&new[k], after->count - k);
        gone.cut = has_name(&cut_before, rule);
        come.cut = has_name(&cut_after, rule);
        match(&lists, &gone, &come);
        i += gone.count;
        k += come.count;
    }
    *out = (struct moved){
        .mended = lists.mended.items,
        .mended_count = lists.mended.count,
        .broken = lists.broken.items,
        .broken_count = lists.broken.count,
        .told = lists.told.items,
        .told_count = lists.told.count,
        .untold = lists.untold.items,
        .untold_count = lists.untold.count,
        .margins = lists.margins.items,
        .margin_count = lists.margins.count,
    };
}
