/* Joins the reader's remarks on numbers with the rules that fail over the same numbers.
 *
 * Goes by places alone: what a rule has read and the file gives stands in its record. */
#include "rules/cause.h"

#include <string.h>

#include "finding/sink.h"

static bool is_open(const struct finding *finding)
{
    return finding->outcome == OUTCOME_FAILED && !finding->implied_by;
}

static bool is_remark(const struct finding *finding)
{
    static const enum reader_finding remarks[] = {READER_IMPLAUSIBLE, READER_LOOKS_LIKE_INCHES,
                                                  READER_LOOKS_LIKE_SECONDS};
    if (!finding->from_reader || !finding->at.source || !is_open(finding))
        return false;
    for (size_t i = 0; i < sizeof remarks / sizeof *remarks; i++)
        if (strcmp(finding->rule, reader_finding_name(remarks[i])) == 0)
            return true;
    return false;
}

static bool overlap(const struct finding_spot *a, const struct finding_spot *b)
{
    return a->source == b->source && a->span.start < b->span.end && b->span.start < a->span.end;
}

static bool reads(const struct finding *finding, const struct finding_spot *spot)
{
    if (overlap(&finding->at, spot))
        return true;
    for (size_t i = 0; i < finding->related_count; i++)
        if (overlap(&finding->related[i], spot))
            return true;
    return false;
}

static void join(struct finding *remark, struct finding *findings, size_t count)
{
    const struct finding *error = NULL;
    for (size_t i = 0; i < count; i++) {
        struct finding *finding = &findings[i];
        if (finding == remark || !is_open(finding) || !reads(finding, &remark->at))
            continue;
        if (finding->level < LEVEL_ERROR && !finding->from_reader)
            finding->implied_by = remark->rule;
        else if (finding->level == LEVEL_ERROR && !error)
            error = finding;
    }
    if (error)
        remark->implied_by = error->rule;
}

void causes_join(struct finding *findings, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (is_remark(&findings[i]))
            join(&findings[i], findings, count);
}
