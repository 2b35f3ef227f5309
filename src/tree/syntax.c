/* What libyaml objects to, in the words of the people who write machine files.
 *
 * libyaml says what it expected at the place where it noticed; people want to know what they
 * did, where they did it.  A quote that is never closed is noticed at the next quote, a missing
 * bracket in the lines below it, a wrong indentation at a colon.  So each objection is taken
 * for a symptom, unless a tab is to blame: the table gives a function that looks at the bytes
 * around it, which decides on place and words.
 */
#include "tree/internal.h"
#include "text/escape.h"

enum {
    SHOWN_CELLS = 28,      /* of a text from the file, in a message */
    SIMPLE_KEY_MAX = 1024, /* characters from the start of a key to its colon, in YAML */
};

/* One objection. */
struct trouble {
    struct reader *reader;
    struct view bytes;
    uint32_t at;      /* where libyaml noticed */
    uint32_t context; /* where that began which it was reading */
};

/* What to say, and where.  `words` may hold one `%s`, for `shown`. */
struct verdict {
    struct span span;
    const char *words, *shown, *put_right;
    struct span related; /* empty: none */
    const char *related_text;
};

/* The byte at a place; a line end at the end of the file. */
static char byte_at(const struct trouble *trouble, uint32_t at)
{
    return at < trouble->bytes.size ? trouble->bytes.data[at] : '\n';
}

/* The bytes of one character, or none at the end of the file. */
static struct span one_character(const struct trouble *trouble, uint32_t at)
{
    struct span span = {at, at};
    if (at < trouble->bytes.size)
        span.end++;
    while (span.end < trouble->bytes.size &&
           ((unsigned char)trouble->bytes.data[span.end] & 0xc0) == 0x80)
        span.end++;
    return span;
}

/* From `at` to the last thing in its line that is neither blank nor comment. */
static struct span rest_of_line(const struct trouble *trouble, uint32_t at)
{
    uint32_t end = at;
    for (uint32_t i = at; i < trouble->bytes.size; i++) {
        char c = trouble->bytes.data[i];
        if (c == '\n' || c == '\r' ||
            (c == '#' && i > at && is_blank(trouble->bytes.data[i - 1])))
            break;
        if (!is_blank(c))
            end = i + 1;
    }
    return end > at ? (struct span){at, end} : one_character(trouble, at);
}

/* The first thing in the line of `at` that is no blank. */
static uint32_t line_content(const struct trouble *trouble, uint32_t at)
{
    uint32_t first = line_around(trouble->bytes, at).start;
    while (is_blank(byte_at(trouble, first)))
        first++;
    return first;
}

static bool is_same_line(const struct trouble *trouble, uint32_t a, uint32_t b)
{
    return line_around(trouble->bytes, a).start == line_around(trouble->bytes, b).start;
}

/* A part of the file as a message may show it. */
static const char *shown(const struct trouble *trouble, struct span span)
{
    return escape_short(trouble->reader->arena, source_slice(trouble->reader->source, span),
                        SHOWN_CELLS);
}

/* The value read last, where it reaches to the line of `at`; NULL where none does. */
static const struct tree_node *value_before(const struct trouble *trouble, uint32_t at)
{
    const struct reader *reader = trouble->reader;
    const struct tree_node *node = NULL;
    if (reader->depth)
        node = reader->frames[reader->depth - 1].last;
    if (!node || node->span.end > at || !is_same_line(trouble, node->span.end, at))
        return NULL;
    return node;
}

/* The innermost bracket that is open, or NULL. */
static const struct tree_node *open_bracket(const struct trouble *trouble)
{
    const struct reader *reader = trouble->reader;
    const struct tree_node *node = NULL;
    if (reader->depth)
        node = reader->frames[reader->depth - 1].node;
    if (!node || node->style != STYLE_FLOW)
        return NULL;
    char c = byte_at(trouble, node->span.start);
    return c == '[' || c == '{' ? node : NULL;
}

static uint32_t column_of_line(const struct trouble *trouble, uint32_t at)
{
    return line_content(trouble, at) - line_around(trouble->bytes, at).start;
}

/* Does the trouble lie where a bracket should have been closed: at the end of the file, or in a
 * line that stands beside or left of the one that opened it, as the next key or item would? */
