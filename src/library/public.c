/* The library's public face: every call works in an arena of its own, from which lack of memory
 * leads back here. */
#include <proveout/check.h>
#include <proveout/text.h>
#include <proveout/version.h>

#include <setjmp.h>
#include <stdlib.h>

#include <math.h>

#include "library/machine_file.h"
#include "mend/mend.h"
#include "report/explain.h"
#include "report/json_writer.h"
#include "report/wrap.h"
#include "rules/load.h"
#include "text/escape.h"

/* What is given back, and everything in it. */
struct answer {
    struct arena arena;
    struct arena_host host;
    jmp_buf exhausted;
    enum proveout_status status;
    const char *trouble;
};

struct proveout_result {
    struct answer answer;
    struct file_report report;
    struct proveout_finding *findings;
};

struct proveout_text {
    struct answer answer;
    struct view text; /* data NULL: there is none */
};

/* What a call asks for; each looks at its own part of the last. */
struct request {
    struct answer *answer;
    struct proveout_options options;
    const char *path;
    struct view bytes;
    const struct rulebook_text *own; /* as many as the options name */
    struct check_options checking;
    const struct rulebook *books[2];
    struct file_reader agreements;
    struct shared_files shared;
    const struct proveout_change *change;
    const struct proveout_wishes *wishes;
    const struct proveout_setting *settings;
    const char *const *fields;
    size_t count; /* of settings or fields */
};

const char *proveout_version(void)
{
    return PROVEOUT_VERSION;
}

static struct arena *arena_of(const struct request *request)
{
    return &request->answer->arena;
}

static void no_memory(void *user)
{
    struct answer *answer = user;
    longjmp(answer->exhausted, 1);
}

static void free_answer(struct answer *answer)
{
    if (!answer)
        return;
    arena_free(&answer->arena);
    free(answer);
}

/* An answer of `size` bytes, worked out by `work`; NULL where memory runs out on the way. */
static void *answered(struct request *request, size_t size, void (*work)(struct request *))
{
    struct answer *answer = request->answer = calloc(1, size);
    if (!answer)
        return NULL;
    answer->host = (struct arena_host){no_memory, answer};
    arena_init(&answer->arena, &answer->host);
    if (setjmp(answer->exhausted)) {
        free_answer(request->answer);
        return NULL;
    }
    work(request);
    return request->answer;
}

static void refuse(struct request *request, const char *why)
{
    request->answer->status = PROVEOUT_REFUSED;
    request->answer->trouble = why;
}

/* Options. */

/* Copies what the caller knows of a struct that begins with its size, the rest zero.  False
 * where it has less than `first` bytes, or says something in what is not known here. */
static bool copy_sized(void *to, size_t size, const void *from, size_t first)
{
    size_t given;
    memset(to, 0, size);
    if (!from)
        return true;
    memcpy(&given, from, sizeof given);
    if (given < first)
        return false;
    memcpy(to, from, given < size ? given : size);
    for (size_t i = size; i < given; i++)
        if (((const char *)from)[i])
            return false;
    return true;
}

/* Asks the caller's function, and keeps what it gives. */
static bool read_other(const struct request *request, struct arena *arena, const char *name,
                       size_t limit, struct view *bytes, const char **why)
{
    const void *data = NULL;
    size_t size = 0;
    *why = NULL;
    if (!request->options.read ||
        !request->options.read(request->options.user, name, &data, &size, why)) {
        *why = *why ? arena_copy(arena, *why, strlen(*why)) : "no other file is given here";
        return false;
    }
    if (size > limit) {
        *why = arena_format(arena, "it is larger than %zu MiB", limit >> 20);
        return false;
    }
    *bytes = (struct view){arena_copy(arena, data, data ? size : 0), data ? size : 0};
    return true;
}

static bool read_beside(void *user, struct arena *arena, struct view path, struct view *bytes,
                        const char **why)
{
    if (!path.size || memchr(path.data, '\0', path.size)) {
        *why = path.size ? "its name is none that a file can have" : "no file is named";
        return false;
    }
    return read_other(user, arena, arena_copy(arena, path.data, path.size), AGREEMENT_FILE_MAX,
                      bytes, why);
}

