/* What a value is, in words: of fields by their paths, of definitions by their names. */
#include "formula/internal_say.h"

#include "text/escape.h"

/* "setter nose contact" of "setter.nose_contact", "stickout of cutter 2" of a field of its
 * record: a path as people would say it. */
static const char *path_label(const struct speaker *speaker, const char *path,
                              const char *record)
{
    static const char *const left_out[] = {"change.", "allowances.", "axes."};
    const char *behind = strstr(path, "].");
    if (behind)
        path = behind + 2;
    for (size_t i = 0; i < sizeof left_out / sizeof *left_out; i++)
        if (strncmp(path, left_out[i], strlen(left_out[i])) == 0)
            path += strlen(left_out[i]);
    char *label = arena_format(speaker->arena, "%s%s%s", path, behind && record ? " of " : "",
                               behind && record ? record : "");
    for (size_t i = 0; i < strlen(path); i++)
        if (label[i] == '_' || label[i] == '.')
            label[i] = ' ';
    return label;
}

/* "smallest used stickout" of "smallest used_stickout(c) for c in cutters". */
static void quantifier_label(const struct speaker *speaker, struct buffer *out,
                             const struct formula_node *n)
{
    struct buffer text;
    buffer_init(&text, out->arena);
    say_quote(speaker, &text, n);
    const char *said = buffer_string(&text) + strspn(buffer_string(&text), "( ");
    const char *end = strstr(said, " for ");
    if (!end)
        end = said + strlen(said);
    for (; said < end; said++) {
        size_t size = *said == '(' ? strcspn(said + 1, " ,()") + 1 : 0;
        if (size && said[size] == ')') /* the name that the list gives each of its items */
            said += size;
        else
            buffer_byte(out, *said == '_' ? ' ' : *said);
    }
}

const struct entry *say_named_by(const struct speaker *speaker, const struct entry *entry)
{
    const struct record *record = &speaker->evaluator->last;
    for (const struct entry *at = entry; at;) {
        switch (at->node->op) {
        case OP_LEAF:
            return at;
        case OP_CALL:
        case OP_SLOT:
            at = entry_at(record, at->stands_for);
            break;
        case OP_IF:
        case OP_OTHERWISE:
            at = say_taken(speaker, at);
            break;
        case OP_NOMINAL:
            at = say_part(speaker, at, 0);
            break;
        case OP_WIDEN:
            at = speaker->apart ? say_part(speaker, at, 0) : NULL;
            break;
        default:
            return entry;
        }
    }
    return entry;
}

/* Of a name that stands for the numbers of a list: the list; NULL where it stands for anything
 * else. */
static const struct entry *list_of(const struct speaker *speaker, const struct entry *entry)
{
    const struct record *record = &speaker->evaluator->last;
    if (entry->node->op != OP_SLOT || entry->stands_for != NODE_NONE)
        return NULL;
    for (const struct entry *around = entry_at(record, entry->outer); around;
         around = entry_at(record, around->outer))
        if (around->is_element && around->node->b == entry->node->a)
            return entry_at(record, entry_at(record, around->outer)->first);
    return NULL;
}

const char *say_place(const struct speaker *speaker, const struct entry *entry)
{
    const struct formula_namer *namer = speaker->namer;
    entry = say_named_by(speaker, entry);
    const struct entry *list = list_of(speaker, entry);
    if (list)
        entry = list;
    bool reads = list || entry->node->op == OP_LEAF;
    if (!reads || entry->read == NODE_NONE || !namer->place)
        return "";
    struct formula_read *read = &speaker->evaluator->last.reads.items[entry->read].read;
    const char *place = read->placed ? NULL
                                     : namer->place(namer->user, speaker->arena, read->leaf,
                                                    read->part, read->record);
    read->placed |= place != NULL;
    return place ? arena_format(speaker->arena, " (%s)", place) : "";
}

/* The thing that a leaf belongs to by its name; NULL where it is one of its kind. */
static const char *owner_of(const struct speaker *speaker, const struct entry *leaf)
{
    const struct entry *of = say_part(speaker, leaf, 0);
    bool named = of && of->node->type == TYPE_RECORD && of->state == ENV_KNOWN;
    return named ? say_value(speaker, of) : NULL;
}

/* A coordinate of the place that stands at `text` of the formula, in what the distance was
 * worked out of. */
