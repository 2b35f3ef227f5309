/* JSON as a stream into a buffer: brackets, keys and values in the order in which they are
 * called.
 *
 *     json_open(&json, '{');
 *     json_key(&json, "rule"), json_text(&json, finding->rule);
 *     json_close(&json, '}');
 *
 * Commas are seen to here; that brackets match is the caller's affair.  Output is ASCII for
 * what must not reach a terminal and UTF-8 otherwise; bytes that are not UTF-8 become U+FFFD.
 */
#ifndef PROVEOUT_REPORT_JSON_WRITER_H
#define PROVEOUT_REPORT_JSON_WRITER_H

#include "base/buffer.h"

struct json {
    struct buffer *out;
    bool follows; /* something stands before in the same brackets */
};

void json_open(struct json *json, char bracket);
void json_close(struct json *json, char bracket);

/* A line break before the next value or key, with `blanks` after it. */
void json_line(struct json *json, size_t blanks);

void json_key(struct json *json, const char *key);

void json_text(struct json *json, const char *text); /* NULL: null */
void json_view(struct json *json, struct view text);
void json_count(struct json *json, size_t count);
void json_number(struct json *json, double number); /* not finite: null */
void json_bool(struct json *json, bool truth);
void json_nothing(struct json *json); /* null */
void json_raw(struct json *json, struct view value); /* what is JSON already */

#endif
