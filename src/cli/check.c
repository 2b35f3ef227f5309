/* `proveout check`: every rule of every file named, in order, by several workers. */
#include "cli/command.h"

#include <string.h>

#include "cli/batch.h"
#include "cli/books.h"
#include "cli/check_known.h"
#include "cli/check_sheet.h"
#include "cli/compare.h"
#include "cli/input.h"
#include "cli/progress.h"
#include "cli/shop.h"
#include "cli/shop_policy.h"
#include "mend/mend.h"
#include "report/explain.h"

enum { SHOW_POLICY = SHOW_WAIVED + 1 }; /* the last of the words of --show */
enum { ROWS_MAX = 2000 };               /* of the table at the end; the rest is counted */

/* What all workers share; only `deliver` changes anything in it. */
struct job {
    struct run *run;
    struct books books;
    struct file_list files;
    struct shop_member *members; /* of each of them */
    const struct report_output *output;
    struct report_options layout;
    double today;

    struct shop_policies policies;
    struct check_known known;
    struct since since; /* where only what changed is checked */
    bool asks_changed;
    size_t unchanged;

    struct run_totals totals;
    int status;
    bool follows; /* a file was written before */
    struct report_table table;
    struct buffer rows; /* of it */
    size_t row_count;
    struct progress progress;
};

/* What one worker keeps from file to file. */
struct worker {
    const struct job *job;
    struct arena kept, arena; /* for the run, and for one file */
    struct arena output;      /* for what is written of it and not passed on */
    struct piece *piece;      /* what it is passed on in */
    struct mender **menders;  /* of no policy, and of each */
    struct beside beside;
    struct shelf shelf;
    struct shared_cutters cutters; /* of machines before this one */
    struct file_reader agreements;
    enum finding_level stop_at; /* for the file that is checked */
};

/* What is asked of the rules: what held only on request where the output does without, so that
 * nothing is put into words which nobody reads. */
static enum check_show wanted(const struct job *job)
{
    if (job->layout.show == SHOW_DEFAULT && !job->output->writer->tells_held)
        return SHOW_FAILED;
    return (enum check_show)job->layout.show;
}

/* What checks where this policy holds (NULL: where none does), made when it is first wanted. */
static struct mender *mender_of(struct worker *worker, const struct shop_policy *policy)
{
    const struct job *job = worker->job;
    size_t which = 0;
    while (policy && job->policies.items.items[which++] != policy)
        continue;
    if (worker->menders[which])
        return worker->menders[which];
    const struct books *books = policy ? &policy->books : &job->books;
    const struct check_options options = {
        .books = books->list,
        .book_count = books->count,
        .show = wanted(job),
        .words = true,
        .sums = wanted(job) == SHOW_FAILED && !job->output->writer->tells_held,
        .remedies = true,
        .today = job->today,
        .policy = policy ? &policy->policy : NULL,
        .agreements = &worker->agreements,
        .shared = &worker->shelf.files,
        .cutters = &worker->cutters,
    };
    return worker->menders[which] = mender_new(&worker->kept, &options);
}

static void *start_worker(void *user)
{
    struct job *job = user;
    struct arena kept;
    arena_init(&kept, &trouble_host);
    struct worker *worker = ARENA_NEW(&kept, struct worker);
    worker->job = job;
    worker->kept = kept;
    arena_init(&worker->arena, &trouble_host);
    arena_init(&worker->output, &trouble_host);
    worker->menders =
        ARENA_ARRAY(&worker->kept, struct mender *, job->policies.items.count + 1);
    return worker;
}

static void stop_worker(void *user)
{
    struct worker *worker = user;
    arena_free(&worker->arena);
    arena_free(&worker->output);
    struct arena kept = worker->kept; /* the worker itself lies in it */
    arena_free(&kept);
}

static void pass_on(void *user, struct buffer *text)
{
    struct worker *worker = user;
    worker->piece->text = buffer_view(text);
    batch_part(worker->piece);
    arena_reset(&worker->output);
    buffer_init(text, &worker->output);
}

/* With --quiet only of what is not clean. */
static bool wants_row(const struct job *job, const struct file_report *report)
{
    return report->status != FILE_SHARED &&
           (!job->layout.quiet || report->status != FILE_CHECKED ||
            report->findings_by_level[LEVEL_ERROR] ||
            report->findings_by_level[LEVEL_WARNING] || report->findings_by_level[LEVEL_NOTE]);
}

