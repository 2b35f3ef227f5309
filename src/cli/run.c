/* What all commands do alike: laying output out, reading the machine file, reporting, refusing.
 * The one place that asks about the terminal, the clock and the processors.
 */
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "cli/command.h"
#include "cli/input.h"
#include "finding/sink.h"
#include "rules/check.h"
#include "rules/own.h"

enum {
    USUAL_WIDTH = 80,
    USUAL_JOBS_MAX = 8,
};

/* Order of the words of --color in options.inc. */
enum { COLOR_AUTO, COLOR_ALWAYS, COLOR_NEVER };

static bool is_set(const char *name)
{
    const char *value = getenv(name);
    return value && *value;
}

/* The option decides, then NO_COLOR, then what the terminal is called. */
static bool takes_color(const struct run *run)
{
    size_t choice = run->options.values[OPTION_COLOR].choice;
    if (choice != COLOR_AUTO)
        return choice == COLOR_ALWAYS;
    return run->out->is_terminal && !is_set("NO_COLOR") && terminal_takes_color(run->out->file);
}

/* A file or pipe gets UTF-8 always; only a terminal may not take it. */
static bool takes_unicode(const struct run *run)
{
    return !run->out->is_terminal || terminal_takes_unicode(run->out->file);
}

static size_t width_of(const struct run *run)
{
    if (!run->out->is_terminal)
        return USUAL_WIDTH;
    size_t cells = terminal_width(run->out->file);
    if (cells)
        return cells;
    const char *columns = getenv("COLUMNS");
    long width = columns ? strtol(columns, NULL, 10) : 0;
    return width > 0 && width < 10000 ? (size_t)width : USUAL_WIDTH;
}

/* In the order of the words of --stop-at. */
static const enum finding_level levels[] = {LEVEL_ERROR, LEVEL_WARNING, LEVEL_NOTE};

struct report_options run_layout(const struct run *run)
{
    const struct option_value *values = run->options.values;
    struct view day = run_day(run);
    return (struct report_options){
        .width = width_of(run),
        .color = takes_color(run),
        .unicode = takes_unicode(run),
        .quiet = values[OPTION_QUIET].given,
        .show = (int)values[OPTION_SHOW].choice,
        .at_terminal = run->out->is_terminal,
        .arithmetic_full = values[OPTION_ARITHMETIC].choice == 1,
        .stop_at = levels[values[OPTION_STOP_AT].choice],
        .day = arena_copy(run->arena, day.data, day.size),
        .folder = path_here(run->arena),
    };
}

bool run_date(struct arena *arena, const char *text, double *seconds)
{
    struct field_value value;
    if (field_read_text(arena, FIELD_MACHINE_LAST_WORKED_ON, view_of(text), &value))
        return false;
    *seconds = value.si;
    return true;
}

double run_today(const struct run *run)
{
    const struct option_value *given = &run->options.values[OPTION_TODAY];
    if (given->given)
        return given->date;
    char text[16];
    double today = 0;
    return clock_day(text) && run_date(run->arena, text, &today) ? today : (double)time(NULL);
}

struct view run_day(const struct run *run)
{
    const struct field_value day = {.state = VALUE_GIVEN, .si = run_today(run)};
    return view_of(field_value_text(run->arena, FIELD_TABLE_MEASURED_ON, &day));
}

size_t run_jobs(const struct run *run)
{
    const struct option_value *given = &run->options.values[OPTION_JOBS];
    if (given->given)
        return given->count;
    size_t count = processors();
    return count > USUAL_JOBS_MAX ? USUAL_JOBS_MAX : count;
}

const struct report_output *run_output(const struct run *run)
{
    return report_output(run->options.command->writes,
                         run->options.values[OPTION_FORMAT].choice);
}

void run_report(struct run *run, const struct report *report)
{
    const struct report_options layout = run_layout(run);
    struct buffer out;
    buffer_init(&out, run->arena);
    report_file(run_output(run), &layout, report, &out);
    output_write(run->out, buffer_view(&out));
}

bool run_told_mistakes(struct run *run, const struct machine_file *file)
{
    size_t errors = machine_file_errors(file);
    if (!errors)
        return false;
    output_flush(run->out);
    trouble_say(run->arena,
                "%s has %zu mistake%s in it; what is mistaken counts as not given here, and "
                "`proveout check` tells where",
                file->path, errors, errors == 1 ? "" : "s");
    return true;
}

enum finding_level run_stop_at(const struct run *run, const struct policy *policy)
{
    const struct option_value *given = &run->options.values[OPTION_STOP_AT];
    return policy && policy->has_stop_at && !given->given ? policy->stop_at
                                                          : levels[given->choice];
}

enum exit_status run_status_from(enum finding_level stop_at, const struct file_report *report)
{
    if (!file_report_is_whole(report))
        return EXIT_TROUBLE;
    for (int level = (int)stop_at; level < LEVEL_COUNT; level++)
        if (report->findings_by_level[level])
            return EXIT_FINDINGS;
    return EXIT_CLEAN;
}

enum exit_status run_status(const struct run *run, const struct policy *policy,
                            const struct file_report *report)
{
    return run_status_from(run_stop_at(run, policy), report);
}

enum exit_status run_refuse(struct run *run, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    struct buffer text;
    buffer_init(&text, run->arena);
    trouble_collect(&text, format, arguments);
    va_end(arguments);
    trouble_write(buffer_view(&text));
    output_discard(run->out);
    return EXIT_TROUBLE;
}

bool run_open_machine(struct run *run, const char *path, struct machine_file *out)
{
    const struct option_value *name = &run->options.values[OPTION_NAME];
    struct input input = {.path = path, .standard = strcmp(path, "-") == 0};
    if (input.standard)
        input.path = name->given ? name->text : "<stdin>";
    struct view bytes;
    const char *why;
    if (name->given && !input.standard) {
        run_refuse(run, "--name is a name for standard input, and - is not the file");
        return false;
    }
    if (input_read(&input, run->arena, &bytes, &why) != INPUT_READ) {
        run_refuse(run, "%s cannot be read: %s", input.path, why);
        return false;
    }
    struct shelf *shelf = ARENA_NEW(run->arena, struct shelf);
    shelf_set(shelf, run->arena, &input, run->options.values[OPTION_ROOT].text);
    machine_file_read(run->arena, input.path, bytes, &shelf->files, out);
    return true;
}

bool run_want_whole(struct run *run, const struct machine_file *file)
{
    if (file->tree.status == TREE_WHOLE)
        return true;
    run_refuse(run,
               file->tree.lacks_parts
                   ? "%s takes in what could not be read; `proveout check` tells where"
                   : "%s has a mistake of form; `proveout check` tells where",
               file->path);
    return false;
}

bool run_read_machine(struct run *run, const char *path, struct machine_file *out)
{
    return run_open_machine(run, path, out) && run_want_whole(run, out);
}
