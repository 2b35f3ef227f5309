/* A line that says how far it is. */
#include "cli/progress.h"

#include <stdio.h>
#include <string.h>

#include "cli/output.h"

void progress_begin(struct progress *progress, size_t count, bool is_told)
{
    double start = clock_steady();
    *progress = (struct progress){.is_shown = !is_told && terminal_is(STANDARD_ERROR),
                                  .count = count,
                                  .start = start,
                                  .last = start};
}

void progress_step(struct progress *progress, size_t done)
{
    const double first = 1.0, again = 0.2; /* seconds */
    char text[64];
    progress->done += done;
    if (!progress->is_shown)
        return;
    double time = clock_steady();
    if (time - progress->start < first || time - progress->last < again)
        return;
    progress->last = time;
    int size =
        snprintf(text, sizeof text, "\r%zu of %zu files", progress->done, progress->count);
    if (size > 0 && file_write(STANDARD_ERROR, (struct view){text, (size_t)size}) == 0)
        progress->is_there = true;
}

void progress_end(struct progress *progress)
{
    char blanks[66];
    if (!progress->is_there)
        return;
    memset(blanks, ' ', sizeof blanks);
    blanks[0] = blanks[sizeof blanks - 1] = '\r';
    progress->is_there = file_write(STANDARD_ERROR, (struct view){blanks, sizeof blanks}) != 0;
}
