/* A dialogue without a terminal: lines go in, text comes out, and the host is here. */
#ifndef PROVEOUT_TESTS_ASK_SESSION_H
#define PROVEOUT_TESTS_ASK_SESSION_H

#include "ask/prompt.h"

/* An answer to a question by its name; NULL: Enter. */
struct scripted {
    const char *at;
    const char *line;
};

struct session {
    struct arena arena;
    struct check_options rules;
    struct ask_setup setup;
    const struct rulebook *book;
    struct ask *ask;
    enum ask_state state;
    struct view says;
    char *draft; /* as it was kept last; freed by the session */
    size_t draft_size;
    char *saved; /* the file; NULL: not written */
    size_t saved_size;
    size_t put_aside;
};

/* Starts; `base` NULL: a new file; `draft` may be NULL. */
void session_begin(struct session *session, const char *base, const char *draft);
void session_line(struct session *session, const char *line);
void session_end(struct session *session);

const char *session_at(struct session *session);
bool session_said(const struct session *session, const char *words);

/* The scripted line of the question that stands; Enter where none is. */
const char *session_script(const struct scripted *script, const char *at);

/* Answers everything by the script up to the end of the review. */
void session_run(struct session *session, const struct scripted *script);

/* Standard paths. */
extern const struct scripted script_setter[], script_plate[], script_not_homing[];

#endif
