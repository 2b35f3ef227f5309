/* What the library knows of an open text, and the other files that it takes for that: those
 * that are open as the editor has them, all others from the disk, and only out of the folders
 * that the editor works in.
 */
#include "server/internal.h"

#include "server/uri.h"

enum {
    WATCHED_MAX = 64,
    LOOKED_AT = 64 * 1024, /* to see what a text is */
};

/* Who reads for a file; lives as long as what was looked at. */
struct reading {
    struct server *server;
    struct open_file *file; /* NULL: rulebooks only */
    const char *policy;     /* path of the policy that holds for it; NULL: none */
};

static const char *book_of(const struct server_host *host, const char *name)
{
    for (size_t i = 0; i < host->book_count; i++)
        if (strcmp(host->books[i], name) == 0)
            return host->books[i];
    return NULL;
}

/* The innermost folder of the editor in which a path lies. */
static const char *folder_around(const struct server *server, const char *path)
{
    const char *found = NULL;
    for (size_t i = 0; i < server->folders.count; i++) {
        const char *folder = server->folders.items[i];
        if (path_lies_in(path, folder) && (!found || strlen(folder) > strlen(found)))
            found = folder;
    }
    return found;
}

static bool find_bytes(const struct reading *reading, struct other_file *other,
                       const char *folder, const char **why)
{
    const struct server *server = reading->server;
    struct arena *arena = &reading->file->checked;
    const struct open_file *open = open_files_at(&server->files, other->path);
    const char *within = folder_around(server, reading->file->path);
    if (server->folders.count && !within) {
        *why = "the file that names it lies in no folder that the editor works in";
        return false;
    }
    if (open && open->trouble != OPEN_FINE) {
        *why = "what the editor has of it is not known here";
        return false;
    }
    if (open) {
        struct view text = open_file_text(open);
        other->bytes = (struct view){arena_copy(arena, text.data, text.size), text.size};
        return true;
    }
    size_t size = strcmp(folder, "/") == 0 ? 0 : strlen(folder);
    const struct server_file file = {within, folder, other->path + size + 1};
    return server->host->read(server->host->user, arena, &file, &other->bytes, why);
}

/* A file by its path from a folder. */
static int read_file(const struct reading *reading, const char *folder, const char *asked,
                     const void **bytes, size_t *size, const char **why)
{
    struct open_file *file = reading->file;
    struct arena *arena = &file->checked;
    const char *path = folder ? path_below(arena, folder, asked) : NULL;
    if (!path) {
        *why = folder ? "only files beside this one or below it are read"
                      : "the editor has it in no folder of this computer";
        return 0;
    }
    const struct other_file *known = server_other(file, path);
    if (!known) {
        struct other_file other = {.path = path};
        other.was_read = find_bytes(reading, &other, folder, &other.why);
        lines_find(&other.lines, arena, other.bytes);
        other.lines.hides_mark = true;
        VECTOR_ADD(arena, &file->others, other);
        known = &file->others.items[file->others.count - 1];
    }
    *bytes = known->bytes.data;
    *size = known->bytes.size;
    *why = known->why;
    return known->was_read;
}

/* The policy, or a rulebook that it names by its path from there. */
static int read_policy(void *user, const char *path, const void **bytes, size_t *size,
                       const char **why)
{
    const struct reading *reading = user;
    const char *folder = path_folder(&reading->file->checked, reading->policy);
    bool is_it = strcmp(path, reading->policy) == 0;
    return read_file(reading, folder, is_it ? proveout_policy_name() : path, bytes, size, why);
}

/* The nearest policy in the folder of a file or above, within the folder that the editor works
 * in; without such a folder in its own.  NULL: there is none. */
static const char *find_policy(const struct server *server, struct open_file *file)
{
    struct arena *arena = &file->checked;
    const char *folder = file->path ? path_folder(arena, file->path) : NULL;
    const char *within = file->path ? folder_around(server, file->path) : NULL;
    while (folder) {
        const char *path = path_below(arena, folder, proveout_policy_name());
        if (path && (open_files_at(&server->files, path) ||
                     server->host->is_there(server->host->user, path)))
            return path;
        const char *above = path_folder(arena, folder);
        bool is_last =
            !within || !above || strcmp(above, folder) == 0 || strcmp(folder, within) == 0;
        folder = is_last ? NULL : above;
    }
    return NULL;
}

