/* `proveout schema`: the form of a kind of file, for editors. */
#include "cli/command.h"

enum exit_status command_schema(struct run *run)
{
    const struct options *options = &run->options;
    const char *kind = options->arguments.count ? options->arguments.items[0] : NULL;
    struct buffer out;
    buffer_init(&out, run->arena);
    if (options->arguments.count > 1 || !schema_write(&out, kind))
        return run_refuse(run, "%s wants one kind of file, " SCHEMA_KINDS(SCHEMA_WORD, " or "),
                          options->command->name);
    output_write(run->out, buffer_view(&out));
    return EXIT_CLEAN;
}
