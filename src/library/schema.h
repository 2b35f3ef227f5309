/* JSON Schemas, draft 2020-12, of the files that people write: for editors, and for programs
 * that write such files.  They are made of the tables by which the files are read.
 *
 * A schema holds for a file as a YAML reader gives it, whether that makes numbers and truth
 * values of plain texts or leaves them texts; what has no value is null.  What it refuses is a
 * mistake; what it takes need not be without, since names, order and sizes are not in it.
 */
#ifndef PROVEOUT_LIBRARY_SCHEMA_H
#define PROVEOUT_LIBRARY_SCHEMA_H

#include "base/bug.h"
#include "base/buffer.h"

/* Every kind of file that has a schema, the first where none is named: KIND(name, "what it is
 * called"), with AND between them.  Each is written by schema_add_NAME(). */
#define SCHEMA_KINDS(KIND, AND)                                                                \
    KIND(machine, "machine file")                                                              \
    AND KIND(rulebook, "rulebook")                                                             \
    AND KIND(policy, "policy of a folder")                                                     \
    AND KIND(known, "file of known findings")                                                  \
    AND KIND(agreements, "list of agreements of a shop")

#define SCHEMA_WORD(name, called) #name
/* "machine|rulebook", as a literal. */
#define SCHEMA_WORDS SCHEMA_KINDS(SCHEMA_WORD, "|")

/* Adds the schema of a kind; NULL: of the first.  False where there is no such kind; then
 * nothing is added. */
MUST_USE bool schema_write(struct buffer *out, const char *kind);

#endif
