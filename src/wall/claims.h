/* What a sheet claims, for programs: the values that it was made of and what was found then.
 *
 * It stands in the page as
 *
 *     <meta name="proveout-sheet" content="1" data-machine=... data-file=... ...>
 *     <tr data-field="change.standoff" data-value="12 mm">
 *     <tr data-finding="cutter-too-long, cutter 3" data-value="failed, error">
 *
 * with data-file the fingerprint of the file, data-made the version of the program, data-day
 * the day, and data-cutter the number where the page is about one cutter.
 */
#ifndef PROVEOUT_WALL_CLAIMS_H
#define PROVEOUT_WALL_CLAIMS_H

#include "base/vector.h"
#include "report/sheets.h"
#include "wall/wall.h"

enum { CLAIMS_SIZE_MAX = 16 * 1024 * 1024 }; /* bytes of a page that is read */

struct wall_claim {
    bool finding;
    const char *name, *value;
    uint32_t line; /* of the file; 0: nowhere, or read from a page */
};

/* Texts are what a viewer sees of them, on both sides. */
struct wall_claims {
    struct sheet_state state;
    VECTOR(struct wall_claim) items; /* in the order of the page */
};

/* What the sheet of this machine would claim. */
void wall_claims(struct arena *arena, const struct wall *wall, struct wall_claims *out);

/* What a page claims.  NULL, else why it is no sheet that can be compared: "it is no sheet of
 * this program". */
MUST_USE const char *wall_claims_read(struct arena *arena, struct view page,
                                      struct wall_claims *out);

/* What differs: in the order of the file, then what only the sheet has. */
void wall_compare(struct arena *arena, const struct wall_claims *then,
                  const struct wall_claims *now, struct sheet_comparison *out);

/* Adds the mark of a sheet to the head of its page. */
void wall_claims_mark(struct buffer *out, const struct sheet_state *state);

#endif
