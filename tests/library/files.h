/* Files for questions that an editor asks. */
#ifndef PROVEOUT_TESTS_LIBRARY_FILES_H
#define PROVEOUT_TESTS_LIBRARY_FILES_H

#include <proveout/editing.h>

#include <stdbool.h>

struct file {
    const char *name;
    char *bytes; /* terminated behind the last */
    size_t size;
};

/* Every sample machine, one after another; NULL behind the last.  Good until the end. */
const struct file *files_samples(size_t *count);

/* One of them by its name. */
const struct file *files_sample(const char *name);

/* A document of it, opened quickly, which reads no other file. */
struct proveout_document *files_open(const struct file *file);
struct proveout_document *files_open_text(const char *text);

/* The bytes with edits made; the caller frees them. */
struct file files_edited(const struct file *file, const struct proveout_edits *edits);

#endif
