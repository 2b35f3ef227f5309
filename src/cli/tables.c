/* The rows of commands.inc and options.inc. */
#include "cli/tables.h"

const char program_summary[] =
    "Checks the description of a router's cutter change on paper, before anything moves.";

const struct command command_table[COMMANDS] = {
#define COMMAND(id, name, writes, arguments, summary, help)                                    \
    {#name, arguments, summary, help, REPORT_##writes},
#define COMMAND_AS(id, name, word, writes, arguments, summary, help)                           \
    {word, arguments, summary, help, REPORT_##writes},
#include "cli/commands.inc"
};

/* Sets of commands, as options.inc has them.  One bit more is the program without a command. */
enum {
#define COMMAND(id, name, writes, arguments, summary, help) id = 1 << COMMAND_##id,
#include "cli/commands.inc"
    ALL = (2 << COMMANDS) - 1,
    REPORTS = 0 /* those that write a report of a machine */
#define COMMAND(id, name, writes, arguments, summary, help)                                    \
    +(REPORT_##writes == REPORT_NOTHING ? 0 : id)
#include "cli/commands.inc"
};

const struct option_row option_table[OPTIONS] = {
#define OPTION(id, name, letter, kind, argument, choices, commands, help)                      \
    {name, letter, OPTION_IS_##kind, argument, choices, commands, help},
#include "cli/options.inc"
};

bool option_belongs(const struct option_row *row, const struct command *command)
{
    if (command && row->kind == OPTION_IS_OUTPUT && command->writes != REPORT_NOTHING &&
        !report_output(command->writes, 1))
        return false;
    return row->commands & 1u << (command ? command - command_table : COMMANDS);
}

struct view option_choice(const struct option_row *row, const struct command *command,
                          size_t index)
{
    if (row->kind == OPTION_IS_OUTPUT && (!command || command->writes != REPORT_NOTHING)) {
        const struct report_output *output =
            command ? report_output(command->writes, index) : NULL;
        return output ? view_of(output->word) : (struct view){0};
    }
    struct view rest = view_of(row->choices), word;
    do {
        word = view_take(&rest, ' ');
    } while (word.size && index--);
    return word;
}

const char *option_text(struct arena *arena, const struct option_row *row,
                        const struct command *command)
{
    struct buffer text;
    size_t count = 0;
    buffer_init(&text, arena);
    buffer_text(&text, row->help);
    struct view first = option_choice(row, command, 0);
    for (struct view word = first; word.size; word = option_choice(row, command, count))
        buffer_format(&text, "%s%.*s", count++ ? ", " : " (", VIEW(word));
    if (first.size)
        buffer_text(&text, "; the first where it is not given)");
    return buffer_string(&text);
}
