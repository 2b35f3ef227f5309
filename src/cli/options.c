/* The table of options and the reading of one value. */
#include "cli/options.h"

#include "cli/command.h"

enum {
    ALL = (1 << COMMAND_COUNT) - 1,
    CHECK = 1 << COMMAND_CHECK,
    COMMISSION = 1 << COMMAND_COMMISSION,
    REVISE = 1 << COMMAND_REVISE,
    WINDOW = 1 << COMMAND_WINDOW,
    DRYRUN = 1 << COMMAND_DRYRUN,
    EXPLAIN = 1 << COMMAND_EXPLAIN,
    RULES = 1 << COMMAND_RULES,
};

const struct option_row option_table[] = {
#define OPTION(id, name, letter, kind, argument, choices, commands, help)                      \
    {name, letter, OPTION_IS_##kind, argument, choices, commands, help},
#include "cli/options.inc"
#undef OPTION
};

_Static_assert(sizeof option_table / sizeof *option_table == OPTION_COUNT,
               "each option has its row");

bool option_belongs(const struct option_row *row, const struct command *command)
{
    if (!command)
        return row->commands == ALL;
    if (row->kind == OPTION_IS_OUTPUT && !report_output(command->writes, 1))
        return false;
    return row->commands & 1u << (command - command_table);
}

struct view option_choice(const struct option_row *row, const struct command *command,
                          size_t index)
{
    if (row->kind == OPTION_IS_OUTPUT) {
        const struct report_output *output =
            command ? report_output(command->writes, index) : NULL;
        return output ? view_of(output->word) : (struct view){0};
    }
    if (!row->choices)
        return (struct view){0};
    struct view rest = view_of(row->choices);
    for (;; index--) {
        size_t size = 0;
        while (size < rest.size && rest.data[size] != ' ')
            size++;
        if (index == 0 || size == rest.size)
            return (struct view){rest.data, index == 0 ? size : 0};
        rest = view_skip(rest, size + 1);
    }
}
