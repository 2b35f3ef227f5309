/* A machine under rules of a shop's own, in two numbers. */
#ifndef PROVEOUT_TESTS_PROPOSE_SHOP_H
#define PROVEOUT_TESTS_PROPOSE_SHOP_H

#include "propose/margins.h"
#include "rules/load.h"

#define A "change.standoff"     /* 12 mm */
#define B "change.probe_stroke" /* 20 mm */

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

extern const struct field_place shop_places[2]; /* A and B */

/* Opens the margins of A and B under these rules, and asks them with the numbers of the file:
 * the machine of the rules' examples. */
void open_shop(struct shop *shop, const char *const *formulas, size_t count);
void close_shop(struct shop *shop);

#define OPEN(shop, ...)                                                                        \
    open_shop((shop), (const char *const[]){__VA_ARGS__},                                      \
              sizeof((const char *const[]){__VA_ARGS__}) / sizeof(char *))

#endif
