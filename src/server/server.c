/* The line of messages that wait, and who answers which. */
#include "server/internal.h"

enum {
    WAITING_MAX = 1000, /* no more is read ahead than this, so that what is cancelled is seen */
    WAITING_SIZE_MAX = 8 * 1024 * 1024,
};

struct method {
    const char *name;
    answer *answer;
    bool is_request;
};

static const struct method methods[] = {
    {"initialize", answer_initialize, true},
    {"initialized", answer_initialized, false},
    {"shutdown", answer_shutdown, true},
    {"exit", answer_exit, false},
    {"textDocument/didOpen", answer_opened, false},
    {"textDocument/didChange", answer_changed, false},
    {"textDocument/didClose", answer_closed, false},
    {"textDocument/didSave", answer_saved, false},
    {"workspace/didChangeWatchedFiles", answer_watched, false},
    {"workspace/didChangeWorkspaceFolders", answer_folders_changed, false},
    {"textDocument/diagnostic", answer_diagnostics, true},
    {"textDocument/hover", answer_hover, true},
    {"textDocument/completion", answer_completion, true},
    {"textDocument/definition", answer_definition, true},
    {"textDocument/references", answer_references, true},
    {"textDocument/documentSymbol", answer_symbols, true},
    {"textDocument/foldingRange", answer_folds, true},
    {"textDocument/inlayHint", answer_hints, true},
    {"textDocument/codeAction", answer_actions, true},
    {"textDocument/prepareRename", answer_rename_at, true},
    {"textDocument/rename", answer_rename, true},
    {"textDocument/formatting", answer_format, true},
    {"textDocument/rangeFormatting", answer_format_range, true},
    {"workspace/executeCommand", answer_command, true},
};

struct server *server_new(struct arena *arena, const struct server_host *host)
{
    struct server *server = ARENA_NEW(arena, struct server);
    server->arena = arena;
    server->host = host;
    frames_init(&server->frames, arena->host);
    server->files = (struct open_files){.arena = arena, .host = arena->host};
    arena_init(&server->folders_arena, arena->host);
    arena_init(&server->scratch, arena->host);
    arena_init(&server->saying, arena->host);
    buffer_init(&server->out, &server->saying);
    return server;
}

void server_end(struct server *server)
{
    for (size_t i = 0; i < server->waiting.count; i++)
        message_free(&server->waiting.items[i]);
    server->waiting.count = 0;
    open_files_end(&server->files);
    frames_free(&server->frames);
    arena_free(&server->folders_arena);
    arena_free(&server->scratch);
    arena_free(&server->saying);
}

/* --- what comes --- */

static bool is_same_id(const json_t *a, const json_t *b)
{
    return a && b && json_equal(a, b);
}

/* What has begun is answered as if nothing had been said, which the protocol allows. */
static void cancel(struct server *server, const json_t *params)
{
    const json_t *id = json_in(params, "id");
    for (size_t i = 0; i < server->waiting.count; i++) {
        struct message *message = &server->waiting.items[i];
        if (message->kind != MESSAGE_REQUEST || !is_same_id(message->id, id))
            continue;
        say_refusal(server, message->id, ERROR_CANCELLED, "it was cancelled");
        message->kind = MESSAGE_RESPONSE; /* nothing more is done about it */
        return;
    }
}

static void take_message(struct server *server, struct view body)
{
    struct message message;
    message_read(&server->scratch, body, &message);
    if (message.kind == MESSAGE_WRONG) {
        say_refusal(server, message.id, message.code, message.why);
        if (message.code == ERROR_NO_JSON)
            server_lose_all(server);
        message_free(&message);
    } else if (message.kind == MESSAGE_RESPONSE) {
        message_free(&message);
    } else if (message.kind == MESSAGE_NOTIFICATION &&
               strcmp(message.method, "$/cancelRequest") == 0) {
        cancel(server, message.params);
        message_free(&message);
    } else {
        VECTOR_ADD(server->arena, &server->waiting, message);
        VECTOR_ADD(server->arena, &server->sizes, body.size);
        server->waiting_size += body.size;
    }
    arena_reset(&server->scratch);
}

void server_take(struct server *server, struct view bytes)
{
    struct view body;
    if (server->is_cut)
        return;
    frames_add(&server->frames, bytes);
    for (;;) {
        switch (frames_take(&server->frames, &body)) {
        case FRAME_MORE:
            return;
        case FRAME_BODY:
            take_message(server, body);
            break;
        case FRAME_TOO_LARGE:
            say_refusal(server, NULL, ERROR_BAD_REQUEST,
                        arena_format(&server->scratch,
                                     "a message of more than %d MiB is not read",
                                     FRAME_BODY_MAX >> 20));
            server_lose_all(server);
            arena_reset(&server->scratch);
            break;
        case FRAME_BROKEN:
            say_refusal(
                server, NULL, ERROR_NO_JSON,
                "this is no header of a message with its Content-Length: where the next "
                "message begins cannot be known, and the server ends");
            server->is_cut = true;
            arena_reset(&server->scratch);
            return;
        }
    }
}

