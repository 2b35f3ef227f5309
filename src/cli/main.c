/* Setting up a run, handing it to its command, ending it. */
#include <string.h>

#include "cli/command.h"
#include "cli/doorstep_run.h"
#include "cli/input.h"
#include "proveout/version.h"

static enum exit_status finish(struct run *run, enum exit_status status)
{
    const char *wrong = output_finish(run->out, run->arena);
    if (!wrong)
        return status;
    if (*wrong)
        trouble_say(run->arena, "%s", wrong);
    return EXIT_TROUBLE;
}

static enum exit_status (*const runs[COMMANDS])(struct run *run) = {
#define COMMAND(id, name, writes, arguments, summary, help) command_##name,
#include "cli/commands.inc"
};

static enum exit_status run_command(struct run *run)
{
    const struct options *options = &run->options;
    struct buffer text;
    buffer_init(&text, run->arena);
    bool help = options->values[OPTION_HELP].given;
    if (help)
        help_add(&text, options->command);
    else if (options->values[OPTION_VERSION].given)
        buffer_format(&text, "proveout " PROVEOUT_VERSION "\nrules %s\n",
                      proveout_rules_fingerprint());
    if (!text.size)
        return runs[options->command - command_table](run);
    output_write(run->out, buffer_view(&text));
    return EXIT_CLEAN;
}

/* What is wrong with the command line; NULL: nothing. */
static const char *read_command(struct run *run, int argc, char *const *argv)
{
    const char *wrong = options_read(run->arena, argc, argv, &run->options);
    const struct option_value *values = run->options.values;
    bool answered = values[OPTION_HELP].given || values[OPTION_VERSION].given;
    if (!wrong && !run->options.command && !answered)
        wrong = "no command is given";
    return wrong;
}

static enum exit_status refuse_line(struct run *run, const char *wrong)
{
    const struct command *command = run->options.command;
    bool asks = wrong[strlen(wrong) - 1] == '?';
    trouble_say(run->arena, "%s%s `proveout %s%s--help` tells more", wrong, asks ? "" : ";",
                command ? command->name : "", command ? " " : "");
    return EXIT_TROUBLE;
}

/* Of a revision --output names the machine file itself, as it would be. */
static bool names_machine(const struct run *run)
{
    return run->options.command && run->options.command == &command_table[COMMAND_REVISE];
}

/* Does --output name a machine file?  A slip in the order of arguments must not cost anybody
 * one. */
static bool overwrites_machine(const struct run *run)
{
    const char *path = run->options.values[OPTION_OUTPUT].text;
    const struct input input = {.path = path, .walked = true};
    struct view bytes;
    const char *why;
    return path && !names_machine(run) && file_is_plain(path) &&
           input_read(&input, run->arena, &bytes, &why) == INPUT_READ;
}

static enum exit_status run_line(struct run *run, int argc, char *const *argv)
{
    const char *wrong;
    if (doorstep_is_it(argc, argv)) {
        wrong = output_open(run->out, run->arena, NULL);
        return wrong ? EXIT_TROUBLE : finish(run, doorstep_run(run, argc, argv));
    }
    wrong = read_command(run, argc, argv);
    if (wrong)
        return refuse_line(run, wrong);
    const char *name = run->options.values[OPTION_OUTPUT].text;
    if (overwrites_machine(run))
        wrong = arena_format(run->arena,
                             "%s is a machine file; nothing else is written over it", name);
    else
        wrong = output_open(run->out, run->arena, names_machine(run) ? NULL : name);
    if (!wrong)
        return finish(run, run_command(run));
    trouble_say(run->arena, "%s", wrong);
    return EXIT_TROUBLE;
}

int main(int argc, char **argv)
{
    argv = platform_begin(&argc, argv);
    struct arena arena;
    struct output out;
    arena_init(&arena, &trouble_host);
    struct run run = {.arena = &arena, .out = &out};
    enum exit_status status = run_line(&run, argc, argv);
    arena_free(&arena);
    return (int)status;
}
