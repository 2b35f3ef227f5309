/* The name of the log of changes.  Machine files are passed on, so that one must not be able to
 * say that lines are to be written somewhere else, on whatever system it is read.
 */
#include "machine/internal.h"

#include "text/escape.h"

enum { NAME_MOST = 100 };

static bool is_same_name(struct view a, struct view b)
{
    if (a.size != b.size)
        return false;
    for (size_t i = 0; i < a.size; i++)
        if (letter_lower(a.data[i]) != letter_lower(b.data[i]))
            return false;
    return true;
}

/* Names that lead to devices on some systems, whatever comes behind their dot. */
static bool is_device(struct view name)
{
    static const char *const words[] = {"con",    "prn",     "aux",   "nul",
                                        "conin$", "conout$", "clock$"};
    struct view stem = view_trim(view_take(&name, '.'));
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (is_same_name(stem, view_of(words[i])))
            return true;
    struct view port = {stem.data, 3};
    return stem.size > 3 &&
           (is_same_name(port, view_of("com")) || is_same_name(port, view_of("lpt"))) &&
           (stem.size == 4 ? stem.data[3] >= '0' && stem.data[3] <= '9'
                           : (unsigned char)stem.data[3] >= 0x80);
}

/* Does it hold only what shows, and nothing with a meaning of its own in a path? */
static bool is_plain(struct arena *arena, struct view name)
{
    struct buffer shown;
    buffer_init(&shown, arena);
    escape_terminal(&shown, name);
    if (!view_equal(buffer_view(&shown), name))
        return false;
    for (size_t i = 0; i < name.size; i++)
        if (strchr("/\\:<>|?*\"", name.data[i]))
            return false;
    return true;
}

const char *log_name_wrong(struct arena *arena, struct view name)
{
    if (!name.size)
        return "there is none";
    if (name.size > NAME_MOST)
        return "it is too long";
    if (strchr(".-", name.data[0]))
        return "it begins with a dot or a dash";
    if (strchr(". ", name.data[name.size - 1]) || name.data[0] == ' ')
        return "it ends in a dot, or has a blank at an end";
    if (!is_plain(arena, name))
        return "it has a path or a sign";
    return is_device(name) ? "a device on some systems" : NULL;
}

bool value_check_log(struct value_reader *r, const struct item *item)
{
    const char *wrong = r->id == FIELD_LOG ? log_name_wrong(r->arena, item->text) : NULL;
    if (wrong)
        machine_complain(r, item, READER_LOG_NOT_PLAIN, NULL, "%s is no log's name: %s",
                         machine_quoted(r->arena, item->text), wrong);
    return !wrong;
}

/* What comes behind the last slash. */
static struct view last_part(struct view path)
{
    for (size_t i = path.size; i > 0; i--)
        if (path.data[i - 1] == '/')
            return view_skip(path, i);
    return path;
}

void machine_check_log(struct reader *reader)
{
    const struct tree *tree = reader->machine->tree;
    struct field_value *log = machine_field_put(reader->machine, FIELD_LOG, 0);
    if (log->state != VALUE_GIVEN || !is_same_name(log->text, last_part(tree->source->name)))
        return;
    (void)sink_report(reader->sink, READER_LOG_NOT_PLAIN, log->node->span, "log",
                      "the machine file is no log of itself");
    log->state = VALUE_WRONG;
}
