/* The rules' view of moves and clearances: what a whole change leaves to one obstacle.
 *
 *     struct obstacles view;
 *     obstacles_look(&view, machine);               once a machine
 *     for each obstacle o
 *         obstacles_sideways(&view, o, &room);      move-meets-obstacle, move-near-obstacle
 *         obstacles_at_setter(&view, o, &room);     descent-meets-obstacle, setter-crowded
 *     obstacles_beside_way(&view, &room);           hanging-part-hits, hanging-part-low
 *     for each cutter c
 *         obstacles_going_down(&view, c, &room);    shoe-into-setter, shoe-near-setter
 *         obstacles_at_park(&view, c, &room);       park-meets, park-near
 *
 * Of the cutters' parts only those count that no other is as low and as wide as: none of the
 * list comes nearer, and the list is gone through once a pose, however many obstacles there
 * are.
 *
 * In the plan the controller goes where it is told, so setter, park and work area count as
 * typed; a footprint's own tolerance makes it larger.  Heights and radii carry all their
 * tolerances, worst case.
 *
 * Pure: no allocation; the view points into the machine and must not outlive it.
 */
#ifndef PROVEOUT_MOTION_OBSTACLES_H
#define PROVEOUT_MOTION_OBSTACLES_H

#include "motion/change.h"
#include "motion/clearance.h"
#include "motion/cutters.h"
#include "motion/use.h"

enum { OBSTACLE_LEGS = 4 };

/* What comes of one question. */
struct obstacle_room {
    /* The least clearance that could be computed, m: nominal, and its bounds in the worst case;
     * infinite where none could.  Where something is missing the true one may be less: too
     * little is certain then, enough is not. */
    struct spread value;
    enum move_kind move;      /* that gives it; MOVE_PROBE: going down at the setter */
    enum clearance_body body; /* that comes nearest */
    uint32_t length_of;       /* record of the cutter whose stick-out counts, and of the one */
    uint32_t width_of;        /* whose diameter counts; RECORD_NONE where none does */
    uint32_t attachment;      /* BODY_ATTACHMENT: its record */
    enum clearance_to to;     /* what it comes near to */
    uint32_t obstacle;        /* TO_OBSTACLE: its record */
    struct field_uses missing; /* for want of which something was not looked at */
    /* Private: where it comes from, and what obstacles_read() has found. */
    const struct obstacle_pose *pose; /* NULL: from nowhere */
    const struct obstacle_leg *leg;   /* NULL: it is not sideways */
    struct clearance_part part;
    bool has_read;
    struct field_uses read;
};

/* What is known of the spindle's height. */
enum pose_kind {
    POSE_NOSE,     /* the height of the nose */
    POSE_TIP,      /* that of the tip, on the setter */
    POSE_APPROACH, /* each cutter's own: where its fast approach ends */
};

struct pose {
    enum pose_kind kind;
    struct spread height; /* not of POSE_APPROACH */
};

/* The setter, the work or the table, and how far it is from one path. */
struct room_thing {
    bool known;
    struct clearance_box box;
    struct spread from_axis;
};

/* All of it is private.  Each question looks at what it needs of the machine and at no more, so
 * that whoever notes what is asked of the machine learns what the answer depends on; what was
 * looked at once is kept. */
struct obstacles {
    const struct machine *machine;
    bool by_setter;
    struct obstacle_leg {
        enum move_kind move;
        struct plane_hull path;
        struct field_uses read;
    } legs[OBSTACLE_LEGS];
    uint32_t leg_count;
    struct obstacle_place {
        struct plane_hull path;
        struct room_thing things[TO_TABLE + 1]; /* by enum clearance_to */
    } setter, park;
    struct obstacle_pose {
        bool looked, known, hung; /* hung: `bodies` are there */
        struct pose at;
        struct field_uses order; /* fields that decide which moves there are */
        struct field_uses read;  /* that decide height and place */
        struct field_uses missing;
        struct clearance_spindle bodies;  /* with all cutters of the list */
        struct field_uses bodies_missing; /* for want of which a body is not there */
    } passing, touching, approaching, parked;
};

/* Begins with a machine, which must stay as it is: the questions below look at it.  `*out` must
 * stay where it is: what comes of them points into it. */
void obstacles_look(struct obstacles *out, const struct machine *machine);

/* Hangs the cutters of the list in each pose but the parked one, for whoever asks which of them
 * decide. */
void obstacles_hang_all(struct obstacles *view);

/* The least clearance that any sideways move of the change leaves to `obstacle`, at
 * change.traverse_z.  On a machine that does not home no height is known: none is computed. */
void obstacles_sideways(struct obstacles *view, uint32_t obstacle, struct obstacle_room *out);

/* The clearance while the tip goes down onto the setter: everything on the spindle at its
 * lowest. */
void obstacles_at_setter(struct obstacles *view, uint32_t obstacle, struct obstacle_room *out);

/* The least that the sideways moves leave to setter, work and table below whatever hangs on the
 * spindle besides the cutter: where that goes is compared with them height by height. */
void obstacles_beside_way(struct obstacles *view, struct obstacle_room *out);

/* The clearance to setter, work and table while one cutter goes down onto the setter. */
void obstacles_going_down(struct obstacles *view, uint32_t cutter, struct obstacle_room *out);

/* The clearance to anything with one cutter at the park position and height. */
void obstacles_at_park(struct obstacles *view, uint32_t cutter, struct obstacle_room *out);

/* The fields that an answer of `view` rests on; of the cutters only those that decide, though all
 * are compared.  Looked for when first asked, and kept in the answer. */
const struct field_uses *obstacles_read(const struct obstacles *view,
                                        struct obstacle_room *room);

#endif