bool server_is_full(const struct server *server)
{
    return server->waiting.count >= WAITING_MAX || server->waiting_size >= WAITING_SIZE_MAX;
}

/* --- what is done --- */

static const struct method *find_method(const char *name)
{
    for (size_t i = 0; i < sizeof methods / sizeof *methods; i++)
        if (strcmp(methods[i].name, name) == 0)
            return &methods[i];
    return NULL;
}

/* May it be answered now?  `method` NULL: nobody knows it. */
static bool is_in_order(struct call *call, const struct message *message,
                        const struct method *method)
{
    enum server_stage stage = call->server->stage;
    bool begins = method && method->answer == answer_initialize;
    if (method && method->answer == answer_exit)
        return true;
    if (stage == STAGE_NEW && !begins)
        return call_refuse(call, ERROR_NOT_INITIALIZED, "`initialize` comes first");
    if (stage == STAGE_SHUT)
        return call_refuse(call, ERROR_BAD_REQUEST, "the server has been shut down");
    if (stage == STAGE_RUNNING && begins)
        return call_refuse(call, ERROR_BAD_REQUEST, "`initialize` has come already");
    if (!method)
        return call_refuse(call, ERROR_NO_METHOD, "%s is not known here", message->method);
    if (method->is_request != (message->kind == MESSAGE_REQUEST))
        return call_refuse(call, ERROR_BAD_REQUEST, "%s is a %s", message->method,
                           method->is_request ? "request" : "notification");
    return true;
}

static void answer_message(struct server *server, const struct message *message)
{
    struct buffer result;
    buffer_init(&result, &server->scratch);
    struct json json = {.out = &result};
    struct call call = {.server = server,
                        .arena = &server->scratch,
                        .params = message->params,
                        .json = &json,
                        .mended = message->mended};
    const struct method *method = find_method(message->method);
    bool good = is_in_order(&call, message, method) && method->answer(&call);
    if (message->kind == MESSAGE_REQUEST && good)
        say_result(server, message->id,
                   result.size ? buffer_view(&result) : (struct view)VIEW_LITERAL("null"));
    else if (message->kind == MESSAGE_REQUEST)
        say_refusal(server, message->id, call.code, call.why);
    else if (!good && method && server->stage == STAGE_RUNNING)
        say_log(server, TYPE_ERROR,
                arena_format(call.arena, "%s: %s", message->method, call.why));
}

/* Takes the first message that waits. */
static bool work_on_message(struct server *server)
{
    if (!server->waiting.count)
        return false;
    struct message message = server->waiting.items[0];
    server->waiting_size -= server->sizes.items[0];
    server->waiting.count--;
    server->sizes.count--;
    memmove(server->waiting.items, server->waiting.items + 1,
            server->waiting.count * sizeof *server->waiting.items);
    memmove(server->sizes.items, server->sizes.items + 1,
            server->sizes.count * sizeof *server->sizes.items);
    if (message.kind != MESSAGE_RESPONSE)
        answer_message(server, &message);
    message_free(&message);
    return true;
}

static bool work_on_file(struct server *server)
{
    for (size_t i = 0; i < server->files.items.count; i++) {
        struct open_file *file = server->files.items.items[i];
        if (!file->is_due)
            continue;
        file->is_due = false;
        server_tell(server, file);
        return true;
    }
    return false;
}

bool server_work(struct server *server)
{
    if (server->stage == STAGE_OVER)
        return false;
    bool done = work_on_message(server);
    if (!done && server->is_cut)
        server->stage = STAGE_OVER;
    else if (!done && server->stage == STAGE_RUNNING)
        done = work_on_file(server);
    arena_reset(&server->scratch);
    return done;
}

static struct open_file *find_unsettled(const struct server *server)
{
    for (size_t i = 0; i < server->files.items.count; i++) {
        struct open_file *file = server->files.items.items[i];
        if (file->is_unsettled)
            return file;
    }
    return NULL;
}

bool server_is_settled(const struct server *server)
{
    return server->stage != STAGE_RUNNING || !find_unsettled(server);
}

bool server_settle(struct server *server)
{
    struct open_file *file = server->stage == STAGE_RUNNING ? find_unsettled(server) : NULL;
    if (!file)
        return false;
    file->is_unsettled = false;
    server_look(server, file, true);
    server_tell(server, file);
    arena_reset(&server->scratch);
    return true;
}

bool server_is_over(const struct server *server)
{
    return server->stage == STAGE_OVER;
}

int server_status(const struct server *server)
{
    return server->was_shut ? 0 : 1;
}

long server_parent(const struct server *server)
{
    return server->client.process;
}
