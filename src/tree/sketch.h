/* What a file looks like, as far as its lines tell: for questions that are asked while somebody
 * types, when YAML does not go on behind the mistake at hand.
 *
 * Nothing is reported and nothing refused: what a line is belongs to is told by how far in it
 * stands, a bracket that is never closed ends where a key stands as far out as what it belongs
 * to, and what makes no sense is a bare text.  Of a file without a mistake of form the nodes,
 * keys, texts and places are those of tree.h, with the spelling of escapes left as it is.  What
 * it says is the tree's to know.
 */
#ifndef PROVEOUT_TREE_SKETCH_H
#define PROVEOUT_TREE_SKETCH_H

#include "base/vector.h"
#include "text/source.h"

enum sketch_kind { SKETCH_NOTHING, SKETCH_TEXT, SKETCH_ALIAS, SKETCH_MAP, SKETCH_LIST };

struct sketch_node {
    uint8_t kind;          /* enum sketch_kind */
    bool flow;             /* in brackets */
    bool open;             /* in brackets that are never closed */
    bool plain;            /* of a text: without quotes, and no block of lines */
    bool bare;             /* where a key would stand: a text without a colon, or half a key */
    uint32_t count, index; /* children; which of its parent's, from 0 */
    uint32_t column;       /* of its children's keys or dashes, in lines; of lists and maps */
    uint32_t start;        /* where it begins: its dash, its key, or its value */
    struct span span;      /* the value; empty where there is none, behind the colon or dash */
    struct span key_span;  /* with its quotes; empty: no key */
    struct span anchor;    /* the name behind &; empty: none */
    struct view key, text; /* without quotes; of an alias its name */
    struct sketch_node *parent, *first, *last, *next;
};

struct sketch {
    struct arena *arena;
    struct source *source;
    struct sketch_node root;
    struct {
        struct span *items;
        size_t count, capacity;
    } comments; /* from their # to the end of the line, in order */
};

enum { SKETCH_DEPTH_MAX = 64 }; /* brackets within each other; what is deeper is text */

/* Sketches `source`, of its own, in `arena`. */
void sketch_read(struct sketch *out, struct arena *arena, struct source *source);

/* "cutters[2].stickout": as tree_at takes it; "" for the root. */
const char *sketch_path(struct arena *arena, const struct sketch_node *node);

/* The child of a map with this key; NULL where there is none. */
struct sketch_node *sketch_child(const struct sketch_node *map, struct view key);

/* The node that a path leads to, items by their index or by `key=value`; NULL: there is none.
 */
const struct sketch_node *sketch_at(const struct sketch *sketch, struct view path);

/* The node whose key or single value the place is in or touches; `*on_key` tells which.  NULL
 * where there is none, as between lines and in comments. */
const struct sketch_node *sketch_touched(const struct sketch *sketch, uint32_t offset,
                                         bool *on_key);

/* The next in the order of the file, its children first; NULL at the end of `within`. */
const struct sketch_node *sketch_next(const struct sketch_node *node,
                                      const struct sketch_node *within);

bool sketch_in_comment(const struct sketch *sketch, uint32_t offset);

/* What may be written at a place. */
enum sketch_wanted {
    WANTED_NOTHING,
    WANTED_KEY,   /* of the map `node`, or of one that is to begin as its value */
    WANTED_VALUE, /* of `node` */
    WANTED_ITEM   /* one more of the list `node` in lines, or the first as its value */
};

struct sketch_context {
    enum sketch_wanted wanted;
    const struct sketch_node *node;
    const struct sketch_node *self; /* the key or item that stands there itself; NULL: none */
    struct span token;              /* what has been typed of it, around the place */
    uint32_t column;                /* where it begins in its line */
    bool flow;
};

void sketch_find_context(const struct sketch *sketch, uint32_t offset,
                         struct sketch_context *out);

#endif