/* Own rulebooks, with the definitions of those built in.  False: refused. */
static bool load_books(struct request *request)
{
    struct arena *arena = arena_of(request);
    size_t count = request->options.book_count;
    struct rulebook_text *own = ARENA_ARRAY(arena, struct rulebook_text, count);
    for (size_t i = 0; i < count; i++) {
        const char *name = request->options.books[i], *why = "it has no name";
        struct view bytes;
        if (!name || !read_other(request, arena, name, SOURCE_SIZE_MAX, &bytes, &why)) {
            refuse(request, arena_format(arena, "rulebook %s cannot be read: %s",
                                         name ? name : "", why));
            return false;
        }
        own[i] = (struct rulebook_text){arena_copy(arena, name, strlen(name)), bytes.data,
                                        bytes.size};
    }
    request->own = own;
    struct rulebook_mistakes mistakes = {.arena = arena};
    struct rulebook *book = ARENA_NEW(arena, struct rulebook);
    if (!rulebook_load_own(&mistakes, own, count, book)) {
        refuse(request, rulebook_mistakes_text(&mistakes, buffer_add));
        return false;
    }
    request->books[request->checking.book_count++] = book;
    return true;
}

/* Copies what was given and makes the options of a check.  False: refused. */
static bool begin(struct request *request, const void *options)
{
    struct arena *arena = arena_of(request);
    const char *name = request->path ? request->path : "<buffer>";
    struct view *bytes = &request->bytes;
    /* One byte more than the limit is enough for it to be found too large. */
    if (bytes->size > SOURCE_SIZE_MAX + (size_t)1)
        bytes->size = SOURCE_SIZE_MAX + (size_t)1;
    if (!bytes->data)
        bytes->size = 0;
    request->path = arena_copy(arena, name, strlen(name));
    *bytes = (struct view){arena_copy(arena, bytes->data, bytes->size), bytes->size};
    if (!copy_sized(&request->options, sizeof request->options, options,
                    sizeof request->options)) {
        refuse(request, "the options have no size, or members that this library does not know");
        return false;
    }
    const struct proveout_options *given = &request->options;
    request->books[0] = &builtin_rulebook;
    const char *slash = strrchr(request->path, '/');
    request->agreements = (struct file_reader){request, read_beside};
    request->shared = (struct shared_files){
        .reader = {request, read_beside},
        .root =
            slash ? arena_copy(arena, request->path, (size_t)(slash - request->path) + 1) : "",
        .folder = "",
    };
    request->checking = (struct check_options){
        .books = request->books,
        .book_count = 1,
        .show = given->held > 1    ? SHOW_ALL
                : given->held == 1 ? SHOW_DEFAULT
                                   : SHOW_FAILED,
        .words = true,
        .remedies = true,
        .today = given->today ? given->today * 86400.0 : (double)INFINITY,
        .agreements = &request->agreements,
        .shared = &request->shared,
    };
    return !given->books || !given->book_count || load_books(request);
}

static void keep_status(struct request *request, const struct file_report *report)
{
    bool whole = report->status != FILE_CHECKED || file_report_is_whole(report);
    request->answer->status = whole ? (enum proveout_status)report->status : PROVEOUT_PARTIAL;
}

/* Results. */

static void copy_place(struct arena *arena, const struct finding_spot *from,
                       struct proveout_place *to)
{
    *to = (struct proveout_place){.field = from->field, .text = from->text};
    if (!from->source)
        return;
    struct place start = source_place(from->source, from->span.start, COLUMN_CODE_POINTS);
    struct place end = source_place(from->source, from->span.end, COLUMN_CODE_POINTS);
    to->path = arena_copy(arena, from->source->name.data, from->source->name.size);
    to->offset = from->span.start;
    to->length = from->span.end - from->span.start;
    to->line = start.line;
    to->column = start.column;
    to->end_line = end.line;
    to->end_column = end.column;
}

