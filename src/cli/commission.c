/* `proveout commission`: asks, and writes a machine file.
 *
 * The dialogue itself is in ask/; here are the terminal, the drafts on the disk, and the file.
 */
#include <string.h>

#include "ask/prompt.h"
#include "ask/write.h"
#include "cli/commission_beside.h"
#include "cli/draft_file.h"
#include "cli/input.h"
#include "cli/lines.h"
#include "cli/shop_policy.h"
#include "tree/compose.h"

/* One dialogue with its surroundings. */
struct commission {
    struct run *run;
    struct books books;
    struct beside beside;
    struct file_reader agreements;
    struct check_options rules;
    struct ask_setup setup;
    struct draft_file draft;
    struct lines lines;
    struct found_beside found;
};

/* The dialogue's host. */

static void keep(void *user, struct view draft)
{
    struct commission *commission = user;
    draft_file_write(&commission->draft, draft);
    commission->setup.unkept = commission->draft.why != NULL;
}

static void aside(void *user)
{
    struct commission *commission = user;
    (void)draft_file_put_aside(&commission->draft);
}

static void drop(void *user)
{
    struct commission *commission = user;
    draft_file_remove(&commission->draft);
}

static const char *save(void *user, struct arena *arena, const char *path, struct view bytes)
{
    struct commission *commission = user;
    const char *wrong =
        found_write(arena, &commission->found, commission->lines.ask, path, &bytes);
    if (wrong)
        return wrong;
    return commission->setup.exists ? save_over(arena, path, commission->setup.base, bytes)
                                    : save_new(arena, path, bytes);
}

/* Setting up. */

/* Nobody answers eighty questions and learns only then that they cannot be saved. */
static const char *try_saving(struct arena *arena, const char *path, enum save_kind kind)
{
    struct save *save;
    const char *why = save_open(&save, arena, path, kind, true);
    return why ? why : save_drop(save);
}

/* Reads the file that is there, or makes sure that one can be.  NULL on success, else why not.
 */
static const char *open_file(struct commission *commission, const char *path)
{
    struct arena *arena = commission->run->arena;
    struct ask_setup *setup = &commission->setup;
    const struct input input = {.path = path};
    const char *why = NULL;
    if (strcmp(path, "-") == 0)
        return "commission writes a file and wants its name, not -";
    setup->path = path;
    setup->exists = file_is_there(path);
    if (!setup->exists)
        return try_saving(arena, path, SAVE_NEW);
    if (input_read(&input, arena, &setup->base, &why) != INPUT_READ)
        return arena_format(arena, "%s cannot be read: %s", path, why);
    const struct tree *own = tree_of(arena, view_of(path), setup->base);
    if (own->status != TREE_WHOLE || !tree_starts_machine(setup->base))
        return arena_format(arena, "%s is no machine file, and is left as it is", path);
    if (tree_takes_files(own))
        return arena_format(
            arena, "%s takes in other files, which no question reaches; use `proveout revise`",
            path);
    return try_saving(arena, path, SAVE_OLD);
}

static void open_draft(struct commission *commission)
{
    struct ask_setup *setup = &commission->setup;
    draft_file_init(&commission->draft, commission->run->arena, setup->path);
    setup->unkept = commission->draft.why != NULL;
    if (setup->unkept)
        trouble_say(commission->run->arena, "no draft can be kept: %s", commission->draft.why);
    setup->draft = draft_file_read(&commission->draft);
    if (!setup->draft.size || !commission->run->options.values[OPTION_ANSWERS].given)
        return;
    const char *name = draft_file_put_aside(&commission->draft);
    setup->draft.size = 0;
    if (name)
        trouble_say(commission->run->arena, "a draft of an earlier run was put aside as %s",
                    name);
}

