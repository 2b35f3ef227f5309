/* `proveout compare`: two machine files, or machines as a revision of git has them and as they
 * are. */
#include "cli/command.h"

#include <string.h>

#include "cli/compare.h"
#include "cli/shop.h"
#include "cli/shop_policy.h"
#include "finding/sink.h"

static const struct file_report nothing; /* of a file that is not there */

const char *compare_before(struct arena *arena, const struct since *since, size_t index,
                           const char *path, const struct shared_files *now,
                           struct compare_side *out)
{
    struct since_was was;
    bool is_read = since_before(arena, since, index, &out->then, now, &was);
    out->path = path;
    out->bytes = was.bytes;
    out->shared = was.shared;
    out->agreements = was.agreements;
    return is_read ? NULL : was.why;
}

void compare_check(struct arena *arena, const struct compare_checking *checking,
                   const struct compare_side *side, struct file_report *out)
{
    const struct check_options options = {
        .books = checking->books->list,
        .book_count = checking->books->count,
        .show = SHOW_ALL,
        .words = true,
        .today = checking->today,
        .policy = checking->books->policy,
        .agreements = &side->agreements,
        .shared = &side->shared,
    };
    check_bytes(arena, &options, view_of(side->path), side->bytes, out);
}

void compare_reports(struct arena *arena, const struct file_report *before,
                     const struct file_report *after, struct review *out)
{
    struct moved *moved = ARENA_NEW(arena, struct moved);
    reports_compare(arena, before ? before : &nothing, after, moved);
    out->before = before ? before : &nothing;
    out->after = after;
    out->moved = moved;
    out->kind = before ? REVIEW_CHANGED : REVIEW_ADDED;
}

/* --- two files --- */

/* A file as it lies there, or as `REV:FILE` names it.  NULL, or what is wrong. */
static const char *read_side(struct run *run, const char *name, struct compare_side *side)
{
    const char *root = run->options.values[OPTION_ROOT].text, *why = NULL;
    struct file_about about;
    const char *colon = strchr(name, ':');
    struct arena *arena = run->arena;
    const struct input input = {.path = name};
    side->path = name;
    if (!colon || path_is_whole(name) || file_about(name, &about)) {
        shelf_set(&side->shelf, arena, &input, root);
        side->shared = side->shelf.files;
        side->beside = (struct beside){name};
        side->agreements = (struct file_reader){&side->beside, beside_read};
        return input_read(&input, arena, &side->bytes, &why) == INPUT_READ ? NULL : why;
    }
    const char *path = colon + 1;
    struct file_list list = {0};
    const struct input then = {.path = path};
    side->since =
        (struct since){.rev = arena_copy(arena, name, (size_t)(colon - name)), .root = root};
    const char *wrong = since_open(arena, &side->since, &path, 1, NULL, &list);
    if (wrong)
        return wrong;
    if (list.items.count != 1 || list.items.items[0].walked)
        return "a folder is no machine file";
    shelf_set(&side->shelf, arena, &then, root);
    return compare_before(arena, &side->since, 0, name, &side->shelf.files, side);
}

static enum exit_status compare_two(struct run *run, const struct compare_checking *checking)
{
    const char *const *names = run->options.arguments.items;
    struct compare_side *sides = ARENA_ARRAY(run->arena, struct compare_side, 2);
    struct file_report reports[2];
    struct review review = {.was = names[0]};
    for (int i = 0; i < 2; i++) {
        const char *wrong = read_side(run, names[i], &sides[i]);
        if (wrong)
            return run_refuse(run, "%s cannot be read: %s", names[i], wrong);
        compare_check(run->arena, checking, &sides[i], &reports[i]);
        if (!file_report_is_whole(&reports[i]))
            return run_refuse(run,
                              "%s cannot be compared: not all of it can be read; `proveout "
                              "check` tells where",
                              names[i]);
    }
    compare_reports(run->arena, &reports[0], &reports[1], &review);
    struct run_totals totals = {0};
    struct buffer out;
    buffer_init(&out, run->arena);
    const struct report_options layout = run_layout(run);
    totals_add(&totals, &reports[1]);
    report_alone(run_output(run), &layout,
                 &(struct report){REPORT_REVIEW, names[1], {.review = &review}}, &totals, &out);
    output_write(run->out, buffer_view(&out));
    return run_status(run, checking->books->policy, &reports[1]);
}

/* --- since a revision --- */

struct reviewing {
    struct run *run;
    const struct compare_checking *checking;
    struct since since;
    struct file_list files;
    struct shop_member *members;
    struct shop_policies policies;
    struct report_options layout;
    struct run_totals totals;
    enum exit_status status;
};

static void tell(struct reviewing *work, struct arena *arena, const char *path,
                 const struct review *review)
{
    struct buffer out;
    const struct report_output *output = run_output(work->run);
    buffer_init(&out, arena);
    report_file(output, &work->layout,
                &(struct report){REPORT_REVIEW, path, {.review = review}}, &out);
    if (work->totals.files++ && output->writer->between)
        output_write(work->run->out, view_of(output->writer->between));
    output_write(work->run->out, buffer_view(&out));
}

/* Fills `side` with the file as it is, its readers watched; false: it is no machine, or `why`.
 */
static bool read_now(struct reviewing *work, struct arena *arena, size_t index,
                     struct compare_side *side, const char **why)
{
    const struct input *input = &work->files.items.items[index];
    side->path = input->path;
    shelf_set(&side->shelf, arena, input, work->since.root);
    side->shared = side->shelf.files;
    side->beside = (struct beside){input->path};
    side->agreements = (struct file_reader){&side->beside, beside_read};
    since_watch(&work->since, index, &side->then, &side->shared, &side->agreements);
    return input_read(input, arena, &side->bytes, why) == INPUT_READ;
}

