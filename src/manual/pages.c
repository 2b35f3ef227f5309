/* What the pages of the manual tell of commands, options, outputs, fields and units. */
#include "manual/manual.h"

#include <proveout/version.h>

#include "manual/roff.h"
#include "quantity/unit.h"
#include "report/explain.h"
#include "rules/own.h"

void page_version(const struct page *page)
{
    buffer_text(page->out, ".Os proveout " PROVEOUT_VERSION "\n");
}

/* --- a command, or the program --- */

/* "proveout-check" */
static const char *page_called(const struct page *page)
{
    return page->command ? arena_format(page->out->arena, "proveout-%s", page->command->name)
                         : "proveout";
}

void page_title(const struct page *page)
{
    buffer_text(page->out, ".Dt ");
    for (const char *c = page_called(page); *c; c++)
        buffer_byte(page->out, letter_upper(*c));
    buffer_text(page->out, " 1\n");
}

void page_name(const struct page *page)
{
    buffer_text(page->out, ".Nm");
    roff_words(page->out, view_of(page_called(page)));
    buffer_text(page->out, "\n.Nd");
    roff_words(page->out, view_of(page->command->summary));
    buffer_byte(page->out, '\n');
}

void page_synopsis(const struct page *page)
{
    buffer_text(page->out, ".Nm proveout");
    roff_words(page->out, view_of(page->command->name));
    buffer_text(page->out, "\n.Op Ar OPTION ...\n");
    roff_prose(page->out, view_of(page->command->arguments));
}

void page_help(const struct page *page)
{
    roff_prose(page->out, view_of(page->command ? page->command->help : program_summary));
}

void page_commands(const struct page *page)
{
    struct buffer *out = page->out;
    buffer_text(out, ".Bl -tag -width commission\n");
    for (size_t i = 0; i < COMMANDS; i++) {
        buffer_text(out, ".It Ic");
        roff_words(out, view_of(command_table[i].name));
        buffer_byte(out, '\n');
        roff_prose(out, view_of(command_table[i].summary));
    }
    buffer_text(out, ".El\n");
}

void page_options(const struct page *page)
{
    struct buffer *out = page->out;
    buffer_text(out, ".Bl -tag -width Ds\n");
    for (size_t i = 0; i < OPTIONS; i++) {
        const struct option_row *row = &option_table[i];
        if (!option_belongs(row, page->command))
            continue;
        buffer_text(out, ".It");
        if (row->letter)
            buffer_format(out, " Fl %c ,", row->letter);
        buffer_text(out, " Fl");
        roff_words(out, view_of(arena_format(out->arena, "-%s", row->name)));
        if (row->argument) {
            buffer_text(out, " Ar");
            roff_words(out, view_of(row->argument));
        }
        buffer_byte(out, '\n');
        roff_prose(out, view_of(option_text(out->arena, row, page->command)));
    }
    buffer_text(out, ".El\n");
}

/* Nothing of a command that writes in one form only. */
void page_formats(const struct page *page)
{
    struct buffer *out = page->out;
    enum report_source source = page->command->writes;
    const struct report_output *output = report_output(source, 0);
    if (source == REPORT_NOTHING || !report_output(source, 1))
        return;
    buffer_text(out, ".Sh FORMATS\nWhat\n.Fl \\-format\nchooses from:\n.Bl -tag -width Ds\n");
    for (size_t i = 0; output; output = report_output(source, ++i)) {
        buffer_text(out, ".It Ic");
        roff_words(out, view_of(output->word));
        buffer_format(out, "\na file of it is called\n.Pa *.%s\n", output->extension);
    }
    buffer_text(out, ".El\n");
}

/* The pages of all commands, by their names. */
void page_see_commands(const struct page *page)
{
    const char *last = "";
    for (size_t count = 0; count < COMMANDS; count++) {
        const char *next = NULL;
        for (size_t i = 0; i < COMMANDS; i++)
            if (strcmp(command_table[i].name, last) > 0 &&
                (!next || strcmp(command_table[i].name, next) < 0))
                next = command_table[i].name;
        buffer_format(page->out, ".Xr proveout-%s 1 ,\n", next);
        last = next;
    }
}

/* --- the machine file --- */

/* "cutters" of "cutters[].stickout"; empty of a key that stands by itself. */
static struct view section_of(const char *path)
{
    size_t size = strcspn(path, ".[");
    return (struct view){path, path[size] ? size : 0};
}

static void add_field(struct buffer *out, enum field_id id)
{
    struct explain_row rows[EXPLAIN_ROWS_MAX];
    size_t count = explain_field_rows(out->arena, id, rows);
    buffer_text(out, ".It Ic");
    roff_words(out, view_of(field_path(out->arena, id)));
    buffer_byte(out, '\n');
    roff_prose(out, view_of(field_table[id].meaning));
    buffer_text(out, ".Bl -tag -width tolerance -compact\n");
    for (size_t i = 0; i < count; i++) {
        if (*rows[i].what) {
            buffer_text(out, ".It Em");
            roff_words(out, view_of(rows[i].what));
            buffer_byte(out, '\n');
        }
        roff_prose(out, view_of(rows[i].text));
    }
    buffer_text(out, ".El\n");
}