static void add_report(struct worker *worker, const struct file_report *report,
                       struct piece *piece)
{
    struct buffer text;
    struct report_options layout = worker->job->layout;
    layout.pass_on = pass_on;
    layout.stop_at = worker->stop_at;
    layout.user = worker;
    worker->piece = piece;
    arena_reset(&worker->output);
    buffer_init(&text, &worker->output);
    totals_add(&piece->totals, report);
    if (worker->job->layout.table && wants_row(worker->job, report)) {
        struct buffer row;
        buffer_init(&row, &worker->arena);
        report_row(report, &row);
        piece->row = buffer_view(&row);
    }
    report_file(worker->job->output, &layout,
                &(struct report){REPORT_FINDINGS, report->path, {.findings = report}}, &text);
    piece->text = buffer_view(&text);
}

static void fail(struct worker *worker, const struct input *input, const char *why,
                 struct piece *piece)
{
    struct buffer trouble;
    buffer_init(&trouble, &worker->arena);
    trouble_add(&trouble, "%s cannot be read: %s", input->path, why);
    piece->trouble = buffer_view(&trouble);
    piece->status = EXIT_TROUBLE;
    const struct file_report report = {.path = input->path, .status = FILE_UNREADABLE};
    add_report(worker, &report, piece);
}

/* What is no machine by itself is told, not checked: those that take it in are. */
static void tell_shared(struct worker *worker, const struct input *input, const char *shared_by,
                        struct piece *piece)
{
    const struct file_report report = {
        .path = input->path, .status = FILE_SHARED, .shared_by = shared_by};
    add_report(worker, &report, piece);
}

/* Below the findings of a machine, what moved in it since the revision. */
static void add_review(struct worker *worker, size_t index, struct view bytes,
                       const struct shared_files *shared, struct piece *piece)
{
    const struct job *job = worker->job;
    struct arena *arena = &worker->arena;
    const char *path = job->files.items.items[index].path;
    const struct shop_policy *policy = job->policies.files[index];
    const struct compare_checking checking = {policy ? &policy->books : &job->books,
                                              job->today};
    struct compare_side now = {.path = path, .bytes = bytes, .shared = *shared}, then = now;
    struct file_report before, after;
    struct review review = {.was = job->since.rev};
    now.agreements = (struct file_reader){&worker->beside, beside_read};
    bool was_there = since_has(&job->since, index);
    const char *wrong =
        was_there ? compare_before(arena, &job->since, index, path, shared, &then) : NULL;
    compare_check(arena, &checking, &now, &after);
    if (was_there && !wrong)
        compare_check(arena, &checking, &then, &before);
    if (!file_report_is_whole(&after))
        return;
    if (wrong || (was_there && !file_report_is_whole(&before))) {
        struct buffer trouble;
        buffer_init(&trouble, arena);
        buffer_add(&trouble, piece->trouble);
        trouble_add(&trouble, "%s cannot be compared: what it was in %s can not all be read",
                    path, job->since.rev);
        piece->trouble = buffer_view(&trouble);
        return;
    }
    compare_reports(arena, was_there ? &before : NULL, &after, &review);
    struct buffer text;
    buffer_init(&text, &worker->output);
    buffer_add(&text, piece->text);
    report_file(report_output(REPORT_REVIEW, 0), &job->layout,
                &(struct report){REPORT_REVIEW, path, {.review = &review}}, &text);
    piece->text = buffer_view(&text);
}

