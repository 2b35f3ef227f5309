/* The typed machine: every field of the table, read from a tree.
 *
 * A value is absent, given, defaulted, or wrong (it, or something about it, carries an error of
 * the reader; rules that read it are not checked).  All numbers are SI.  Values live in the
 * arena of the file and point into its tree.
 */
#ifndef PROVEOUT_MACHINE_MACHINE_H
#define PROVEOUT_MACHINE_MACHINE_H

#include "machine/field.h"
#include "tree/tree.h"

enum value_state { VALUE_ABSENT, VALUE_GIVEN, VALUE_DEFAULTED, VALUE_WRONG };

/* A list of choice words with the rank each stands at, from 0 (for `before`); groups share a
 * rank. */
struct word_list {
    uint32_t count;
    bool none; /* homing.order: none */
    uint8_t
        word[32]; /* indices into the field's choices; of homing.order: 0, 1, 2 for x, y, z */
    uint8_t rank[32];
};

struct number_list {
    uint32_t count;
    struct field_value *items;
};

struct field_value {
    uint8_t state; /* enum value_state; the rest is set only where GIVEN or DEFAULTED */
    unit_id unit;  /* as written; UNIT_BARE for what has none */
    bool flag;
    uint8_t choice; /* index into the field's choices */
    uint32_t index; /* KIND_INPUT: record of the input; quantities and positions: which of the
                       machine's readings they come from, from 1, or 0 */
    union {
        struct {
            double si;        /* quantity, position, count; dates: seconds from 1970-01-01 */
            double tolerance; /* half-width */
        };
        struct view text;         /* KIND_TEXT, KIND_TERMINAL, KIND_INPUT */
        struct field_value *pair; /* KIND_PAIR: two, low and high */
        const struct word_list *words;
        const struct number_list *list;
    };
    const struct tree_node *node; /* where it stands; NULL where absent or defaulted */
};

_Static_assert(sizeof(struct field_value) <= 32,
               "a list of 100,000 cutters has a million of these");

struct machine_group {
    uint32_t count; /* records */
    uint32_t
        written; /* those that the file has under the group's key; setters that the change
                    does not use are obstacles behind them, and `setter` is a list of one */
    struct field_value *values;     /* field by field, of each those of all records: of a long
                                       list, fields that no record has take no memory */
    const struct tree_node **nodes; /* each record's own node (its key is an input's name); may
                                       be NULL for an axis that is not there */
    bool wrong; /* the list or section itself carries an error: how many there are is not known
                 */
};

/* What a value was read from, several times over. */
struct readings {
    enum field_id field;
    uint32_t record;
    uint32_t count;
    double mean, deviation;   /* SI, of the readings themselves */
    double factor;            /* of the tolerance interval; 0 of one reading */
    double instrument_error;  /* SI */
    uint32_t off;             /* the reading that lies far off the rest, from 1; 0: none */
    struct view with, by, on; /* empty where not given */
    double on_seconds;        /* NAN where not given */
    const struct tree_node *node;
};

#define NO_SETTER UINT32_MAX

/* Fields, a bit for each. */
struct field_set {
    uint64_t bits[(FIELD_COUNT + 63) / 64];
};

static inline bool field_set_has(const struct field_set *set, enum field_id id)
{
    return set->bits[id / 64] >> id % 64 & 1;
}

struct machine {
    const struct tree *tree;
    struct machine_group groups[GROUP_COUNT];
    VECTOR(struct readings) readings;
    uint32_t setter;         /* the record of `setters` that the change uses, with the values of
                                `setter.*`; NO_SETTER */
    const uint32_t *idle;    /* of each obstacle after those written: its record of `setters` */
    struct field_set *asked; /* gathers the fields that machine_field() is asked for; NULL:
                                nobody wants to know */
};

/* What a value of this machine was read from; NULL where the file gives one number. */
static inline const struct readings *machine_readings(const struct machine *machine,
                                                      enum field_id id,
                                                      const struct field_value *value)
{
    enum field_kind kind = field_table[id].kind;
    bool is_number = kind == KIND_QUANTITY || kind == KIND_POSITION;
    return is_number && value->state == VALUE_GIVEN && value->index
               ? &machine->readings.items[value->index - 1]
               : NULL;
}

