/* The reading of a command line, and --help.
 *
 * Long options with `=` or a following argument, letters that may be joined, `--` before
 * arguments that look like options.  No abbreviations: a script that uses one breaks when an
 * option is added.
 */
#include "cli/command.h"

#include "machine/machine.h"
#include "report/wrap.h"
#include "text/escape.h"
#include "text/nearest.h"

enum { COUNT_MAX = 1000 };

/* --- reading --- */

struct reader {
    struct arena *arena;
    char *const *argv; /* what is left, NULL at the end */
    struct options *out;
    const char *wrong; /* the first thing that is */
};

static const char *shown(const struct reader *reader, struct view text)
{
    return escape_short(reader->arena, text, 40);
}

/* "; did you mean --format?", or nothing. */
static const char *advice(const struct reader *reader, struct view name,
                          const struct view *known, size_t count, const char *before)
{
    int near = nearest_of(name, known, count);
    return near < 0 ? ""
                    : arena_format(reader->arena, "; did you mean %s%.*s?", before,
                                   VIEW(known[near]));
}

static enum option_id find_name(struct view name)
{
    unsigned id = 0;
    while (id < OPTIONS && !view_is(name, option_table[id].name))
        id++;
    return id;
}

static enum option_id find_letter(char letter)
{
    unsigned id = 0;
    while (id < OPTIONS && (!letter || option_table[id].letter != letter))
        id++;
    return id;
}

static void complain_of_name(struct reader *reader, struct view name)
{
    struct view names[OPTIONS];
    for (size_t i = 0; i < OPTIONS; i++)
        names[i] = view_of(option_table[i].name);
    reader->wrong =
        arena_format(reader->arena, "there is no option --%s%s", shown(reader, name),
                     advice(reader, name, names, OPTIONS, "--"));
}

/* "error, warning or note" */
static const char *choices_text(const struct reader *reader, const struct view *words,
                                size_t count)
{
    struct buffer text;
    buffer_init(&text, reader->arena);
    for (size_t i = 0; i < count; i++)
        buffer_format(&text, "%s%.*s",
                      i == 0           ? ""
                      : i + 1 == count ? " or "
                                       : ", ",
                      VIEW(words[i]));
    return buffer_string(&text);
}

static void read_choice(struct reader *reader, const struct option_row *row, const char *text,
                        struct option_value *value)
{
    struct view names[16];
    size_t count = 0;
    for (; count < 16 && option_choice(row, reader->out->command, count).size; count++) {
        names[count] = option_choice(row, reader->out->command, count);
        if (!view_is(names[count], text))
            continue;
        value->choice = count;
        return;
    }
    reader->wrong = arena_format(
        reader->arena, "--%s takes %s, not %s%s", row->name, choices_text(reader, names, count),
        shown(reader, view_of(text)), advice(reader, view_of(text), names, count, ""));
}

static void read_count(struct reader *reader, const struct option_row *row, const char *text,
                       struct option_value *value)
{
    size_t count = 0;
    const char *c = text;
    for (; *c >= '0' && *c <= '9' && count <= COUNT_MAX; c++)
        count = count * 10 + (size_t)(*c - '0');
    if (*c || c == text || count < 1 || count > COUNT_MAX)
        reader->wrong = arena_format(reader->arena, "--%s takes a number from 1 to %d, not %s",
                                     row->name, COUNT_MAX, shown(reader, view_of(text)));
    else
        value->count = count;
}

/* The argument of an option: what is joined to it, else what comes next. */
static const char *take_argument(struct reader *reader, const struct option_row *row,
                                 const char *joined)
{
    if (joined)
        return joined;
    if (*reader->argv)
        return *reader->argv++;
    reader->wrong =
        arena_format(reader->arena, "--%s wants %s after it", row->name, row->argument);
    return NULL;
}

/* "3", "cutter 3", or "cutter" before an argument "3". */
static const char *take_cutter(struct reader *reader, const struct option_row *row,
                               const char *text)
{
    static const char word[] = "cutter";
    size_t size = sizeof word - 1;
    if (strcmp(text, word) == 0)
        return take_argument(reader, row, NULL);
    return strncmp(text, word, size) == 0 && text[size] == ' ' ? text + size + 1 : text;
}

static void set(struct reader *reader, enum option_id id, const char *text)
{
    const struct option_row *row = &option_table[id];
    struct option_value *value = &reader->out->values[id];
    value->given = true;
    switch (row->kind) {
    case OPTION_IS_FLAG:
        break;
    case OPTION_IS_OUTPUT: /* looked at when the command is known */
    case OPTION_IS_TEXT:
        value->text = text;
        break;
    case OPTION_IS_CUTTER:
        value->text = take_cutter(reader, row, text);
        break;
    case OPTION_IS_PATH:
        value->text = path_typed(reader->arena, text);
        break;
    case OPTION_IS_PATHS:
        VECTOR_ADD(reader->arena, &value->list, path_typed(reader->arena, text));
        break;
    case OPTION_IS_LIST:
        VECTOR_ADD(reader->arena, &value->list, text);
        break;
    case OPTION_IS_CHOICE:
        read_choice(reader, row, text, value);
        break;
    case OPTION_IS_COUNT:
        read_count(reader, row, text, value);
        break;
    case OPTION_IS_DATE:
        if (!run_date(reader->arena, text, &value->date))
            reader->wrong =
                arena_format(reader->arena, "--%s takes a date such as 2027-03-31, not %s",
                             row->name, shown(reader, view_of(text)));
        break;
    }
}

