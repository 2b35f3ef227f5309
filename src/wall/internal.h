/* What the parts of the sheet share. */
#ifndef PROVEOUT_WALL_INTERNAL_H
#define PROVEOUT_WALL_INTERNAL_H

#include "quantity/quantity.h"
#include "report/tell.h"
#include "wall/claims.h"
#include "wall/paper.h"
#include "wall/wall.h"

/* A sheet in the making. */
struct poster {
    const struct wall *wall;
    const struct machine *machine;
    struct arena *arena;
    struct paper paper;
    struct teller teller; /* where there is a change */
    unit_id length;
    const char *subject; /* of a page about one cutter: "cutter 3"; else NULL */
};

const char *poster_length(const struct poster *poster, double metres); /* "35 mm" */

/* A text of a finding as people are told it, "" for none; whose it is: ", cutter 3", or "". */
const char *poster_told(const struct poster *poster, const char *text);
const char *poster_about(const struct poster *poster, const struct finding *finding);

/* Is it about what the page is about? */
bool poster_wants(const struct poster *poster, const struct finding *finding);

/* What its people call it, or that it has no name. */
const char *wall_machine_name(struct arena *arena, const struct machine *machine);

/* Why a value is in a round; what of a round was not looked at, NULL: nothing. */
const char *wall_reason(struct arena *arena, const struct machine *machine,
                        const struct round_item *item);
const char *wall_unseen(struct arena *arena, const struct round_plan *round);

/* What comes before any sheet. */
#define WALL_MANUALS                                                                           \
    "The makers' manuals, the rules of your country and of your workshop, and whoever is "     \
    "licensed for the electrical work come before this sheet."

/* Which state of which file it is, and by what it was made. */
const char *wall_state(struct arena *arena, const char *name, const char *today,
                       const struct machine_file *file);

/* A page of HTML around laid out paper, with its title.  `head` is markup that stands in its
 * head besides, "" for none: what marks a sheet, say, which a form is not. */
void wall_open_page(struct buffer *out, const char *title, const char *head);
void wall_close_page(struct buffer *out);

/* Begins a sheet. */
void wall_open(struct poster *poster, struct arena *arena, const struct wall *wall);

/* Calls `tell` for every value that the file gives of what the page is about, in the order of
 * the fields, with its path: by the name of a record as long as that is its own, so that a
 * sheet tells what each of them had.  `wanted` NULL: all are. */
void wall_each_value(struct poster *poster, bool (*wanted)(enum field_id id),
                     void (*tell)(void *user, enum field_id id, uint32_t record,
                                  const char *path),
                     void *user);

/* Text of HTML as it is read: references are what they stand for. */
const char *wall_unescaped(struct arena *arena, struct view text);

/* The parts, in the order of the sheet. */
void wall_add_state(struct poster *poster); /* which machine, which file, what was found */
void wall_add_cautions(struct poster *poster);
void wall_add_numbers(struct poster *poster);
void wall_add_cutter(struct poster *poster); /* what the file says of the one */
void wall_add_drawings(struct poster *poster);
void wall_add_depths(struct poster *poster);
void wall_add_findings(struct poster *poster);
void wall_add_margins(struct poster *poster);
void wall_add_questions(struct poster *poster);
void wall_add_first_run(struct poster *poster);
void wall_add_descent(struct poster *poster); /* of that, how one cutter comes down */
void wall_add_again(struct poster *poster);
void wall_add_claims(struct poster *poster, const struct wall_claims *claims);

#endif
