#ifndef PROVEOUT_WALL_STYLE_H
#define PROVEOUT_WALL_STYLE_H

/* The style of the sheet: letters as high as the pages were laid out for on paper, those of the
 * viewer on a screen. */
extern const char wall_style[];

#endif
