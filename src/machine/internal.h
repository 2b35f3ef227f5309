/* What the files of this folder share: how groups and sections of the file are laid out. */
#ifndef PROVEOUT_MACHINE_INTERNAL_H
#define PROVEOUT_MACHINE_INTERNAL_H

#include "machine/machine.h"

/* How the records of a group stand in the file. */
enum group_shape {
    SHAPE_ROOT,  /* the file itself: one record */
    SHAPE_AXES,  /* a section with the letters x, y, z */
    SHAPE_NAMES, /* a section with names of the user's own */
    SHAPE_LIST   /* a list of sections */
};

enum { AXES = 3 };

struct group_row {
    const char *key; /* at the top of the file; "" for the root */
    enum group_shape shape;
    enum field_id first; /* its fields run from here */
    enum field_id end;   /* up to here */
    const char *record;  /* what people call one of them */
    uint32_t most;       /* records: too-long */
    bool wanted;         /* must there be one? */
};

extern const struct group_row group_table[GROUP_COUNT];

/* Some fields of one group, next to each other, whose keys start alike up to `depth` bytes:
 * a section of the file. */
struct section {
    enum field_group group;
    enum field_id first, end;
    size_t depth; /* length of the part of the key that they share, with its dot */
};

/* The whole group as a section. */
struct section section_of_group(enum field_group group);

/* What a key names in a section: a field (`*leaf` true, `out->first` it) or a section below. */
bool section_find(const struct section *section, struct view key, struct section *out,
                  bool *leaf);

/* The name after the section's own of the field `id`: "at" of setter.at.x in the section
 * setter. */
struct view section_step(const struct section *section, enum field_id id);

/* The section or field at the step of field `id`. */
void section_at(const struct section *section, enum field_id id, struct section *out,
                bool *leaf);

/* May a value of the field lie below nothing? */
bool field_is_signed(enum field_id id);

#endif
