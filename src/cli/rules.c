/* `proveout rules`: the list of rules, and the proof of their examples. */
#include "cli/command.h"

#include "cli/books.h"
#include "cli/rule_text.h"
#include "cli/surroundings.h"
#include "report/wrap.h"
#include "rules/prove.h"
#include "text/escape.h"

enum { LINE_MAX_CELLS = 1000 }; /* where no terminal sets the width */

/* Of the reason why a rule is there. */
static struct view first_sentence(const struct rule_entry_text *rule)
{
    struct view why = rule_text_value(rule, "why");
    for (size_t i = 0; i + 1 < why.size; i++)
        if (why.data[i] == '.' && (why.data[i + 1] == ' ' || why.data[i + 1] == '\n'))
            return (struct view){why.data, i};
    return why;
}

/* Adds the words of a text, which may stand on several lines, on one. */
static void add_on_a_line(struct buffer *out, struct view text)
{
    for (size_t i = 0; i < text.size; i++) {
        bool blank = text.data[i] == ' ' || text.data[i] == '\n';
        if (!blank)
            buffer_byte(out, text.data[i]);
        else if (i + 1 < text.size && text.data[i + 1] != ' ' && text.data[i + 1] != '\n')
            buffer_byte(out, ' ');
    }
}

/* One rule, one line: its name, level, what it saves from harm, and what it says. */
static void list_rule(struct buffer *out, const struct rule_entry_text *rule, size_t width)
{
    struct view says = rule_text_value(rule, "says");
    struct buffer line;
    buffer_init(&line, out->arena);
    buffer_format(&line, "  %-24.*s %-8.*s%-8.*s", VIEW(rule->name),
                  VIEW(rule_text_value(rule, "level")), VIEW(rule_text_value(rule, "hurts")));
    /* What the reader finds has no words of its own here: its reason stands for them. */
    add_on_a_line(&line, says.size ? says : first_sentence(rule));
    buffer_text(out, escape_short(out->arena, buffer_view(&line), width));
    buffer_byte(out, '\n');
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
        list_rule(&out, rule, run->out->is_terminal ? layout.width : LINE_MAX_CELLS);
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