static void copy_finding(struct arena *arena, const struct finding *from,
                         struct proveout_finding *to)
{
    struct proveout_place *related =
        ARENA_ARRAY(arena, struct proveout_place, from->related_count);
    struct proveout_fix *fixes = ARENA_ARRAY(arena, struct proveout_fix, from->fix_count);
    struct proveout_fix_note *notes =
        ARENA_ARRAY(arena, struct proveout_fix_note, from->fix_count);
    for (size_t i = 0; i < from->related_count; i++)
        copy_place(arena, &from->related[i], &related[i]);
    for (size_t i = 0; i < from->fix_count; i++) {
        const struct finding_fix *fix = &from->fixes[i];
        struct view path = fix->source->name;
        fixes[i] = (struct proveout_fix){
            .title = fix->title,
            .path = arena_copy(arena, path.data, path.size),
            .offset = fix->span.start,
            .length = fix->span.end - fix->span.start,
            .text = fix->text,
        };
        notes[i] = (struct proveout_fix_note){.why = fix->why, .asks = fix->asks};
    }
    *to = (struct proveout_finding){
        .rule = from->rule,
        .level = (enum proveout_level)from->level,
        .outcome = (enum proveout_outcome)from->outcome,
        .hurts = (enum proveout_hurts)from->hurts,
        .subject = from->subject,
        .has_margin = from->has_margin,
        .margin = from->has_margin ? from->margin : 0,
        .margin_text = from->has_margin ? from->margin_text : NULL,
        .related = related,
        .related_count = from->related_count,
        .message = from->message,
        .why = from->why,
        .put_right = from->put_right,
        .fixes = fixes,
        .fix_count = from->fix_count,
        .implied_by = from->implied_by,
        .waived_reason = from->waived_reason,
        .waived_by = from->waived_by,
        .fix_notes = notes,
        .fingerprint = from->fingerprint,
    };
    copy_place(arena, &from->at, &to->at);
}

static void work_out_findings(struct request *request)
{
    struct proveout_result *result = (struct proveout_result *)request->answer;
    struct arena *arena = arena_of(request);
    struct file_report *report = &result->report;
    mender_check(mender_new(arena, &request->checking), arena, view_of(request->path),
                 request->bytes, report);
    keep_status(request, report);
    result->findings = ARENA_ARRAY(arena, struct proveout_finding, report->count);
    for (size_t i = 0; i < report->count; i++)
        copy_finding(arena, &report->findings[i], &result->findings[i]);
}

/* Texts. */

/* The output that a word names; NULL: refused. */
static const struct report_output *find_output(struct request *request,
                                               enum report_source source)
{
    const char *word = request->options.format ? request->options.format : "json";
    const struct report_output *output;
    for (size_t i = 0; (output = report_output(source, i)); i++)
        if (strcmp(output->word, word) == 0)
            return output;
    refuse(request, "there is no such format for it");
    return NULL;
}

static void keep(struct request *request, struct buffer *out)
{
    ((struct proveout_text *)request->answer)->text =
        (struct view){buffer_string(out), out->size};
}

static const struct report_options layout = {.width = 80, .unicode = true};

static void write_one(struct request *request, const struct report *report)
{
    const struct report_output *output = find_output(request, report->source);
    struct buffer out;
    buffer_init(&out, arena_of(request));
    if (!output)
        return;
    report_file(output, &layout, report, &out);
    keep(request, &out);
}

static void write_report(struct request *request)
{
    const struct report_output *output = find_output(request, REPORT_FINDINGS);
    struct report_options shown = layout;
    struct run_totals totals = {0};
    struct file_report findings;
    struct buffer out;
    if (!output)
        return;
    if (!request->options.held && output->writer->tells_held)
        request->checking.show = SHOW_DEFAULT;
    shown.show = (int)request->checking.show;
    mender_check(mender_new(arena_of(request), &request->checking), arena_of(request),
                 view_of(request->path), request->bytes, &findings);
    keep_status(request, &findings);
    totals_add(&totals, &findings);
    buffer_init(&out, arena_of(request));
    report_begin(output, &shown, &out);
    report_file(output, &shown,
                &(struct report){REPORT_FINDINGS, request->path, {.findings = &findings}},
                &out);
    report_end(output, &shown, &totals, &out);
    keep(request, &out);
}