static bool is_beyond_bracket(const struct trouble *trouble, const struct tree_node *bracket)
{
    if (trouble->at >= trouble->bytes.size)
        return true;
    char c = byte_at(trouble, trouble->at);
    bool is_root = trouble->reader->frames[0].node == bracket;
    bool is_own = c == ',' || c == ']' || c == '}';
    return !is_root && !is_own && !is_same_line(trouble, bracket->span.start, trouble->at) &&
           column_of_line(trouble, trouble->at) <= column_of_line(trouble, bracket->span.start);
}

/* Did the value read last swallow lines because its quote was closed too late?  That is the
 * true cause of whatever follows it on its last line. */
static bool judge_late_quote(const struct trouble *trouble, struct verdict *out)
{
    const struct tree_node *node = value_before(trouble, trouble->at);
    if (!node || node->kind != TREE_TEXT || node->style != STYLE_QUOTED ||
        is_same_line(trouble, node->span.start, node->span.end))
        return false;
    *out = (struct verdict){
        .span = one_character(trouble, node->span.start),
        .words =
            "the quote opened here is closed only lines further on, in the midst of a text",
        .put_right = "close the quote at the end of its own text",
        .related = {node->span.end - 1, node->span.end},
        .related_text = "it is closed here",
    };
    return true;
}

static void judge_open_quote(const struct trouble *trouble, struct verdict *out)
{
    *out = (struct verdict){
        .span = one_character(trouble, trouble->context),
        .words = "the quote opened here is never closed",
        .put_right = "close the quote at the end of its text",
    };
}

static void judge_open_bracket(const struct trouble *trouble, const struct tree_node *bracket,
                               struct verdict *out)
{
    bool is_list = byte_at(trouble, bracket->span.start) == '[';
    *out = (struct verdict){
        .span = one_character(trouble, bracket->span.start),
        .words = is_list ? "the '[' opened here is never closed"
                         : "the '{' opened here is never closed",
        .put_right = is_list ? "close it with ']' behind its last item"
                             : "close it with '}' behind its last value",
    };
}

/* A colon where the value before it is complete. */
static void judge_colon(const struct trouble *trouble, struct verdict *out)
{
    if (judge_late_quote(trouble, out))
        return;
    const struct tree_node *node = value_before(trouble, trouble->at);
    uint32_t first = line_content(trouble, trouble->at);
    if (node && node->span.start < first) {
        *out = (struct verdict){
            .span = {first, trouble->at > first ? trouble->at : first + 1},
            .words = "'%s' is indented further than the keys beside it",
            .put_right = "begin it in the same column as the key above",
            .related = node->span,
            .related_text = "the value above seems to go on into it",
        };
        out->shown = shown(trouble, out->span);
        return;
    }
    *out = (struct verdict){
        .span = one_character(trouble, trouble->at),
        .words = "a second colon follows in this line; its key has a value already",
        .put_right = "put the value in quotes where the colon belongs to it",
    };
}

/* A line that should be a key but has no colon. */
static void judge_no_colon(const struct trouble *trouble, struct verdict *out)
{
    struct span span = rest_of_line(trouble, trouble->context);
    struct view text = source_slice(trouble->reader->source, span);
    const char *colon = memchr(text.data, ':', text.size);
    char first = text.size ? text.data[0] : ' ';
    *out = (struct verdict){.span = span, .shown = shown(trouble, span)};
    if (trouble->at - trouble->context > SIMPLE_KEY_MAX &&
        is_same_line(trouble, trouble->context, trouble->at)) {
        out->words = "no colon follows '%s' within 1024 characters";
    } else if (first == '[' || first == '{') {
        out->words = "'%s' stands where a key is wanted";
        out->put_right = "indent it further than the key that it belongs to";
    } else if (first == ';' || view_starts(text, "//")) {
        out->words = "'%s' is neither a key with a value nor a comment";
        out->put_right = "begin a comment with '#'";
    } else if (colon && first != '"' && first != '\'') {
        uint32_t at = span.start + (uint32_t)(colon - text.data);
        out->span = (struct span){span.start, at + 1};
        out->shown = shown(trouble, out->span);
        out->words = "no blank follows the colon of '%s'";
        out->put_right = "put a blank after the colon";
    } else {
        out->words =
            "no colon follows '%s'; a key and its value are wanted, as in 'name: value'";
    }
}

static void judge_start(const struct trouble *trouble, struct verdict *out)
{
    *out = (struct verdict){
        .span = one_character(trouble, trouble->at),
        .words = "a text cannot begin with '%s' unless it stands in quotes",
        .put_right = "put the text in quotes",
    };
    out->shown = shown(trouble, out->span);
}

