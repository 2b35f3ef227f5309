/* `proveout check --sheet`: is the sheet on the wall still that of the file? */
#include "cli/check_sheet.h"

#include "cli/opened.h"
#include "wall/claims.h"

/* What is asked besides, and says nothing of a sheet. */
static const char *idle_option(const struct options *options)
{
    static const struct {
        enum option_id id;
        const char *name;
    } idle[] = {{OPTION_SHOW, "--show"},       {OPTION_ARITHMETIC, "--arithmetic"},
                {OPTION_STOP_AT, "--stop-at"}, {OPTION_USING, "--using"},
                {OPTION_KNOWN, "--known"},     {OPTION_WRITE_KNOWN, "--write-known"},
                {OPTION_SINCE, "--since"},     {OPTION_CHANGED, "--changed"},
                {OPTION_JOBS, "--jobs"}};
    for (size_t i = 0; i < sizeof idle / sizeof *idle; i++)
        if (options->values[idle[i].id].given)
            return idle[i].name;
    return NULL;
}

enum exit_status check_sheet(struct run *run)
{
    const struct options *options = &run->options;
    const char *path = options->values[OPTION_SHEET].text, *why;
    const struct report_output *output =
        report_output_named(REPORT_SHEET, run_output(run)->word);
    if (options->arguments.count != 1)
        return run_refuse(run, "check --sheet wants one machine file");
    if (idle_option(options))
        return run_refuse(run, "%s says nothing of a sheet: leave it out",
                          idle_option(options));
    if (!output)
        return run_refuse(run, "what --sheet tells has the formats text and json only");
    struct view page;
    if (!input_read_file(path, CLAIMS_SIZE_MAX, run->arena, &page, &why))
        return run_refuse(run, "%s cannot be read: %s", path, why);
    const struct opened *opened = opened_machine(run, options->arguments.items[0]);
    struct sheet_comparison compared;
    if (!opened)
        return EXIT_TROUBLE;
    const char *wrong = machine_file_compare(run->arena, &opened->checking, opened->file, path,
                                             page, &compared);
    if (wrong)
        return run_refuse(run, "%s", wrong);
    const struct report_options layout = run_layout(run);
    struct buffer text;
    buffer_init(&text, run->arena);
    report_file(output, &layout,
                &(struct report){REPORT_SHEET, opened->file->path, {.sheet = &compared}},
                &text);
    output_write(run->out, buffer_view(&text));
    return compared.count ? EXIT_FINDINGS : EXIT_CLEAN;
}