static void check_file(void *user, size_t index, struct piece *piece)
{
    struct worker *worker = user;
    const struct input *input = &worker->job->files.items.items[index];
    const struct shop_member *member = &worker->job->members[index];
    arena_reset(&worker->arena);
    if (member->shared_by) {
        tell_shared(worker, input, member->shared_by, piece);
        return;
    }
    struct view bytes = {0};
    const char *why = NULL;
    switch (input_read(input, &worker->arena, &bytes, &why)) {
    case INPUT_FAILED:
        fail(worker, input, why, piece);
        return;
    case INPUT_PASSED_OVER:
        piece->totals.passed_over = 1;
        return;
    case INPUT_READ:
        break;
    }
    worker->beside.path = input->path;
    shelf_set(&worker->shelf, &worker->arena, input,
              worker->job->run->options.values[OPTION_ROOT].text);
    worker->cutters = member->cutters ? *member->cutters : (struct shared_cutters){0};
    struct file_report report;
    struct since_side side;
    const struct shared_files shared = worker->shelf.files;
    worker->agreements = (struct file_reader){&worker->beside, beside_read};
    if (worker->job->asks_changed)
        since_watch(&worker->job->since, index, &side, &worker->shelf.files,
                    &worker->agreements);
    const struct shop_policy *policy = worker->job->policies.files[index];
    mender_check(mender_of(worker, policy), &worker->arena, view_of(input->path), bytes,
                 &report);
    if (worker->job->asks_changed && policy)
        side.changed |= shop_policy_changed(&worker->arena, policy, &worker->job->since, index);
    if (worker->job->asks_changed && !side.changed) {
        piece->unchanged = 1;
        return;
    }
    check_known_file(&worker->job->known, &worker->arena, bytes, &report, piece);
    worker->stop_at = run_stop_at(worker->job->run, policy ? &policy->policy : NULL);
    piece->status = (int)run_status_from(worker->stop_at, &report);
    add_report(worker, &report, piece);
    if (worker->job->since.rev && worker->job->output->writer->takes_reviews)
        add_review(worker, index, bytes, &shared, piece);
}

static bool deliver(void *user, const struct piece *piece)
{
    struct job *job = user;
    struct output *out = job->run->out;
    totals_join(&job->totals, &piece->totals);
    job->unchanged += piece->unchanged;
    progress_step(&job->progress,
                  piece->totals.files + piece->totals.passed_over + piece->unchanged);
    if (piece->row.size && job->row_count < ROWS_MAX)
        buffer_add(&job->rows, piece->row);
    else if (piece->row.size)
        job->table.left_out++;
    job->row_count += piece->row.size > 0;
    if (piece->status > job->status)
        job->status = piece->status;
    check_known_deliver(&job->known, piece);
    if (piece->trouble.size || piece->text.size)
        progress_end(&job->progress);
    if (piece->trouble.size) {
        output_flush(out);
        trouble_write(piece->trouble);
    }
    const char *between = job->output->writer->between;
    if (job->layout.held) {
        report_hold(job->layout.held, piece->text);
        return true;
    }
    bool begins = piece->totals.files && piece->text.size;
    if (begins && job->follows && between)
        output_write(out, view_of(between));
    job->follows |= begins;
    output_write(out, piece->text);
    return output_is_alive(out);
}

/* What is wrong with the arguments; NULL: nothing. */
static const char *list_files(struct job *job)
{
    const struct options *options = &job->run->options;
    const struct option_value *name = &options->values[OPTION_NAME];
    size_t standard = 0;
    for (size_t i = 0; i < options->arguments.count; i++)
        standard += strcmp(options->arguments.items[i], "-") == 0;
    if (!options->arguments.count)
        return "check wants at least one file or folder, or - for standard input";
    if (standard > 1)
        return "standard input can be read only once";
    if (name->given && !standard)
        return "--name is a name for standard input, and - is not among the files";
    job->asks_changed =
        options->values[OPTION_SINCE].given || options->values[OPTION_CHANGED].given;
    if (job->asks_changed && options->values[OPTION_USING].given)
        return "--using and --since or --changed: one at a time";
    if (job->asks_changed)
        return compare_wishes(job->run, &job->since, &job->files);
    for (size_t i = 0; i < options->arguments.count; i++)
        files_add(&job->files, job->run->arena, options->arguments.items[i],
                  name->given ? name->text : "<stdin>");
    return NULL;
}

/* Leaves only the machines that take in a file, and it where it is one itself; NULL, or what is
 * wrong. */
static const char *keep_users(struct job *job, const char *path)
{
    size_t kept = 0;
    for (size_t i = 0; i < job->files.items.count; i++) {
        if (!shop_member_uses(&job->members[i], path))
            continue;
        job->files.items.items[kept] = job->files.items.items[i];
        job->members[kept++] = job->members[i];
    }
    job->files.items.count = kept;
    return kept ? NULL
                : arena_format(job->run->arena,
                               "no machine there takes in %s: nothing was checked", path);
}

/* Looks at what the files share, and chooses among them where that is wished; one alone shares
 * with nobody. */
