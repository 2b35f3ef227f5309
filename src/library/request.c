#include "library/request.h"

#include <math.h>
#include <stdlib.h>

struct arena *request_arena(const struct request *request)
{
    return &request->answer->arena;
}

static void no_memory(void *user)
{
    struct answer *answer = user;
    longjmp(answer->exhausted, 1);
}

void answer_free(struct answer *answer)
{
    if (!answer)
        return;
    arena_free(&answer->arena);
    free(answer);
}

/* An answer of `size` bytes, worked out by `work`; NULL where memory runs out on the way. */
static void *request_answered(struct request *request, size_t size,
                              void (*work)(struct request *))
{
    struct answer *answer = request->answer = calloc(1, size);
    if (!answer)
        return NULL;
    answer->host = (struct arena_host){no_memory, answer};
    arena_init(&answer->arena, &answer->host);
    if (setjmp(answer->exhausted)) {
        answer_free(request->answer);
        return NULL;
    }
    work(request);
    return request->answer;
}

void request_refuse(struct request *request, const char *why)
{
    request->answer->status = PROVEOUT_REFUSED;
    request->answer->trouble = why;
}

/* Options. */

bool request_copy(void *to, size_t size, const void *from, size_t first)
{
    size_t given;
    memset(to, 0, size);
    if (!from)
        return true;
    memcpy(&given, from, sizeof given);
    if (given < first)
        return false;
    memcpy(to, from, given < size ? given : size);
    for (size_t i = size; i < given; i++)
        if (((const char *)from)[i])
            return false;
    return true;
}

/* What the caller's function gave. */
struct given {
    bool is_there;
    const void *data;
    size_t size;
    const char *why;
};

static struct given ask_for(const struct request *request, proveout_read *read,
                            const char *name)
{
    struct given given = {0};
    if (read)
        given.is_there =
            read(request->options.user, name, &given.data, &given.size, &given.why) != 0;
    return given;
}

static bool keep(struct arena *arena, const struct given *given, size_t limit,
                 struct view *bytes, const char **why)
{
    if (!given->is_there) {
        *why = given->why ? arena_copy(arena, given->why, strlen(given->why))
                          : "no other file is given here";
        return false;
    }
    if (given->size > limit) {
        *why = arena_format(arena, "it is larger than %zu MiB", limit >> 20);
        return false;
    }
    size_t size = given->data ? given->size : 0;
    *bytes = (struct view){arena_copy(arena, given->data, size), size};
    return true;
}

bool request_read(const struct request *request, struct arena *arena, const char *name,
                  size_t limit, struct view *bytes, const char **why)
{
    const struct given given = ask_for(request, request->options.read, name);
    return keep(arena, &given, limit, bytes, why);
}

static bool read_beside(void *user, struct arena *arena, struct view path, struct view *bytes,
                        const char **why)
{
    if (!path.size || memchr(path.data, '\0', path.size)) {
        *why = path.size ? "its name is none that a file can have" : "no file is named";
        return false;
    }
    return request_read(user, arena, arena_copy(arena, path.data, path.size),
                        AGREEMENT_FILE_MAX, bytes, why);
}

static proveout_read *policy_reader(const struct request *request)
{
    const struct proveout_options *options = &request->options;
    return options->read_policy ? options->read_policy : options->read;
}

/* Adds a rulebook, which `read` gives as `asked`, to the own ones.  False: refused. */
static bool add_book(struct request *request, proveout_read *read, const char *asked,
                     const char *name, struct rulebook_text *own)
{
    struct arena *arena = request_arena(request);
    const char *why;
    struct view bytes;
    const struct given given =
        name ? ask_for(request, read, asked) : (struct given){.why = "it has no name"};
    if (!keep(arena, &given, SOURCE_SIZE_MAX, &bytes, &why)) {
        request_refuse(request, arena_format(arena, "rulebook %s cannot be read: %s",
                                             name ? name : "", why));
        return false;
    }
    own[request->own_count++] =
        (struct rulebook_text){arena_copy(arena, name, strlen(name)), bytes.data, bytes.size};
    return true;
}

static bool refuse_mistakes(struct request *request, const struct rulebook_mistakes *mistakes)
{
    request_refuse(request, rulebook_mistakes_text(mistakes, buffer_add));
    return false;
}

/* False: refused. */
static bool read_policy(struct request *request)
{
    struct arena *arena = request_arena(request);
    struct rulebook_mistakes mistakes = {.arena = arena};
    const char *given = request->options.policy, *why;
    struct view bytes;
    if (!given)
        return true;
    const char *name = arena_copy(arena, given, strlen(given));
    const struct given read = ask_for(request, policy_reader(request), name);
    if (!keep(arena, &read, SOURCE_SIZE_MAX, &bytes, &why)) {
        request_refuse(request, arena_format(arena, "policy %s cannot be read: %s", name, why));
        return false;
    }
    return policy_read(&mistakes, name, bytes, &request->policy) ||
           refuse_mistakes(request, &mistakes);
}

