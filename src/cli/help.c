/* --help, made from the tables of commands and options. */
#include "cli/command.h"

#include "report/wrap.h"

enum { WIDTH = 80, COLUMN = 26 };

/* "-j, --jobs N" */
static void add_name(struct buffer *out, const struct option_row *row)
{
    if (row->letter)
        buffer_format(out, "  -%c, ", row->letter);
    else
        buffer_text(out, "      ");
    buffer_format(out, "--%s", row->name);
    if (row->argument)
        buffer_format(out, " %s", row->argument);
}

static void add_option(struct buffer *out, const struct option_row *row,
                       const struct command *command)
{
    struct buffer name, text;
    size_t count = 0;
    buffer_init(&name, out->arena);
    buffer_init(&text, out->arena);
    add_name(&name, row);
    buffer_text(&text, row->help);
    struct view first = option_choice(row, command, 0);
    for (struct view word = first; word.size; word = option_choice(row, command, count))
        buffer_format(&text, "%s%.*s", count++ ? ", " : ": ", VIEW(word));
    if (first.size)
        buffer_text(&text, " (the first where it is not given)");
    wrap_row(out, WIDTH, COLUMN, buffer_string(&name), buffer_view(&text));
}

static void add_commands(struct buffer *out)
{
    buffer_text(out, "\nCommands:\n");
    for (size_t i = 0; i < COMMAND_COUNT; i++) {
        const char *name = arena_format(out->arena, "  %s", command_table[i].name);
        wrap_row(out, WIDTH, COLUMN, name, view_of(command_table[i].summary));
    }
}

void help_add(struct buffer *out, const struct command *command)
{
    const struct wrap prose = {.width = WIDTH};
    if (command) {
        buffer_format(out, "Usage: proveout %s [OPTION ...] %s\n\n", command->name,
                      command->arguments);
        wrap_add(out, &prose, view_of(command->help));
    } else {
        buffer_text(out, "Usage: proveout COMMAND [OPTION ...] [ARGUMENT ...]\n\n");
        wrap_add(
            out, &prose,
            view_of(
                "Checks the description of a router's cutter change on paper, before anything moves."));
        add_commands(out);
    }
    buffer_text(out, "\nOptions:\n");
    for (size_t i = 0; i < OPTION_COUNT; i++)
        if (option_belongs(&option_table[i], command))
            add_option(out, &option_table[i], command);
    if (!command)
        buffer_text(out, "\n`proveout COMMAND --help` tells the options of a command.\n");
}
