/* Keys and names: what is offered, told, found and renamed, over the samples. */
#include <criterion/criterion.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../share.h"
#include "files.h"
#include "library/document_shape.h"

enum { KEYS_ONE_OF = 25 };

/* --- completing: a key that is taken away is offered again --- */

static bool is_offered(struct proveout_document *document, size_t offset, const char *label)
{
    size_t count;
    const struct proveout_completion *offers = proveout_completions(document, offset, &count);
    for (size_t i = 0; i < count; i++)
        if (strcmp(offers[i].label, label) == 0)
            return true;
    return false;
}

static void check_key(const struct file *file, const struct sketch_node *node)
{
    char label[200];
    size_t start = node->key_span.start, end = node->span.end;
    snprintf(label, sizeof label, "%.*s", (int)node->key.size, node->key.data);
    struct file without = {file->name, malloc(file->size + 1), file->size - (end - start)};
    memcpy(without.bytes, file->bytes, start);
    memcpy(without.bytes + start, file->bytes + end, file->size + 1 - end);
    struct proveout_document *document = files_open(&without);
    cr_expect(is_offered(document, start, label), "%s: %s at %zu", file->name, label, start);
    proveout_document_free(document);
    free(without.bytes);
}

static bool is_field(struct arena *arena, const struct sketch_node *node)
{
    return !node->bare && node->key.size && node->kind == SKETCH_TEXT &&
           field_find(view_of(shape_general(arena, node))) != FIELD_COUNT;
}

static void over_fields(void (*check)(const struct file *file, struct proveout_document *document,
                                      const struct sketch_node *node))
{
    size_t count, checked = 0;
    const struct file *files = files_samples(&count);
    for (size_t i = 0; i < count; i++) {
        struct proveout_document *document = files_open(&files[i]);
        const struct sketch_node *root = &document_sketch(document)->root;
        for (const struct sketch_node *node = sketch_next(root, root); node;
             node = sketch_next(node, root)) {
            if (!share_draws(files[i].name, node->start, KEYS_ONE_OF) ||
                !is_field(document_arena(document), node))
                continue;
            check(&files[i], document, node);
            checked++;
        }
        proveout_document_free(document);
    }
    cr_assert(checked > share_of(100), "%zu", checked);
}

/* An item whose only line it stands on would be another thing without it. */
static void check_offer(const struct file *file, struct proveout_document *document,
                        const struct sketch_node *node)
{
    bool first_of_item = !node->index && node->parent->parent &&
                         node->parent->parent->kind == SKETCH_LIST && !node->parent->flow;
    (void)document;
    if (!first_of_item)
        check_key(file, node);
}

Test(fields, a_key_that_is_gone_is_offered)
{
    over_fields(check_offer);
}

/* --- hover --- */

static void check_hover(const struct file *file, struct proveout_document *document,
                        const struct sketch_node *node)
{
    struct arena *arena = document_arena(document);
    struct shape_field field = shape_field(arena, node);
    const struct proveout_hover *hover = proveout_hover(document, node->key_span.start);
    struct buffer meaning;
    buffer_init(&meaning, arena);
    cr_assert(hover, "%s: %s", file->name, sketch_path(arena, node));
    cr_expect_eq(hover->span.start, node->key_span.start);
    /* Its first words, up to what Markdown would have to escape. */
    const char *text = field_table[field.id].meaning;
    buffer_add(&meaning, (struct view){text, strcspn(text, "()*_,.:;-")});
    cr_expect(strstr(hover->text, buffer_string(&meaning)), "%s: %s", file->name, hover->text);
}

Test(fields, are_told_by_their_meaning)
{
    over_fields(check_hover);
}

