/* Rulebooks: what one is once it is loaded, the form in which it is written, how it is loaded, and
 * how the examples that its rules carry are run. */
#ifndef PROVEOUT_RULES_RULEBOOK_H
#define PROVEOUT_RULES_RULEBOOK_H

#include "base/buffer.h"
#include "finding/sink.h"
#include "formula/compile.h"

/* A loaded rulebook: rules as data beside one compiled program.
 *
 * The same shape whether it was compiled into the program or read from a file: flat tables,
 * texts as terminated strings.  Only read after loading; shared by all workers.
 */

/* One requirement of a rule; each is an instance of its own. */
struct requirement {
    uint32_t node;
    uint32_t blame; /* a formula_field node, NODE_NONE: no field */
    uint32_t says;  /* index of its message in `messages` */
    uint8_t level;  /* enum finding_level */
    uint8_t has_margin;
    uint8_t blames_each; /* does the blamed place depend on the bound name? */
    uint8_t has_room;  /* its margin is room: it rests on a size that was measured or chosen */
    uint8_t has_dates; /* it is a time that rests on a date, and may be counted in days */
    struct dimension dimension;
};

/* A piece of a message: text, or a value to be shown. */
struct message_piece {
    const char *text; /* NULL for a value */
    uint32_t node;    /* formula_shown */
};
struct message {
    uint32_t first, count; /* in `pieces` */
};

#define RULE_NONE UINT32_MAX /* no rule */

enum { RULE_IMPLIED_MAX = 5 };

struct rule {
    const char *name;
    const char *why, *put_right,
        *source;           /* put_right is in `messages` too, see put_right_message */
    const char *when_text; /* as written, for `explain`; NULL where always */
    const char *each_text; /* "c in cutters"; NULL where it is asked once */
    uint8_t level, hurts;  /* enum finding_level: the gravest of all; finding_hurts */
    uint8_t chosen_stack;  /* a precision rule: tolerances add as the file chooses */
    uint8_t when_each;     /* `when` reads the bound name */
    uint32_t when;         /* node or NODE_NONE */
    uint32_t slot;         /* of the bound name */
    uint8_t domain;        /* kind of record; 0: asked once */
    uint32_t first_requirement, requirement_count;
    uint32_t put_right_message;
    const char *implied_by[RULE_IMPLIED_MAX]; /* names, NULL at the end */
};

struct rulebook {
    const char *title;
    struct program program;
    const struct rule *rules;
    uint32_t rule_count;
    const struct requirement *requirements;
    uint32_t requirement_count;
    const struct message *messages;
    uint32_t message_count;
    const struct message_piece *pieces;
    uint32_t piece_count;
};

/* A file of rules as text: those built in, for proving and explaining, and the user's own. */
struct rulebook_text {
    const char *name; /* "rules/setter.yaml" */
    const char *bytes;
    size_t size;
};

/* The built-in rulebooks, compiled when the program was built, and their texts. */
extern const struct rulebook builtin_rulebook;
extern const struct rulebook_text builtin_texts[];
extern const size_t builtin_text_count;
/* 16 hexadecimal digits, of the bytes of all these texts. */
extern const char builtin_fingerprint[];

/* The form of rulebooks: the one table of their keys, from which they are read and described.
 *
 * What a value means is the affair of those who read it; the language of formulas is another
 * folder's.
 */

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

/* The words of a key; how many there are. */
size_t book_key_words(enum book_key_id id, struct view out[BOOK_NAMES_MOST]);

/* How long the name of a rule may be. */
enum { RULE_NAME_MOST = 60 };

/* Loading rulebooks: from YAML text to struct rulebook, every mistake at its line and column.
 *
 * Several files are compiled into one rulebook, definitions first, so that a file may use what
 * another defines.
 */

/* A mistake in a rulebook. */
struct rulebook_mistake {
    struct source *source;
    struct span span;
    const char *message;
};

struct rulebook_mistakes {
    struct arena *arena;
    VECTOR(struct rulebook_mistake) list; /* in the order of files and places once it is done */
};

/* Loads `count` texts as one rulebook.  `shared` texts (may be none) give definitions only.
 * True when there was no mistake; `*out` is written only then.  A rule that lacks the examples
 * which each must carry is one. */
MUST_USE bool rulebook_load(struct rulebook_mistakes *mistakes,
                            const struct rulebook_text *texts, size_t count,
                            const struct rulebook_text *shared, size_t shared_count,
                            struct rulebook *out);

/* Is this text a rulebook (its first key is `rulebook`)?  The base machine of the examples and
 * the reader's own findings are not. */
bool rulebook_is_text(const struct rulebook_text *text);

/* The built-in texts that are rulebooks, in the order of the catalogue; `*out` is in `arena`.
 */
size_t rulebook_builtin_texts(struct arena *arena, struct rulebook_text **out);

/* The machine on which the examples of rules are run; NULL: it is not built in. */
const struct rulebook_text *rulebook_base_machine(void);

/* Loads `count` texts of a user, who may use the definitions of the built-in ones. */
MUST_USE bool rulebook_load_own(struct rulebook_mistakes *mistakes,
                                const struct rulebook_text *texts, size_t count,
                                struct rulebook *out);

/* The mistakes, a line each in the form of GNU error messages, the last without its end.  `add`
 * puts in what comes from the rulebooks: buffer_add, or something that makes it harmless. */
const char *rulebook_mistakes_text(const struct rulebook_mistakes *mistakes,
                                   void (*add)(struct buffer *out, struct view text));

/* Running the examples that every rule carries. */

/* Loads `texts` as a rulebook (`user_book`: on top of the built-in definitions, beside the
 * built-in rules) and runs each example of each rule on the base machine of the built-in texts.
 * Writes TAP, version 14, into `tap`.  Mistakes of a rulebook that does not load are left in
 * `mistakes`, and nothing is written.  True when every example came out as it says. */
MUST_USE bool rules_prove(struct rulebook_mistakes *mistakes, const struct rulebook_text *texts,
                          size_t count, bool user_book, struct buffer *tap);

/* An example that did not come out as it says. */
struct differing_example {
    struct source *source;
    struct span span; /* of the example */
    const char *rule, *message;
};

struct differing_examples {
    VECTOR(struct differing_example) list;
};

/* The same of the first of a user's texts; false where they do not load, with why in `mistakes`.
 * What is found lives in its arena. */
MUST_USE bool rules_prove_first(struct rulebook_mistakes *mistakes,
                                const struct rulebook_text *texts, size_t count,
                                struct differing_examples *out);

#endif