/* Reads the file, for questions that want all of it; NULL: there is no answer. */
static struct machine_file *read_whole(struct request *request)
{
    struct machine_file *file = ARENA_NEW(arena_of(request), struct machine_file);
    machine_file_read(arena_of(request), request->path, request->bytes,
                      request->checking.shared, file);
    if (file->tree.status == TREE_WHOLE)
        return file;
    request->answer->status =
        file->tree.status == TREE_PARTIAL ? PROVEOUT_PARTIAL : PROVEOUT_UNREADABLE;
    request->answer->trouble =
        arena_format(arena_of(request),
                     file->tree.lacks_parts ? "%s takes in what could not be read"
                                            : "%s has a mistake of form",
                     request->path);
    return NULL;
}

static void write_windows(struct request *request)
{
    struct machine_file *file = read_whole(request);
    struct report_windows windows;
    if (!file)
        return;
    const char *wrong = machine_file_windows(arena_of(request), &request->checking, file,
                                             request->fields, request->count, &windows);
    if (wrong)
        refuse(request, wrong);
    else
        write_one(request,
                  &(struct report){REPORT_WINDOWS, request->path, {.windows = &windows}});
}

static void propose(struct request *request, const struct proposal_asked *asked)
{
    struct machine_file *file = read_whole(request);
    struct report_proposal *found = ARENA_NEW(arena_of(request), struct report_proposal);
    if (!file)
        return;
    const char *wrong =
        machine_file_propose(arena_of(request), &request->checking, file, asked, found);
    if (wrong)
        refuse(request, wrong);
    else
        write_one(request,
                  &(struct report){REPORT_PROPOSAL, request->path, {.proposal = found}});
}

static void write_proposal(struct request *request)
{
    propose(request,
            &(struct proposal_asked){.paths = request->fields, .count = request->count});
}

static size_t count_of(const char *const *list, size_t count)
{
    return list ? count : 0;
}

static void write_wished(struct request *request)
{
    struct proveout_wishes wishes;
    if (!copy_sized(&wishes, sizeof wishes, request->wishes, sizeof wishes)) {
        refuse(request, "the wishes have no size, or members that this library does not know");
        return;
    }
    const struct proposal_asked asked = {.paths = wishes.fields,
                                         .count = count_of(wishes.fields, wishes.field_count),
                                         .all = wishes.all,
                                         .keep = wishes.keep,
                                         .keep_count = count_of(wishes.keep, wishes.keep_count),
                                         .least = wishes.least,
                                         .least_count =
                                             count_of(wishes.least, wishes.least_count),
                                         .most = wishes.most,
                                         .most_count = count_of(wishes.most, wishes.most_count),
                                         .fastest = wishes.fastest};
    if (asked.all && asked.count)
        refuse(request, "all stands for every field: name none with it");
    else
        propose(request, &asked);
}

static void write_dryrun(struct request *request)
{
    struct arena *arena = arena_of(request);
    struct machine_file *file = read_whole(request);
    struct proveout_change change;
    struct dryrun dryrun;
    enum change_part part;
    if (!file)
        return;
    if (!copy_sized(&change, sizeof change, request->change, sizeof change)) {
        refuse(request, "the change has no size, or members that this library does not know");
        return;
    }
    const struct change_asked asked = {change.from, change.to, change.at};
    const char *wrong = machine_file_change(arena, file, &asked, &dryrun, &part);
    if (wrong) {
        refuse(request, part == CHANGE_AT ? arena_format(arena, "at%s", wrong) : wrong);
        return;
    }
    dryrun.errors = machine_file_failing(arena, &request->checking, file);
    write_one(request, &(struct report){REPORT_MOVES, request->path, {.moves = &dryrun}});
}

