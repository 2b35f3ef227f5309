/* `proveout sheet`: what hangs beside the machine. */
#include "cli/opened.h"

enum exit_status command_sheet(struct run *run)
{
    const struct options *options = &run->options;
    if (options->arguments.count != 1)
        return run_refuse(run, "sheet wants one machine file");
    const struct opened *opened = opened_machine(run, options->arguments.items[0]);
    if (!opened)
        return EXIT_TROUBLE;
    const char *slash = strrchr(opened->file->path, '/');
    struct view today = run_day(run);
    const struct wall_asked asked = {
        .name = slash && slash[1] ? slash + 1 : opened->file->path,
        .today = arena_copy(run->arena, today.data, today.size),
    };
    struct buffer sheet;
    size_t errors;
    buffer_init(&sheet, run->arena);
    const char *wrong = machine_file_sheet(run->arena, &opened->checking, opened->file, &asked,
                                           &sheet, &errors);
    if (wrong)
        return run_refuse(run, "%s", wrong);
    output_write(run->out, buffer_view(&sheet));
    return errors ? EXIT_FINDINGS : EXIT_CLEAN;
}
