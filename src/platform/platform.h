/* What the program asks of the system that it runs on: files and folders, putting a file into its
 * place, lines that people type, other programs, the terminal, the clock.
 *
 * posix/ and windows/ each have all of it; what stands beside this header is the same on both.
 * Nobody else includes a header of a system.
 *
 * Paths are UTF-8 with `/` between their parts, on Windows too: platform_begin and path_typed see
 * to what people type there.  Files that are open have descriptors, as in C's own <fcntl.h>; what
 * is read or written through them is bytes, never translated.  A call that fails says why in
 * `errno`, in the numbers of error_reason; one that a signal breaks off is made again.
 */
#ifndef PROVEOUT_PLATFORM_PLATFORM_H
#define PROVEOUT_PLATFORM_PLATFORM_H

#include <stdint.h>

#include "base/arena.h"
#include "base/bug.h"
#include "base/view.h"

/* --- beginning and ending --- */

/* To be called first in main, with its arguments; gives them back as UTF-8.  Makes sure that the
 * standard descriptors are open, and that a write which cannot be done fails instead of ending the
 * program. */
char **platform_begin(int *count, char **arguments);

/* Was the program started by itself, into a window that closes with it? */
bool platform_is_alone(void);

/* An errno in plain words, without a full stop: "there is no such file". */
const char *error_reason(struct arena *arena, int error);

enum { STANDARD_INPUT, STANDARD_OUTPUT, STANDARD_ERROR }; /* descriptors */

/* --- paths --- */

/* A path as people type it, with `/` between its parts. */
const char *path_typed(struct arena *arena, const char *path);

/* The folder in which `path` lies: "." where it names none. */
const char *path_parent(struct arena *arena, const char *path);

/* Does it begin at a root, and mean the same from every folder? */
bool path_is_whole(const char *path);

/* Does its last part end so, in whatever case and behind something? `extension` begins with a full
 * stop. */
bool path_has_extension(const char *path, const char *extension);

/* What is wrong with one part of a path that a stranger wrote, to be looked for below a folder:
 * NULL, or a few words.  No part of what Windows takes for a device, a stream or a drive, on any
 * system: the file that names it may be checked elsewhere too. */
const char *path_wrong_part(struct view part);

/* From a root, without links.  NULL: there is no such thing. */
const char *path_whole(struct arena *arena, const char *path);

/* The folder that the program runs in.  NULL: it has none. */
const char *path_here(struct arena *arena);

/* The folder for what is kept between runs, which may not be there yet.  NULL, and in `*why` the
 * reason: the surroundings name none. */
const char *path_state(struct arena *arena, const char **why);

/* --- files and folders --- */

enum file_kind {
    FILE_PLAIN,
    FILE_FOLDER,
    FILE_LINK, /* only where links are not followed; on Windows every point that leads elsewhere */
    FILE_OTHER
};

/* Two names are of one file where these are the same. */
struct file_identity {
    uint64_t volume, number;
};

struct file_about {
    enum file_kind kind;
    uint64_t size;
    struct file_identity identity;
};

/* False, and errno: there is no such thing, or it may not be looked at. */
bool file_about(const char *path, struct file_about *out);
bool file_about_link(const char *path, struct file_about *out); /* of a link itself */
bool file_about_open(int file, struct file_about *out);

/* Is anything called so, be it a link that leads nowhere? */
bool file_is_there(const char *path);
bool file_is_folder(const char *path);
bool file_is_plain(const char *path);

bool file_is_identical(const struct file_identity *a, const struct file_identity *b);

/* Are both there, and the same? */
bool file_is_same(const char *a, const char *b);

/* Opens a file to be read, or what is no plain file to be written to.  -1, and errno. */
MUST_USE int file_open(const char *path);
MUST_USE int file_open_device(const char *path);

/* Opens a file to be read that lies below `folder`: no link is followed on the way to it, and
 * none that it is itself.  `path` has passed path_wrong_part in every part.  -1, and errno; ELOOP
 * or ENOTDIR where a link, or what is no folder, is on the way. */
MUST_USE int file_open_below(struct arena *arena, const char *folder, struct view path);

/* Opens a file that lines are added to, and makes it where it is not there.  `links`: even
 * through a link; else that fails with ELOOP. */
MUST_USE int file_open_log(const char *path, bool links);

/* Up to `size` bytes, 0 at the end; from `at` on without moving.  -1, and errno. */
MUST_USE ptrdiff_t file_read(int file, void *room, size_t size);
MUST_USE ptrdiff_t file_read_at(int file, void *room, size_t size, uint64_t at);

/* Writes all of it.  0, or the errno. */
MUST_USE int file_write(int file, struct view text);

/* Sees to it that what was written is on the disk.  0, or the errno. */
MUST_USE int file_sync(int file);

/* 0, or the errno. */
int file_close(int file);

/* Hands over the names in a folder, in no order, without those of itself and the one above.  0, or
 * the errno. */
MUST_USE int folder_list(const char *folder, void (*add)(void *user, const char *name),
                         void *user);

/* Makes a folder for this user alone, and those above that are not there. */
MUST_USE bool folder_make(struct arena *arena, const char *path);

bool file_remove(const char *path);

/* Gives it another name in the same folder; what was called so is gone. */
MUST_USE bool file_rename(const char *from, const char *to);

