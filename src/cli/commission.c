/* `proveout commission`: asks, and writes a machine file.
 *
 * The dialogue itself is in ask/; here are the terminal, the drafts on the disk, and the file.
 */
#include <errno.h>
#include <fcntl.h>
#include <langinfo.h>
#include <libgen.h>
#include <locale.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "ask/dialogue.h"
#include "ask/line.h"
#include "cli/books.h"
#include "cli/draft_file.h"
#include "cli/input.h"
#include "cli/save.h"
#include "cli/surroundings.h"
#include "cli/trouble.h"
#include "cli/wake.h"
#include "text/escape.h"
#include "tree/tree.h"

enum { EDIT_WIDTH_MIN = 40, SHOWN = 60 };

/* One dialogue with its surroundings. */
struct commission {
    struct run *run;
    struct books books;
    struct beside beside;
    struct agreement_reader agreements;
    struct check_options rules;
    struct ask_setup setup;
    struct draft_file draft;
    struct line_reader *reader;
    struct ask *ask;
    const char *answers; /* what to call the input where nobody types; NULL: a terminal */
    size_t line;         /* of that */
    bool edits;
};

/* The dialogue's host. */

static void keep(void *user, struct view draft)
{
    struct commission *commission = user;
    draft_file_write(&commission->draft, draft);
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

static const char *save_new(struct arena *arena, const char *path, struct view bytes)
{
    struct stat about;
    struct output out;
    if (lstat(path, &about) == 0)
        return arena_format(arena, "%s is there already and is not written over",
                            escape_short(arena, view_of(path), SHOWN));
    const char *why = output_open(&out, arena, path);
    if (why)
        return why;
    output_write(&out, bytes);
    return output_finish(&out, arena);
}

static const char *save(void *user, struct arena *arena, const char *path, struct view bytes)
{
    struct commission *commission = user;
    const char *why = commission->setup.exists
                          ? save_over(arena, path, commission->setup.base, bytes)
                          : save_new(arena, path, bytes);
    wake_again(commission->edits); /* writing a file catches signals in its own way */
    return why;
}

static const char *const *words(void *user, struct arena *arena)
{
    struct commission *commission = user;
    struct ask_words list;
    ask_words(commission->ask, arena, &list);
    VECTOR_ADD(arena, &list.items, NULL);
    return list.items.items;
}

/* Setting up. */

/* Reads the file that is there, or makes sure that one can be.  False: said why not. */
static bool open_file(struct commission *commission, const char *path)
{
    struct run *run = commission->run;
    struct ask_setup *setup = &commission->setup;
    struct stat about;
    const struct input input = {.path = path};
    const char *why = NULL;
    if (strcmp(path, "-") == 0)
        return run_refuse(run, "commission writes a file and wants its name, not -") ==
               EXIT_CLEAN;
    setup->path = path;
    setup->exists = lstat(path, &about) == 0;
    if (!setup->exists) {
        const char *folder = dirname(arena_copy(run->arena, path, strlen(path)));
        if (access(folder, W_OK | X_OK) == 0)
            return true;
        return run_refuse(run, "%s cannot be written: %s", path,
                          errno == ENOENT ? "its folder is not there"
                                          : trouble_reason(run->arena, errno)) == EXIT_CLEAN;
    }
    if (input_read(&input, run->arena, &setup->base, &why) != INPUT_READ)
        return run_refuse(run, "%s cannot be read: %s", path, why) == EXIT_CLEAN;
    struct source source;
    struct finding_sink sink;
    struct tree tree;
    source_init(&source, run->arena, view_of(path), setup->base);
    sink_init(&sink, run->arena, &source);
    tree_read(&tree, run->arena, &source, &sink);
    if (tree.status != TREE_WHOLE || !tree_starts_machine(setup->base))
        return run_refuse(run, "%s is no machine file, and is left as it is", path) ==
               EXIT_CLEAN;
    return true;
}

/* May the line editor be used?  It needs a terminal that knows more than appending, and says
 * what it shows in UTF-8. */
static bool may_edit(const struct commission *commission)
{
    const char *terminal = getenv("TERM");
    if (commission->answers || !commission->run->out->is_terminal || !terminal || !*terminal ||
        strcmp(terminal, "dumb") == 0 || commission->setup.layout.width < EDIT_WIDTH_MIN)
        return false;
    return setlocale(LC_CTYPE, "") && strcmp(nl_langinfo(CODESET), "UTF-8") == 0;
}

/* What the answers come from.  False: said why not. */
static bool open_answers(struct commission *commission)
{
    const struct option_value *option = &commission->run->options.values[OPTION_ANSWERS];
    struct line_place place = {
        .in = STDIN_FILENO, .out = STDOUT_FILENO, .words = words, .user = commission};
    if (option->given) {
        commission->answers = option->text;
        place.in = open(option->text, O_RDONLY | O_CLOEXEC | O_NOCTTY);
        if (place.in < 0)
            return run_refuse(commission->run, "%s cannot be read: %s", option->text,
                              trouble_reason(commission->run->arena, errno)) == EXIT_CLEAN;
    } else if (!isatty(STDIN_FILENO)) {
        commission->answers = "<stdin>";
    }
    commission->edits = may_edit(commission);
    place.wake = wake_open(commission->edits);
    if (commission->edits)
        commission->reader = line_edit(commission->run->arena, &place);
    if (!commission->reader)
        commission->reader = line_plain(commission->run->arena, &place);
    return true;
}

static void open_draft(struct commission *commission)
{
    struct ask_setup *setup = &commission->setup;
    draft_file_init(&commission->draft, commission->run->arena, setup->path);
    if (commission->draft.why)
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
    double today = surroundings_today(run);
    commission->beside.path = setup->path;
    commission->agreements = (struct agreement_reader){&commission->beside, beside_read};
    commission->rules = (struct check_options){
        .books = commission->books.list,
        .book_count = commission->books.count,
        .today = today,
        .agreements = setup->exists ? &commission->agreements : NULL,
    };
    const struct field_value day = {.state = VALUE_GIVEN, .si = today};
    setup->rules = &commission->rules;
    setup->layout = surroundings_layout(run);
    setup->layout.show = SHOW_FAILED;
    setup->today = view_of(field_value_text(run->arena, FIELD_TABLE_MEASURED_ON, &day));
    setup->host = (struct ask_host){commission, keep, aside, drop, save};
}

/* Running. */

static void show(struct commission *commission, struct view text)
{
    struct buffer plain;
    buffer_init(&plain, commission->run->arena);
    if (!commission->setup.layout.unicode) {
        text_plain(&plain, text);
        text = buffer_view(&plain);
    }
    output_write(commission->run->out, text);
    output_flush(commission->run->out);
}

/* Where nobody types, what was taken is shown with the number of its line. */
static void echo(struct commission *commission, struct view line)
{
    struct buffer out;
    if (!commission->answers)
        return;
    buffer_init(&out, commission->run->arena);
    buffer_format(&out, "%s:%zu> ", commission->answers, commission->line);
    escape_terminal(&out, line);
    buffer_byte(&out, '\n');
    show(commission, buffer_view(&out));
}

static enum exit_status break_off(struct commission *commission, enum line_result result)
{
    struct view says;
    struct run *run = commission->run;
    if (result == LINE_HANGUP)
        return EXIT_TROUBLE;
    if (!commission->answers)
        show(commission, (struct view)VIEW_LITERAL("\n"));
    ask_farewell(commission->ask, &says);
    show(commission, says);
    if (commission->answers)
        trouble_say(run->arena, "%s: the answers came to an end after line %zu",
                    commission->answers, commission->line);
    if (commission->draft.why)
        trouble_say(run->arena, "the draft could not be kept: %s", commission->draft.why);
    return EXIT_TROUBLE;
}

/* One line, taken and answered.  False: the dialogue is over, with `*status`. */
static bool step(struct commission *commission, enum exit_status *status)
{
    struct view line, says;
    enum ask_state state = ASK_GOES_ON;
    enum line_result result = line_read(commission->reader, &line);
    if (result != LINE_READ && result != LINE_TOO_LONG) {
        *status = break_off(commission, result);
        return false;
    }
    commission->line++;
    if (result == LINE_TOO_LONG) {
        ask_too_long(commission->ask, &says);
    } else {
        echo(commission, line);
        state = ask_line(commission->ask, line, &says);
    }
    show(commission, says);
    *status = EXIT_CLEAN;
    if (commission->answers && ask_refused(commission->ask)) {
        trouble_say(commission->run->arena,
                    "%s:%zu: this answer was refused, and the rest is not read",
                    commission->answers, commission->line);
        *status = EXIT_TROUBLE;
        return false;
    }
    return state == ASK_GOES_ON && output_is_alive(commission->run->out);
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
    if (!books_load(run, &commission->books))
        return EXIT_TROUBLE;
    if (options->arguments.count && !open_file(commission, options->arguments.items[0]))
        return EXIT_TROUBLE;
    set_up(commission);
    open_draft(commission);
    if (!open_answers(commission))
        return EXIT_TROUBLE;
    commission->ask = ask_begin(run->arena, &commission->setup, &says);
    show(commission, says);
    while (step(commission, &status))
        ;
    line_close(commission->reader);
    ask_end(commission->ask);
    return status;
}
