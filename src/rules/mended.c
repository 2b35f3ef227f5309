/* Judging a change by the reports before and after it. */
#include "rules/mended.h"

#include <string.h>

#include "finding/sink.h"
#include "machine/field.h"
#include "rules/moved.h"

static bool stands_behind(const struct finding *finding)
{
    return strcmp(finding->rule, reader_finding_name(READER_NUMBER_OUT_OF_LINE)) == 0;
}

void failed_count(const struct file_report *report, size_t failed[LEVEL_COUNT])
{
    memset(failed, 0, LEVEL_COUNT * sizeof *failed);
    for (size_t i = 0; i < report->count; i++) {
        const struct finding *finding = &report->findings[i];
        failed[finding->level] += finding->outcome == OUTCOME_FAILED && !stands_behind(finding);
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