/* What readings come to that stand by themselves, `{readings: [...]}` as a file has them on one
 * line, of a field that takes them: `*value` without a place, and what it is worked out from.
 * NULL on success, else what is wrong, in `arena`. */
MUST_USE const char *readings_read_text(struct arena *arena, enum field_id id, struct view text,
                                        struct field_value *value, struct readings *from);

/* "mean of 5 readings, with calliper, by the night shift, on 2026-10-10", in `arena`. */
const char *readings_text(struct arena *arena, const struct readings *readings);

/* Reads the machine from a tree.  Of several `setters` the one that the change uses stands for
 * `setter` too; a setter that is not used is an obstacle as well.  Reports unknown-key,
 * missing-key, wrong-kind, unknown-choice, unit-missing, unit-unknown, wrong-dimension,
 * not-a-number, too-long, out-of-order, unknown-name, given-twice, looks-like-inches,
 * looks-like-seconds, implausible.  An unreadable tree gives a machine with nothing in it and
 * no finding. */
void machine_read(struct machine *out, struct arena *arena, const struct tree *tree,
                  struct finding_sink *sink);

/* The value of a field in record `record` of its group (0 for the root).  Never NULL; record
 * must be below the group's count. */
static inline const struct field_value *machine_value(const struct machine *machine,
                                                      enum field_group group, uint32_t slot,
                                                      uint32_t record)
{
    const struct machine_group *of = &machine->groups[group];
    return &of->values[(size_t)slot * of->count + record];
}

static inline const struct field_value *machine_field(const struct machine *machine,
                                                      enum field_id id, uint32_t record)
{
    enum field_group group = field_table[id].group;
    if (machine->asked)
        machine->asked->bits[id / 64] |= (uint64_t)1 << id % 64;
    return machine_value(machine, group, field_slot(id), record);
}

/* The same, to be written. */
static inline struct field_value *machine_field_put(struct machine *machine, enum field_id id,
                                                    uint32_t record)
{
    const struct machine_group *group = &machine->groups[field_table[id].group];
    return &group->values[(size_t)field_slot(id) * group->count + record];
}

/* Gives a copy of a machine values of its own, in `arena`, in the groups listed; the rest stays
 * shared. */
void machine_own_values(struct machine *copy, struct arena *arena,
                        const enum field_group *groups, size_t count);

/* Is this the place where the file has the value, or would have it?  `setter.*` that stands for
 * one of several, and a setter that is an obstacle, have theirs elsewhere. */
bool machine_is_written(const struct machine *machine, enum field_id id, uint32_t record);

/* Is the value not to be changed in a machine that was read, since what was made from it then
 * would stay: a setter that is an obstacle, or `setter.*`; or is it such a thing itself? */
bool machine_is_read_once(const struct machine *machine, enum field_id id, uint32_t record);

/* One value: a field of one record; of a pair its low (1) or high (2) number or both (0). */
struct field_place {
    enum field_id field;
    uint32_t record;
    uint8_t part;
};

/* The field of `setter` for the same one in a record of `setters`, and the other way round; any
 * other field as it is. */
enum field_id field_of_setter(enum field_id id);
enum field_id field_of_setters(enum field_id id);

/* Where the file has a value, or would have it. */
struct field_place machine_home(const struct machine *machine, enum field_id id,
                                uint32_t record);

/* Where rules read a value of the file: of the setter that the change uses, in `setter`. */
struct field_place machine_stand_in(const struct machine *machine, enum field_id id,
                                    uint32_t record);

/* "cutters[2].stickout", "inputs.setter-in.scan": the path of a field of one record, in
 * `arena`.  `part` 1 or 2 adds ".low" or ".high" for a pair. */
const char *machine_path(struct arena *arena, const struct machine *machine, enum field_id id,
                         uint32_t record, int part);

/* A path of a field with the record of a list by what it is called, not by its place:
 * "cutters[number=3].stickout".  As it is where there is nothing to call it by. */
