/* A program of somebody else's: writes what the library says of a file, one question at a time.
 *
 *     answers report|windows|propose|wished|dryrun|draw|front|sheet FORMAT FILE TODAY
 *     answers revise|compare FIELD=VALUE FILE TODAY
 *     answers explain NAME FILE TODAY
 *     answers fields ANY FILE TODAY
 *     answers schema KIND|'' FILE TODAY
 *
 * The controller's own file is looked for beside the machine file.  The status is 0 where there
 * is a whole text, else 2, with the reason on standard error.
 */
#include <proveout/text.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A file, kept until the program ends. */
static int read_file(const char *path, const void **bytes, size_t *size)
{
    static char rooms[64][1 << 20];
    static int used;
    FILE *file = used < 64 ? fopen(path, "rb") : NULL;
    if (!file)
        return 0;
    *size = fread(rooms[used], 1, sizeof rooms[used], file);
    *bytes = rooms[used++];
    fclose(file);
    return 1;
}

static int read_beside(void *user, const char *path, const void **bytes, size_t *size,
                       const char **why)
{
    static char whole[4096];
    const char *machine = user, *slash = strrchr(machine, '/');
    int folder = slash ? (int)(slash + 1 - machine) : 0;
    snprintf(whole, sizeof whole, "%.*s%s", folder, machine, path);
    *why = "No such file or directory";
    return read_file(whole, bytes, size);
}

static struct proveout_text *answer(char **argv, const void *bytes, size_t size,
                                    const struct proveout_options *options)
{
    const char *question = argv[1], *path = argv[3];
    if (strcmp(question, "report") == 0)
        return proveout_report(path, bytes, size, options);
    if (strcmp(question, "windows") == 0)
        return proveout_windows(path, bytes, size, NULL, 0, options);
    if (strcmp(question, "propose") == 0)
        return proveout_propose(path, bytes, size, NULL, 0, options);
    if (strcmp(question, "wished") == 0) {
        static const char *const keep[] = {"change.retract"};
        static const char *const least[] = {"change.probe_stroke", "change.traverse_z"};
        struct proveout_wishes wishes = {0};
        wishes.size = sizeof wishes;
        wishes.keep = keep;
        wishes.keep_count = 1;
        wishes.least = least;
        wishes.least_count = 2;
        wishes.fastest = 1;
        return proveout_propose_wished(path, bytes, size, &wishes, options);
    }
    if (strcmp(question, "dryrun") == 0)
        return proveout_dryrun(path, bytes, size, NULL, options);
    if (strcmp(question, "draw") == 0)
        return proveout_draw(path, bytes, size, NULL, options);
    if (strcmp(question, "front") == 0) {
        struct proveout_drawing drawing = {0};
        drawing.size = sizeof drawing;
        drawing.side = 1;
        return proveout_draw(path, bytes, size, &drawing, options);
    }
    if (strcmp(question, "sheet") == 0)
        return proveout_sheet(path, bytes, size, NULL, options);
    if (strcmp(question, "explain") == 0)
        return proveout_explain(argv[2], NULL);
    if (strcmp(question, "fields") == 0)
        return proveout_fields();
    if (strcmp(question, "schema") == 0)
        return *argv[2] ? proveout_schema_of(argv[2]) : proveout_schema();
    char *equals = strchr(argv[2], '=');
    if (!equals)
        return NULL;
    *equals = '\0';
    struct proveout_setting setting = {argv[2], equals + 1};
    struct proveout_text *revised = proveout_revise(path, bytes, size, &setting, 1);
    if (strcmp(question, "compare") != 0)
        return revised;
    struct proveout_text *compared =
        proveout_compare(path, bytes, size, proveout_text_data(revised),
                         proveout_text_length(revised), NULL);
    proveout_text_free(revised);
    return compared;
}

int main(int argc, char **argv)
{
    const void *bytes;
    size_t size;
    if (argc != 5 || !read_file(argv[3], &bytes, &size))
        return 3;
    struct proveout_options options = {0};
    options.size = sizeof options;
    options.today = atoi(argv[4]);
    options.format = argv[2];
    options.read = read_beside;
    options.user = argv[3];
    struct proveout_text *text = answer(argv, bytes, size, &options);
    const char *trouble = proveout_text_trouble(text);
    if (proveout_text_ends(text))
        fwrite(proveout_text_data(text), 1, proveout_text_length(text), stdout);
    else
        fprintf(stderr, "%s\n", trouble ? trouble : "no memory");
    int status = proveout_text_ends(text) ? 0 : 2;
    proveout_text_free(text);
    return status;
}