/* How a section stands in the file. */
static void add_shape(struct buffer *out, struct view section)
{
    for (int group = GROUP_ROOT + 1; group < GROUP_COUNT; group++) {
        const struct group_row *row = &group_table[group];
        if (!view_is(section, row->key))
            continue;
        if (row->shape == SHAPE_LIST)
            buffer_format(out, "A list of sections, one for each %s%s.\n", row->record,
                          row->wanted ? ", of which there has to be one" : "");
        else if (row->shape == SHAPE_NAMES)
            buffer_format(out, "A section for each %s, under a name of your own.\n",
                          row->record);
        else
            buffer_text(out, "A section for each of the axes x, y and z.\n");
    }
}

static bool is_first_of_section(struct arena *arena, enum field_id id)
{
    struct view section = section_of(field_path(arena, id));
    for (unsigned i = 0; i < id; i++)
        if (view_equal(section, section_of(field_path(arena, (enum field_id)i))))
            return false;
    return true;
}

void page_fields(const struct page *page)
{
    struct buffer *out = page->out;
    for (unsigned first = 0; first < FIELD_COUNT; first++) {
        if (!is_first_of_section(out->arena, (enum field_id)first))
            continue;
        struct view section = section_of(field_path(out->arena, (enum field_id)first));
        buffer_text(out, ".Ss");
        roff_words(out, section.size ? section : view_of("The file as a whole"));
        buffer_byte(out, '\n');
        add_shape(out, section);
        buffer_text(out, ".Bl -tag -width Ds\n");
        for (unsigned id = first; id < FIELD_COUNT; id++)
            if (view_equal(section, section_of(field_path(out->arena, (enum field_id)id))))
                add_field(out, (enum field_id)id);
        buffer_text(out, ".El\n");
    }
}

void page_taking(const struct page *page)
{
    struct explain_row row;
    buffer_text(page->out, ".Bl -tag -width Ds\n");
    for (size_t i = 0; explain_taking_row(i, &row); i++) {
        buffer_text(page->out, ".It Ic");
        roff_words(page->out, view_of(row.what));
        buffer_byte(page->out, '\n');
        roff_prose(page->out, view_of(row.text));
    }
    buffer_text(page->out, ".El\n");
}

static bool is_first_of_dimension(enum field_id id)
{
    for (unsigned i = 0; i < id; i++)
        if (dimension_equal(field_table[i].dimension, field_table[id].dimension))
            return false;
    return !dimension_is_none(field_table[id].dimension);
}

/* What fields of each dimension may be written in, in the order in which they come up. */
void page_units(const struct page *page)
{
    struct buffer *out = page->out;
    unit_id units[64];
    buffer_text(out, ".Bl -tag -width Ds\n");
    for (unsigned id = 0; id < FIELD_COUNT; id++) {
        struct dimension dimension = field_table[id].dimension;
        if (!is_first_of_dimension((enum field_id)id))
            continue;
        size_t room = sizeof units / sizeof *units;
        size_t count = unit_choices(dimension, units, room);
        struct buffer text;
        buffer_init(&text, out->arena);
        for (size_t i = 0; i < count && i < room; i++)
            buffer_format(&text, "%s`%s`", i ? ", " : "", unit_text(units[i]));
        buffer_text(out, ".It");
        roff_words(out, view_of(dimension_name(dimension, out->arena)));
        buffer_byte(out, '\n');
        roff_prose(out, buffer_view(&text));
    }
    buffer_text(out, ".El\n");
}

/* --- our own small files --- */

static const char *value_text(enum own_value value)
{
    switch (value) {
    case OWN_VERSION:
        return "1";
    case OWN_TEXT:
        return "a text";
    case OWN_NUMBER:
        return "a number";
    case OWN_FINGERPRINT:
        return "16 hexadecimal digits";
    case OWN_LEVEL:
        return "error, warning or note";
    case OWN_LEVELS:
        return "names of rules, with error, warning or note of each";
    case OWN_DAYS:
        return "a number of days, such as `180 days`";
    case OWN_TEXTS:
        return "a list of texts";
    case OWN_FIELDS:
        return "a list of fields, or `yes`";
    case OWN_ITEMS:
    case OWN_PARTS:
        break;
    }
    return "a list, each of it with these keys:";
}

static void add_keys(struct buffer *out, const struct own_map *map)
{
    buffer_text(out, ".Bl -tag -width Ds\n");
    for (size_t i = 0; i < map->count; i++) {
        const struct own_key *key = &map->keys[i];
        buffer_text(out, ".It Ic");
        roff_words(out, view_of(key->key));
        buffer_byte(out, '\n');
        roff_prose(out, view_of(key->meaning));
        buffer_text(out, ".Pp\n");
        roff_prose(out, view_of(arena_format(out->arena, "%s: %s",
                                             key->is_needed ? "Needed" : "May be left out",
                                             value_text(key->value))));
        if (key->items)
            add_keys(out, key->items);
    }
    buffer_text(out, ".El\n");
}

void page_policy(const struct page *page)
{
    add_keys(page->out, &own_policy);
}

void page_known(const struct page *page)
{
    add_keys(page->out, &own_known);
}

void page_agreements(const struct page *page)
{
    add_keys(page->out, &own_agreements);
}
