/* `proveout rules`: the list of rules, and the proof of their examples. */
#include "cli/command.h"

#include "cli/books.h"
#include "cli/rules_coverage.h"
#include "report/explain.h"
#include "rules/rulebook.h"

enum { LINE_MAX_CELLS = 1000 }; /* where no terminal sets the width */

static enum exit_status list_rules(struct run *run)
{
    struct books books;
    if (!books_load(run, &books))
        return EXIT_TROUBLE;
    size_t width = run_layout(run).width;
    struct buffer out;
    buffer_init(&out, run->arena);
    explain_list(&out, width, run->out->is_terminal ? width : LINE_MAX_CELLS,
                 rule_texts_read(run->arena, books.own.items, books.own.count));
    output_write(run->out, buffer_view(&out));
    return EXIT_CLEAN;
}

static enum exit_status prove(struct run *run)
{
    const struct options *options = &run->options;
    bool own = options->arguments.count > 0;
    struct book_texts texts;
    if (!own)
        texts.count = rulebook_builtin_texts(run->arena, &texts.items);
    else if (!books_read(run, options->arguments.items, options->arguments.count, &texts))
        return EXIT_TROUBLE;
    struct rulebook_mistakes mistakes = {.arena = run->arena};
    struct buffer tap;
    buffer_init(&tap, run->arena);
    bool proved = rules_prove(&mistakes, texts.items, texts.count, own, &tap);
    if (mistakes.list.count) {
        books_complain(run, &mistakes);
        return EXIT_TROUBLE;
    }
    output_write(run->out, buffer_view(&tap));
    return proved ? EXIT_CLEAN : EXIT_FINDINGS;
}

enum exit_status command_rules(struct run *run)
{
    const struct option_value *values = run->options.values;
    if (values[OPTION_PROVE].given && values[OPTION_COVERAGE].given)
        return run_refuse(run,
                          "--prove runs examples, and --coverage asks of machine files: one "
                          "at a time");
    if (values[OPTION_COVERAGE].given)
        return rules_coverage(run);
    if (run->options.values[OPTION_PROVE].given)
        return prove(run);
    if (run->options.arguments.count)
        return run_refuse(run,
                          "rules takes files with --prove; to list one beside the built-in "
                          "ones, name it with --rulebook");
    return list_rules(run);
}