static const char *const machine = "proveout: 1\n"
                                   "inputs:\n"
                                   "  home-z: {terminal: 1, contact: normally_closed}\n"
                                   "  spare: &in {terminal: 2, contact: normally_closed}\n"
                                   "homing:\n"
                                   "  order: [z]\n"
                                   "  z: {end: high, input: home-z}\n"
                                   "cutters:\n"
                                   "  - {number: 1, description: flat, stickout: 30mm}\n"
                                   "  - {number: 3, description: \"`*x*`\", stickout: 40 mm}\n"
                                   "change:\n"
                                   "  standoff: 12 mm   \n"
                                   "agrees_with:\n"
                                   "  - file: control.txt\n"
                                   "    field: cutters[number=3].stickout\n"
                                   "    pattern: 's=(?<value>\\d+)'\n"
                                   "waivers:\n"
                                   "  - rule: probe-stroke-short\n"
                                   "    where: cutters[1].stickout\n"
                                   "    reason: so\n";

static size_t behind(const char *text, const char *mark)
{
    const char *at = strstr(text, mark);
    cr_assert(at, "%s", mark);
    return (size_t)(at - text) + strlen(mark);
}

static const char *told(struct proveout_document *document, const char *mark)
{
    const struct proveout_hover *hover = proveout_hover(document, behind(machine, mark));
    return hover ? hover->text : "nothing";
}

static int read_control(void *user, const char *path, const void **bytes, size_t *size,
                        const char **why)
{
    static const char text[] = "a=1\nl: s=41 mm\nb=2\n";
    (void)user, (void)why;
    *bytes = text;
    *size = sizeof text - 1;
    return strcmp(path, "control.txt") == 0;
}

static struct proveout_document *open_machine(void)
{
    const struct proveout_options options = {.size = sizeof options,
                                             .quick = 1,
                                             .read = read_control};
    return proveout_document("m.yaml", machine, strlen(machine), &options);
}

Test(names, are_told)
{
    struct proveout_document *document = open_machine();
    cr_expect(strstr(told(document, "input: home"), "Named by `homing.z.input`"));
    cr_expect(strstr(told(document, "  spa"), "Nothing names it"));
    cr_expect(strstr(told(document, "rule: probe"), "why"));
    cr_expect(strstr(told(document, "where: cut"), "40 mm"));
    cr_expect(strstr(told(document, "file: con"), "says in line 2: `41`"));
    cr_expect(strstr(told(document, "description: \"`*"), "\\`\\*x\\*\\`"));
    proveout_document_free(document);
}

/* --- where names lead --- */

static size_t count_targets(struct proveout_document *document, const char *mark, bool definition)
{
    size_t count, offset = behind(machine, mark);
    (void)(definition ? proveout_definition(document, offset, &count)
                      : proveout_references(document, offset, 0, &count));
    return count;
}

static void check_leads(const char *mark, const char *to)
{
    size_t count;
    struct proveout_document *document = open_machine();
    const struct proveout_target *target =
        proveout_definition(document, behind(machine, mark), &count);
    cr_assert_eq(count, 1, "%s: %zu", mark, count);
    cr_expect_null(target->path);
    cr_expect(strncmp(machine + target->name.start, to, strlen(to)) == 0, "%s: %.20s", mark,
              machine + target->name.start);
    proveout_document_free(document);
}

Test(names, lead_to_where_they_are_said)
{
    size_t count;
    check_leads("input: home", "home-z: {term");
    check_leads("[number=3", "3, desc");
    check_leads("field: cutters[number=3].sti", "stickout: 40");
    check_leads("where: cutters[1].sti", "stickout: 40");
    check_leads("where: cutters[1", "3, desc");
    struct proveout_document *document = open_machine();
    const struct proveout_target *target =
        proveout_definition(document, behind(machine, "pattern: 's="), &count);
    cr_assert_eq(count, 1);
    cr_expect_str_eq(target->path, "control.txt");
    cr_expect_eq(target->name.start, 9);
    cr_expect_eq(target->span.start, 4);
    cr_expect_eq(target->span.end, 14);
    cr_expect_eq(count_targets(document, "  home-", false), 1);
    cr_expect_eq(count_targets(document, "number: 3", false), 2);
    cr_expect_eq(count_targets(document, "number: 1", false), 0);
    proveout_document_free(document);
}

