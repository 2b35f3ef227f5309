/* The library's public face: what the commands write. */
#include <proveout/text.h>

#include "library/request.h"
#include "library/schema.h"
#include "mend/mend.h"
#include "report/explain.h"
#include "report/json_writer.h"
#include "report/wrap.h"
#include "rules/check.h"
#include "text/escape.h"

struct proveout_text {
    struct answer answer;
    struct view text; /* data NULL: there is none */
};

/* The output that a word names; NULL: refused. */
static const struct report_output *find_output(struct request *request,
                                               enum report_source source)
{
    const char *word = request->options.format ? request->options.format : "json";
    const struct report_output *output = report_output_named(source, word);
    if (!output)
        request_refuse(request, "there is no such format for it");
    return output;
}

static void keep(struct request *request, struct buffer *out)
{
    ((struct proveout_text *)request->answer)->text =
        (struct view){buffer_string(out), out->size};
}

static void keep_unless(struct request *request, const char *wrong, struct buffer *out)
{
    if (wrong)
        request_refuse(request, wrong);
    else
        keep(request, out);
}

static const struct report_options layout = {.width = 80, .unicode = true};

static void write_one(struct request *request, const struct report *report)
{
    const struct report_output *output = find_output(request, report->source);
    struct buffer out;
    buffer_init(&out, request_arena(request));
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
    if (!request->options.held && !request->options.quick && output->writer->tells_held)
        request->checking.show = SHOW_DEFAULT;
    shown.show = (int)request->checking.show;
    mender_check(mender_new(request_arena(request), &request->checking), request_arena(request),
                 view_of(request->path), request->bytes, &findings);
    request_keep_status(request, &findings);
    totals_add(&totals, &findings);
    buffer_init(&out, request_arena(request));
    shown.stop_at = LEVEL_ERROR;
    if (output->writer->lists_rules)
        shown.rules = rule_texts_read(request_arena(request), NULL, 0);
    report_alone(output, &shown,
                 &(struct report){REPORT_FINDINGS, request->path, {.findings = &findings}},
                 &totals, &out);
    keep(request, &out);
}

/* Reads the file, for questions that want all of it; NULL: there is no answer. */
static struct machine_file *read_whole(struct request *request)
{
    struct machine_file *file = ARENA_NEW(request_arena(request), struct machine_file);
    machine_file_read(request_arena(request), request->path, request->bytes,
                      request->checking.shared, file);
    if (file->tree.status == TREE_WHOLE)
        return file;
    request->answer->status =
        file->tree.status == TREE_PARTIAL ? PROVEOUT_PARTIAL : PROVEOUT_UNREADABLE;
    request->answer->trouble =
        arena_format(request_arena(request),
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
    const char *wrong = machine_file_windows(request_arena(request), &request->checking, file,
                                             request->fields, request->count, &windows);
    if (wrong)
        request_refuse(request, wrong);
    else
        write_one(request,
                  &(struct report){REPORT_WINDOWS, request->path, {.windows = &windows}});
}

static void propose(struct request *request, const struct proposal_asked *asked)
{
    struct machine_file *file = read_whole(request);
    struct report_proposal *found = ARENA_NEW(request_arena(request), struct report_proposal);
    if (!file)
        return;
    const char *wrong =
        machine_file_propose(request_arena(request), &request->checking, file, asked, found);
    if (wrong)
        request_refuse(request, wrong);
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
    if (!request_copy(&wishes, sizeof wishes, request->wishes, sizeof wishes)) {
        request_refuse(request,
                       "the wishes have no size, or members that this library does not know");
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
        request_refuse(request, "all stands for every field: name none with it");
    else
        propose(request, &asked);
}

static void write_dryrun(struct request *request)
{
    struct arena *arena = request_arena(request);
    struct machine_file *file = read_whole(request);
    struct proveout_change change;
    struct dryrun dryrun;
    enum change_part part;
    if (!file)
        return;
    if (!request_copy(&change, sizeof change, request->change, sizeof change)) {
        request_refuse(request,
                       "the change has no size, or members that this library does not know");
        return;
    }
    const struct change_asked asked = {change.from, change.to, change.at};
    const char *wrong = machine_file_change(arena, file, &asked, &dryrun, &part);
    if (wrong) {
        request_refuse(request, part == CHANGE_AT ? arena_format(arena, "at%s", wrong) : wrong);
        return;
    }
    dryrun.errors = machine_file_failing(arena, &request->checking, file);
    write_one(request, &(struct report){REPORT_MOVES, request->path, {.moves = &dryrun}});
}

static void write_drawing(struct request *request)
{
    struct machine_file *file = read_whole(request);
    struct proveout_drawing drawing;
    struct buffer out;
    size_t errors;
    if (!file)
        return;
    if (!request_copy(&drawing, sizeof drawing, request->drawing, sizeof drawing)) {
        request_refuse(request,
                       "the drawing has no size, or members that this library does not know");
        return;
    }
    const struct drawing_asked asked = {drawing.side != 0, drawing.cutter, drawing.step,
                                        request->options.quick != 0};
    buffer_init(&out, request_arena(request));
    const char *wrong = machine_file_draw(request_arena(request), &request->checking, file,
                                          &asked, &out, &errors);
    keep_unless(request, wrong, &out);
}

static void write_sheet(struct request *request)
{
    struct machine_file *file = read_whole(request);
    const char *format = request->options.format ? request->options.format : "html";
    bool drawn = strcmp(format, "svg") == 0;
    struct proveout_sheet sheet;
    struct buffer out;
    size_t errors;
    if (!file)
        return;
    if (!request_copy(&sheet, sizeof sheet, request->sheet, sizeof sheet)) {
        request_refuse(request,
                       "the sheet has no size, or members that this library does not know");
        return;
    }
    if (!drawn && strcmp(format, "html") != 0) {
        request_refuse(request, "there is no such format for it");
        return;
    }
    const struct wall_asked asked = {.cutter = sheet.cutter, .drawn = drawn};
    buffer_init(&out, request_arena(request));
    const char *wrong = machine_file_sheet(request_arena(request), &request->checking, file,
                                           &asked, &out, &errors);
    keep_unless(request, wrong, &out);
}

static void write_revised(struct request *request)
{
    struct arena *arena = request_arena(request);
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
            request_refuse(request, wrong);
            return;
        }
    }
    if (file)
        ((struct proveout_text *)request->answer)->text = (struct view){
            arena_copy(arena, file->bytes.data, file->bytes.size), file->bytes.size};
}

