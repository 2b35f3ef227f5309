/* The form of rulebooks: the one table of their keys, from which they are read and described.
 *
 * What a value means is the affair of those who read it; the language of formulas is another
 * folder's.
 */
#ifndef PROVEOUT_RULES_FORM_H
#define PROVEOUT_RULES_FORM_H

#include "base/view.h"

/* The maps of a rulebook. */
enum book_map {
    BOOK_MAP_BOOK,     /* the file itself */
    BOOK_MAP_RULE,     /* each below `rules` */
    BOOK_MAP_EXAMPLES, /* `examples` of a rule */
    BOOK_MAP_CHANGE,   /* one example, which has fields of the machine besides */
    BOOK_MAP_COUNT
};

enum book_value {
    BOOK_IS_TEXT,
    BOOK_IS_TEXTS, /* a text, or a list with one for each requirement */
    BOOK_IS_WORD,  /* one of `words` */
    BOOK_IS_WORDS, /* likewise, or a list with one for each requirement */
    BOOK_IS_NAMES, /* of rules: one, or a list of at most RULE_IMPLIED_MAX - 1 */
    BOOK_IS_FORMULAS,
    BOOK_IS_RULES,
    BOOK_IS_EXAMPLES,
    BOOK_IS_CHANGES,
    BOOK_IS_CHANGE_LIST
};

enum book_key_id {
#define BOOK_KEY(map, id, ...) BOOK_##id,
#include "rules/form.inc"
#undef BOOK_KEY
    BOOK_KEY_COUNT
};

struct book_key {
    enum book_map map;
    const char *key;
    enum book_value value;
    bool wanted;
    const char *words;   /* separated by blanks; NULL: any text */
    const char *meaning; /* sentences */
    const char *example; /* NULL: none that fits into a line */
};

extern const struct book_key book_key_table[BOOK_KEY_COUNT];

enum { BOOK_NAMES_MOST = 16 }; /* keys of a map, words of a key */

/* The keys of a map, and the words of a key; how many there are. */
size_t book_map_keys(enum book_map map, struct view out[BOOK_NAMES_MOST]);
size_t book_key_words(enum book_key_id id, struct view out[BOOK_NAMES_MOST]);

/* How long the name of a rule may be. */
enum { RULE_NAME_MOST = 60 };

#endif
