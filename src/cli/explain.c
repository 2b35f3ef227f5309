/* `proveout explain`: what a rule asks and why, or what a field means. */
#include "cli/shop_policy.h"
#include "cli/command.h"
#include "report/explain.h"
#include "report/wrap.h"
#include "text/escape.h"

enum { PLACES_MAX = 100 }; /* records of one name */

/* Of each value that a name stands for in a machine file, what more readings would be worth. */
static void add_worth(struct run *run, const struct books *books,
                      const struct machine_file *file, const char *name, struct buffer *out)
{
    const struct check_options checking = {
        .books = books->list, .book_count = books->count, .policy = books->policy};
    struct field_place places[PLACES_MAX];
    struct worth worth;
    size_t count =
        machine_resolve(run->arena, &file->machine, view_of(name), places, PLACES_MAX);
    for (size_t i = 0; i < count; i++) {
        enum field_nature nature = field_table[places[i].field].nature;
        bool found = worth_find(run->arena, &checking, &file->machine, &places[i], &worth);
        if (found || nature_is_measured(nature))
            explain_worth(out, wrap_width(run_layout(run).width), &file->machine, &places[i],
                          found ? &worth : NULL);
    }
}

enum exit_status command_explain(struct run *run)
{
    struct books books;
    const struct options *options = &run->options;
    if (!options->arguments.count)
        return run_refuse(run, "explain wants the name of a rule or of a field");
    const char *machine = options->values[OPTION_MACHINE].text;
    if (!shop_books_load(run, machine, &books))
        return EXIT_TROUBLE;
    struct machine_file file;
    if (machine && !run_read_machine(run, machine, &file))
        return EXIT_TROUBLE;
    const struct rule_texts *texts =
        rule_texts_read(run->arena, books.own.items, books.own.count);
    size_t width = wrap_width(run_layout(run).width);
    enum exit_status status = EXIT_CLEAN;
    struct buffer out;
    buffer_init(&out, run->arena);
    for (size_t i = 0; i < options->arguments.count; i++) {
        struct view name = view_of(options->arguments.items[i]);
        size_t before = out.size;
        if (before)
            buffer_byte(&out, '\n');
        if (explain_name(&out, width, texts, name, options->values[OPTION_EXAMPLES].given)) {
            if (machine)
                add_worth(run, &books, &file, options->arguments.items[i], &out);
            continue;
        }
        out.size = before;
        const char *near = explain_nearest(run->arena, texts, name);
        trouble_say(run->arena, "there is no rule and no field %s%s%s%s",
                    escape_short(run->arena, name, 60), near ? "; did you mean " : "",
                    near ? near : "", near ? "?" : "");
        status = EXIT_TROUBLE;
    }
    output_write(run->out, buffer_view(&out));
    return status;
}
