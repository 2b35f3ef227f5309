/* What is said to the editor: answers, refusals, and what nobody asked for. */
#include "server/internal.h"

#include <stdarg.h>

static struct json *begin(struct server *server, struct saying *saying)
{
    buffer_init(&saying->body, &server->scratch);
    saying->json = (struct json){.out = &saying->body};
    json_open(&saying->json, '{');
    json_key(&saying->json, "jsonrpc"), json_text(&saying->json, "2.0");
    return &saying->json;
}

struct json *say_begin(struct server *server, struct saying *saying, const char *method)
{
    struct json *json = begin(server, saying);
    json_key(json, "method"), json_text(json, method);
    json_key(json, "params");
    return json;
}

struct json *say_request(struct server *server, struct saying *saying, const char *method)
{
    struct json *json = begin(server, saying);
    json_key(json, "id"), json_count(json, ++server->asked);
    json_key(json, "method"), json_text(json, method);
    json_key(json, "params");
    return json;
}

void say_end(struct server *server, struct saying *saying)
{
    json_close(&saying->json, '}');
    message_frame(&server->out, buffer_view(&saying->body));
}

static void say(struct server *server, const char *method, enum message_type type,
                const char *text)
{
    struct saying saying;
    struct json *json = say_begin(server, &saying, method);
    json_open(json, '{');
    json_key(json, "type"), json_count(json, type);
    json_key(json, "message"), json_text(json, text);
    json_close(json, '}');
    say_end(server, &saying);
}

void say_show(struct server *server, enum message_type type, const char *text)
{
    say(server, "window/showMessage", type, text);
}

void say_log(struct server *server, enum message_type type, const char *text)
{
    say(server, "window/logMessage", type, text);
}

void say_refusal(struct server *server, const json_t *id, enum message_error code,
                 const char *why)
{
    struct saying saying;
    struct json *json = begin(server, &saying);
    json_key(json, "id"), message_id(json, id);
    json_key(json, "error"), json_open(json, '{');
    json_key(json, "code"), json_number(json, code);
    json_key(json, "message"), json_text(json, why);
    json_close(json, '}');
    say_end(server, &saying);
}

void say_result(struct server *server, const json_t *id, struct view result)
{
    struct saying saying;
    struct json *json = begin(server, &saying);
    json_key(json, "id"), message_id(json, id);
    json_key(json, "result");
    json_raw(json, result);
    say_end(server, &saying);
}

struct view server_said(const struct server *server)
{
    return view_skip(buffer_view(&server->out), server->sent);
}

void server_sent(struct server *server, size_t size)
{
    server->sent += size;
    if (server->sent < server->out.size)
        return;
    arena_reset(&server->saying);
    buffer_init(&server->out, &server->saying);
    server->sent = 0;
}

void server_watch(struct server *server, const char *pattern)
{
    struct saying saying;
    if (!server->client.takes_watchers)
        return;
    for (size_t i = 0; i < server->watched.count; i++)
        if (strcmp(server->watched.items[i], pattern) == 0)
            return;
    VECTOR_ADD(server->arena, &server->watched,
               arena_copy(server->arena, pattern, strlen(pattern)));
    struct json *json = say_request(server, &saying, "client/registerCapability");
    json_open(json, '{');
    json_key(json, "registrations"), json_open(json, '[');
    json_open(json, '{');
    json_key(json, "id");
    json_text(json, arena_format(&server->scratch, "files-%zu", server->watched.count));
    json_key(json, "method"), json_text(json, "workspace/didChangeWatchedFiles");
    json_key(json, "registerOptions"), json_open(json, '{');
    json_key(json, "watchers"), json_open(json, '[');
    json_open(json, '{');
    json_key(json, "globPattern"), json_text(json, pattern);
    json_close(json, '}');
    json_close(json, ']');
    json_close(json, '}');
    json_close(json, '}');
    json_close(json, ']');
    json_close(json, '}');
    say_end(server, &saying);
}

bool call_refuse(struct call *call, enum message_error code, const char *format, ...)
{
    struct buffer text;
    buffer_init(&text, call->arena);
    va_list arguments;
    va_start(arguments, format);
    buffer_format_list(&text, format, arguments);
    va_end(arguments);
    call->code = code;
    call->why = buffer_string(&text);
    return false;
}
