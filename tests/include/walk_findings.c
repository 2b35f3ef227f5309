/* A program of somebody else's: checks a buffer with the library and walks the findings. */
#include <proveout/text.h>
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
        printf("%u:%u-%u:%u %s: %s (margin %s)\n", finding->at.line, finding->at.column,
               finding->at.end_line, finding->at.end_column, finding->rule, finding->message,
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

/* NULL may be asked about everything. */
static int expect_nothing_of_null(void)
{
    int wrong = expect(proveout_status(NULL) == PROVEOUT_UNREADABLE, "NULL is not read");
    wrong += expect(!proveout_count(NULL) && !proveout_findings(NULL, PROVEOUT_ERROR) &&
                        !proveout_finding(NULL, 0) && !proveout_trouble(NULL),
                    "NULL holds no findings");
    wrong += expect(proveout_text_status(NULL) == PROVEOUT_UNREADABLE &&
                        !proveout_text_data(NULL) && !proveout_text_length(NULL) &&
                        !proveout_text_ends(NULL) && !proveout_text_trouble(NULL),
                    "NULL is no text");
    proveout_free(NULL);
    proveout_text_free(NULL);
    struct proveout_text *nothing = proveout_explain(NULL, NULL);
    wrong += expect(proveout_text_status(nothing) == PROVEOUT_REFUSED &&
                        proveout_text_trouble(nothing) && !proveout_text_length(nothing),
                    "nothing is explained of NULL");
    proveout_text_free(nothing);
    struct proveout_result *result = proveout_check(NULL, NULL, 7, NULL);
    wrong += expect(proveout_status(result) == PROVEOUT_UNREADABLE, "no bytes are not read");
    proveout_free(result);
    return wrong;
}

static const void *book;

static int read_book(void *user, const char *path, const void **bytes, size_t *size,
                     const char **why)
{
    *why = "it is not there";
    *bytes = book;
    *size = book ? strlen(book) : 0;
    return strcmp(path, user) == 0 && book;
}

static int refused(const struct proveout_options *options, const char *why)
{
    struct proveout_result *result = proveout_check("m", "proveout: 1\n", 12, options);
    const char *trouble = proveout_trouble(result);
    int wrong = expect(proveout_status(result) == PROVEOUT_REFUSED && trouble &&
                           strstr(trouble, why) && !proveout_count(result),
                       why);
    proveout_free(result);
    return wrong;
}

static int expect_refusals(void)
{
    struct {
        struct proveout_options options;
        int newer;
    } larger = {{sizeof larger, 0, 0, NULL, NULL, NULL, 0, NULL, 0, NULL, NULL}, 0};
    struct proveout_options options = {0};
    int wrong = refused(&options, "no size");
    struct proveout_options before = {0}; /* as who was built without its last member has it */
    before.size = offsetof(struct proveout_options, quick);
    struct proveout_result *result = proveout_check("m", "proveout: 1\n", 12, &before);
    wrong += expect(proveout_status(result) == PROVEOUT_CHECKED, "options of an earlier library");
    proveout_free(result);
    larger.newer = 1;
    wrong += refused(&larger.options, "members that this library does not know");
    const char *names[] = {"shop.yaml"};
    options.size = sizeof options;
    options.books = names;
    options.book_count = 1;
    wrong +=
        refused(&options, "rulebook shop.yaml cannot be read: no other file is given here");
    options.read = read_book;
    options.user = (void *)names[0];
    wrong += refused(&options, "rulebook shop.yaml cannot be read: it is not there");
    book = "rulebook: 1\ntitle: T\nrules:\n  x: 5\n";
    wrong += refused(&options, "shop.yaml:4:");
    options.book_count = 0;
    options.format = "parchment";
    struct proveout_text *text = proveout_report("m", "proveout: 1\n", 12, &options);
    wrong +=
        expect(proveout_text_status(text) == PROVEOUT_REFUSED && !proveout_text_ends(text) &&
                   proveout_text_data(text) && proveout_text_trouble(text),
               "there is no such format");
    proveout_text_free(text);
    return wrong;
}

/* A file that is not given is not passed over in silence. */
static int expect_agreements_told(void)
{
    static const char machine[] =
        "proveout: 1\nchange:\n  standoff: 12 mm\nagrees_with:\n"
        "  - {field: change.standoff, file: a.ini, pattern: '(?<value>.)'}\n";
    struct proveout_result *result = proveout_check("m", machine, sizeof machine - 1, NULL);
    int told = 0;
    for (size_t i = 0; i < proveout_count(result); i++)
        told += strcmp(proveout_finding(result, i)->rule, "agreement-unmatched") == 0;
    proveout_free(result);
    return expect(told == 1, "an agreement that cannot be looked at");
}

static int read_frame(void *user, const char *path, const void **bytes, size_t *size,
                      const char **why)
{
    static const char frame[] = "proveout: 1\nchange:\n  standoff: 12\n";
    (void)user;
    *why = "it is not there";
    *bytes = frame;
    *size = sizeof frame - 1;
    return strcmp(path, "parts/frame.yaml") == 0;
}

/* Files that a machine takes in come from the caller, by their path from its folder, and what
 * stands in them is found there. */
static int expect_files_taken_in(void)
{
    static const char machine[] = "proveout: 1\nextends: ./parts/../parts/frame.yaml\n";
    int wrong = 0;
    for (int given = 0; given < 2; given++) {
        struct proveout_options options = {0};
        options.size = sizeof options;
        options.read = given ? read_frame : NULL;
        struct proveout_result *result =
            proveout_check("shop/m", machine, sizeof machine - 1, &options);
        int told = 0, found = 0;
        for (size_t i = 0; i < proveout_count(result); i++) {
            const struct proveout_finding *finding = proveout_finding(result, i);
            told += strcmp(finding->rule, "shared-file-unreadable") == 0;
            found += strcmp(finding->rule, "unit-missing") == 0 && finding->at.line == 3 &&
                     strcmp(finding->at.path, "shop/parts/frame.yaml") == 0;
        }
        wrong += expect(told == !given && found == given, "a file taken in");
        wrong +=
            expect(proveout_status(result) == (given ? PROVEOUT_CHECKED : PROVEOUT_PARTIAL),
                   "without it the machine is not whole");
        proveout_free(result);
    }
    return wrong;
}

/* A waiver with a last day holds on that day, not after it, and not where no day is given. */
static int expect_waivers_by_day(void)
{
    static const char machine[] = "proveout: 1\nwaivers:\n  - rule: dwell-stop-short\n"
                                  "    reason: tried\n    until: 1970-01-11\n";
    static const struct {
        int today;
        int expired;
    } days[] = {{0, 1}, {10, 0}, {11, 1}, {20000, 1}};
    int wrong = 0;
    for (size_t d = 0; d < sizeof days / sizeof *days; d++) {
        struct proveout_options options = {0};
        options.size = sizeof options;
        options.today = days[d].today;
        struct proveout_result *result =
            proveout_check("m", machine, sizeof machine - 1, &options);
        int expired = 0;
        for (size_t i = 0; i < proveout_count(result); i++)
            expired += strcmp(proveout_finding(result, i)->rule, "waiver-expired") == 0;
        wrong += expect(expired == days[d].expired, "a waiver ends after its last day");
        proveout_free(result);
    }
    return wrong;
}

/* The fingerprints of unit-missing in a list of cutters, one after another. */
static size_t fingerprints(const char *machine, char out[4][17])
{
    struct proveout_result *result = proveout_check("m", machine, strlen(machine), NULL);
    size_t count = 0;
    for (size_t i = 0; i < proveout_count(result); i++) {
        const struct proveout_finding *finding = proveout_finding(result, i);
        if (strcmp(finding->rule, "unit-missing") == 0 && count < 4 && finding->fingerprint)
            memcpy(out[count++], finding->fingerprint, 17);
    }
    proveout_free(result);
    return count;
}

static int expect_a_name_for_what_moves(void)
{
    char before[4][17], after[4][17];
    size_t two = fingerprints("proveout: 1\ncutters:\n  - {number: 3, stickout: 30}\n"
                              "  - {number: 7, stickout: 31}\n",
                              before);
    size_t moved = fingerprints("proveout: 1\n# moved\ncutters:\n  - {number: 5}\n"
                                "  - {number: 7, stickout: 32}\n  - {number: 3, stickout: 3}\n",
                                after);
    int wrong = expect(two == 2 && moved == 2, "two numbers without a unit");
    wrong += expect(strcmp(before[0], before[1]) != 0, "each has a fingerprint of its own");
    wrong += expect(strcmp(before[0], after[1]) == 0 && strcmp(before[1], after[0]) == 0,
                    "a cutter that moved in the list keeps its own");
    return wrong;
}

/* Applying the fix of a slip of the keyboard gives a file without it. */
static int expect_a_fix(void)
{
    static const char machine[] = "proveout: 1\n# \xc3\xa9\nchange:\n  standof: 12 mn\n";
    static const char *const mended[] = {"standoff"};
    struct proveout_result *result = proveout_check("m", machine, sizeof machine - 1, NULL);
    int wrong = 0;
    size_t found = 0;
    for (size_t i = 0; i < proveout_count(result); i++) {
        const struct proveout_finding *finding = proveout_finding(result, i);
        for (size_t f = 0; f < finding->fix_count; f++, found++) {
            const struct proveout_fix *fix = &finding->fixes[f];
            wrong += expect(found < 1 && strcmp(fix->text, mended[found]) == 0, "a fix");
            wrong += expect(strncmp(machine + fix->offset, "standof:", fix->length + 1) == 0,
                            "at the bytes of the key");
        }
    }
    wrong += expect(found == 1, "one fix for the key; its value is not looked at");
    proveout_free(result);
    return wrong;
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
    struct proveout_options options = {sizeof options, 1, 0, NULL, NULL, NULL, 0, NULL, 0, NULL, NULL};
    struct proveout_result *result = proveout_check(argv[1], bytes, size, &options);
    memset(bytes, 'x', sizeof bytes); /* the result must not look at them any more */
    wrong += expect(result != NULL, "a result");
    wrong += expect(proveout_status(result) == PROVEOUT_CHECKED, "a file that was read");
    wrong += expect(proveout_findings(result, PROVEOUT_ERROR) == 1, "one error");
    wrong += expect(show(result, "dwell-stop-short") == 1, "the wait is found too short");
    wrong += expect(proveout_finding(result, proveout_count(result)) == NULL, "an end");
    proveout_free(result);

    result = proveout_check("nothing", "", 0, NULL);
    wrong +=
        expect(proveout_status(result) == PROVEOUT_UNREADABLE, "an empty file is not read");
    proveout_free(result);
    wrong += expect_nothing_of_null();
    wrong += expect_refusals();
    wrong += expect_agreements_told();
    wrong += expect_files_taken_in();
    wrong += expect_waivers_by_day();
    wrong += expect_a_name_for_what_moves();
    wrong += expect_a_fix();
    return wrong != 0;
}