static const struct entry *coordinate(const struct record *record, const struct entry *entry,
                                      uint32_t text)
{
    if (!entry || (entry->node->op == OP_LEAF && entry->node->text == text))
        return entry;
    const struct entry *found = NULL;
    for (const struct entry *part = entry_at(record, entry->first); part && !found;
         part = entry_at(record, part->next))
        found = coordinate(record, part, text);
    return found;
}

/* A path without the end that begins with `key`, where it has one. */
static struct view without_end(struct view path, const char *key)
{
    size_t size = strlen(key);
    struct view start = {path.data, path.size > size ? path.size - size : 0};
    return start.size && view_is(view_skip(path, start.size), key) ? start : path;
}

/* "setter left" of `s.at`, where the letter stands for that setter; "park" of `change.park`; a
 * thing by its name. */
static const char *end_label(const struct speaker *speaker, const struct entry *distance,
                             const struct entry *end)
{
    static const char *const ends[] = {".low", ".high", ".x", ".y", ".at"};
    if (end->node->op != OP_PLACE)
        return say_value(speaker, end);
    const struct entry *leaf =
        coordinate(&speaker->evaluator->last, say_part(speaker, distance, 0), end->node->text);
    if (!leaf || leaf->read == NODE_NONE)
        return escape_short(speaker->arena, say_own(speaker, end->node), TEXT_CELLS);
    struct view path = view_of(say_leaf(speaker, leaf));
    for (size_t i = 0; i < sizeof ends / sizeof *ends; i++)
        path = without_end(path, ends[i]);
    const char *label =
        path_label(speaker, arena_copy(speaker->arena, path.data, path.size), NULL);
    const char *owner = owner_of(speaker, leaf);
    if (!owner)
        return label;
    return path.data[path.size - 1] == ']'
               ? owner
               : arena_format(speaker->arena, "%s %s", owner, label);
}

/* What a value is, without parentheses: a field, or a definition and what it is asked of. */
const char *say_label(const struct speaker *speaker, const struct entry *entry)
{
    struct buffer out;
    struct speaker plain = *speaker;
    plain.values = plain.labels = false;
    entry = say_named_by(speaker, entry);
    if (entry->node->op == OP_LEAF)
        return path_label(speaker, say_leaf(speaker, entry), owner_of(speaker, entry));
    if (entry->node->op == OP_DISTANCE)
        return arena_format(speaker->arena, "distance from %s to %s",
                            end_label(speaker, entry, say_part(speaker, entry, 1)),
                            end_label(speaker, entry, say_part(speaker, entry, 2)));
    const struct entry *list = list_of(speaker, entry);
    if (list)
        return arena_format(speaker->arena, "one of %s",
                            path_label(speaker, say_leaf(speaker, list), NULL));
    buffer_init(&out, speaker->arena);
    if (op_is_quantifier(entry->node->op)) {
        quantifier_label(speaker, &out, entry->node);
        return buffer_string(&out);
    }
    if (entry->node->op != OP_CALL) {
        say_named(&plain, &out, entry);
        return buffer_string(&out);
    }
    const struct program *program = speaker->evaluator->program;
    const struct formula_call *call = &program->calls[entry->node->a];
    buffer_add(&out, (struct view){program->text + call->name, call->name_size});
    for (size_t i = 0; i < out.size; i++)
        if (out.data[i] == '_')
            out.data[i] = ' ';
    const struct entry *value = say_part(speaker, entry, 0);
    for (uint32_t i = 0; i < call->parameters && value; i++) {
        buffer_text(&out, i ? " and " : " of ");
        if (value->node->type == TYPE_RECORD)
            buffer_text(&out, say_record(speaker, value));
        else if (say_has_value(value->node))
            buffer_text(&out, say_label(speaker, value));
        else
            say_at(&plain, &out, value, LEVEL_UNARY);
        value = entry_at(&speaker->evaluator->last, value->next);
    }
    return buffer_string(&out);
}

/* "contact of cutter 1 -120 mm ± 6.35 mm" */
void say_labelled(const struct speaker *speaker, struct buffer *out, const struct entry *entry,
                  enum level wanted)
{
    const char *value = say_value(speaker, entry);
    bool wide = strstr(value, "\xc2\xb1") || strchr(value, '(');
    say_enclosed(out,
                 arena_format(speaker->arena, "%s %s%s", say_label(speaker, entry), value,
                              say_place(speaker, entry)),
                 wide && wanted >= LEVEL_PRODUCT && speaker->inside);
}
