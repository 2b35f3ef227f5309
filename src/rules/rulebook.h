/* A loaded rulebook: rules as data beside one compiled program.
 *
 * The same shape whether it was compiled into the program or read from a file: flat tables,
 * texts as terminated strings.  Only read after loading; shared by all workers.
 */
#ifndef PROVEOUT_RULES_RULEBOOK_H
#define PROVEOUT_RULES_RULEBOOK_H

#include "finding/finding.h"
#include "formula/compile.h"

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

#endif
