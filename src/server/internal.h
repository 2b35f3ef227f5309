/* What the files of the server share. */
#ifndef PROVEOUT_SERVER_INTERNAL_H
#define PROVEOUT_SERVER_INTERNAL_H

#include <proveout/text.h>

#include "base/printf.h"
#include "server/frame.h"
#include "server/message.h"
#include "server/open_files.h"
#include "server/server.h"

enum server_stage { STAGE_NEW, STAGE_RUNNING, STAGE_SHUT, STAGE_OVER };

/* What the editor takes. */
struct client {
    enum line_units units;
    bool takes_changes; /* of documents, with versions */
    bool takes_annotations;
    bool takes_related;
    bool takes_action_objects;
    bool takes_preferred;
    bool takes_prepared_renames;
    bool takes_symbol_trees;
    bool takes_markdown_hover, takes_markdown_completion;
    bool takes_watchers;    /* registers them when asked */
    bool takes_diagnostics; /* told without being asked */
    bool pulls_diagnostics;
    long process;
};

struct server {
    struct arena *arena;
    const struct server_host *host;
    enum server_stage stage;
    bool was_shut;
    bool is_cut; /* the stream broke off */
    struct client client;

    struct frames frames;
    VECTOR(struct message) waiting;
    size_t waiting_size; /* bytes of them */
    VECTOR(size_t) sizes;
    struct open_files files;

    struct arena folders_arena;
    VECTOR(const char *) folders; /* of the workspace, absolute */
    VECTOR(const char *) watched; /* patterns */
    size_t asked;                 /* requests of ours so far */

    struct arena scratch; /* for one message */
    struct arena saying;  /* for what is to be written */
    struct buffer out;
    size_t sent; /* of it */
};

/* A message that is being answered. */
struct call {
    struct server *server;
    struct arena *arena; /* scratch */
    const json_t *params;
    struct json *json; /* the result goes here */
    enum message_error code;
    const char *why;
    bool mended; /* see struct message */
};

/* Refuses it; returns false. */
bool call_refuse(struct call *call, enum message_error code, const char *format, ...)
    PRINTF(3, 4);

/* Answers a message; false: it is refused. */
typedef bool answer(struct call *call);

/* lifecycle.c */
answer answer_initialize, answer_initialized, answer_shutdown, answer_exit;
answer answer_folders_changed;

/* sync.c */
answer answer_opened, answer_changed, answer_closed, answer_saved, answer_watched;

/* What may be amiss with every open text, since a message could not be read. */
void server_lose_all(struct server *server);

/* answers.c */
answer answer_hover, answer_completion, answer_definition, answer_references, answer_symbols;
answer answer_folds, answer_hints;

/* edits.c */
answer answer_actions, answer_rename_at, answer_rename, answer_format, answer_format_range;

/* explain.c */
answer answer_command;

/* diagnostics.c */
answer answer_diagnostics;
void server_tell(struct server *server, struct open_file *file);

/* Tells that a file is closed, and nothing is said of it any more. */
void server_untell(struct server *server, const struct open_file *file);

/* say.c: a message of ours, which begins with its method, goes on with the params, in scratch. */
struct saying {
    struct buffer body;
    struct json json;
};
struct json *say_begin(struct server *server, struct saying *saying, const char *method);
struct json *say_request(struct server *server, struct saying *saying, const char *method);
void say_end(struct server *server, struct saying *saying);

/* Answers a request: with a JSON text, or that it is refused. */
void say_result(struct server *server, const json_t *id, struct view result);
void say_refusal(struct server *server, const json_t *id, enum message_error code,
                 const char *why);

/* Has the editor tell of changes to files that a pattern matches. */
void server_watch(struct server *server, const char *pattern);

enum message_type { TYPE_ERROR = 1, TYPE_WARNING, TYPE_INFO, TYPE_LOG };

/* Shows people a sentence, or keeps it for whoever looks for it. */
void say_show(struct server *server, enum message_type type, const char *text);
void say_log(struct server *server, enum message_type type, const char *text);

/* looking.c: what the library knows of an open text, looked at again where it has changed. */
struct proveout_document *server_look(struct server *server, struct open_file *file,
                                      bool closely);

/* The same for a call; false: refused. */
bool server_look_for(struct call *call, struct open_file *file);

/* Of files that are neither machine files nor rulebooks nothing is told. */
bool server_tells_of(const struct open_file *file);

/* Does a text begin like one that is spoken of? */
bool server_speaks_of(struct view text);

/* The options with which rules are explained: `read` gives rulebooks. */
struct proveout_options server_options(struct server *server);

/* The file that the library calls `path`: this one (true), or another with its lines. */
bool server_is_own(const struct open_file *file, const char *path);
const struct other_file *server_other(const struct open_file *file, const char *path);

/* The same by which the file names it. */
const struct other_file *server_asked(struct arena *arena, const struct open_file *file,
                                      const char *asked);

/* Marks what rests on a path to be checked again; NULL: all that is open. */
void server_touch(struct server *server, const char *path);

/* places.c: positions and ranges of params and of answers.  False: refused. */
bool call_file(struct call *call, struct open_file **file);
bool call_place(struct call *call, struct open_file **file, size_t *offset);
bool call_span(struct call *call, const struct open_file *file, const json_t *range,
               struct proveout_span *span);
void write_position(struct json *json, const char *key, struct position position);
void write_range(struct json *json, const struct lines *lines, struct proveout_span span,
                 enum line_units units);

/* `"uri": ..., "range": ...` of a place of the file (`asked` NULL) or another that it names;
 * false: that one is not known, and nothing is written. */
bool write_location(struct call *call, struct open_file *file, const char *asked,
                    struct proveout_span span);

/* The URI of a path: as the editor has it open, else made. */
const char *server_uri(struct server *server, const char *path);

/* Text of a file, or words about it, for people: what would not show is made visible. */
const char *shown(struct arena *arena, const char *text);
void add_markdown(struct buffer *out, const char *text);

#endif
