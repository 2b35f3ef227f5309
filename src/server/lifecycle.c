/* The beginning and the end: what both sides can do, and in which folders they work. */
#include "server/internal.h"

#include <proveout/version.h>

#include <stdint.h>

#include "server/uri.h"
#include "text/path.h"

/* --- what the editor takes --- */

static const json_t *within(const json_t *object, const char *const *keys)
{
    for (; *keys && object; keys++)
        object = json_in(object, *keys);
    return object;
}

#define WITHIN(object, ...) within((object), (const char *const[]){__VA_ARGS__, NULL})

/* A list of formats, the best first, of which an editor that names none takes plain text. */
static bool prefers_markdown(const json_t *formats)
{
    const char *first = json_string_value(json_array_get(formats, 0));
    return first && strcmp(first, "markdown") == 0;
}

/* The first that the editor names and we know. */
static enum line_units choose_units(const json_t *offered)
{
    static const char *const names[] = {"utf-16", "utf-8", "utf-32"};
    for (size_t i = 0; i < json_array_size(offered); i++) {
        const char *name = json_string_value(json_array_get(offered, i));
        for (size_t k = 0; name && k < sizeof names / sizeof *names; k++)
            if (strcmp(names[k], name) == 0)
                return (enum line_units)k;
    }
    return UNITS_UTF16;
}

static void read_capabilities(struct client *client, const json_t *all)
{
    const json_t *text = json_in(all, "textDocument"), *work = json_in(all, "workspace");
    const json_t *diagnostics = json_in(text, "publishDiagnostics");
    const json_t *edits = json_in(work, "workspaceEdit");
    client->units = choose_units(WITHIN(all, "general", "positionEncodings"));
    client->takes_changes = json_is_true_in(edits, "documentChanges");
    client->takes_annotations =
        client->takes_changes && json_is_object(json_in(edits, "changeAnnotationSupport"));
    client->takes_related = json_is_true_in(diagnostics, "relatedInformation");
    client->takes_action_objects =
        json_is_object(WITHIN(text, "codeAction", "codeActionLiteralSupport"));
    client->takes_preferred =
        json_is_true_in(json_in(text, "codeAction"), "isPreferredSupport");
    client->takes_prepared_renames = json_is_true_in(json_in(text, "rename"), "prepareSupport");
    client->takes_symbol_trees =
        json_is_true_in(json_in(text, "documentSymbol"), "hierarchicalDocumentSymbolSupport");
    client->takes_markdown_hover = prefers_markdown(WITHIN(text, "hover", "contentFormat"));
    client->takes_markdown_completion =
        prefers_markdown(WITHIN(text, "completion", "completionItem", "documentationFormat"));
    client->takes_watchers =
        json_is_true_in(json_in(work, "didChangeWatchedFiles"), "dynamicRegistration");
    /* One who asks for them and is told besides would show all of it twice. */
    bool asks = json_is_object(json_in(text, "diagnostic"));
    client->pulls_diagnostics = asks && !json_is_object(diagnostics);
    client->takes_diagnostics = !client->pulls_diagnostics;
}

/* --- folders --- */

static void add_folder(struct server *server, const char *path)
{
    if (path)
        VECTOR_ADD(&server->folders_arena, &server->folders,
                   arena_copy(&server->folders_arena, path, strlen(path)));
}

static void add_folders(struct server *server, const json_t *list)
{
    for (size_t i = 0; i < json_array_size(list); i++) {
        const char *uri = json_text_in(json_array_get(list, i), "uri");
        if (uri)
            add_folder(server, uri_path(&server->scratch, uri));
    }
}

static void read_folders(struct server *server, const json_t *params)
{
    const char *uri = json_text_in(params, "rootUri"), *path = json_text_in(params, "rootPath");
    if (json_array_size(json_in(params, "workspaceFolders")))
        add_folders(server, json_in(params, "workspaceFolders"));
    else if (uri)
        add_folder(server, uri_path(&server->scratch, uri));
    else if (path && path_has_root(view_of(path)))
        add_folder(server, uri_path(&server->scratch, uri_of(&server->scratch, path)));
}

static void remove_folder(struct server *server, const char *path)
{
    for (size_t i = 0; path && i < server->folders.count; i++)
        if (strcmp(server->folders.items[i], path) == 0)
            server->folders.items[i--] = server->folders.items[--server->folders.count];
}

