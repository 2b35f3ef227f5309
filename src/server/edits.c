/* Changes of texts that the library proposes, as edits of the editor: actions, new names,
 * layout. */
#include "server/internal.h"

#include "server/uri.h"

/* --- edits --- */

/* Lines that the editor ends otherwise stay as they are. */
static void write_edit(struct call *call, const struct lines *lines,
                       const struct proveout_edit *edit, const char *annotation)
{
    struct json *json = call->json;
    json_open(json, '{');
    json_key(json, "range");
    write_range(json, lines, edit->span, call->server->client.units);
    json_key(json, "newText"), json_text(json, edit->text);
    if (annotation)
        json_key(json, "annotationId"), json_text(json, annotation);
    json_close(json, '}');
}

static bool is_same_path(const char *a, const char *b)
{
    return a == b || (a && b && strcmp(a, b) == 0);
}

/* Is it the first edit of its file? */
static bool is_first(const struct proveout_edits *edits, size_t index)
{
    for (size_t i = 0; i < index; i++)
        if (is_same_path(edits->list[i].path, edits->list[index].path))
            return false;
    return true;
}

static void write_edits_of(struct call *call, const struct proveout_edits *edits, size_t first,
                           const struct lines *lines, const char *annotation)
{
    json_open(call->json, '[');
    for (size_t i = first; i < edits->count; i++)
        if (is_same_path(edits->list[i].path, edits->list[first].path))
            write_edit(call, lines, &edits->list[i], annotation);
    json_close(call->json, ']');
}

static void write_version(struct json *json, struct arena *arena, const struct open_file *open)
{
    json_key(json, "version");
    if (open && open->has_version)
        json_raw(json, view_of(arena_format(arena, "%lld", open->version)));
    else
        json_nothing(json);
}

/* The edits of one file after another, by URI and version where the editor takes that. */
static void write_files(struct call *call, struct open_file *file,
                        const struct proveout_edits *edits, const char *annotation)
{
    struct json *json = call->json;
    bool with_versions = call->server->client.takes_changes;
    for (size_t i = 0; i < edits->count; i++) {
        const char *asked = edits->list[i].path;
        const struct other_file *other = asked ? server_asked(call->arena, file, asked) : NULL;
        const char *uri = other ? server_uri(call->server, other->path) : file->uri;
        const struct lines *lines = other ? &other->lines : &file->lines;
        if (!is_first(edits, i))
            continue;
        if (!with_versions) {
            json_key(json, uri);
            write_edits_of(call, edits, i, lines, NULL);
            continue;
        }
        json_open(json, '{');
        json_key(json, "textDocument"), json_open(json, '{');
        json_key(json, "uri"), json_text(json, uri);
        write_version(json, call->arena,
                      other ? open_files_at(&call->server->files, other->path) : file);
        json_close(json, '}');
        json_key(json, "edits");
        write_edits_of(call, edits, i, lines, annotation);
        json_close(json, '}');
    }
}

/* Are all files known in which something changes? */
static bool are_known(struct call *call, const struct open_file *file,
                      const struct proveout_edits *edits)
{
    for (size_t i = 0; i < edits->count; i++)
        if (edits->list[i].path && !server_asked(call->arena, file, edits->list[i].path))
            return false;
    return true;
}

/* `asks`: what a person confirms before, or NULL. */
static void write_workspace_edit(struct call *call, struct open_file *file,
                                 const struct proveout_edits *edits, const char *asks)
{
    struct json *json = call->json;
    const struct client *client = &call->server->client;
    const char *annotation = asks && client->takes_annotations ? "asks" : NULL;
    json_open(json, '{');
    json_key(json, client->takes_changes ? "documentChanges" : "changes");
    json_open(json, client->takes_changes ? '[' : '{');
    write_files(call, file, edits, annotation);
    json_close(json, client->takes_changes ? ']' : '}');
    if (annotation) {
        json_key(json, "changeAnnotations"), json_open(json, '{');
        json_key(json, annotation), json_open(json, '{');
        json_key(json, "label"), json_text(json, shown(call->arena, asks));
        json_key(json, "needsConfirmation"), json_bool(json, true);
        json_close(json, '}');
        json_close(json, '}');
    }
    json_close(json, '}');
}

