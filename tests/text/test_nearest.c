/* Names near enough to be meant. */
#include <criterion/criterion.h>

#include <stdint.h>

#include "text/nearest.h"

struct case_near {
    const char *name, *known;
    int distance;
};

static const struct case_near nears[] = {
    {"travel", "travel", 0},
    {"Travel", "travel", 0},
    {"travle", "travel", 1},  /* swapped */
    {"trvel", "travel", 1},   /* left out */
    {"traavel", "travel", 1}, /* twice */
    {"travek", "travel", 1},  /* beside it */
    {"ravel", "travel", 1},
    {"probe_storke", "probe_stroke", 1},
    {"probestroke", "probe_stroke", 1},
    {"probe-stroke", "probe_stroke", 1},
    {"stick_out", "stickout", 1},
    {"colour", "color", 1},
    {"centre", "center", 1},
    {"feed_override", "feed_override_max", -1}, /* four more */
    {"x", "y", -1},
    {"xy", "yx", -1}, /* short names: hardly anything may differ */
    {"abc", "abd", 1},
    {"abc", "add", -1},
    {"", "x", -1},
    {"", "", 0},
    {"kitten", "sitting", -1}, /* 3, but only a third of seven may differ */
    {"acceleration", "aceleratoin", 2},
    {"acceleration", "exhilaration", -1},
    {"dwell_after_stop", "dwell_after_start", 3},
};

Test(nearest, distances)
{
    for (size_t i = 0; i < sizeof nears / sizeof *nears; i++) {
        const struct case_near *c = &nears[i];
        int there = nearest_distance(view_of(c->name), view_of(c->known));
        int back = nearest_distance(view_of(c->known), view_of(c->name));
        cr_expect(there == c->distance, "%s: %d", c->name, there);
        cr_expect(back == c->distance, "%s back: %d", c->name, back);
    }
}

/* The plain definition, without a band. */
static int plain_distance(struct view a, struct view b)
{
    int table[16][16];
    for (size_t i = 0; i <= a.size; i++)
        for (size_t j = 0; j <= b.size; j++) {
            int best = i == 0 ? (int)j : j == 0 ? (int)i : 99;
            if (i && table[i - 1][j] + 1 < best)
                best = table[i - 1][j] + 1;
            if (j && table[i][j - 1] + 1 < best)
                best = table[i][j - 1] + 1;
            if (i && j && table[i - 1][j - 1] + (a.data[i - 1] != b.data[j - 1]) < best)
                best = table[i - 1][j - 1] + (a.data[i - 1] != b.data[j - 1]);
            if (i > 1 && j > 1 && a.data[i - 1] == b.data[j - 2] &&
                a.data[i - 2] == b.data[j - 1] && table[i - 2][j - 2] + 1 < best)
                best = table[i - 2][j - 2] + 1;
            table[i][j] = best;
        }
    return table[a.size][b.size];
}

Test(nearest, agrees_with_the_definition)
{
    uint32_t seed = 1;
    for (int round = 0; round < 200000; round++) {
        char texts[2][12];
        struct view views[2];
        for (int k = 0; k < 2; k++) {
            seed = seed * 1664525u + 1013904223u;
            size_t size = 6 + (seed >> 24) % 6;
            for (size_t i = 0; i < size; i++) {
                seed = seed * 1664525u + 1013904223u;
                texts[k][i] = (char)('a' + (seed >> 24) % 3);
            }
            views[k] = (struct view){texts[k], size};
        }
        size_t longer = views[0].size > views[1].size ? views[0].size : views[1].size;
        int wanted = plain_distance(views[0], views[1]);
        if (wanted > 3 || wanted > (int)(longer / 3))
            wanted = -1;
        cr_assert(nearest_distance(views[0], views[1]) == wanted, "%.*s %.*s", VIEW(views[0]),
                  VIEW(views[1]));
    }
}

Test(nearest, choices)
{
    static const struct view names[] = {VIEW_LITERAL("rapid"), VIEW_LITERAL("retract"),
                                        VIEW_LITERAL("release"), VIEW_LITERAL("repeatability")};
    cr_expect_eq(nearest_of(view_of("raipd"), names, 4), 0);
    cr_expect_eq(nearest_of(view_of("retrat"), names, 4), 1);
    cr_expect_eq(nearest_of(view_of("repeatablity"), names, 4), 3);
    cr_expect_eq(nearest_of(view_of("spindle"), names, 4), -1);
    cr_expect_eq(nearest_of(view_of("rapid"), names, 0), -1);
    char longest[NEAREST_LENGTH_MAX + 1];
    memset(longest, 'a', sizeof longest);
    struct view same = {longest, sizeof longest};
    cr_expect_eq(nearest_distance(same, same), -1);
    same.size--;
    cr_expect_eq(nearest_distance(same, same), 0);
}
