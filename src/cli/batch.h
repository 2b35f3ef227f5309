/* Pieces of work done by several threads, delivered in their order.
 *
 * Each worker takes the next piece, does it in memory of its own, and hands over a copy of what
 * came out; whoever holds the piece that is due delivers it and all that follow.  So output is
 * the same for any number of workers, and nobody waits but for one that is far behind.
 */
#ifndef PROVEOUT_CLI_BATCH_H
#define PROVEOUT_CLI_BATCH_H

#include "base/view.h"
#include "report/report.h"

/* What came of one file, or of the next part of it. */
struct piece {
    struct view text;    /* for the output */
    struct view trouble; /* for standard error */
    struct view known;   /* for a file of known findings */
    struct view row;     /* of the table at the end */
    size_t refused;      /* findings that it does not take */
    size_t unchanged;    /* machines left out, since nothing of them changed */
    struct run_totals totals;
    int status;        /* enum exit_status */
    struct turn *turn; /* when it is delivered: batch.c's own */
};

struct batch {
    size_t count;   /* pieces */
    size_t workers; /* at least 1 */
    void *user;
    void *(*start)(void *user); /* makes what one worker keeps; called in its thread */
    /* Does piece `index`; the views of `piece` need to last until the next call. */
    void (*work)(void *worker, size_t index, struct piece *piece);
    /* Called for one piece at a time, in order; false: nothing more is wanted. */
    bool (*deliver)(void *user, const struct piece *piece);
    void (*stop)(void *worker);
};

/* For a piece too long to be held: waits for its turn, delivers what there is of it, and leaves
 * it empty for the rest. */
void batch_part(struct piece *piece);

void batch_run(const struct batch *batch);

#endif
