/* `proveout draw`: the machine as a drawing, to scale. */
#include "cli/books.h"
#include "cli/input.h"

enum { VIEW_PLAN, VIEW_SIDE }; /* in the order of the words of --view */

enum exit_status command_draw(struct run *run)
{
    const struct options *options = &run->options;
    if (options->arguments.count != 1)
        return run_refuse(run, "draw wants one machine file");
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
    const struct drawing_asked asked = {
        .side = options->values[OPTION_VIEW].choice == VIEW_SIDE,
        .cutter = options->values[OPTION_CUTTER].text,
        .step = options->values[OPTION_STEP].text,
    };
    struct buffer drawing;
    size_t errors;
    buffer_init(&drawing, run->arena);
    const char *wrong =
        machine_file_draw(run->arena, &checking, file, &asked, &drawing, &errors);
    if (wrong)
        return run_refuse(run, "%s", wrong);
    output_write(run->out, buffer_view(&drawing));
    return errors ? EXIT_FINDINGS : EXIT_CLEAN;
}
