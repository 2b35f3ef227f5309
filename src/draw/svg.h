/* A drawing as SVG: a file of its own, true to scale in millimetres, that loads nothing.
 *
 * For programs that work on it: `<g data-view data-scale data-origin>` around each view, where
 * data-scale is millimetres of paper for one of the machine and data-origin where on paper the
 * machine's zero would be, y down (of a plate, the middle of its top).  Around each thing, with
 * its title and description, `<g data-field ...>`, the field that it stands for, and where they
 * apply:
 *
 *     data-line     the line where that field stands
 *     data-file     of this file, where it is not the machine's own
 *     data-rule     the rules that fail there, the gravest first, blanks between them
 *     data-unknown  "yes": it is not known, or not all of it
 *
 * The description of the whole is the table of the scene.  Coordinates are given to a
 * thousandth of a millimetre of paper.
 */
#ifndef PROVEOUT_DRAW_SVG_H
#define PROVEOUT_DRAW_SVG_H

#include "base/buffer.h"
#include "draw/scene.h"

/* Adds the whole file. */
void svg_write(struct buffer *out, struct arena *arena, const struct drawing *drawing);

/* The same of a scene, for a page where a table beside it says in words what is drawn: without
 * the description of the whole. */
void svg_write_scene(struct buffer *out, struct arena *arena, const struct scene *scene);

/* Two scenes of one machine as one file, one below the other; data-origin of each counts from
 * its own top left corner, where its `<svg>` begins. */
void svg_write_both(struct buffer *out, struct arena *arena, const struct scene *above,
                    const struct scene *below);

#endif
