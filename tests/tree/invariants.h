/* What must hold for every tree that was read, whatever was in the file. */
#ifndef PROVEOUT_TESTS_TREE_INVARIANTS_H
#define PROVEOUT_TESTS_TREE_INVARIANTS_H

#include "tree/tree.h"

/* NULL where all holds; else what does not, with `*where` in the file. */
const char *tree_fault(const struct tree *tree, struct span *where);

/* The same for what was reported. */
const char *findings_fault(const struct finding_sink *sink, struct span *where);

#endif
