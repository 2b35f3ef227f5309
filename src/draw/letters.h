/* How wide texts are on paper, in whatever letters a viewer has: each text is written together
 * with the width that this table gives it, and the viewer fits it in.  So what was placed
 * without a collision is shown without one.
 */
#ifndef PROVEOUT_DRAW_LETTERS_H
#define PROVEOUT_DRAW_LETTERS_H

#include "base/arena.h"
#include "base/view.h"

#include <stdint.h>

/* In hundredths of a millimetre of paper: the height of the letters as a font counts it, of
 * which capitals take some 2.5 mm; from one line to the next; and how much of a line lies above
 * its foot and below. */
enum { LETTER_SIZE = 350, LETTER_LINE = 460, LETTER_ABOVE = 290, LETTER_BELOW = 90 };

/* The width of a text as it will be shown, escapes included, in hundredths of a millimetre. */
int32_t letters_width(struct view text, bool bold);

/* A text of a file, what must not be shown as visible text, cut to `most` letters, with how
 * many it has: "abc... (10000 letters)". */
const char *text_cut(struct arena *arena, struct view text, size_t most);

/* As much of the text as fits `width`, ending between words where there is one; `*rest` goes on
 * behind.  At least one letter. */
struct view letters_fit(struct view text, int32_t width, bool bold, struct view *rest);

#endif