/* `&`, `*`, `!` or `%` at the start of what is meant as a text. */
static void judge_mark(const struct trouble *trouble, struct verdict *out)
{
    struct trouble at_start = *trouble;
    at_start.at = trouble->context;
    judge_start(&at_start, out);
    out->span = rest_of_line(trouble, trouble->context);
}

/* A line with `%` where none may be. */
static void judge_directive(const struct trouble *trouble, struct verdict *out)
{
    uint32_t first = line_around(trouble->bytes, trouble->context).start;
    *out = (struct verdict){
        .span = rest_of_line(trouble, first),
        .words = "this line begins with '%%' but is no instruction that the reader knows",
        .put_right = "leave the line out, or put its key in quotes",
    };
}

static void judge_block_text(const struct trouble *trouble, struct verdict *out)
{
    *out = (struct verdict){
        .span = rest_of_line(trouble, trouble->context),
        .words = "after '%s' the text must begin on the next line",
        .put_right = "begin the text on a line of its own, or put it in quotes",
    };
    out->shown = shown(trouble, one_character(trouble, trouble->context));
}

static void judge_escape(const struct trouble *trouble, struct verdict *out)
{
    uint32_t slash = trouble->at;
    while (slash > trouble->context && byte_at(trouble, slash) != '\\')
        slash--;
    struct span letter = one_character(trouble, slash + 1);
    if (letter.end >= trouble->bytes.size) {
        judge_open_quote(trouble, out);
        return;
    }
    *out = (struct verdict){
        .span = {slash, letter.end},
        .words = "'%s' means nothing in double quotes",
        .put_right = "write two backslashes, or put the text in single quotes",
    };
    out->shown = shown(trouble, out->span);
}

static void judge_item(const struct trouble *trouble, struct verdict *out)
{
    if (judge_late_quote(trouble, out))
        return;
    *out = (struct verdict){
        .span = one_character(trouble, trouble->at),
        .words = "a list with '-' must begin on a line of its own",
        .put_right = "begin the list on the next line, or put the text in quotes",
    };
}

static void judge_question(const struct trouble *trouble, struct verdict *out)
{
    *out = (struct verdict){
        .span = one_character(trouble, trouble->at),
        .words = "a text cannot begin with '?' and a blank unless it stands in quotes",
        .put_right = "put the text in quotes",
    };
}

/* A bracket or comma that nothing before it asks for. */
static bool judge_stray(const struct trouble *trouble, struct verdict *out)
{
    char c = byte_at(trouble, trouble->at);
    if (c == '\n' || !strchr("]},", c) || c == '\0')
        return false;
    *out = (struct verdict){.span = one_character(trouble, trouble->at)};
    if (c == ',')
        out->words = "a comma stands here outside any brackets";
    else
        out->words = c == ']' ? "a ']' stands here without its '['"
                              : "a '}' stands here without its '{'";
    return true;
}

/* Something that is neither the next key or item nor the end of what is open. */
static void judge_unexpected(const struct trouble *trouble, struct verdict *out)
{
    if (judge_late_quote(trouble, out) || judge_stray(trouble, out))
        return;
    const struct reader *reader = trouble->reader;
    const struct tree_node *open =
        reader->depth ? reader->frames[reader->depth - 1].node : NULL;
    if (!reader->root && !open) {
        /* Nothing was read yet: only lines with `%` came before, which call for a `---`. */
        *out =
            (struct verdict){.span = rest_of_line(trouble, trouble->at),
                             .words = "a line '---' is wanted here, after the line with '%%'",
                             .put_right = "leave the line with '%' out"};
        return;
    }
    bool is_first = line_content(trouble, trouble->at) == trouble->at;
    bool is_dash =
        byte_at(trouble, trouble->at) == '-' && (is_blank(byte_at(trouble, trouble->at + 1)) ||
                                                 is_break(byte_at(trouble, trouble->at + 1)));
    *out = (struct verdict){.span = rest_of_line(trouble, trouble->at)};
    out->shown = shown(trouble, out->span);
    if (!is_first) {
        out->words = "'%s' follows where the value is complete already";
        out->put_right = "put the whole value in quotes, or leave this out";
    } else if (is_dash && open && open->kind == TREE_MAP) {
        out->words = "a list item stands where a key is wanted";
        out->put_right = "indent the list as it belongs, below its key";
    } else if (!is_dash && open && open->kind == TREE_LIST) {
        out->words = "'%s' stands beside the list's '-'; an item's key is indented further";
        out->put_right = "begin it in the same column as the item's other keys";
    } else {
        out->words = "the indentation of '%s' fits no line above it";
        out->put_right = "begin it in the same column as the keys beside it";
    }
}

