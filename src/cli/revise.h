/* A revision of one machine file: values changed in memory, shown, and written if wished. */
#ifndef PROVEOUT_CLI_REVISE_H
#define PROVEOUT_CLI_REVISE_H

#include "cli/lines.h"
#include "cli/books.h"

/* A file beside the machine's that the same yes writes. */
struct companion {
    const char *path; /* NULL: there is none */
    bool is_new;
    struct view before, now;
};

struct revision {
    struct run *run;
    const char *path;
    struct books books;
    const struct machine_file *before; /* as it is on the disk */
    struct machine_file *now;          /* as it would be */
    struct lines *lines;
    bool reunited;                  /* every length is in another unit */
    bool asked;                     /* by a dialogue, which stands above the difference */
    struct companion companion;
    struct buffer remarks;          /* said after the difference */
    VECTOR(struct field_place) set; /* what was set, in order */
};

/* Reads the machine file at `path` for a revision of it; NULL: said why not. */
struct revision *revise_open(struct run *run, const char *path);

/* Shows what changes and what that moves, and writes it if that is wished.  Returns how the
 * program ends. */
enum exit_status revise_finish(struct revision *revision);

/* Sets one value; `text` as people type it.  NULL on success, else what is wrong, in one
 * sentence without a full stop; the revision is as it was then. */
MUST_USE const char *revise_set(struct revision *revision, const struct field_place *place,
                                struct view text);

/* Writes what puts a finding of the reader right, in the file in which it stands; else as
 * revise_set. */
MUST_USE const char *revise_amend(struct revision *revision, const struct finding *finding,
                                  const struct finding_fix *fix);

/* Writes what is sure about a file that could not be read to its end. */
void revise_put_form_right(struct revision *revision);

/* Puts right what failed, as far as that is sure or chosen, and adds what is left to the
 * remarks. */
void revise_put_right(struct revision *revision);

/* The path of a value as people read it: "cutters[number=3].stickout". */
const char *revise_path(const struct revision *revision, const struct field_place *place);

/* How asking ended. */
enum revise_end {
    REVISE_ASKED,
    REVISE_STOPPED, /* the answers came to an end, or somebody said stop: nothing is written */
    REVISE_REFUSED  /* there is nothing to ask for; said why */
};

/* Asks for values, line by line, as the words of the command line say, of which `*used` are
 * spent: a thing that was moved ("setter", or "setter left" of several), or a field; with no
 * words the fields are asked for too. */
enum revise_end revise_ask(struct revision *revision, const char *const *words, size_t count,
                           size_t *used);

/* Prints the difference, and what moves between the file as it is and `after`, as it would be.
 */
void revise_show(const struct revision *revision, const struct file_report *after);

/* Prints the difference that one file shows: escaped at a terminal, else as patch takes it. */
void revise_show_difference(const struct revision *revision, const char *path,
                            struct view before, struct view now);

/* Adds to `out` a line of a log for each value that changes; see cli/change_log.h. */
void revise_log_lines(const struct revision *revision, struct buffer *out);

/* Does it change anything? */
bool revise_changes(const struct revision *revision);

/* Is it to be written: by an option, or by a word at the terminal?  Says where it is not. */
bool revise_may_write(struct revision *revision);

/* Writes it, over the files that are there, or as the new file that --output names.  False:
 * said why not. */
MUST_USE bool revise_save(struct revision *revision);

/* Why the reason that --why gives has nowhere to go; NULL: it has, or none is given. */
MUST_USE const char *revise_refuse_why(const struct revision *revision);

/* Why the file that --output names cannot be written; NULL: it can, or none is named. */
MUST_USE const char *revise_refuse_output(struct run *run);

/* Checks a file of the revision, every instance listed. */
void revise_check(const struct revision *revision, const struct machine_file *file,
                  struct file_report *out);

/* The same with what would put right what fails, and with the one number that may stand behind
 * several failures. */
void revise_check_thoroughly(const struct revision *revision, const struct machine_file *file,
                             struct file_report *out);

/* The same again with the small changes that were tried and would do; this takes longest. */
void revise_check_with_changes(const struct revision *revision, const struct machine_file *file,
                               struct file_report *out);

#endif
