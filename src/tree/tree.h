/* The located tree: what a YAML file says, and where it says it.
 *
 * One document, read from libyaml's events.  Each key and each value keeps its exact span in
 * the bytes of the file: a quoted text with its quotes, a list or map in brackets with its
 * brackets, a block list or map to the end of its last child.  No meaning is given to any text
 * yet, with one exception: in braces, `1,0 ms` is one value, not a value and a key without one.
 *
 * Nodes live in the arena of the file and are not changed after reading, except by tree_put.
 */
#ifndef PROVEOUT_TREE_TREE_H
#define PROVEOUT_TREE_TREE_H

#include "base/bug.h"
#include "finding/sink.h"

enum {
    TREE_DEPTH_MAX = 64,          /* lists and maps within each other: too-deep */
    TREE_KEYS_MAX = 1000,         /* keys of one map: too-long */
    TREE_ITEMS_MAX = 1000000,     /* items of one list: too-long */
    TREE_TEXT_MAX = 65536,        /* bytes of one text: too-long */
    TREE_ALIASES_MAX = 1000,      /* aliases of one file: too-long */
    TREE_ANCHORS_MAX = 1000,      /* names given for them: too-long */
    TREE_EXPANSION_MAX = 2000000, /* nodes that following all aliases would give: too-large */
};

enum tree_kind { TREE_TEXT, TREE_MAP, TREE_LIST, TREE_ALIAS };
enum tree_style { STYLE_PLAIN, STYLE_QUOTED, STYLE_BLOCK, STYLE_FLOW, STYLE_JOINED };

struct tree_node {
    uint8_t kind;     /* enum tree_kind */
    uint8_t style;    /* texts: plain, quoted, block (| or >), joined over a comma (`1,0 ms`);
                         maps and lists: block or flow */
    bool duplicate;   /* its key stands twice in the map (set on both): carries an error */
    bool tagged;      /* has an explicit tag, which is ignored */
    uint32_t count;   /* children */
    struct span span; /* the value.  For an alias, the `*name`; for an empty value, an empty
                         span right after its key's colon or its list's dash */
    struct span key_span;    /* the key, where the parent is a map */
    struct view key;         /* the key's text, decoded */
    struct view text;        /* a text, decoded */
    struct tree_node *next;  /* the following child of its parent */
    struct tree_node *first; /* children in order; an alias: what it stands for */
};

enum tree_status {
    TREE_WHOLE,
    TREE_PARTIAL,   /* a syntax error part-way; what came before is there */
    TREE_UNREADABLE /* nothing useful: not UTF-8, too large, no map at the top, a syntax error
                       at the start */
};

struct tree {
    struct source *source;
    struct tree_node *root; /* NULL where unreadable */
    enum tree_status status;
    bool has_merge_keys; /* `<<` stands somewhere; tree_read leaves it as it is */
    bool lacks_parts;    /* partial since another file that it takes in could not be read */
};

/* Reads `source`, reporting into `sink` not-yaml, not-utf8, second-document, too-large,
 * too-deep, duplicate-key, tab-indent, too-long, and wrong-kind for a file without keys at its
 * top and for keys that are no texts (which are left out, with their values).  Nodes go into
 * `arena`.
 *
 * What stops the reading half-way, a syntax error or a limit, leaves what was complete before
 * it: the value that it spoils and an open list or map in brackets are left out, open ones in
 * block style end early.  So of a partial tree nobody can say what is missing. */
void tree_read(struct tree *out, struct arena *arena, struct source *source,
               struct finding_sink *sink);

/* The same where nobody hears what is wrong: bytes called `name`, all else in `arena`. */
struct tree *tree_of(struct arena *arena, struct view name, struct view bytes);

/* The node an alias stands for, or the node itself.  Never NULL for a node. */
static inline const struct tree_node *tree_resolve(const struct tree_node *node)
{
    return node->kind == TREE_ALIAS ? node->first : node;
}

/* The child of a map with this key, the first where it stands twice; NULL where there is none
 * or `map` is no map.  Does not resolve the child. */
const struct tree_node *tree_child(const struct tree_node *map, struct view key);

/* The node at a path such as `change.standoff`, `cutters[2].stickout`,
 * `cutters[number=3].stickout`; NULL where there is none. */
const struct tree_node *tree_at(const struct tree *tree, struct view path);

/* A deep copy into `arena`, aliases resolved.  Keys and texts are not copied: they must live as
 * long. */
struct tree_node *tree_copy(struct arena *arena, const struct tree_node *node);

/* Puts a copy (as tree_copy makes it) of `value` at `path` in a tree made by tree_copy, with
 * the lists and maps on the way, also where an empty value stands.  An empty plain text, or
 * `~`, takes away what is there. An index one past a list's end appends.  False, and nothing
 * changed, where the path leads through something that is no map or list. */
MUST_USE bool tree_put(struct arena *arena, struct tree_node *root, struct view path,
                       const struct tree_node *value);

/* Is this the start of a machine file: a map whose first key is `proveout`?  Reads no further
 * than that key. */
bool tree_starts_machine(struct view bytes);

/* Is `proveout` written here in UTF-16 or UTF-32, whatever the order of the bytes, with a byte
 * order mark or without?  Such a file cannot be read, but was meant as a machine file. */
bool tree_hides_machine(struct view bytes);

#endif
