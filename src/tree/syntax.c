/* Reports what libyaml objects to: first whether a tab is to blame, then what the objection is
 * a symptom of.
 */
#include "tree/internal_syntax.h"

/* Where a tab in the indentation is to blame: at the place itself or earlier in its line.  In
 * brackets tabs are of no account, unless libyaml itself says so. */
static bool find_tab(const struct trouble *trouble, uint32_t *out)
{
    const yaml_parser_t *parser = &trouble->reader->parser;
    if (parser->flow_level > 0 && strncmp(parser->problem, "found a tab", 11) != 0)
        return false;
    struct span line = line_around(trouble->bytes, trouble->at);
    uint32_t first = line_content(trouble, trouble->at);
    for (uint32_t i = line.start; i < first; i++)
        if (trouble->bytes.data[i] == '\t') {
            *out = i;
            return true;
        }
    *out = trouble->at;
    return byte_at(trouble, trouble->at) == '\t';
}

static struct trouble find_trouble(struct reader *reader)
{
    const yaml_parser_t *parser = &reader->parser;
    struct trouble trouble = {.reader = reader, .bytes = reader->source->bytes};
    trouble.at = locate_mark(reader, parser->problem_mark.index);
    trouble.context =
        parser->context ? locate_mark(reader, parser->context_mark.index) : trouble.at;
    return trouble;
}

bool is_harmless_tab(struct reader *reader)
{
    struct trouble trouble = find_trouble(reader);
    uint32_t tab;
    if (!find_tab(&trouble, &tab))
        return false;
    char first = byte_at(&trouble, line_content(&trouble, tab));
    return first == '\n' || first == '\r' || first == '#';
}

static void report(const struct trouble *trouble, const struct verdict *verdict)
{
    struct finding_sink *sink = trouble->reader->sink;
    struct finding *finding =
        sink_report(sink, READER_NOT_YAML, verdict->span, NULL, verdict->words, verdict->shown);
    if (!finding)
        return;
    finding->put_right = verdict->put_right;
    if (verdict->related.end > verdict->related.start)
        finding_relate(sink, finding, verdict->related, NULL, verdict->related_text);
}

uint32_t report_syntax(struct reader *reader)
{
    const yaml_parser_t *parser = &reader->parser;
    struct trouble trouble = find_trouble(reader);
    uint32_t tab;
    if (find_tab(&trouble, &tab)) {
        struct finding *finding =
            sink_report(reader->sink, READER_TAB_INDENT, (struct span){tab, tab + 1}, NULL,
                        "a tab stands in the indentation; only blanks may");
        if (finding)
            finding->put_right =
                "replace the tab by as many blanks as the lines beside it have";
        return tab;
    }
    struct verdict verdict;
    judge(&trouble, parser->problem, parser->context, &verdict);
    report(&trouble, &verdict);
    return trouble.at;
}

void report_no_colon(struct reader *reader, struct span text)
{
    struct trouble trouble = {.reader = reader,
                              .bytes = reader->source->bytes,
                              .at = text.end,
                              .context = text.start};
    struct verdict verdict;
    judge_no_colon(&trouble, &verdict);
    report(&trouble, &verdict);
}

void report_directive(struct reader *reader, uint32_t at)
{
    struct trouble trouble = {
        .reader = reader, .bytes = reader->source->bytes, .at = at, .context = at};
    struct verdict verdict;
    judge_directive(&trouble, &verdict);
    report(&trouble, &verdict);
}
