/* Names of the reader's findings, of levels and of outcomes: one table each, proved complete.
 */
#include "finding/finding.h"
#include "finding/sink.h"

#include "base/bug.h"

#define LENGTH(table) (sizeof(table) / sizeof *(table))

static const struct {
    const char *name;
    enum finding_level level;
} reader_findings[] = {
#define X(id, name, level) [READER_##id] = {name, level},
    READER_FINDINGS(X)
#undef X
};
_Static_assert(LENGTH(reader_findings) == READER_COUNT,
               "each of the reader's findings is named");

static const char *const level_names[] = {
    [LEVEL_NOTE] = "note",
    [LEVEL_WARNING] = "warning",
    [LEVEL_ERROR] = "error",
};
_Static_assert(LENGTH(level_names) == LEVEL_COUNT, "each level is named");

static const char *const hurts_names[] = {
    [HURTS_WORK] = "work",
    [HURTS_MACHINE] = "machine",
    [HURTS_PERSON] = "person",
};
_Static_assert(LENGTH(hurts_names) == HURTS_COUNT, "each kind of harm is named");

static const char *const outcome_names[] = {
    [OUTCOME_HELD] = "held",
    [OUTCOME_FAILED] = "failed",
    [OUTCOME_WAIVED] = "waived",
    [OUTCOME_UNCHECKED] = "unchecked",
};
_Static_assert(LENGTH(outcome_names) == OUTCOME_COUNT, "each outcome is named");

static const char *const status_names[] = {
    [FILE_CHECKED] = "checked",
    [FILE_PARTIAL] = "partial",
    [FILE_UNREADABLE] = "unreadable",
    [FILE_SHARED] = "shared",
};

const char *reader_finding_name(enum reader_finding name)
{
    BUG_UNLESS(name < READER_COUNT);
    return reader_findings[name].name;
}

enum finding_level reader_finding_level(enum reader_finding name)
{
    BUG_UNLESS(name < READER_COUNT);
    return reader_findings[name].level;
}

const char *finding_level_name(enum finding_level level)
{
    BUG_UNLESS(level < LEVEL_COUNT);
    return level_names[level];
}

const char *finding_hurts_name(enum finding_hurts hurts)
{
    BUG_UNLESS(hurts < HURTS_COUNT);
    return hurts_names[hurts];
}

const char *finding_outcome_name(enum finding_outcome outcome)
{
    BUG_UNLESS(outcome < OUTCOME_COUNT);
    return outcome_names[outcome];
}

const char *file_status_name(enum file_status status)
{
    BUG_UNLESS(status < LENGTH(status_names));
    return status_names[status];
}

bool file_report_is_whole(const struct file_report *report)
{
    static const enum reader_finding names[] = {READER_NOT_YAML, READER_NOT_UTF8,
                                                READER_TOO_LARGE, READER_TOO_DEEP};
    if (report->status != FILE_CHECKED)
        return false;
    for (size_t i = 0; i < report->count; i++)
        for (size_t n = 0; report->findings[i].from_reader && n < sizeof names / sizeof *names;
             n++)
            if (strcmp(report->findings[i].rule, reader_finding_name(names[n])) == 0)
                return false;
    return true;
}
