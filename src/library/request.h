/* A question to the library: what the caller gave, copied, and the answer in an arena of its
 * own, from which lack of memory leads back to the call.
 */
#ifndef PROVEOUT_LIBRARY_REQUEST_H
#define PROVEOUT_LIBRARY_REQUEST_H

#include <proveout/text.h>

#include <setjmp.h>

#include "library/machine_file.h"
#include "rules/own.h"

/* What is given back, and everything in it. */
struct answer {
    struct arena arena;
    struct arena_host host;
    jmp_buf exhausted;
    enum proveout_status status;
    const char *trouble;
};

/* What a call asks for; each looks at its own part of the last. */
struct request {
    struct answer *answer;
    struct proveout_options options;
    const char *path;
    struct view bytes;
    struct view before;              /* of the same file */
    bool defers_books;               /* own rulebooks are loaded when the work asks for them */
    const struct rulebook_text *own; /* once they are loaded; the policy's after the options' */
    size_t own_count;
    struct policy policy;
    struct check_options checking;
    const struct rulebook *books[2];
    struct file_reader agreements;
    struct shared_files shared;
    const struct proveout_change *change;
    const struct proveout_wishes *wishes;
    const struct proveout_drawing *drawing;
    const struct proveout_sheet *sheet;
    const struct proveout_setting *settings;
    const char *const *fields;
    size_t count; /* of settings or fields */
};

/* A request with its options, to be worked out once these are looked at. */
struct question {
    struct request request;
    const void *options;
    void (*work)(struct request *);
};

struct arena *request_arena(const struct request *request);

/* Works out an answer of `size` bytes, which begins with a struct answer, once the options have
 * been looked at; NULL where memory runs out on the way. */
void *question_answer(struct question *question, size_t size);

void answer_free(struct answer *answer); /* NULL is fine */

/* Own rulebooks, with the definitions of those built in; false: refused.  Done before the work,
 * unless that is deferred. */
MUST_USE bool request_load_books(struct request *request);

/* The bytes of another file, in `arena`; false: `*why` says why there are none. */
MUST_USE bool request_read(const struct request *request, struct arena *arena, const char *name,
                           size_t limit, struct view *bytes, const char **why);

/* The question has no answer: why. */
void request_refuse(struct request *request, const char *why);

/* Copies what the caller knows of a struct that begins with its size, the rest zero.  False
 * where it has less than `first` bytes, or says something in what is not known here. */
bool request_copy(void *to, size_t size, const void *from, size_t first);

/* How the file was read. */
void request_keep_status(struct request *request, const struct file_report *report);

#endif
