/* Every unit of the table against UDUNITS-2.
 *
 * Source: UDUNITS-2 and its database (Debian packages libudunits2-dev, libudunits2-data).  Its
 * `rad` is the angle.  It has no steps, which count 1 here, calls a thou a mil, and has the
 * ounce-force with seven digits only.
 */
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <udunits2.h>

#include "quantity/unit.h"

static const struct {
    const char *ours, *theirs;
} words[] = {
    {"step", "1"}, {"steps", "1"}, {"thou", "mil"}, {"rev", "revolution"}, {"deg", "degree"},
};

/* A unit's text in the words of UDUNITS. */
static void spell(const char *text, char *out, size_t room)
{
    size_t size = 0;
    while (*text && size + 16 < room) {
        size_t word = 0;
        while (isalpha((unsigned char)text[word]))
            word++;
        if (word == 0) {
            out[size++] = *text++;
            continue;
        }
        const char *name = NULL;
        for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
            if (strlen(words[i].ours) == word && memcmp(words[i].ours, text, word) == 0)
                name = words[i].theirs;
        size_t copied = name ? strlen(name) : word;
        memcpy(out + size, name ? name : text, copied);
        size += copied;
        text += word;
    }
    out[size] = '\0';
}

static ut_unit *parsed(const ut_system *database, const char *text)
{
    char theirs[128];
    spell(text, theirs, sizeof theirs);
    ut_unit *unit = ut_parse(database, theirs, UT_UTF8);
    if (!unit)
        printf("%s: UDUNITS does not know %s\n", text, theirs);
    return unit;
}

/* 1 where they disagree. */
static int compare(const ut_system *database, struct arena *arena, unit_id id)
{
    struct dimension d = unit_dimension(id);
    ut_unit *from = parsed(database, unit_text(id));
    ut_unit *to = parsed(database, dimension_symbols(d, arena));
    cv_converter *converter = from && to ? ut_get_converter(from, to) : NULL;
    int wrong = 1;
    if (converter) {
        double theirs = cv_convert_double(converter, 1), ours = unit_to_si(id, d, 1);
        double room = strstr(unit_text(id), "ozf") ? 2e-7 : 1e-15;
        wrong = !(fabs(theirs - ours) <= room * fabs(theirs));
        if (wrong)
            printf("%s: %.17g, UDUNITS says %.17g\n", unit_text(id), ours, theirs);
        cv_free(converter);
    } else {
        printf("%s: no way to SI\n", unit_text(id));
    }
    ut_free(from);
    ut_free(to);
    return wrong;
}

int main(void)
{
    struct arena arena;
    arena_init(&arena, NULL);
    ut_set_error_message_handler(ut_ignore);
    ut_system *database = ut_read_xml(NULL);
    if (!database) {
        printf("SKIP: the database of UDUNITS is not there\n");
        return 77;
    }
    int count = 0, wrong = 0;
    for (unit_id id = 1; unit_text(id)[0]; id++, count++)
        wrong += compare(database, &arena, id);
    printf("%d units, %d differ\n", count, wrong);
    ut_free_system(database);
    arena_free(&arena);
    return wrong || count < 100;
}
