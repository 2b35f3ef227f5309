#include "rules/moved.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/vector.h"

/* One evaluation by what it is about, to find its counterpart. */
struct keyed {
    const struct finding *finding;
    size_t nth; /* among those of the same rule and subject: a rule may have several
                   requirements */
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

/* By rule, subject and blamed field: what stays the same when a value changes. */
static int by_identity(const void *a, const void *b)
{
    const struct keyed *x = a, *y = b;
    int order = strcmp(x->finding->rule, y->finding->rule);
    if (!order)
        order = compare_texts(x->finding->subject, y->finding->subject);
    if (!order)
        order = compare_texts(x->finding->at.field, y->finding->at.field);
    return order ? order : (x->nth > y->nth) - (x->nth < y->nth);
}

static struct keyed *keyed_of(struct arena *arena, const struct file_report *report)
{
    struct keyed *items = ARENA_ARRAY(arena, struct keyed, report->count);
    for (size_t i = 0; i < report->count; i++)
        items[i] = (struct keyed){&report->findings[i], i};
    qsort(items, report->count, sizeof *items, by_identity);
    for (size_t i = 0, nth = 0; i < report->count; i++) {
        struct keyed plain = {items[i].finding, 0}, before = {NULL, 0};
        if (i)
            before = (struct keyed){items[i - 1].finding, 0};
        nth = i && by_identity(&before, &plain) == 0 ? nth + 1 : 0;
        items[i].nth = nth;
    }
    return items;
}

static bool failed(const struct finding *finding)
{
    return finding && finding->outcome == OUTCOME_FAILED;
}

/* The difference of two computations of the same thing is no move. */
static bool differs(double a, double b)
{
    return fabs(a - b) > 1e-12 * fmax(fabs(a), fabs(b));
}

struct lists {
    struct arena *arena;
    struct move_list mended, broken, margins;
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
    else if (both && differs(before->margin, after->margin))
        VECTOR_ADD(lists->arena, &lists->margins, move);
}

void reports_compare(struct arena *arena, const struct file_report *before,
                     const struct file_report *after, struct moved *out)
{
    struct keyed *old = keyed_of(arena, before), *new = keyed_of(arena, after);
    struct lists lists = {.arena = arena};
    size_t i = 0, k = 0;
    while (i < before->count || k < after->count) {
        int order = i == before->count  ? 1
                    : k == after->count ? -1
                                        : by_identity(&old[i], &new[k]);
        sort_out(&lists, order <= 0 ? old[i].finding : NULL,
                 order >= 0 ? new[k].finding : NULL);
        i += order <= 0;
        k += order >= 0;
    }
    *out = (struct moved){
        .mended = lists.mended.items,
        .mended_count = lists.mended.count,
        .broken = lists.broken.items,
        .broken_count = lists.broken.count,
        .margins = lists.margins.items,
        .margin_count = lists.margins.count,
    };
}
