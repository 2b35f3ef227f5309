#include "library/machine_file.h"

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

void machine_file_waived(struct arena *arena, struct machine_file *file, double today,
                         struct runner *runner, struct instance_list *out)
{
    *out = (struct instance_list){0};
    if (!file->machine.groups[GROUP_WAIVER].count)
        return;
    struct finding_sink unheard;
    sink_init(&unheard, arena, &file->source);
    struct waivers *waivers =
        waivers_read(arena, &file->machine, &unheard, today, any_name, NULL);
    struct describer describer = {runner, &file->machine, &file->source, arena};
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
