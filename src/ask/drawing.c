/* Small drawings for `?`, in plain ASCII and narrow enough for 40 columns. */
#include "ask/internal.h"

static const char nose[] = "      |       |\n"
                           "      | spin- |\n"
                           "      |  dle  |\n"
                           "      +-+   +-+\n"
                           "        |nut|  <- nose: lowest face\n"
                           "        +-+-+     of the nut\n"
                           "          |\n"
                           "          |    stick-out\n"
                           "          v  <- tip of the cutter\n"
                           "\n"
                           "       [=====] setter\n"
                           "  --------------------- table\n";

static const char standoff[] = "        +-+-+  <- nose\n"
                               "          |\n"
                               "          v  <- tip: the fast\n"
                               "          :     approach ends\n"
                               "          :  standoff\n"
                               "          :\n"
                               "       [=====] setter\n"
                               "       at the start of the slow\n"
                               "       stroke\n";

static const char plan[] = "    Y high\n"
                           "    +--------------+\n"
                           "    |   work       |\n"
                           "    |              |\n"
                           "    |          (o) | setter\n"
                           "    +------*-------+\n"
                           "    X low  park    X high\n"
                           "    (seen from above)\n";

const char *drawing_of(enum field_id id)
{
    switch (id) {
    case FIELD_TABLE_NOSE_CONTACT:
    case FIELD_SETTER_NOSE_CONTACT:
    case FIELD_CUTTER_STICKOUT:
    case FIELD_CHANGE_ASSUMED_STICKOUT:
        return nose;
    case FIELD_CHANGE_STANDOFF:
    case FIELD_CHANGE_PROBE_STROKE:
        return standoff;
    case FIELD_AXIS_TRAVEL:
    case FIELD_SETTER_AT_X:
    case FIELD_SETTER_AT_Y:
    case FIELD_CHANGE_PARK_X:
    case FIELD_CHANGE_PARK_Y:
        return plan;
    default:
        return NULL;
    }
}