/* --- actions --- */

static const char *kind_of(const struct proveout_action *action)
{
    switch (action->kind) {
    case PROVEOUT_ACTION_FIX:
        return "quickfix";
    case PROVEOUT_ACTION_WAIVE:
        return "refactor.waive";
    case PROVEOUT_ACTION_ADD:
        break;
    }
    return "refactor.add";
}

/* A kind that is wished for takes in those below it. */
static bool is_wished(const json_t *only, const char *kind)
{
    if (!only)
        return true;
    for (size_t i = 0; i < json_array_size(only); i++) {
        const char *wish = json_string_value(json_array_get(only, i));
        size_t size = wish ? strlen(wish) : 0;
        if (wish && strncmp(kind, wish, size) == 0 &&
            (!size || !kind[size] || kind[size] == '.'))
            return true;
    }
    return false;
}

/* The diagnostic of the editor that an action is about. */
static const json_t *find_diagnostic(const json_t *list, const char *fingerprint)
{
    for (size_t i = 0; fingerprint && i < json_array_size(list); i++) {
        const json_t *one = json_array_get(list, i);
        const char *theirs = json_text_in(json_in(one, "data"), "fingerprint");
        if (theirs && strcmp(theirs, fingerprint) == 0)
            return one;
    }
    return NULL;
}

static void write_action(struct call *call, struct open_file *file,
                         const struct proveout_action *action)
{
    struct json *json = call->json;
    const struct proveout_result *result = proveout_document_result(file->document);
    const struct proveout_finding *finding = proveout_finding(result, action->finding);
    const json_t *about =
        find_diagnostic(json_list_in(json_in(call->params, "context"), "diagnostics"),
                        finding ? finding->fingerprint : NULL);
    const char *title = shown(call->arena, action->title);
    if (action->asks)
        title = arena_format(call->arena, "%s (only where the answer is yes: %s)", title,
                             shown(call->arena, action->asks));
    json_open(json, '{');
    json_key(json, "title"), json_text(json, title);
    json_key(json, "kind"), json_text(json, kind_of(action));
    if (about) {
        json_key(json, "diagnostics"), json_open(json, '[');
        message_value(json, about);
        json_close(json, ']');
    }
    if (call->server->client.takes_preferred && action->sure && !action->asks)
        json_key(json, "isPreferred"), json_bool(json, true);
    json_key(json, "edit");
    write_workspace_edit(call, file, &action->edits, action->asks);
    json_close(json, '}');
}

/* To read more of a rule. */
static void write_explanation(struct call *call, const char *rule)
{
    struct json *json = call->json;
    const char *title = arena_format(call->arena, "explain %s", shown(call->arena, rule));
    bool as_object = call->server->client.takes_action_objects;
    json_open(json, '{');
    json_key(json, "title"), json_text(json, title);
    if (as_object) {
        json_key(json, "command"), json_open(json, '{');
        json_key(json, "title"), json_text(json, title);
    }
    json_key(json, "command"), json_text(json, "proveout.explain");
    json_key(json, "arguments"), json_open(json, '[');
    json_text(json, rule);
    json_close(json, ']');
    if (as_object)
        json_close(json, '}');
    json_close(json, '}');
}

static bool touches(const struct open_file *file, const struct proveout_finding *finding,
                    struct proveout_span span)
{
    const struct proveout_place *at = &finding->at;
    bool is_told = (finding->outcome == PROVEOUT_FAILED && !finding->implied_by) ||
                   finding->outcome == PROVEOUT_WAIVED;
    return is_told && at->path && server_is_own(file, at->path) && at->offset <= span.end &&
           span.start <= at->offset + at->length;
}

static void write_explanations(struct call *call, const struct open_file *file,
                               struct proveout_span span)
{
    const struct proveout_result *result = proveout_document_result(file->document);
    for (size_t i = 0; i < proveout_count(result); i++) {
        const struct proveout_finding *finding = proveout_finding(result, i);
        bool is_new = touches(file, finding, span);
        for (size_t k = 0; k < i && is_new; k++)
            is_new = !touches(file, proveout_finding(result, k), span) ||
                     strcmp(proveout_finding(result, k)->rule, finding->rule) != 0;
        if (is_new)
            write_explanation(call, finding->rule);
    }
}

