/* What paper is made of, between its blocks and its pages. */
#ifndef PROVEOUT_WALL_BLOCK_H
#define PROVEOUT_WALL_BLOCK_H

#include "wall/paper.h"

enum block_kind {
    BLOCK_HEADING,
    BLOCK_TEXT,
    BLOCK_ITEM,
    BLOCK_NUMBERED,
    BLOCK_ROW,
    BLOCK_MARKUP,
    BLOCK_BREAK,
    BLOCK_SCREEN,
    BLOCK_PAPER,
    BLOCK_KEEP /* no block of its own: those beside it stay together */
};

struct paper_block {
    enum block_kind kind;
    const char *markup;
    int32_t height;
    const struct paper_table *table; /* of a row */
};

/* The head of a table, with what is left free below the table. */
int32_t block_head_height(const struct paper *paper, const struct paper_table *table);

/* Adds a text whose line feeds begin new lines. */
void block_add_lines(struct buffer *out, const char *text);

#endif
