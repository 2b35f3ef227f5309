/* A file's bytes and places in them.
 *
 * Everything that points into a file keeps byte offsets (`struct span`); lines
 * and columns are computed when somebody asks.  Offsets count from the first
 * byte of the file, a byte order mark included.
 *
 * Three kinds of column are in use: bytes (for slicing), code points (for
 * people and JSON) and display cells (for the mark under a line).  All count
 * from 1 except cells, which count from 0 and depend on tab stops every 8.  A
 * byte order mark is no column.
 *
 * Lines end at LF, CRLF or a lone CR, as in YAML.  Bytes that are not UTF-8
 * count as one code point and one cell each.
 */
#ifndef PROVEOUT_TEXT_SOURCE_H
#define PROVEOUT_TEXT_SOURCE_H

#include "base/arena.h"
#include "base/view.h"

#include <stdint.h>

enum {
    /* Larger files are refused (finding too-large); offsets are 32 bits wide. */
    SOURCE_SIZE_MAX = 64 * 1024 * 1024,
};

/* Bytes from `start` up to, not with, `end`. */
struct span {
    uint32_t start, end;
};

/* How far columns were counted last, so that counting goes on from there. */
struct source_count {
    bool is_set;
    uint32_t line;   /* from 0 */
    uint32_t offset; /* in bytes, from the start of the file */
    uint32_t points; /* code points before it in its line */
};

/* A machine may be read from several files.  The offsets of what it is made of then count
 * through all of them: those of the first file as they are, those of another from its `base`.
 */
struct source {
    struct view name;     /* as the user gave it, for messages */
    struct view bytes;    /* the whole file; at most SOURCE_SIZE_MAX */
    uint32_t base;        /* 0: the first, or it stands alone */
    struct source *next;  /* read with it for the same machine, of higher base; or NULL */
    struct source *taker; /* which of them takes it in; NULL: none does */
    struct span taken_at; /* where in it, counted in that file */
    uint32_t *strides;    /* lines that end before each stride of it; built on first use */
    uint32_t line_count;
    struct arena *arena; /* holds `strides` */
    struct source_count kept;
};

/* Line and column, both from 1. */
struct place {
    uint32_t line, column;
};

enum column_kind { COLUMN_BYTES, COLUMN_CODE_POINTS };

/* `name` and `bytes` must outlive the source.  Scans nothing yet. */
void source_init(struct source *source, struct arena *arena, struct view name,
                 struct view bytes);

/* Where an offset lies.  An offset at the end of the bytes is a place too. */
struct place source_place(struct source *source, uint32_t offset, enum column_kind kind);

/* The bytes of line `line` (from 1) without its line end and without a byte order mark. */
struct span source_line(struct source *source, uint32_t line);

/* Joins `other` to those that are read with `first`, after which its offsets count. */
void source_join(struct source *first, struct source *other);

/* The one in which a span lies that counts through all that `first` begins; the span becomes
 * its own.  What stands alone, and any but the first, has its own spans already. */
struct source *source_holding(struct source *first, struct span *span);

/* The text of a span, a view into the bytes. */
struct view source_slice(const struct source *source, struct span span);

/* The offset of a code point counted from the start of the file, the byte order mark not
 * counted: what libyaml's marks give.  `hint` is an offset near it with its own count in
 * `*hint_points` (both 0 at first); both are moved there, so that a pass over a file is linear.
 */
uint32_t source_offset_of_point(const struct source *source, size_t point, uint32_t *hint,
                                size_t *hint_points);

/* Length of the byte order mark at the start: 0 or 3. */
uint32_t source_mark_size(const struct source *source);

static inline struct span span_join(struct span a, struct span b)
{
    return (struct span){a.start < b.start ? a.start : b.start, a.end > b.end ? a.end : b.end};
}

#endif
