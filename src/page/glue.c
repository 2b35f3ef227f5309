/* The library as a page calls it: strings in, one text out.
 *
 * Whoever calls this cannot be trusted to see that memory ran out: in its world address 0 can
 * be read, and holds zeros.  So no struct is handed over and no count; an answer is one text
 * that says which question it answers, how long it is, and that it has come to its end:
 *
 *     proveout-answer 1 NUMBER STATUS KIND LENGTH LF  LENGTH bytes  LF end NUMBER LF
 *
 * STATUS is how the file was read ("checked", "partial", "unreadable", "refused"), or of the
 * questions how they stand; KIND is "text", or "trouble" where the bytes tell why there is no
 * text.  Anything else is no answer.
 *
 * A question is a row of strings, each with its length before it (32 bits, lowest byte first)
 * and a NUL behind it that does not count: what is wanted, and what that wants to know, as told
 * at `wanted`.  An empty string stands for what the library takes as NULL.
 */
#include <proveout/questions.h>
#include <proveout/text.h>
#include <proveout/version.h>

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "page/glue.h"

enum {
    ENVELOPE_VERSION = 1,
    FILES_MAX = 256,
    STRINGS_MAX = 1 + 2 * FILES_MAX,
    ENVELOPE_MAX = 128
};

struct string {
    const char *data;
    size_t size;
};

struct question {
    struct string strings[STRINGS_MAX];
    size_t count;
    uint32_t number;
};

/* Another file that a machine file may lead to. */
struct other {
    char *path, *bytes;
    size_t size;
    bool read; /* by the report that was asked for last */
};

/* A page has one of each; nothing is shared between threads, since there is one. */
static struct other others[FILES_MAX];
static size_t other_count;
static struct proveout_questions *asked;
static char *answer;
static size_t answer_size;

/* --- answers --- */

static bool say(const struct question *question, const char *status, const char *kind,
                const char *bytes, size_t size)
{
    char head[ENVELOPE_MAX], foot[ENVELOPE_MAX];
    int before =
        snprintf(head, sizeof head, "proveout-answer %d %lu %s %s %zu\n", ENVELOPE_VERSION,
                 (unsigned long)question->number, status, kind, size);
    int after = snprintf(foot, sizeof foot, "\nend %lu\n", (unsigned long)question->number);
    if (size > SIZE_MAX - 2 * (size_t)ENVELOPE_MAX)
        return false;
    answer = malloc((size_t)before + size + (size_t)after);
    if (!answer)
        return false;
    memcpy(answer, head, (size_t)before);
    if (size)
        memcpy(answer + before, bytes, size);
    memcpy(answer + before + size, foot, (size_t)after);
    answer_size = (size_t)before + size + (size_t)after;
    return true;
}

static bool say_trouble(const struct question *question, const char *status, const char *why)
{
    return say(question, status, "trouble", why, strlen(why));
}

static const char *status_word(enum proveout_status status)
{
    switch (status) {
    case PROVEOUT_CHECKED:
        return "checked";
    case PROVEOUT_PARTIAL:
        return "partial";
    case PROVEOUT_REFUSED:
        return "refused";
    case PROVEOUT_UNREADABLE:
        break;
    }
    return "unreadable";
}

/* Hands a text on, and frees it.  False where there was no memory for it. */
static bool say_text(const struct question *question, struct proveout_text *text)
{
    bool said = false;
    if (text && proveout_text_ends(text)) {
        said = say(question, status_word(proveout_text_status(text)), "text",
                   proveout_text_data(text), proveout_text_length(text));
    } else if (text) {
        const char *why = proveout_text_trouble(text);
        said = say_trouble(question, status_word(proveout_text_status(text)), why ? why : "");
    }
    proveout_text_free(text);
    return said;
}

/* --- what is asked --- */

