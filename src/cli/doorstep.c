#include "cli/doorstep.h"

#include "ask/spoken.h"
#include "base/buffer.h"
#include "platform/platform.h"

const char *const doorstep_greeting[] = {
    "proveout checks on paper what a router's cutter change is set to: a machine file says where everything is and how the change goes, and rules ask whether these numbers agree with each other. Nothing moves meanwhile.",
    "A clean check is no promise: it does not say that the numbers are true. Make the first run of any change in air, slowly, well above the table, with a hand on the stop; and before hands go near the collet, isolate the spindle or pull its plug.",
    NULL,
};

const char *doorstep_question(const struct doorstep *door)
{
    if (door->wants_name)
        return "What is the file of the machine to be called? One that is there already is gone on with. Enter alone goes back.";
    if (door->went)
        return "Another file, or the same again once it is changed? It may be typed or dragged onto this window; new asks about a machine; Enter alone closes this window.";
    return "Type the name of a machine file, or drag the file onto this window, and press Enter: it is checked. Type new to be asked about a machine, line by line, and have its file written. Enter alone closes this window.";
}

/* As the window gets it when a file is dragged there: in quotes where it has blanks. */
static struct view without_quotes(struct view line)
{
    char first = line.size > 1 ? line.data[0] : '\0';
    if ((first == '"' || first == '\'') && line.data[line.size - 1] == first)
        return view_trim((struct view){line.data + 1, line.size - 2});
    return line;
}

static enum doorstep_wish remark(struct doorstep *door, const char *text)
{
    door->remark = text;
    return DOORSTEP_ASKS;
}

/* What stands for no file of its own. */
static bool is_word(struct doorstep *door, struct view line, enum said meant)
{
    struct view rest;
    return !door->is_there(arena_copy(door->arena, line.data, line.size)) &&
           spoken_word(door->arena, line, &rest) == meant;
}

static enum doorstep_wish take_name(struct doorstep *door, const char *path)
{
    if (!path_has_extension(path, ".yaml") && !path_has_extension(path, ".yml"))
        path = arena_format(door->arena, "%s.yaml", path);
    door->path = path;
    door->wants_name = false;
    door->went = true;
    return DOORSTEP_COMMISSION;
}

enum doorstep_wish doorstep_answer(struct doorstep *door, struct view line)
{
    door->remark = NULL;
    line = without_quotes(view_trim(line));
    if (!line.size && !door->wants_name)
        return DOORSTEP_LEAVE;
    if (!line.size) {
        door->wants_name = false;
        return DOORSTEP_ASKS;
    }
    if (memchr(line.data, '\0', line.size))
        return remark(door, "No file is called so.");
    const char *path = path_typed(door->arena, arena_copy(door->arena, line.data, line.size));
    if (is_word(door, line, SAID_STOP))
        return DOORSTEP_LEAVE;
    if (door->wants_name)
        return take_name(door, path);
    if (view_is(line, "new") && !door->is_there(path)) {
        door->wants_name = true;
        return DOORSTEP_ASKS;
    }
    if (!door->is_there(path))
        return remark(
            door,
            arena_format(
                door->arena,
                "There is no file %s. Dragged onto this window, a file brings its whole path with it.",
                path));
    door->path = path;
    door->went = true;
    return DOORSTEP_CHECK;
}
