/* One machine file: its bytes read, its values found, told and set.
 *
 * Functions that may refuse return why, a sentence without a full stop in `arena`, and NULL
 * otherwise.
 */
#ifndef PROVEOUT_MACHINE_FILE_H
#define PROVEOUT_MACHINE_FILE_H

#include "machine/machine.h"
#include "tree/compose.h"

/* Another file with new bytes, as it would be saved. */
struct edited_file {
    struct view path; /* from the root of what is shared */
    const char *name; /* as people call it */
    struct view before, now;
};

struct edited_files {
    VECTOR(struct edited_file) items;
};

struct machine_file {
    const char *path;
    struct view bytes;
    struct source source;
    struct finding_sink sink;          /* what the reader found */
    const struct shared_files *shared; /* where it takes parts from; NULL: nothing is given */
    struct tree own;                   /* what stands in this file */
    struct tree tree;                  /* the same with what it takes in */
    struct machine machine;
    struct edited_files edited; /* those that it takes in and were set to something else */
};

/* Reads bytes and what they take in from `shared` (NULL: nothing is given); all of these must
 * outlive it, and `out` must stay where it is. */
void machine_file_read(struct arena *arena, const char *path, struct view bytes,
                       const struct shared_files *shared, struct machine_file *out);

/* How many errors the reader found. */
size_t machine_file_errors(const struct machine_file *file);

/* Finds the one value that a path as people type it stands for. */
MUST_USE const char *machine_file_find(struct arena *arena, const struct machine_file *file,
                                       const char *path, struct field_place *out);

/* There is no such field, or no such record of it in the file. */
const char *machine_file_no_place(struct arena *arena, const struct machine_file *file,
                                  const char *path);

/* The path of a value as output has it, and its present text ("" where none is given). */
const char *machine_file_path(struct arena *arena, const struct machine_file *file,
                              const struct field_place *place);
const char *machine_file_text(struct arena *arena, const struct machine_file *file,
                              const struct field_place *place);

/* The other file, as people call it, in which a value stands or would have to; NULL: none, it
 * is in the machine's own. */
const char *machine_file_elsewhere(struct arena *arena, const struct machine_file *file,
                                   const struct field_place *place);

/* Which file a value is set in. */
enum set_where {
    SET_AT_HOME, /* where it stands; what stands nowhere yet, in the machine's own file */
    SET_HERE     /* in the machine's own file, over what stands in another */
};

/* Sets one value, `text` as people type it: `*file` is then another that has it. */
MUST_USE const char *machine_file_set(struct arena *arena, struct machine_file **file,
                                      const struct field_place *place, struct view text,
                                      enum set_where where);

/* The bytes of the file with every length in `unit`, to a tenth of a micrometre; a tolerance is
 * not made smaller.  Lengths in that unit, comments, layout and all else stay. */
MUST_USE const char *machine_file_in_unit(struct arena *arena, const struct machine_file *file,
                                          unit_id unit, struct view *bytes);

/* The file as it is when it has other bytes. */
struct machine_file *machine_file_with(struct arena *arena, const struct machine_file *file,
                                       struct view bytes);

/* Writes `text` in the place of `span`: `*file` is then another that has it.  `source` is that
 * of a file, of this one or of one that it takes in, with the bytes that this has now. */
void machine_file_amend(struct arena *arena, struct machine_file **file,
                        const struct source *source, struct span span, struct view text);

/* Writes a value that is known to be one: `*bytes` are then those of `tree` with it at `path`.
 * `list`: it stands in brackets, with or without which `text` comes; a list laid out one item a
 * line stays so where its items are as many as before, and their comments stay with them. */
MUST_USE const char *field_write(struct arena *arena, const struct tree *tree, const char *path,
                                 struct view text, bool list, struct view *bytes);

#endif
