/* The scene: what a drawing shows, before it is known where on the paper it comes.
 *
 * A scene has views, a view has items, an item has shapes:
 *
 *     scene  "shed router: plan"        one sheet of paper
 *      view  plan, 1:10                 one frame with one unbroken scale
 *       item fence, 35 mm high          one thing, the field it stands for, the rule it breaks
 *        shape rectangle                in metres, machine frame
 *
 * In a view x points to the right and y up, in metres of the machine: X and Y in the plan, X
 * and Z in a view from the front.  The spindle's heights are those of its nose; a thing is as
 * high as the nose that would touch it, as in motion.
 *
 * An item is also a row of the table that says the same without a picture: what it is, its
 * value in words, the field, the line of the file, what fails.  So whatever is drawn is in the
 * table, and what could not be drawn is there as well.
 *
 * Every text may hold hostile bytes of the file: whoever writes them escapes.  All of it lives
 * in the arena given.
 */
#ifndef PROVEOUT_DRAW_SCENE_H
#define PROVEOUT_DRAW_SCENE_H

#include "base/vector.h"
#include "finding/finding.h"
#include "motion/change.h"

enum scene_line {
    SCENE_LINE_NONE,
    SCENE_LINE_WIDE,   /* what is there */
    SCENE_LINE_NARROW, /* dimensions, areas that are no things */
    SCENE_LINE_BROKEN, /* what is not known */
    SCENE_LINE_CHAIN,  /* middles, and the ways of moving parts */
    SCENE_LINE_LIMIT,  /* how far moving parts may go */
    SCENE_LINE_FAILED, /* drawn in place of any of these where a rule fails */
    SCENE_LINES
};

enum scene_end { SCENE_END_PLAIN, SCENE_END_ARROW, SCENE_END_ARROWS /* both */ };

struct scene_shape {
    enum scene_line line;
    bool filled;  /* with the tint of what is swept */
    bool hatched; /* below it: what it is the surface of */
    bool closed;
    enum scene_end ends;
    uint32_t count; /* of points; one with a radius is a circle, one without a small cross */
    struct plane_point points[PLANE_CORNERS];
    double radius; /* of a circle; of a closed outline: as far as it is widened all around */
};

enum { SCENE_FIELDS = 6, SCENE_LINES_OF_LABEL = 4 };

/* Rules, each once. */
struct rule_names {
    VECTOR(const char *) names;
};

struct scene_item {
    const char *what;                 /* "fence at the left" */
    const char *value;                /* "35 mm high"; may be NULL */
    const char *fields[SCENE_FIELDS]; /* paths; the first is the one that it stands for */
    uint32_t line;                    /* where that stands in the file; 0: nowhere */
    const char *in_file;              /* the file, where it is not the machine's own; or NULL */
    bool after_step;                  /* it is the spindle, where a step leaves it */
    bool unknown;                     /* it could not be drawn, or not all of it */
    bool too_far;                 /* as it lies so far off that nothing else would be seen */
    const struct finding *failed; /* the gravest; NULL: none */
    uint32_t failed_more;         /* how many more of them */
    struct rule_names rules;      /* of all of them */
    const char *failed_text;      /* "error: short by 3.36 mm" */
    const char *failed_message;   /* the words of that finding */
    const char *subject;          /* "cutter 3": whose it is alone; NULL: anybody's */
    VECTOR(struct scene_shape) shapes;

    bool told_by_failure; /* its value says what a failure says again */
    bool in_column;       /* its label stands in the column on the right */
    bool labelled;        /* it wants a label, pointing at `anchor` */
    struct plane_point anchor;
    struct plane_rectangle room; /* within which a label may stand without a leader; or all 0 */
};

enum scene_kind { SCENE_PLAN, SCENE_SIDE, SCENE_DETAIL, SCENE_PLATE /* a detail too */ };

enum { SCENE_VIEWS = 4, SCENE_LABELS = 60 };

struct scene_view {
    enum scene_kind kind;
    const char *title; /* "plan, from above" */
    VECTOR(struct scene_item *) items;
    struct plane_rectangle extent; /* of all that is drawn */
    bool drawn;                    /* there is anything to draw */
    const char *letter[2];         /* what its axes are called: X to the right, Y or Z up */
};

struct scene {
    struct arena *arena;
    const struct machine *machine;
    const char *path;
    const char *name, *subject; /* of the machine; "cutter 1 goes out, cutter 3 comes
                                    in; lengths in mm" */
    struct scene_view views[SCENE_VIEWS];
    uint32_t view_count;
    struct plane_rectangle reach; /* the extent of the plan, which sets its scale and that of
                                     the side view alike */
    VECTOR(const char *) notes;   /* what has no place in any view */
    unit_id length;               /* in which lengths are written */

    /* For whoever lays it out, set once it is made: how high the paper is, hundredths of a
     * millimetre, 0: a page; and at which scale the plan, or the view from the front, is drawn
     * at most, mm of paper for one of the machine, 0: as large as fits. */
    int32_t paper;
    double scale;
};

/* What a drawing is made of. */
struct drawing {
    const struct machine *machine;
    const char *path; /* as the user gave it */
    const struct file_report *report;
    const struct change *change; /* NULL: none can be told */
    const char *no_change;       /* why, a sentence; NULL */
    uint32_t cutter;             /* record of the chosen one; RECORD_NONE: there is none */
    uint32_t step;               /* index of the move after which the spindle is drawn, */
    bool has_step;               /* where one is asked for */
    bool side;                   /* else the plan */
};

/* Makes the scene of one sheet. */
void scene_make(struct scene *out, struct arena *arena, const struct drawing *drawing);

/* What every drawing ends with. */
#define SCENE_CAUTION                                                                          \
    "Drawn from the file, not from the machine: a clean drawing is no promise."

/* Adds where a thing stands, "setter.at.x, line 12"; and what fails there, nothing where
 * nothing does. */
void scene_place(struct buffer *out, const struct scene_item *item);
void scene_failure(struct buffer *out, const struct scene_item *item);

/* Adds the table of a scene, a sentence a line: what it is about, then view by view, at the
 * scales ("1:10") of the views.  Of texts of the file only what may be shown. */
void scene_table(struct buffer *out, const struct scene *scene, const char *const *scales);

#endif
