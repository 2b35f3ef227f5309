/* `proveout explain`: finds out what a name stands for. */
#include "cli/explain.h"

#include "cli/books.h"
#include "cli/command.h"
#include "cli/surroundings.h"
#include "cli/trouble.h"
#include "text/escape.h"
#include "report/wrap.h"
#include "text/nearest.h"

/* The nearest rule or field to a name that is neither; NULL: none is near. */
static const char *nearest(struct arena *arena, const struct rule_texts *texts,
                           struct view name)
{
    const char *field = field_nearest(arena, name);
    int least = field ? nearest_distance(name, view_of(field)) : -1;
    const struct rule_entry_text *found = NULL;
    for (size_t i = 0; i < texts->rules.count; i++) {
        int distance = nearest_distance(name, texts->rules.items[i].name);
        if (distance < 0 || (least >= 0 && distance >= least))
            continue;
        least = distance;
        found = &texts->rules.items[i];
    }
    return found ? arena_copy(arena, found->name.data, found->name.size) : field;
}

/* False where there is no such thing. */
static bool explain(struct buffer *out, size_t width, const struct rule_texts *texts,
                    struct view name)
{
    const struct rule_entry_text *rule = rule_text_find(texts, name);
    if (rule) {
        explain_rule(out, width, texts, rule);
        return true;
    }
    enum field_id id = field_find(name);
    if (id == FIELD_COUNT)
        return explain_section(out, width, name);
    explain_field(out, width, name, id);
    return true;
}

enum exit_status command_explain(struct run *run)
{
    struct books books;
    struct book_texts builtin;
    struct rule_texts texts = {0};
    const struct options *options = &run->options;
    if (!options->arguments.count)
        return run_refuse(run, "explain wants the name of a rule or of a field");
    if (!books_load(run, &books))
        return EXIT_TROUBLE;
    books_builtin(run->arena, true, &builtin);
    rule_texts_add(&texts, run->arena, builtin.items, builtin.count);
    rule_texts_add(&texts, run->arena, books.own.items, books.own.count);
    size_t width = wrap_width(surroundings_layout(run).width);
    enum exit_status status = EXIT_CLEAN;
    struct buffer out;
    buffer_init(&out, run->arena);
    for (size_t i = 0; i < options->arguments.count; i++) {
        struct view name = view_of(options->arguments.items[i]);
        size_t before = out.size;
        if (before)
            buffer_byte(&out, '\n');
        if (explain(&out, width, &texts, name))
            continue;
        out.size = before;
        const char *near = nearest(run->arena, &texts, name);
        trouble_say(run->arena, "there is no rule and no field %s%s%s%s",
                    escape_short(run->arena, name, 60), near ? "; did you mean " : "",
                    near ? near : "", near ? "?" : "");
        status = EXIT_TROUBLE;
    }
    output_write(run->out, buffer_view(&out));
    return status;
}
