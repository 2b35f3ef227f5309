/* `proveout sheet`: what hangs beside the machine, and the form of a round of measuring. */
#include "cli/opened.h"
#include "wall/wall.h"

enum { FORM_HTML, FORM_SVG, FORMS }; /* in the order of the words of --format */

/* What a file is called that holds a form. */
static const struct {
    const char *extension;
    size_t form;
} extensions[] = {{".html", FORM_HTML}, {".htm", FORM_HTML}, {".svg", FORM_SVG}};

/* FORMS: its name tells of none. */
static size_t form_of_name(const char *path)
{
    for (size_t i = 0; i < sizeof extensions / sizeof *extensions; i++)
        if (path_has_extension(path, extensions[i].extension))
            return extensions[i].form;
    return FORMS;
}

/* What is to be written.  NULL, else why it is refused. */
static const char *find_form(const struct run *run, size_t *form)
{
    const struct option_value *format = &run->options.values[OPTION_FORMAT];
    const char *path = run->options.values[OPTION_OUTPUT].text;
    size_t named = path ? form_of_name(path) : FORMS;
    *form = format->given ? format->choice : path ? named : FORM_HTML;
    if (*form == FORMS)
        return arena_format(
            run->arena,
            "%s: a sheet is written to a file called *.html, its drawings to one "
            "called *.svg; else --format says which",
            path);
    if (named != FORMS && named != *form)
        return arena_format(run->arena, "%s is no name for what --format %s writes", path,
                            format->text);
    return NULL;
}

static enum exit_status print_blank(struct run *run, size_t form)
{
    const struct options *options = &run->options;
    struct buffer blank;
    buffer_init(&blank, run->arena);
    if (form != FORM_HTML)
        return run_refuse(run, "a blank form is HTML, and has no drawings");
    if (options->values[OPTION_FOR].given)
        return run_refuse(run, "--blank asks for the whole round: leave --for out");
    if (options->arguments.count > 1)
        return run_refuse(run, "sheet --blank wants one machine file, or none");
    if (options->arguments.count) {
        const struct opened *opened = opened_machine(run, options->arguments.items[0]);
        if (!opened)
            return EXIT_TROUBLE;
        machine_file_form(run->arena, &opened->checking, opened->file, &blank);
    } else {
        wall_write_form(&blank, run->arena, &(struct wall_form){0});
    }
    output_write(run->out, buffer_view(&blank));
    return EXIT_CLEAN;
}

enum exit_status command_sheet(struct run *run)
{
    const struct options *options = &run->options;
    size_t form;
    const char *wrong = find_form(run, &form);
    if (wrong)
        return run_refuse(run, "%s", wrong);
    if (options->values[OPTION_BLANK].given)
        return print_blank(run, form);
    if (options->arguments.count != 1)
        return run_refuse(run, "sheet wants one machine file");
    const struct opened *opened = opened_machine(run, options->arguments.items[0]);
    if (!opened)
        return EXIT_TROUBLE;
    const struct wall_asked asked = {
        .cutter = options->values[OPTION_FOR].text,
        .drawn = form == FORM_SVG,
    };
    struct buffer sheet;
    size_t errors;
    buffer_init(&sheet, run->arena);
    wrong = machine_file_sheet(run->arena, &opened->checking, opened->file, &asked, &sheet,
                               &errors);
    if (wrong)
        return run_refuse(run, "%s", wrong);
    output_write(run->out, buffer_view(&sheet));
    return errors ? EXIT_FINDINGS : EXIT_CLEAN;
}
