/* What the writers of schemas share. */
#ifndef PROVEOUT_LIBRARY_SCHEMA_PARTS_H
#define PROVEOUT_LIBRARY_SCHEMA_PARTS_H

#include "library/schema.h"
#include "machine/machine.h"
#include "report/json_writer.h"

struct schema {
    struct json json;
    struct arena *arena;
    bool partial; /* of a file that takes in others: what is wanted may be lacking */
    const struct tree_node *sample; /* a machine whose values serve as examples; may be NULL */
};

/* The writers: each adds keys and values of the schema's own map. */
#define SCHEMA_WRITER(name, called) void schema_add_##name(struct schema *schema)
SCHEMA_KINDS(SCHEMA_WRITER, ;);
#undef SCHEMA_WRITER

/* Opens a map that says its type (any of the words given, separated by blanks). */
void schema_open(struct json *json, const char *types);

/* Any plain text, number or truth value. */
void schema_add_any_text(struct json *json);

/* A key with a list of one word: "required": ["key"]. */
void schema_add_required(struct json *json, const char *key);

/* A word, and the truth value that some readers make of it. */
void schema_add_word(struct json *json, struct view word);

/* What may stand at a field, as a map of its own; with `away` also nothing, which takes it away.
 */
void schema_add_field(struct schema *schema, enum field_id id, bool away);

/* What all of these lead to, as members of `$defs`. */
void schema_add_fields(struct schema *schema);

/* A value of the field as it is typed, for an example: what stands in the sample, else one that
 * the table of fields gives. */
void schema_add_example(struct schema *schema, enum field_id id);

/* A text as it stands in JSON: a bare number is a number there. */
void schema_add_typed(struct json *json, const struct field *field, struct view text);

#endif
