/* The questions for other programs: one dialogue, whose host keeps file and draft in memory. */
#include <proveout/questions.h>

#include <setjmp.h>
#include <stdlib.h>

#include "ask/prompt.h"
#include "ask/write.h"

/* Texts that the caller looks at, each in an arena that ends with the next of its kind. */
struct kept {
    struct arena arena;
    const char *data; /* NULL: none */
    size_t size;
};

struct proveout_questions {
    struct arena arena;
    struct arena_host host;
    jmp_buf exhausted;
    struct check_options rules;
    struct ask_setup setup;
    struct ask *ask;
    enum proveout_questions_state state;
    struct kept draft, saved, shown;
};

static void no_memory(void *user)
{
    struct proveout_questions *questions = user;
    questions->state = PROVEOUT_QUESTIONS_NO_MEMORY;
    longjmp(questions->exhausted, 1);
}

/* What was kept before stays until the new is whole. */
static void keep_text(struct kept *kept, struct view bytes)
{
    struct arena arena;
    arena_init(&arena, kept->arena.host);
    const char *copy = arena_copy(&arena, bytes.data, bytes.size);
    arena_free(&kept->arena);
    *kept = (struct kept){arena, copy, bytes.size};
}

static const char *give(const struct kept *kept, size_t *length)
{
    if (length)
        *length = kept->data ? kept->size : 0;
    return kept->data;
}

/* The dialogue's host. */

static void keep(void *user, struct view draft)
{
    struct proveout_questions *questions = user;
    keep_text(&questions->draft, draft);
}

static void aside(void *user)
{
    (void)user; /* the caller has it */
}

static void drop(void *user)
{
    struct proveout_questions *questions = user;
    questions->draft.data = NULL;
}

static const char *save(void *user, struct arena *arena, const char *path, struct view bytes)
{
    struct proveout_questions *questions = user;
    (void)arena;
    (void)path;
    keep_text(&questions->saved, bytes);
    return NULL;
}

static struct view copy(struct arena *arena, const void *bytes, size_t size)
{
    return (struct view){arena_copy(arena, size ? bytes : "", size), size};
}

static void begin(struct proveout_questions *questions, struct view bytes,
                  const struct proveout_questions_options *options)
{
    static const struct rulebook *const books[] = {&builtin_rulebook};
    static const struct proveout_questions_options none = {0};
    struct arena *arena = &questions->arena;
    struct ask_setup *setup = &questions->setup;
    struct field_value today;
    struct view says;
    if (!options || options->size != sizeof *options)
        options = &none;
    struct view name = copy(arena, options->name, options->name_size);
    *setup = (struct ask_setup){
        .rules = &questions->rules,
        .layout = {.width = 80, .unicode = true, .show = SHOW_FAILED},
        .path = name.size ? name.data : "machine.yaml",
        .exists = bytes.size > 0,
        .base = copy(arena, bytes.data, bytes.size),
        .draft = copy(arena, options->draft, options->draft_size),
        .today = copy(arena, options->today, options->today_size),
        .host = {questions, keep, aside, drop, save, NULL, NULL},
    };
    questions->rules = (struct check_options){.books = books, .book_count = 1};
    if (setup->today.size &&
        !field_read_text(arena, FIELD_TABLE_MEASURED_ON, setup->today, &today))
        questions->rules.today = today.si;
    const struct tree *own = setup->exists && bytes.size <= SOURCE_SIZE_MAX
                                 ? tree_of(arena, name, setup->base)
                                 : NULL;
    if (setup->exists && (!own || !tree_starts_machine(setup->base) ||
                          own->status != TREE_WHOLE || tree_takes_files(own))) {
        questions->state = PROVEOUT_QUESTIONS_REFUSED;
        return;
    }
    if (setup->draft.size)
        keep_text(&questions->draft, setup->draft);
    questions->ask = ask_begin(arena, setup, &says);
}

