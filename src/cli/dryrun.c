/* `proveout dryrun`: the moves of one cutter change, step by step. */
#include "cli/opened.h"

enum exit_status command_dryrun(struct run *run)
{
    const struct options *options = &run->options;
    if (options->arguments.count != 1)
        return run_refuse(run, "dryrun wants one machine file");
    const struct opened *opened = opened_machine(run, options->arguments.items[0]);
    if (!opened)
        return EXIT_TROUBLE;
    const struct change_asked asked = {
        .from = options->values[OPTION_FROM].text,
        .to = options->values[OPTION_TO].text,
        .at = options->values[OPTION_AT].text,
    };
    struct machine_file *file = opened->file;
    struct dryrun dryrun;
    enum change_part part;
    const char *wrong = machine_file_change(run->arena, file, &asked, &dryrun, &part);
    if (wrong)
        return run_refuse(run, "%s%s", part == CHANGE_AT ? "--at" : "", wrong);
    dryrun.errors = machine_file_failing(run->arena, &opened->checking, file);
    run_report(run, &(struct report){REPORT_MOVES, file->path, {.moves = &dryrun}});
    bool harms = dryrun.change->endangers || dryrun.change->starts_still ||
                 dryrun.change->beside_chuck || change_meets(dryrun.change);
    return dryrun.errors || harms ? EXIT_FINDINGS : EXIT_CLEAN;
}
