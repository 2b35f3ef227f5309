/* A field of the machine file, from its row in the table of fields. */
#include "cli/explain.h"

#include <math.h>

#include "quantity/quantity.h"
#include "report/wrap.h"

struct telling {
    struct buffer *out;
    size_t width;
    const struct field *field;
};

static void tell(const struct telling *telling, const char *what, const char *text)
{
    const char *name = arena_format(telling->out->arena, "  %s", what);
    if (text && *text)
        wrap_row(telling->out, telling->width, EXPLAIN_COLUMN, name, view_of(text));
}

/* "a position with its unit, such as mm, cm, m, in" */
static const char *kind_text(struct arena *arena, const struct field *field)
{
    unit_id units[16];
    struct buffer text;
    buffer_init(&text, arena);
    buffer_text(&text, field_kind_name(field->kind));
    size_t count = dimension_is_none(field->dimension)
                       ? 0
                       : unit_choices(field->dimension, units, sizeof units / sizeof *units);
    if (count > sizeof units / sizeof *units)
        count = sizeof units / sizeof *units;
    if (count)
        buffer_format(&text, " (%s), in", dimension_name(field->dimension, arena));
    for (size_t i = 0; i < count; i++)
        buffer_format(&text, "%s %s", i ? "," : "", unit_text(units[i]));
    return buffer_string(&text);
}

static const char *choices_text(struct arena *arena, const struct field *field)
{
    struct buffer text;
    buffer_init(&text, arena);
    for (size_t i = 0; i < field_choice_count(field); i++)
        buffer_format(&text, "%s%.*s", i ? ", " : "", VIEW(field_choice(field, i)));
    return text.size ? buffer_string(&text) : "";
}

static const char *need_text(const struct field *field)
{
    if (field->when == WHEN_ALWAYS && field->needed)
        return field->group == GROUP_ROOT ? "always" : "wherever its section or item stands";
    if (field->needed)
        return when_table[field->when].text;
    return field->fallback ? "may be left out"
                           : "may be left out; what needs it is then not checked";
}

static const char *nature_text(const struct field *field)
{
    switch (field->nature) {
    case NATURE_MEASURED:
        return "measured at the machine; where it does not fit, it is measured again";
    case NATURE_CHOSEN:
        return "chosen by whoever sets the machine up";
    case NATURE_FACT:
        return "a fact of the machine's parts";
    }
    return "";
}

/* What a tolerance in per cent means there; nothing where none can be written. */
static const char *percent_text(const struct field *field)
{
    bool ratio = field->kind == KIND_QUANTITY && dimension_is_none(field->dimension);
    if (!ratio)
        return "";
    if (strcmp(field->unit, "%") == 0)
        return "added as it stands: 120 % ± 10 % is 110 % to 130 %";
    if (!*field->unit)
        return "in per cent it is a part of the number: 3 ± 10 % is 2.7 to 3.3";
    return "in per cent it is a part of the number: 2 mm/m ± 10 % is 1.8 mm/m to 2.2 mm/m";
}

static unit_id unit_of(const struct field *field)
{
    unit_id unit = unit_read(view_of(field->unit));
    return *field->unit && unit != UNIT_UNKNOWN ? unit : unit_default(field->dimension);
}

static const char *range_text(struct arena *arena, const struct field *field)
{
    double low = field->plausible_low, high = field->plausible_high;
    unit_id unit = unit_of(field);
    const char *from = isnan(low) ? NULL : quantity_text(arena, low, field->dimension, unit);
    const char *to = isnan(high) ? NULL : quantity_text(arena, high, field->dimension, unit);
    if (from && to)
        return arena_format(arena, "%s to %s; beyond that there is a warning", from, to);
    if (from || to)
        return arena_format(arena, "%s %s; beyond that there is a warning",
                            from ? "from" : "up to", from ? from : to);
    return "";
}

void explain_field(struct buffer *out, size_t width, struct view path, enum field_id id)
{
    const struct field *field = &field_table[id];
    const struct telling telling = {out, width, field};
    const struct wrap line = {.width = width};
    const char *general = field_path(out->arena, id);
    if (view_is(path, general))
        wrap_format(out, &line, "%s: %s", general, field->meaning);
    else
        wrap_format(out, &line, "%.*s (%s): %s", VIEW(path), general, field->meaning);
    buffer_byte(out, '\n');
    tell(&telling, "is", kind_text(out->arena, field));
    tell(&telling, "words", choices_text(out->arena, field));
    tell(&telling, "needed", need_text(field));
    tell(&telling, "left out",
         field->fallback ? arena_format(out->arena, "counts as %s", field->fallback) : "");
    tell(&telling, "nature", nature_text(field));
    tell(&telling, "usual", range_text(out->arena, field));
    tell(&telling, "tolerance", percent_text(field));
    tell(&telling, "how", field->measure);
}

/* Is `path` a field below the section `name`? */
static bool is_below(struct view path, struct view name)
{
    if (path.size <= name.size || memcmp(path.data, name.data, name.size) != 0)
        return false;
    char next = path.data[name.size];
    return next == '.' || next == '[';
}

bool explain_section(struct buffer *out, size_t width, struct view name)
{
    size_t count = 0;
    for (unsigned id = 0; name.size && id < FIELD_COUNT; id++) {
        const char *path = field_path(out->arena, (enum field_id)id);
        if (!is_below(view_of(path), name))
            continue;
        if (!count++)
            buffer_format(out, "%.*s has these fields:\n\n", VIEW(name));
        wrap_row(out, width, 34, arena_format(out->arena, "  %s", path),
                 view_of(field_table[id].meaning));
    }
    return count > 0;
}
