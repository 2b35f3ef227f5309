/* Which fields a result rests on, and which it would have needed.
 *
 * Nothing here is guessed: where a field is absent, or carries an error of the reader, what
 * needs it is left out of the result and the field is named as missing.
 */
#ifndef PROVEOUT_MOTION_USE_H
#define PROVEOUT_MOTION_USE_H

#include "machine/machine.h"

/* More than any result reads; what would come after is dropped. */
enum { FIELD_USES = 40 };

/* No record.  As the record of a missing field: its whole list carries an error, so that nobody
 * knows what is in it. */
#define RECORD_NONE UINT32_MAX

struct field_use {
    enum field_id field;
    uint32_t record; /* of its group, 0 for the root; or RECORD_NONE */
    bool wrong;      /* missing: it is there but carries an error */
    bool decides;    /* read: the worst case that is reported rests on it; not only one that was
                        looked at and found better */
    double width;    /* read: half-width that it adds to the tolerance of a height or radius */
};

/* Each field of a record once. */
struct field_uses {
    uint32_t count;
    struct field_use items[FIELD_USES];
};

/* Adds what is not there yet; of two of one field the greater width and `decides` stay. */
void field_uses_add(struct field_uses *uses, const struct field_use *use);
void field_uses_join(struct field_uses *uses, const struct field_uses *more, bool decide);

#endif