bool answer_folders_changed(struct call *call)
{
    struct server *server = call->server;
    const json_t *event = json_object_in(call->params, "event");
    const json_t *removed = json_list_in(event, "removed");
    if (!event)
        return call_refuse(call, ERROR_BAD_PARAMS, "it has no event");
    for (size_t i = 0; i < json_array_size(removed); i++) {
        const char *uri = json_text_in(json_array_get(removed, i), "uri");
        remove_folder(server, uri ? uri_path(call->arena, uri) : NULL);
    }
    add_folders(server, json_list_in(event, "added"));
    server_touch(server, NULL);
    return true;
}

/* --- what is done here --- */

static void write_sync(struct json *json)
{
    json_key(json, "textDocumentSync"), json_open(json, '{');
    json_key(json, "openClose"), json_bool(json, true);
    json_key(json, "change"), json_count(json, 2); /* by parts, or as a whole */
    json_key(json, "save"), json_bool(json, true);
    json_close(json, '}');
}

static void write_texts(struct json *json, const char *key, const char *const *texts)
{
    json_key(json, key), json_open(json, '[');
    for (; *texts; texts++)
        json_text(json, *texts);
    json_close(json, ']');
}

static void write_simple(struct json *json)
{
    static const char *const names[] = {
        "hoverProvider",
        "definitionProvider",
        "referencesProvider",
        "documentSymbolProvider",
        "foldingRangeProvider",
        "inlayHintProvider",
        "documentFormattingProvider",
        "documentRangeFormattingProvider",
    };
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        json_key(json, names[i]), json_bool(json, true);
}

static void write_capabilities(struct json *json, const struct client *client)
{
    static const char *const units[] = {"utf-16", "utf-8", "utf-32"};
    static const char *const triggers[] = {" ", ":", "-", "[", "{", ",", ".", "\"", "=", NULL};
    static const char *const kinds[] = {"quickfix", "refactor", NULL};
    static const char *const commands[] = {"proveout.explain", NULL};
    json_key(json, "positionEncoding"), json_text(json, units[client->units]);
    write_sync(json);
    write_simple(json);
    json_key(json, "completionProvider"), json_open(json, '{');
    write_texts(json, "triggerCharacters", triggers);
    json_close(json, '}');
    json_key(json, "codeActionProvider"), json_open(json, '{');
    write_texts(json, "codeActionKinds", kinds);
    json_close(json, '}');
    json_key(json, "renameProvider");
    if (client->takes_prepared_renames)
        json_open(json, '{'), json_key(json, "prepareProvider"), json_bool(json, true),
            json_close(json, '}');
    else
        json_bool(json, true);
    json_key(json, "executeCommandProvider"), json_open(json, '{');
    write_texts(json, "commands", commands);
    json_close(json, '}');
    if (client->pulls_diagnostics) {
        json_key(json, "diagnosticProvider"), json_open(json, '{');
        json_key(json, "interFileDependencies"), json_bool(json, true);
        json_key(json, "workspaceDiagnostics"), json_bool(json, false);
        json_close(json, '}');
    }
    json_key(json, "workspace"), json_open(json, '{');
    json_key(json, "workspaceFolders"), json_open(json, '{');
    json_key(json, "supported"), json_bool(json, true);
    json_key(json, "changeNotifications"), json_bool(json, true);
    json_close(json, '}');
    json_close(json, '}');
}

bool answer_initialize(struct call *call)
{
    struct server *server = call->server;
    struct json *json = call->json;
    size_t process;
    if (!json_is_object(call->params))
        return call_refuse(call, ERROR_BAD_PARAMS, "it has no params");
    read_capabilities(&server->client, json_in(call->params, "capabilities"));
    read_folders(server, call->params);
    if (json_count_in(call->params, "processId", &process) && process <= INT32_MAX)
        server->client.process = (long)process;
    server->stage = STAGE_RUNNING;
    json_open(json, '{');
    json_key(json, "capabilities"), json_open(json, '{');
    write_capabilities(json, &server->client);
    json_close(json, '}');
    json_key(json, "serverInfo"), json_open(json, '{');
    json_key(json, "name"), json_text(json, "proveout");
    json_key(json, "version"), json_text(json, PROVEOUT_VERSION);
    json_close(json, '}');
    json_close(json, '}');
    return true;
}

bool answer_initialized(struct call *call)
{
    server_watch(call->server, "**/*.yaml");
    server_watch(call->server, "**/*.yml");
    return true;
}

bool answer_shutdown(struct call *call)
{
    call->server->stage = STAGE_SHUT;
    call->server->was_shut = true;
    return true;
}

bool answer_exit(struct call *call)
{
    call->server->stage = STAGE_OVER;
    return true;
}
