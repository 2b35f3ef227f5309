/* `proveout rules`: the list of rules, and the proof of their examples. */
#include "cli/command.h"

#include "cli/books.h"
#include "cli/rule_text.h"
#include "cli/surroundings.h"
#include "report/wrap.h"
#include "rules/prove.h"

enum { LIST_COLUMN = 46 };

/* Of the reason why a rule is there. */
static struct view first_sentence(const struct rule_entry_text *rule)
{
    struct view why = rule_text_value(rule, "why");
    for (size_t i = 0; i + 1 < why.size; i++)
        if (why.data[i] == '.' && (why.data[i + 1] == ' ' || why.data[i + 1] == '\n'))
            return (struct view){why.data, i};
    return why;
}

/* One rule: its name, level, what it saves from harm, and what it says. */
static void list_rule(struct buffer *out, const struct rule_entry_text *rule, size_t width)
{
    struct view hurts = rule_text_value(rule, "hurts");
    const char *name = arena_format(out->arena, "  %-24.*s %-8.*s%-8.*s", VIEW(rule->name),
                                    VIEW(rule_text_value(rule, "level")), VIEW(hurts));
    struct view says = rule_text_value(rule, "says");
    /* What the reader finds has no words of its own here: its reason stands for them. */
    wrap_row(out, width, LIST_COLUMN, name, says.size ? says : first_sentence(rule));
}

static enum exit_status list_rules(struct run *run)
{
    struct book_texts builtin;
    struct books books;
    struct rule_texts texts = {0};
    if (!books_load(run, &books))
        return EXIT_TROUBLE;
    books_builtin(run->arena, true, &builtin);
    rule_texts_add(&texts, run->arena, builtin.items, builtin.count);
    rule_texts_add(&texts, run->arena, books.own.items, books.own.count);
    struct report_options layout = surroundings_layout(run);
    struct buffer out;
    buffer_init(&out, run->arena);
    const struct rule_book *book = NULL;
    for (size_t i = 0; i < texts.rules.count; i++) {
        const struct rule_entry_text *rule = &texts.rules.items[i];
        if (rule->book != book) {
            const struct wrap heading = {.width = layout.width};
            if (book)
                buffer_byte(&out, '\n');
            wrap_add(&out, &heading, rule->book->title);
        }
        book = rule->book;
        list_rule(&out, rule, layout.width < 2 * LIST_COLUMN ? 2 * LIST_COLUMN : layout.width);
    }
    output_write(run->out, buffer_view(&out));
    return EXIT_CLEAN;
}

static enum exit_status prove(struct run *run)
{
    const struct options *options = &run->options;
    bool own = options->arguments.count > 0;
    struct book_texts texts;
    if (!own)
        books_builtin(run->arena, false, &texts);
    else if (!books_read(run, options->arguments.items, options->arguments.count, &texts))
        return EXIT_TROUBLE;
    struct rulebook_loading loading = {.arena = run->arena};
    struct buffer tap;
    buffer_init(&tap, run->arena);
    bool proved = rules_prove(&loading, texts.items, texts.count, own, &tap);
    if (loading.mistakes.count) {
        books_complain(run, &loading);
        return EXIT_TROUBLE;
    }
    output_write(run->out, buffer_view(&tap));
    return proved ? EXIT_CLEAN : EXIT_FINDINGS;
}

enum exit_status command_rules(struct run *run)
{
    if (run->options.values[OPTION_PROVE].given)
        return prove(run);
    if (run->options.arguments.count)
        return run_refuse(run,
                          "rules takes files with --prove; to list one beside the built-in "
                          "ones, name it with --rulebook");
    return list_rules(run);
}
