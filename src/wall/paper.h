/* Pages of paper, laid out before anybody opens them.
 *
 *     0 +------------------------------+ 180 mm
 *       | machine        page 2 of 7   |  head
 *       | heading                      |
 *       | text, items, rows            |  each as high as its lines are, by the same table of
 *       |                              |  letters as in drawings, with a sixth to spare since
 *   250 +------------------------------+  letters differ from viewer to viewer
 *
 * Blocks are added in order; a page ends where the next block does not fit, never behind a
 * heading or between blocks that are kept together, and a table that goes on has its head
 * again.  On a screen the pages follow each other without their heads.  Whole numbers are
 * hundredths of a millimetre of paper.
 *
 * Texts may hold any bytes: they are escaped here and nowhere else.
 */
#ifndef PROVEOUT_WALL_PAPER_H
#define PROVEOUT_WALL_PAPER_H

#include "base/buffer.h"
#include "base/vector.h"

#include <stdbool.h>
#include <stdint.h>

enum { PAPER_WIDTH = 18000, PAPER_HEIGHT = 25000, PAPER_HEAD = 900, PAPER_COLUMNS = 8 };

struct paper_table {
    const char *caption; /* what it is, for who does not see it */
    uint32_t count;
    struct paper_column {
        const char *head; /* NULL for all of them: there is none */
        int32_t width;    /* of all together: PAPER_WIDTH */
    } columns[PAPER_COLUMNS];
};

struct paper_cell {
    const char *text;  /* a line feed begins a new line; NULL: left empty, to be written in */
    const char *ticks; /* a box to tick stands there, and this says for what */
    bool bold;
    double bar[2]; /* where `has_bar`: parts of its length, solid and hatched */
    bool has_bar;
};

/* What a row says to programs: data-KIND, "field" say, and data-value. */
struct paper_value {
    const char *kind, *name, *value;
};

/* A box to be written in by hand: its label stands small in its upper left corner. */
struct paper_box {
    const char *label;
    int32_t width; /* at most PAPER_WIDTH */
};

struct paper_block;

struct paper {
    struct arena *arena;
    const char *title; /* over every page */
    bool dense;        /* in letters of 3 mm, for what has to come on one page */
    VECTOR(struct paper_block) blocks;
};

void paper_heading(struct paper *paper, const char *text);
/* A heading below a heading; `field`, or NULL, is what it is about, for programs. */
void paper_entry(struct paper *paper, const char *text, const char *field);
void paper_text(struct paper *paper, const char *text, bool bold);
/* Items that follow each other are one list; `numbered` ones are numbered. */
void paper_item(struct paper *paper, const char *text, bool numbered);
/* Rows of the same table that follow each other; `table` has to outlive the paper. */
void paper_row(struct paper *paper, const struct paper_table *table,
               const struct paper_cell *cells, const struct paper_value *value);
/* Boxes side by side, each `height` high, on as many lines as they need; `what` they are for
 * who does not see them. */
void paper_boxes(struct paper *paper, const char *what, const struct paper_box *boxes,
                 size_t count, int32_t height);
/* Boxes to tick, each with what it says behind it, side by side like those. */
void paper_ticks(struct paper *paper, const char *what, const char *const *texts, size_t count);
/* The block before this stays on one page with the one behind it, where a page holds all that
 * stays together so. */
void paper_keep(struct paper *paper);
/* Markup that is `height` high, on a page of its own where it does not fit. */
void paper_markup(struct paper *paper, const char *markup, int32_t height);
/* What follows is for screens alone, and counts for no page; from here on for paper again. */
void paper_screen(struct paper *paper);
void paper_again(struct paper *paper);
void paper_break(struct paper *paper);

/* How many pages it takes. */
uint32_t paper_pages(const struct paper *paper);

/* Lays out the pages and adds them. */
void paper_finish(struct paper *paper, struct buffer *out);

#endif
