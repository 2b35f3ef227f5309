#include "cli/machine_file.h"

#include <string.h>
#include <sys/stat.h>

#include "cli/input.h"
#include "cli/trouble.h"

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
