/* `proveout window`: within what range a number keeps every rule. */
#include "cli/shop_policy.h"

static enum exit_status finish(struct run *run, const struct machine_file *file,
                               const struct report_windows *found)
{
    run_report(run, &(struct report){REPORT_WINDOWS, file->path, {.windows = found}});
    if (run_told_mistakes(run, file))
        return EXIT_FINDINGS;
    for (size_t i = 0; i < found->count; i++)
        if (!found->items[i].holds)
            return EXIT_FINDINGS;
    return EXIT_CLEAN;
}

enum exit_status command_window(struct run *run)
{
    const struct options *options = &run->options;
    if (!options->arguments.count)
        return run_refuse(run, "window wants a machine file, and may be given fields after it");
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
    struct report_windows found;
    const char *wrong =
        machine_file_windows(run->arena, &checking, file, options->arguments.items + 1,
                             options->arguments.count - 1, &found);
    if (wrong)
        return run_refuse(run, "%s", wrong);
    return finish(run, file, &found);
}
