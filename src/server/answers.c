/* Questions about a place or a text: what the library tells, in the forms of the protocol. */
#include "server/internal.h"

static bool look_at_place(struct call *call, struct open_file **file, size_t *offset)
{
    return call_place(call, file, offset) && server_look_for(call, *file);
}

static void write_markup(struct json *json, const char *key, const char *text, bool markdown)
{
    json_key(json, key), json_open(json, '{');
    json_key(json, "kind"), json_text(json, markdown ? "markdown" : "plaintext");
    json_key(json, "value"), json_text(json, text);
    json_close(json, '}');
}

/* --- hover --- */

static bool lies_at(const struct open_file *file, const struct proveout_finding *finding,
                    size_t offset)
{
    const struct proveout_place *at = &finding->at;
    return finding->outcome == PROVEOUT_FAILED && !finding->implied_by && at->path &&
           server_is_own(file, at->path) && at->offset <= offset &&
           offset <= at->offset + at->length;
}

/* What is found at the place, with its reason: one paragraph a rule. */
static bool add_findings(struct buffer *out, const struct open_file *file, size_t offset,
                         struct proveout_span *span)
{
    const struct proveout_result *result = proveout_document_result(file->document);
    const char *rule = "";
    for (size_t i = 0; i < proveout_count(result); i++) {
        const struct proveout_finding *finding = proveout_finding(result, i);
        if (!lies_at(file, finding, offset) || strcmp(rule, finding->rule) == 0)
            continue;
        rule = finding->rule;
        *span =
            (struct proveout_span){finding->at.offset, finding->at.offset + finding->at.length};
        if (out->size)
            buffer_text(out, "\n\n---\n\n");
        buffer_text(out, "**");
        add_markdown(out, rule);
        buffer_text(out, "**: ");
        add_markdown(out, finding->message);
        if (finding->why) {
            buffer_text(out, "\n\nWhy: ");
            add_markdown(out, finding->why);
        }
        if (finding->put_right) {
            buffer_text(out, "\n\nPut right: ");
            add_markdown(out, finding->put_right);
        }
    }
    return out->size > 0;
}

bool answer_hover(struct call *call)
{
    struct open_file *file;
    struct json *json = call->json;
    struct buffer text;
    size_t offset;
    if (!look_at_place(call, &file, &offset))
        return false;
    if (!server_tells_of(file))
        return true;
    struct proveout_span span = {offset, offset};
    buffer_init(&text, call->arena);
    bool any = add_findings(&text, file, offset, &span);
    const struct proveout_hover *hover = proveout_hover(file->document, offset);
    if (!any && !hover)
        return true;
    if (hover) {
        if (any)
            buffer_text(&text, "\n\n---\n\n");
        buffer_text(&text, hover->text);
        span = hover->span;
    }
    json_open(json, '{');
    write_markup(json, "contents", buffer_string(&text),
                 call->server->client.takes_markdown_hover);
    json_key(json, "range");
    write_range(json, &file->lines, span, call->server->client.units);
    json_close(json, '}');
    return true;
}

/* --- completion --- */

static size_t kind_of_word(enum proveout_word word)
{
    static const unsigned char kinds[] = {
        [PROVEOUT_WORD_KEY] = 10,     /* property */
        [PROVEOUT_WORD_CHOICE] = 20,  /* member of an enumeration */
        [PROVEOUT_WORD_UNIT] = 11,    /* unit */
        [PROVEOUT_WORD_NAME] = 6,     /* variable */
        [PROVEOUT_WORD_CUTTER] = 12,  /* value */
        [PROVEOUT_WORD_RULE] = 18,    /* reference */
        [PROVEOUT_WORD_FUNCTION] = 3, /* function */
    };
    return kinds[word];
}

