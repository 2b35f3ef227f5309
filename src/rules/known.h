/* Known findings: what a file of them sets aside, so that only what is new counts.
 *
 *     proveout-known: 1
 *     files:
 *       - file: shop/mill.yaml
 *         content: 4b5a0f6c2d9e1a37
 *         findings:
 *           - {rule: soft-limits-off, level: warning, fingerprint: 91b1c0a4e2d7f655}
 *
 * A finding is known by its fingerprint (text/fingerprint.h) in the part of its file.  That
 * part is the one of the same path, else one of the same content: all keys and values, wherever
 * they stand, so that a file keeps its part under another name.  Never known are a finding that
 * can hurt a person, one that has a graver level than it had, and one whose margin has become
 * less.
 */
#ifndef PROVEOUT_RULES_KNOWN_H
#define PROVEOUT_RULES_KNOWN_H

#include "rules/load.h"

struct known_entry {
    struct view rule, subject, fingerprint; /* subject empty: the whole file */
    enum finding_level level;
    double margin; /* SI */
    bool has_margin;
    uint32_t line; /* in the file of known findings */
};

struct known_file {
    struct view path, content;
    const struct known_entry *entries;
    size_t count;
    size_t first; /* number of the first entry among those of all files */
};

struct known {
    const char *name; /* of the file */
    const struct known_file *files;
    size_t count;
    size_t entries; /* of all of them */
};

/* Reads a file of known findings; what is wrong with it goes to `mistakes`, and then `out` says
 * nothing.  All lives in the arena of `mistakes`. */
MUST_USE bool known_read(struct rulebook_mistakes *mistakes, const char *name,
                         struct view bytes, struct known *out);

/* The part of a machine file, `path` and its `bytes`; NULL: it has none. */
const struct known_file *known_part(struct arena *arena, const struct known *known,
                                    struct view path, struct view bytes);

/* Sets aside in `report` what the part knows, and counts anew; `found`, one of each entry of
 * the part, is set where it was.  Texts go into `arena`. */
void known_apply(struct arena *arena, const struct known_file *part, struct file_report *report,
                 bool *found);

/* Of an entry that nothing was set aside by: may it be dropped?  Not where the file was not
 * looked at whole, or its rule not asked. */
bool known_is_mended(const struct known_entry *entry, const struct file_report *report);

/* Adds the beginning of such a file, and the part of a machine file: nothing where it has no
 * finding that may be set aside.  Returns how many may not, since they can hurt a person. */
void known_write_head(struct buffer *out);
size_t known_write(struct buffer *out, const struct file_report *report, struct view path,
                   struct view bytes);

#endif
