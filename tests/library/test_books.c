/* Rulebooks in an editor. */
#include <criterion/criterion.h>

#include <stdlib.h>
#include <string.h>

#include "files.h"

static const char book[] = "rulebook: 1\n"
                           "title: ours\n"
                           "define:\n"
                           "  our_gap(c): gap(c) + 2 mm\n"
                           "rules:\n"
                           "  our-stroke:\n"
                           "    level: warning\n"
                           "    hurts: work\n"
                           "    each: c in cutters\n"
                           "    when: by_setter\n"
                           "    require: nominal change.probe_stroke >= our_gap(c)\n"
                           "    says: cutter {c.number} leaves {our_gap(c)}\n"
                           "    why: it stops\n"
                           "    put_right: lengthen it by {shortfall}\n"
                           "    source: our shop\n"
                           "    examples:\n"
                           "      holds:\n"
                           "        - {change.probe_stroke: 50 mm}\n"
                           "        - {change.probe_stroke: 60 mm}\n"
                           "      fails:\n"
                           "        - {change.probe_stroke: 1 mm}\n"
                           "        - {change.probe_stroke: 2 mm, margin: -1 mm}\n";

static struct proveout_document *open_book(const char *text, int quick)
{
    const struct proveout_options options = {.size = sizeof options, .quick = quick};
    return proveout_document("ours.yaml", text, strlen(text), &options);
}

static size_t behind(const char *mark)
{
    const char *at = strstr(book, mark);
    cr_assert(at, "%s", mark);
    return (size_t)(at - book) + strlen(mark);
}

Test(books, tell_their_mistakes_and_examples)
{
    struct proveout_document *document = open_book(book, 0);
    const struct proveout_result *result = proveout_document_result(document);
    cr_expect_eq(proveout_document_kind(document), PROVEOUT_IS_RULEBOOK);
    cr_assert_eq(proveout_count(result), 1);
    const struct proveout_finding *finding = proveout_finding(result, 0);
    cr_expect_str_eq(finding->rule, "example-differs");
    cr_expect(strstr(finding->message, "the margin is"), "%s", finding->message);
    cr_expect_eq(finding->at.line, 22);
    proveout_document_free(document);

    document = open_book("rulebook: 1\ntitle: t\nrules:\n  a:\n    level: bad\n", 1);
    result = proveout_document_result(document);
    cr_assert(proveout_count(result) > 1);
    cr_expect_str_eq(proveout_finding(result, 0)->rule, "rulebook-mistake");
    cr_expect(proveout_findings(result, PROVEOUT_ERROR) > 0);
    proveout_document_free(document);
}

static void check_told(const char *mark, const char *wanted)
{
    struct proveout_document *document = open_book(book, 1);
    const struct proveout_hover *hover = proveout_hover(document, behind(mark));
    cr_assert(hover, "%s", mark);
    cr_expect(strstr(hover->text, wanted), "%s: %s", mark, hover->text);
    proveout_document_free(document);
}

Test(books, are_told_of)
{
    check_told("    lev", "How bad it is");
    check_told("{c.numb", "number");
    check_told(">= our_g", "defined here");
    check_told("when: by_s", "a definition of the program");
    check_told("- {change.probe_st", "stroke");
    check_told("nomin", "a word of the language");
}

static bool is_offered(const char *mark, const char *label)
{
    size_t count;
    bool found = false;
    struct proveout_document *document = open_book(book, 1);
    const struct proveout_completion *offers =
        proveout_completions(document, behind(mark), &count);
    for (size_t i = 0; i < count; i++)
        found |= strcmp(offers[i].label, label) == 0;
    proveout_document_free(document);
    return found;
}

Test(books, are_completed)
{
    cr_expect(is_offered("level: warn", "error"));
    cr_expect(is_offered(">= our_g", "our_gap(c)"));
    cr_expect(is_offered(">= our_g", "c.stickout"));
    cr_expect(is_offered(">= our_g", "change.standoff"));
    cr_expect(is_offered(">= our_g", "nominal"));
    cr_expect(is_offered("    lev", "level"));
    cr_expect(!is_offered("    lev", "title"));
}

Test(books, have_names_that_lead_and_change)
{
    size_t count;
    struct proveout_document *document = open_book(book, 1);
    const struct proveout_target *target =
        proveout_definition(document, behind("{our_g"), &count);
    cr_assert_eq(count, 1);
    cr_expect(strncmp(book + target->name.start, "our_gap(c): gap", 15) == 0);
    (void)proveout_references(document, behind("  our_g"), 0, &count);
    cr_expect_eq(count, 2);
    const struct proveout_edits *edits =
        proveout_rename(document, behind("{our_g"), "room_of", NULL);
    cr_assert(edits);
    cr_expect_eq(edits->count, 3);
    const char *trouble;
    cr_expect_null(proveout_rename(document, behind("{our_g"), "by_setter", &trouble));
    cr_expect(trouble);
    const struct proveout_symbol *symbols = proveout_symbols(document, &count);
    bool rule = false;
    for (size_t i = 0; i < count; i++)
        rule |= symbols[i].kind == PROVEOUT_SYMBOL_RULE &&
                strcmp(symbols[i].name, "our-stroke") == 0;
    cr_expect(rule);
    proveout_document_free(document);
}
