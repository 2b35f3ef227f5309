/* What each rule of a rulebook came to on the machine files of a shop. */
#include "cli/rules_coverage.h"

#include <string.h>

#include "cli/books.h"
#include "cli/input.h"
#include "cli/shop.h"
#include "finding/sink.h"
#include "rules/check.h"

/* One rule, and on how many files its worst instance came to what. */
struct coverage {
    const struct rule *rule;
    size_t files[OUTCOME_COUNT];
    int worst; /* in the file that is looked at; -1: it does not apply */
};

struct covering {
    struct run *run;
    struct books books;
    struct coverage *rules;
    size_t count, files, unreadable;
};

/* The rules of the books that the user names, else of the built-in one. */
static void list_rules(struct covering *work)
{
    const struct rulebook *book = work->books.list[work->books.count - 1];
    work->rules = ARENA_ARRAY(work->run->arena, struct coverage, book->rule_count + 1);
    for (uint32_t i = 0; i < book->rule_count; i++)
        work->rules[work->count++].rule = &book->rules[i];
}

/* How bad an outcome is, when a rule comes to several in one file. */
static int weight(int outcome)
{
    static const int weights[OUTCOME_COUNT] = {[OUTCOME_HELD] = 0,
                                               [OUTCOME_UNCHECKED] = 1,
                                               [OUTCOME_WAIVED] = 2,
                                               [OUTCOME_FAILED] = 3};
    return outcome < 0 ? -1 : weights[outcome];
}

static void count_file(struct covering *work, const struct file_report *report)
{
    for (size_t i = 0; i < work->count; i++)
        work->rules[i].worst = -1;
    for (size_t k = 0; k < report->count; k++)
        for (size_t i = 0; i < work->count; i++)
            if (strcmp(work->rules[i].rule->name, report->findings[k].rule) == 0 &&
                weight((int)report->findings[k].outcome) > weight(work->rules[i].worst))
                work->rules[i].worst = (int)report->findings[k].outcome;
    for (size_t i = 0; i < work->count; i++)
        if (work->rules[i].worst >= 0)
            work->rules[i].files[work->rules[i].worst]++;
}

static void cover_file(struct covering *work, struct arena *arena, const struct input *input)
{
    const char *why = NULL;
    struct view bytes;
    struct shelf shelf;
    struct beside beside = {input->path};
    struct file_reader agreements = {&beside, beside_read};
    struct file_report report;
    enum input_status status = input_read(input, arena, &bytes, &why);
    if (status == INPUT_PASSED_OVER)
        return;
    shelf_set(&shelf, arena, input, NULL);
    const struct check_options options = {
        .books = work->books.list,
        .book_count = work->books.count,
        .words = true, /* so that waivers are looked at */
        .today = run_today(work->run),
        .agreements = &agreements,
        .shared = &shelf.files,
    };
    if (status == INPUT_READ)
        check_bytes(arena, &options, view_of(input->path), bytes, &report);
    if (status != INPUT_READ || !file_report_is_whole(&report)) {
        work->unreadable++;
        output_flush(work->run->out);
        trouble_say(work->run->arena, "%s cannot be read%s%s", input->path,
                    why ? ": " : "; `proveout check` tells where", why ? why : "");
        return;
    }
    work->files++;
    count_file(work, &report);
}

static void tell(const struct covering *work, struct buffer *out)
{
    size_t silent = 0;
    buffer_format(out, "%-34s %6s %6s %6s %11s %14s\n", "on how many machine files", "failed",
                  "waived", "held", "not checked", "does not apply");
    for (size_t i = 0; i < work->count; i++) {
        const struct coverage *one = &work->rules[i];
        size_t asked = 0;
        for (int outcome = 0; outcome < OUTCOME_COUNT; outcome++)
            asked += one->files[outcome];
        silent += !one->files[OUTCOME_FAILED] && !one->files[OUTCOME_WAIVED];
        buffer_format(out, "%-34s %6zu %6zu %6zu %11zu %14zu\n", one->rule->name,
                      one->files[OUTCOME_FAILED], one->files[OUTCOME_WAIVED],
                      one->files[OUTCOME_HELD], one->files[OUTCOME_UNCHECKED],
                      work->files - asked);
    }
    buffer_format(out, "\n%zu machine file%s; %zu of %zu rules never failed on any:\n",
                  work->files, work->files == 1 ? "" : "s", silent, work->count);
    for (size_t i = 0; i < work->count; i++)
        if (!work->rules[i].files[OUTCOME_FAILED] && !work->rules[i].files[OUTCOME_WAIVED])
            buffer_format(out, "  %s\n", work->rules[i].rule->name);
}

enum exit_status rules_coverage(struct run *run)
{
    struct covering work = {.run = run};
    struct file_list list = {0};
    struct arena arena;
    if (!run->options.arguments.count)
        return run_refuse(run, "rules --coverage wants machine files, or a folder of them");
    for (size_t i = 0; i < run->options.arguments.count; i++)
        files_add(&list, run->arena, run->options.arguments.items[i], "<stdin>");
    if (!books_load(run, &work.books))
        return EXIT_TROUBLE;
    list_rules(&work);
    const struct shop_member *members = shop_survey(run->arena, &list, NULL);
    arena_init(&arena, &trouble_host);
    for (size_t i = 0; i < list.items.count; i++) {
        if (!members[i].shared_by)
            cover_file(&work, &arena, &list.items.items[i]);
        arena_reset(&arena);
    }
    arena_free(&arena);
    if (!work.files && !work.unreadable)
        return run_refuse(run, "no machine file was found there");
    struct buffer out;
    buffer_init(&out, run->arena);
    tell(&work, &out);
    output_write(run->out, buffer_view(&out));
    return work.unreadable ? EXIT_TROUBLE : EXIT_CLEAN;
}
