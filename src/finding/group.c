/* Findings as people see them: one a rule and place.
 *
 * Twelve cutters that break one rule at one value are one thing to mend.  A failure that
 * another one explains is not shown but counted with the one that explains it.
 */
#include "finding/sink.h"

#include "base/bug.h"

#include <stdlib.h>

/* A failed record by rule and subject, for finding what explains another. */
struct entry {
    const char *rule, *subject;
    const char *implied_by; /* where it is itself explained by another */
    size_t group;           /* where it is not */
};

enum {
    HOPS_MAX = 8, /* longest chain of explanations followed */
};

static bool is_same_text(const char *a, const char *b)
{
    return a == b || (a && b && strcmp(a, b) == 0);
}

static bool is_listed(const struct finding *finding)
{
    return finding->outcome == OUTCOME_WAIVED ||
           (finding->outcome == OUTCOME_FAILED && !finding->implied_by);
}

/* One thing to mend stands at one place, whatever fields an alias makes it serve.  What has no
 * place, and keys that are missing from the section at the place, go by the field. */
static bool is_same_place(const struct finding *a, const struct finding *b)
{
    if (a->at.source != b->at.source)
        return false;
    bool by_field =
        !a->at.source || strcmp(a->rule, reader_finding_name(READER_MISSING_KEY)) == 0;
    if (by_field && !is_same_text(a->at.field, b->at.field))
        return false;
    return !a->at.source ||
           (a->at.span.start == b->at.span.start && a->at.span.end == b->at.span.end);
}

static bool is_worse(const struct finding *a, const struct finding *b)
{
    if (a->level != b->level)
        return a->level > b->level;
    return a->has_margin && b->has_margin && a->margin < b->margin;
}

/* The group of a listed record among those made so far: records of one rule at one offset stand
 * together in the list, so that only the last few groups come into question. */
static size_t find_group(const struct finding_group *groups, size_t count,
                         const struct finding *finding)
{
    for (size_t i = count; i > 0; i--) {
        const struct finding *other = groups[i - 1].worst;
        if (is_same_place(other, finding) && is_same_text(other->rule, finding->rule) &&
            other->outcome == finding->outcome && other->known == finding->known)
            return i - 1;
        if (other->at.source != finding->at.source || strcmp(other->rule, finding->rule) != 0 ||
            (other->at.source && other->at.span.start != finding->at.span.start))
            break;
    }
    return count;
}

/* Gives each listed record the number of its group; returns how many groups there are. */
static size_t number_groups(struct finding_group *groups, size_t *numbers,
                            const struct finding *findings, size_t count)
{
    size_t group_count = 0;
    for (size_t i = 0; i < count; i++) {
        if (!is_listed(&findings[i]))
            continue;
        size_t group = find_group(groups, group_count, &findings[i]);
        numbers[i] = group;
        if (group == group_count) {
            groups[group_count++] = (struct finding_group){.worst = &findings[i]};
            continue;
        }
        groups[group].other_count++;
        if (is_worse(&findings[i], groups[group].worst))
            groups[group].worst = &findings[i];
    }
    return group_count;
}

static void fill_groups(struct arena *arena, struct finding_group *groups,
                        const size_t *numbers, const struct finding *findings, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        struct finding_group *group = &groups[numbers[i]];
        if (!is_listed(&findings[i]) || &findings[i] == group->worst)
            continue;
        if (!group->others) {
            group->others = ARENA_ARRAY(arena, const struct finding *, group->other_count);
            group->other_count = 0;
        }
        group->others[group->other_count++] = &findings[i];
    }
}

static int compare_entries(const void *left, const void *right)
{
    const struct entry *a = left, *b = right;
    int order = strcmp(a->rule, b->rule);
    if (!order)
        order = subjects_compare(a->subject, b->subject);
    if (!order)
        order = (a->implied_by != NULL) - (b->implied_by != NULL);
    return order ? order : (a->group > b->group) - (a->group < b->group);
}

/* The first entry of `rule`, of `subject` where it has one; NULL where the rule has none. */
static const struct entry *find_entry(const struct entry *entries, size_t count,
                                      const char *rule, const char *subject)
{
    const struct entry wanted = {.rule = rule, .subject = subject};
    size_t low = 0, high = count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (compare_entries(&entries[middle], &wanted) < 0)
            low = middle + 1;
        else
            high = middle;
    }
    if (low < count && strcmp(entries[low].rule, rule) == 0 &&
        is_same_text(entries[low].subject, subject))
        return &entries[low];
    if (subject)
        return find_entry(entries, count, rule, NULL);
    return low < count && strcmp(entries[low].rule, rule) == 0 ? &entries[low] : NULL;
}

static void count_implied(struct arena *arena, struct finding_group *groups,
                          const size_t *numbers, const struct finding *findings, size_t count)
{
    struct entry *entries = ARENA_ARRAY(arena, struct entry, count);
    size_t entry_count = 0;
    for (size_t i = 0; i < count; i++)
        if (findings[i].outcome == OUTCOME_FAILED)
            entries[entry_count++] = (struct entry){findings[i].rule, findings[i].subject,
                                                    findings[i].implied_by, numbers[i]};
    if (entry_count)
        qsort(entries, entry_count, sizeof *entries, compare_entries);
    for (size_t i = 0; i < count; i++) {
        if (findings[i].outcome != OUTCOME_FAILED || !findings[i].implied_by)
            continue;
        const struct entry *cause = NULL;
        const char *rule = findings[i].implied_by;
        for (int hop = 0; rule && hop < HOPS_MAX; hop++) {
            cause = find_entry(entries, entry_count, rule, findings[i].subject);
            rule = cause ? cause->implied_by : NULL;
        }
        if (cause && !cause->implied_by)
            groups[cause->group].implied++;
    }
}

struct finding_group *findings_group(struct arena *arena, const struct finding *findings,
                                     size_t count, size_t *group_count)
{
    size_t *numbers = ARENA_ARRAY(arena, size_t, count);
    struct finding_group *groups = ARENA_ARRAY(arena, struct finding_group, count);
    *group_count = number_groups(groups, numbers, findings, count);
    fill_groups(arena, groups, numbers, findings, count);
    count_implied(arena, groups, numbers, findings, count);
    return groups;
}

void findings_count(struct arena *arena, struct file_report *report)
{
    size_t count;
    struct finding_group *groups =
        findings_group(arena, report->findings, report->count, &count);
    for (int level = 0; level < LEVEL_COUNT; level++)
        report->findings_by_level[level] = report->waived_by_level[level] =
            report->known_by_level[level] = 0;
    for (size_t i = 0; i < count; i++)
        if (groups[i].worst->outcome == OUTCOME_WAIVED)
            report->waived_by_level[groups[i].worst->level]++;
        else if (groups[i].worst->known)
            report->known_by_level[groups[i].worst->level]++;
        else
            report->findings_by_level[groups[i].worst->level]++;
    for (size_t i = 0; i < report->more_count; i++)
        report->findings_by_level[report->more[i].level] += report->more[i].as_findings;
}
