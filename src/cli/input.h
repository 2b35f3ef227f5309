/* Reading a file, standard input, or what a machine file refers to, whole into memory; and
 * which files a command line means. */
#ifndef PROVEOUT_CLI_INPUT_H
#define PROVEOUT_CLI_INPUT_H

#include "base/arena.h"
#include "base/bug.h"
#include "base/vector.h"
#include "rules/agree.h"
#include "tree/compose.h"

enum input_status {
    INPUT_READ,
    INPUT_FAILED,      /* `why` is set */
    INPUT_PASSED_OVER, /* no machine file, though called like one */
};

struct input {
    const char *path;
    bool walked;         /* found in a folder: passed over where it is no machine file */
    bool standard;       /* standard input, called `path` */
    const char *from;    /* the folder that it was found in, as it was named; or NULL */
    const char *failure; /* what went wrong already while looking for it; or NULL */
};

/* Reads at most one byte more than a machine file may have.  The bytes are in `arena`. */
MUST_USE enum input_status input_read(const struct input *input, struct arena *arena,
                                      struct view *bytes, const char **why);

/* The whole of an open file, which is closed, up to `most` bytes; false: `why` is set. */
MUST_USE bool input_read_open(int file, size_t most, struct arena *arena, struct view *bytes,
                              const char **why);

/* The whole of a named file, up to `most` bytes; false: `why` is set. */
MUST_USE bool input_read_file(const char *path, size_t most, struct arena *arena,
                              struct view *bytes, const char **why);

/* Reads files that lie beside a machine file or below, and nothing else: no absolute path, no
 * `..`, no link on the way.  `path` is the machine file's and must outlive the reader's use. */
struct beside {
    const char *path;
};
bool beside_read(void *user, struct arena *arena, struct view path, struct view *bytes,
                 const char **why);

/* The path of `file` from `folder`, below which it has to lie, wherever both are named from.  NULL,
 * or why there is none. */
MUST_USE const char *input_below(struct arena *arena, const char *folder, const char *file,
                                 const char **out);

/* The files that machine files take in: below one folder, and nothing else, as above. */
struct shelf {
    const char *folder; /* NULL: there is none, `why` says why not */
    const char *why;
    struct shared_files files;
};

/* Sets up what the machine file `input` may take in: what lies below `root`, or where that is
 * NULL in its own folder.  The shelf must stay where it is. */
void shelf_set(struct shelf *shelf, struct arena *arena, const struct input *input,
               const char *root);

struct file_list {
    VECTOR(struct input) items;
    size_t ignored; /* files and folders that a pattern left out: see cli/ignore.h */
};

/* The folder in which `path` lies, in `arena`: "." where it names none. */
const char *input_folder_of(struct arena *arena, const char *path);

/* Is it *.yaml or *.yml, in whatever case? */
bool input_is_called_yaml(const char *name);

/* Adds what `argument` stands for: itself, standard input for `-` (called `name`), or in a
 * folder all that is called *.yaml or *.yml, by path.  Links to folders are not followed inside
 * a folder. A folder that cannot be looked into is in the list with its failure. */
void files_add(struct file_list *list, struct arena *arena, const char *argument,
               const char *name);

#endif
