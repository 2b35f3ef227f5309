/* Prints the dictionary of the program's targets: every key and path of a machine file, the
 * words of choices, the units, the names of the built-in rules. */
#include <stdio.h>

#include "machine/field.h"
#include "rules/rulebook.h"

static void print(const char *before, const char *word, size_t size, const char *after)
{
    printf("\"%s%.*s%s\"\n", before, (int)size, word, after);
}

static void print_units(struct dimension dimension)
{
    unit_id units[64];
    size_t count = unit_choices(dimension, units, 64);
    for (size_t i = 0; i < count && i < 64; i++)
        print(" ", unit_text(units[i]), strlen(unit_text(units[i])), "");
}

static void print_words(const char *words)
{
    for (size_t size; words && *words; words += size + (words[size] != '\0')) {
        size = strcspn(words, " ");
        print("", words, size, "");
    }
}

static const char *const beside_readings[] = {
    "readings: [", "instrument_error: ", "with: ", "by: ", "on: 2026-10-10"};

int main(void)
{
    struct arena arena;
    arena_init(&arena, NULL);
    for (size_t i = 0; i < sizeof beside_readings / sizeof *beside_readings; i++)
        print("", beside_readings[i], strlen(beside_readings[i]), "");
    for (int i = 0; i < FIELD_COUNT; i++) {
        const struct field *field = &field_table[i];
        const char *path = field_path(&arena, (enum field_id)i);
        const char *key = strrchr(path, '.') ? strrchr(path, '.') + 1 : path;
        print("", path, strlen(path), "=");
        print("", key, strcspn(key, "["), ": ");
        print_units(field->dimension);
        print_words(field->choices);
    }
    for (int i = 0; i < GROUP_COUNT; i++)
        print("", group_table[i].key, strlen(group_table[i].key), ":\\x0a");
    for (uint32_t i = 0; i < builtin_rulebook.rule_count; i++) {
        const char *name = builtin_rulebook.rules[i].name;
        print("", name, strlen(name), "");
    }
    arena_free(&arena);
    return 0;
}
