/* What the controller's own files would have to say by the machine file.
 *
 * They are read and never written.  A copy goes to a new file, and only where the agreements
 * find in it what the machine file says: a pattern may not know the new number again.
 */
#include "cli/revise_controller.h"

#include <string.h>

#include "report/wrap.h"
#include "rules/agree.h"
#include "text/escape.h"

enum { SHOWN_CELLS = 60, TOLD_CELLS = 40 };

/* One file of the controller's, as it would be. */
struct controller_file {
    const struct source *source;
    struct carry_edits edits;
    struct view now;
    struct buffer list;  /* to type */
    const char *trouble; /* why it cannot be said how it would be, or NULL */
};

struct carrying {
    struct revision *revision;
    struct meant_agreements meant;
    VECTOR(struct controller_file) files;
    size_t left; /* agreements that could not be told, or not be carried */
};

static struct controller_file *file_of(struct carrying *work, const struct source *source)
{
    for (size_t i = 0; i < work->files.count; i++)
        if (work->files.items[i].source == source)
            return &work->files.items[i];
    struct controller_file new = {.source = source};
    buffer_init(&new.list, work->revision->run->arena);
    VECTOR_ADD(work->revision->run->arena, &work->files, new);
    return &work->files.items[work->files.count - 1];
}

static void say_left(struct carrying *work, const struct agreement_seen *seen, const char *why)
{
    lines_say(work->revision->lines, 0, "Nothing is said for %s: %s.",
              meant_name(work->revision, seen), why);
    work->left++;
}

/* Where the machine file has its number: "shed.yaml:33". */
static const char *home_of(const struct revision *revision, const struct field_place *place)
{
    struct arena *arena = revision->run->arena;
    const struct machine *machine = &revision->now->machine;
    const struct field_value *value = machine_field(machine, place->field, place->record);
    if (!value->node)
        return revision->path;
    struct span span = value->node->span;
    struct source *source = source_holding(machine->tree->source, &span);
    struct place at = source_place(source, span.start, COLUMN_CODE_POINTS);
    return arena_format(arena, "%s:%u", escape_short(arena, source->name, SHOWN_CELLS),
                        (unsigned)at.line);
}

/* Notes what one agreement wants changed, and adds it to the list. */
static void add(struct carrying *work, size_t index)
{
    struct revision *revision = work->revision;
    struct arena *arena = revision->run->arena;
    const struct agreement_seen *seen = &work->meant.list.items.items[index];
    const struct wrap wrap = {wrap_width(run_layout(revision->run).width), 0, 2};
    const char *why;
    const char *text = carry_to_controller(arena, &revision->now->machine, seen, &why);
    if (!text) {
        say_left(work, seen, why);
        return;
    }
    struct controller_file *file = file_of(work, seen->source);
    for (size_t i = 0; i < seen->spans.count; i++) {
        struct span span = carry_span(seen, i);
        const struct carry_edit edit = {span, text, index};
        VECTOR_ADD(arena, &file->edits.items, edit);
        wrap_format(&file->list, &wrap, "%s: %s: says %s, should say %s%s%s, as %s has it.",
                    meant_place(revision, seen, i), revise_path(revision, &seen->place),
                    escape_short(arena, source_slice(seen->source, span), TOLD_CELLS), text,
                    seen->is_number && seen->unit != UNIT_BARE ? " in " : "",
                    seen->is_number ? unit_text(seen->unit) : "",
                    home_of(revision, &seen->place));
    }
}

/* --- is it found again? --- */

/* The files as they would be; others as they are. */
struct as_they_would_be {
    const struct carrying *work;
};

static bool read_changed(void *user, struct arena *arena, struct view path, struct view *bytes,
                         const char **why)
{
    const struct as_they_would_be *files = user;
    const struct carrying *work = files->work;
    for (size_t i = 0; i < work->files.count; i++)
        if (!work->files.items[i].trouble &&
            view_equal(work->files.items[i].source->name, path)) {
            *bytes = work->files.items[i].now;
            return true;
        }
    return work->meant.reader.read(work->meant.reader.user, arena, path, bytes, why);
}

