/* Rulebooks of any bytes, and whatever loads is proved: its examples run on the base machine.
 *
 * Beyond not crashing: a mistake lies within the file, in order, and says something printable;
 * where there is none, there is a proof.
 */
#include "base/bug.h"
#include "rules/rulebook.h"
#include "text/utf8.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void look(const struct rulebook_mistakes *mistakes, size_t size)
{
    uint32_t last = 0;
    for (size_t i = 0; i < mistakes->list.count; i++) {
        const struct rulebook_mistake *mistake = &mistakes->list.items[i];
        struct place place =
            source_place(mistake->source, mistake->span.start, COLUMN_CODE_POINTS);
        BUG_UNLESS(place.line > 0 && place.column > 0);
        BUG_UNLESS(mistake->span.start <= mistake->span.end);
        if (strcmp(mistake->source->name.data, "fuzz.yaml") == 0) {
            BUG_UNLESS(mistake->span.end <= size && mistake->span.start >= last);
            last = mistake->span.start;
        }
        BUG_UNLESS(*mistake->message);
        BUG_UNLESS(utf8_check(view_of(mistake->message)) == strlen(mistake->message));
        for (const char *c = mistake->message; *c; c++)
            BUG_UNLESS((unsigned char)*c >= ' ' && *c != 0x7f);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct arena arena;
    arena_init(&arena, NULL);
    struct rulebook_mistakes mistakes = {.arena = &arena};
    const struct rulebook_text text = {"fuzz.yaml", (const char *)data, size};
    struct buffer tap;
    buffer_init(&tap, &arena);
    bool proved = rules_prove(&mistakes, &text, 1, true, &tap);
    look(&mistakes, size);
    BUG_UNLESS(!proved || mistakes.list.count == 0);
    BUG_UNLESS(mistakes.list.count ? tap.size == 0 : tap.size > 0);
    arena_free(&arena);
    return 0;
}
