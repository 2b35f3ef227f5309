#include "library/document_tell.h"

#include "library/markdown.h"

/* --- fields --- */

/* Rows of the form "word: text"; what goes on below the last has no word of its own. */
static void add_row(struct buffer *out, const struct explain_row *row)
{
    if (*row->what) {
        markdown_item(out);
        buffer_format(out, "*%s*: ", row->what);
    } else {
        buffer_text(out, "; ");
    }
    markdown_text(out, view_of(row->text));
}

void tell_field(struct buffer *out, enum field_id id)
{
    struct explain_row rows[EXPLAIN_ROWS_MAX];
    size_t count = explain_field_rows(out->arena, id, rows);
    markdown_paragraph(out);
    buffer_text(out, "**");
    markdown_code(out, view_of(field_path(out->arena, id)));
    buffer_text(out, "**: ");
    markdown_text(out, view_of(field_table[id].meaning));
    for (size_t i = 0; i < count; i++)
        if (strcmp(rows[i].what, "how") == 0) {
            markdown_paragraph(out);
            markdown_text(out, view_of(rows[i].text));
        }
    buffer_byte(out, '\n');
    for (size_t i = 0; i < count; i++)
        if (strcmp(rows[i].what, "how") != 0)
            add_row(out, &rows[i]);
}

const char *tell_field_short(struct arena *arena, enum field_id id)
{
    struct buffer out;
    buffer_init(&out, arena);
    markdown_text(&out, view_of(field_table[id].meaning));
    if (*field_table[id].measure) {
        markdown_paragraph(&out);
        markdown_text(&out, view_of(field_table[id].measure));
    }
    return buffer_string(&out);
}

/* --- rules --- */

const struct rule_texts *tell_rule_texts(struct proveout_document *document)
{
    struct request *request = &document->question->request;
    if (!document->rules)
        document->rules =
            rule_texts_read(document_arena(document), request->own, request->own_count);
    return document->rules;
}

static void add_told(struct buffer *out, const char *what, struct view text)
{
    if (!text.size)
        return;
    markdown_paragraph(out);
    if (what)
        buffer_format(out, "*%s*: ", what);
    markdown_text(out, text);
}

bool tell_rule(struct proveout_document *document, struct buffer *out, struct view name)
{
    const struct rule_texts *texts = tell_rule_texts(document);
    struct rule_summary rule;
    size_t index = 0;
    while (rule_summary(out->arena, texts, index, &rule) && !view_equal(rule.name, name))
        index++;
    if (!rule_summary(out->arena, texts, index, &rule))
        return false;
    markdown_paragraph(out);
    buffer_text(out, "**");
    markdown_code(out, rule.name);
    buffer_text(out, "**: ");
    markdown_text(out, view_of(rule.level));
    if (rule.hurts.size) {
        buffer_text(out, ", where it fails it harms: ");
        markdown_text(out, rule.hurts);
    }
    add_told(out, NULL, view_of(rule.says));
    add_told(out, "why", view_of(rule.why));
    add_told(out, "to put it right", view_of(rule.put_right));
    return true;
}

void tell_rules(struct proveout_document *document, struct told_rules *out)
{
    struct request *request = &document->question->request;
    struct arena *arena = document_arena(document);
    *out = (struct told_rules){0};
    for (size_t i = 0; i < request->checking.book_count; i++) {
        const struct rulebook *book = request->books[i];
        for (uint32_t k = 0; k < book->rule_count; k++) {
            const struct rule *rule = &book->rules[k];
            VECTOR_ADD(arena, &out->items,
                       (struct told_rule){rule->name, rule->why, rule->level, rule->hurts});
        }
    }
    /* Errors of the reader cannot be waived. */
    for (unsigned i = 0; i < READER_COUNT; i++)
        if (reader_finding_level(i) != LEVEL_ERROR)
            VECTOR_ADD(arena, &out->items,
                       (struct told_rule){reader_finding_name(i), NULL, reader_finding_level(i),
                                          HURTS_WORK});
}
