/* Joins what the reader says with the rules that fail over the same thing.
 *
 * Remarks on numbers go by places alone: what a rule has read and the file gives stands in its
 * record.  What is missing has no place of its own, and goes by its name. */
#include "rules/internal.h"

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

/* The error points elsewhere: what the remark says comes first among the other places. */
static void tell_remark(struct arena *arena, struct finding *error,
                        const struct finding *remark)
{
    struct finding_spot *told =
        ARENA_ARRAY(arena, struct finding_spot, error->related_count + 1);
    size_t count = 1;
    told[0] = remark->at;
    told[0].text = remark->message;
    bool replaced = false;
    for (size_t i = 0; i < error->related_count; i++) {
        if (!replaced && overlap(&error->related[i], &remark->at)) {
            told[0].field = error->related[i].field;
            replaced = true;
        } else {
            told[count++] = error->related[i];
        }
    }
    error->related = told;
    error->related_count = count;
}

static void join(struct arena *arena, struct finding *remark, struct finding *findings,
                 size_t count)
{
    struct finding *error = NULL;
    for (size_t i = 0; i < count; i++) {
        struct finding *finding = &findings[i];
        if (finding == remark || !is_open(finding) || !reads(finding, &remark->at))
            continue;
        if (finding->level < LEVEL_ERROR &&
            (!finding->from_reader || finding_stands_for_others(finding)))
            finding->implied_by = remark->rule;
        else if (finding->level == LEVEL_ERROR &&
                 (!error ||
                  (!overlap(&error->at, &remark->at) && overlap(&finding->at, &remark->at))))
            error = finding;
    }
    if (!error)
        return;
    remark->implied_by = error->rule;
    if (remark->message && !overlap(&error->at, &remark->at))
        tell_remark(arena, error, remark);
}

static bool is_about(const struct finding *finding, const struct finding *missing)
{
    for (size_t i = 0; i < missing->related_count; i++)
        if (finding->at.field && missing->related[i].field &&
            strcmp(finding->at.field, missing->related[i].field) == 0)
            return true;
    return false;
}

/* A key is missing since something else is: that is no second finding. */
static void join_missing(struct finding *missing, struct finding *findings, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        struct finding *finding = &findings[i];
        if (finding->from_reader || !is_open(finding) || !is_about(finding, missing))
            continue;
        if (finding->level < LEVEL_ERROR)
            finding->implied_by = missing->rule;
        else if (finding->blames_absent)
            missing->implied_by = finding->rule;
    }
}

static bool is_missing_key(const struct finding *finding)
{
    return finding->from_reader && is_open(finding) && finding->related_count &&
           strcmp(finding->rule, reader_finding_name(READER_MISSING_KEY)) == 0;
}

void causes_join(struct arena *arena, struct finding *findings, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (is_remark(&findings[i]))
            join(arena, &findings[i], findings, count);
        else if (is_missing_key(&findings[i]))
            join_missing(&findings[i], findings, count);
    }
}
