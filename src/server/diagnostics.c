/* What was found, as diagnostics.
 *
 * One a rule and place, as `check` tells it: the worst of those there, the others named.  What
 * is waived is a hint with its reason; what was not checked is told once for the file.  Of a
 * text that could not be looked at that is said in their place: no list of none ever stands for
 * "not looked".
 */
#include "server/internal.h"

#include "server/uri.h"

enum {
    OTHERS_MAX = 12,  /* named; the rest is counted */
    RELATED_MAX = 12, /* further places */
    WANTED_MAX = 3,   /* reasons why something was not checked */
};

enum severity { SEVERITY_ERROR = 1, SEVERITY_WARNING, SEVERITY_INFORMATION, SEVERITY_HINT };

/* The diagnostics of one file, being written. */
struct telling {
    struct server *server;
    struct arena *arena;
    struct json *json;
    struct open_file *file;
};

/* --- where --- */

/* The first line that says anything: for what is about the file as a whole. */
static struct proveout_span first_line(const struct open_file *file)
{
    struct view text = open_file_text(file);
    size_t line = 0;
    for (; line + 1 < file->lines.count; line++) {
        size_t start = file->lines.starts[line], end = lines_end(&file->lines, line);
        struct view one = view_trim((struct view){text.data + start, end - start});
        if (one.size && one.data[0] != '#' && one.data[0] != '%' && !view_is(one, "---"))
            break;
    }
    return (struct proveout_span){file->lines.starts[line], lines_end(&file->lines, line)};
}

static struct proveout_span span_of(const struct telling *to, const struct proveout_place *at)
{
    if (!at->path || !server_is_own(to->file, at->path))
        return first_line(to->file);
    return (struct proveout_span){at->offset, at->offset + at->length};
}

static bool is_same_place(const struct proveout_place *a, const struct proveout_place *b)
{
    return a->offset == b->offset && a->length == b->length && !a->path == !b->path &&
           (!a->path || strcmp(a->path, b->path) == 0);
}

/* Is it told at all, with others of its rule? */
static bool is_told(const struct proveout_finding *finding)
{
    return (finding->outcome == PROVEOUT_FAILED && !finding->implied_by) ||
           finding->outcome == PROVEOUT_WAIVED;
}

static bool is_alike(const struct proveout_finding *a, const struct proveout_finding *b)
{
    return is_told(b) && a->outcome == b->outcome && strcmp(a->rule, b->rule) == 0;
}

/* --- in words --- */

/* Ends a sentence that was begun. */
static void add_stop(struct buffer *out)
{
    if (out->size && !strchr(".?", out->data[out->size - 1]))
        buffer_byte(out, '.');
}

static void add_others(struct buffer *out, const struct proveout_finding *const *group,
                       size_t count, const struct proveout_finding *worst)
{
    size_t told = 0, left_out = 0;
    for (size_t i = 0; i < count; i++) {
        const struct proveout_finding *one = group[i];
        if (one == worst || !one->subject)
            continue;
        if (told == OTHERS_MAX) {
            left_out++;
            continue;
        }
        buffer_text(out, told++ ? "; " : " Also ");
        buffer_text(out, shown(out->arena, one->subject));
        if (one->has_margin)
            buffer_format(out, " (%s)", shown(out->arena, one->margin_text));
    }
    if (left_out)
        buffer_format(out, "; and %zu more", left_out);
    add_stop(out);
}

static size_t count_implied(const struct proveout_result *result,
                            const struct proveout_finding *by)
{
    size_t count = 0;
    for (size_t i = 0; i < proveout_count(result); i++) {
        const char *rule = proveout_finding(result, i)->implied_by;
        count += rule && strcmp(rule, by->rule) == 0;
    }
    return count;
}

