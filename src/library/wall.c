/* The sheet of one file. */
#include "wall/wall.h"

#include <math.h>

#include "draw/sheet.h"
#include "draw/svg.h"
#include "library/machine_file.h"
#include "wall/claims.h"

/* The change that it shows: of the cutter it is for, else that which comes nearest to anything.
 */
static void find_change(struct arena *arena, const struct machine_file *file,
                        const struct wall_asked *asked, struct dryrun *dryrun,
                        struct wall *wall)
{
    enum change_part part;
    const struct change_asked change = {.to = asked->cutter};
    wall->no_change = machine_file_change(arena, file, &change, dryrun, &part);
    wall->dryrun = wall->no_change ? NULL : dryrun;
}

/* Plan and view from the front, both at one scale. */
static void make_scenes(struct arena *arena, const struct wall *wall, struct scene scenes[2])
{
    uint32_t first = wall->file->machine.groups[GROUP_CUTTER].count ? 0 : RECORD_NONE;
    struct drawing drawing = {.machine = &wall->file->machine,
                              .path = wall->name,
                              .report = wall->report,
                              .change = wall->dryrun ? wall->dryrun->change : NULL,
                              .no_change = wall->no_change,
                              .cutter = wall->dryrun ? wall->dryrun->change->request.to
                                        : wall->cutter != RECORD_NONE ? wall->cutter
                                                                      : first};
    scene_make(&scenes[0], arena, &drawing);
    drawing.side = true;
    scene_make(&scenes[1], arena, &drawing);
    double scale =
        fmin(sheet_main_scale(arena, &scenes[0]), sheet_main_scale(arena, &scenes[1]));
    scenes[0].scale = scenes[1].scale = scale;
}

static void write_page(struct buffer *out, struct arena *arena,
                       const struct check_options *options, struct wall *wall,
                       struct scene scenes[2])
{
    struct round_plan round;
    round_of_report(arena, options, &wall->file->machine, wall->report, &round);
    wall->round = &round;
    for (int i = 0; i < 2; i++)
        scenes[i].paper = WALL_DRAWING;
    wall->plan = &scenes[0];
    wall->side = &scenes[1];
    wall_write(out, arena, wall);
}

static const char *day_text(struct arena *arena, double today)
{
    const struct field_value day = {.state = VALUE_GIVEN, .si = today};
    return isfinite(today) ? field_value_text(arena, FIELD_TABLE_MEASURED_ON, &day) : NULL;
}

/* Without its folders. */
static const char *name_of(const struct machine_file *file)
{
    const char *slash = strrchr(file->path, '/');
    return slash && slash[1] ? slash + 1 : file->path;
}

static void check_all(struct arena *arena, const struct check_options *options,
                      struct machine_file *file, struct file_report *report)
{
    struct check_options checking = *options;
    checking.show = SHOW_DEFAULT; /* of what holds, the tightest of each rule */
    checking.words = true;
    checking.remedies = true;
    checker_check_machine(checker_new(arena, &checking), arena, &file->machine, &file->sink,
                          report);
}

const char *machine_file_sheet(struct arena *arena, const struct check_options *options,
                               struct machine_file *file, const struct wall_asked *asked,
                               struct buffer *out, size_t *errors)
{
    struct file_report report;
    struct dryrun dryrun;
    struct scene *scenes = ARENA_ARRAY(arena, struct scene, 2);
    struct wall wall = {.file = file,
                        .name = name_of(file),
                        .report = &report,
                        .today = day_text(arena, options->today),
                        .cutter = RECORD_NONE};
    const char *wrong =
        asked->cutter ? machine_file_cutter(arena, file, asked->cutter, &wall.cutter) : NULL;
    if (wrong)
        return wrong;
    find_change(arena, file, asked, &dryrun, &wall);
    check_all(arena, options, file, &report);
    dryrun.errors = *errors = report.findings_by_level[LEVEL_ERROR];
    if (asked->drawn || wall.cutter == RECORD_NONE)
        make_scenes(arena, &wall, scenes);
    if (asked->drawn)
        svg_write_both(out, arena, &scenes[0], &scenes[1]);
    else
        write_page(out, arena, options, &wall, scenes);
    return NULL;
}

/* The cutter that a page is about: by its number, as `sheet --for` has it. */
static bool find_cutter(struct arena *arena, const struct machine_file *file,
                        const struct sheet_state *state, uint32_t *cutter)
{
    *cutter = RECORD_NONE;
    return !*state->cutter || !machine_file_cutter(arena, file, state->cutter, cutter);
}

const char *machine_file_compare(struct arena *arena, const struct check_options *options,
                                 struct machine_file *file, const char *name, struct view page,
                                 struct sheet_comparison *out)
{
    struct wall_claims then, now = {.items = {0}};
    struct file_report report;
    struct wall wall = {
        .file = file, .report = &report, .today = day_text(arena, options->today)};
    const char *wrong = wall_claims_read(arena, page, &then);
    if (wrong)
        return arena_format(arena, "%s cannot be compared: %s", name, wrong);
    check_all(arena, options, file, &report);
    bool there = find_cutter(arena, file, &then.state, &wall.cutter);
    wall_claims(arena, &wall, &now);
    if (!there)
        now.items.count = 0; /* the cutter is gone, and all that the page says of it */
    wall_compare(arena, &then, &now, out);
    out->sheet = name;
    return NULL;
}

void machine_file_form(struct arena *arena, const struct check_options *options,
                       struct machine_file *file, struct buffer *out)
{
    struct round_plan round;
    struct walk_elsewhere elsewhere = {0};
    round_find(arena, options, &file->machine, &round);
    walk_set_apart(arena, file, &round, &elsewhere);
    const struct wall_form form = {.file = file,
                                   .name = name_of(file),
                                   .today = day_text(arena, options->today),
                                   .round = &round,
                                   .elsewhere = &elsewhere};
    wall_write_form(out, arena, &form);
}
