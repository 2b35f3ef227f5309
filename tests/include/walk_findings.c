/* A program of somebody else's: checks a buffer with the library and walks the findings. */
#include <proveout/check.h>
#include <proveout/version.h>

#include <stdio.h>
#include <string.h>

/* How many findings of this rule failed, each printed. */
static int show(const struct proveout_result *result, const char *rule)
{
    int failed = 0;
    for (size_t i = 0; i < proveout_count(result); i++) {
        const struct proveout_finding *finding = proveout_finding(result, i);
        if (finding->outcome != PROVEOUT_FAILED || strcmp(finding->rule, rule) != 0)
            continue;
        failed++;
        printf("%u:%u-%u:%u %s: %s (margin %s)\n", finding->line, finding->column,
               finding->end_line, finding->end_column, finding->rule, finding->message,
               finding->margin_text ? finding->margin_text : "none");
    }
    return failed;
}

static int expect(int condition, const char *what)
{
    if (!condition)
        fprintf(stderr, "expected: %s\n", what);
    return !condition;
}

int main(int argc, char **argv)
{
    static char bytes[1 << 20];
    if (argc != 2)
        return 2;
    FILE *file = fopen(argv[1], "rb");
    if (!file)
        return 2;
    size_t size = fread(bytes, 1, sizeof bytes, file);
    fclose(file);

    int wrong = expect(strcmp(proveout_version(), PROVEOUT_VERSION) == 0, "one version");
    struct proveout_options options = {1};
    struct proveout_result *result = proveout_check(argv[1], bytes, size, &options);
    memset(bytes, 'x', sizeof bytes); /* the result must not look at them any more */
    wrong += expect(result != NULL, "a result");
    wrong += expect(proveout_status(result) == PROVEOUT_CHECKED, "a file that was read");
    wrong += expect(proveout_findings(result, PROVEOUT_ERROR) == 1, "one error");
    wrong += expect(show(result, "dwell-stop-short") == 1, "the wait is found too short");
    wrong += expect(proveout_finding(result, proveout_count(result)) == NULL, "an end");
    proveout_free(result);

    result = proveout_check("nothing", "", 0, NULL);
    wrong += expect(proveout_status(result) == PROVEOUT_UNREADABLE, "an empty file is not read");
    proveout_free(result);
    proveout_free(NULL);
    return wrong != 0;
}