static void find_again(struct carrying *work)
{
    struct revision *revision = work->revision;
    struct as_they_would_be files = {work};
    const struct file_reader reader = {&files, read_changed};
    struct agreement_list list;
    agreements_look(revision->run->arena, &revision->now->machine, &reader, &list);
    for (size_t i = 0; i < work->files.count; i++)
        for (size_t k = 0; k < work->files.items[i].edits.items.count; k++) {
            size_t who = work->files.items[i].edits.items.items[k].who;
            if (list.items.items[who].state != AGREEMENT_HELD && !work->files.items[i].trouble)
                work->files.items[i].trouble = arena_format(
                    revision->run->arena, "%s would not find its number in it any more",
                    meant_name(revision, &work->meant.list.items.items[who]));
        }
    for (size_t i = 0; i < list.items.count; i++) {
        const struct agreement_seen *was = &work->meant.list.items.items[i];
        if (was->state == AGREEMENT_HELD && list.items.items[i].state != AGREEMENT_HELD)
            file_of(work, was->source)->trouble = arena_format(
                revision->run->arena, "%s would be lost by it", meant_name(revision, was));
    }
}

static void write_files(struct carrying *work)
{
    struct revision *revision = work->revision;
    struct arena *arena = revision->run->arena;
    const struct agreement_seen *seen = work->meant.list.items.items;
    for (size_t i = 0; i < work->files.count; i++) {
        struct controller_file *file = &work->files.items[i];
        size_t clash[2];
        if (!carry_write(arena, file->source->bytes, &file->edits, &file->now, clash))
            file->trouble = arena_format(arena, "%s and %s want different things in one place",
                                         meant_name(revision, &seen[clash[0]]),
                                         meant_name(revision, &seen[clash[1]]));
    }
    find_again(work);
}

/* --- telling and writing --- */

static size_t show(struct carrying *work)
{
    struct revision *revision = work->revision;
    struct arena *arena = revision->run->arena;
    size_t shown = 0;
    for (size_t i = 0; i < work->files.count; i++) {
        const struct controller_file *file = &work->files.items[i];
        const char *name = arena_copy(arena, file->source->name.data, file->source->name.size);
        if (file->trouble) {
            lines_say(revision->lines, 0, "How %s would be is not told: %s.",
                      escape_short(arena, file->source->name, SHOWN_CELLS), file->trouble);
            work->left++;
            continue;
        }
        revise_show_difference(revision, name, file->source->bytes, file->now);
        shown++;
    }
    for (size_t i = 0; i < work->files.count; i++) {
        if (work->files.items[i].trouble)
            continue;
        lines_gap(revision->lines);
        lines_show(revision->lines, buffer_view(&work->files.items[i].list));
    }
    return shown;
}

/* Writes the copy; false: said why not. */
static bool write_copy(struct carrying *work, size_t shown)
{
    struct revision *revision = work->revision;
    struct run *run = revision->run;
    const char *path = run->options.values[OPTION_OUTPUT].text;
    const char *wrong = NULL;
    const struct controller_file *file = NULL;
    for (size_t i = 0; i < work->files.count; i++)
        if (!work->files.items[i].trouble)
            file = &work->files.items[i];
    if (work->left)
        wrong = arena_format(run->arena, "%s is not written, since not all of it can be said",
                             path);
    else if (shown != 1)
        wrong = arena_format(
            run->arena,
            "%s is not written: it takes the copy of one file, and %zu would change; name fields, so that one is left",
            path, shown);
    else
        wrong = save_new(run->arena, path, file->now);
    if (!wrong) {
        lines_say(revision->lines, 0, "%s is written, and %s is left as it is.", path,
                  escape_short(run->arena, file->source->name, SHOWN_CELLS));
        return true;
    }
    output_flush(run->out);
    trouble_say(run->arena, "%s", wrong);
    return false;
}

enum exit_status revise_to_controller(struct revision *revision)
{
    struct run *run = revision->run;
    struct carrying *work = ARENA_NEW(run->arena, struct carrying);
    work->revision = revision;
    if (!meant_open(revision, &work->meant))
        return EXIT_TROUBLE;
    for (size_t i = 0; i < work->meant.list.items.count; i++) {
        const struct agreement_seen *seen = &work->meant.list.items.items[i];
        if (!work->meant.is_meant[i] || seen->state == AGREEMENT_HELD)
            continue;
        if (seen->state == AGREEMENT_UNTOLD)
            say_left(work, seen, seen->trouble);
        else
            add(work, i);
    }
    write_files(work);
    size_t shown = show(work);
    bool wished = run->options.values[OPTION_OUTPUT].given;
    if (!work->files.count && !work->left)
        lines_say(revision->lines, 0,
                  "Nothing to be changed: the controller's files say what %s says%s.",
                  revision->path, wished ? ", and nothing is written" : "");
    else if (wished && !write_copy(work, shown))
        return EXIT_TROUBLE;
    if (shown)
        lines_say(
            revision->lines, 0,
            "The controller goes by its own file until it is given another. The first run after a change is still made in air, with a hand on the stop.");
    return work->left ? EXIT_TROUBLE : shown ? EXIT_FINDINGS : EXIT_CLEAN;
}