static void read_long(struct reader *reader, const char *text)
{
    const char *equals = strchr(text, '=');
    struct view name = {text, equals ? (size_t)(equals - text) : strlen(text)};
    enum option_id id = find_name(name);
    if (id == OPTIONS) {
        complain_of_name(reader, name);
        return;
    }
    const struct option_row *row = &option_table[id];
    if (!row->argument && equals) {
        reader->wrong = arena_format(reader->arena, "--%s takes nothing after it", row->name);
        return;
    }
    const char *argument =
        row->argument ? take_argument(reader, row, equals ? equals + 1 : NULL) : NULL;
    if (argument || !row->argument)
        set(reader, id, argument);
}

static void read_letters(struct reader *reader, const char *letters)
{
    while (*letters && !reader->wrong) {
        enum option_id id = find_letter(*letters);
        if (id == OPTIONS) {
            /* One whole code point, where it is one. */
            size_t size = 1;
            while (((unsigned char)letters[size] & 0xc0) == 0x80)
                size++;
            reader->wrong = arena_format(reader->arena, "there is no option -%s",
                                         shown(reader, (struct view){letters, size}));
            return;
        }
        letters++;
        if (!option_table[id].argument) {
            set(reader, id, NULL);
            continue;
        }
        const char *argument =
            take_argument(reader, &option_table[id], *letters ? letters : NULL);
        if (argument)
            set(reader, id, argument);
        return;
    }
}

/* What is no path among the arguments is a word, which comes out as it is, or FIELD=VALUE. */
static const char *typed(const struct reader *reader, const char *text)
{
    bool is_value = reader->out->arguments.count && strchr(text, '=');
    return is_value ? text : path_typed(reader->arena, text);
}

/* The first argument names the command. */
static void read_argument(struct reader *reader, const char *text)
{
    struct options *out = reader->out;
    if (out->command) {
        VECTOR_ADD(reader->arena, &out->arguments, typed(reader, text));
        return;
    }
    struct view names[COMMANDS];
    for (size_t i = 0; i < COMMANDS; i++) {
        names[i] = view_of(command_table[i].name);
        if (!view_is(names[i], text))
            continue;
        out->command = &command_table[i];
        return;
    }
    reader->wrong =
        arena_format(reader->arena, "there is no command %s%s", shown(reader, view_of(text)),
                     advice(reader, view_of(text), names, COMMANDS, ""));
}

/* Each option given must be one of the command's, and each output too. */
static void check_belonging(struct reader *reader)
{
    const struct command *command = reader->out->command;
    for (size_t id = 0; id < OPTIONS && !reader->wrong; id++) {
        const struct option_row *row = &option_table[id];
        struct option_value *value = &reader->out->values[id];
        if (!value->given)
            continue;
        if (command && !option_belongs(row, command))
            reader->wrong = arena_format(reader->arena, "--%s is no option of %s", row->name,
                                         command->name);
        else if (command && row->kind == OPTION_IS_OUTPUT)
            read_choice(reader, row, value->text, value);
    }
}

const char *options_read(struct arena *arena, int argc, char *const *argv, struct options *out)
{
    *out = (struct options){0};
    struct reader reader = {.arena = arena, .argv = argv + (argc > 0), .out = out};
    bool only_arguments = false;
    while (*reader.argv && !reader.wrong) {
        const char *text = *reader.argv++;
        if (only_arguments || text[0] != '-' || !text[1])
            read_argument(&reader, text);
        else if (text[1] != '-')
            read_letters(&reader, text + 1);
        else if (text[2])
            read_long(&reader, text + 2);
        else
            only_arguments = true;
    }
    if (!reader.wrong)
        check_belonging(&reader);
    return reader.wrong;
}

/* --- help --- */

enum { WIDTH = 80, COLUMN = 26 };

/* "-j, --jobs N" */
static void add_name(struct buffer *out, const struct option_row *row)
{
    if (row->letter)
        buffer_format(out, "  -%c, ", row->letter);
    else
        buffer_text(out, "      ");
    buffer_format(out, "--%s", row->name);
    if (row->argument)
        buffer_format(out, " %s", row->argument);
}

static void add_option(struct buffer *out, const struct option_row *row,
                       const struct command *command)
{
    struct buffer name;
    buffer_init(&name, out->arena);
    add_name(&name, row);
    wrap_row(out, WIDTH, COLUMN, buffer_string(&name),
             view_of(option_text(out->arena, row, command)));
}

static void add_commands(struct buffer *out)
{
    buffer_text(out, "\nCommands:\n");
    for (size_t i = 0; i < COMMANDS; i++) {
        const char *name = arena_format(out->arena, "  %s", command_table[i].name);
        wrap_row(out, WIDTH, COLUMN, name, view_of(command_table[i].summary));
    }
}

void help_add(struct buffer *out, const struct command *command)
{
    const struct wrap prose = {.width = WIDTH};
    if (command) {
        buffer_format(out, "Usage: proveout %s [OPTION ...]%s%s\n\n", command->name,
                      *command->arguments ? " " : "", command->arguments);
        wrap_add(out, &prose, view_of(command->help));
    } else {
        buffer_text(out, "Usage: proveout COMMAND [OPTION ...] [ARGUMENT ...]\n\n");
        wrap_add(out, &prose, view_of(program_summary));
        add_commands(out);
    }
    buffer_text(out, "\nOptions:\n");
    for (size_t i = 0; i < OPTIONS; i++)
        if (option_belongs(&option_table[i], command))
            add_option(out, &option_table[i], command);
    if (!command)
        buffer_text(out, "\n`proveout COMMAND --help` tells the options of a command.\n");
}
