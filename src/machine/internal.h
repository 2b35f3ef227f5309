/* What the files of this folder share.
 *
 * Reading goes down the sections of the file (machine.c, section.c), each value is read by its
 * kind (value.c, numbers.c, lists.c, readings.c), what is wrong with it is put into words in
 * one place (complain.c), what is odd about it in another (plausible.c).  Keys that are not
 * known (unknown.c), what is not there (missing.c), names that refer to inputs (refer.c) and
 * setters (setters.c) come last.
 */
#ifndef PROVEOUT_MACHINE_INTERNAL_H
#define PROVEOUT_MACHINE_INTERNAL_H

#include "base/printf.h"
#include "machine/machine.h"

enum {
    AXES = 3,
    WORDS_MAX = 32,     /* words of one list: too-long */
    NUMBERS_MAX = 1000, /* quantities of one list: too-long */
    NAME_CELLS = 40,    /* of a path or name from the file in a message */
    VALUE_CELLS = 24,   /* of a value */
    MESSAGE_CELLS = 100 /* aimed at for a whole message */
};

extern const char *const axis_names[AXES];

/* The group that stands under this key at the top of the file; GROUP_ROOT where none does. */
enum field_group group_find(struct view key);
/* 0, 1, 2 for x, y, z; -1 for anything else. */
int axis_find(struct view name);

/* Fields of one group, next to each other, whose keys start alike up to `depth` bytes: a
 * section of the file. */
struct section {
    enum field_group group;
    enum field_id first, end;
    size_t depth; /* length of the part of the keys that they share, with its dot */
};

/* The whole group as a section. */
struct section section_of_group(enum field_group group);

/* What a key names in a section: a field (`*leaf` true, `out->first` it) or a section below.
 * `*hint`: where to look first; moved behind what was found. */
bool section_find(const struct section *section, struct view key, enum field_id *hint,
                  struct section *out, bool *leaf);

/* What field `id` of a section belongs to there: itself, or a section below.  Returns its name.
 */
struct view section_step(const struct section *section, enum field_id id, struct section *out,
                         bool *leaf);

/* "change.park", "axes.x.drive", "cutters[2]", "" for the file itself. */
const char *section_path(struct arena *arena, const struct machine *machine,
                         const struct section *section, uint32_t record);

/* The file being read. */
struct reader {
    struct machine *machine;
    struct arena *arena;
    struct finding_sink *sink;
};

/* One value being read, from the file or (without a reader) from a text alone. */
struct value_reader {
    struct arena *arena;
    struct reader *reader;
    enum field_id id;
    uint32_t record;
    const struct tree_node *node; /* the whole value; NULL without a reader */
    const char *message;          /* without a reader: the first thing that is wrong */
    int last, quiet; /* name of the last complaint or remark, and one not to make; -1: none */
};

/* One text of a value. */
struct item {
    struct view text;
    const struct tree_node *node; /* NULL without a reader */
    int part;                     /* of a list: which, from 1 */
};

/* Readers of values: they complain and return false where the text is wrong. */
bool value_read_text(struct value_reader *reading, const struct item *item,
                     struct field_value *out);
bool value_read_list(struct value_reader *reading, const struct item *items, uint32_t count,
                     struct field_value *out);
bool value_read_quantity(struct value_reader *reading, const struct item *item,
                         struct field_value *out);
/* The same of any sign and size. */
bool value_read_number(struct value_reader *reading, const struct item *item,
                       struct field_value *out);
bool value_read_count(struct value_reader *reading, const struct item *item,
                      struct field_value *out);
/* The index of a choice, -1 where it is none. */
int value_read_word(struct value_reader *reading, const struct item *item);
/* Is it `none`, where a list may be that?  Complains of nothing. */
bool value_read_none(struct value_reader *reading, struct view text, struct field_value *out);

/* Is a text no name for a log, where it is to be one? */
bool value_check_log(struct value_reader *r, const struct item *item);

/* Complains of a log that is the machine file itself. */
void machine_check_log(struct reader *reader);

/* The texts of a list, in the arena; NULL where one is none, with a complaint. */
struct item *value_gather(struct value_reader *reading, const struct tree_node *list);

/* Is it a map of readings, by its keys? */
bool node_has_readings(const struct tree_node *node);
/* The value that a map of readings comes to. */
bool value_read_readings(struct value_reader *reading, const struct tree_node *map,
                         struct field_value *out);
/* Remarks on readings that were taken before somebody worked on the machine. */
void machine_judge_readings(struct reader *reader);