static int read_any(void *user, const char *path, const void **bytes, size_t *size,
                    const char **why)
{
    const struct reading *reading = user;
    const struct server_host *host = reading->server->host;
    const char *book = book_of(host, path);
    struct view text;
    if (!book && reading->file)
        return read_file(reading,
                         reading->file->path
                             ? path_folder(&reading->file->checked, reading->file->path)
                             : NULL,
                         path, bytes, size, why);
    struct arena *arena = reading->file ? &reading->file->checked : &reading->server->scratch;
    if (!book || !host->read_book(host->user, arena, book, &text, why))
        return 0;
    *bytes = text.data;
    *size = text.size;
    return 1;
}

static struct proveout_options options_of(struct arena *arena, struct server *server,
                                          struct open_file *file)
{
    struct reading *reading = ARENA_NEW(arena, struct reading);
    *reading = (struct reading){server, file, file ? find_policy(server, file) : NULL};
    return (struct proveout_options){
        .size = sizeof(struct proveout_options),
        .today = server->host->today(server->host->user),
        .read = read_any,
        .user = reading,
        .books = server->host->books,
        .book_count = server->host->book_count,
        .policy = reading->policy,
        .read_policy = read_policy,
    };
}

struct proveout_options server_options(struct server *server)
{
    return options_of(&server->scratch, server, NULL);
}

/* What a file names can be called anything; so that the editor tells when it changes, its name
 * is made a pattern. */
static void watch_others(struct server *server, const struct open_file *file)
{
    for (size_t i = 0; i < file->others.count; i++) {
        const char *path = file->others.items[i].path;
        struct buffer pattern;
        buffer_init(&pattern, &server->scratch);
        buffer_text(&pattern, "**/");
        for (const char *at = strrchr(path, '/') + 1; *at; at++)
            buffer_byte(&pattern, strchr("*?{}[]!,\\", *at) || (*at & 0x80) ? '?' : *at);
        size_t size = pattern.size;
        bool is_yaml = (size > 5 && !strcmp(pattern.data + size - 5, ".yaml")) ||
                       (size > 4 && !strcmp(pattern.data + size - 4, ".yml"));
        if (!is_yaml && server->watched.count < WATCHED_MAX)
            server_watch(server, buffer_string(&pattern));
    }
}

struct proveout_document *server_look(struct server *server, struct open_file *file,
                                      bool closely)
{
    if (file->document && (!closely || !file->is_quick))
        return file->document;
    open_file_forget(file);
    struct view text = open_file_text(file);
    struct proveout_options options = options_of(&file->checked, server, file);
    options.quick = !closely;
    file->is_quick = !closely;
    lines_find(&file->lines, &file->checked, text);
    file->document = proveout_document(file->name, text.data, text.size, &options);
    watch_others(server, file);
    return file->document;
}

bool server_look_for(struct call *call, struct open_file *file)
{
    if (server_look(call->server, file, false))
        return true;
    return call_refuse(call, ERROR_INTERNAL, "there is not enough memory");
}

bool server_tells_of(const struct open_file *file)
{
    return proveout_document_kind(file->document) != PROVEOUT_IS_NEITHER;
}

bool server_is_own(const struct open_file *file, const char *path)
{
    return strcmp(path, file->name) == 0;
}

const struct other_file *server_other(const struct open_file *file, const char *path)
{
    for (size_t i = 0; i < file->others.count; i++)
        if (strcmp(file->others.items[i].path, path) == 0)
            return &file->others.items[i];
    return NULL;
}

void server_touch(struct server *server, const char *path)
{
    const char *name = path ? strrchr(path, '/') : NULL;
    bool is_policy = name && strcmp(name + 1, proveout_policy_name()) == 0;
    for (size_t i = 0; i < server->files.items.count; i++) {
        struct open_file *file = server->files.items.items[i];
        bool rests = !path || is_policy || server_other(file, path) ||
                     book_of(server->host, path); /* which every answer rests on */
        if (!rests)
            continue;
        open_file_forget(file);
        file->is_due = true;
    }
}

bool server_speaks_of(struct view text)
{
    const struct proveout_options options = {.size = sizeof options, .quick = 1};
    size_t size = text.size < LOOKED_AT ? text.size : LOOKED_AT;
    struct proveout_document *document = proveout_document(NULL, text.data, size, &options);
    enum proveout_document_kind kind = proveout_document_kind(document);
    proveout_document_free(document);
    return kind != PROVEOUT_IS_NEITHER;
}
