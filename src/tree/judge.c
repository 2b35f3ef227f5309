/* What libyaml objects to, in the words of the people who write machine files.
 *
 * libyaml says what it expected at the place where it noticed; people want to know what they
 * did, where they did it.  A quote that is never closed is noticed at the next quote, a missing
 * bracket in the lines below it, a wrong indentation at a colon.  So each objection is taken
 * for a symptom: the table gives a function that looks at the bytes around it, which decides on
 * place and words.
 */
#include "tree/internal_syntax.h"

enum {
    SIMPLE_KEY_MAX = 1024, /* characters from the start of a key to its colon, in YAML */
};

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
void judge_no_colon(const struct trouble *trouble, struct verdict *out)
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

void judge_directive(const struct trouble *trouble, struct verdict *out)
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
        byte_at(trouble, trouble->at) == '-' && ends_word(byte_at(trouble, trouble->at + 1));
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

void judge(const struct trouble *trouble, const char *problem, const char *context,
           struct verdict *out)
{
    size_t row = 0;
    while (!starts_with(problem, symptoms[row].problem) ||
           !starts_with(context, symptoms[row].context))
        row++;
    symptoms[row].judge(trouble, out);
}