static const char *words_of(const struct telling *to,
                            const struct proveout_finding *const *group, size_t count,
                            const struct proveout_finding *worst)
{
    struct buffer out;
    buffer_init(&out, to->arena);
    const struct proveout_place *at = &worst->at;
    if (at->path && !server_is_own(to->file, at->path))
        buffer_format(&out, "%s:%u: ", shown(to->arena, uri_name(to->arena, at->path)),
                      at->line);
    if (worst->outcome == PROVEOUT_WAIVED)
        buffer_text(&out, "waived: ");
    buffer_text(&out, shown(to->arena, worst->message));
    add_stop(&out);
    add_others(&out, group, count, worst);
    if (worst->outcome == PROVEOUT_WAIVED) {
        buffer_format(&out, "\nReason: %s",
                      worst->waived_reason ? shown(to->arena, worst->waived_reason)
                                           : "none is given");
        if (worst->waived_by)
            buffer_format(&out, " (%s)", shown(to->arena, worst->waived_by));
        return buffer_string(&out);
    }
    if (worst->hurts == PROVEOUT_PERSON)
        buffer_text(&out, " This can hurt a person.");
    /* While somebody types that is not looked for. */
    size_t implied = to->file->is_quick
                         ? 0
                         : count_implied(proveout_document_result(to->file->document), worst);
    if (implied)
        buffer_format(&out, " This is also the cause of %zu further finding%s.", implied,
                      implied == 1 ? "" : "s");
    if (worst->put_right)
        buffer_format(&out, "\nPut right: %s", shown(to->arena, worst->put_right));
    return buffer_string(&out);
}

/* --- one diagnostic --- */

static void open_diagnostic(struct telling *to, struct proveout_span span,
                            enum severity severity, const char *message)
{
    struct json *json = to->json;
    json_open(json, '{');
    json_key(json, "range");
    write_range(json, &to->file->lines, span, to->server->client.units);
    json_key(json, "severity"), json_count(json, severity);
    json_key(json, "source"), json_text(json, "proveout");
    json_key(json, "message"), json_text(json, message);
}

/* About the file as a whole. */
static void add_remark(struct telling *to, enum severity severity, const char *message)
{
    open_diagnostic(to, first_line(to->file), severity, message);
    json_close(to->json, '}');
}

/* A further place, where it can be found. */
static void add_related(struct telling *to, const struct proveout_place *place)
{
    struct json *json = to->json;
    bool is_own = !place->path || server_is_own(to->file, place->path);
    const struct other_file *other = is_own ? NULL : server_other(to->file, place->path);
    if (!place->line || (!is_own && !other))
        return;
    json_open(json, '{');
    json_key(json, "location"), json_open(json, '{');
    json_key(json, "uri");
    json_text(json, is_own ? to->file->uri : server_uri(to->server, other->path));
    json_key(json, "range");
    write_range(json, is_own ? &to->file->lines : &other->lines,
                (struct proveout_span){place->offset, place->offset + place->length},
                to->server->client.units);
    json_close(json, '}');
    json_key(json, "message");
    json_text(json, place->text    ? shown(to->arena, place->text)
                    : place->field ? shown(to->arena, place->field)
                                   : "here");
    json_close(json, '}');
}

static void add_group(struct telling *to, const struct proveout_finding *const *group,
                      size_t count)
{
    static const enum severity severities[] = {
        [PROVEOUT_NOTE] = SEVERITY_INFORMATION,
        [PROVEOUT_WARNING] = SEVERITY_WARNING,
        [PROVEOUT_ERROR] = SEVERITY_ERROR,
    };
    struct json *json = to->json;
    const struct proveout_finding *worst = group[0];
    for (size_t i = 1; i < count; i++)
        if (group[i]->has_margin && worst->has_margin && group[i]->margin < worst->margin)
            worst = group[i];
    bool is_waived = worst->outcome == PROVEOUT_WAIVED;
    open_diagnostic(to, span_of(to, &worst->at),
                    is_waived ? SEVERITY_HINT : severities[worst->level],
                    words_of(to, group, count, worst));
    json_key(json, "code"), json_text(json, worst->rule);
    if (to->server->client.takes_related) {
        json_key(json, "relatedInformation"), json_open(json, '[');
        if (worst->at.path && !server_is_own(to->file, worst->at.path))
            add_related(to, &worst->at);
        for (size_t i = 0; i < worst->related_count && i < RELATED_MAX; i++)
            add_related(to, &worst->related[i]);
        json_close(json, ']');
    }
    json_key(json, "data"), json_open(json, '{');
    json_key(json, "fingerprint"), json_text(json, worst->fingerprint);
    json_close(json, '}');
    json_close(json, '}');
}

