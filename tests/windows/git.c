/* git.exe for Wine, which has none: hands its arguments to the git of this machine and passes on what
 * that says.  Wine starts programs of Linux, but tells nobody how they end: so a shell writes it down.
 *
 * Works in the folder that PROVEOUT_TEST_GIT names, as Linux has it. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <windows.h>

enum { ROOM = 32768, TRIES = 6000, PAUSE = 5 /* ms */ };

static char script[ROOM], place[MAX_PATH];

static void add(const char *text)
{
    strncat(script, text, ROOM - 1 - strlen(script));
}

/* In quotes of the shell, with the paths of Linux. */
static void add_quoted(const char *text)
{
    add("'");
    for (; *text; text++) {
        char one[2] = {*text, '\0'};
        add(*text == '\'' ? "'\\''" : one);
    }
    add("'");
}

static void add_wide(const wchar_t *wide)
{
    char text[ROOM];
    WideCharToMultiByte(CP_UTF8, 0, wide, -1, text, ROOM, NULL, NULL);
    add_quoted(text);
}

/* "Z:\a b" as "/a b". */
static void add_folder(void)
{
    wchar_t here[ROOM];
    GetCurrentDirectoryW(ROOM, here);
    for (wchar_t *at = here; *at; at++)
        *at = *at == L'\\' ? L'/' : *at;
    add_wide(here + 2);
}

static FILE *opened(const char *kind, const char *mode)
{
    char path[2 * MAX_PATH];
    snprintf(path, sizeof path, "Z:%s/%lu.%s", place, GetCurrentProcessId(), kind);
    return fopen(path, mode);
}

static void pass_on(const char *kind, HANDLE to)
{
    char piece[4096];
    size_t size;
    DWORD written;
    FILE *file = opened(kind, "rb");
    while (file && (size = fread(piece, 1, sizeof piece, file)) > 0)
        WriteFile(to, piece, (DWORD)size, &written, NULL);
    if (file)
        fclose(file);
}

static int started(void)
{
    char line[2 * MAX_PATH];
    STARTUPINFOA with = {.cb = sizeof with};
    PROCESS_INFORMATION process;
    snprintf(line, sizeof line, "sh %s/%lu.sh", place, GetCurrentProcessId());
    return CreateProcessA("Z:\\bin\\sh", line, NULL, NULL, FALSE, 0, NULL, NULL, &with, &process);
}

int wmain(int count, wchar_t **arguments)
{
    char start[2 * MAX_PATH];
    const char *named = getenv("PROVEOUT_TEST_GIT");
    snprintf(place, sizeof place, "%s", named ? named : "");
    add("cd ");
    add_folder();
    add("\nat=");
    add_quoted(place);
    snprintf(start, sizeof start, "/%lu", GetCurrentProcessId());
    add(start);
    add("\ngit");
    for (int i = 1; i < count; i++) {
        add(" ");
        add_wide(arguments[i]);
    }
    add(" </dev/null >\"$at.out\" 2>\"$at.err\"\necho $? >\"$at.new\"\nmv \"$at.new\" \"$at.end\"\n");
    snprintf(start, sizeof start, "Z:%s/%lu.end", place, GetCurrentProcessId());
    DeleteFileA(start); /* of an earlier one, whose number this has */
    FILE *file = opened("sh", "wb");
    if (!file || fwrite(script, 1, strlen(script), file) != strlen(script) || fclose(file) || !started())
        return 99;
    int status = 98;
    file = NULL;
    for (int i = 0; i < TRIES && !file; i++) {
        Sleep(PAUSE);
        file = opened("end", "rb");
    }
    if (!file || fscanf(file, "%d", &status) != 1)
        return 97;
    pass_on("out", GetStdHandle(STD_OUTPUT_HANDLE));
    pass_on("err", GetStdHandle(STD_ERROR_HANDLE));
    return status;
}
