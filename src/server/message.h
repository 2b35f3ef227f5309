/* Messages of JSON-RPC 2.0: what comes in, read, and what goes out, put into its frame.
 */
#ifndef PROVEOUT_SERVER_MESSAGE_H
#define PROVEOUT_SERVER_MESSAGE_H

#include <jansson.h>

#include "report/json_writer.h"

/* Codes of errors, by JSON-RPC and by the Language Server Protocol. */
enum message_error {
    ERROR_NO_JSON = -32700,
    ERROR_BAD_REQUEST = -32600,
    ERROR_NO_METHOD = -32601,
    ERROR_BAD_PARAMS = -32602,
    ERROR_INTERNAL = -32603,
    ERROR_NOT_INITIALIZED = -32002,
    ERROR_CANCELLED = -32800,
    ERROR_FAILED = -32803,
};

enum message_kind {
    MESSAGE_REQUEST,
    MESSAGE_NOTIFICATION,
    MESSAGE_RESPONSE, /* to a request of ours */
    MESSAGE_WRONG,    /* see `code` and `why`; the id stands where there is one */
};

struct message {
    enum message_kind kind;
    json_t *all;          /* owns all that follows; NULL: there is nothing */
    const json_t *id;     /* a whole number or a text; NULL: none */
    const char *method;   /* of a request or notification */
    const json_t *params; /* an object or a list; NULL: none */
    bool mended; /* bytes that are no UTF-8, or halves of characters, have become U+FFFD */
    enum message_error code;
    const char *why;
};

/* Reads a body.  `scratch` is free again afterwards but for `why`; whoever has the message
 * frees it. */
void message_read(struct arena *scratch, struct view body, struct message *out);
void message_free(struct message *message);

/* What stands in an object, or NULL (also where it is no object, of another kind, or a text
 * with a NUL in it). */
const json_t *json_in(const json_t *object, const char *key);
const char *json_text_in(const json_t *object, const char *key);
const json_t *json_object_in(const json_t *object, const char *key);
const json_t *json_list_in(const json_t *object, const char *key);
bool json_is_true_in(const json_t *object, const char *key);

/* A whole number from 0; false: none. */
bool json_count_in(const json_t *object, const char *key, size_t *out);

/* Does a list have this text among its items? */
bool json_lists(const json_t *list, const char *text);

/* Puts a body with its header behind what is there. */
void message_frame(struct buffer *out, struct view body);

/* Writes the id of a request, `null` where there is none. */
void message_id(struct json *json, const json_t *id);

/* Writes a value as it came. */
void message_value(struct json *json, const json_t *value);

#endif