/* Whatever is spoken of leads to what has it among those that speak of it. */
Test(names, lead_back)
{
    size_t count, files, checked = 0;
    const struct file *list = files_samples(&files);
    for (size_t i = 0; i < files; i++) {
        struct proveout_document *document = files_open(&list[i]);
        for (size_t at = 0; at < list[i].size; at += 7) {
            const struct proveout_target *to = proveout_definition(document, at, &count);
            if (count != 1 || to->path)
                continue;
            size_t back = 0;
            bool found = false;
            const struct proveout_target *from =
                proveout_references(document, to->name.start, 1, &back);
            for (size_t k = 0; k < back; k++)
                found |= from[k].name.start <= at && at <= from[k].name.end;
            cr_expect(found, "%s: %zu", list[i].name, at);
            checked++;
        }
        proveout_document_free(document);
    }
    cr_expect(checked > 500);
}

/* --- other names, other layout --- */

static void check_renamed(const char *mark, const char *to, size_t changes, const char *wanted)
{
    const char *trouble = NULL;
    struct file file = {"m.yaml", (char *)machine, strlen(machine)};
    struct proveout_document *document = open_machine();
    const struct proveout_edits *edits =
        proveout_rename(document, behind(machine, mark), to, &trouble);
    if (!changes) {
        cr_expect_null(edits);
        cr_expect(trouble && strstr(trouble, wanted), "%s", trouble ? trouble : "nothing");
    } else {
        cr_assert(edits, "%s", trouble);
        cr_expect_eq(edits->count, changes);
        struct file edited = files_edited(&file, edits);
        cr_expect(strstr(edited.bytes, wanted), "%s", edited.bytes);
        free(edited.bytes);
    }
    proveout_document_free(document);
}

Test(names, can_be_changed_everywhere)
{
    check_renamed("input: home", "z: up", 2, "\"z: up\": {terminal: 1");
    check_renamed("  home-", "up", 2, "input: up}");
    check_renamed("number: 3", "7", 2, "cutters[number=7].stickout");
    check_renamed("number: 3", "1", 0, "already");
    check_renamed("number: 3", "x", 0, "number");
    check_renamed("number: 3", "", 0, "a name is wanted");
    check_renamed("input: home", "a\nb", 0, "one line");
    check_renamed("stickout: 3", "x", 0, "nothing here");
    check_renamed("spare: &i", "other", 1, "&other {");
}

Test(layout, is_put_right_and_says_the_same)
{
    struct file file = {"m.yaml", (char *)machine, strlen(machine)};
    struct proveout_document *document = open_machine();
    const struct proveout_edits *edits =
        proveout_format(document, (struct proveout_span){0, strlen(machine)});
    cr_assert(edits);
    struct file edited = files_edited(&file, edits);
    cr_expect(strstr(edited.bytes, "stickout: 30 mm}"));
    cr_expect(strstr(edited.bytes, "standoff: 12 mm\n"));
    cr_expect_eq(edits->count, 2);
    size_t line = behind(machine, "standoff");
    edits = proveout_format(document, (struct proveout_span){line, line});
    cr_assert(edits);
    cr_expect_eq(edits->count, 1);
    proveout_document_free(document);
    document = files_open(&edited);
    cr_expect_null(proveout_format(document, (struct proveout_span){0, edited.size}));
    proveout_document_free(document);
    free(edited.bytes);
}

/* --- what is needed --- */

static const struct proveout_action *find_action(struct proveout_document *document,
                                                 enum proveout_action_kind kind)
{
    size_t count;
    const struct proveout_action *actions =
        proveout_actions(document, (struct proveout_span){0, 1 << 20}, &count);
    for (size_t i = 0; i < count; i++)
        if (actions[i].kind == kind)
            return &actions[i];
    return NULL;
}

