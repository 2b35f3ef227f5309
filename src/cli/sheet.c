/* `proveout sheet`: what hangs beside the machine. */
#include "cli/books.h"
#include "cli/input.h"

enum exit_status command_sheet(struct run *run)
{
    const struct options *options = &run->options;
    if (options->arguments.count != 1)
        return run_refuse(run, "sheet wants one machine file");
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
    const char *slash = strrchr(file->path, '/');
    struct view today = run_day(run);
    const struct wall_asked asked = {
        .name = slash && slash[1] ? slash + 1 : file->path,
        .today = arena_copy(run->arena, today.data, today.size),
    };
    struct buffer sheet;
    size_t errors;
    buffer_init(&sheet, run->arena);
    const char *wrong =
        machine_file_sheet(run->arena, &checking, file, &asked, &sheet, &errors);
    if (wrong)
        return run_refuse(run, "%s", wrong);
    output_write(run->out, buffer_view(&sheet));
    return errors ? EXIT_FINDINGS : EXIT_CLEAN;
}
