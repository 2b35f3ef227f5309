/* Prints the table of units for gnu_units.py: a unit, how much it is in SI, and the SI unit. */
#include <stdio.h>

#include "quantity/number.h"
#include "quantity/unit.h"

int main(void)
{
    struct arena arena;
    arena_init(&arena, NULL);
    for (unit_id unit = 1; unit_text(unit)[0]; unit++) {
        struct dimension d = unit_dimension(unit);
        printf("%s\t%s\t%s\n", unit_text(unit), number_exact(&arena, unit_to_si(unit, d, 1)),
               dimension_symbols(d, &arena));
    }
    arena_free(&arena);
    return 0;
}
