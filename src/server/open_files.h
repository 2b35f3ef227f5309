/* The files that an editor has open: their texts as they are there, changed as it says.
 *
 * What the editor says of a text can be lost on the way, or be more than is kept.  Such a text
 * is never taken for the file: `trouble` says why not, until the whole of it comes again.
 */
#ifndef PROVEOUT_SERVER_OPEN_FILES_H
#define PROVEOUT_SERVER_OPEN_FILES_H

#include <proveout/editing.h>

#include "base/vector.h"
#include "server/lines.h"

enum {
    OPEN_FILES_MAX = 500,
    OPEN_SIZE_MAX = 64 * 1024 * 1024,   /* of one text: as a machine file */
    OPEN_SIZES_MAX = 256 * 1024 * 1024, /* of all texts */
    TOUCHED_MAX = 256,                  /* places kept apart; beyond that they are joined */
};

enum open_trouble {
    OPEN_FINE,
    OPEN_TOO_LARGE, /* the text is not here */
    OPEN_LOST,      /* it may not be what the editor has */
};

/* Another file, as a check read it. */
struct other_file {
    const char *path;  /* absolute */
    struct view bytes; /* none where it could not be read */
    bool was_read;
    const char *why;    /* not */
    struct lines lines; /* of the bytes */
};

struct open_file {
    struct arena arena; /* holds all but what `checked` holds */
    const char *uri;    /* as the editor writes it */
    const char *path;   /* NULL: it is no file on this computer */
    const char *name;   /* for messages: the path, or what it is called */
    bool has_version;
    long long version;
    char *text;
    size_t size, room;
    enum open_trouble trouble;
    bool mended; /* what the editor sent was not all characters */

    /* What was changed since it was opened, in order. */
    struct proveout_span touched[TOUCHED_MAX + 1];
    size_t touched_count;

    /* The check. */
    struct arena checked;               /* for what the check read */
    struct proveout_document *document; /* of the text as it is; NULL: not looked at yet */
    bool is_quick;                      /* asked of the document */
    struct lines lines;                 /* of the text, while there is a document */
    VECTOR(struct other_file) others;

    bool is_due;       /* to be told anew */
    bool is_unsettled; /* to be looked at more closely in a pause */
    bool was_known;    /* it has been a machine file or rulebook since it was opened */
    bool is_shown;     /* the editor shows something of it */
    struct view told;  /* what was told last, in `telling` */
    long long told_version;
    struct arena telling;
};

struct open_files {
    struct arena *arena;
    const struct arena_host *host; /* of the arenas of each */
    VECTOR(struct open_file *) items;
    size_t sizes; /* of all texts */
};

/* Opens one, or gives an open one a new text.  NULL: too many are open. */
struct open_file *open_files_add(struct open_files *files, const char *uri, struct view text);

/* NULL: it is not open. */
struct open_file *open_files_find(const struct open_files *files, const char *uri);
struct open_file *open_files_at(const struct open_files *files, const char *path);

void open_files_close(struct open_files *files, struct open_file *file);
void open_files_end(struct open_files *files);

/* Gives it another text as a whole. */
void open_file_replace(struct open_files *files, struct open_file *file, struct view text);

/* Puts `text` in the place of some bytes. */
void open_file_change(struct open_files *files, struct open_file *file,
                      struct proveout_span span, struct view text);

struct view open_file_text(const struct open_file *file);

/* What was looked at is no longer so. */
void open_file_forget(struct open_file *file);

#endif