static void write_completion(struct call *call, const struct open_file *file,
                             const struct proveout_completion *one, size_t rank)
{
    struct json *json = call->json;
    json_open(json, '{');
    json_key(json, "label"), json_text(json, one->label);
    json_key(json, "kind"), json_count(json, kind_of_word(one->word));
    if (one->detail)
        json_key(json, "detail"), json_text(json, one->detail);
    if (one->text)
        write_markup(json, "documentation", one->text,
                     call->server->client.takes_markdown_completion);
    json_key(json, "sortText"), json_text(json, arena_format(call->arena, "%06zu", rank));
    json_key(json, "filterText"), json_text(json, one->label);
    json_key(json, "textEdit"), json_open(json, '{');
    json_key(json, "range");
    write_range(json, &file->lines, one->span, call->server->client.units);
    json_key(json, "newText"), json_text(json, one->insert);
    json_close(json, '}');
    json_close(json, '}');
}

bool answer_completion(struct call *call)
{
    struct open_file *file;
    size_t offset, count = 0;
    if (!look_at_place(call, &file, &offset))
        return false;
    const struct proveout_completion *list =
        server_tells_of(file) ? proveout_completions(file->document, offset, &count) : NULL;
    json_open(call->json, '{');
    json_key(call->json, "isIncomplete"), json_bool(call->json, false);
    json_key(call->json, "items"), json_open(call->json, '[');
    for (size_t i = 0; i < count; i++)
        write_completion(call, file, &list[i], i);
    json_close(call->json, ']');
    json_close(call->json, '}');
    return true;
}

/* --- definition and references --- */

static bool write_targets(struct call *call, struct open_file *file,
                          const struct proveout_target *list, size_t count)
{
    json_open(call->json, '[');
    for (size_t i = 0; i < count; i++) {
        /* One in a file that is not known here is left out: there would be no lines to name. */
        if (list[i].path && !server_asked(call->arena, file, list[i].path))
            continue;
        json_open(call->json, '{');
        write_location(call, file, list[i].path, list[i].name);
        json_close(call->json, '}');
    }
    json_close(call->json, ']');
    return true;
}

bool answer_definition(struct call *call)
{
    struct open_file *file;
    size_t offset, count = 0;
    if (!look_at_place(call, &file, &offset))
        return false;
    const struct proveout_target *list =
        server_tells_of(file) ? proveout_definition(file->document, offset, &count) : NULL;
    return write_targets(call, file, list, count);
}

bool answer_references(struct call *call)
{
    struct open_file *file;
    size_t offset, count = 0;
    bool with = json_is_true_in(json_in(call->params, "context"), "includeDeclaration");
    if (!look_at_place(call, &file, &offset))
        return false;
    const struct proveout_target *list =
        server_tells_of(file) ? proveout_references(file->document, offset, with, &count)
                              : NULL;
    return write_targets(call, file, list, count);
}

/* --- the file as a whole --- */

static bool look_at_file(struct call *call, struct open_file **file)
{
    return call_file(call, file) && server_look_for(call, *file);
}

static size_t kind_of_symbol(enum proveout_symbol_kind kind)
{
    static const unsigned char kinds[] = {
        [PROVEOUT_SYMBOL_SECTION] = 2,     /* module */
        [PROVEOUT_SYMBOL_FIELD] = 7,       /* property */
        [PROVEOUT_SYMBOL_AXIS] = 19,       /* object */
        [PROVEOUT_SYMBOL_INPUT] = 13,      /* variable */
        [PROVEOUT_SYMBOL_SETTER] = 19,     /* object */
        [PROVEOUT_SYMBOL_CUTTER] = 23,     /* struct */
        [PROVEOUT_SYMBOL_THING] = 19,      /* object */
        [PROVEOUT_SYMBOL_AGREEMENT] = 20,  /* key */
        [PROVEOUT_SYMBOL_WAIVER] = 24,     /* event */
        [PROVEOUT_SYMBOL_RULE] = 12,       /* function */
        [PROVEOUT_SYMBOL_DEFINITION] = 14, /* constant */
        [PROVEOUT_SYMBOL_EXAMPLE] = 22,    /* member of an enumeration */
    };
    return kinds[kind];
}

static void write_symbol_head(struct json *json, const struct proveout_symbol *symbol)
{
    json_open(json, '{');
    json_key(json, "name"), json_text(json, *symbol->name ? symbol->name : " ");
    json_key(json, "kind"), json_count(json, kind_of_symbol(symbol->kind));
}