/* --- all of them --- */

/* Those at one place, from `start`, each rule once; returns where the next place begins. */
static size_t add_place(struct telling *to, const struct proveout_result *result, size_t start)
{
    size_t end = start, count = proveout_count(result);
    const struct proveout_finding *first = proveout_finding(result, start);
    while (end < count && is_same_place(&first->at, &proveout_finding(result, end)->at))
        end++;
    const struct proveout_finding **group =
        ARENA_ARRAY(to->arena, const struct proveout_finding *, end - start);
    bool *done = ARENA_ARRAY(to->arena, bool, end - start);
    for (size_t i = start; i < end; i++) {
        const struct proveout_finding *one = proveout_finding(result, i);
        size_t size = 0;
        if (done[i - start] || !is_told(one))
            continue;
        for (size_t k = i; k < end; k++) {
            const struct proveout_finding *other = proveout_finding(result, k);
            if (!done[k - start] && is_alike(one, other)) {
                done[k - start] = true;
                group[size++] = other;
            }
        }
        add_group(to, group, size);
    }
    return end;
}

/* What was not checked, and for want of what. */
static void add_unchecked(struct telling *to, const struct proveout_result *result)
{
    struct buffer out;
    const char *reasons[WANTED_MAX + 1] = {0};
    size_t count = 0, people = 0, known = 0;
    bool more = false;
    for (size_t i = 0; i < proveout_count(result); i++) {
        const struct proveout_finding *one = proveout_finding(result, i);
        if (one->outcome != PROVEOUT_UNCHECKED)
            continue;
        count++;
        people += one->hurts == PROVEOUT_PERSON;
        size_t k = 0;
        while (k < known && strcmp(reasons[k], one->message) != 0)
            k++;
        if (k == known && known < WANTED_MAX)
            reasons[known++] = one->message;
        else
            more |= k == known;
    }
    if (!count)
        return;
    buffer_init(&out, to->arena);
    buffer_format(&out, "%zu thing%s not checked", count, count == 1 ? " was" : "s were");
    if (people)
        buffer_format(&out, ", %zu of them about what can hurt a person", people);
    buffer_byte(&out, '.');
    for (size_t i = 0; i < known; i++)
        buffer_format(&out, "\n%s", shown(to->arena, reasons[i]));
    if (more)
        buffer_text(&out, "\nand others for other reasons; `proveout check` tells them all");
    add_remark(to, SEVERITY_INFORMATION, buffer_string(&out));
}

/* Why nothing was looked at, or not all. */
static void add_trouble(struct telling *to, const struct proveout_result *result)
{
    const char *why = proveout_trouble(result);
    switch (proveout_status(result)) {
    case PROVEOUT_CHECKED:
        break;
    case PROVEOUT_PARTIAL:
        add_remark(to, SEVERITY_INFORMATION,
                   "not all of this file could be read; what is not marked may not have been "
                   "checked");
        break;
    case PROVEOUT_UNREADABLE:
        add_remark(to, SEVERITY_ERROR, "nothing in this file could be checked");
        break;
    case PROVEOUT_REFUSED:
        add_remark(to, SEVERITY_ERROR,
                   arena_format(to->arena, "nothing was checked: %s",
                                why ? shown(to->arena, why) : "no reason is known"));
        break;
    }
}

static void add_findings(struct telling *to)
{
    const struct proveout_result *result = proveout_document_result(to->file->document);
    add_trouble(to, result);
    if (to->file->mended)
        add_remark(to, SEVERITY_WARNING,
                   "the editor sent bytes of this file that are no characters; U+FFFD was "
                   "checked in their place");
    for (size_t i = 0; i < proveout_count(result);)
        i = add_place(to, result, i);
    add_unchecked(to, result);
}

