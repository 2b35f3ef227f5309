/* Positions and ranges, as they come and as they are answered. */
#include "server/internal.h"

#include "server/uri.h"
#include "text/escape.h"

bool call_file(struct call *call, struct open_file **file)
{
    const char *uri = json_text_in(json_in(call->params, "textDocument"), "uri");
    if (!uri)
        return call_refuse(call, ERROR_BAD_PARAMS, "textDocument has no uri");
    *file = open_files_find(&call->server->files, uri);
    if (!*file)
        return call_refuse(call, ERROR_BAD_PARAMS, "%s is not open", uri);
    if ((*file)->trouble == OPEN_TOO_LARGE)
        return call_refuse(call, ERROR_FAILED, "%s is too large to be looked at", uri);
    if ((*file)->trouble == OPEN_LOST)
        return call_refuse(call, ERROR_FAILED,
                           "what the editor has of %s is not known here: a message was lost",
                           uri);
    return true;
}

static bool read_position(const json_t *value, struct position *out)
{
    return json_count_in(value, "line", &out->line) &&
           json_count_in(value, "character", &out->character);
}

bool call_place(struct call *call, struct open_file **file, size_t *offset)
{
    struct position position;
    if (!read_position(json_in(call->params, "position"), &position))
        return call_refuse(call, ERROR_BAD_PARAMS, "it has no position");
    if (!call_file(call, file))
        return false;
    *offset = position_offset(open_file_text(*file), position, call->server->client.units);
    return true;
}

bool call_span(struct call *call, const struct open_file *file, const json_t *range,
               struct proveout_span *span)
{
    struct position start, end;
    struct view text = open_file_text(file);
    enum line_units units = call->server->client.units;
    if (!read_position(json_in(range, "start"), &start) ||
        !read_position(json_in(range, "end"), &end))
        return call_refuse(call, ERROR_BAD_PARAMS, "a range has a start and an end");
    *span = (struct proveout_span){position_offset(text, start, units),
                                   position_offset(text, end, units)};
    if (span->end < span->start)
        return call_refuse(call, ERROR_BAD_PARAMS, "a range ends before it starts");
    return true;
}

void write_position(struct json *json, const char *key, struct position position)
{
    json_key(json, key), json_open(json, '{');
    json_key(json, "line"), json_count(json, position.line);
    json_key(json, "character"), json_count(json, position.character);
    json_close(json, '}');
}

void write_range(struct json *json, const struct lines *lines, struct proveout_span span,
                 enum line_units units)
{
    json_open(json, '{');
    write_position(json, "start", lines_position(lines, span.start, units));
    write_position(json, "end", lines_position(lines, span.end, units));
    json_close(json, '}');
}

const char *server_uri(struct server *server, const char *path)
{
    const struct open_file *open = open_files_at(&server->files, path);
    return open ? open->uri : uri_of(&server->scratch, path);
}

const struct other_file *server_asked(struct arena *arena, const struct open_file *file,
                                      const char *asked)
{
    const char *path =
        file->path ? path_below(arena, path_folder(arena, file->path), asked) : NULL;
    return path ? server_other(file, path) : NULL;
}

bool write_location(struct call *call, struct open_file *file, const char *asked,
                    struct proveout_span span)
{
    const struct other_file *other = asked ? server_asked(call->arena, file, asked) : NULL;
    if (asked && !other)
        return false;
    json_key(call->json, "uri");
    json_text(call->json, other ? server_uri(call->server, other->path) : file->uri);
    json_key(call->json, "range");
    write_range(call->json, other ? &other->lines : &file->lines, span,
                call->server->client.units);
    return true;
}

const char *shown(struct arena *arena, const char *text)
{
    struct buffer out;
    buffer_init(&out, arena);
    escape_terminal(&out, view_of(text));
    return buffer_string(&out);
}

void add_markdown(struct buffer *out, const char *text)
{
    for (const char *at = shown(out->arena, text); *at; at++) {
        if (strchr("\\`*_[]<&~|", *at))
            buffer_byte(out, '\\');
        buffer_byte(out, *at);
    }
}
