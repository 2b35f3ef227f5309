/* Putting a revision into its files: over those that are there, or as a new one. */
#include "cli/revise.h"

#include <string.h>

#include "cli/change_log.h"

static bool changes_own(const struct revision *revision)
{
    return !view_equal(revision->before->bytes, revision->now->bytes);
}

bool revise_changes(const struct revision *revision)
{
    return changes_own(revision) || revision->now->edited.items.count;
}

/* The files that are changed: "cutters.yaml and mill.yaml". */
static const char *changed_names(const struct revision *revision)
{
    const struct edited_files *edited = &revision->now->edited;
    struct buffer names;
    buffer_init(&names, revision->run->arena);
    for (size_t i = 0; i < edited->items.count; i++)
        buffer_format(&names, "%s%s", i ? " and " : "", edited->items.items[i].name);
    if (changes_own(revision))
        buffer_format(&names, "%s%s", names.size ? " and " : "", revision->path);
    if (revision->companion.path)
        buffer_format(&names, " and %s", revision->companion.path);
    return buffer_string(&names);
}

/* Writes one file and says so; false: said why not. */
static bool save_one(struct revision *revision, const char *path, struct view before,
                     struct view now)
{
    struct run *run = revision->run;
    const char *wrong = save_over(run->arena, path, before, now);
    if (!wrong) {
        lines_say(revision->lines, 0, "%s is written.", path);
        return true;
    }
    output_flush(run->out);
    trouble_say(run->arena, "%s", wrong);
    return false;
}

/* The machine's own file last, since it goes by the others. */
static bool save_all(struct revision *revision)
{
    const struct edited_files *edited = &revision->now->edited;
    for (size_t i = 0; i < edited->items.count; i++) {
        const struct edited_file *file = &edited->items.items[i];
        if (!save_one(revision, file->name, file->before, file->now))
            return false;
    }
    return !changes_own(revision) ||
           save_one(revision, revision->path, revision->before->bytes, revision->now->bytes);
}

/* Writes the machine as it would be as a new file; false: said why not. */
static bool save_as(struct revision *revision, const char *path)
{
    struct run *run = revision->run;
    const struct edited_files *edited = &revision->now->edited;
    const char *wrong =
        edited->items.count
            ? arena_format(
                  run->arena,
                  "%s is not written: what is set stands in %s, which stays as it is; --here sets it in the machine's own file",
                  path, edited->items.items[0].name)
            : save_new(run->arena, path, revision->now->bytes);
    if (!wrong) {
        lines_say(revision->lines, 0, "%s is written, and %s is left as it is.", path,
                  revision->path);
        return true;
    }
    output_flush(run->out);
    trouble_say(run->arena, "%s", wrong);
    return false;
}

const char *revise_refuse_output(struct run *run)
{
    const struct option_value *values = run->options.values;
    const char *path = values[OPTION_OUTPUT].text;
    struct save *save;
    if (!values[OPTION_OUTPUT].given)
        return NULL;
    if (strcmp(path, "-") == 0)
        return "the machine file is written to a new file: give its name in place of -";
    if (values[OPTION_WRITE].given || values[OPTION_LOG].given)
        return "--output leaves the file as it is, --write changes it, and --log tells of that: give one";
    const char *why = save_open(&save, run->arena, path, SAVE_NEW, false);
    return why ? why : save_drop(save);
}

/* The log that lines go into: the one of --log, else of the file, in its own folder, which is
 * told by `*of_file`; NULL: none. */
static const char *log_path(const struct revision *revision, bool *of_file)
{
    struct arena *arena = revision->run->arena;
    const struct field_value *log = machine_field(&revision->now->machine, FIELD_LOG, 0);
    const char *path = revision->run->options.values[OPTION_LOG].text;
    *of_file = !path;
    if (path)
        return path;
    if (log->state == VALUE_WRONG)
        lines_say(
            revision->lines, 0,
            "Nothing is put into a log: what the machine file says for one cannot be used.");
    if (log->state != VALUE_GIVEN)
        return NULL;
    const char *slash = strrchr(revision->path, '/');
    size_t folder = slash ? (size_t)(slash - revision->path) + 1 : 0;
    return arena_format(arena, "%.*s%.*s", (int)folder, revision->path, VIEW(log->text));
}

const char *revise_refuse_why(const struct revision *revision)
{
    const struct option_value *values = revision->run->options.values;
    const struct field_value *log = machine_field(&revision->now->machine, FIELD_LOG, 0);
    if (!values[OPTION_WHY].given || values[OPTION_LOG].given || log->state == VALUE_GIVEN)
        return NULL;
    return "a reason goes into a log: name it with --log, or with log: in the file";
}

/* Writes, and puts into the log what was written; without a log that takes it nothing is. */
static bool save_and_log(struct revision *revision)
{
    struct arena *arena = revision->run->arena;
    bool of_file;
    const char *path = log_path(revision, &of_file);
    struct change_log log;
    struct buffer lines;
    if (!path)
        return save_all(revision);
    const char *wrong = change_log_open(arena, path, !of_file, &log);
    if (wrong) {
        trouble_say(arena, "%s; nothing is written", wrong);
        return false;
    }
    buffer_init(&lines, arena);
    bool saved = save_all(revision);
    if (saved)
        revise_log_lines(revision, &lines);
    else
        trouble_say(arena, "nothing is put into the log, since not all was written");
    wrong = change_log_add(arena, &log, buffer_view(&lines));
    if (wrong)
        trouble_say(arena, "%s; what was written is not in it", wrong);
    else if (saved)
        lines_say(revision->lines, 0, "The changes are put into %s%s.", path,
                  !of_file    ? ""
                  : log.begun ? ", as the machine file says"
                              : ", which is new, as the machine file says");
    return saved && !wrong;
}

bool revise_may_write(struct revision *revision)
{
    struct run *run = revision->run;
    if (run->options.values[OPTION_WRITE].given || run->options.values[OPTION_OUTPUT].given)
        return true;
    if (!run->out->is_terminal || revision->lines->from) {
        lines_say(revision->lines, 0, "Nothing is written; --write does that.");
        return false;
    }
    const char *question =
        arena_format(run->arena, "Write %s? (yes or no)", changed_names(revision));
    bool yes = lines_open(revision->lines, NULL) && lines_agree(revision->lines, question);
    if (!yes)
        lines_say(revision->lines, 0, "Nothing is written.");
    return yes;
}

/* After the machine's own file, which does without it. */
static bool save_companion(struct revision *revision)
{
    const struct companion *companion = &revision->companion;
    struct run *run = revision->run;
    if (!companion->path)
        return true;
    const char *wrong =
        companion->is_new
            ? save_new(run->arena, companion->path, companion->now)
            : save_over(run->arena, companion->path, companion->before, companion->now);
    if (!wrong) {
        lines_say(revision->lines, 0, "%s is written.", companion->path);
        return true;
    }
    output_flush(run->out);
    trouble_say(run->arena, "%s", wrong);
    return false;
}

bool revise_save(struct revision *revision)
{
    const struct option_value *output = &revision->run->options.values[OPTION_OUTPUT];
    bool saved = output->given ? save_as(revision, output->text) : save_and_log(revision);
    return saved && save_companion(revision);
}
