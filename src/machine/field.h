/* The one table of fields.
 *
 * Everything that knows a field of the machine file knows it from here: the loader, the names
 * in formulas, `explain`, the prompts, the schema, the reference page.  The rows stand in
 * machine/fields.inc:
 *
 *   FIELD(ID, GROUP, "key.below.the.group", KIND, DIMENSION, NEED, "default" or NULL, NATURE,
 *         care, low, high, "unit", "choices" or NULL, "meaning", "how to measure or choose")
 *
 * GROUP, KIND and NATURE are the enumerators below without their prefixes, DIMENSION a name of
 * field.c's list.  NEED: NEEDED(WHEN), or MAY(WHEN) of what the format can do without; WHEN is
 * a row of machine/whens.inc.  care: what to beware of on the way to the value.  low, high:
 * plausible range in SI (of each number of a pair or list), NAN where nothing is implausible.
 * unit: the one a newcomer is asked in.  choices: words separated by blanks, for CHOICE and
 * WORDS.  The rows of a group stand together.
 */
#ifndef PROVEOUT_MACHINE_FIELD_H
#define PROVEOUT_MACHINE_FIELD_H

#include "base/view.h"
#include "quantity/dimension.h"
#include "quantity/unit.h"

/* Where fields live.  Every group but the root has several records. */
enum field_group {
    GROUP_ROOT,
    GROUP_AXIS,       /* axes.x, .y, .z: records 0, 1, 2, always */
    GROUP_HOMING,     /* homing.x, .y, .z: records 0, 1, 2, always */
    GROUP_INPUT,      /* inputs.NAME, in the order of the file */
    GROUP_OBSTACLE,   /* obstacles[] */
    GROUP_SETTER,     /* setters[] */
    GROUP_ATTACHMENT, /* attachments[] */
    GROUP_CUTTER,     /* cutters[] */
    GROUP_AGREEMENT,  /* agrees_with[] */
    GROUP_WAIVER,     /* waivers[] */
    GROUP_COUNT
};

enum field_kind {
    KIND_TEXT,
    KIND_COUNT,    /* whole number, bare */
    KIND_FLAG,     /* yes or no */
    KIND_CHOICE,   /* one word of `choices` */
    KIND_WORDS,    /* a list of words of `choices`, in order */
    KIND_ORDER,    /* homing.order: groups of letters in order, or `none` */
    KIND_QUANTITY, /* a size: not negative unless its plausible range is */
    KIND_POSITION, /* a length that may lie either side of zero */
    KIND_PAIR,     /* [low, high], two quantities or positions */
    KIND_LIST,     /* a list of quantities */
    KIND_DATE,     /* YYYY-MM-DD */
    KIND_INPUT,    /* the name of an input */
    KIND_TERMINAL, /* text or count */
    KIND_VERSION   /* the 1 after `proveout` */
};

/* When a field is needed, or has a meaning at all; the rows stand in machine/whens.inc. */
enum field_when {
    WHEN_ALWAYS, /* in every record of its group */
#define WHEN(id, ...) WHEN_##id,
#include "machine/whens.inc"
#undef WHEN
    WHEN_COUNT
};

/* What to beware of while a value is found out; bits. */
enum {
    CARE_COLLET = 1, /* hands go near the collet */
    CARE_MOVES = 2,  /* the machine is moved */
    CARE_RUNS = 4    /* the spindle is run */
};

/* What to mind while values of such care are found out: one caution for each of its bits, in
 * their order; NULL where `index` has passed the last. */
const char *field_caution(unsigned care, size_t index);

/* Who can change it: only chosen values are ever proposed; a measured one is measured again. */
enum field_nature {
    NATURE_MEASURED,
    NATURE_SCATTER, /* measured too: how far readings of one thing lie apart */
    NATURE_CHOSEN,
    NATURE_FACT
};

static inline bool nature_is_measured(enum field_nature nature)
{
    return nature == NATURE_MEASURED || nature == NATURE_SCATTER;
}