/* String `index`; NULL where it is not there, or empty. */
static const char *string_at(const struct question *question, size_t index)
{
    return index < question->count && question->strings[index].size
               ? question->strings[index].data
               : NULL;
}

static struct string bytes_at(const struct question *question, size_t index)
{
    return index < question->count ? question->strings[index] : (struct string){"", 0};
}

static const char *last_part(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? slash + 1 : path;
}

/* The file of that path; files that were opened one by one come without their folders, so else
 * the only one of its name. */
static struct other *find_other(const char *path)
{
    struct other *named = NULL, *exact = NULL;
    size_t count = 0, exact_count = 0;
    for (size_t i = 0; i < other_count; i++) {
        if (strcmp(others[i].path, path) == 0) {
            exact = &others[i];
            exact_count++;
        }
        if (strcmp(last_part(others[i].path), last_part(path)) == 0) {
            named = &others[i];
            count++;
        }
    }
    /* of two that are called the same nobody can tell which is meant */
    return exact_count == 1 ? exact : count == 1 ? named : NULL;
}

static int read_other(void *user, const char *path, const void **bytes, size_t *size,
                      const char **why)
{
    struct other *other = find_other(path);
    (void)user;
    if (!other) {
        *why = "it is not open in this page, or more than one of that name is";
        return 0;
    }
    other->read = true;
    *bytes = other->bytes;
    *size = other->size;
    return 1;
}

/* Where the strings of a question about a file stand. */
enum { FILE_NAME = 1, FILE_BYTES, FILE_TODAY, FILE_FORMAT, FILE_HELD, FILE_QUICK, FILE_REST };

/* A question about a file. */
struct file_question {
    const char *name;
    struct string bytes;
    struct proveout_options options;
    const char *rest[STRINGS_MAX]; /* NULL where a string is empty */
    size_t count;                  /* of the rest */
};

static struct file_question file_question_of(const struct question *question)
{
    const char *today = string_at(question, FILE_TODAY), *held = string_at(question, FILE_HELD);
    struct file_question of = {.name = string_at(question, FILE_NAME),
                               .bytes = bytes_at(question, FILE_BYTES)};
    of.options.size = sizeof of.options;
    of.options.today = today ? atoi(today) : 0;
    of.options.format = string_at(question, FILE_FORMAT);
    of.options.held = held ? atoi(held) : 0;
    of.options.quick = string_at(question, FILE_QUICK) != NULL;
    of.options.read = read_other;
    for (size_t i = FILE_REST; i < question->count; i++)
        of.rest[of.count++] = string_at(question, i);
    return of;
}

static bool want_report(const struct question *question)
{
    struct file_question of = file_question_of(question);
    for (size_t i = 0; i < other_count; i++)
        others[i].read = false;
    return say_text(question,
                    proveout_report(of.name, of.bytes.data, of.bytes.size, &of.options));
}

static bool want_windows(const struct question *question)
{
    struct file_question of = file_question_of(question);
    return say_text(question, proveout_windows(of.name, of.bytes.data, of.bytes.size, of.rest,
                                               of.count, &of.options));
}

static bool want_proposal(const struct question *question)
{
    struct file_question of = file_question_of(question);
    return say_text(question, proveout_propose(of.name, of.bytes.data, of.bytes.size, of.rest,
                                               of.count, &of.options));
}

static bool want_dryrun(const struct question *question)
{
    struct file_question of = file_question_of(question);
    const struct proveout_change change = {sizeof change, of.rest[0], of.rest[1], of.rest[2]};
    return say_text(
        question, proveout_dryrun(of.name, of.bytes.data, of.bytes.size, &change, &of.options));
}

static bool want_drawing(const struct question *question)
{
    struct file_question of = file_question_of(question);
    bool side = of.rest[0] && strcmp(of.rest[0], "side") == 0;
    const struct proveout_drawing drawing = {sizeof drawing, side, of.rest[1], of.rest[2]};
    return say_text(
        question, proveout_draw(of.name, of.bytes.data, of.bytes.size, &drawing, &of.options));
}

