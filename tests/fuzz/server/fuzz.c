/* The language server on whatever an editor may send.
 *
 * A line of the input is a message: `r METHOD PARAMS` a request, `n METHOD PARAMS` a notification,
 * `b BODY` a body in its frame, `h BYTES` bytes as they are.  Lines go in one by one or several at
 * once, as the first byte says.
 *
 * Beyond not crashing: all that is said is framed JSON in UTF-8, no request is answered twice, and
 * none is left without an answer as long as the stream holds.
 */
#include <stdint.h>
#include <stdio.h>

#include "server/frame.h"
#include "server/message.h"
#include "server/server.h"
#include "text/utf8.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

enum { ASKED_MAX = 64, SIZE_MAX_OF_LINE = 4096 };

struct talk {
    struct arena arena;
    struct server *server;
    size_t asked;
    size_t answered[ASKED_MAX + 1];
    bool is_doubtful; /* the frames may be broken, or ids ours */
};

static bool read_nothing(void *user, struct arena *arena, const struct server_file *file,
                         struct view *bytes, const char **why)
{
    (void)user;
    (void)arena;
    BUG_UNLESS(file->path[0] != '/' && !strstr(file->path, ".."));
    *bytes = view_of("proveout: 1\nmachine: {name: other}\n");
    *why = "there is no such file";
    return file->path[0] != 'n';
}

static bool read_no_book(void *user, struct arena *arena, const char *name, struct view *bytes,
                         const char **why)
{
    (void)user;
    (void)arena;
    (void)name;
    (void)bytes;
    *why = "there is none";
    return false;
}

static int day(void *user)
{
    (void)user;
    return 20000;
}

static void look_at_message(struct talk *talk, struct view body)
{
    json_error_t error;
    BUG_UNLESS(utf8_check(body) == body.size);
    json_t *all = json_loadb(body.data, body.size, JSON_ALLOW_NUL, &error);
    BUG_UNLESS(json_is_object(all));
    const json_t *id = json_object_get(all, "id");
    if (!json_object_get(all, "method") && json_is_integer(id) && !talk->is_doubtful) {
        BUG_UNLESS(json_integer_value(id) > 0 &&
                   (size_t)json_integer_value(id) <= talk->asked);
        BUG_UNLESS(++talk->answered[json_integer_value(id)] == 1);
    }
    json_decref(all);
}

static void work(struct talk *talk)
{
    struct frames frames;
    struct view body;
    frames_init(&frames, NULL);
    while (server_work(talk->server))
        continue;
    while (server_settle(talk->server))
        continue;
    frames_add(&frames, server_said(talk->server));
    server_sent(talk->server, server_said(talk->server).size);
    BUG_UNLESS(server_said(talk->server).size == 0);
    enum frame_status status;
    while ((status = frames_take(&frames, &body)) == FRAME_BODY)
        look_at_message(talk, body);
    BUG_UNLESS(status == FRAME_MORE && frames.at == frames.size);
    frames_free(&frames);
}

static void send(struct talk *talk, struct view body)
{
    struct buffer out;
    buffer_init(&out, &talk->arena);
    message_frame(&out, body);
    server_take(talk->server, buffer_view(&out));
}

static void say(struct talk *talk, struct view line)
{
    char kind = line.size ? line.data[0] : 'b';
    struct view rest = view_skip(line, 2), method = rest;
    method = view_take(&rest, ' ');
    const char *text = arena_format(&talk->arena, "{\"jsonrpc\": \"2.0\", \"method\": \"%.*s\"%s%.*s",
                                    VIEW(method), rest.size ? ", \"params\": " : "", VIEW(rest));
    if (kind == 'r' && talk->asked < ASKED_MAX)
        send(talk, view_of(arena_format(&talk->arena, "%s, \"id\": %zu}", text, ++talk->asked)));
    else if (kind == 'n')
        send(talk, view_of(arena_format(&talk->arena, "%s}", text)));
    else if (kind == 'h')
        talk->is_doubtful = true, server_take(talk->server, view_skip(line, 2));
    else
        talk->is_doubtful = true, send(talk, view_skip(line, 2));
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const struct server_host host = {
        .read = read_nothing, .read_book = read_no_book, .today = day};
    struct talk talk = {.asked = 0};
    arena_init(&talk.arena, NULL);
    talk.server = server_new(&talk.arena, &host);
    struct view rest = {(const char *)data, size};
    bool at_once = size && *data & 1;
    rest = view_skip(rest, 1);
    while (rest.size && !server_is_over(talk.server)) {
        say(&talk, view_take(&rest, '\n'));
        if (!at_once)
            work(&talk);
    }
    work(&talk);
    server_end(talk.server);
    arena_free(&talk.arena);
    return 0;
}
