#include <langinfo.h>
#include <locale.h>
#include <stdlib.h>
#include <strings.h>
#include <sys/ioctl.h>
#include <time.h>
#include <unistd.h>

#include "platform/internal.h"

bool terminal_is(int file)
{
    return isatty(file) == 1;
}

size_t terminal_width(int file)
{
    struct winsize size;
    return ioctl(file, TIOCGWINSZ, &size) == 0 ? size.ws_col : 0;
}

/* Does it know more than appending? */
static bool moves(void)
{
    const char *terminal = getenv("TERM");
    return terminal && *terminal && strcmp(terminal, "dumb") != 0;
}

bool terminal_takes_color(int file)
{
    return terminal_is(file) && moves();
}

bool terminal_takes_unicode(int file)
{
    static const char *const names[] = {"LC_ALL", "LC_CTYPE", "LANG"};
    if (!terminal_is(file))
        return false;
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        const char *value = getenv(names[i]);
        if (!value || !*value)
            continue;
        const char *set = strchr(value, '.');
        return set && (strncasecmp(set, ".UTF-8", 6) == 0 || strncasecmp(set, ".UTF8", 5) == 0);
    }
    return false;
}

bool terminal_edits(int in, int out)
{
    if (!terminal_is(in) || !terminal_is(out) || !moves())
        return false;
    return setlocale(LC_CTYPE, "") && strcmp(nl_langinfo(CODESET), "UTF-8") == 0;
}

double clock_steady(void)
{
    struct timespec time;
    if (clock_gettime(CLOCK_MONOTONIC, &time) != 0)
        return 0;
    return (double)time.tv_sec + (double)time.tv_nsec / 1e9;
}

bool clock_day(char out[16])
{
    time_t now = time(NULL);
    struct tm local;
    return localtime_r(&now, &local) && strftime(out, 16, "%Y-%m-%d", &local);
}

size_t processors(void)
{
    long count = sysconf(_SC_NPROCESSORS_ONLN);
    return count < 1 ? 1 : (size_t)count;
}