static bool want_sheet(const struct question *question)
{
    struct file_question of = file_question_of(question);
    const struct proveout_sheet sheet = {sizeof sheet, of.rest[0]};
    return say_text(question,
                    proveout_sheet(of.name, of.bytes.data, of.bytes.size, &sheet, &of.options));
}

static bool want_comparison(const struct question *question)
{
    struct file_question of = file_question_of(question);
    struct string before = bytes_at(question, FILE_REST);
    return say_text(question, proveout_compare(of.name, before.data, before.size, of.bytes.data,
                                               of.bytes.size, &of.options));
}

/* name, bytes, then a field and its value in turn */
static bool want_revision(const struct question *question)
{
    struct string bytes = bytes_at(question, FILE_BYTES);
    struct proveout_setting settings[STRINGS_MAX / 2];
    size_t count = 0;
    for (size_t i = FILE_BYTES + 1; i + 1 < question->count; i += 2)
        settings[count++] =
            (struct proveout_setting){question->strings[i].data, question->strings[i + 1].data};
    return say_text(question, proveout_revise(string_at(question, FILE_NAME), bytes.data,
                                              bytes.size, settings, count));
}

static bool want_explanation(const struct question *question)
{
    return say_text(question, proveout_explain(bytes_at(question, 1).data, NULL));
}

static bool want_fields(const struct question *question)
{
    return say_text(question, proveout_fields());
}

static bool want_version(const struct question *question)
{
    const char *version = proveout_version();
    return say(question, "checked", "text", version, strlen(version));
}

static bool want_rules_fingerprint(const struct question *question)
{
    const char *rules = proveout_rules_fingerprint();
    return say(question, "checked", "text", rules, strlen(rules));
}

/* --- other files --- */

static void forget_others(void)
{
    while (other_count) {
        other_count--;
        free(others[other_count].path);
        free(others[other_count].bytes);
    }
}

static char *copy(struct string string)
{
    char *bytes = malloc(string.size + 1);
    if (bytes)
        memcpy(bytes, string.data, string.size + 1);
    return bytes;
}

/* path and bytes in turn: the files there are now, besides the one that is asked about */
static bool want_others(const struct question *question)
{
    forget_others();
    for (size_t i = 1; i + 1 < question->count; i += 2) {
        struct other *other = &others[other_count];
        *other = (struct other){copy(question->strings[i]), copy(question->strings[i + 1]),
                                question->strings[i + 1].size, false};
        other_count++;
        if (!other->path || !other->bytes) {
            forget_others();
            return false;
        }
    }
    return say(question, "checked", "text", "", 0);
}

/* Which of them the last report has read: where each stands in the row, from 0. */
static bool want_read(const struct question *question)
{
    char text[FILES_MAX * 4 + 1] = "";
    size_t size = 0;
    for (size_t i = 0; i < other_count; i++)
        if (others[i].read)
            size += (size_t)snprintf(text + size, sizeof text - size, "%zu ", i);
    return say(question, "checked", "text", text, size);
}

/* --- questions to a person --- */

static const char *state_word(enum proveout_questions_state state)
{
    switch (state) {
    case PROVEOUT_QUESTION:
        return "question";
    case PROVEOUT_QUESTIONS_SAVED:
        return "saved";
    case PROVEOUT_QUESTIONS_UNCHANGED:
        return "unchanged";
    case PROVEOUT_QUESTIONS_STOPPED:
        return "stopped";
    case PROVEOUT_QUESTIONS_REFUSED:
        return "refused";
    case PROVEOUT_QUESTIONS_NO_MEMORY:
        break;
    }
    return "no-memory";
}

static bool say_questions(const struct question *question, const char *bytes, size_t size)
{
    const char *state = state_word(proveout_questions_state(asked));
    return bytes ? say(question, state, "text", bytes, size) : say_trouble(question, state, "");
}

