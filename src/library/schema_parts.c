/* What the writers of schemas share. */
#include "library/schema_parts.h"

void schema_open(struct json *json, const char *types)
{
    struct view rest = view_of(types), first = view_take(&rest, ' ');
    json_open(json, '{'), json_key(json, "type");
    if (!rest.size) {
        json_view(json, first);
        return;
    }
    json_open(json, '[');
    for (struct view type = first; type.size; type = view_take(&rest, ' '))
        json_view(json, type);
    json_close(json, ']');
}

void schema_add_any_text(struct json *json)
{
    schema_open(json, "string number boolean");
    json_close(json, '}');
}

void schema_add_required(struct json *json, const char *key)
{
    json_key(json, "required"), json_open(json, '['), json_text(json, key);
    json_close(json, ']');
}

void schema_add_word(struct json *json, struct view word)
{
    json_view(json, word);
    if (view_is(word, "yes") || view_is(word, "no"))
        json_bool(json, view_is(word, "yes"));
}
