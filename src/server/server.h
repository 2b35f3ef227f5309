/* A language server (Language Server Protocol 3.17) for machine files and rulebooks: messages
 * in, messages out.
 *
 * It opens no file, reads no clock and keeps no time: whoever runs it hands on the bytes that
 * come from the editor and to it, and answers what a `server_host` is asked.  What is known of
 * machines the library knows; here are texts, places and the protocol.
 *
 *     server_take(server, bytes that came);
 *     while (server_work(server))
 *         continue;                              and take what has come meanwhile
 *     write(server_said(server)), server_sent(server, as much as was written);
 *
 * Requests are answered in their order; a change that has come is put in before anything is
 * checked, so that of a burst of keystrokes only the last text is.
 */
#ifndef PROVEOUT_SERVER_SERVER_H
#define PROVEOUT_SERVER_SERVER_H

#include "base/arena.h"
#include "base/bug.h"
#include "base/view.h"

struct server;

/* A file that another one names. */
struct server_file {
    const char
        *within; /* the folder that it must lie in, links followed; NULL: that of `folder` */
    const char *folder; /* of the file that names it */
    const char *path;   /* from there, without `..` */
};

/* Whoever runs it. */
struct server_host {
    void *user;
    /* Gives the bytes of a file, in `arena`; false: `*why` says why not. */
    bool (*read)(void *user, struct arena *arena, const struct server_file *file,
                 struct view *bytes, const char **why);
    /* The same of a rulebook of `books`. */
    bool (*read_book)(void *user, struct arena *arena, const char *name, struct view *bytes,
                      const char **why);
    /* Is there a file of that name, whatever it is and leads to? */
    bool (*is_there)(void *user, const char *path);
    int (*today)(void *user); /* days from 1970-01-01 */
    const char *const *books; /* absolute paths of own rulebooks */
    size_t book_count;
};

/* Lives in `arena` and until server_end; `host` and what it names must outlive it. */
struct server *server_new(struct arena *arena, const struct server_host *host);
void server_end(struct server *server);

/* Takes bytes from the editor. */
void server_take(struct server *server, struct view bytes);

/* Has so much come that no more should be read ahead? */
bool server_is_full(const struct server *server);

/* Does one thing: answers a message, or checks a text that changed.  False: there is nothing to
 * do until more comes. */
MUST_USE bool server_work(struct server *server);

/* In a pause of the editor: looks more closely at a text that was checked while somebody typed.
 * False: there is none. */
MUST_USE bool server_settle(struct server *server);
bool server_is_settled(const struct server *server);

/* What is to be written to the editor, and how much of it has been. */
struct view server_said(const struct server *server);
void server_sent(struct server *server, size_t size);

/* Is it over?  The status then is 0 after a shutdown in good order, else 1. */
bool server_is_over(const struct server *server);
int server_status(const struct server *server);

/* The process whose end is the end of this too; 0: none is known. */
long server_parent(const struct server *server);

#endif