bool answer_actions(struct call *call)
{
    struct open_file *file;
    struct proveout_span span;
    size_t count = 0;
    const json_t *only = json_list_in(json_in(call->params, "context"), "only");
    if (!call_file(call, &file) ||
        !call_span(call, file, json_in(call->params, "range"), &span) ||
        !server_look_for(call, file))
        return false;
    /* An editor that takes commands only has no way to put an edit in. */
    bool takes = server_tells_of(file) && call->server->client.takes_action_objects;
    const struct proveout_action *list =
        takes ? proveout_actions(file->document, span, &count) : NULL;
    json_open(call->json, '[');
    for (size_t i = 0; i < count; i++)
        if (is_wished(only, kind_of(&list[i])) && are_known(call, file, &list[i].edits))
            write_action(call, file, &list[i]);
    if (!only && server_tells_of(file))
        write_explanations(call, file, span);
    json_close(call->json, ']');
    return true;
}

/* --- names --- */

bool answer_rename_at(struct call *call)
{
    struct open_file *file;
    size_t offset;
    if (!call_place(call, &file, &offset) || !server_look_for(call, file))
        return false;
    const struct proveout_span *span =
        server_tells_of(file) ? proveout_rename_at(file->document, offset) : NULL;
    if (span)
        write_range(call->json, &file->lines, *span, call->server->client.units);
    return true;
}

bool answer_rename(struct call *call)
{
    struct open_file *file;
    size_t offset;
    const char *to = json_text_in(call->params, "newName"), *trouble = NULL;
    if (!to)
        return call_refuse(call, ERROR_BAD_PARAMS, "it has no newName");
    if (!call_place(call, &file, &offset) || !server_look_for(call, file))
        return false;
    const struct proveout_edits *edits =
        server_tells_of(file) ? proveout_rename(file->document, offset, to, &trouble) : NULL;
    if (!edits)
        return call_refuse(call, ERROR_FAILED, "%s",
                           trouble ? shown(call->arena, trouble)
                                   : "nothing here can be given another name");
    if (!are_known(call, file, edits))
        return call_refuse(call, ERROR_FAILED,
                           "it is written in another file too, which cannot be read");
    write_workspace_edit(call, file, edits, NULL);
    return true;
}

/* --- layout --- */

static void write_layout(struct call *call, const struct open_file *file,
                         struct proveout_span within)
{
    const struct proveout_edits *edits = proveout_format(file->document, within);
    for (size_t i = 0; edits && i < edits->count; i++)
        write_edit(call, &file->lines, &edits->list[i], NULL);
}

/* The whole lines that a change touched. */
static struct proveout_span whole_lines(const struct open_file *file, struct proveout_span span)
{
    struct position start = lines_position(&file->lines, span.start, UNITS_UTF8);
    struct position end = lines_position(&file->lines, span.end, UNITS_UTF8);
    return (struct proveout_span){file->lines.starts[start.line],
                                  lines_end(&file->lines, end.line)};
}

/* Of a whole file only those lines are laid out that were touched since it was opened: others
 * would show up as changes in the review of whoever only moved a number. */
bool answer_format(struct call *call)
{
    struct open_file *file;
    if (!call_file(call, &file) || !server_look_for(call, file))
        return false;
    json_open(call->json, '[');
    for (size_t i = 0; i < file->touched_count && server_tells_of(file);) {
        struct proveout_span lines = whole_lines(file, file->touched[i++]);
        while (i < file->touched_count && file->touched[i].start <= lines.end)
            lines.end = whole_lines(file, file->touched[i++]).end;
        write_layout(call, file, lines);
    }
    json_close(call->json, ']');
    return true;
}

bool answer_format_range(struct call *call)
{
    struct open_file *file;
    struct proveout_span span;
    if (!call_file(call, &file) ||
        !call_span(call, file, json_in(call->params, "range"), &span) ||
        !server_look_for(call, file))
        return false;
    json_open(call->json, '[');
    if (server_tells_of(file))
        write_layout(call, file, whole_lines(file, span));
    json_close(call->json, ']');
    return true;
}
