/* Laying what is nearer over what is further away.  The trees are copies, without aliases, and
 * are used up. */
#ifndef PROVEOUT_TREE_MERGE_H
#define PROVEOUT_TREE_MERGE_H

#include "tree/tree.h"

struct merge {
    struct arena *arena; /* for what ends with the merging */
    struct finding_sink *sink;
};

/* Lays the map `near` over the map `below`: it has then what both say. */
void merge_maps(struct merge *merge, struct tree_node *near, struct tree_node *below);

/* Takes in what merge keys (`<<`) name, as in YAML 1.1: own keys win, then those of the maps in
 * their order. */
void merge_keys(struct merge *merge, struct tree_node *node);

/* A sorted list of children, by their key or, in a list of maps, by `name` of them. */
struct merge_index;
const struct merge_index *merge_index_of(struct arena *arena, const struct tree_node *parent,
                                         const char *name);

/* The first child that has this key; NULL where none has. */
struct tree_node *merge_find(const struct merge_index *index, struct view key);

/* The text by which an item of a list of maps is known; empty where it has none. */
struct view merge_name(const struct tree_node *item, const char *name);

#endif
