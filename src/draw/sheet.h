/* The sheet: where on a page of paper the views of a scene come, and their labels.
 *
 *     0 +--------------------------------+ 180 mm
 *       | name, view; file, scale        |  head
 *       | +----------------------------+ |
 *       | | view, in its frame         | |  one scale each: 1, 2 or 5 times a power of ten
 *       | +----------------------------+ |
 *       | | details                    | |
 *       | bars of the scales, axes       |
 *       | key: what fails, what numbers  |  as many lines as the page holds; the rest
 *       | mean, what is not known        |  is counted
 *       +--------------------------------+
 *
 * It fits a page of A4 and of Letter with their usual margins.  Whole numbers are hundredths of
 * a millimetre of paper, from the top left corner.
 */
#ifndef PROVEOUT_DRAW_SHEET_H
#define PROVEOUT_DRAW_SHEET_H

#include "draw/place.h"
#include "draw/scene.h"

enum {
    SHEET_WIDTH = 18000,
    SHEET_HEIGHT = 25000,
    SHEET_FRAME_PAD = 120, /* around the text of a framed label */
    SHEET_TITLE_LINES = 2, /* over a detail */
};

/* How large: `over` millimetres of paper for `under` of the machine. */
struct sheet_scale {
    double over, under;
};

struct sheet_label {
    const struct scene_item *item;
    struct place_label place;
    const char *lines[SCENE_LINES_OF_LABEL]; /* what a viewer sees, no escape left to do */
    uint32_t line_count;
    uint32_t number; /* in the key; 0: none */
    int32_t widest;  /* a line may be */
    bool bold;
};

struct sheet_view {
    const struct scene_view *view;
    struct place_box frame;
    struct sheet_scale scale;
    double x, y; /* where on paper, mm, the zero of the machine would be */
    VECTOR(struct sheet_label) labels;
};

struct sheet_row {
    const char *text;
    bool bold, goes_on; /* the row before */
};

struct sheet {
    struct arena *arena;
    const struct scene *scene;
    struct sheet_view views[SCENE_VIEWS];
    uint32_t view_count;
    const char *title, *subtitle;
    int32_t bars_top; /* of the scale bars and the axes */
    int32_t key_top;
    VECTOR(struct sheet_row) key;
    size_t key_room; /* rows of it that the page holds */
    int32_t height;
};

/* The scale of the main view, mm of paper for one of the machine. */
double sheet_main_scale(struct arena *arena, const struct scene *scene);

void sheet_make(struct sheet *out, struct arena *arena, const struct scene *scene);

/* Metres on paper, mm. */
static inline double sheet_size(const struct sheet_view *view, double metres)
{
    return metres * 1000 * (view->scale.over / view->scale.under);
}

/* A place of the machine on paper, mm. */
static inline struct plane_point sheet_point(const struct sheet_view *view,
                                             struct plane_point at)
{
    return (struct plane_point){view->x + sheet_size(view, at.x),
                                view->y - sheet_size(view, at.y)};
}

/* "1:10" */
const char *sheet_scale_text(struct arena *arena, const struct sheet_scale *scale);

/* A round length for the scale bar, as long as can be within `most` millimetres of paper; in
 * `unit`. */
double sheet_bar(const struct sheet_scale *scale, unit_id unit, double most);

/* The lines of a shape as they will be on paper, in straight pieces, mm: for whoever keeps out
 * of their way.  `tell` gets each. */
void sheet_trace(const struct sheet_view *view, const struct scene_shape *shape,
                 void (*tell)(void *user, struct plane_point from, struct plane_point to),
                 void *user);

/* The text that a viewer sees of one that may hold anything, in `arena`. */
const char *sheet_shown(struct arena *arena, const char *text);

/* Sizes on paper, mm. */
#define SHEET_CROSS      2.5 /* half of a cross */
#define SHEET_ARROW      2.5
#define SHEET_ARROW_WIDE 0.45 /* half */
#define SHEET_TAIL       4.0  /* behind an arrow that stands outside */
#define SHEET_HATCH      3.0  /* from one line of a hatching to the next */

enum { SHEET_HATCHES = 100 };

#endif
