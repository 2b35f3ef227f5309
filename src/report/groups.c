/* Which records are shown together: `finding` groups what failed, and here what is waived as
 * well. */
#include "report/internal.h"

#include "quantity/number.h"

static bool has_waived(const struct file_report *file)
{
    for (size_t i = 0; i < file->count; i++)
        if (file->findings[i].outcome == OUTCOME_WAIVED)
            return true;
    return false;
}

/* Copies of the records in which waived ones look like failures that nothing explains.  What
 * they were shows in their reason, which stays. */
static const struct finding *unwaive(struct arena *arena, const struct file_report *file)
{
    struct finding *copies = ARENA_ARRAY(arena, struct finding, file->count);
    for (size_t i = 0; i < file->count; i++) {
        copies[i] = file->findings[i];
        if (copies[i].outcome != OUTCOME_WAIVED) {
            copies[i].waived_reason = NULL;
            continue;
        }
        copies[i].outcome = OUTCOME_FAILED;
        copies[i].implied_by = NULL;
        if (!copies[i].waived_reason)
            copies[i].waived_reason = "";
    }
    return copies;
}

bool group_is_waived(const struct finding_group *group)
{
    return group->worst->waived_reason != NULL;
}

void groups_find(struct arena *arena, const struct file_report *file, struct shown_groups *out)
{
    const struct finding *findings = has_waived(file) ? unwaive(arena, file) : file->findings;
    *out = (struct shown_groups){0};
    out->groups = findings_group(arena, findings, file->count, &out->count);
    for (size_t i = 0; i < out->count; i++)
        out->waived += group_is_waived(&out->groups[i]);
}

unit_id margin_unit(const struct finding *finding)
{
    struct view text = view_of(finding->margin_text);
    double value;
    size_t used;
    if (number_read(text, &value, &used) == NUMBER_OK) {
        unit_id unit = unit_read(view_trim(view_skip(text, used)));
        if (unit != UNIT_UNKNOWN && unit_fits(unit, finding->dimension))
            return unit;
    }
    return unit_default(finding->dimension);
}
