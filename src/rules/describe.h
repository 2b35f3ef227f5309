/* From one instance to a complete finding: places, words, arithmetic. */
#ifndef PROVEOUT_RULES_DESCRIBE_H
#define PROVEOUT_RULES_DESCRIBE_H

#include "finding/finding.h"
#include "rules/run.h"

struct describer {
    struct runner *runner;
    const struct machine *machine;
    struct source *source;
    struct arena *arena; /* what findings are made in */
    const struct finding_spot
        *shown; /* what is shown anyhow, while steps are written, or NULL */
};

/* Traces the instance once more and fills `out` whole. */
void describe_instance(const struct describer *describer, const struct instance *instance,
                       struct finding *out);

/* The same without words: rule, level, subject, outcome, margin, place, and what is missing. */
void describe_placed(const struct describer *describer, const struct instance *instance,
                     struct finding *out);

enum { MISSING_MAX = 16 }; /* fields that are named as missing for one instance */

/* Of an instance that could not be told only the fields for want of which; returns how many. */
size_t describe_missing(const struct describer *describer, const struct instance *instance,
                        enum field_id missing[MISSING_MAX]);

/* The same without words and places: rule, level, subject, outcome, margin. */
void describe_bare(const struct describer *describer, const struct instance *instance,
                   struct finding *out);

/* The unit in which to show a margin: that in which its field is written. */
unit_id describe_unit(const struct describer *describer, const struct instance *instance);

/* What to show names and numbers with, for formulas: its user is the describer. */
struct formula_namer describe_namer(const struct describer *describer);

/* The place that stands for a field: its value, else the nearest thing on the way to it. */
struct finding_spot describe_place(const struct describer *describer, enum field_id field,
                                   uint8_t part, uint32_t record);

#endif
