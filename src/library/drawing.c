/* The drawing of one file. */
#include "library/machine_file.h"

#include "draw/svg.h"
#include "quantity/number.h"
#include "text/escape.h"

enum { SHOWN = 40 };

/* Which step is meant, by the numbers of `dryrun`. */
static const char *find_step(struct arena *arena, const char *typed, struct drawing *drawing)
{
    const struct change *change = drawing->change;
    if (!change)
        return arena_format(arena, "no step can be drawn: %s", drawing->no_change);
    uint32_t first = change->moves[0].kind == MOVE_REFERENCE ? 0 : 1;
    uint32_t last = first + change->count - 1;
    double wanted;
    size_t used;
    struct view text = view_trim(view_of(typed));
    if (number_read(text, &wanted, &used) != NUMBER_OK || used != text.size || wanted < first ||
        wanted > last || wanted != (uint32_t)wanted)
        return arena_format(arena, "%s is no step of this change, whose steps go from %u to %u",
                            escape_short(arena, text, SHOWN), first, last);
    drawing->step = (uint32_t)wanted - first;
    drawing->has_step = true;
    return NULL;
}

/* The change that the drawing shows; without one, why. */
static void find_change(struct arena *arena, const struct machine_file *file,
                        const char *cutter, struct drawing *drawing)
{
    struct dryrun dryrun;
    enum change_part part;
    const struct change_asked change = {.to = cutter};
    drawing->no_change = machine_file_change(arena, file, &change, &dryrun, &part);
    if (drawing->no_change)
        return;
    drawing->change = dryrun.change;
    drawing->cutter = dryrun.change->request.to;
}

const char *machine_file_draw(struct arena *arena, const struct check_options *options,
                              struct machine_file *file, const struct drawing_asked *asked,
                              struct buffer *out, size_t *errors)
{
    struct check_options checking = *options;
    struct file_report report;
    struct drawing drawing = {.machine = &file->machine,
                              .path = file->path,
                              .report = &report,
                              .cutter =
                                  file->machine.groups[GROUP_CUTTER].count ? 0 : RECORD_NONE,
                              .side = asked->side};
    const char *wrong =
        asked->cutter ? machine_file_cutter(arena, file, asked->cutter, &drawing.cutter) : NULL;
    if (wrong)
        return wrong;
    find_change(arena, file, asked->cutter, &drawing);
    if (asked->step && (wrong = find_step(arena, asked->step, &drawing)))
        return wrong;
    checking.show = SHOW_FAILED;
    checking.words = true;
    checking.remedies = !asked->quick; /* they tell which number explains the others */
    checker_check_machine(checker_new(arena, &checking), arena, &file->machine, &file->sink,
                          &report);
    *errors = report.findings_by_level[LEVEL_ERROR];
    svg_write(out, arena, &drawing);
    return NULL;
}
