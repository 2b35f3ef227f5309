#include "cli/machine_file.h"

#include <string.h>
#include <sys/stat.h>

#include "cli/input.h"
#include "cli/surroundings.h"
#include "cli/trouble.h"
#include "text/escape.h"

enum { SHOWN = 60 };

void machine_file_read(struct arena *arena, const char *path, struct view bytes,
                       struct machine_file *out)
{
    out->path = path;
    out->bytes = bytes;
    source_init(&out->source, arena, view_of(path), bytes);
    sink_init(&out->sink, arena, &out->source);
    tree_read(&out->tree, arena, &out->source, &out->sink);
    machine_read(&out->machine, arena, &out->tree, &out->sink);
}

bool machine_file_open(struct run *run, const char *path, struct machine_file *out)
{
    const struct option_value *name = &run->options.values[OPTION_NAME];
    struct input input = {.path = path, .standard = strcmp(path, "-") == 0};
    if (input.standard)
        input.path = name->given ? name->text : "<stdin>";
    struct view bytes;
    const char *why;
    if (name->given && !input.standard) {
        run_refuse(run, "--name is a name for standard input, and - is not the file");
        return false;
    }
    if (input_read(&input, run->arena, &bytes, &why) != INPUT_READ) {
        run_refuse(run, "%s cannot be read: %s", input.path, why);
        return false;
    }
    machine_file_read(run->arena, input.path, bytes, out);
    if (out->tree.status == TREE_WHOLE)
        return true;
    run_refuse(run, "%s has a mistake of form; `proveout check` tells where", input.path);
    return false;
}

bool machine_file_is_output(struct run *run)
{
    const char *path = run->options.values[OPTION_OUTPUT].text;
    const struct input input = {.path = path, .walked = true};
    struct view bytes;
    const char *why;
    struct stat about;
    if (!path || stat(path, &about) != 0 || !S_ISREG(about.st_mode) ||
        input_read(&input, run->arena, &bytes, &why) != INPUT_READ)
        return false;
    run_refuse(run, "%s is a machine file; nothing else is written over it", path);
    return true;
}

size_t machine_file_errors(const struct machine_file *file)
{
    size_t count = 0;
    for (size_t i = 0; i < file->sink.findings.count; i++)
        count += file->sink.findings.items[i].level == LEVEL_ERROR;
    return count;
}

/* Waivers that name no rule are the affair of `check`. */
static bool any_name(const void *user, struct view rule)
{
    (void)user;
    (void)rule;
    return true;
}

void machine_file_waived(struct run *run, struct machine_file *file, struct runner *runner,
                         struct instance_list *out)
{
    *out = (struct instance_list){0};
    if (!file->machine.groups[GROUP_WAIVER].count)
        return;
    struct finding_sink unheard;
    sink_init(&unheard, run->arena, &file->source);
    struct waivers *waivers = waivers_read(run->arena, &file->machine, &unheard,
                                           surroundings_today(run), any_name, NULL);
    struct describer describer = {runner, &file->machine, &file->source, run->arena};
    remedies_waived(&describer, waivers, out);
}

const char *machine_file_no_place(struct arena *arena, const struct machine_file *file,
                                  const char *path)
{
    const char *shown = escape_short(arena, view_of(path), SHOWN);
    if (field_find(view_of(path)) != FIELD_COUNT)
        return arena_format(arena, "%s is not in %s", shown, file->path);
    const char *near = field_nearest(arena, view_of(path));
    return arena_format(arena, "there is no field %s%s%s%s", shown,
                        near ? "; did you mean " : "", near ? near : "", near ? "?" : "");
}
