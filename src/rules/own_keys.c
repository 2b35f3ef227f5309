/* The tables of keys. */
#include "rules/own_keys.h"

#define MAP(name, ...)                                                                         \
    static const struct own_key name##_keys[] = {__VA_ARGS__};                                 \
    const struct own_map name = {name##_keys, sizeof name##_keys / sizeof *name##_keys}

MAP(own_policy_waiver,
    {"rules", OWN_TEXTS, true, "names of rules that may be waived; * is every one", NULL},
    {"by", OWN_TEXTS, false, "names of people, as accepted_by has them; left out: anybody",
     NULL});

MAP(own_policy, {"proveout-policy", OWN_VERSION, true, "version of this form", NULL},
    {"stop_at", OWN_LEVEL, false,
     "level from which on findings count, unless --stop-at says so", NULL},
    {"rulebooks", OWN_TEXTS, false,
     "rulebooks that are asked of every machine, beside this file or in folders below", NULL},
    {"levels", OWN_LEVELS, false,
     "levels of rules; what can hurt a person, and a mistake in a file, is never lowered",
     NULL},
    {"agreements", OWN_FIELDS, false,
     "fields that each machine has to hold against the controller's own file; yes: any one",
     NULL},
    {"measured_within", OWN_DAYS, false,
     "how long ago table, setters and cutters may have been measured, in days", NULL},
    {"waivers", OWN_ITEMS, false, "who may waive what; left out: everybody anything",
     &own_policy_waiver});

MAP(own_known_entry, {"rule", OWN_TEXT, true, "name of the rule", NULL},
    {"level", OWN_LEVEL, true, "its level; a graver one counts as new", NULL},
    {"subject", OWN_TEXT, false, "what it is about, for people", NULL},
    {"field", OWN_TEXT, false, "where it points at, for people", NULL},
    {"margin", OWN_NUMBER, false, "its margin in SI units; a smaller one counts as new", NULL},
    {"fingerprint", OWN_FINGERPRINT, true, "what it is known by", NULL});

MAP(own_known_file, {"file", OWN_TEXT, true, "path of the machine file", NULL},
    {"content", OWN_TEXT, true, "what it is known by under another name", NULL},
    {"findings", OWN_ITEMS, true, "what is set aside of it", &own_known_entry});

MAP(own_known, {"proveout-known", OWN_VERSION, true, "version of this form", NULL},
    {"files", OWN_PARTS, true, "a part for each machine file", &own_known_file});

MAP(own_agreement,
    {"field", OWN_TEXT, true, "path of the field that has to say the same", NULL},
    {"file", OWN_TEXT, true,
     "name of the controller's file, or a pattern of the shell for it, without a folder", NULL},
    {"pattern", OWN_TEXT, true, "pattern that finds the value, in a group named value", NULL},
    {"unit", OWN_TEXT, false,
     "unit in which the controller's file gives it; left out: asked for, where none stands "
     "beside the number",
     NULL},
    {"within", OWN_TEXT, false, "how far the two may differ; left out: to the digits written",
     NULL},
    {"for", OWN_TEXT, false, "which machines it is for, for people", NULL});

MAP(own_agreements, {"proveout-agreements", OWN_VERSION, true, "version of this form", NULL},
    {"agreements", OWN_PARTS, true, "what stands where", &own_agreement});
