/* What the editor tells of its files: opened, changed, closed, and others changed on the disk.
 */
#include "server/internal.h"

#include "server/uri.h"

/* Another text stands there: it is checked again, and whoever rests on it. */
static void renew(struct server *server, struct open_file *file)
{
    file->is_due = true;
    if (file->path)
        server_touch(server, file->path);
}

static struct view text_in(const json_t *object)
{
    const json_t *text = json_in(object, "text");
    return (struct view){json_string_value(text), json_string_length(text)};
}

static void keep_version(struct open_file *file, const json_t *document)
{
    const json_t *version = json_in(document, "version");
    file->has_version = json_is_integer(version);
    file->version = file->has_version ? json_integer_value(version) : 0;
}

bool answer_opened(struct call *call)
{
    struct server *server = call->server;
    const json_t *document = json_object_in(call->params, "textDocument");
    const char *uri = json_text_in(document, "uri");
    if (!uri || !json_is_string(json_in(document, "text")))
        return call_refuse(call, ERROR_BAD_PARAMS, "textDocument wants a uri and a text");
    struct open_file *file = open_files_add(&server->files, uri, text_in(document));
    if (!file) {
        call_refuse(call, ERROR_FAILED,
                    "%d files are open: %s is not checked until others are closed",
                    OPEN_FILES_MAX, shown(call->arena, uri));
        say_show(server, TYPE_ERROR, call->why);
        return false;
    }
    file->mended = call->mended;
    if (file->trouble == OPEN_TOO_LARGE)
        file->was_known = file->was_known || server_speaks_of(text_in(document));
    keep_version(file, document);
    renew(server, file);
    return true;
}

/* Puts one change in; false: it makes no sense. */
static bool change(struct call *call, struct open_file *file, const json_t *change)
{
    struct proveout_span span;
    const json_t *range = json_in(change, "range");
    if (!json_is_string(json_in(change, "text")))
        return call_refuse(call, ERROR_BAD_PARAMS, "a change has a text");
    if (!range || json_is_null(range)) {
        file->mended = false;
        open_file_replace(&call->server->files, file, text_in(change));
        return true;
    }
    if (!call_span(call, file, range, &span))
        return false;
    open_file_change(&call->server->files, file, span, text_in(change));
    return true;
}

bool answer_changed(struct call *call)
{
    struct server *server = call->server;
    const json_t *document = json_object_in(call->params, "textDocument");
    const json_t *changes = json_list_in(call->params, "contentChanges");
    const json_t *version = json_in(document, "version");
    const char *uri = json_text_in(document, "uri");
    struct open_file *file = uri ? open_files_find(&server->files, uri) : NULL;
    if (!file)
        return call_refuse(call, ERROR_BAD_PARAMS, "%s is not open",
                           uri ? uri : "what has no uri");
    if (file->has_version && json_is_integer(version) &&
        json_integer_value(version) < file->version)
        return call_refuse(call, ERROR_BAD_PARAMS,
                           "%s: version %lld is older than %lld, which has come already", uri,
                           (long long)json_integer_value(version), file->version);
    bool good = changes != NULL;
    if (!good)
        call_refuse(call, ERROR_BAD_PARAMS, "it has no contentChanges");
    for (size_t i = 0; i < json_array_size(changes) && good; i++)
        good = change(call, file, json_array_get(changes, i));
    if (!good)
        file->trouble = file->trouble == OPEN_FINE ? OPEN_LOST : file->trouble;
    file->mended |= call->mended;
    keep_version(file, document);
    open_file_forget(file);
    renew(server, file);
    return good;
}

bool answer_closed(struct call *call)
{
    struct server *server = call->server;
    const char *uri = json_text_in(json_in(call->params, "textDocument"), "uri");
    struct open_file *file = uri ? open_files_find(&server->files, uri) : NULL;
    if (!file)
        return call_refuse(call, ERROR_BAD_PARAMS, "%s is not open",
                           uri ? uri : "what has no uri");
    const char *path =
        file->path ? arena_copy(call->arena, file->path, strlen(file->path)) : NULL;
    server_untell(server, file);
    open_files_close(&server->files, file);
    if (path) /* from now on the file on the disk counts */
        server_touch(server, path);
    return true;
}

static void renew_path(struct call *call, const char *uri)
{
    const char *path = uri ? uri_path(call->arena, uri) : NULL;
    if (path)
        server_touch(call->server, path);
}

/* The text is known already; a rulebook that was named at the start is read from the disk. */
bool answer_saved(struct call *call)
{
    renew_path(call, json_text_in(json_in(call->params, "textDocument"), "uri"));
    return true;
}

bool answer_watched(struct call *call)
{
    const json_t *changes = json_list_in(call->params, "changes");
    if (!changes)
        return call_refuse(call, ERROR_BAD_PARAMS, "it has no changes");
    for (size_t i = 0; i < json_array_size(changes); i++)
        renew_path(call, json_text_in(json_array_get(changes, i), "uri"));
    return true;
}

void server_lose_all(struct server *server)
{
    for (size_t i = 0; i < server->files.items.count; i++) {
        struct open_file *file = server->files.items.items[i];
        if (file->trouble == OPEN_FINE)
            file->trouble = OPEN_LOST;
        open_file_forget(file);
        file->is_due = true;
    }
}
