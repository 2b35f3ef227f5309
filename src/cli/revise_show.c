/* What a revision changes, and what that moves. */
#include "cli/revise.h"

#include <string.h>

#include "cli/input.h"
#include "cli/shop.h"
#include "mend/mend.h"
#include "report/wrap.h"
#include "rules/check.h"
#include "text/diff.h"
#include "text/escape.h"

/* How much a check goes into. */
enum depth { DEPTH_PLAIN, DEPTH_REMEDIES, DEPTH_CHANGES };

static void check(const struct revision *revision, const struct machine_file *file,
                  enum depth depth, struct file_report *out)
{
    struct arena *arena = revision->run->arena;
    struct view path = view_of(revision->path);
    struct beside beside = {revision->path};
    const struct file_reader agreements = {&beside, beside_read};
    const struct check_options options = {
        .books = revision->books.list,
        .book_count = revision->books.count,
        .show = SHOW_ALL,
        .words = true,
        .brief = true,
        .remedies = depth != DEPTH_PLAIN,
        .today = run_today(revision->run),
        .policy = revision->books.policy,
        .agreements = &agreements,
        .shared = file->shared,
    };
    if (depth == DEPTH_CHANGES)
        mender_check(mender_new(arena, &options), arena, path, file->bytes, out);
    else
        check_bytes(arena, &options, path, file->bytes, out);
}

void revise_check(const struct revision *revision, const struct machine_file *file,
                  struct file_report *out)
{
    check(revision, file, DEPTH_PLAIN, out);
}

void revise_check_thoroughly(const struct revision *revision, const struct machine_file *file,
                             struct file_report *out)
{
    check(revision, file, DEPTH_REMEDIES, out);
}

void revise_check_with_changes(const struct revision *revision, const struct machine_file *file,
                               struct file_report *out)
{
    check(revision, file, DEPTH_CHANGES, out);
}

/* To a terminal escaped, to a file or pipe its lines as they are, so that patch takes them. */
void revise_show_difference(const struct revision *revision, const char *path,
                            struct view before, struct view now)
{
    struct run *run = revision->run;
    const struct report_options options = run_layout(run), *layout = &options;
    struct buffer diff, plain;
    buffer_init(&diff, run->arena);
    buffer_init(&plain, run->arena);
    if (run->out->is_terminal)
        diff_shown(&diff, path, before, now, layout->color);
    else
        diff_unified(&diff, path, before, now);
    if (!layout->unicode)
        text_plain(&plain, buffer_view(&diff));
    output_write(run->out, buffer_view(layout->unicode ? &diff : &plain));
}

const char *revise_path(const struct revision *revision, const struct field_place *place)
{
    struct arena *arena = revision->run->arena;
    return machine_lasting_path(arena, &revision->now->machine,
                                machine_file_path(arena, revision->now, place));
}

/* Values that changed without having been named: an alias carries a value to another place. */
static void show_carried(const struct revision *revision, struct buffer *out,
                         const struct wrap *wrap)
{
    struct arena *arena = out->arena;
    const struct machine *now = &revision->now->machine;
    if (revision->reunited)
        return;
    for (unsigned id = 0; id < FIELD_COUNT; id++)
        for (uint32_t i = 0; i < now->groups[field_table[id].group].count; i++) {
            struct field_place place = {id, i, 0};
            bool named = !machine_is_written(now, id, i);
            for (size_t k = 0; k < revision->set.count; k++) {
                const struct field_place *set = &revision->set.items[k];
                struct field_place home = machine_home(now, set->field, set->record);
                named |= home.field == id && home.record == i;
            }
            if (i >= revision->before->machine.groups[field_table[id].group].count)
                continue;
            const struct field_value *new = machine_field(now, id, i);
            const struct field_value *old = machine_field(&revision->before->machine, id, i);
            if (named || new->state != VALUE_GIVEN || old->state != VALUE_GIVEN)
                continue;
            const char *text = field_value_text(arena, id, new);
            if (strcmp(text, field_value_text(arena, id, old)) != 0)
                wrap_format(out, wrap, "%s becomes %s with it, through an alias.",
                            revise_path(revision, &place), text);
        }
}

/* The other machines of the folder that take in a file which is changed. */
static void show_others(const struct revision *revision, struct buffer *out,
                        const struct wrap *wrap)
{
    struct arena *arena = out->arena;
    const struct edited_files *edited = &revision->now->edited;
    const char *root = revision->run->options.values[OPTION_ROOT].text;
    const char *slash = strrchr(revision->path, '/');
    const char *folder =
        slash ? arena_copy(arena, revision->path, (size_t)(slash - revision->path) + 1) : ".";
    struct file_list files = {0};
    if (edited->items.count)
        files_add(&files, arena, root ? root : folder, "");
    for (size_t k = 0; k < edited->items.count; k++) {
        const char *name = edited->items.items[k].name;
        bool is_shared = false;
        for (size_t i = 0; i < files.items.count; i++) {
            const struct machine_file *other = shop_read(arena, &files.items.items[i], root);
            if (!other || file_is_same(other->path, revision->path) ||
                !shop_takes(arena, other, name))
                continue;
            wrap_format(out, wrap, "%s takes in %s too, and changes with it.", other->path,
                        name);
            is_shared = true;
        }
        if (is_shared)
            wrap_format(out, wrap,
                        "Once it is written, `proveout check %s --using %s` checks them all.",
                        root ? root : folder, name);
    }
}

static void show_moves(const struct revision *revision, const struct report_options *layout,
                       const struct file_report *after)
{
    struct run *run = revision->run;
    struct file_report before;
    struct moved moved;
    const struct report report = {REPORT_COMPARISON, revision->path, {.comparison = &moved}};
    struct wrap wrap = {wrap_width(layout->width), 0, 2};
    struct buffer out;
    buffer_init(&out, run->arena);
    revise_check(revision, revision->before, &before);
    reports_compare(run->arena, &before, after, &moved);
    buffer_byte(&out, '\n');
    if (revision->reunited) {
        moved.kinds[MOVED_WORSE].count = moved.kinds[MOVED_BETTER].count = 0;
        wrap_format(&out, &wrap, "Every length is as it was, to a tenth of a micrometre.");
    }
    show_carried(revision, &out, &wrap);
    show_others(revision, &out, &wrap);
    buffer_add(&out, buffer_view(&revision->remarks));
    report_file(run_output(run), layout, &report, &out);
    wrap_format(&out, &wrap, "%s then: %s; before: %s.", revision->path,
                text_levels(run->arena, after->findings_by_level),
                text_levels(run->arena, before.findings_by_level));
    wrap_add(
        &out, &wrap,
        view_of("Numbers on paper: the first run after a change is still made in air, with "
                "a hand on the stop."));
    output_write(run->out, buffer_view(&out));
}

void revise_show(const struct revision *revision, const struct file_report *after)
{
    struct report_options layout = run_layout(revision->run);
    const struct edited_files *edited = &revision->now->edited;
    for (size_t i = 0; i < edited->items.count; i++)
        revise_show_difference(revision, edited->items.items[i].name,
                               edited->items.items[i].before, edited->items.items[i].now);
    if (!view_equal(revision->before->bytes, revision->now->bytes))
        revise_show_difference(revision, revision->path, revision->before->bytes,
                               revision->now->bytes);
    if (revision->companion.path)
        revise_show_difference(revision, revision->companion.path, revision->companion.before,
                               revision->companion.now);
    show_moves(revision, &layout, after);
}