enum field_id {
#define FIELD(id, ...) FIELD_##id,
#include "machine/fields.inc"
#undef FIELD
    FIELD_COUNT
};

struct field {
    enum field_group group;
    const char *key; /* below the group: "setter.at.x", "drive.lead", "stickout" */
    enum field_kind kind;
    struct dimension dimension; /* of quantities, positions, pairs, lists */
    enum field_when when;
    bool needed;          /* then; else it may be left out, and has no meaning at other times */
    const char *fallback; /* default as it would be written, or NULL */
    enum field_nature nature;
    unsigned care;
    double plausible_low, plausible_high; /* SI; NAN: no limit */
    const char *unit;                     /* to ask in; "" where bare or no quantity */
    const char *choices;                  /* words separated by blanks, or NULL */
    const char *meaning;                  /* one line */
    const char *measure;                  /* how to get it, a few sentences; may be "" */
};

extern const struct field field_table[FIELD_COUNT];

/* One condition: a field says one of two words, or none of them.  Who has no machine yet asks
 * it of other things. */
struct when {
    enum field_id field;    /* FIELD_COUNT: it always holds */
    const char *is, *or_is; /* the second may be NULL */
    bool is_not;
    bool usual;       /* it is taken to hold while nothing is said */
    uint8_t and;      /* enum field_when that has to hold as well; WHEN_ALWAYS: none */
    const char *text; /* "where the machine homes"; NULL: nobody is told */
};

extern const struct when when_table[WHEN_COUNT];

/* How the records of a group stand in the file. */
enum group_shape {
    SHAPE_ROOT,  /* the file itself: one record */
    SHAPE_AXES,  /* a section with the letters x, y, z */
    SHAPE_NAMES, /* a section with names of the user's own */
    SHAPE_LIST   /* a list of sections */
};

struct group_row {
    const char *key; /* at the top of the file; "" for the root */
    enum group_shape shape;
    enum field_id first, end; /* its fields run from `first` up to `end` */
    const char *record;       /* what people call one of them */
    uint32_t most;            /* records: too-long */
    bool wanted;              /* must there be one? */
};

extern const struct group_row group_table[GROUP_COUNT];

/* Does a field stand in this section of the file: "spindle", "axes", "cutters"? */
bool field_is_in(enum field_id id, const char *section);

/* "axes.*.travel", "cutters[].stickout", "setter.at.x": the general path, in `arena`. */
const char *field_path(struct arena *arena, enum field_id id);

/* The field of a path as people type it, general or of one record ("axes.x.travel",
 * "cutters[2].stickout", "cutters[number=3].stickout", "cutter 3 stickout", "axes.z.travel.low");
 * FIELD_COUNT where there is none. */
enum field_id field_find(struct view path);

/* The general path nearest to a mistyped one, in `arena`; NULL where none is near. */
const char *field_nearest(struct arena *arena, struct view path);

/* Where a path, of a field or a section of one record, stands in the usual order of a file: the
 * smaller, the earlier.  What is not known comes last in its section. */
uint32_t field_rank(struct view path);

/* Which of its group's fields this is, from 0, and how many there are. */
static inline uint32_t field_slot(enum field_id id)
{
    return (uint32_t)(id - group_table[field_table[id].group].first);
}

static inline uint32_t field_group_width(enum field_group group)
{
    return (uint32_t)(group_table[group].end - group_table[group].first);
}

/* The number of words in `choices`, and word `index`; whether that is `word`; and the index of
 * a word, -1 where it is none. */
size_t field_choice_count(const struct field *field);
struct view field_choice(const struct field *field, size_t index);
bool field_choice_is(const struct field *field, size_t index, const char *word);
int field_choice_find(const struct field *field, struct view word);

static inline bool kind_is_list(enum field_kind kind)
{
    return kind == KIND_PAIR || kind == KIND_LIST || kind == KIND_WORDS || kind == KIND_ORDER;
}

const char *field_kind_name(enum field_kind kind); /* for messages: "a length", "yes or no" */
const char *field_nature_name(enum field_nature nature); /* "measured", "chosen", "fact" */

#endif
