#include "wall/wall.h"

#include "ask/sheet.h"
#include "draw/letters.h"
#include "draw/svg.h"
#include "proveout/version.h"
#include "wall/internal.h"
#include "wall/style.h"
#include "text/escape.h"

/* Over every page; one that is too long stands whole in the first paragraph. */
static const char *title_of(const struct poster *poster)
{
    enum { TITLE_LETTERS = 44 };
    const char *name =
        text_cut(poster->arena, view_of(wall_machine_name(poster->arena, poster->machine)),
                 TITLE_LETTERS);
    return poster->subject
               ? arena_format(poster->arena, "Sheet of %s: %s", name, poster->subject)
               : arena_format(poster->arena, "Sheet of %s", name);
}

const char *wall_state(struct arena *arena, const char *name, const char *today,
                       const struct machine_file *file)
{
    return arena_format(arena, "%s as of %s, file %s, proveout " PROVEOUT_VERSION ".", name,
                        today ? today : "____-__-__", sheet_fingerprint(arena, file));
}

void wall_add_state(struct poster *poster)
{
    const struct wall *wall = poster->wall;
    const struct file_report *report = wall->report;
    struct arena *arena = poster->arena;
    const char *name = wall_machine_name(poster->arena, poster->machine);
    if (!strstr(poster->paper.title, name))
        paper_text(&poster->paper, name, true);
    paper_text(
        &poster->paper,
        arena_format(arena,
                     "%s\nCheck: %s. A clean check is no promise, and this sheet is of the "
                     "file, not of the machine.",
                     wall_state(arena, wall->name, wall->today, wall->file),
                     text_levels(arena, report->findings_by_level)),
        report->findings_by_level[LEVEL_ERROR] > 0);
}

/* Where there is little room. */
static void add_paragraph(struct poster *poster, const struct told_list *sentences)
{
    struct buffer text;
    buffer_init(&text, poster->arena);
    for (size_t i = 0; i < sentences->items.count; i++)
        buffer_format(&text, "%s%s", i ? " " : "", sentences->items.items[i]);
    paper_text(&poster->paper, buffer_string(&text), false);
}

void wall_add_cautions(struct poster *poster)
{
    struct told_list cautions = {0};
    paper_heading(&poster->paper, "Before anything moves");
    VECTOR_ADD(poster->arena, &cautions.items, WALL_MANUALS);
    if (poster->wall->dryrun)
        tell_cautions(&poster->teller, &cautions);
    else
        VECTOR_ADD(poster->arena, &cautions.items,
                   "Hands go to the collet only while the spindle stands and cannot start: "
                   "isolate it. The first run is made in air, a hand on the stop.");
    if (poster->subject)
        add_paragraph(poster, &cautions);
    for (size_t i = 0; i < cautions.items.count && !poster->subject; i++)
        paper_item(&poster->paper, cautions.items.items[i], false);
}

void wall_open_page(struct buffer *out, const char *title, const char *head)
{
    buffer_text(out, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                     "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src "
                     "'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action "
                     "'none'\">\n<meta name=\"viewport\" content=\"width=device-width, "
                     "initial-scale=1\">\n<title>");
    escape_xml(out, view_of(title));
    buffer_format(out, "</title>\n%s<style>%s</style>\n</head>\n<body>\n<main>\n", head,
                  wall_style);
}

void wall_close_page(struct buffer *out)
{
    buffer_text(out, "</main>\n</body>\n</html>\n");
}

/* What fits the page shrinks the drawings too, and no number on them says so. */
static void add_measure(struct poster *poster)
{
    enum { MEASURE = 900 };
    struct buffer markup;
    buffer_init(&markup, poster->arena);
    buffer_text(&markup,
                "<div class=\"measure\"><svg xmlns=\"http://www.w3.org/2000/svg\" "
                "width=\"101mm\" height=\"5mm\" viewBox=\"0 0 101 5\" aria-hidden=\"true\" "
                "fill=\"none\" stroke=\"currentColor\" stroke-width=\"0.25\">"
                "<path d=\"M0.5 2.5L100.5 2.5M0.5 0.5L0.5 4.5M100.5 0.5L100.5 4.5\"/>"
                "<path d=\"M10.5 2.5l0 -1.2");
    for (int at = 2; at < 10; at++)
        buffer_format(&markup, "M%d0.5 2.5l0 -1.2", at);
    buffer_text(&markup, "\"/></svg><p>100 mm: measure it. Print at 100 %, not fitted to the "
                         "page.</p></div>\n");
    paper_markup(&poster->paper, buffer_string(&markup), MEASURE);
}

/* What fails first, then what is typed in and compared; the drawings lie beside the first run.
 */
static void add_parts(struct poster *poster)
{
    wall_add_state(poster);
    add_measure(poster);
    wall_add_cautions(poster);
    wall_add_findings(poster);
    wall_add_numbers(poster);
    wall_add_depths(poster);
    wall_add_margins(poster);
    wall_add_questions(poster);
    wall_add_again(poster);
    wall_add_drawings(poster);
    wall_add_first_run(poster);
}

static void add_cutter_parts(struct poster *poster)
{
    wall_add_state(poster);
    wall_add_cautions(poster);
    wall_add_cutter(poster);
    wall_add_depths(poster);
    wall_add_findings(poster);
    wall_add_descent(poster);
}

static void write_parts(struct poster *poster, const struct wall_claims *claims, bool dense)
{
    poster->paper =
        (struct paper){.arena = poster->arena, .title = title_of(poster), .dense = dense};
    if (poster->subject)
        add_cutter_parts(poster);
    else
        add_parts(poster);
    wall_add_claims(poster, claims);
}

void wall_write(struct buffer *out, struct arena *arena, const struct wall *wall)
{
    struct poster *poster = ARENA_NEW(arena, struct poster);
    struct wall_claims *claims = ARENA_NEW(arena, struct wall_claims);
    struct buffer mark;
    wall_open(poster, arena, wall);
    if (wall->dryrun)
        teller_open(&poster->teller, arena, wall->dryrun);
    wall_claims(arena, wall, claims);
    write_parts(poster, claims, false);
    if (poster->subject && paper_pages(&poster->paper) > 1)
        write_parts(poster, claims, true);
    buffer_init(&mark, arena);
    wall_claims_mark(&mark, &claims->state);
    wall_open_page(out, poster->paper.title, buffer_string(&mark));
    paper_finish(&poster->paper, out);
    wall_close_page(out);
}
