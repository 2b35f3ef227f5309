/* Sums over the files of a run. */
#include "report/report.h"

void totals_add(struct run_totals *totals, const struct file_report *file)
{
    totals->files++;
    totals->unreadable += file->status == FILE_UNREADABLE;
    for (int level = 0; level < LEVEL_COUNT; level++)
        totals->by_level[level] += file->findings_by_level[level];
}
