/* The sheet of one file. */
#include "wall/wall.h"

#include "library/machine_file.h"

const char *machine_file_sheet(struct arena *arena, const struct check_options *options,
                               struct machine_file *file, const struct wall_asked *asked,
                               struct buffer *out, size_t *errors)
{
    struct check_options checking = *options;
    struct file_report report;
    struct dryrun dryrun;
    struct round_plan round;
    enum change_part part;
    const struct change_asked nobody = {0};
    const char *no_change = machine_file_change(arena, file, &nobody, &dryrun, &part);
    checking.show = SHOW_DEFAULT; /* of what holds, the tightest of each rule */
    checking.words = true;
    checking.remedies = true;
    checker_check_machine(checker_new(arena, &checking), arena, &file->machine, &file->sink,
                          &report);
    round_of_report(arena, options, &file->machine, &report, &round);
    uint32_t cutter = file->machine.groups[GROUP_CUTTER].count ? 0 : RECORD_NONE;
    struct drawing plan = {.machine = &file->machine,
                           .path = asked->name,
                           .report = &report,
                           .change = no_change ? NULL : dryrun.change,
                           .no_change = no_change,
                           .cutter = no_change ? cutter : dryrun.change->request.to,
                           .paper = WALL_DRAWING};
    struct drawing side = plan;
    side.side = true;
    const struct wall wall = {.file = file,
                              .name = asked->name,
                              .report = &report,
                              .dryrun = no_change ? NULL : &dryrun,
                              .no_change = no_change,
                              .round = &round,
                              .plan = &plan,
                              .side = &side,
                              .today = asked->today};
    dryrun.errors = *errors = report.findings_by_level[LEVEL_ERROR];
    wall_write(out, arena, &wall);
    return NULL;
}