static void check_all(struct request *request, struct machine_file *file,
                      struct file_report *out)
{
    struct arena *arena = request_arena(request);
    struct check_options *all = ARENA_NEW(arena, struct check_options);
    *all = request->checking;
    all->show = SHOW_ALL;
    all->remedies = false;
    checker_check_machine(checker_new(arena, all), arena, &file->machine, &file->sink, out);
}

static void write_comparison(struct request *request)
{
    const struct view now = request->bytes;
    struct file_report before, after;
    struct moved moved;
    struct buffer out;
    request->bytes = request->before;
    struct machine_file *then = read_whole(request);
    request->bytes = now;
    struct machine_file *file = then ? read_whole(request) : NULL;
    if (!file)
        return;
    check_all(request, then, &before);
    check_all(request, file, &after);
    request_keep_status(request, &after);
    reports_compare(request_arena(request), &before, &after, &moved);
    buffer_init(&out, request_arena(request));
    report_file(report_output(REPORT_COMPARISON, 0), &layout,
                &(struct report){REPORT_COMPARISON, request->path, {.comparison = &moved}},
                &out);
    keep(request, &out);
}

static void write_fields(struct request *request)
{
    struct buffer out;
    buffer_init(&out, request_arena(request));
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
        json_key(&json, "how"), json_text(&json, *field->measure ? field->measure : NULL);
        json_key(&json, "low"), json_number(&json, field->plausible_low);
        json_key(&json, "high"), json_number(&json, field->plausible_high);
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
    buffer_init(&out, request_arena(request));
    keep_unless(request,
                schema_write(&out, request->fields[0]) ? NULL : "there is no such kind of file",
                &out);
}

/* The first of the fields is a name of any kind. */
static void write_explanation(struct request *request)
{
    struct arena *arena = request_arena(request);
    const struct rule_texts *texts = rule_texts_read(arena, request->own, request->own_count);
    struct view name = view_of(request->fields[0] ? request->fields[0] : "");
    struct buffer out;
    buffer_init(&out, arena);
    if (explain_name(&out, wrap_width(layout.width), texts, name, true)) {
        keep(request, &out);
        return;
    }
    const char *near = explain_nearest(arena, texts, name);
    request_refuse(request,
                   arena_format(arena, "there is no rule and no field %s%s%s%s",
                                escape_short(arena, name, 60), near ? "; did you mean " : "",
                                near ? near : "", near ? "?" : ""));
}

static struct proveout_text *text_of(struct question *question)
{
    return question_answer(question, sizeof(struct proveout_text));
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

struct proveout_text *proveout_draw(const char *name, const void *bytes, size_t size,
                                    const struct proveout_drawing *drawing,
                                    const struct proveout_options *options)
{
    struct question question = {
        {.path = name, .bytes = {bytes, size}, .drawing = drawing}, options, write_drawing};
    return text_of(&question);
}

struct proveout_text *proveout_sheet(const char *name, const void *bytes, size_t size,
                                     const struct proveout_sheet *sheet,
                                     const struct proveout_options *options)
{
    struct question question = {
        {.path = name, .bytes = {bytes, size}, .sheet = sheet}, options, write_sheet};
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

struct proveout_text *proveout_compare(const char *name, const void *before, size_t before_size,
                                       const void *bytes, size_t size,
                                       const struct proveout_options *options)
{
    struct question question = {
        {.path = name, .bytes = {bytes, size}, .before = {before, before ? before_size : 0}},
        options,
        write_comparison};
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
    return proveout_schema_of(NULL);
}

struct proveout_text *proveout_schema_of(const char *kind)
{
    struct question question = {{.fields = &kind}, NULL, write_schema};
    return text_of(&question);
}

void proveout_text_free(struct proveout_text *text)
{
    answer_free((struct answer *)text);
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
