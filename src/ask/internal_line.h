/* What the two readers of lines have in common. */
#ifndef PROVEOUT_ASK_INTERNAL_LINE_H
#define PROVEOUT_ASK_INTERNAL_LINE_H

#include "ask/line.h"

struct line_reader {
    struct line_place place;
    enum line_result (*read)(struct line_reader *reader, struct view *out);
    void (*close)(struct line_reader *reader);
};

enum { LINE_WOKEN_NONE = 0 };

/* Waits until there is something to read.  0, or the number of a signal that came first; -1
 * where waiting fails. */
int line_wait(const struct line_place *place);

#endif
