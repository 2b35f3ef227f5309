/* Every question, asked everywhere in every sample, whole and broken off: answers lie in the file, are
 * UTF-8, and change no byte but those they name.
 */
#include <criterion/criterion.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../share.h"
#include "files.h"
#include "text/utf8.h"

enum { ONE_OF = 60, BROKEN_ONE_OF = 400 };

static const struct file *asked;
static size_t place;

#define HOLDS(what) cr_assert(what, "%s at %zu: " #what, asked->name, place)

static void check_text(const char *text)
{
    HOLDS(text);
    const struct view view = {text, strlen(text)};
    HOLDS(utf8_check(view) == view.size);
}

static void check_span(struct proveout_span span)
{
    HOLDS(span.start <= span.end);
    HOLDS(span.end <= asked->size);
}

static void check_edits(const struct proveout_edits *edits)
{
    size_t at = 0;
    for (size_t i = 0; i < edits->count; i++) {
        if (edits->list[i].path)
            return;
        check_span(edits->list[i].span);
        check_text(edits->list[i].text);
        HOLDS(edits->list[i].span.start >= at);
        at = edits->list[i].span.end;
    }
}

static void check_targets(const struct proveout_target *targets, size_t count)
{
    HOLDS((targets != NULL) == (count > 0));
    for (size_t i = 0; i < count; i++) {
        HOLDS(targets[i].name.start >= targets[i].span.start);
        HOLDS(targets[i].name.end <= targets[i].span.end);
        if (!targets[i].path)
            check_span(targets[i].span);
    }
}

static void ask_at(struct proveout_document *document, size_t offset)
{
    size_t count;
    place = offset;
    const struct proveout_hover *hover = proveout_hover(document, offset);
    if (hover) {
        check_span(hover->span);
        check_text(hover->text);
        HOLDS(hover->span.start <= offset && offset <= hover->span.end);
    }
    const struct proveout_completion *offers = proveout_completions(document, offset, &count);
    for (size_t i = 0; i < count; i++) {
        check_span(offers[i].span);
        HOLDS(offers[i].span.start <= offset && offset <= offers[i].span.end);
        check_text(offers[i].label);
        check_text(offers[i].insert);
    }
    const struct proveout_target *targets = proveout_definition(document, offset, &count);
    check_targets(targets, count);
    targets = proveout_references(document, offset, 1, &count);
    check_targets(targets, count);
    const struct proveout_span *name = proveout_rename_at(document, offset);
    if (name)
        check_span(*name);
}

static void ask_whole(struct proveout_document *document)
{
    size_t count;
    const struct proveout_span all = {0, asked->size};
    const struct proveout_symbol *symbols = proveout_symbols(document, &count);
    for (size_t i = 0; i < count; i++) {
        check_span(symbols[i].span);
        check_text(symbols[i].name);
        HOLDS(symbols[i].selection.start >= symbols[i].span.start);
        HOLDS(symbols[i].selection.end <= symbols[i].span.end);
        HOLDS(symbols[i].depth == 0 || i > 0);
        HOLDS(i == 0 || symbols[i].depth <= symbols[i - 1].depth + 1);
        HOLDS(i == 0 || symbols[i].span.start >= symbols[i - 1].span.start);
    }
    const struct proveout_span *folds = proveout_folds(document, &count);
    for (size_t i = 0; i < count; i++)
        check_span(folds[i]);
    const struct proveout_hint *hints = proveout_hints(document, all, &count);
    for (size_t i = 0; i < count; i++) {
        HOLDS(hints[i].offset <= asked->size);
        check_text(hints[i].text);
    }
    const struct proveout_edits *edits = proveout_format(document, all);
    if (edits)
        check_edits(edits);
}

Test(everywhere, answers_lie_in_the_file)
{
    size_t count;
    const struct file *files = files_samples(&count);
    cr_assert(count > 50);
    for (size_t i = 0; i < count; i++) {
        asked = &files[i];
        struct proveout_document *document = files_open(asked);
        ask_whole(document);
        for (size_t at = 0; at <= asked->size; at++)
            if (share_draws(asked->name, at, ONE_OF))
                ask_at(document, at);
        proveout_document_free(document);
    }
}

