/* Values of fields as the reader takes them, for the tests of schemas.
 *
 *     read <LINES
 *
 * A line is the path of a field, a tab, and what somebody types there; for each a line is
 * printed: `taken`, or why not.
 */
#include <stdio.h>

#include "machine/machine.h"

int main(void)
{
    enum { LINE_MOST = 4096 };
    static char line[LINE_MOST];
    while (fgets(line, sizeof line, stdin)) {
        struct arena arena;
        struct field_value value;
        struct view text = view_of(line), path;
        arena_init(&arena, NULL);
        if (text.size && text.data[text.size - 1] == '\n')
            text.size--;
        path = view_take(&text, '\t');
        enum field_id id = field_find(path);
        const char *wrong =
            id == FIELD_COUNT ? "no such field" : field_read_text(&arena, id, text, &value);
        puts(wrong ? wrong : "taken");
        arena_free(&arena);
    }
    return 0;
}
