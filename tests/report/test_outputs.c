/* report: the table of outputs. */
#include <criterion/criterion.h>

#include <signal.h>

#include "records.h"

Test(outputs, are_told_apart_by_their_words)
{
    for (int source = REPORT_FINDINGS; source < REPORT_SOURCES; source++) {
        const struct report_output *usual = report_output((enum report_source)source, 0);
        cr_assert(usual, "source %d has no output", source);
        cr_assert_str_eq(usual->word, "text");
        for (size_t i = 0; report_output((enum report_source)source, i); i++) {
            const struct report_output *one = report_output((enum report_source)source, i);
            cr_assert_eq((int)one->source, source);
            cr_assert(one->writer->file, "%s writes nothing", one->word);
            cr_assert_eq(strspn(one->word, "abcdefghijklmnopqrstuvwxyz-"), strlen(one->word));
            cr_assert(*one->word && *one->extension && *one->extension != '.');
            for (size_t k = 0; k < i; k++)
                cr_assert_str_neq(one->word,
                                  report_output((enum report_source)source, k)->word);
        }
    }
    cr_assert_null(report_output(REPORT_NOTHING, 0));
}

/* What they write for programs says the same on every terminal. */
Test(outputs, of_programs_do_not_depend_on_the_terminal)
{
    static const struct report_options ascii = {.width = 40},
                                       wide = {.width = 100, .color = true, .unicode = true};
    struct records records;
    records_init(&records);
    records_add(&records, &(struct finding){.rule = "steps-off",
                                            .outcome = OUTCOME_FAILED,
                                            .message = "42 mm ± 0.5 mm"});
    for (size_t i = 0; report_output(REPORT_FINDINGS, i); i++) {
        const struct report_output *one = report_output(REPORT_FINDINGS, i);
        const char *narrow = records_run(&records, one, &ascii);
        if (one->escaping == REPORT_FOR_TERMINAL)
            for (const char *c = narrow; *c; c++)
                cr_assert((*c >= 0x20 && *c < 0x7f) || *c == '\n', "%s: %s", one->word, narrow);
        else
            cr_assert_str_eq(narrow, records_run(&records, one, &wide));
    }
    records_free(&records);
}

Test(outputs, of_another_source_are_a_mistake_of_the_program, .signal = SIGABRT)
{
    struct records records;
    records_init(&records);
    records_file(&records, report_output(REPORT_MOVES, 0), &(struct report_options){0});
}
