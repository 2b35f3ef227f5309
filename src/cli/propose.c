/* `proveout propose`: numbers with which every rule holds. */
#include "cli/books.h"

enum exit_status command_propose(struct run *run)
{
    const struct options *options = &run->options;
    if (!options->arguments.count)
        return run_refuse(run,
                          "propose wants a machine file, and may be given fields after it");
    struct books books;
    struct machine_file *file = ARENA_NEW(run->arena, struct machine_file);
    if (!books_load(run, &books) || !run_read_machine(run, options->arguments.items[0], file))
        return EXIT_TROUBLE;
    const struct check_options checking = {
        .books = books.list, .book_count = books.count, .today = run_today(run)};
    const struct proposal_asked asked = {.paths = options->arguments.items + 1,
                                         .count = options->arguments.count - 1,
                                         .all = options->values[OPTION_ALL].given,
                                         .keep = options->values[OPTION_KEEP].list.items,
                                         .keep_count = options->values[OPTION_KEEP].list.count};
    struct report_proposal found;
    if (asked.all && asked.count)
        return run_refuse(run, "--all stands for every field: name none with it");
    const char *wrong = machine_file_propose(run->arena, &checking, file, &asked, &found);
    if (wrong)
        return run_refuse(run, "%s", wrong);
    run_report(run, &(struct report){REPORT_PROPOSAL, file->path, {.proposal = &found}});
    if (run_told_mistakes(run, file))
        return EXIT_FINDINGS;
    return found.proposal.state == PROPOSAL_IDLE ? EXIT_CLEAN : EXIT_FINDINGS;
}
