/* The whole program on any bytes: main is called as a shell would, in an empty folder, again
 * and again.  What is tried is said by PROVEOUT_TARGET, a row of `targets` below; the input is
 * cut into its files at lines of `=====`.
 *
 * Beyond not crashing and not leaking: the status is one of three and the same for every
 * output, text holds nothing that a terminal obeys, JSON is whole, the same question has the
 * same answer, and what a command says holds when another is asked.
 */
#define _GNU_SOURCE
#include <dirent.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/view.h"
#include "text/utf8.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
int LLVMFuzzerInitialize(int *argc, char ***argv);
int program_main(int argc, char **argv); /* main of src/cli, renamed when it is compiled */

enum { PARTS = 3, ARGUMENTS = 16 };

#define TODAY   "--today=2026-06-01"
#define MACHINE "shed.yaml"

/* Where complaints go while the program has standard error: set once. */
static int complaints = 2;

#define REQUIRE(truth)                                                                         \
    do {                                                                                       \
        if (!(truth)) {                                                                        \
            dprintf(complaints, "%s:%d: does not hold: %s\n", __FILE__, __LINE__, #truth);     \
            abort();                                                                           \
        }                                                                                      \
    } while (0)

/* What is read back. */
struct text {
    char *data; /* malloc; terminated */
    size_t size;
};

static struct text take(int file)
{
    off_t size = lseek(file, 0, SEEK_END);
    REQUIRE(size >= 0);
    struct text out = {malloc((size_t)size + 1), (size_t)size};
    REQUIRE(out.data && pread(file, out.data, out.size, 0) == (ssize_t)size);
    out.data[out.size] = '\0';
    return out;
}

static bool is_same(struct text a, struct text b)
{
    return a.size == b.size && (!a.size || memcmp(a.data, b.data, a.size) == 0);
}

/* Files. */

static void put(const char *name, struct view bytes)
{
    int file = open(name, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    REQUIRE(file >= 0 && write(file, bytes.data, bytes.size) == (ssize_t)bytes.size);
    close(file);
}

/* No data: there is no such file. */
static struct text get(const char *name)
{
    int file = open(name, O_RDONLY);
    if (file < 0)
        return (struct text){0};
    struct text out = take(file);
    close(file);
    return out;
}

/* Takes away all files of a folder; returns how many there were. */
static size_t clear(const char *path)
{
    DIR *folder = opendir(path);
    size_t count = 0;
    for (struct dirent *entry; folder && (entry = readdir(folder));)
        if (*entry->d_name != '.')
            count += unlinkat(dirfd(folder), entry->d_name, 0) == 0;
    if (folder)
        closedir(folder);
    return count;
}

/* Running. */

struct ran {
    int status;
    struct text out, errors;
};

/* Standard streams of the program: what it writes is in memory. */
static int streams[3];

static void drop(struct ran *ran)
{
    free(ran->out.data);
    free(ran->errors.data);
}

/* Is there nothing in it that a terminal obeys, or that shows text in another order? */
static bool is_plain(struct text text)
{
    struct view rest = {text.data, text.size};
    while (rest.size) {
        uint32_t point;
        size_t size = utf8_read(rest, &point);
        if (!size || (point < 0x20 && point != '\n') || (point >= 0x7f && point < 0xa0) ||
            point == 0x061c || point == 0x200e || point == 0x200f ||
            (point >= 0x2028 && point <= 0x202e) || (point >= 0x2066 && point <= 0x2069))
            return false;
        rest = view_skip(rest, size);
    }
    return true;
}

static struct ran run(const char *const *arguments, struct view standard_input)
{
    char *list[ARGUMENTS + 1] = {strdup("proveout")};
    int count = 1;
    for (; arguments[count - 1]; count++)
        list[count] = strdup(arguments[count - 1]);
    for (int i = 0; i < 3; i++) {
        REQUIRE(ftruncate(streams[i], 0) == 0 && lseek(streams[i], 0, SEEK_SET) == 0);
        REQUIRE(dup2(streams[i], i) == i);
    }
    REQUIRE(write(0, standard_input.data, standard_input.size) ==
                (ssize_t)standard_input.size &&
            lseek(0, 0, SEEK_SET) == 0);
    struct ran ran = {.status = program_main(count, list)};
    ran.out = take(streams[1]);
    ran.errors = take(streams[2]);
    for (int i = 0; i < count; i++)
        free(list[i]);
    REQUIRE(ran.status >= 0 && ran.status <= 2);
    REQUIRE(is_plain(ran.errors));
    return ran;
}

#define RUN(...) run((const char *const[]){__VA_ARGS__, NULL}, (struct view){"", 0})

/* JSON. */

static const char *skip_json_text(const char *at)
{
    for (at++; *at && *at != '"'; at++) {
        if (*at == '\\')
            at++;
        if ((unsigned char)*at < 0x20)
            return NULL;
    }
    return *at ? at + 1 : NULL;
}

/* Texts end, brackets pair, and between them stands nothing but words, numbers and signs. */
static bool is_json(struct text text)
{
    char open[64];
    size_t depth = 0;
    const char *at = text.data;
    if (strlen(text.data) != text.size || *at != '{' || !is_plain(text))
        return false;
    while (*at) {
        if (*at == '"') {
            at = skip_json_text(at);
            if (!at)
                return false;
            continue;
        }
        if (*at == '{' || *at == '[') {
            if (depth == sizeof open)
                return false;
            open[depth++] = *at == '{' ? '}' : ']';
        } else if (*at == '}' || *at == ']') {
            if (!depth || open[--depth] != *at)
                return false;
            if (!depth)
                return strcmp(at, "}\n") == 0;
        } else if (!strchr(" \n,:+-.0123456789eEtrufalsn", *at)) {
            return false;
        }
        at++;
    }
    return false;
}

/* The whole number behind the last `"name": `; quotes within texts are escaped, so that only
 * names look so. */
static long number_of(struct text json, const char *name)
{
    const char *found = NULL;
    char wanted[64];
    (void)snprintf(wanted, sizeof wanted, "\"%s\": ", name);
    for (const char *at = strstr(json.data, wanted); at; at = strstr(at + 1, wanted))
        found = at;
    REQUIRE(found);
    return strtol(found + strlen(wanted), NULL, 10);
}

/* The targets. */

static char drafts[512]; /* the folder where the program keeps them */

struct input {
    struct view parts[PARTS];
    uint32_t sum; /* of all bytes: chooses where there is a choice */
};

/* As JSON and as text: one status, that of what is counted, which it returns. */
static int look_at_check(void)
{
    struct ran json = RUN("check", TODAY, "--format=json", MACHINE);
    struct ran text = RUN("check", TODAY, MACHINE);
    REQUIRE(is_json(json.out) && json.status == text.status && is_plain(text.out));
    static const char counts[] = "\n  \"counts\": {\"error\": ";
    const char *errors = strstr(json.out.data, counts);
    bool whole = strstr(json.out.data, "\"status\": \"checked\"") != NULL;
    REQUIRE(errors);
    errors += strlen(counts);
    int status = !whole ? 2 : *errors != '0' ? 1 : 0;
    REQUIRE(json.status == status);
    drop(&json), drop(&text);
    return status;
}

/* Now and then all that can be shown, which takes long; the same twice. */
static void try_check(const struct input *input)
{
    put(MACHINE, input->parts[0]);
    int status = look_at_check();
    if (input->sum % 8)
        return;
    struct ran json = RUN("check", TODAY, "--format=json", "--show=all", MACHINE);
    struct ran again = RUN("check", TODAY, "--format=json", "--show=all", MACHINE);
    struct ran text = RUN("check", TODAY, "--show=all", MACHINE);
    REQUIRE(is_json(json.out) && is_same(json.out, again.out));
    REQUIRE(json.status == status && text.status == status && is_plain(text.out));
    drop(&json), drop(&again), drop(&text);
}

/* The machine file, and one of the controller's. */
static void try_agreements(const struct input *input)
{
    put("change.txt", input->parts[1]);
    try_check(input);
    unlink("change.txt");
}

/* A text of the JSON of a window: the value behind `"key": {... "text": `, up to its quote. */
static bool text_of(const char *window, const char *end, const char *key, char out[64])
{
    char wanted[64];
    (void)snprintf(wanted, sizeof wanted, "\"%s\": {\"si\": ", key);
    const char *at = strstr(window, wanted);
    if (!at || at >= end)
        return false;
    at = strstr(at, "\"text\": \"");
    at += strlen("\"text\": \"");
    size_t size = strcspn(at, "\"\\");
    if (size >= 64 || at[size] != '"')
        return false;
    memcpy(out, at, size);
    out[size] = '\0';
    return true;
}

static long rules_broken(void)
{
    struct ran ran = RUN("check", TODAY, "--format=json", MACHINE);
    long count = ran.status == 2 ? -1 : number_of(ran.out, "failed");
    drop(&ran);
    return count;
}

/* Set to an end of its window, a value breaks no rule that was not broken. */
static void look_at_end(const char *window, const char *end, const char *side)
{
    char text[64], field[128], setting[200];
    const char *name = window + strlen("{\"field\": \"");
    size_t size = strcspn(name, "\"");
    if (size >= sizeof field || !text_of(window, end, side, text))
        return;
    memcpy(field, name, size);
    field[size] = '\0';
    (void)snprintf(setting, sizeof setting, "%s=%s", field, text);
    long before = rules_broken();
    struct ran set = RUN("revise", TODAY, "--write", MACHINE, setting);
    long after = rules_broken();
    if (set.status < 2 && before >= 0)
        REQUIRE(after >= 0 && after <= before);
    drop(&set);
}

static void try_window(const struct input *input)
{
    put(MACHINE, input->parts[0]);
    struct ran json = RUN("window", TODAY, "--format=json", MACHINE);
    struct ran text = RUN("window", TODAY, MACHINE);
    REQUIRE(json.status == text.status && is_plain(text.out));
    REQUIRE(json.status == 2 ? !json.out.size : is_json(json.out));
    size_t count = 0, wanted;
    static const char head[] = "{\"field\": \"";
    for (const char *at = json.out.data; (at = strstr(at, head)); at++)
        count++;
    const char *window = json.out.data;
    for (wanted = count ? input->sum % count + 1 : 0; wanted; wanted--)
        window = strstr(window + 1, head);
    const char *end = count ? strchr(window, '\n') : NULL;
    if (!end && count)
        end = window + strlen(window);
    const char *proved = count ? strstr(window, "\"proved\": true") : NULL;
    if (proved && proved < end)
        look_at_end(window, end, input->sum & 0x100 ? "low" : "high");
    drop(&json), drop(&text);
}

/* Up to `most` lines of a part as texts of their own, behind `list`; returns how many. */
static size_t lines(struct view part, char *list[], size_t most)
{
    size_t count = 0;
    while (part.size && count < most) {
        const char *end = memchr(part.data, '\n', part.size);
        size_t size = end ? (size_t)(end - part.data) : part.size;
        list[count++] = strndup(part.data, size);
        part = view_skip(part, size + (end != NULL));
    }
    return count;
}

/* Is it one whole drawing, with as many groups closed as opened? */
static bool is_drawing(struct text text)
{
    static const char end[] = "</g>\n</svg>\n";
    size_t opened = 0, closed = 0, size = sizeof end - 1;
    if (text.size < size || memcmp(text.data, "<svg ", 5) != 0 ||
        memcmp(text.data + text.size - size, end, size) != 0)
        return false;
    for (size_t i = 0; i + 3 < text.size; i++) {
        opened += memcmp(text.data + i, "<g", 2) == 0;
        closed += memcmp(text.data + i, "</g", 3) == 0;
    }
    return opened == closed;
}

/* The machine file. */
static void try_draw(const struct input *input)
{
    static const char *const views[] = {"--view=plan", "--view=side"};
    put(MACHINE, input->parts[0]);
    for (size_t i = 0; i < 2; i++) {
        const char *arguments[ARGUMENTS] = {"draw", TODAY, views[i], MACHINE};
        struct ran drawing = run(arguments, (struct view){"", 0});
        struct ran again = run(arguments, (struct view){"", 0});
        REQUIRE(is_same(drawing.out, again.out) && is_plain(drawing.out));
        REQUIRE(drawing.status == 2 ? !drawing.out.size : is_drawing(drawing.out));
        drop(&drawing), drop(&again);
    }
}

/* Is it one whole page, with as many sections closed as opened? */
static bool is_page(struct text text)
{
    static const char begin[] = "<!DOCTYPE html>\n", end[] = "</html>\n";
    size_t opened = 0, closed = 0, size = sizeof end - 1;
    if (text.size < sizeof begin || memcmp(text.data, begin, sizeof begin - 1) != 0 ||
        memcmp(text.data + text.size - size, end, size) != 0)
        return false;
    for (size_t i = 0; i + 9 < text.size; i++) {
        opened += memcmp(text.data + i, "<section", 8) == 0;
        closed += memcmp(text.data + i, "</section", 9) == 0;
    }
    return opened == closed;
}

/* The machine file. */
static void try_sheet(const struct input *input)
{
    put(MACHINE, input->parts[0]);
    const char *arguments[ARGUMENTS] = {"sheet", TODAY, MACHINE};
    struct ran sheet = run(arguments, (struct view){"", 0});
    struct ran again = run(arguments, (struct view){"", 0});
    REQUIRE(is_same(sheet.out, again.out) && is_plain(sheet.out));
    REQUIRE(sheet.status == 2 ? !sheet.out.size : is_page(sheet.out));
    const char *blank[ARGUMENTS] = {"sheet", "--blank", TODAY, MACHINE};
    struct ran form = run(blank, (struct view){"", 0});
    REQUIRE(form.status == 0 || form.status == 2);
    REQUIRE(is_plain(form.out) && (form.status == 2) == (sheet.status == 2));
    REQUIRE(form.status == 2 ? !form.out.size : is_page(form.out));
    drop(&sheet), drop(&again), drop(&form);
}

/* The machine file, and a page that may be a sheet of it: its own sheet, made on the same day,
 * is the same; of any page the answer is whole, or why there is none. */
static void try_compare(const struct input *input)
{
    put(MACHINE, input->parts[0]);
    put("wall.html", input->parts[1]);
    struct ran json = RUN("check", TODAY, "--format=json", "--sheet=wall.html", MACHINE);
    struct ran text = RUN("check", TODAY, "--sheet=wall.html", MACHINE);
    REQUIRE(is_plain(json.out) && is_plain(text.out) && json.status == text.status);
    REQUIRE((json.status == 2) == !json.out.size && (text.status == 2) == !text.out.size);
    drop(&json), drop(&text);
    struct ran sheet = RUN("sheet", TODAY, MACHINE);
    if (sheet.status != 2) {
        put("wall.html", (struct view){sheet.out.data, sheet.out.size});
        struct ran same = RUN("check", TODAY, "--sheet=wall.html", MACHINE);
        REQUIRE(same.status == 0);
        drop(&same);
    }
    drop(&sheet);
    unlink("wall.html");
}

/* The machine file; from, to and where, a line each. */
static void try_dryrun(const struct input *input)
{
    char *given[3] = {0};
    lines(input->parts[1], given, 3);
    static const char *const names[] = {"--from", "--to", "--at"};
    const char *arguments[ARGUMENTS] = {"dryrun", TODAY, MACHINE};
    size_t count = 3;
    for (size_t i = 0; i < 3; i++) {
        if (!given[i] || !*given[i])
            continue;
        arguments[count++] = names[i];
        arguments[count++] = given[i];
    }
    put(MACHINE, input->parts[0]);
    struct ran text = run(arguments, (struct view){"", 0});
    arguments[count] = "--format=json";
    struct ran json = run(arguments, (struct view){"", 0});
    struct ran again = run(arguments, (struct view){"", 0});
    REQUIRE(json.status == text.status && is_same(json.errors, text.errors));
    REQUIRE(is_same(json.out, again.out) && is_plain(text.out));
    REQUIRE(json.status == 2 ? !json.out.size : is_json(json.out));
    drop(&text), drop(&json), drop(&again);
    for (size_t i = 0; i < 3; i++)
        free(given[i]);
}

/* The machine file; FIELD=VALUE a line, all else is --put-right.  Either the file stays as it
 * was, or it says what was asked for: then the same changes nothing more. */
static void try_revise(const struct input *input)
{
    char *given[6] = {0};
    size_t count = lines(input->parts[1], given, 6), to = 3;
    const char *arguments[ARGUMENTS] = {"revise", TODAY, "--write"};
    for (size_t i = 0; i < count; i++)
        if (!strchr(given[i], '='))
            arguments[to++] = "--put-right";
    arguments[to++] = "--";
    arguments[to++] = MACHINE;
    for (size_t i = 0; i < count; i++)
        if (strchr(given[i], '='))
            arguments[to++] = given[i];
    if (to == 5 && !count)
        arguments[1] = "--put-right"; /* else it would ask */
    put(MACHINE, input->parts[0]);
    struct text before = get(MACHINE);
    struct ran first = run(arguments, (struct view){"", 0});
    struct text after = get(MACHINE);
    if (first.status == 2)
        REQUIRE(is_same(before, after) && first.errors.size);
    else
        REQUIRE(look_at_check() < 2);
    struct ran second = run(arguments, (struct view){"", 0});
    struct text settled = get(MACHINE);
    REQUIRE(second.status == first.status && is_same(settled, after));
    free(before.data), free(after.data), free(settled.data);
    drop(&first), drop(&second);
    for (size_t i = 0; i < count; i++)
        free(given[i]);
}

/* A rulebook; a machine file.  A book that is refused is refused by every command. */
static void try_rulebooks(const struct input *input)
{
    put("house.yaml", input->parts[0]);
    put(MACHINE, input->parts[1]);
    struct ran json = RUN("check", TODAY, "--rulebook=house.yaml", "--format=json", MACHINE);
    bool loads = json.status < 2 || json.out.size;
    struct ran other = input->sum % 2   ? RUN("rules", "--prove", "house.yaml")
                       : input->sum % 4 ? RUN("window", TODAY, "--rulebook=house.yaml", MACHINE)
                                        : RUN("check", TODAY, "--rulebook=house.yaml", MACHINE);
    REQUIRE(!loads || is_json(json.out));
    REQUIRE(is_plain(other.out) && (loads || (other.status == 2 && !other.out.size)));
    drop(&json), drop(&other);
    unlink("house.yaml");
}

/* What stands in the machine's file after a dialogue that begins with these bytes, or without a
 * file where there are none: `answers` up to `cut`, and in another run those behind it. */
static struct text talk(struct view bytes, struct view answers, size_t cut, int *status)
{
    static const char *const arguments[] = {"commission", TODAY, MACHINE, NULL};
    clear(drafts);
    unlink(MACHINE);
    if (bytes.size)
        put(MACHINE, bytes);
    struct ran ran = run(arguments, (struct view){answers.data, cut});
    if (ran.status == 2 && cut < answers.size) {
        drop(&ran);
        ran = run(arguments, view_skip(answers, cut));
    }
    *status = ran.status;
    REQUIRE(is_plain(ran.out));
    drop(&ran);
    return get(MACHINE);
}

/* A machine file, or nothing; answers, a line each.  Broken off anywhere and taken up again, a
 * dialogue writes what it writes in one go. */
static void try_dialogue(const struct input *input)
{
    struct view bytes = input->parts[0], answers = input->parts[1];
    int status, again;
    struct text whole = talk(bytes, answers, answers.size, &status);
    bool written = !is_same(whole, (struct text){(char *)bytes.data, bytes.size});
    REQUIRE(status != 2 || !written);
    if (written) {
        REQUIRE(look_at_check() < 2);
        size_t cut = answers.size ? input->sum % answers.size : 0;
        while (cut && answers.data[cut - 1] != '\n')
            cut--;
        struct text resumed = talk(bytes, answers, cut, &again);
        REQUIRE(again == status && is_same(whole, resumed));
        free(resumed.data);
    }
    free(whole.data);
}

static const struct target {
    const char *name;
    void (*look)(const struct input *input);
} targets[] = {
    {"check", try_check},         {"window", try_window},     {"dryrun", try_dryrun},
    {"revise", try_revise},       {"dialogue", try_dialogue}, {"agreements", try_agreements},
    {"rulebooks", try_rulebooks}, {"draw", try_draw},         {"sheet", try_sheet},
    {"compare", try_compare},
};
static const struct target *target;

int LLVMFuzzerInitialize(int *argc, char ***argv)
{
    (void)argc, (void)argv;
    const char *name = getenv("PROVEOUT_TARGET");
    for (size_t i = 0; i < sizeof targets / sizeof *targets; i++)
        if (name && strcmp(targets[i].name, name) == 0)
            target = &targets[i];
    complaints = fcntl(2, F_DUPFD_CLOEXEC, 10);
    REQUIRE(target && getenv("XDG_STATE_HOME"));
    (void)snprintf(drafts, sizeof drafts, "%s/proveout", getenv("XDG_STATE_HOME"));
    for (int i = 0; i < 3; i++)
        REQUIRE((streams[i] = memfd_create("stream", MFD_CLOEXEC)) >= 0);
    return 0;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const char cut[] = "=====\n";
    struct input input = {.sum = 2166136261};
    struct view rest = {(const char *)data, size};
    for (size_t i = 0; i < size; i++)
        input.sum = (input.sum ^ data[i]) * 16777619;
    for (size_t i = 0; i < PARTS; i++) {
        const char *end = rest.size ? memmem(rest.data, rest.size, cut, strlen(cut)) : NULL;
        size_t length = end ? (size_t)(end - rest.data) : rest.size;
        input.parts[i] = (struct view){length ? rest.data : "", length};
        rest = view_skip(rest, length + (end ? strlen(cut) : 0));
    }
    target->look(&input);
    unlink(MACHINE);
    REQUIRE(clear(".") == 0); /* nothing is left lying about */
    return 0;
}
