/* The machines of a run that share files: which take in which, and what is no machine by
 * itself.
 *
 * Looked through before anything is checked, since what one machine says of a cutter is asked
 * of the next.
 */
#ifndef PROVEOUT_CLI_SHOP_H
#define PROVEOUT_CLI_SHOP_H

#include "cli/input.h"
#include "machine/file.h"
#include "platform/platform.h"
#include "rules/check.h"

/* A machine file that takes in others, read; NULL where it takes in nothing, is no machine file
 * or cannot be read.  `root` as in shelf_set. */
struct machine_file *shop_read(struct arena *arena, const struct input *input,
                               const char *root);

/* Is `path` among the files from which a machine was read, by whatever name? */
bool shop_takes(struct arena *arena, const struct machine_file *file, const char *path);

/* What is known of one file of a run; not what it says, of which there may be too much. */
struct shop_member {
    bool shares;                       /* it takes in others, or they take it in */
    const struct file_identity *taken; /* those that it takes in */
    size_t taken_count;
    struct file_identity own;
    const char *shared_by; /* it is no machine by itself, and these take it in; or NULL */
    const struct shared_cutters *cutters; /* what machines before it, that share with it, say
                                             otherwise of its cutters; NULL: nothing */
};

/* Is `path` among the files of which this machine is read, itself included? */
bool shop_member_uses(const struct shop_member *member, const char *path);

/* Looks through the files of a run; an array as long as the list, in `arena`. */
struct shop_member *shop_survey(struct arena *arena, const struct file_list *files,
                                const char *root);

#endif