static void set_up(struct commission *commission)
{
    struct run *run = commission->run;
    struct ask_setup *setup = &commission->setup;
    commission->beside.path = setup->path;
    commission->agreements = (struct file_reader){&commission->beside, beside_read};
    commission->rules = (struct check_options){
        .books = commission->books.list,
        .book_count = commission->books.count,
        .today = run_today(run),
        .policy = commission->books.policy,
        .agreements = setup->exists ? &commission->agreements : NULL,
    };
    setup->rules = &commission->rules;
    setup->layout = commission->lines.layout;
    setup->layout.show = SHOW_FAILED;
    setup->today = run_day(run);
    setup->host = (struct ask_host){commission, keep, aside, drop, save, NULL, NULL};
}

/* Running. */

/* How to go on, and what was not read. */
static void say_farewell(struct commission *commission)
{
    struct view says;
    struct run *run = commission->run;
    if (!commission->lines.from)
        lines_gap(&commission->lines);
    ask_farewell(commission->lines.ask, &says);
    lines_show(&commission->lines, says);
    output_flush(run->out);
    if (commission->lines.from)
        trouble_say(run->arena, "%s: the answers came to an end after line %zu",
                    commission->lines.from, commission->lines.number);
}

static enum exit_status break_off(struct commission *commission, enum line_result result)
{
    struct arena *arena = commission->run->arena;
    if (result == LINE_HANGUP)
        return EXIT_TROUBLE;
    if (result == LINE_UNSEEN)
        trouble_say(
            arena,
            "nobody can see the questions any more: nothing is written, and the answers so far are kept as a draft");
    else
        say_farewell(commission);
    if (commission->draft.why)
        trouble_say(arena, "the draft could not be kept: %s", commission->draft.why);
    return EXIT_TROUBLE;
}

/* One line, taken and answered.  False: the dialogue is over, with `*status`. */
static bool step(struct commission *commission, enum exit_status *status)
{
    enum ask_state state = ASK_GOES_ON;
    enum line_result result = lines_answer(&commission->lines, &state);
    if (result != LINE_READ && result != LINE_TOO_LONG) {
        *status = break_off(commission, result);
        return false;
    }
    *status = EXIT_CLEAN;
    if (state == ASK_STOPPED && commission->setup.unkept) {
        output_flush(commission->run->out);
        trouble_say(commission->run->arena, "the draft could not be kept: %s",
                    commission->draft.why);
        *status = EXIT_TROUBLE;
        return false;
    }
    if (commission->lines.from && ask_refused(commission->lines.ask)) {
        output_flush(commission->run->out);
        trouble_say(commission->run->arena,
                    "%s:%zu: this answer was refused, and the rest is not read",
                    commission->lines.from, commission->lines.number);
        *status = EXIT_TROUBLE;
        return false;
    }
    return state == ASK_GOES_ON;
}

enum exit_status command_commission(struct run *run)
{
    const struct options *options = &run->options;
    struct commission *commission = ARENA_NEW(run->arena, struct commission);
    enum exit_status status;
    struct view says;
    commission->run = run;
    if (options->arguments.count > 1)
        return run_refuse(run, "commission takes one machine file at a time");
    if (!shop_books_load(run, options->arguments.count ? options->arguments.items[0] : NULL,
                         &commission->books))
        return EXIT_TROUBLE;
    const char *wrong =
        options->arguments.count ? open_file(commission, options->arguments.items[0]) : NULL;
    if (wrong)
        return run_refuse(run, "%s", wrong);
    lines_init(&commission->lines, run);
    set_up(commission);
    open_draft(commission);
    const struct option_value *answers = &options->values[OPTION_ANSWERS];
    if (!lines_open(&commission->lines, answers->given ? answers->text : NULL))
        return EXIT_TROUBLE;
    if (!found_open(&commission->lines, commission->setup.path, &commission->found)) {
        lines_close(&commission->lines);
        return EXIT_TROUBLE;
    }
    commission->setup.found = commission->found.shown.items;
    commission->setup.found_count = commission->found.shown.count;
    commission->lines.ask = ask_begin(run->arena, &commission->setup, &says);
    lines_show(&commission->lines, says);
    while (step(commission, &status))
        ;
    if (status == EXIT_CLEAN)
        found_say_left(&commission->lines, &commission->found);
    lines_close(&commission->lines);
    return status;
}
