/* check FILE...: what is wrong in machine descriptions, one line each, as compilers write it.
 *
 *     cc check.c $(pkg-config --cflags --libs proveout)
 *
 * The status is that of `proveout check`: 0 no error was found, 1 some were, 2 a file could not
 * be checked, or not all of it.
 */
#include <proveout/check.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

/* The bytes of a file, to be freed; NULL where it cannot be read. */
static char *read_file(const char *path, size_t *size)
{
    FILE *file = fopen(path, "rb");
    size_t room = 4096;
    char *bytes = malloc(room);
    *size = 0;
    while (file && bytes) {
        *size += fread(bytes + *size, 1, room - *size, file);
        if (*size < room)
            break;
        char *more = realloc(bytes, room *= 2);
        if (!more)
            free(bytes);
        bytes = more;
    }
    int wrong = !file || !bytes || ferror(file);
    if (file)
        fclose(file);
    if (!wrong)
        return bytes;
    free(bytes);
    return NULL;
}

/* What `read_beside` needs to know, and what it has read. */
struct beside {
    const char *machine;
    char *bytes;
};

/* The controller's own file, which a machine file may name: only from beside it or below. */
static int read_beside(void *user, const char *path, const void **bytes, size_t *size,
                       const char **why)
{
    struct beside *beside = user;
    const char *slash = strrchr(beside->machine, '/');
    int folder = slash ? (int)(slash + 1 - beside->machine) : 0;
    size_t room = (size_t)folder + strlen(path) + 1;
    char *whole = malloc(room);
    if (path[0] == '/' || strstr(path, "..") || !whole) {
        *why = "only files beside this one or below it are read";
        free(whole);
        return 0;
    }
    snprintf(whole, room, "%.*s%s", folder, beside->machine, path);
    free(beside->bytes);
    *bytes = beside->bytes = read_file(whole, size);
    *why = "it is not there";
    free(whole);
    return beside->bytes != NULL;
}

/* A text for a terminal: what would steer it becomes a question mark. */
static void print(const char *text)
{
    for (; *text; text++)
        putchar((unsigned char)*text < ' ' || *text == 127 ? '?' : *text);
}

static void show(const char *path, const struct proveout_result *result)
{
    static const char *const levels[] = {"note", "warning", "error"};
    for (size_t i = 0; i < proveout_count(result); i++) {
        const struct proveout_finding *finding = proveout_finding(result, i);
        if (finding->outcome != PROVEOUT_FAILED || finding->implied_by)
            continue;
        print(path);
        if (finding->at.line)
            printf(":%u:%u", finding->at.line, finding->at.column);
        printf(": %s: ", levels[finding->level]);
        print(finding->message);
        printf(" [%s]\n", finding->rule);
    }
}

static int check(const char *path)
{
    struct beside beside = {path, NULL};
    struct proveout_options options = {0};
    size_t size;
    char *bytes = read_file(path, &size);
    if (!bytes) {
        fprintf(stderr, "%s cannot be read\n", path);
        return 2;
    }
    options.size = sizeof options;
    options.today = (int)(time(NULL) / 86400);
    options.read = read_beside;
    options.user = &beside;
    struct proveout_result *result = proveout_check(path, bytes, size, &options);
    free(bytes);
    free(beside.bytes);
    show(path, result);
    int status = proveout_status(result) != PROVEOUT_CHECKED ? 2
                 : proveout_findings(result, PROVEOUT_ERROR) ? 1
                                                             : 0;
    proveout_free(result);
    return status;
}

int main(int argc, char **argv)
{
    int worst = argc < 2 ? 2 : 0;
    for (int i = 1; i < argc; i++) {
        int status = check(argv[i]);
        worst = status > worst ? status : worst;
    }
    return fflush(stdout) ? 2 : worst;
}
