/* Private to `tree`: the state of one reading, shared by its parts.
 *
 *     read.c    bytes to events     locate.c  where they stand     build.c  events to nodes
 *     syntax.c  what libyaml objects to                   path.c    paths: cutters[2].stickout
 *     compose.c, merge.c  one tree of several files       home.c    and back to one of them
 */
#ifndef PROVEOUT_TREE_INTERNAL_H
#define PROVEOUT_TREE_INTERNAL_H

#include "tree/tree.h"

#include <yaml.h>

/* A list or map whose end has not been reached. */
struct frame {
    struct tree_node *node;
    struct tree_node *last;    /* its last child so far */
    struct tree_node *waiting; /* of a map: the child that has its key and not yet its value */
    bool key_is_bad;           /* not a text: the value is read and forgotten */
    bool is_key;               /* stands itself where its parent wants a key */
    uint32_t height;           /* most lists and maps within each other below it */
    int anchor;                /* index of its name, or -1 */
};

/* A name given with `&`. */
struct anchor {
    struct view name;
    struct tree_node *node;
    uint64_t size;   /* nodes in it, aliases followed; its start value while it is open */
    uint32_t height; /* lists and maps within each other, itself with */
    bool is_open;    /* its end has not been reached */
};

/* A stretch of characters of one length in UTF-8: in it, a mark is an offset by a
 * multiplication. */
struct run {
    uint32_t point;  /* the first one's number, as marks count */
    uint32_t offset; /* where it stands */
    uint32_t width;  /* bytes of each */
    uint32_t count;  /* how many; of the last one, as many as there may be */
};

enum { RUNS_MAX = 4096 };

struct reader {
    struct arena *arena;
    struct source *source;
    struct finding_sink *sink;
    yaml_parser_t parser;
    yaml_event_t event; /* the last */

    struct view bytes; /* what libyaml sees: the file without its byte order mark */
    uint32_t base;     /* bytes before that */
    bool is_cut;       /* ends before something already reported: no further findings */

    VECTOR(struct run) runs; /* the whole file, up to RUNS_MAX */
    struct run run;          /* in which the last mark lay */
    uint32_t hint;           /* of source_offset_of_point, where the runs are too many */
    size_t hint_points;

    struct frame *frames; /* TREE_DEPTH_MAX */
    size_t depth;
    struct tree_node *root;
    VECTOR(struct anchor) anchors;
    size_t alias_count;
    uint64_t size; /* nodes so far, aliases followed */

    struct tree_node *room; /* nodes not yet used */
    size_t room_left, room_next;
    bool has_merge_keys;
    bool is_whole;  /* the end of the document was reached */
    bool is_mended; /* `bytes` is a copy in which harmless tabs are blanks */
};

/* Takes one event in; false where the reading ends: `is_whole`, or something was reported. */
bool build_event(struct reader *reader, const yaml_event_t *event);
/* Closes the innermost list or map, whose bracket ends at `end` (0: it has none). */
void build_close(struct reader *reader, uint32_t end);

/* Notes that the character at `offset` has `width` bytes; called for every one whose width
 * differs from that of the one before it, in order. */
void locate_note(struct reader *reader, uint32_t offset, uint32_t width);

/* As locate_mark, for a mark outside the run of the last one. */
uint32_t locate_far(struct reader *reader, size_t index);

/* The byte offset of a mark, by its index.  Marks that follow each other in the file cost
 * little. */
static inline uint32_t locate_mark(struct reader *reader, size_t index)
{
    const struct run *run = &reader->run;
    size_t steps = index - run->point;
    if (steps < run->count)
        return run->offset + (uint32_t)steps * run->width;
    return locate_far(reader, index);
}

static inline struct span locate_span(struct reader *reader, const yaml_event_t *event)
{
    struct span span;
    span.start = locate_mark(reader, event->start_mark.index);
    span.end = locate_mark(reader, event->end_mark.index);
    return span;
}

static inline bool is_blank(char c)
{
    return c == ' ' || c == '\t';
}

static inline bool is_break(char c)
{
    return c == '\n' || c == '\r';
}

/* From `at` past blanks, line ends and comments. */
uint32_t skip_to_content(struct view bytes, uint32_t at);
/* From `at` past `&name` and `!tag`, to what they belong to; `*end` is where the last one ends.
 */
uint32_t skip_properties(struct view bytes, uint32_t at, int count, uint32_t *end);
/* Where the empty value of a key that ends at `at` stands: after its colon, which lies before
 * `next` where it has one. */
uint32_t after_colon(struct view bytes, uint32_t at, uint32_t next);
/* Cuts the empty lines after a `|` or `>` text off its span. */
struct span trim_block_text(struct view bytes, struct span span, bool is_empty);
/* Start and end of the line around `at`, its line end not with. */
struct span line_around(struct view bytes, uint32_t at);

enum step_kind { STEP_KEY, STEP_INDEX, STEP_WHERE };

/* One step of a path: `name`, `[2]` or `[number=3]`. */
struct step {
    enum step_kind kind;
    struct view key;   /* the name; of STEP_WHERE what stands before its `=` */
    struct view value; /* of STEP_WHERE */
    uint32_t index;    /* of STEP_INDEX */
};

/* Takes the next step off `*path` (not empty), as it reads at `node`, whose keys may hold
 * points themselves (NULL: at nothing).  False, with nothing taken, where it is none. */
MUST_USE bool step_take(struct view *path, const struct tree_node *node, struct step *out);

/* The child to which a step leads; NULL where there is none. */
const struct tree_node *step_follow(const struct tree_node *node, const struct step *step);

/* Reports libyaml's error; returns where it lies, for dropping the value it spoils. */
uint32_t report_syntax(struct reader *reader);

/* Reports a text that should have been a key. */
void report_no_colon(struct reader *reader, struct span text);

/* Reports a line with `%` where none may be. */
void report_directive(struct reader *reader, uint32_t at);

/* Did libyaml stumble over a tab in front of nothing but a line's end or a comment? */
bool is_harmless_tab(struct reader *reader);

#endif
