/* Where labels go, so that none lies over another, over a line, or outside its frame.
 *
 * All in whole hundredths of a millimetre of paper, x to the right and y down, so that the
 * answer is the same on every machine and the test exact: two boxes are apart in x or in y; a
 * line and a box are apart in x, in y, or have all four corners of the box on one side of the
 * line.
 *
 * A label is tried, in this order: within the thing that it names; beside its anchor; with a
 * leader in eight directions, ever longer; with a leader wherever there is room, the nearest
 * first.  Then the same with its number alone, which the key explains.  Whatever finds no place
 * is said so, and is in the key only: none is dropped, and none is put where it collides.
 */
#ifndef PROVEOUT_DRAW_PLACE_H
#define PROVEOUT_DRAW_PLACE_H

#include <stdbool.h>
#include <stdint.h>

#include "base/vector.h"

struct place_point {
    int32_t x, y;
};

struct place_box {
    int32_t left, top, right, bottom;
};

struct place_segment {
    struct place_point from, to;
};

/* How far a text stays from everything: 0.7 mm. */
enum { PLACE_CLEAR = 70 };

enum place_how { PLACE_WHOLE, PLACE_NUMBER, PLACE_NOWHERE };

struct place_label {
    int32_t width, height;               /* of all that it says */
    int32_t number_width, number_height; /* of its number */
    struct place_point anchor;
    bool has_room;
    struct place_box room; /* within which it needs no leader */

    /* What comes of it. */
    enum place_how how;
    struct place_box box;
    bool has_leader;
    struct place_segment leader;
};

struct placer {
    struct arena *arena;
    struct place_box frame;
    VECTOR(struct place_segment) lines;
    VECTOR(struct place_segment) leaders; /* which do not cross each other */
    VECTOR(struct place_box) texts;
    uint64_t tests_left; /* when they are used up, only what is quick to find is tried */
};

void placer_init(struct placer *placer, struct arena *arena, const struct place_box *frame);

/* Takes in a line that is there, and a text that is. */
void placer_line(struct placer *placer, struct place_point from, struct place_point to);
void placer_text(struct placer *placer, const struct place_box *box);

/* Finds a place for all of it and takes it; else it is PLACE_NOWHERE.  Then one for its number.
 */
void place_whole(struct placer *placer, struct place_label *label);
void place_number(struct placer *placer, struct place_label *label);

/* Finds places for several labels one below the other, their left edge at `left`, each as near
 * to the height of its anchor as the others let it be.  Those that find none are PLACE_NOWHERE.
 * Puts the array in the order of the anchors. */
void place_column(struct placer *placer, struct place_label **labels, size_t count,
                  int32_t left);

bool place_boxes_meet(const struct place_box *a, const struct place_box *b);
bool place_segment_meets(const struct place_segment *segment, const struct place_box *box);
bool place_segments_cross(const struct place_segment *a, const struct place_segment *b);

#endif
