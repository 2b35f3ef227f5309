/* `proveout propose`: numbers with which every rule holds. */
#include "cli/shop_policy.h"

enum exit_status command_propose(struct run *run)
{
    const struct options *options = &run->options;
    if (!options->arguments.count)
        return run_refuse(run,
                          "propose wants a machine file, and may be given fields after it");
    struct books books;
    struct machine_file *file = ARENA_NEW(run->arena, struct machine_file);
    const char *path = options->arguments.items[0];
    if (!shop_books_load(run, path, &books) || !run_read_machine(run, path, file))
        return EXIT_TROUBLE;
    const struct check_options checking = {
        .books = books.list,
        .book_count = books.count,
        .today = run_today(run),
        .policy = books.policy,
    };
    const struct option_value *values = options->values;
    const struct proposal_asked asked = {.paths = options->arguments.items + 1,
                                         .count = options->arguments.count - 1,
                                         .all = values[OPTION_ALL].given,
                                         .keep = values[OPTION_KEEP].list.items,
                                         .keep_count = values[OPTION_KEEP].list.count,
                                         .least = values[OPTION_LEAST].list.items,
                                         .least_count = values[OPTION_LEAST].list.count,
                                         .most = values[OPTION_MOST].list.items,
                                         .most_count = values[OPTION_MOST].list.count,
                                         .fastest = values[OPTION_FASTEST].given};
    struct report_proposal found;
    if (asked.all && asked.count)
        return run_refuse(run, "--all stands for every field: name none with it");
    const char *wrong = machine_file_propose(run->arena, &checking, file, &asked, &found);
    if (wrong)
        return run_refuse(run, "%s", wrong);
    run_report(run, &(struct report){REPORT_PROPOSAL, file->path, {.proposal = &found}});
    if (run_told_mistakes(run, file))
        return EXIT_FINDINGS;
    bool as_it_is = found.proposal.state == PROPOSAL_FOUND && !found.refuted &&
                    !found.proposal.widest.count;
    return found.proposal.state == PROPOSAL_IDLE || as_it_is ? EXIT_CLEAN : EXIT_FINDINGS;
}