/* False: the file is none of those that are spoken of. */
static bool add_diagnostics(struct telling *to)
{
    struct open_file *file = to->file;
    static const char lost[] =
        "this was not checked: a change that the editor sent could not be read, and what it has "
        "is not known here; close the file and open it again";
    if (file->trouble != OPEN_FINE) {
        file->was_known = file->was_known || server_speaks_of(open_file_text(file));
        if (!file->was_known)
            return false;
        lines_find(&file->lines, to->arena, open_file_text(file));
        add_remark(
            to, SEVERITY_ERROR,
            file->trouble == OPEN_LOST
                ? lost
                : "this was not checked: it is too large, or too much is open; close other "
                  "files, or this one and open it again");
        return true;
    }
    struct proveout_document *document = server_look(to->server, file, false);
    if (!document) {
        add_remark(to, SEVERITY_ERROR, "this was not checked: there is not enough memory");
        return true;
    }
    if (proveout_document_kind(document) != PROVEOUT_IS_NEITHER) {
        file->was_known = true;
        add_findings(to);
    } else if (file->was_known) {
        add_remark(to, SEVERITY_INFORMATION,
                   "this is not checked: its first key makes it neither a machine file nor a "
                   "rulebook any more");
    }
    return file->was_known;
}

/* Is there more to be found by looking more closely? */
static bool has_failed(const struct open_file *file)
{
    const struct proveout_result *result = proveout_document_result(file->document);
    for (size_t i = 0; i < proveout_count(result); i++)
        if (proveout_finding(result, i)->outcome == PROVEOUT_FAILED)
            return true;
    return false;
}

static void publish(struct server *server, const struct open_file *file, struct view list)
{
    struct saying saying;
    struct json *json = say_begin(server, &saying, "textDocument/publishDiagnostics");
    json_open(json, '{');
    json_key(json, "uri"), json_text(json, file->uri);
    if (file->has_version) {
        json_key(json, "version");
        json_raw(json, view_of(arena_format(&server->scratch, "%lld", file->version)));
    }
    json_key(json, "diagnostics"), json_raw(json, list);
    json_close(json, '}');
    say_end(server, &saying);
}

/* The list of a file, in scratch; false: it is not spoken of. */
static bool list_diagnostics(struct server *server, struct open_file *file, struct view *list)
{
    struct buffer out;
    buffer_init(&out, &server->scratch);
    struct json json = {.out = &out};
    struct telling to = {server, &server->scratch, &json, file};
    json_open(&json, '[');
    bool is_spoken_of = add_diagnostics(&to);
    json_close(&json, ']');
    *list = buffer_view(&out);
    return is_spoken_of;
}

void server_tell(struct server *server, struct open_file *file)
{
    struct view list;
    if (!server->client.takes_diagnostics || !list_diagnostics(server, file, &list))
        return;
    file->is_unsettled = file->document && file->is_quick && has_failed(file);
    bool is_news =
        !file->is_shown || file->told_version != file->version || !view_equal(file->told, list);
    if (!is_news)
        return;
    arena_reset(&file->telling);
    file->told = (struct view){arena_copy(&file->telling, list.data, list.size), list.size};
    file->told_version = file->version;
    file->is_shown = true;
    publish(server, file, list);
}

void server_untell(struct server *server, const struct open_file *file)
{
    struct saying saying;
    if (!file->is_shown)
        return;
    struct json *json = say_begin(server, &saying, "textDocument/publishDiagnostics");
    json_open(json, '{');
    json_key(json, "uri"), json_text(json, file->uri);
    json_key(json, "diagnostics"), json_raw(json, (struct view)VIEW_LITERAL("[]"));
    json_close(json, '}');
    say_end(server, &saying);
}

bool answer_diagnostics(struct call *call)
{
    struct view list;
    const char *uri = json_text_in(json_in(call->params, "textDocument"), "uri");
    struct open_file *file = uri ? open_files_find(&call->server->files, uri) : NULL;
    if (!file)
        return call_refuse(call, ERROR_BAD_PARAMS, "%s is not open",
                           uri ? uri : "what has no uri");
    if (file->trouble == OPEN_FINE)
        server_look(call->server, file, true);
    list_diagnostics(call->server, file, &list);
    json_open(call->json, '{');
    json_key(call->json, "kind"), json_text(call->json, "full");
    json_key(call->json, "items"), json_raw(call->json, list);
    json_close(call->json, '}');
    return true;
}
