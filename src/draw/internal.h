/* What the files of draw share while a scene is made. */
#ifndef PROVEOUT_DRAW_INTERNAL_H
#define PROVEOUT_DRAW_INTERNAL_H

#include <math.h>

#include "base/buffer.h"
#include "draw/scene.h"
#include "motion/standing.h"

/* A scene in the making. */
struct sketch {
    struct scene *scene;
    struct scene_view *view; /* that is being filled */
    const struct drawing *drawing;
    const struct machine *machine;
    struct arena *arena;
};

/* A new item of the view, standing for a field of one record. */
struct scene_item *sketch_item(struct sketch *sketch, const char *what, enum field_id id,
                               uint32_t record);
/* It stands for that field as well. */
void item_also(const struct sketch *sketch, struct scene_item *item, enum field_id id,
               uint32_t record);
void item_label_at(struct scene_item *item, double x, double y);

/* An item that says in words what cannot be drawn, and for want of which field. */
struct scene_item *sketch_unknown(struct sketch *sketch, const char *what, const char *words,
                                  enum field_id id, uint32_t record);

/* Shapes.  Each is taken into the extent of the view, but one that lies kilometres off: that is
 * not drawn, and said so. */
struct scene_shape *item_polyline(struct sketch *sketch, struct scene_item *item,
                                  enum scene_line line, const struct plane_point *points,
                                  uint32_t count);
struct scene_shape *item_segment(struct sketch *sketch, struct scene_item *item,
                                 enum scene_line line, const struct plane_point ends[2]);
struct scene_shape *item_rectangle(struct sketch *sketch, struct scene_item *item,
                                   enum scene_line line, const struct plane_rectangle *box);
struct scene_shape *item_circle(struct sketch *sketch, struct scene_item *item,
                                enum scene_line line, struct plane_point middle, double radius);

/* A convex outline, counter-clockwise, widened by `radius` all around: what something round
 * sweeps along it. */
struct scene_shape *item_widened(struct sketch *sketch, struct scene_item *item,
                                 enum scene_line line, const struct plane_hull *hull,
                                 double radius);

/* Values. */
const char *sketch_length(const struct sketch *sketch, double metres); /* "35 mm" */
const char *sketch_spread(const struct sketch *sketch, const struct spread *spread);
const char *sketch_cutter(const struct sketch *sketch, uint32_t record); /* "cutter 3" */
/* A text of the file, cut to what a label holds; `otherwise` where there is none. */
const char *sketch_name(const struct sketch *sketch, enum field_id id, uint32_t record,
                        const char *otherwise);
bool sketch_number(const struct sketch *sketch, enum field_id id, uint32_t record, double *out);
bool sketch_pair(const struct sketch *sketch, enum field_id id, uint32_t record, double out[2]);
bool sketch_says(const struct sketch *sketch, enum field_id id, uint32_t record,
                 const char *word);
bool sketch_given(const struct sketch *sketch, enum field_id id, uint32_t record);
bool sketch_homes(const struct sketch *sketch);
/* "setter": does the change measure with it? */
bool sketch_measures_with(const struct sketch *sketch, const char *word);
/* The same, or the file does not tell with what it measures? */
bool sketch_may_measure_with(const struct sketch *sketch, const char *word);

/* The numbers of the moves as `dryrun` prints them. */
uint32_t sketch_step_number(const struct change *change, uint32_t index);

/* The field that tells where the fast approach ends: a height, or how far over the trip. */
enum field_id sketch_approach_field(const struct sketch *sketch);

/* "; not all that is in the way is known", where a move that wants room was not looked at, or
 * not with all bodies and things; "" where each was. */
const char *sketch_room_reservation(const struct change *change);

/* "; not all that hangs on the spindle is known", or "". */
const char *sketch_spindle_reservation(const struct clearance_spindle *spindle);

/* The last move of that kind; NULL: there is none, or no change. */
const struct move *sketch_last_move(const struct change *change, enum move_kind kind);

void plan_sketch(struct sketch *sketch);
void side_sketch(struct sketch *sketch);
void detail_sketch(struct sketch *sketch); /* views of their own, after the present one */

#endif