/* The rulebooks of the options, then those of the policy.  False: refused. */
static bool read_books(struct request *request)
{
    struct arena *arena = request_arena(request);
    const struct proveout_options *options = &request->options;
    const char *policy = options->policy ? request->policy.name : "";
    const char *slash = strrchr(policy, '/');
    size_t count = options->books ? options->book_count : 0;
    size_t of_policy = request->policy.rulebook_count;
    struct rulebook_text *own = ARENA_ARRAY(arena, struct rulebook_text, count + of_policy);
    request->own = own;
    for (size_t i = 0; i < count; i++)
        if (!add_book(request, options->read, options->books[i], options->books[i], own))
            return false;
    for (size_t i = 0; i < of_policy; i++) {
        struct view path = request->policy.rulebooks[i]->text;
        const char *asked = arena_copy(arena, path.data, path.size);
        const char *name =
            arena_format(arena, "%.*s%s", slash ? (int)(slash + 1 - policy) : 0, policy, asked);
        if (!add_book(request, policy_reader(request), asked, name, own))
            return false;
    }
    return true;
}

bool request_load_books(struct request *request)
{
    struct arena *arena = request_arena(request);
    struct rulebook_mistakes mistakes = {.arena = arena};
    struct check_options *checking = &request->checking;
    struct rulebook *book = ARENA_NEW(arena, struct rulebook);
    if (!read_policy(request) || !read_books(request))
        return false;
    if (request->own_count) {
        if (!rulebook_load_own(&mistakes, request->own, request->own_count, book))
            return refuse_mistakes(request, &mistakes);
        request->books[checking->book_count++] = book;
    }
    if (!request->options.policy)
        return true;
    checking->policy = &request->policy;
    return policy_fits(&mistakes, &request->policy, request->books, checking->book_count) ||
           refuse_mistakes(request, &mistakes);
}

/* Copies what was given and makes the options of a check.  False: refused. */
static bool begin(struct request *request, const void *options)
{
    struct arena *arena = request_arena(request);
    const char *name = request->path ? request->path : "<buffer>";
    struct view *bytes = &request->bytes;
    /* One byte more than the limit is enough for it to be found too large. */
    if (bytes->size > SOURCE_SIZE_MAX + (size_t)1)
        bytes->size = SOURCE_SIZE_MAX + (size_t)1;
    if (!bytes->data)
        bytes->size = 0;
    request->path = arena_copy(arena, name, strlen(name));
    request->before.size = request->before.size > SOURCE_SIZE_MAX + (size_t)1
                               ? SOURCE_SIZE_MAX + (size_t)1
                               : request->before.size;
    request->before = (struct view){
        arena_copy(arena, request->before.data, request->before.size), request->before.size};
    *bytes = (struct view){arena_copy(arena, bytes->data, bytes->size), bytes->size};
    /* `quick` came later: who was built before has a smaller struct. */
    if (!request_copy(&request->options, sizeof request->options, options,
                      offsetof(struct proveout_options, quick))) {
        request_refuse(request,
                       "the options have no size, or members that this library does not know");
        return false;
    }
    const struct proveout_options *given = &request->options;
    request->books[0] = &builtin_rulebook;
    const char *slash = strrchr(request->path, '/');
    request->agreements = (struct file_reader){request, read_beside};
    request->shared = (struct shared_files){
        .reader = {request, read_beside},
        .root =
            slash ? arena_copy(arena, request->path, (size_t)(slash - request->path) + 1) : "",
        .folder = "",
    };
    request->checking = (struct check_options){
        .books = request->books,
        .book_count = 1,
        .show = given->held > 1    ? SHOW_ALL
                : given->held == 1 ? SHOW_DEFAULT
                                   : SHOW_FAILED,
        .words = true,
        .remedies = !given->quick,
        .today = given->today ? given->today * 86400.0 : (double)INFINITY,
        .agreements = &request->agreements,
        .shared = &request->shared,
    };
    return request->defers_books || request_load_books(request);
}

void request_keep_status(struct request *request, const struct file_report *report)
{
    bool whole = report->status != FILE_CHECKED || file_report_is_whole(report);
    request->answer->status = whole ? (enum proveout_status)report->status : PROVEOUT_PARTIAL;
}

static void ask(struct request *request)
{
    struct question *question = (struct question *)request;
    if (begin(request, question->options))
        question->work(request);
}

void *question_answer(struct question *question, size_t size)
{
    return request_answered(&question->request, size, ask);
}