static void write_revised(struct request *request)
{
    struct arena *arena = arena_of(request);
    struct machine_file *file = read_whole(request);
    for (size_t i = 0; file && i < request->count; i++) {
        const struct proveout_setting *setting = &request->settings[i];
        struct field_place place;
        const char *field = setting->field ? setting->field : "";
        const char *wrong = machine_file_find(arena, file, field, &place);
        if (!wrong) {
            wrong = machine_file_set(arena, &file, &place, view_of(setting->value), SET_HERE);
            if (wrong)
                wrong = arena_format(arena, "%s cannot be set so: %s", field, wrong);
        }
        if (wrong) {
            refuse(request, wrong);
            return;
        }
    }
    if (file)
        ((struct proveout_text *)request->answer)->text = (struct view){
            arena_copy(arena, file->bytes.data, file->bytes.size), file->bytes.size};
}

static void write_fields(struct request *request)
{
    struct buffer out;
    buffer_init(&out, arena_of(request));
    struct json json = {.out = &out};
    json_open(&json, '[');
    for (unsigned id = 0; id < FIELD_COUNT; id++) {
        const struct field *field = &field_table[id];
        json_line(&json, 2);
        json_open(&json, '{');
        json_key(&json, "path"), json_text(&json, field_path(out.arena, id));
        json_key(&json, "kind"), json_text(&json, field_kind_name(field->kind));
        json_key(&json, "unit"), json_text(&json, *field->unit ? field->unit : NULL);
        json_key(&json, "nature"), json_text(&json, field_nature_name(field->nature));
        json_key(&json, "meaning"), json_text(&json, field->meaning);
        json_key(&json, "choices");
        if (field->choices) {
            json_open(&json, '[');
            for (size_t i = 0; i < field_choice_count(field); i++)
                json_view(&json, field_choice(field, i));
            json_close(&json, ']');
        } else {
            json_nothing(&json);
        }
        json_close(&json, '}');
    }
    buffer_byte(&out, '\n');
    json_close(&json, ']');
    buffer_byte(&out, '\n');
    keep(request, &out);
}

static void write_schema(struct request *request)
{
    struct buffer out;
    buffer_init(&out, arena_of(request));
    schema_write(&out);
    keep(request, &out);
}

/* The first of the fields is a name of any kind. */
static void write_explanation(struct request *request)
{
    struct arena *arena = arena_of(request);
    const struct rule_texts *texts =
        rule_texts_read(arena, request->own, request->own ? request->options.book_count : 0);
    struct view name = view_of(request->fields[0] ? request->fields[0] : "");
    struct buffer out;
    buffer_init(&out, arena);
    if (explain_name(&out, wrap_width(layout.width), texts, name, true)) {
        keep(request, &out);
        return;
    }
    const char *near = explain_nearest(arena, texts, name);
    refuse(request, arena_format(arena, "there is no rule and no field %s%s%s%s",
                                 escape_short(arena, name, 60), near ? "; did you mean " : "",
                                 near ? near : "", near ? "?" : ""));
}

/* The public functions. */

/* A request with its options, to be worked out once these are looked at. */
struct question {
    struct request request;
    const void *options;
    void (*work)(struct request *);
};

static void ask(struct request *request)
{
    struct question *question = (struct question *)request;
    if (begin(request, question->options))
        question->work(request);
}

struct proveout_result *proveout_check(const char *name, const void *bytes, size_t size,
                                       const struct proveout_options *options)
{
    struct question question = {
        {.path = name, .bytes = {bytes, size}}, options, work_out_findings};
    return answered(&question.request, sizeof(struct proveout_result), ask);
}

static struct proveout_text *text_of(struct question *question)
{
    return answered(&question->request, sizeof(struct proveout_text), ask);
}

