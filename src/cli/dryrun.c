/* `proveout dryrun`: the moves of one cutter change, step by step. */
#include "cli/books.h"
#include "cli/input.h"

enum exit_status command_dryrun(struct run *run)
{
    const struct options *options = &run->options;
    if (options->arguments.count != 1)
        return run_refuse(run, "dryrun wants one machine file");
    struct books books;
    struct machine_file *file = ARENA_NEW(run->arena, struct machine_file);
    if (!books_load(run, &books) || !run_read_machine(run, options->arguments.items[0], file))
        return EXIT_TROUBLE;
    struct beside beside = {file->path};
    const struct file_reader agreements = {&beside, beside_read};
    const struct check_options checking = {
        .books = books.list,
        .book_count = books.count,
        .today = run_today(run),
        .agreements = &agreements,
        .shared = file->shared,
    };
    const struct change_asked asked = {
        .from = options->values[OPTION_FROM].text,
        .to = options->values[OPTION_TO].text,
        .at = options->values[OPTION_AT].text,
    };
    struct dryrun dryrun;
    enum change_part part;
    const char *wrong =
        machine_file_change(run->arena, &checking, file, &asked, &dryrun, &part);
    if (wrong)
        return run_refuse(run, "%s%s", part == CHANGE_AT ? "--at" : "", wrong);
    run_report(run, &(struct report){REPORT_MOVES, file->path, {.moves = &dryrun}});
    bool harms = dryrun.change->endangers || dryrun.change->starts_still ||
                 dryrun.change->beside_chuck || change_meets(dryrun.change);
    return dryrun.errors || harms ? EXIT_FINDINGS : EXIT_CLEAN;
}
