/* What a shell completes, made of the same words that help shows. */
#include "base/bug.h"
#include "manual/manual.h"
#include "text/escape.h"

enum { TOLD_CELLS = 70 }; /* of what stands behind a word */

/* What people put in the place of a word in capitals; machines are files called *.yaml or
 * *.yml. Empty: their own affair. */
static const struct {
    const char *word, *argument, *option; /* items, of an argument and of an option */
} kinds[] = {
    {"FILE", "@machines", "@files"},
    {"FOLDER", "@folders", "@folders"},
    {"OLD", "@machines", ""},
    {"NEW", "@machines", ""},
    {"LIST", "", "@files"},
    {"SHEET", "", "@files"},
    {"FORM", "", "@files"},
    {"RULE", "@rules", "@rules"},
    {"FIELD", "@fields", "@fields"},
    {"FIELD=VALUE", "@settings", "@settings"},
    {"N", "@cutters", "@cutters"},
    {"M", "@cutters", "@cutters"},
    {"REV", "", ""},
    {"K", "", ""},
    {"NAME", "", ""},
    {"TEXT", "", ""},
    {"X,Y,Z", "", ""},
    {"PLACE", "", "@files"},
    {"-", "", ""},
};

static bool is_word(struct view text)
{
    for (size_t i = 0; i < text.size; i++)
        if (text.data[i] < 'a' || text.data[i] > 'z')
            return false;
    return text.size > 0;
}

/* Adds the item that stands for a word of help. */
static void add_item(struct buffer *out, struct view word, bool of_option)
{
    if (is_word(word)) {
        buffer_format(out, " %.*s", VIEW(word));
        return;
    }
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        const char *item = of_option ? kinds[i].option : kinds[i].argument;
        if (!view_is(word, kinds[i].word))
            continue;
        if (*item)
            buffer_format(out, " %s", item);
        return;
    }
    BUG("help shows an argument of which `kinds` does not know what a shell completes");
}

/* Those of "FILE|FOLDER|-". */
static void add_items(struct buffer *out, struct view words)
{
    while (words.size)
        add_item(out, view_take(&words, '|'), false);
}

/* --- the arguments of a command, as help shows them --- */

/* What stands before ` | ` outside of brackets, or before a blank where `blank` is set. */
static struct view take_part(struct view *rest, bool blank)
{
    size_t depth = 0, size = 0;
    for (; size < rest->size; size++) {
        char c = rest->data[size];
        depth += c == '[';
        depth -= c == ']';
        if (!depth && (blank ? c == ' ' : view_starts(view_skip(*rest, size), " | ")))
            break;
    }
    struct view part = {rest->data, size};
    *rest = view_skip(*rest, size + (blank ? 1 : 3));
    return part;
}

/* Without blanks at its ends, and without the brackets around all of it. */
static struct view bare(struct view text)
{
    text = view_trim(text);
    struct view rest = text, first = take_part(&rest, true);
    if (!rest.size && first.size > 1 && first.data[0] == '[')
        return bare((struct view){text.data + 1, text.size - 2});
    return text;
}

struct arguments {
    struct buffer first, rest; /* items */
    struct buffer *out;        /* rows of what stands behind a word */
    const char *command;
};

static void read_rest(struct arguments *to, struct view text)
{
    for (text = bare(text); text.size;) {
        struct view way = bare(take_part(&text, false));
        struct view head = bare(take_part(&way, true)), tail = bare(take_part(&way, true));
        if (view_starts(head, "--"))
            return; /* told with the options */
        if (view_is(head, "FIELD") && strstr(buffer_string(&to->rest), "@settings"))
            continue; /* the same without its sign */
        add_items(&to->rest, head);
        if (!is_word(head) || !tail.size)
            continue;
        buffer_format(to->out, "after\t%s\t%.*s\t", to->command, VIEW(head));
        add_items(to->out, tail);
        buffer_byte(to->out, '\n');
    }
}

/* Takes an option off, with what it takes itself. */
static void take_option(struct view *way)
{
    struct view name = take_part(way, true);
    for (size_t i = 0; i < OPTIONS; i++)
        if (view_is(view_skip(name, 2), option_table[i].name) && option_table[i].argument)
            take_part(way, true);
    *way = bare(*way);
}