struct proveout_text *proveout_report(const char *name, const void *bytes, size_t size,
                                      const struct proveout_options *options)
{
    struct question question = {{.path = name, .bytes = {bytes, size}}, options, write_report};
    return text_of(&question);
}

struct proveout_text *proveout_windows(const char *name, const void *bytes, size_t size,
                                       const char *const *fields, size_t field_count,
                                       const struct proveout_options *options)
{
    struct question question = {{.path = name,
                                 .bytes = {bytes, size},
                                 .fields = fields,
                                 .count = fields ? field_count : 0},
                                options,
                                write_windows};
    return text_of(&question);
}

struct proveout_text *proveout_propose(const char *name, const void *bytes, size_t size,
                                       const char *const *fields, size_t field_count,
                                       const struct proveout_options *options)
{
    struct question question = {{.path = name,
                                 .bytes = {bytes, size},
                                 .fields = fields,
                                 .count = fields ? field_count : 0},
                                options,
                                write_proposal};
    return text_of(&question);
}

struct proveout_text *proveout_propose_wished(const char *name, const void *bytes, size_t size,
                                              const struct proveout_wishes *wishes,
                                              const struct proveout_options *options)
{
    struct question question = {
        {.path = name, .bytes = {bytes, size}, .wishes = wishes}, options, write_wished};
    return text_of(&question);
}

struct proveout_text *proveout_dryrun(const char *name, const void *bytes, size_t size,
                                      const struct proveout_change *change,
                                      const struct proveout_options *options)
{
    struct question question = {
        {.path = name, .bytes = {bytes, size}, .change = change}, options, write_dryrun};
    return text_of(&question);
}

struct proveout_text *proveout_revise(const char *name, const void *bytes, size_t size,
                                      const struct proveout_setting *settings,
                                      size_t setting_count)
{
    struct question question = {{.path = name,
                                 .bytes = {bytes, size},
                                 .settings = settings,
                                 .count = settings ? setting_count : 0},
                                NULL,
                                write_revised};
    return text_of(&question);
}

struct proveout_text *proveout_explain(const char *name, const struct proveout_options *options)
{
    struct question question = {{.fields = &name}, options, write_explanation};
    return text_of(&question);
}

struct proveout_text *proveout_fields(void)
{
    struct question question = {{.path = NULL}, NULL, write_fields};
    return text_of(&question);
}

struct proveout_text *proveout_schema(void)
{
    struct question question = {{.path = NULL}, NULL, write_schema};
    return text_of(&question);
}

/* Looking at answers. */

void proveout_free(struct proveout_result *result)
{
    free_answer((struct answer *)result);
}

void proveout_text_free(struct proveout_text *text)
{
    free_answer((struct answer *)text);
}

enum proveout_status proveout_status(const struct proveout_result *result)
{
    return result ? result->answer.status : PROVEOUT_UNREADABLE;
}

const char *proveout_trouble(const struct proveout_result *result)
{
    return result ? result->answer.trouble : NULL;
}

size_t proveout_findings(const struct proveout_result *result, enum proveout_level level)
{
    return result && (unsigned)level < LEVEL_COUNT ? result->report.findings_by_level[level]
                                                   : 0;
}

size_t proveout_count(const struct proveout_result *result)
{
    return result ? result->report.count : 0;
}

const struct proveout_finding *proveout_finding(const struct proveout_result *result,
                                                size_t index)
{
    return index < proveout_count(result) ? &result->findings[index] : NULL;
}

const char *proveout_text_data(const struct proveout_text *text)
{
    return !text ? NULL : text->text.data ? text->text.data : "";
}

size_t proveout_text_length(const struct proveout_text *text)
{
    return text ? text->text.size : 0;
}

enum proveout_status proveout_text_status(const struct proveout_text *text)
{
    return text ? text->answer.status : PROVEOUT_UNREADABLE;
}

int proveout_text_ends(const struct proveout_text *text)
{
    return text && text->text.data;
}

const char *proveout_text_trouble(const struct proveout_text *text)
{
    return text ? text->answer.trouble : NULL;
}
