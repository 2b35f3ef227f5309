/* Messages on a stream: headers, an empty line, and a body of as many bytes as they name.
 *
 * Bytes come in as they arrive and whole bodies go out.  What a body says is others' affair.
 */
#ifndef PROVEOUT_SERVER_FRAME_H
#define PROVEOUT_SERVER_FRAME_H

#include "base/arena.h"
#include "base/bug.h"
#include "base/view.h"

enum {
    FRAME_BODY_MAX = 96 * 1024 * 1024, /* a machine file of the largest size, escaped */
    FRAME_HEADERS_MAX = 8 * 1024,      /* of one message */
};

enum frame_status {
    FRAME_MORE, /* not all of the next message has come */
    FRAME_BODY,
    FRAME_TOO_LARGE, /* a message was longer than FRAME_BODY_MAX, and is passed over */
    FRAME_BROKEN,    /* no header of a message: where the next one begins is not known */
};

struct frames {
    struct arena arena;
    char *bytes;
    size_t size, room; /* of `bytes` */
    size_t at;         /* before it all has been taken */
    size_t skipped;    /* bytes of a body that is too large, still to come */
    bool is_broken;
};

/* `host` is told where memory runs out. */
void frames_init(struct frames *frames, const struct arena_host *host);
void frames_free(struct frames *frames);

/* Adds bytes that arrived. */
void frames_add(struct frames *frames, struct view bytes);

/* Takes the next message; `*body` is good until bytes are added.  Once broken it stays so. */
MUST_USE enum frame_status frames_take(struct frames *frames, struct view *body);

#endif