/* --- putting a file into its place ---
 *
 * The text is written under another name beside it, synced, given the rights of the file that is
 * replaced, and renamed, so that a run that fails or is stopped leaves what was there.  Of a link
 * the target is replaced.  A file is not replaced where it has changed meanwhile, where it would
 * be parted from a hard link, or where its owner, its rights or one of its attributes would be
 * lost; and one that has appeared meanwhile is not written over.
 *
 * What the path leads to may change: the folder and the file are held from save_open on.
 */

enum save_kind {
    SAVE_NEW,   /* must not be there */
    SAVE_OLD,   /* must be there */
    SAVE_EITHER /* may be there */
};

struct save;

/* Begins; the caller writes to save_file, and goes on with save_finish or save_drop.  A file that
 * is not there yet is made for everybody, or `is_private` for this user alone.  NULL on success,
 * else why not in one sentence, with nothing left to be closed. */
MUST_USE const char *save_open(struct save **out, struct arena *arena, const char *path,
                               enum save_kind kind, bool is_private);

/* The descriptor to write to. */
int save_file(const struct save *save);

/* The file that would be replaced; NULL: there is none. */
const struct file_identity *save_replaces(const struct save *save);

/* Puts what was written into its place; `before`, unless NULL, is what the old file must still
 * say.  NULL on success, else why not, and what was there is as it was. */
MUST_USE const char *save_finish(struct save *save, const struct view *before);

/* Gives it up.  NULL, or in one sentence why its unfinished file stays behind. */
const char *save_drop(struct save *save);

/* Takes away the unfinished files of this process.  For a signal handler, too. */
void save_abandon(void);

/* All of it at once: `after` in the place of a file that said `before`; as a file that is not
 * there yet; or for this user's eyes alone, whether it is there or not. */
MUST_USE const char *save_over(struct arena *arena, const char *path, struct view before,
                               struct view after);
MUST_USE const char *save_new(struct arena *arena, const char *path, struct view bytes);
MUST_USE const char *save_private(struct arena *arena, const char *path, struct view bytes);

/* --- lines that people type ---
 *
 * Three readers: a plain one for everything; one with editing, history and completion for
 * terminals that can do so; on Windows one for its consoles.  What ends a dialogue from outside
 * (a signal, a window that is closed) is waited for together with the input, and ends the line
 * that is being read, so that nothing of it is lost between two looks and the answers so far can
 * be kept: on Windows the window stays until the program has ended by itself.
 */

enum { LINE_SIZE_MAX = 4096 };

enum line_result {
    LINE_READ,
    LINE_END,       /* of the input */
    LINE_TOO_LONG,  /* and nothing of it is kept */
    LINE_INTERRUPT, /* Ctrl-C */
    LINE_HANGUP,    /* the terminal or the window is gone, or the program is told to end */
    LINE_UNSEEN,    /* what is shown reaches nobody any more */
    LINE_FAILED     /* the input cannot be read */
};

/* Words that complete the one being typed, ended by NULL; in `arena`. */
struct line_words {
    const char *const *(*list)(void *user, struct arena *arena); /* NULL: there are none */
    void *user;
};

/* What is read from, and where the questions are shown. */
struct line_place {
    int in, out;
    bool may_edit; /* the surroundings let lines be edited, if the terminal can */
    struct line_words words;
};

struct line_reader;

/* Never NULL.  From here on to line_close interrupts end lines and not the program. */
struct line_reader *line_open(struct arena *arena, const struct line_place *place);

/* Shows `> ` where somebody types, and reads a line without its end; it lives until the next. */
MUST_USE enum line_result line_read(struct line_reader *reader, struct view *out);

/* Leaves the terminal as it was found. */
void line_close(struct line_reader *reader);

/* --- other programs --- */

struct process {
    intptr_t id;
};

/* Starts a program that is found as a shell finds it, with nothing to read; its standard error is
 * ours.  `arguments` ends with NULL.  0 with the descriptor of what it writes, which the caller
 * closes; else the errno, ENOENT where there is no such program. */
MUST_USE int process_start(struct process *process, const char *const *arguments, int *out);

/* Waits for its end.  Did it end well? */
bool process_end(struct process *process);

/* Is there a process with this number? */
bool process_is_there(long id);

/* --- a dialogue with another program over standard input and output ---
 *
 * Whatever comes is taken in even while the other does not read: two that wait for each other
 * with full pipes would wait for ever.
 */

enum { TALK_IN = 1, TALK_OUT = 2 };

/* Waits up to `ms` for one of those in `wanted`, and tells which can be gone on with; 0: none
 * yet; -1: it has failed. */
int talk_wait(int wanted, int ms);

/* What has come, 0 at the end; and some of what is to go out, how much.  -1: it has failed. */
MUST_USE ptrdiff_t talk_take(void *room, size_t size);
MUST_USE ptrdiff_t talk_give(struct view text);

/* --- terminal and surroundings --- */

bool terminal_is(int file);

/* How many cells are in a line; 0: nobody knows. */
size_t terminal_width(int file);

/* Does it show colours, and letters beyond ASCII? */
bool terminal_takes_color(int file);
bool terminal_takes_unicode(int file);

/* May lines be edited at this one, with `out` for what is shown? */
bool terminal_edits(int in, int out);

/* Seconds from a point in the past that stays where it is. */
double clock_steady(void);

/* Today by the clock of the wall, as `2026-03-14`.  False: nobody knows. */
bool clock_day(char out[16]);

/* How many threads can run at once, at least 1. */
size_t processors(void);

#endif