/* One within the other, as they come. */
static void write_symbol_tree(struct call *call, const struct open_file *file,
                              const struct proveout_symbol *list, size_t count)
{
    struct json *json = call->json;
    enum line_units units = call->server->client.units;
    size_t depth = 0;
    for (size_t i = 0; i < count; i++) {
        /* deeper by one at most, whatever it says */
        size_t wanted = list[i].depth < depth ? list[i].depth : depth;
        for (; depth > wanted; depth--)
            json_close(json, ']'), json_close(json, '}');
        write_symbol_head(json, &list[i]);
        if (list[i].detail)
            json_key(json, "detail"), json_text(json, list[i].detail);
        json_key(json, "range"), write_range(json, &file->lines, list[i].span, units);
        json_key(json, "selectionRange");
        write_range(json, &file->lines, list[i].selection, units);
        json_key(json, "children"), json_open(json, '[');
        depth++;
    }
    for (; depth; depth--)
        json_close(json, ']'), json_close(json, '}');
}

static void write_symbol_list(struct call *call, struct open_file *file,
                              const struct proveout_symbol *list, size_t count)
{
    struct json *json = call->json;
    for (size_t i = 0; i < count; i++) {
        size_t above = i;
        while (above > 0 && list[above].depth >= list[i].depth)
            above--;
        write_symbol_head(json, &list[i]);
        if (list[above].depth < list[i].depth)
            json_key(json, "containerName"), json_text(json, list[above].name);
        json_key(json, "location"), json_open(json, '{');
        write_location(call, file, NULL, list[i].span);
        json_close(json, '}');
        json_close(json, '}');
    }
}

bool answer_symbols(struct call *call)
{
    struct open_file *file;
    size_t count = 0;
    if (!look_at_file(call, &file))
        return false;
    const struct proveout_symbol *list =
        server_tells_of(file) ? proveout_symbols(file->document, &count) : NULL;
    json_open(call->json, '[');
    if (call->server->client.takes_symbol_trees)
        write_symbol_tree(call, file, list, count);
    else
        write_symbol_list(call, file, list, count);
    json_close(call->json, ']');
    return true;
}

bool answer_folds(struct call *call)
{
    struct open_file *file;
    size_t count = 0;
    struct json *json = call->json;
    if (!look_at_file(call, &file))
        return false;
    const struct proveout_span *list =
        server_tells_of(file) ? proveout_folds(file->document, &count) : NULL;
    json_open(json, '[');
    for (size_t i = 0; i < count; i++) {
        struct position start = lines_position(&file->lines, list[i].start, UNITS_UTF16);
        struct position end = lines_position(&file->lines, list[i].end, UNITS_UTF16);
        /* One that ends where a line begins does not take in that line. */
        size_t last = end.line - (end.character == 0 && end.line > start.line);
        if (last <= start.line)
            continue;
        json_open(json, '{');
        json_key(json, "startLine"), json_count(json, start.line);
        json_key(json, "endLine"), json_count(json, last);
        json_close(json, '}');
    }
    json_close(json, ']');
    return true;
}

bool answer_hints(struct call *call)
{
    struct open_file *file;
    struct proveout_span within;
    size_t count = 0;
    struct json *json = call->json;
    if (!look_at_file(call, &file) ||
        !call_span(call, file, json_in(call->params, "range"), &within))
        return false;
    const struct proveout_hint *list =
        server_tells_of(file) ? proveout_hints(file->document, within, &count) : NULL;
    json_open(json, '[');
    for (size_t i = 0; i < count; i++) {
        json_open(json, '{');
        write_position(
            json, "position",
            lines_position(&file->lines, list[i].offset, call->server->client.units));
        json_key(json, "label"), json_text(json, list[i].text);
        json_key(json, "paddingLeft"), json_bool(json, true);
        if (list[i].more)
            write_markup(json, "tooltip", list[i].more, true);
        json_close(json, '}');
    }
    json_close(json, ']');
    return true;
}
