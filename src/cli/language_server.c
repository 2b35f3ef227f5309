/* `proveout language-server`: the bytes between an editor and the server, and the files it may
 * read.
 *
 * Whatever has come is read before anything is answered.
 */
#include "cli/command.h"

#include <errno.h>

#include "cli/books.h"
#include "cli/input.h"
#include "server/server.h"

enum {
    CHUNK = 64 * 1024,
    SAID_MAX = 1024 * 1024, /* unread by the editor; nothing more is answered then */
    PAUSE = 400,            /* ms without a keystroke */
    PARENT_EVERY = 2000,    /* ms between looks at whether the editor is there */
};

struct session {
    struct run *run;
    struct server *server;
    bool has_ended;     /* nothing more comes */
    bool is_gone;       /* nobody reads */
    bool is_idle;       /* nothing is left to do */
    double parent_seen; /* s */
    char chunk[CHUNK];
};

static bool read_beside(void *user, struct arena *arena, const struct server_file *file,
                        struct view *bytes, const char **why)
{
    (void)user;
    struct shelf shelf;
    const struct input machine = {.path = arena_format(arena, "%s/.", file->folder)};
    shelf_set(&shelf, arena, &machine, file->within);
    if (!shelf.folder) {
        *why = "it does not lie in a folder that the editor works in";
        return false;
    }
    const char *path = arena_format(arena, "%s%s", shelf.files.folder, file->path);
    return shelf.files.reader.read(shelf.files.reader.user, arena, view_of(path), bytes, why);
}

static bool read_book(void *user, struct arena *arena, const char *name, struct view *bytes,
                      const char **why)
{
    (void)user;
    return input_read_file(name, SOURCE_SIZE_MAX, arena, bytes, why);
}

static bool is_there(void *user, const char *path)
{
    (void)user;
    return file_is_there(path);
}

static int today(void *user)
{
    const struct session *session = user;
    struct arena arena;
    arena_init(&arena, session->run->arena->host);
    struct run run = *session->run;
    run.arena = &arena;
    int days = (int)(run_today(&run) / 86400.0);
    arena_free(&arena);
    return days;
}

/* Is the process there that the editor said is its own? */
static bool has_parent(struct session *session)
{
    long parent = server_parent(session->server);
    double time = clock_steady();
    if (!parent || (time - session->parent_seen) * 1000 < PARENT_EVERY)
        return true;
    session->parent_seen = time;
    return process_is_there(parent);
}

static void take_input(struct session *session)
{
    ptrdiff_t size = talk_take(session->chunk, CHUNK);
    if (size > 0)
        server_take(session->server, (struct view){session->chunk, (size_t)size});
    else
        session->has_ended = true;
    session->is_idle = false;
}

static void give_output(struct session *session)
{
    ptrdiff_t size = talk_give(server_said(session->server));
    if (size < 0)
        session->is_gone = true;
    else
        server_sent(session->server, (size_t)size);
}

static void work(struct session *session, bool paused)
{
    bool did = server_work(session->server);
    if (!did && paused)
        did = server_settle(session->server);
    session->is_idle = !did;
}

/* How long to wait for the editor, in ms. */
static int patience(const struct session *session, bool may_work)
{
    if (may_work && !session->is_idle)
        return 0;
    return server_is_settled(session->server) ? PARENT_EVERY : PAUSE;
}

/* Reads, writes or does one thing. */
static void step(struct session *session)
{
    struct view said = server_said(session->server);
    bool may_work = said.size < SAID_MAX;
    bool may_read = !session->has_ended && !server_is_full(session->server);
    int wanted = (may_read ? TALK_IN : 0) | (said.size ? TALK_OUT : 0);
    int ready = talk_wait(wanted, patience(session, may_work));
    if (ready < 0)
        session->is_gone = true;
    else if (ready & TALK_IN)
        take_input(session);
    else if (ready & TALK_OUT)
        give_output(session);
    else if (may_work)
        work(session, session->is_idle);
}

static bool goes_on(struct session *session)
{
    bool is_done = server_is_over(session->server) || (session->has_ended && session->is_idle);
    if (session->is_gone || !has_parent(session))
        return false;
    return !is_done || server_said(session->server).size > 0;
}

/* Absolute, as no machine file can name another. */
static bool name_books(struct run *run, struct server_host *host)
{
    const struct option_value *named = &run->options.values[OPTION_RULEBOOK];
    const char **books = ARENA_ARRAY(run->arena, const char *, named->list.count + 1);
    for (size_t i = 0; i < named->list.count; i++) {
        books[i] = path_whole(run->arena, named->list.items[i]);
        if (!books[i]) {
            run_refuse(run, "rulebook %s cannot be read: %s", named->list.items[i],
                       error_reason(run->arena, errno));
            return false;
        }
    }
    host->books = books;
    host->book_count = named->list.count;
    return true;
}

enum exit_status command_language_server(struct run *run)
{
    struct books books;
    struct session *session = ARENA_NEW(run->arena, struct session);
    struct server_host host = {.user = session,
                               .read = read_beside,
                               .read_book = read_book,
                               .is_there = is_there,
                               .today = today};
    if (run->options.arguments.count)
        return run_refuse(run,
                          "language-server takes no files: an editor tells it which are open");
    if (!books_load(run, &books) || !name_books(run, &host))
        return EXIT_TROUBLE;
    if (terminal_is(STANDARD_INPUT))
        trouble_say(
            run->arena,
            "this speaks the Language Server Protocol with an editor, which starts it; there is nothing to type, and Ctrl-D ends it");
    session->run = run;
    session->server = server_new(run->arena, &host);
    while (goes_on(session))
        step(session);
    int status = server_status(session->server);
    server_end(session->server);
    return (enum exit_status)status;
}
