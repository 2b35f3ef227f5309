/* A machine under rules of a shop's own, in two numbers. */
#ifndef PROVEOUT_TESTS_PROPOSE_SHOP_H
#define PROVEOUT_TESTS_PROPOSE_SHOP_H

#include "propose/margins.h"
#include "rules/rulebook.h"

#define A "change.standoff"     /* 12 mm */
#define B "change.probe_stroke" /* 20 mm */

/* The travel is 0 to 800 mm and 0 to 600 mm. */
#define PARK_X "change.park.x" /* 400 mm */
#define PARK_Y "change.park.y" /* 20 mm */

struct shop {
    struct arena arena;
    struct source source;
    struct finding_sink sink;
    struct tree tree;
    struct machine machine;
    struct rulebook book;
    struct runner runner;
    struct margins margins;
};

enum { SHOP_PLACES = 2 };

extern const struct field_place shop_places[SHOP_PLACES];   /* A and B */
extern const struct field_place shop_sideways[SHOP_PLACES]; /* PARK_X and PARK_Y */

/* The machine of the rules' examples under these rules. */
void read_shop(struct shop *shop, const char *const *formulas, size_t count);

/* Opens the margins of A and B under these rules, and asks them with the numbers of the file:
 * the machine of the rules' examples. */
void open_shop(struct shop *shop, const char *const *formulas, size_t count);

/* The same with other numbers than A and B. */
void open_shop_of(struct shop *shop, const struct field_place *places,
                  const char *const *formulas, size_t count);
void close_shop(struct shop *shop);

#define READ(shop, ...)                                                                        \
    read_shop((shop), (const char *const[]){__VA_ARGS__},                                      \
              sizeof((const char *const[]){__VA_ARGS__}) / sizeof(char *))

#define OPEN(shop, ...)                                                                        \
    open_shop((shop), (const char *const[]){__VA_ARGS__},                                      \
              sizeof((const char *const[]){__VA_ARGS__}) / sizeof(char *))

#define OPEN_SIDEWAYS(shop, ...)                                                               \
    open_shop_of((shop), shop_sideways, (const char *const[]){__VA_ARGS__},                    \
                 sizeof((const char *const[]){__VA_ARGS__}) / sizeof(char *))

#endif