static const char *survey(struct job *job)
{
    const struct option_value *values = job->run->options.values;
    const char *using = values[OPTION_USING].text;
    if (job->files.items.count == 1 && !using && !job->asks_changed) {
        job->members = ARENA_NEW(job->run->arena, struct shop_member);
        return NULL;
    }
    job->members = shop_survey(job->run->arena, &job->files, values[OPTION_ROOT].text);
    return using ? keep_users(job, using) : NULL;
}

static void write_part(struct job *job, bool at_end)
{
    struct buffer text;
    buffer_init(&text, job->run->arena);
    if (at_end)
        report_end(job->output, &job->layout, &job->totals, &text);
    else
        report_begin(job->output, &job->layout, &text);
    output_write(job->run->out, buffer_view(&text));
}

/* What was not checked since nothing of it changed, and what is there no more. */
static void tell_unchanged(struct job *job)
{
    struct run *run = job->run;
    if (!job->asks_changed)
        return;
    output_flush(run->out);
    for (size_t i = 0; i < job->since.gone.count; i++)
        trouble_say(run->arena, "%s is not there any more; it was in %s",
                    job->since.gone.items[i], job->since.rev);
    if (job->unchanged)
        trouble_say(run->arena, "%zu machine%s not told of: nothing of %s has changed",
                    job->unchanged, job->unchanged == 1 ? " is" : "s are",
                    job->unchanged == 1 ? "it" : "them");
}

/* Of all rules that are asked of any file. */
static const struct rule_texts *rule_texts_of(struct job *job)
{
    struct arena *arena = job->run->arena;
    VECTOR(struct rulebook_text) texts = {0};
    for (size_t i = 0; i < job->books.own.count; i++)
        VECTOR_ADD(arena, &texts, job->books.own.items[i]);
    for (size_t k = 0; k < job->policies.items.count; k++) {
        const struct book_texts *own = &job->policies.items.items[k]->books.own;
        for (size_t i = job->books.own.count; i < own->count; i++)
            VECTOR_ADD(arena, &texts, own->items[i]);
    }
    return rule_texts_read(arena, texts.items, texts.count);
}

static enum exit_status show_policies(struct job *job)
{
    struct buffer out;
    buffer_init(&out, job->run->arena);
    shop_policies_tell(&out, &job->policies, &job->files);
    output_write(job->run->out, buffer_view(&out));
    return EXIT_CLEAN;
}

enum exit_status command_check(struct run *run)
{
    if (run->options.values[OPTION_SHEET].given)
        return check_sheet(run);
    struct job *job = ARENA_NEW(run->arena, struct job);
    job->run = run;
    const char *wrong = list_files(job);
    if (!wrong)
        wrong = survey(job);
    if (wrong)
        return run_refuse(run, "%s", wrong);
    if (!books_load(run, &job->books) ||
        !shop_policies_read(run, &job->books, &job->files, &job->policies))
        return EXIT_TROUBLE;
    if (run->options.values[OPTION_SHOW].choice == SHOW_POLICY)
        return show_policies(job);
    if (!check_known_begin(run, &job->known))
        return EXIT_TROUBLE;
    job->output = run_output(run);
    job->layout = run_layout(run);
    job->layout.knows = job->known.sets_aside;
    job->layout.held = report_held_new(run->arena, job->output);
    if (job->output->writer->lists_rules)
        job->layout.rules = rule_texts_of(job);
    job->today = run_today(run);
    if (job->output->writer->takes_table && job->files.items.count > 1)
        job->layout.table = &job->table;
    buffer_init(&job->rows, run->arena);
    job->totals.ignored = job->files.ignored;
    progress_begin(&job->progress, job->files.items.count,
                   run->out->is_terminal && !job->layout.quiet && !job->layout.held);
    const struct batch batch = {
        .count = job->files.items.count,
        .workers = run_jobs(run),
        .user = job,
        .start = start_worker,
        .work = check_file,
        .deliver = deliver,
        .stop = stop_worker,
    };
    write_part(job, false);
    batch_run(&batch);
    progress_end(&job->progress);
    job->table.rows = buffer_view(&job->rows);
    write_part(job, true);
    tell_unchanged(job);
    if (!job->totals.files && !job->unchanged && !job->since.gone.count) {
        output_flush(run->out);
        trouble_say(run->arena, "no machine file was found there: nothing was checked");
        job->status = EXIT_TROUBLE;
    }
    return check_known_end(run, &job->known, (enum exit_status)job->status);
}
