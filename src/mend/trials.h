/* Changes of a file, each tried by reading and checking the file with it. */
#ifndef PROVEOUT_MEND_TRIALS_H
#define PROVEOUT_MEND_TRIALS_H

#include "machine/file.h"
#include "rules/check.h"

/* What would be changed, and how it is told. */
struct proposed_edit {
    struct span span;
    const char *text;  /* comes in its place */
    const char *title; /* what to do, as an order */
    const char *why;   /* one reason */
    const char *asks;  /* what only people can answer */
    const char *field; /* whose value it changes; NULL: that which the finding names */
    bool always_asks;  /* whatever the finding is; else only where it hurts a person */
    unsigned distance; /* from what stands there: where a near one does, farther ones are not
                          meant */
};

struct trial {
    struct proposed_edit edit;
    bool clean; /* nothing is found with it that was not before, and no less is looked at */
    bool *gone; /* for each finding of the report: it is not found with it */
};

/* All that were tried about one thing. */
struct trial_group {
    const char *about;
    size_t first, end;
    bool cut; /* there were too many: not all of it was tried */
};

struct trials {
    struct arena *arena;
    struct arena *scratch;   /* of one trial */
    struct checker *checker; /* says what fails, and no more */
    struct machine_file *file;
    const struct file_report *before;
    bool asks; /* whatever is tried next is asked about */
    VECTOR(struct trial) items;
    VECTOR(struct trial_group) groups;
};

/* Are there trials about this already?  Else a group of them is begun; each goes into the group
 * begun last. */
bool trials_are_known(struct trials *trials, const char *about, struct trial_group **group);

/* Tries an edit, unless it is one of the group, or there were too many. */
void trials_add(struct trials *trials, const struct proposed_edit *edit);

/* The edit that makes `*bytes` of the file's; false where they are the same.  Its span begins
 * and ends where words do. */
bool trials_edit(const struct trials *trials, struct view bytes, struct proposed_edit *edit);

/* The trials of the words of the procedure at one place: other choices, orders, questions. */
void words_try(struct trials *trials, const struct field_place *place);

/* Which units are tried of a number. */
enum units_tried {
    UNITS_IF_ODD, /* where no number beside it is in its unit: those of the like */
    UNITS_USED,   /* those of the like, the nearest first */
    UNITS_USUAL   /* and, where none of these does, those that people use */
};

/* Those of the unit in which one number was typed. */
void units_try(struct trials *trials, const struct finding_spot *number, enum field_id field,
               enum units_tried tried);

/* That of taking out the thing of a list to which `field` belongs, `cutters[2].number`, where
 * one before it says the same. */
void again_try(struct trials *trials, const char *field);

/* Those of what was mistyped, by the finding of the reader that tells of it. */
void typed_try(struct trials *trials, const struct finding *finding);

/* What the file has there. */
static inline struct view trials_slice(const struct trials *trials, struct span span)
{
    return (struct view){trials->file->bytes.data + span.start, span.end - span.start};
}

#endif
