/* The policies of a run: found from each machine file upwards, read once each. */
#ifndef PROVEOUT_CLI_SHOP_POLICY_H
#define PROVEOUT_CLI_SHOP_POLICY_H

#include "cli/books.h"
#include "cli/input.h"
#include "cli/since.h"
#include "rules/own.h"

/* A policy, with the rulebooks that are asked where it holds. */
struct shop_policy {
    struct policy policy;
    struct books books;
};

struct shop_policies {
    VECTOR(const struct shop_policy *) items; /* each once */
    const struct shop_policy **files;         /* of each file of the run; NULL: it has none */
};

/* What is asked of the machine file `path`, which need not be there yet: the rulebooks of the
 * run, and the policy of its folder with those that it names.  Standard input (a dash) and NULL
 * have no policy.  False: what is wrong has been said. */
MUST_USE bool shop_books_load(struct run *run, const char *path, struct books *out);

/* Finds and reads the policy of each file: the nearest one in its folder or above, up to the
 * folder of --root, else to that which was searched.  `books`: what the run names besides.
 * False: what is wrong has been said. */
MUST_USE bool shop_policies_read(struct run *run, const struct books *books,
                                 const struct file_list *files, struct shop_policies *out);

/* Has the policy, or a rulebook that it names, changed since the revision of file `index`? */
bool shop_policy_changed(struct arena *arena, const struct shop_policy *policy,
                         const struct since *since, size_t index);

/* Adds each policy, and the files for which it holds. */
void shop_policies_tell(struct buffer *out, const struct shop_policies *policies,
                        const struct file_list *files);

#endif
