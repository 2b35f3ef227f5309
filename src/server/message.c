/* Jansson reads; what it would refuse and editors send all the same is mended before: bytes
 * that are no UTF-8, which some editors hand on from a file as they are, and halves of UTF-16
 * pairs. Refused, they would leave the text here another one than the editor has.
 */
#include "server/message.h"

#include <stdlib.h>
#include <string.h>

#include "text/utf8.h"

static int digit(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    c = (char)(c | 0x20);
    return c >= 'a' && c <= 'f' ? c - 'a' + 10 : -1;
}

/* The unit that `\uXXXX` at the start of `text` stands for; -1: there is none. */
static int unit_at(struct view text)
{
    int unit = 0;
    if (text.size < 6 || text.data[0] != '\\' || text.data[1] != 'u')
        return -1;
    for (size_t i = 2; i < 6; i++) {
        int value = digit(text.data[i]);
        if (value < 0)
            return -1;
        unit = unit * 16 + value;
    }
    return unit;
}

/* Copies an escape, which a backslash begins, or what it becomes; returns its bytes. */
static size_t add_escape(struct buffer *out, struct view rest, bool *mended)
{
    int unit = unit_at(rest);
    if (unit < 0xd800 || unit > 0xdfff) {
        size_t size = unit >= 0 ? 6 : rest.size < 2 ? 1 : 2;
        buffer_add(out, (struct view){rest.data, size});
        return size;
    }
    int next = unit < 0xdc00 ? unit_at(view_skip(rest, 6)) : -1;
    if (next >= 0xdc00 && next <= 0xdfff) {
        buffer_add(out, (struct view){rest.data, 12});
        return 12;
    }
    buffer_text(out, "\\ufffd");
    *mended = true;
    return 6;
}

static struct view mend(struct arena *arena, struct view body, bool *mended)
{
    struct buffer out;
    buffer_init(&out, arena);
    while (body.size) {
        size_t plain = 0;
        while (plain < body.size && body.data[plain] != '\\' &&
               (unsigned char)body.data[plain] < 0x80)
            plain++;
        buffer_add(&out, (struct view){body.data, plain});
        body = view_skip(body, plain);
        if (!body.size)
            break;
        uint32_t point;
        size_t size = body.data[0] == '\\' ? 0 : utf8_read(body, &point);
        if (size) {
            buffer_add(&out, (struct view){body.data, size});
        } else if (body.data[0] == '\\') {
            size = add_escape(&out, body, mended);
        } else {
            buffer_text(&out, "\xef\xbf\xbd");
            *mended = true;
            size = 1;
        }
        body = view_skip(body, size);
    }
    return buffer_view(&out);
}

/* May there be anything to mend?  Most messages are read as they are. */
static bool is_doubtful(struct view body)
{
    if (utf8_check(body) < body.size)
        return true;
    for (struct view rest = body; rest.size;) {
        const char *escape = memchr(rest.data, '\\', rest.size);
        if (!escape)
            return false;
        rest = view_skip(rest, (size_t)(escape - rest.data));
        int unit = unit_at(rest);
        if (unit >= 0xd800 && unit <= 0xdfff)
            return true;
        rest = view_skip(rest, 2);
    }
    return false;
}

static void wrong(struct message *out, enum message_error code, const char *why)
{
    out->kind = MESSAGE_WRONG;
    out->code = code;
    out->why = why;
}

static void sort_out(struct message *out)
{
    const json_t *method = json_object_get(out->all, "method");
    const json_t *id = json_object_get(out->all, "id");
    const json_t *params = json_object_get(out->all, "params");
    if (!json_is_object(out->all)) {
        wrong(out, ERROR_BAD_REQUEST,
              "a message is one object; several in a list are not taken");
        return;
    }
    if (json_is_integer(id) || json_is_string(id))
        out->id = id;
    if (!method &&
        (json_object_get(out->all, "result") || json_object_get(out->all, "error"))) {
        out->kind = MESSAGE_RESPONSE;
        return;
    }
    out->method = json_text_in(out->all, "method");
    if (!out->method)
        wrong(out, ERROR_BAD_REQUEST, "it names no method");
    else if (id && !out->id)
        wrong(out, ERROR_BAD_REQUEST, "an id is a whole number or a text");
    else if (params && !json_is_object(params) && !json_is_array(params) &&
             !json_is_null(params))
        wrong(out, ERROR_BAD_REQUEST, "params are an object or a list");
    else
        out->kind = id ? MESSAGE_REQUEST : MESSAGE_NOTIFICATION;
    out->params = json_is_null(params) ? NULL : params;
}

void message_read(struct arena *scratch, struct view body, struct message *out)
{
    json_error_t error;
    *out = (struct message){0};
    if (is_doubtful(body))
        body = mend(scratch, body, &out->mended);
    out->all = json_loadb(body.data, body.size, JSON_ALLOW_NUL | JSON_DECODE_ANY, &error);
    if (out->all)
        sort_out(out);
    else if (json_error_code(&error) == json_error_out_of_memory)
        arena_exhausted(scratch);
    else
        wrong(
            out, ERROR_NO_JSON,
            arena_format(scratch, "it is no JSON: %s at byte %d", error.text, error.position));
}

void message_free(struct message *message)
{
    json_decref(message->all);
    *message = (struct message){0};
}

const json_t *json_in(const json_t *object, const char *key)
{
    return json_object_get(object, key);
}

const char *json_text_in(const json_t *object, const char *key)
{
    const json_t *text = json_object_get(object, key);
    const char *value = json_string_value(text);
    return value && strlen(value) == json_string_length(text) ? value : NULL;
}

const json_t *json_object_in(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    return json_is_object(value) ? value : NULL;
}

const json_t *json_list_in(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    return json_is_array(value) ? value : NULL;
}

bool json_is_true_in(const json_t *object, const char *key)
{
    return json_is_true(json_object_get(object, key));
}

bool json_count_in(const json_t *object, const char *key, size_t *out)
{
    const json_t *value = json_object_get(object, key);
    if (!json_is_integer(value) || json_integer_value(value) < 0)
        return false;
    *out = (size_t)json_integer_value(value);
    return true;
}

bool json_lists(const json_t *list, const char *text)
{
    for (size_t i = 0; i < json_array_size(list); i++) {
        const char *one = json_string_value(json_array_get(list, i));
        if (one && strcmp(one, text) == 0)
            return true;
    }
    return false;
}

void message_frame(struct buffer *out, struct view body)
{
    buffer_format(out, "Content-Length: %zu\r\n\r\n", body.size);
    buffer_add(out, body);
}

void message_id(struct json *json, const json_t *id)
{
    if (json_is_string(id))
        json_view(json, (struct view){json_string_value(id), json_string_length(id)});
    else if (id)
        json_raw(json, view_of(arena_format(json->out->arena, "%lld",
                                            (long long)json_integer_value(id))));
    else
        json_nothing(json);
}

void message_value(struct json *json, const json_t *value)
{
    char *text = value ? json_dumps(value, JSON_COMPACT | JSON_ENCODE_ANY) : NULL;
    json_raw(json, text ? view_of(text) : (struct view)VIEW_LITERAL("null"));
    free(text);
}
