/* The program's own small files: the policy of a folder, known findings, a shop's list of
 * agreements; and the keys of all of them. */
#ifndef PROVEOUT_RULES_OWN_H
#define PROVEOUT_RULES_OWN_H

#include "machine/machine.h"
#include "rules/rulebook.h"

/* The keys of the program's own small files, policies, known findings and lists of agreements:
 * read by who reads them, and by the schemas that editors are given.
 */

enum own_value {
    OWN_VERSION, /* 1 */
    OWN_TEXT,
    OWN_NUMBER,      /* without a unit */
    OWN_FINGERPRINT, /* 16 hexadecimal digits */
    OWN_LEVEL,       /* error, warning, note */
    OWN_LEVELS,      /* of rules, by their names */
    OWN_DAYS,        /* "180 days" */
    OWN_TEXTS,       /* a list of them */
    OWN_FIELDS,      /* a list of paths of fields, or `yes` */
    OWN_ITEMS,       /* a list of maps, with the keys of `items` */
    OWN_PARTS        /* the same, or nothing at all */
};

struct own_map;

struct own_key {
    const char *key;
    enum own_value value;
    bool is_needed;
    const char *meaning;
    const struct own_map *items;
};

/* A map of a file: the first key of the whole is that of its version. */
struct own_map {
    const struct own_key *keys;
    size_t count;
};

extern const struct own_map own_policy, own_policy_waiver;
extern const struct own_map own_known, own_known_file, own_known_entry;
extern const struct own_map own_agreements, own_agreement;

/* The policy of a folder: what the people who share its machine files have agreed on.
 *
 *     proveout-policy: 1
 *     stop_at: warning
 *     rulebooks: [club.yaml]
 *     levels: {long-and-thin: note, idle-unchecked: error}
 *     agreements: [change.approach_z]
 *     measured_within: 180 days
 *     waivers:
 *       - {rules: [long-and-thin], by: [R. Holm]}
 *
 * It may ask for more than the rules do, and lower what is only about work or machine.  The
 * level of what can hurt a person, and of a mistake in a file, is never lowered.
 */

/* The name of the file. */
#define POLICY_NAME "proveout.policy.yaml"

struct policy_level {
    struct view rule;
    enum finding_level level;
    struct span span; /* of the rule's name */
};

/* Who may waive what. */
struct policy_waiver {
    const struct tree_node *const *rules; /* names; `*` is every rule */
    size_t rule_count;
    const struct tree_node *const *by; /* names of people; none: anybody */
    size_t by_count;
};

struct policy {
    const char *name; /* of the file */
    struct source *source;
    bool has_stop_at;
    enum finding_level stop_at;
    const struct tree_node *const *rulebooks; /* paths from the folder of the policy */
    size_t rulebook_count;
    const struct policy_level *levels;
    size_t level_count;
    const struct tree_node *const *agreements; /* paths of fields */
    size_t agreement_count;
    bool wants_agreement;   /* with the controller's own file, about whatever */
    double measured_within; /* seconds; 0: however long ago */
    bool limits_waivers;
    const struct policy_waiver *waivers;
    size_t waiver_count;
};

/* Reads a policy; what is wrong with it goes to `mistakes`, in whose arena all lives. */
MUST_USE bool policy_read(struct rulebook_mistakes *mistakes, const char *name,
                          struct view bytes, struct policy *out);

/* The rules that it names have to be there, and must not be lowered where they may not. */
MUST_USE bool policy_fits(struct rulebook_mistakes *mistakes, const struct policy *policy,
                          const struct rulebook *const *books, size_t count);

/* Reports what a machine lacks by the policy: agreements, and measurements that are too old or
 * of which nobody knows how old they are. */
void policy_check(struct arena *arena, const struct policy *policy,
                  const struct machine *machine, struct finding_sink *sink, double today);

/* May `who` waive this rule?  `policy` NULL: everybody may. */
bool policy_lets(const struct policy *policy, struct view rule, const char *who);

/* Gives findings the levels that the policy wants. */
void policy_levels(const struct policy *policy, struct file_report *report);

/* Adds what it says, for people, a line each. */
void policy_tell(struct buffer *out, const struct policy *policy);

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

/* A shop's own list of agreements: which numbers of its controllers' files say what.
 *
 *     proveout-agreements: 1
 *     agreements:
 *       - field: change.standoff
 *         file: "*.conf"
 *         pattern: '^STANDOFF = (?<value>[-0-9.]+)'
 *         unit: mm
 *         within: 0.05 mm
 *         for: the mills by the door
 *
 * Machines do not refer to it: what is taken from it stands in the machine file as an agreement
 * of its own.
 */

/* The name of the file. */
#define AGREEMENTS_NAME "agreements.yaml"

enum { SHARED_AGREEMENTS_MAX = 1000 };

struct shared_agreement {
    struct view field;  /* its path */
    struct view file;   /* a name, or a pattern of the shell; no folder is in it */
    struct view pattern;
    struct view unit;   /* empty: not said */
    struct view within; /* empty: not said */
    struct view what_for;
    uint32_t line; /* in the list */
};

struct shared_agreements {
    const char *name; /* of the file */
    const struct shared_agreement *items;
    size_t count;
};

/* Reads a list; what is wrong with it goes to `mistakes`, in whose arena all lives. */
MUST_USE bool shared_agreements_read(struct rulebook_mistakes *mistakes, const char *name,
                                     struct view bytes, struct shared_agreements *out);

/* The bytes of the list with one more agreement at its end; `bytes` without any: a list of it
 * alone.  All else stays as it is.  NULL, or why it cannot be added. */
MUST_USE const char *shared_agreements_add(struct arena *arena, const char *name,
                                           struct view bytes,
                                           const struct shared_agreement *agreement,
                                           struct view *out);

#endif
