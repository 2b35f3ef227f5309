/* What more readings of a value would bring, told as soon as it was read several times: the rod
 * is in the collet then, and two more touches cost nothing.
 */
#include "ask/internal.h"

#include "machine/file.h"
#include "rules/round.h"

void show_better(struct ask *ask, const struct ask_entry *entry, const struct answer *answer)
{
    struct arena *arena = ask->scratch;
    struct machine_file *file = ARENA_NEW(arena, struct machine_file);
    struct field_place place;
    struct worth worth;
    struct view bytes;
    if (entry->row->what >= FIELD_COUNT || !answer_has_value(answer) ||
        !readings_stand((enum field_id)entry->row->what, answer->text) ||
        ask_bytes(ask, false, &bytes))
        return;
    machine_file_read(arena, ask->judge.path, bytes, ask->judge.shared, file);
    if (machine_resolve(arena, &file->machine, view_of(entry_path(ask, entry)), &place, 1) != 1)
        return;
    place = machine_stand_in(&file->machine, place.field, place.record);
    if (worth_find(arena, ask->setup->rules, &file->machine, &place, &worth) &&
        worth_pays(&worth))
        say_answer(ask, "%s.",
                   worth_text(arena, &worth,
                              machine_field(&file->machine, place.field, place.record)->unit));
}