/* A day as seconds from 1970-01-01; NULL, or what is wrong with it: "is no date". */
const char *date_read(struct view text, double *seconds);

/* Does a node say nothing in YAML?  What stands there, in words: "a list". */
bool node_is_void(const struct tree_node *node);
const char *node_stands(const struct tree_node *node);
/* Complains of a value that says nothing. */
void value_complain_void(struct value_reader *r, const struct item *item);

/* Puts numbers together that a decimal comma has parted, as in `[0,5 mm, 8 mm]`; returns how
 * many items there are then. */
uint32_t list_join_numbers(struct value_reader *reading, struct item *items, uint32_t count);

/* yes 1, no 0, neither -1; `loose`: on, off, y and n too. */
int flag_find(struct view text, bool loose);

/* Says what is wrong: `problem`, then what the field wants.  `hint`: what to do, or NULL.  `at`
 * NULL: the whole value.  Returns the finding; NULL where there is no record of it. */
struct finding *machine_complain(struct value_reader *reading, const struct item *at,
                                 enum reader_finding name, const char *hint,
                                 const char *problem, ...) PRINTF(5, 6);

/* The same with what is wanted, where that is not the kind of value that the field has. */
struct finding *machine_want(struct value_reader *reading, const struct item *at,
                             enum reader_finding name, const char *hint, const char *problem,
                             const char *what);

/* The same with a whole sentence of its own. */
struct finding *machine_tell(struct value_reader *reading, const struct item *at,
                             enum reader_finding name, const char *hint, const char *message);

/* Proposes `word` for `part` of an item's text (finding NULL: nothing), where that stands in
 * the file as it was read. */
void machine_replace(struct value_reader *reading, struct finding *finding,
                     const struct item *item, struct view part, const char *word);

/* Are there so many findings of this name that one more is only counted?  It is then, at `at`,
 * and no words need to be made. */
bool machine_only_counts(const struct value_reader *reading, const struct item *at,
                         enum reader_finding name);

/* The first few units that people write for a dimension; how many. */
enum { UNITS_NAMED = 4 };
size_t machine_usual_units(struct dimension wanted, unit_id units[UNITS_NAMED]);
/* "a " or "an ", or nothing before a plural. */
const char *machine_article(const char *noun);

/* "a, b or c". */
const char *field_choices_text(struct arena *arena, const struct field *field);
/* A text of the file for a message, in quotes. */
const char *machine_quoted(struct arena *arena, struct view text);

/* Remarks on a value that was read but is like no machine's. */
void machine_judge_number(struct value_reader *reading, const struct item *item,
                          const struct field_value *value);
void machine_judge_extent(struct value_reader *reading, const struct field_value *pair);

/* Fields of a section of one record become wrong, all or only those that are absent; those
 * without a place of their own stand at `node`. */
void section_spoil(struct reader *reader, const struct section *section, uint32_t record,
                   const struct tree_node *node, bool absent_only);
/* The same for all records of a group, and how many there are is not known. */
void group_spoil(struct reader *reader, enum field_group group, const struct tree_node *node);

/* The fields of `setter`, and of each of `setters` behind its name, are the same ones in the
 * same order. */
enum {
    SETTER_FIRST = FIELD_SETTER_RIDES_ON,
    SETTER_WIDTH = FIELD_SETTER_END_OVERTRAVEL + 1 - SETTER_FIRST,
    LIST_FIRST = FIELD_SETTERS_RIDES_ON
};

/* The change measures with a setter, as far as is known. */
bool machine_uses_setter(const struct machine *machine);

/* What may stand at one place of the file. */
struct scope {
    const struct section *section; /* fields and sections; NULL: none */
    uint32_t record;
    enum field_group axes; /* letters of this group's records; GROUP_ROOT: none */
    const char *path;      /* "change.park"; "" for the file itself */
};

/* Reports the keys of `map` that are not known in `scope`; what they stand for becomes wrong.
 */
void machine_report_unknown(struct reader *reader, const struct scope *scope,
                            const struct tree_node *map);

/* Reports fields that are needed and absent. */
void machine_report_missing(struct reader *reader);

/* Takes the setter that the change uses for `setter`; before what is missing is looked for. */
void machine_choose_setter(struct reader *reader);

/* Puts the setters that the change does not use among the obstacles; before absent values get
 * their defaults. */
void machine_stand_setters(struct reader *reader);

/* Finds the inputs that values name. */
void machine_refer_inputs(struct reader *reader);

#endif