Test(actions, add_the_keys_that_are_needed)
{
    static const char text[] = "proveout: 1\n"
                               "inputs:\n"
                               "  up:\n"
                               "    contact: normally_closed # NC\n";
    struct file file = {"w.yaml", (char *)text, sizeof text - 1};
    struct proveout_document *document = files_open(&file);
    size_t count, offset = behind(text, "  up");
    const struct proveout_action *actions =
        proveout_actions(document, (struct proveout_span){offset, offset}, &count);
    while (count && (actions->kind != PROVEOUT_ACTION_ADD || !strstr(actions->title, "inputs.up")))
        actions++, count--;
    cr_assert(count);
    struct file edited = files_edited(&file, &actions->edits);
    cr_expect_str_eq(edited.bytes, "proveout: 1\n"
                                   "inputs:\n"
                                   "  up:\n"
                                   "    terminal:\n"
                                   "    contact: normally_closed # NC\n");
    free(edited.bytes);
    proveout_document_free(document);
}

/* A waiver that is only begun waives nothing. */
Test(actions, never_waive_silently)
{
    const struct file *file = files_sample("wait-shorter-than-run-down.yaml");
    struct proveout_document *document = files_open(file);
    const struct proveout_action *waive = find_action(document, PROVEOUT_ACTION_WAIVE);
    cr_assert(waive);
    cr_expect(waive->asks && !waive->sure);
    cr_expect(strstr(waive->title, "can hurt a person"));
    struct file edited = files_edited(file, &waive->edits);
    cr_expect(strstr(edited.bytes, "accepted_by: \"\"") && strstr(edited.bytes, "reason: \"\""));
    struct proveout_document *after = files_open(&edited);
    const struct proveout_result *result = proveout_document_result(after);
    cr_expect(proveout_findings(result, PROVEOUT_ERROR) >=
              proveout_findings(proveout_document_result(document), PROVEOUT_ERROR));
    for (size_t i = 0; i < proveout_count(result); i++)
        cr_expect(proveout_finding(result, i)->outcome != PROVEOUT_WAIVED);
    proveout_document_free(after);
    free(edited.bytes);
    proveout_document_free(document);
}

/* Several cutters fail at one number: it is set, or waived, once. */
Test(actions, are_offered_once)
{
    size_t count, waivers = 0;
    struct proveout_document *document =
        files_open(files_sample("stroke-too-short-for-the-short-cutter.yaml"));
    cr_assert(proveout_count(proveout_document_result(document)) > 1);
    const struct proveout_action *actions =
        proveout_actions(document, (struct proveout_span){0, SIZE_MAX}, &count);
    cr_assert(count);
    for (size_t i = 0; i < count; i++) {
        waivers += actions[i].kind == PROVEOUT_ACTION_WAIVE;
        for (size_t k = 0; k < i; k++)
            cr_expect_str_neq(actions[i].title, actions[k].title);
    }
    cr_expect_eq(waivers, 1);
    proveout_document_free(document);
}

Test(completions, tell_what_is_needed_first)
{
    size_t count;
    struct proveout_document *document = 
        files_open_text("proveout: 1\ninputs:\n  up:\n    scan: 1 ms\n    ");
    const struct proveout_completion *offers = proveout_completions(document, 46, &count);
    cr_assert(count >= 2);
    cr_expect_str_eq(offers[0].label, "terminal");
    cr_expect_str_eq(offers[0].insert, "terminal: ");
    cr_expect(offers[0].needed);
    cr_expect_str_eq(offers[1].label, "contact");
    proveout_document_free(document);
}

Test(hints, tell_how_a_cutter_comes_down)
{
    size_t count;
    const struct file *file = files_sample("workshop-router.yaml");
    struct proveout_document *document = files_open(file);
    size_t at = behind(file->bytes, "stickout: 33 mm");
    const struct proveout_hint *hints =
        proveout_hints(document, (struct proveout_span){at, at}, &count);
    cr_assert_eq(count, 1);
    cr_expect_eq(hints->offset, at);
    cr_expect_str_eq(hints->text, "gap 8.64 mm to 21.36 mm");
    at = behind(file->bytes, "probe_feed: 200 mm/min");
    hints = proveout_hints(document, (struct proveout_span){at, at}, &count);
    cr_assert_eq(count, 1);
    cr_expect_str_eq(hints->text, "runs on 0.032 mm");
    proveout_document_free(document);
}