const char *machine_lasting_path(struct arena *arena, const struct machine *machine,
                                 const char *path);

/* A path as people type it, "cutter 3 stickout", "cutters[number=3]", as machine_path would say
 * it; a record alone may be named too.  As it is where it names nothing of the file. */
const char *machine_typed_path(struct arena *arena, const struct machine *machine,
                               struct view path);

/* A path without a machine; `name` is that of an input. */
const char *field_record_path(struct arena *arena, const struct field_place *place,
                              struct view name);

/* Which record of its group a path of field `id` names, as in "axes.y.rapid" or
 * "cutters[2].stickout", and whatever the file has; false where it names none by number or
 * letter. */
bool field_record(enum field_id id, struct view path, uint32_t *record);

/* The field that the records of a list are called by; FIELD_COUNT where there is none. */
enum field_id field_calling(enum field_group group);

/* How people call a record: "cutter 3", "axis x", "input setter-in", "obstacle fence"; NULL for
 * the root. */
const char *machine_record_name(struct arena *arena, const struct machine *machine,
                                enum field_group group, uint32_t record);

/* The unit in which the file writes such quantities: that of the first one in it; where there
 * is none, for speeds and accelerations the one that goes with its lengths. */
unit_id machine_unit(const struct machine *machine, struct dimension dimension);

/* Do its people count in inches: by the height of the table, else by the first length? */
bool machine_in_inches(const struct machine *machine);

/* The nearest thing that is there on the way to a field: the value's own node, else its
 * record's, its section's, the root's.  `*is_value` tells whether it is the field itself. */
const struct tree_node *machine_nearest(const struct machine *machine, enum field_id id,
                                        uint32_t record, bool *is_value);

/* The values that a path as people type it stands for: `setter.at.x`, `axes.z.travel.low`,
 * `cutters[number=3].stickout`; `homing.*.fast_feed` and `cutters[].stickout` are those of
 * every record.  Returns how many there are, at most `room`; none where the field, or the
 * record, is not there. */
size_t machine_resolve(struct arena *arena, const struct machine *machine, struct view path,
                       struct field_place *out, size_t room);

/* Does this condition hold?  Nothing is needed for want of a word that decides about it. */
bool machine_meets(const struct machine *machine, enum field_when when);

/* Is the field needed in the records of its group, as the machine is now? */
bool machine_needs(const struct machine *machine, enum field_id id);

/* What the reader takes without a remark, SI; NAN: no limit. */
struct usual_range {
    double low, high;
};

/* Of a number in one record; `part` 1 or 2 of a pair, 0 otherwise.  Of a pair that is there,
 * also with regard to its other number. */
struct usual_range machine_usual_range(const struct machine *machine, enum field_id id,
                                       uint32_t record, uint8_t part);

/* Does a plain text say nothing in YAML: left empty, ~ or null? */
bool text_is_void(struct view text);

/* Why a text is no plain name of a log beside the machine file; NULL: it is one. */
const char *log_name_wrong(struct arena *arena, struct view name);

/* May values of the field be negative? */
bool field_is_signed(enum field_id id);

/* How many entries a list may have. */
uint32_t kind_limit(enum field_kind kind);

/* May readings stand in the place of its number? */
bool field_takes_readings(enum field_id id);

/* The keys of readings, in the order in which they are given; NULL past the last. */
const char *readings_key(size_t index);

/* Does a text of such a field give readings: a map in braces, as a file has it on one line? */
bool readings_stand(enum field_id id, struct view text);

/* Reads one text as a value of a field, as the loader would; for prompts and revising.  NULL on
 * success (written to `*out`), else what is wrong, in `arena`. */
const char *field_read_text(struct arena *arena, enum field_id id, struct view text,
                            struct field_value *out);

/* What a value of the field has to be: "a length in mm, cm, m, in", "setter or plate". */
const char *field_wanted_text(struct arena *arena, enum field_id id);

/* A value as the file would write it: "42 mm ± 0.5 mm", "yes", "[0 mm, 800 mm]". */
const char *field_value_text(struct arena *arena, enum field_id id,
                             const struct field_value *value);

#endif
