/* The table of schemas, and what stands at the head of each. */
#include "library/schema.h"

#include <proveout/version.h>

#include "library/schema_parts.h"
#include "rules/rulebook.h"
#include "tree/tree.h"

#define AND ,

static const struct kind {
    const char *name, *called;
    void (*add)(struct schema *schema);
} kinds[] = {
#define KIND(name, called)                                                                     \
    {                                                                                          \
#name, called, schema_add_##name                                                       \
    }
    SCHEMA_KINDS(KIND, AND)
#undef KIND
};

static const struct kind *find(const char *name)
{
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++)
        if (!name || strcmp(kinds[i].name, name) == 0)
            return &kinds[i];
    return NULL;
}

/* The machine on which the examples of rules are run has most fields. */
static const struct tree_node *find_sample(struct arena *arena)
{
    const struct rulebook_text *text = rulebook_base_machine();
    if (!text)
        return NULL;
    return tree_of(arena, view_of(text->name), (struct view){text->bytes, text->size})->root;
}

/* The address leads nowhere; it only tells one schema from another. */
static void add_head(struct schema *schema, const struct kind *kind)
{
    struct json *json = &schema->json;
    json_line(json, 2), json_key(json, "$schema");
    json_text(json, "https://json-schema.org/draft/2020-12/schema");
    json_line(json, 2), json_key(json, "$id");
    json_text(json, arena_format(schema->arena, "https://proveout.invalid/%s", kind->name));
    json_line(json, 2), json_key(json, "$comment");
    json_text(json, "made by proveout " PROVEOUT_VERSION);
    json_line(json, 2), json_key(json, "title");
    json_text(json, arena_format(schema->arena, "proveout %s", kind->called));
}

bool schema_write(struct buffer *out, const char *name)
{
    const struct kind *kind = find(name);
    if (!kind)
        return false;
    struct schema schema = {.json = {.out = out}, .arena = out->arena};
    schema.sample = find_sample(out->arena);
    json_open(&schema.json, '{');
    add_head(&schema, kind);
    kind->add(&schema);
    buffer_byte(out, '\n'), json_close(&schema.json, '}');
    buffer_byte(out, '\n');
    return true;
}
