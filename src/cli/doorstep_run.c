#include "cli/doorstep_run.h"

#include "cli/doorstep.h"
#include "cli/lines.h"
#include "text/escape.h"

bool doorstep_is_it(int argc, char *const *argv)
{
    if (!platform_is_alone() || !terminal_is(STANDARD_INPUT) || !terminal_is(STANDARD_OUTPUT))
        return false;
    for (int i = 1; i < argc; i++)
        if (!file_is_there(argv[i]))
            return false;
    return true;
}

/* As if the command had been typed. */
static enum exit_status run_for(struct run *run, const char *command, int count,
                                char *const *paths)
{
    char **argv = arena_zero(run->arena, (size_t)count + 4, sizeof *argv);
    argv[0] = arena_copy(run->arena, "proveout", 8);
    argv[1] = arena_copy(run->arena, command, strlen(command));
    argv[2] = arena_copy(run->arena, "--", 2);
    memcpy(argv + 3, paths, (size_t)count * sizeof *argv);
    const char *wrong = options_read(run->arena, count + 3, argv, &run->options);
    if (wrong) {
        trouble_say(run->arena, "%s", wrong);
        return EXIT_TROUBLE;
    }
    return strcmp(command, "check") == 0 ? command_check(run) : command_commission(run);
}

/* The lines are closed while a command runs: an interrupt ends it then, and it may ask itself.
 */
static enum doorstep_wish ask(struct run *run, struct doorstep *door)
{
    struct lines lines;
    struct view line;
    lines_init(&lines, run);
    if (!lines_open(&lines, NULL))
        return DOORSTEP_LEAVE;
    enum doorstep_wish wish = DOORSTEP_ASKS;
    while (wish == DOORSTEP_ASKS) {
        lines_gap(&lines);
        if (!lines_ask(&lines, doorstep_question(door), &line)) {
            wish = DOORSTEP_LEAVE;
            break;
        }
        wish = doorstep_answer(door, line);
        if (!door->remark)
            continue;
        struct buffer says;
        buffer_init(&says, run->arena);
        escape_terminal(&says, view_of(door->remark));
        lines_say(&lines, 4, "%s", buffer_string(&says));
    }
    lines_close(&lines);
    return wish;
}

static void greet(struct run *run)
{
    struct lines lines;
    lines_init(&lines, run);
    for (size_t i = 0; doorstep_greeting[i]; i++) {
        if (i)
            lines_gap(&lines);
        lines_say(&lines, 0, "%s", doorstep_greeting[i]);
    }
}

enum exit_status doorstep_run(struct run *run, int argc, char *const *argv)
{
    struct doorstep door = {.arena = run->arena, .is_there = file_is_there};
    enum exit_status status = EXIT_CLEAN;
    run->options = (struct options){0};
    if (argc > 1) {
        status = run_for(run, "check", argc - 1, argv + 1);
        door.went = true;
    } else {
        greet(run);
    }
    for (;;) {
        enum doorstep_wish wish = ask(run, &door);
        if (wish == DOORSTEP_LEAVE)
            return status;
        char *path = arena_copy(run->arena, door.path, strlen(door.path));
        status = run_for(run, wish == DOORSTEP_CHECK ? "check" : "commission", 1, &path);
    }
}