/* As while somebody types: the file ends somewhere, or half a line is gone. */
Test(everywhere, also_of_broken_files)
{
    size_t count;
    const struct file *files = files_samples(&count);
    for (size_t i = 0; i < count; i++)
        for (size_t at = 0; at < files[i].size; at++) {
            if (!share_draws(files[i].name, at, BROKEN_ONE_OF))
                continue;
            char *copy = malloc(files[i].size + 1);
            memcpy(copy, files[i].bytes, files[i].size + 1);
            size_t end = at + strcspn(copy + at, "\n");
            bool cut = at % 2 == 0;
            memmove(copy + at, copy + end, files[i].size + 1 - end);
            struct file broken = {files[i].name, copy, cut ? at : files[i].size - (end - at)};
            asked = &broken;
            struct proveout_document *document = files_open(asked);
            ask_whole(document);
            for (size_t near = at > 3 ? at - 3 : 0; near <= at && near <= broken.size; near++)
                ask_at(document, near);
            proveout_document_free(document);
            free(copy);
        }
}

Test(everywhere, nothing_is_an_answer)
{
    size_t count = 1;
    asked = &(struct file){"empty", "", 0};
    struct proveout_document *empty = proveout_document("e", "", 0, NULL);
    ask_whole(empty);
    ask_at(empty, 0);
    proveout_document_free(empty);
    cr_expect_null(proveout_hover(NULL, 3));
    cr_expect_null(proveout_completions(NULL, 3, &count));
    cr_expect_eq(count, 0);
    cr_expect_null(proveout_document_result(NULL));
    proveout_document_free(NULL);
}

/* --- changes --- */

/* Reads the file with the changes, which must not break it. */
static void check_changed(const struct proveout_edits *edits)
{
    if (edits->count && edits->list[0].path)
        return;
    struct file edited = files_edited(asked, edits);
    struct proveout_document *document = files_open(&edited);
    HOLDS(proveout_status(proveout_document_result(document)) == PROVEOUT_CHECKED);
    proveout_document_free(document);
    free(edited.bytes);
}

static void check_actions(struct proveout_document *document)
{
    size_t count;
    const struct proveout_result *result = proveout_document_result(document);
    const struct proveout_action *actions =
        proveout_actions(document, (struct proveout_span){0, asked->size}, &count);
    for (size_t i = 0; i < count; i++) {
        check_text(actions[i].title);
        check_edits(&actions[i].edits);
        HOLDS(actions[i].finding == PROVEOUT_NO_FINDING ||
              actions[i].finding < proveout_count(result));
        HOLDS(!actions[i].sure || !actions[i].asks);
        HOLDS(actions[i].edits.count > 0);
        check_changed(&actions[i].edits);
    }
}

Test(everywhere, changes_leave_a_file_that_reads)
{
    size_t count;
    const struct file *files = files_samples(&count);
    for (size_t i = 0; i < count; i++) {
        asked = &files[i];
        struct proveout_document *document = files_open(asked);
        check_actions(document);
        proveout_document_free(document);
    }
}

/* The same with the line ends of another system and a byte order mark. */
Test(everywhere, changes_keep_line_ends)
{
    size_t count, mended = 0;
    const struct file *files = files_samples(&count);
    for (size_t i = 0; i < count; i++) {
        struct file dos = {files[i].name, malloc(2 * files[i].size + 4), 0};
        memcpy(dos.bytes, "\xef\xbb\xbf", dos.size = 3);
        for (size_t k = 0; k < files[i].size; k++) {
            if (files[i].bytes[k] == '\n')
                dos.bytes[dos.size++] = '\r';
            dos.bytes[dos.size++] = files[i].bytes[k];
        }
        dos.bytes[dos.size] = '\0';
        asked = &dos;
        struct proveout_document *document = files_open(asked);
        size_t actions_count;
        const struct proveout_action *actions =
            proveout_actions(document, (struct proveout_span){0, dos.size}, &actions_count);
        for (size_t k = 0; k < actions_count; k++)
            for (size_t e = 0; e < actions[k].edits.count; e++) {
                const char *text = actions[k].edits.list[e].text;
                for (const char *c = text; *c; c++)
                    HOLDS(*c != '\n' || (c > text && c[-1] == '\r'));
                mended++;
            }
        proveout_document_free(document);
        free(dos.bytes);
    }
    cr_expect(mended > 20, "%zu", mended);
}
