/* The keys of the program's own small files, policies, known findings and lists of agreements:
 * read by who reads them, and by the schemas that editors are given.
 */
#ifndef PROVEOUT_RULES_OWN_KEYS_H
#define PROVEOUT_RULES_OWN_KEYS_H

#include <stdbool.h>
#include <stddef.h>

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

#endif
