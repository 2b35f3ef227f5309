/* The cutters' parts that decide: a list of thousands comes down to a few. */
#include "motion/internal_bodies.h"

/* Takes the two neighbours together that lose least by it. */
static void join_nearest(struct front *front)
{
    struct clearance_part *parts = front->parts;
    uint32_t best = 0;
    double least = INFINITY;
    for (uint32_t i = 0; i + 1 < front->count; i++) {
        double wider = parts[i + 1].radius.high - parts[i].radius.high;
        double higher = parts[i + 1].underside.low - parts[i].underside.low;
        if (fmax(wider, higher) < least) {
            least = fmax(wider, higher);
            best = i;
        }
    }
    parts[best].radius = parts[best + 1].radius;
    parts[best].width_of = parts[best + 1].width_of;
    parts[best].width_field = parts[best + 1].width_field;
    front->count--;
    for (uint32_t i = best + 1; i < front->count; i++)
        parts[i] = parts[i + 1];
}

void front_add(struct front *front, const struct clearance_part *part)
{
    struct clearance_part *parts = front->parts;
    uint32_t at = 0;
    while (at < front->count && parts[at].radius.high < part->radius.high)
        at++;
    if (at < front->count && parts[at].underside.low <= part->underside.low)
        return;
    uint32_t from = at, to = at;
    while (from > 0 && parts[from - 1].underside.low >= part->underside.low)
        from--;
    while (to < front->count && parts[to].radius.high <= part->radius.high)
        to++;
    if (from == to) {
        for (uint32_t i = front->count++; i > from; i--)
            parts[i] = parts[i - 1];
    } else {
        uint32_t gone = to - from - 1;
        front->count -= gone;
        for (uint32_t i = from + 1; gone && i < front->count; i++)
            parts[i] = parts[i + gone];
    }
    parts[from] = *part;
    if (front->count > FRONT_PARTS)
        join_nearest(front);
}
