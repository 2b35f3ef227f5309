/* The sheet that hangs beside the machine: one page of HTML that loads nothing, runs nothing,
 * and prints as pages of 180 mm by 250 mm, which A4 and Letter both hold.
 *
 * In the order of use: which machine and which state of its file; cautions; the numbers that
 * the controller is to have; the drawings; how every cutter comes down; what fails, what is
 * waived, what was not checked; the tightest margins; the questions of the change; the first
 * run, to be filled in; what is to be measured again.
 *
 * For programs: each value of the file is a row with data-field, its lasting path, and
 * data-value, as the file would write it.
 */
#ifndef PROVEOUT_WALL_WALL_H
#define PROVEOUT_WALL_WALL_H

#include "ask/walk.h"
#include "draw/scene.h"
#include "machine/file.h"
#include "report/report.h"
#include "rules/round.h"

/* How high a drawing may be, hundredths of a millimetre. */
enum { WALL_DRAWING = 24000 };

struct wall {
    const struct machine_file *file;
    const char *name;                 /* of the file, without its folders */
    const struct file_report *report; /* of every instance, in words */
    const struct dryrun *dryrun;      /* NULL: no change can be told, */
    const char *no_change;            /* and why */
    const struct round_plan *round;
    const struct scene *plan, *side; /* on paper as high as WALL_DRAWING */
    const char *today;               /* 2027-03-31; NULL: not known */
    uint32_t cutter; /* the page is about this one alone; RECORD_NONE: about all */
};

/* Adds the whole page: of the machine, or of one new cutter, which has what is to be typed and
 * watched for it, as a rule on one page of paper, and no drawings. */
void wall_write(struct buffer *out, struct arena *arena, const struct wall *wall);

/* A blank form of a round of measuring, to be filled in with a pencil: the rows of the text
 * form, see ask/walk.h, with what each of them is and how it is measured. */
struct wall_form {
    const struct machine_file *file; /* NULL: a machine that nobody has described yet, and
                                        nothing of the rest */
    const char *name, *today;        /* as of a sheet */
    const struct round_plan *round;
    const struct walk_elsewhere *elsewhere; /* what is not in `round` */
};

/* Adds the whole page. */
void wall_write_form(struct buffer *out, struct arena *arena, const struct wall_form *form);

#endif
