/* The words for what is wrong with a value: what was found, and what the field wants.
 *
 * Made from the row of the table that judged.  A sentence stands alone and keeps to
 * MESSAGE_CELLS where the names in it let it.
 */
#include "machine/internal.h"

#include "text/escape.h"
#include "text/utf8.h"

#include <stdarg.h>
#include <stdio.h>

enum { UNITS_SIZE = 27, CHOICES_SIZE = 56 }; /* bytes of a list of them in a message */

const char *machine_quoted(struct arena *arena, struct view text)
{
    return arena_format(arena, "'%s'", escape_short(arena, view_trim(text), VALUE_CELLS));
}

const char *field_choices_text(struct arena *arena, const struct field *field)
{
    struct buffer out;
    buffer_init(&out, arena);
    size_t count = field_choice_count(field);
    for (size_t i = 0; i < count; i++) {
        if (i)
            buffer_text(&out, i + 1 < count ? ", " : " or ");
        buffer_add(&out, field_choice(field, i));
    }
    return buffer_string(&out);
}

size_t machine_usual_units(struct dimension wanted, unit_id units[UNITS_NAMED])
{
    size_t known = unit_choices(wanted, units, UNITS_NAMED), count = 0, size = 0;
    while (count < known && count < UNITS_NAMED) {
        size += strlen(unit_text(units[count])) + (count ? strlen(", ") : 0);
        if (count && size > UNITS_SIZE)
            break;
        count++;
    }
    return count;
}

const char *machine_article(const char *noun)
{
    if (strncmp(noun, "steps", strlen("steps")) == 0)
        return ""; /* steps per length */
    return strchr("aeiou", noun[0]) ? "an " : "a ";
}

/* "a length in mm, cm, m, in". */
static const char *quantity_wanted(struct arena *arena, const struct field *field)
{
    if (!*field->unit)
        return "a plain number";
    unit_id units[UNITS_NAMED];
    size_t count = machine_usual_units(field->dimension, units);
    const char *name =
        dimension_is_none(field->dimension) ? "ratio" : dimension_name(field->dimension, arena);
    struct buffer out;
    buffer_init(&out, arena);
    buffer_format(&out, "%s%s in ", machine_article(name), name);
    for (size_t i = 0; i < count; i++)
        buffer_format(&out, "%s%s", i ? ", " : "", unit_text(units[i]));
    return buffer_string(&out);
}

static const char *choice_wanted(struct arena *arena, const struct field *field)
{
    const char *choices = field_choices_text(arena, field);
    if (strlen(choices) <= CHOICES_SIZE)
        return choices;
    return arena_format(arena, "one of %u words", (unsigned)field_choice_count(field));
}

/* A whole value, or (`element`) one text of a list. */
static const char *wanted(struct arena *arena, enum field_id id, bool element)
{
    const struct field *field = &field_table[id];
    switch (field->kind) {
    case KIND_QUANTITY:
    case KIND_POSITION:
        return quantity_wanted(arena, field);
    case KIND_PAIR:
        return element ? quantity_wanted(arena, field) : "a low and a high limit, [low, high]";
    case KIND_LIST:
        return element ? quantity_wanted(arena, field)
                       : arena_format(arena, "a list, each %s", quantity_wanted(arena, field));
    case KIND_CHOICE:
        return choice_wanted(arena, field);
    case KIND_WORDS:
        return element ? choice_wanted(arena, field) : "a list of words in brackets";
    case KIND_ORDER:
        return element ? "letters of x, y and z" : "a list such as [z, xy], or none";
    case KIND_COUNT:
        return "a whole number from 1";
    case KIND_VERSION:
        return "1";
    case KIND_TEXT:
        return id == FIELD_LOG ? "a plain name, as shed.log" : field_kind_name(field->kind);
    default:
        return field_kind_name(field->kind);
    }
}

const char *field_wanted_text(struct arena *arena, enum field_id id)
{
    return wanted(arena, id, false);
}

static const char *compose(struct arena *arena, const char *problem, const char *path,
                           const char *what)
{
    const char *short_path = escape_short(arena, view_of(path), NAME_CELLS);
    char *message = arena_format(arena, "%s; %s wants %s", problem, short_path, what);
    const char *key = strrchr(path, '.');
    if (!key || utf8_cells(view_of(message)) <= MESSAGE_CELLS)
        return message;
    short_path = escape_short(arena, view_of(key + 1), NAME_CELLS);
    message = arena_format(arena, "%s; %s wants %s", problem, short_path, what);
    const char *units = strstr(what, " in ");
    if (!units || utf8_cells(view_of(message)) <= MESSAGE_CELLS)
        return message;
    return arena_format(arena, "%s; %s wants %.*s", problem, short_path, (int)(units - what),
                        what);
}

/* Where the finding points: at the text itself, at the key of a value that is not there to see.
 */
static struct span place(const struct value_reader *r, const struct item *at)
{
    const struct tree_node *node = at && at->node ? at->node : r->node;
    bool seen = node->span.end > node->span.start;
    return seen || node->key_span.end == 0 ? node->span : node->key_span;
}

bool machine_only_counts(const struct value_reader *r, const struct item *at,
                         enum reader_finding name)
{
    if (!r->reader || r->reader->sink->counts[name] < FINDINGS_A_NAME)
        return false;
    sink_report(r->reader->sink, name, place(r, at), NULL, "%s", "");
    return true;
}

struct finding *machine_tell(struct value_reader *r, const struct item *at,
                             enum reader_finding name, const char *hint, const char *message)
{
    if (!r->reader) {
        if (!r->message)
            r->message = message;
        return NULL;
    }
    bool low_or_high = at && at->part && field_table[r->id].kind == KIND_PAIR;
    const char *path = machine_path(r->arena, r->reader->machine, r->id, r->record,
                                    low_or_high ? at->part : 0);
    struct finding *finding =
        sink_report(r->reader->sink, name, place(r, at), path, "%s", message);
    if (finding)
        finding->put_right = hint;
    return finding;
}

struct finding *machine_want(struct value_reader *r, const struct item *at,
                             enum reader_finding name, const char *hint, const char *problem,
                             const char *what)
{
    if (r->quiet == (int)name)
        return NULL;
    r->last = (int)name;
    if (machine_only_counts(r, at, name))
        return NULL;
    const char *message;
    if (r->reader) {
        const char *path = machine_path(r->arena, r->reader->machine, r->id, r->record, 0);
        message = compose(r->arena, problem, path, what);
    } else {
        message = arena_format(r->arena, "%s; %s is wanted", problem, what);
    }
    return machine_tell(r, at, name, hint, message);
}

struct finding *machine_complain(struct value_reader *r, const struct item *at,
                                 enum reader_finding name, const char *hint, const char *format,
                                 ...)
{
    char problem[256];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(problem, sizeof problem, format, arguments);
    va_end(arguments);
    return machine_want(r, at, name, hint, problem, wanted(r->arena, r->id, at && at->part));
}

void machine_replace(struct value_reader *r, struct finding *finding, const struct item *item,
                     struct view part, const char *word)
{
    const struct tree_node *node = item->node;
    if (!finding || !node ||
        !view_equal(source_slice(finding->at.source, node->span), node->text) ||
        part.data < node->text.data ||
        part.data + part.size > node->text.data + node->text.size)
        return;
    uint32_t start = node->span.start + (uint32_t)(part.data - node->text.data);
    struct span span = {start, start + (uint32_t)part.size};
    finding_fix(r->arena, finding, span, word, arena_format(r->arena, "write %s", word));
}
