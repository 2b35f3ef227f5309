/* `proveout draw`: the machine as a drawing, to scale. */
#include "cli/opened.h"

enum { VIEW_PLAN, VIEW_SIDE }; /* in the order of the words of --view */

enum exit_status command_draw(struct run *run)
{
    const struct options *options = &run->options;
    if (options->arguments.count != 1)
        return run_refuse(run, "draw wants one machine file");
    const struct opened *opened = opened_machine(run, options->arguments.items[0]);
    if (!opened)
        return EXIT_TROUBLE;
    const struct drawing_asked asked = {
        .side = options->values[OPTION_VIEW].choice == VIEW_SIDE,
        .cutter = options->values[OPTION_CUTTER].text,
        .step = options->values[OPTION_STEP].text,
    };
    struct buffer drawing;
    size_t errors;
    buffer_init(&drawing, run->arena);
    const char *wrong = machine_file_draw(run->arena, &opened->checking, opened->file, &asked,
                                          &drawing, &errors);
    if (wrong)
        return run_refuse(run, "%s", wrong);
    output_write(run->out, buffer_view(&drawing));
    return errors ? EXIT_FINDINGS : EXIT_CLEAN;
}
