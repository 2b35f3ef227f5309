/* The table of commands. */
#include "cli/command.h"

const struct command command_table[] = {
    [COMMAND_CHECK] =
        {"check", "FILE|FOLDER|- ...",
         "ask every rule of machine files, and print what is found",
         "Files named are always read. In folders, files called *.yaml or *.yml are looked at, and "
         "those whose first key is `proveout` are checked. A dash is standard input. The exit "
         "status is 0 where nothing at or above the level of --stop-at is found, 1 where "
         "something is, and 2 where something could not be checked.",
         REPORT_FINDINGS, command_check},
    [COMMAND_COMMISSION] =
        {"commission", "[FILE]",
         "ask about a machine, in the order of working at it, and write its machine file",
         "Asks line by line, checks each answer, and writes the file after an explicit yes. A FILE "
         "that is there already is the start, and only what is changed is changed in it. A draft is "
         "kept after every answer; the next run goes on there. Without a terminal the answers come "
         "one a line from standard input. The exit status is 0 where the dialogue came to its end, "
         "and 2 where it did not.",
         REPORT_NOTHING, command_commission},
    [COMMAND_REVISE] =
        {"revise", "FILE [FIELD=VALUE ... | setter | table | FIELD ...]",
         "change values in place, and see which margins that moves",
         "Shows the difference first, then every margin that moves, and writes only with --write "
         "or after a yes at a terminal. Comments and layout stay. A word without a value asks for "
         "what has to be measured again after the setter or the table was moved, or for that "
         "field; with the file alone the fields are asked for too. The exit status is that of "
         "`check` for the file as it would be.",
         REPORT_COMPARISON, command_revise},
    [COMMAND_WINDOW] =
        {"window", "FILE|- [FIELD ...]",
         "within what range a number keeps every rule, and which rule bounds it",
         "Of each field named, else of every chosen number that the file gives: the range around "
         "its present value in which every rule that depends on it holds, all other values being "
         "as they are, and the rule that bounds it on each side. The exit status is 0 where all "
         "hold as they are, 1 where one does not, and 2 where the file or a field cannot be "
         "looked at.",
         REPORT_WINDOWS, command_window},
    [COMMAND_DRYRUN] =
        {"dryrun", "FILE|- [--from N] [--to M] [--at X,Y,Z]",
         "every move of a cutter change, step by step, before anything moves",
         "Of each step: where from and to, how fast, how long, the heights of nose and tip, the "
         "least room and to what, where contact is expected, what the spindle does, and what the "
         "operator does and sees. Without --from and --to it is the change that comes nearest to "
         "anything. The steps follow the order of change.asks in the file. The exit status is 0; 1 "
         "where `check` finds an error in the file, where a step leads hands to a spindle that can "
         "turn, or where a move runs into something; and 2 where the moves cannot be told.",
         REPORT_MOVES, command_dryrun},
    [COMMAND_EXPLAIN] =
        {"explain", "RULE|FIELD ...", "tell what a rule asks and why, or what a field means",
         "Of a rule: its formula, its reason, what to do, its source and its examples. Of a field "
         "of the machine file, such as setter.nose_contact: its meaning, its units, and how to "
         "get it. Of a section, such as setter: its fields.",
         REPORT_NOTHING, command_explain},
    [COMMAND_RULES] =
        {"rules", "[--prove [FILE ...]]", "list the rules, or run the examples they carry",
         "Lists each rule with its level, whom or what it saves from harm, and what it says when "
         "it fails. With --prove the examples of every rule are run.",
         REPORT_NOTHING, command_rules},
};

_Static_assert(sizeof command_table / sizeof *command_table == COMMAND_COUNT,
               "each command has its row");

const struct command *command_find(struct view name)
{
    for (size_t i = 0; i < COMMAND_COUNT; i++)
        if (view_is(name, command_table[i].name))
            return &command_table[i];
    return NULL;
}