static void worse_status(struct reviewing *work, enum exit_status status)
{
    if (status > work->status)
        work->status = status;
}

static void review_file(struct reviewing *work, struct arena *arena, size_t index)
{
    struct compare_side now = {0}, then = {0};
    const struct shop_policy *policy = work->policies.files[index];
    struct compare_checking checking = *work->checking;
    struct file_report before, after;
    struct review review = {.was = work->since.rev};
    const char *why = NULL;
    const char *path = work->files.items.items[index].path;
    if (policy)
        checking.books = &policy->books;
    if (work->members[index].shared_by || !read_now(work, arena, index, &now, &why)) {
        if (why) {
            review.kind = REVIEW_UNREADABLE;
            review.trouble = arena_format(arena, "it cannot be read: %s", why);
            worse_status(work, EXIT_TROUBLE);
            tell(work, arena, path, &review);
        }
        return;
    }
    compare_check(arena, &checking, &now, &after);
    if (!now.then.changed &&
        !(policy && shop_policy_changed(arena, policy, &work->since, index)))
        return;
    bool was_there = since_has(&work->since, index);
    const char *wrong =
        was_there ? compare_before(arena, &work->since, index, path, &now.shelf.files, &then)
                  : NULL;
    if (was_there && !wrong)
        compare_check(arena, &checking, &then, &before);
    if (!file_report_is_whole(&after))
        review.trouble = "not all of it can be read";
    else if (wrong || (was_there && !file_report_is_whole(&before)))
        review.trouble = "what it was can not all be read";
    if (review.trouble)
        review.kind = REVIEW_UNREADABLE;
    else
        compare_reports(arena, was_there ? &before : NULL, &after, &review);
    worse_status(work, run_status_from(run_stop_at(work->run, checking.books->policy), &after));
    tell(work, arena, path, &review);
}

static enum exit_status compare_since(struct run *run, const struct compare_checking *checking)
{
    const struct options *options = &run->options;
    struct reviewing work = {.run = run, .checking = checking, .layout = run_layout(run)};
    const char *wrong = compare_wishes(run, &work.since, &work.files);
    struct arena arena;
    if (!wrong && !options->arguments.count)
        wrong = "compare --since wants at least one file or folder";
    if (wrong)
        return run_refuse(run, "%s", wrong);
    if (!shop_policies_read(run, checking->books, &work.files, &work.policies))
        return EXIT_TROUBLE;
    work.members = shop_survey(run->arena, &work.files, work.since.root);
    struct buffer edge;
    buffer_init(&edge, run->arena);
    report_begin(run_output(run), &work.layout, &edge);
    output_write(run->out, buffer_view(&edge));
    arena_init(&arena, &trouble_host);
    for (size_t i = 0; i < work.files.items.count; i++) {
        review_file(&work, &arena, i);
        arena_reset(&arena);
    }
    for (size_t i = 0; i < work.since.gone.count; i++)
        tell(&work, &arena, work.since.gone.items[i],
             &(struct review){.kind = REVIEW_REMOVED, .was = work.since.rev});
    arena_free(&arena);
    buffer_init(&edge, run->arena);
    report_end(run_output(run), &work.layout, &work.totals, &edge);
    output_write(run->out, buffer_view(&edge));
    return work.status;
}

/* The lines of a list, without those that are empty. */
static bool read_names(struct run *run, const char *path, struct since *since, const char **why)
{
    const struct input input = {.path = path, .standard = strcmp(path, "-") == 0};
    struct view bytes;
    if (input.standard ? input_read(&input, run->arena, &bytes, why) != INPUT_READ
                       : !input_read_file(path, SOURCE_SIZE_MAX, run->arena, &bytes, why))
        return false;
    while (bytes.size) {
        struct view line = view_take(&bytes, '\n');
        if (line.size && line.data[line.size - 1] == '\r')
            line.size--;
        if (line.size)
            VECTOR_ADD(run->arena, &since->named,
                       path_typed(run->arena, arena_copy(run->arena, line.data, line.size)));
    }
    since->is_list = true;
    return true;
}

const char *compare_wishes(struct run *run, struct since *out, struct file_list *list)
{
    const struct option_value *values = run->options.values;
    const char *why = NULL, *changed = values[OPTION_CHANGED].text;
    *out = (struct since){.rev = values[OPTION_SINCE].text, .root = values[OPTION_ROOT].text};
    for (size_t i = 0; changed && i < run->options.arguments.count; i++)
        if (strcmp(changed, "-") == 0 && strcmp(run->options.arguments.items[i], "-") == 0)
            return "standard input can be read only once";
    if (changed && !read_names(run, changed, out, &why))
        return arena_format(run->arena, "%s cannot be read: %s", changed, why);
    return since_open(run->arena, out, run->options.arguments.items,
                      run->options.arguments.count, values[OPTION_NAME].text, list);
}

enum exit_status command_compare(struct run *run)
{
    const struct option_value *values = run->options.values;
    struct books books;
    bool since = values[OPTION_SINCE].given;
    if (!since && values[OPTION_CHANGED].given)
        return run_refuse(run,
                          "compare --changed wants --since: else there is nothing to compare "
                          "with");
    if (!since && run->options.arguments.count != 2)
        return run_refuse(run, "compare wants two files, the old one first, or --since");
    /* Of two files the policy of the new one; since a revision each has its own. */
    const char *path = since ? NULL : run->options.arguments.items[1];
    if (!shop_books_load(run, path, &books))
        return EXIT_TROUBLE;
    const struct compare_checking checking = {.books = &books, .today = run_today(run)};
    return since ? compare_since(run, &checking) : compare_two(run, &checking);
}
