/* The one place that asks about the terminal, the environment, the clock and the processors. */
#include "cli/surroundings.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/ioctl.h>
#include <time.h>
#include <unistd.h>

#include "rules/check.h"

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
    const char *terminal = getenv("TERM");
    return run->out->is_terminal && !is_set("NO_COLOR") && terminal && *terminal &&
           strcmp(terminal, "dumb") != 0;
}

/* A file or pipe gets UTF-8 always; only a terminal may not take it. */
static bool takes_unicode(const struct run *run)
{
    static const char *const names[] = {"LC_ALL", "LC_CTYPE", "LANG"};
    if (!run->out->is_terminal)
        return true;
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        if (!is_set(names[i]))
            continue;
        const char *set = strchr(getenv(names[i]), '.');
        return set && (strncasecmp(set, ".UTF-8", 6) == 0 || strncasecmp(set, ".UTF8", 5) == 0);
    }
    return false;
}

static size_t width_of(const struct run *run)
{
    if (!run->out->is_terminal)
        return USUAL_WIDTH;
    struct winsize size;
    if (ioctl(run->out->file, TIOCGWINSZ, &size) == 0 && size.ws_col > 0)
        return size.ws_col;
    const char *columns = getenv("COLUMNS");
    long width = columns ? strtol(columns, NULL, 10) : 0;
    return width > 0 && width < 10000 ? (size_t)width : USUAL_WIDTH;
}

struct report_options surroundings_layout(const struct run *run)
{
    const struct option_value *values = run->options.values;
    return (struct report_options){
        .width = width_of(run),
        .color = takes_color(run),
        .unicode = takes_unicode(run),
        .quiet = values[OPTION_QUIET].given,
        .show = (int)values[OPTION_SHOW].choice,
    };
}

double surroundings_today(const struct run *run)
{
    const struct option_value *given = &run->options.values[OPTION_TODAY];
    if (given->given)
        return given->date;
    time_t now = time(NULL);
    struct tm local;
    char text[16];
    double today = 0;
    if (!localtime_r(&now, &local) || !strftime(text, sizeof text, "%Y-%m-%d", &local) ||
        !option_date(run->arena, text, &today))
        return (double)now;
    return today;
}

struct view surroundings_day(const struct run *run)
{
    const struct field_value day = {.state = VALUE_GIVEN, .si = surroundings_today(run)};
    return view_of(field_value_text(run->arena, FIELD_TABLE_MEASURED_ON, &day));
}

size_t surroundings_jobs(const struct run *run)
{
    const struct option_value *given = &run->options.values[OPTION_JOBS];
    if (given->given)
        return given->count;
    long processors = sysconf(_SC_NPROCESSORS_ONLN);
    if (processors < 1)
        return 1;
    return processors > USUAL_JOBS_MAX ? USUAL_JOBS_MAX : (size_t)processors;
}
