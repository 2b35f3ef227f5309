/* One machine file that a command works on: its bytes, and the machine they describe. */
#ifndef PROVEOUT_CLI_MACHINE_FILE_H
#define PROVEOUT_CLI_MACHINE_FILE_H

#include "cli/command.h"
#include "machine/machine.h"
#include "rules/remedy.h"

struct machine_file {
    const char *path;
    struct view bytes;
    struct source source;
    struct finding_sink sink; /* what the reader found */
    struct tree tree;
    struct machine machine;
};

/* Reads the file named, or standard input for `-`.  False: why not has been said. */
MUST_USE bool machine_file_open(struct run *run, const char *path, struct machine_file *out);

/* The same from bytes that are there already; `out` must stay where it is. */
void machine_file_read(struct arena *arena, const char *path, struct view bytes,
                       struct machine_file *out);

/* Does --output name a machine file?  A slip in the order of arguments must not cost anybody
 * one: it is refused, and that has been said. */
MUST_USE bool machine_file_is_output(struct run *run);

/* How many errors the reader found. */
size_t machine_file_errors(const struct machine_file *file);

/* The failures that the file waives, so that they bound no window. */
void machine_file_waived(struct run *run, struct machine_file *file, struct runner *runner,
                         struct instance_list *out);

/* A sentence without a full stop: there is no such field, or no such record of it in the file.
 */
const char *machine_file_no_place(struct arena *arena, const struct machine_file *file,
                                  const char *path);

#endif