static bool say_standing(const struct question *question)
{
    size_t size = 0;
    const char *json = proveout_questions_json(asked, &size);
    return say_questions(question, json, size);
}

/* name, bytes, today as a date, a draft */
static bool want_questions(const struct question *question)
{
    struct string name = bytes_at(question, 1), bytes = bytes_at(question, 2);
    struct string today = bytes_at(question, 3), draft = bytes_at(question, 4);
    const struct proveout_questions_options options = {
        sizeof options, name.data, name.size, today.data, today.size, draft.data, draft.size};
    proveout_questions_close(asked);
    asked = proveout_questions_open(bytes.data, bytes.size, &options);
    return asked && say_standing(question);
}

static bool want_answer_taken(const struct question *question)
{
    struct string line = bytes_at(question, 1);
    proveout_questions_answer(asked, line.data, line.size);
    return say_standing(question);
}

static bool want_file_so_far(const struct question *question)
{
    size_t size = 0;
    const char *file = proveout_questions_file(asked, &size);
    return say_questions(question, file, size);
}

static bool want_draft(const struct question *question)
{
    size_t size = 0;
    const char *draft = proveout_questions_draft(asked, &size);
    return say_questions(question, draft, size);
}

/* --- the call --- */

/* About a file: its name, its bytes, today in days from 1970-01-01, a format, how much of what
 * held is wanted, anything where it has to be quick; then what stands at each. */
static const struct {
    const char *word;
    bool (*answer)(const struct question *question); /* false: no memory */
} wanted[] = {
    {"report", want_report},
    {"windows", want_windows},  /* fields; none: every chosen number */
    {"propose", want_proposal}, /* fields; none: those that what fails rests on */
    {"dryrun", want_dryrun},    /* cutter that goes out, that comes in, where the nose is */
    {"draw", want_drawing},     /* "plan" or "side", cutter, step */
    {"sheet", want_sheet},      /* cutter */
    {"compare", want_comparison} /* the bytes before */,
    {"revise", want_revision}, /* of the head only name and bytes; field, value, field ... */
    {"explain", want_explanation},
    {"fields", want_fields},
    {"version", want_version},
    {"rules fingerprint", want_rules_fingerprint},
    {"others", want_others},
    {"read", want_read},
    {"questions", want_questions},
    {"answer", want_answer_taken},
    {"file", want_file_so_far},
    {"draft", want_draft},
};

/* False where the bytes are no row of strings. */
static bool read_strings(const unsigned char *bytes, size_t size, struct question *question)
{
    size_t at = 0;
    while (at < size) {
        if (size - at < 5 || question->count == STRINGS_MAX)
            return false;
        size_t length = (size_t)bytes[at] | (size_t)bytes[at + 1] << 8 |
                        (size_t)bytes[at + 2] << 16 | (size_t)bytes[at + 3] << 24;
        at += 4;
        if (length >= size - at || bytes[at + length])
            return false;
        question->strings[question->count++] =
            (struct string){(const char *)bytes + at, length};
        at += length + 1;
    }
    return question->count > 0;
}

void *page_room(size_t size)
{
    return malloc(size);
}

const char *page_answer(uint32_t number, void *bytes, size_t size)
{
    struct question question = {.number = number};
    bool said = false;
    size_t i = 0, count = sizeof wanted / sizeof *wanted;
    free(answer);
    answer = NULL;
    answer_size = 0;
    if (!read_strings(bytes, size, &question)) {
        said = say_trouble(&question, "refused", "that is no question");
    } else {
        while (i < count && strcmp(wanted[i].word, question.strings[0].data) != 0)
            i++;
        said = i < count ? wanted[i].answer(&question)
                         : say_trouble(&question, "refused", "nothing is known by that word");
    }
    free(bytes);
    return said ? answer : NULL;
}

size_t page_answer_size(void)
{
    return answer_size;
}