/* What the guarded beginning needs, in memory, where a jump back cannot lose it. */
struct request {
    struct proveout_questions *questions;
    struct view bytes;
    const struct proveout_questions_options *options;
};

static bool begin_guarded(const struct request *request)
{
    if (setjmp(request->questions->exhausted))
        return false;
    begin(request->questions, request->bytes, request->options);
    return true;
}

struct proveout_questions *
proveout_questions_open(const void *bytes, size_t size,
                        const struct proveout_questions_options *options)
{
    struct request request = {
        calloc(1, sizeof(struct proveout_questions)), {bytes, size}, options};
    struct proveout_questions *questions = request.questions;
    if (!questions)
        return NULL;
    questions->host = (struct arena_host){no_memory, questions};
    arena_init(&questions->arena, &questions->host);
    arena_init(&questions->draft.arena, &questions->host);
    arena_init(&questions->saved.arena, &questions->host);
    arena_init(&questions->shown.arena, &questions->host);
    if (begin_guarded(&request))
        return questions;
    proveout_questions_close(questions);
    return NULL;
}

enum proveout_questions_state
proveout_questions_state(const struct proveout_questions *questions)
{
    return questions ? questions->state : PROVEOUT_QUESTIONS_NO_MEMORY;
}

const char *proveout_questions_json(struct proveout_questions *questions, size_t *length)
{
    struct buffer out;
    if (length)
        *length = 0;
    if (!questions || !questions->ask || questions->state == PROVEOUT_QUESTIONS_NO_MEMORY ||
        setjmp(questions->exhausted))
        return NULL;
    buffer_init(&out, &questions->shown.arena);
    arena_reset(&questions->shown.arena);
    ask_json(questions->ask, &out);
    questions->shown.data = buffer_string(&out);
    questions->shown.size = out.size;
    return give(&questions->shown, length);
}

enum proveout_questions_state proveout_questions_answer(struct proveout_questions *questions,
                                                        const void *line, size_t size)
{
    static const enum proveout_questions_state states[] = {
        [ASK_GOES_ON] = PROVEOUT_QUESTION,
        [ASK_SAVED] = PROVEOUT_QUESTIONS_SAVED,
        [ASK_UNCHANGED] = PROVEOUT_QUESTIONS_UNCHANGED,
        [ASK_STOPPED] = PROVEOUT_QUESTIONS_STOPPED,
    };
    enum { LINE_MOST = 4096 }; /* as at the terminal */
    struct view says;
    if (proveout_questions_state(questions) != PROVEOUT_QUESTION ||
        setjmp(questions->exhausted))
        return proveout_questions_state(questions);
    if (size > LINE_MOST)
        ask_too_long(questions->ask, &says);
    else
        questions->state =
            states[ask_line(questions->ask, (struct view){size ? line : "", size}, &says)];
    return questions->state;
}

enum proveout_questions_state proveout_questions_back(struct proveout_questions *questions)
{
    return proveout_questions_answer(questions, "back", 4);
}

const char *proveout_questions_file(struct proveout_questions *questions, size_t *length)
{
    struct view bytes;
    if (length)
        *length = 0;
    if (!questions || questions->state == PROVEOUT_QUESTIONS_NO_MEMORY || !questions->ask)
        return NULL;
    if (questions->saved.data)
        return give(&questions->saved, length);
    if (setjmp(questions->exhausted) || ask_file(questions->ask, &bytes))
        return NULL;
    keep_text(&questions->shown, bytes);
    return give(&questions->shown, length);
}

const char *proveout_questions_draft(const struct proveout_questions *questions, size_t *length)
{
    static const struct kept none;
    return give(questions ? &questions->draft : &none, length);
}

void proveout_questions_close(struct proveout_questions *questions)
{
    if (!questions)
        return;
    arena_free(&questions->arena);
    arena_free(&questions->draft.arena);
    arena_free(&questions->saved.arena);
    arena_free(&questions->shown.arena);
    free(questions);
}