/* In brackets, neither a comma nor the end. */
static void judge_in_brackets(const struct trouble *trouble, struct verdict *out)
{
    const struct tree_node *bracket = open_bracket(trouble);
    if (judge_late_quote(trouble, out))
        return;
    if (bracket && is_beyond_bracket(trouble, bracket)) {
        judge_open_bracket(trouble, bracket, out);
        return;
    }
    bool is_list = !bracket || byte_at(trouble, bracket->span.start) == '[';
    *out = (struct verdict){
        .span = one_character(trouble, trouble->at),
        .words = is_list ? "a comma or ']' is wanted before this '%s'"
                         : "a comma or '}' is wanted before this '%s'",
    };
    out->shown = shown(trouble, out->span);
    if (bracket) {
        out->related = one_character(trouble, bracket->span.start);
        out->related_text = "the bracket is opened here";
    }
}

/* No value where there must be one. */
static void judge_no_value(const struct trouble *trouble, struct verdict *out)
{
    const struct tree_node *bracket = open_bracket(trouble);
    if (bracket && is_beyond_bracket(trouble, bracket)) {
        judge_open_bracket(trouble, bracket, out);
        return;
    }
    if (!bracket && judge_stray(trouble, out))
        return;
    *out = (struct verdict){
        .span = one_character(trouble, trouble->at),
        .words = "a value is missing before this '%s'",
    };
    out->shown = shown(trouble, out->span);
}

static void judge_unknown(const struct trouble *trouble, struct verdict *out)
{
    *out = (struct verdict){
        .span = rest_of_line(trouble, trouble->at),
        .words = "'%s' does not fit what stands before it",
    };
    out->shown = shown(trouble, out->span);
}

/* All that libyaml 0.2.5 can say of a text in UTF-8, by how its problem or its context begins;
 * the first row that fits is taken. */
static const struct {
    const char *problem, *context; /* NULL: any */
    void (*judge)(const struct trouble *trouble, struct verdict *out);
} symptoms[] = {
    {"found unexpected end of stream", "while scanning a quoted", judge_open_quote},
    {"found unexpected document indicator", "while scanning a quoted", judge_open_quote},
    {NULL, "while parsing a quoted scalar", judge_escape},
    {NULL, "while scanning a quoted scalar", judge_escape},
    {"could not find expected ':'", NULL, judge_no_colon},
    {"mapping values are not allowed", NULL, judge_colon},
    {"mapping keys are not allowed", NULL, judge_question},
    {"block sequence entries are not allowed", NULL, judge_item},
    {"found character that cannot start", NULL, judge_start},
    {"found unexpected ':'", NULL, judge_in_brackets},
    {NULL, "while scanning a directive", judge_directive},
    {NULL, "while scanning a %", judge_directive},
    {NULL, "while parsing a %", judge_directive},
    {"found duplicate %", NULL, judge_directive},
    {"found incompatible YAML", NULL, judge_directive},
    {"found undefined tag handle", NULL, judge_mark},
    {NULL, "while scanning an anchor", judge_mark},
    {NULL, "while scanning an alias", judge_mark},
    {NULL, "while scanning a tag", judge_mark},
    {NULL, "while parsing a tag", judge_mark},
    {NULL, "while scanning a block scalar", judge_block_text},
    {"did not find expected node content", NULL, judge_no_value},
    {"did not find expected ','", NULL, judge_in_brackets},
    {"did not find expected key", NULL, judge_unexpected},
    {"did not find expected '-'", NULL, judge_unexpected},
    {"did not find expected <document start>", NULL, judge_unexpected},
    {NULL, NULL, judge_unknown},
};

static bool starts_with(const char *text, const char *start)
{
    return !start || (text && strncmp(text, start, strlen(start)) == 0);
}

/* What an objection comes to, by libyaml's words for it (`context` may be NULL). */
static void judge(const struct trouble *trouble, const char *problem, const char *context,
                  struct verdict *out)
{
    size_t row = 0;
    while (!starts_with(problem, symptoms[row].problem) ||
           !starts_with(context, symptoms[row].context))
        row++;
    symptoms[row].judge(trouble, out);
}

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