static void read_arguments(struct arguments *to, struct view text)
{
    for (text = bare(text); text.size;) {
        struct view way = bare(take_part(&text, false));
        if (view_starts(way, "--"))
            take_option(&way);
        struct view head = bare(take_part(&way, true));
        add_items(&to->first, head);
        if (view_is(way, "..."))
            add_items(&to->rest, head);
        else
            read_rest(to, way);
    }
}

/* Adds each item once. */
static void add_once(struct buffer *out, struct view items)
{
    struct view seen = {items.data, 0};
    for (struct view rest = items; rest.size;) {
        struct view item = view_take(&rest, ' '), before = seen;
        bool again = false;
        while (before.size)
            again = view_equal(view_take(&before, ' '), item) || again;
        if (item.size && !again)
            buffer_format(out, " %.*s", VIEW(item));
        seen.size = (size_t)(item.data - items.data) + item.size;
    }
    buffer_byte(out, '\n');
}

/* --- rows --- */

/* Adds the beginning of a text, in single quotes of a shell. */
static void add_told(struct buffer *out, const char *text)
{
    const char *end = strstr(text, "; "), *stop = strstr(text, ". ");
    if (stop && (!end || stop < end))
        end = stop;
    struct view told = {text, end ? (size_t)(end - text) : strlen(text)};
    for (const char *c = escape_short(out->arena, told, TOLD_CELLS); *c; c++) {
        BUG_UNLESS(*c != '\\'); /* which fish takes for its own, in single quotes too */
        if (*c == '\'')
            buffer_text(out, "'\\''");
        else
            buffer_byte(out, *c);
    }
    buffer_byte(out, '\n');
}

static void add_value(struct buffer *out, const struct option_row *row,
                      const struct command *command)
{
    struct view word, argument = view_of(row->argument);
    switch (row->kind) {
    case OPTION_IS_FLAG:
        BUG("a flag takes nothing");
    case OPTION_IS_COUNT:
    case OPTION_IS_DATE:
        break;
    case OPTION_IS_CHOICE:
    case OPTION_IS_OUTPUT:
        for (size_t i = 0; (word = option_choice(row, command, i)).size; i++)
            buffer_format(out, " %.*s", VIEW(word));
        break;
    case OPTION_IS_TEXT:
    case OPTION_IS_PATH:
    case OPTION_IS_LIST:
    case OPTION_IS_PATHS:
    case OPTION_IS_CUTTER:
        do {
            word = view_take(&argument, ' ');
        } while (argument.size);
        add_item(out, word, true);
        break;
    }
    buffer_byte(out, '\n');
}

static void add_option(struct buffer *out, const struct option_row *row,
                       const struct command *command)
{
    const char *of = command ? command->name : "";
    const char *const names[] = {
        row->letter ? arena_format(out->arena, "-%c", row->letter) : NULL,
        arena_format(out->arena, "--%s", row->name),
    };
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        if (!names[i])
            continue;
        buffer_format(out, "option\t%s\t%s\t", of, names[i]);
        add_told(out, row->help);
        if (!row->argument)
            continue;
        buffer_format(out, "value\t%s\t%s\t", of, names[i]);
        add_value(out, row, command);
    }
}

static void add_command(struct buffer *out, const struct command *command)
{
    struct arguments arguments = {.out = out, .command = command->name};
    buffer_init(&arguments.first, out->arena);
    buffer_init(&arguments.rest, out->arena);
    buffer_format(out, "command\t%s\t\t", command->name);
    add_told(out, command->summary);
    read_arguments(&arguments, view_of(command->arguments));
    buffer_format(out, "first\t%s\t\t", command->name);
    add_once(out, buffer_view(&arguments.first));
    buffer_format(out, "rest\t%s\t\t", command->name);
    add_once(out, buffer_view(&arguments.rest));
}

void page_completions(const struct page *page)
{
    for (size_t i = 0; i <= COMMANDS; i++) {
        const struct command *command = i < COMMANDS ? &command_table[i] : NULL;
        if (command)
            add_command(page->out, command);
        for (size_t id = 0; id < OPTIONS; id++)
            if (option_belongs(&option_table[id], command))
                add_option(page->out, &option_table[id], command);
    }
}
