/* A small machine for formulas to speak of: names, dimensions, and values set by text.
 *
 * Stands in for the real environment, so that the language is tested without any machine. */
#ifndef PROVEOUT_TESTS_FORMULA_WORLD_H
#define PROVEOUT_TESTS_FORMULA_WORLD_H

#include "base/arena.h"
#include "formula/evaluate.h"

enum world_kind {
    KIND_ROOT,
    KIND_AXIS,
    KIND_HOMING,
    KIND_INPUT,
    KIND_OBSTACLE,
    KIND_CUTTER,
    KIND_COUNT
};

enum { WORLD_RECORDS_MAX = 200, WORLD_WORDS_MAX = 16, WORLD_NUMBERS_MAX = 16 };

struct world_value {
    enum env_state state;
    bool defaulted, none;
    unit_id unit;
    double number, tolerance;
    struct view text;
    uint32_t count;
    uint8_t words[WORLD_WORDS_MAX], ranks[WORLD_WORDS_MAX];
    struct world_value *parts; /* of a pair; the numbers of a list */
};

struct world {
    struct arena *arena;
    uint32_t counts[KIND_COUNT];
    bool wrong[KIND_COUNT];     /* the list itself */
    struct world_value *values; /* leaf by leaf, each WORLD_RECORDS_MAX records */
};

extern const struct environment world_environment;

void world_init(struct world *world, struct arena *arena);
struct environment_values world_values(const struct world *world);
struct formula_namer world_namer(const struct world *world);

/* Sets a field by its path ("cutters[2].stickout") to a value as a file would write it; `~`
 * takes it away, `wrong` marks it so, `default VALUE` sets one that is not written.  NULL, or
 * what is wrong. */
const char *world_set(struct world *world, struct view path, struct view value);

/* "cutters[2].stickout" */
const char *world_path(struct arena *arena, uint16_t leaf, uint8_t part, uint32_t record);

/* The number of leaves, and what each is, for making formulas at random. */
size_t world_leaf_count(void);
void world_leaf(uint16_t leaf, struct env_place *out);

/* Overrides a value directly, for sampling. */
struct world_value *world_at(const struct world *world, uint16_t leaf, uint32_t record);

#endif
