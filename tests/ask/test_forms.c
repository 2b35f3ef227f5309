/* What is on forms of measuring, and in which order. */
#include <criterion/criterion.h>

#include "ask/questions.h"
#include "ask/walk.h"

static struct arena kept;

static const struct walk *new_walk(void)
{
    arena_init(&kept, NULL);
    struct walk *walk = ARENA_NEW(&kept, struct walk);
    walk_first(&kept, walk);
    return walk;
}

static size_t rows_about(const struct walk *walk, enum field_id id)
{
    size_t count = 0;
    for (size_t i = 0; i < WALK_STOPS; i++)
        for (size_t k = 0; k < walk->stops[i].rows.count; k++)
            count += walk->stops[i].rows.items[k].place.field == id;
    return count;
}

/* Whoever has only paper has to be told when a row is none of his. */
Test(forms, every_condition_has_words)
{
    const struct walk *walk = new_walk();
    for (size_t i = 0; i < WALK_STOPS; i++)
        for (size_t k = 0; k < walk->stops[i].rows.count; k++) {
            const struct walk_row *row = &walk->stops[i].rows.items[k];
            cr_expect(row->when == WHEN_ALWAYS || row->only, "%s", row->path);
            cr_expect_not_null(row->path);
        }
    arena_free(&kept);
}

/* What the prompt asks before it offers more is on it, but the name, which stands at its head.
 */
Test(forms, what_is_asked_first_has_rows)
{
    const struct walk *walk = new_walk();
    struct question_list list;
    size_t rows = 0;
    question_rows(&kept, &list);
    for (size_t i = 0; i < list.rows.count; i++) {
        const struct question *row = list.rows.items[i];
        if (row->what >= FIELD_COUNT || (row->flags & ASK_OFFERED))
            continue;
        size_t found = rows_about(walk, (enum field_id)row->what);
        enum field_group group = field_table[row->what].group;
        size_t wanted = row->what == FIELD_MACHINE_NAME                ? 0
                        : group == GROUP_AXIS || group == GROUP_CUTTER ? 3
                        : group == GROUP_INPUT                         ? 2
                                                                       : 1;
        cr_expect_eq(found, wanted, "%s: %zu rows", field_path(&kept, row->what), found);
    }
    for (size_t i = 0; i < WALK_STOPS; i++)
        rows += walk->stops[i].rows.count;
    cr_expect_eq(rows, walk->count);
    arena_free(&kept);
}

/* By stop, then as a file has them, cutter by cutter. */
Test(forms, rows_stand_in_walking_order)
{
    const struct walk *walk = new_walk();
    static const char *const firsts[WALK_STOPS] = {"homing.order", "table.nose_contact",
                                                   "spindle.switched_by", "cutters[1].number",
                                                   "change.measures_with"};
    for (size_t i = 0; i < WALK_STOPS; i++)
        cr_expect_str_eq(walk->stops[i].rows.items[0].path, firsts[i]);
    const struct walk_stop *cutters = &walk->stops[3];
    for (size_t k = 1; k < cutters->rows.count; k++) {
        const struct field_place *one = &cutters->rows.items[k - 1].place;
        const struct field_place *next = &cutters->rows.items[k].place;
        cr_expect(one->record < next->record ||
                  (one->record == next->record && one->field < next->field));
    }
    cr_expect(cutters->care & CARE_COLLET);
    arena_free(&kept);
}
