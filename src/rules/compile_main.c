/* The build-time compiler of the built-in rulebooks: the same loader as at run time, its result
 * written as C tables.
 *
 *     compile-rules OUT.c FILE...
 *
 * Files that are no rulebook (the base machine of the examples) are carried along as texts
 * only: those whose first key is not `rulebook`.
 */
#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/bug.h"
#include "base/hash.h"
#include "quantity/number.h"
#include "rules/rulebook.h"

static char *read_whole(const char *path, size_t *size)
{
    FILE *file = fopen(path, "rb");
    if (!file) {
        fprintf(stderr, "%s: %s\n", path, strerror(errno));
        exit(2);
    }
    char *bytes = NULL;
    size_t capacity = 0;
    *size = 0;
    for (;;) {
        if (*size == capacity) {
            capacity = capacity ? capacity * 2 : 65536;
            bytes = realloc(bytes, capacity);
            if (!bytes)
                exit(2);
        }
        size_t got = fread(bytes + *size, 1, capacity - *size, file);
        if (got == 0)
            break;
        *size += got;
    }
    if (ferror(file) || fclose(file) != 0) {
        fprintf(stderr, "%s: cannot be read\n", path);
        exit(2);
    }
    return bytes;
}

static const char *base_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? slash + 1 : path;
}

/* Text as a C array: a string literal may not be this long. */
static void write_bytes(FILE *out, const char *name, const char *bytes, size_t size)
{
    fprintf(out, "static const char %s[] = {", name);
    for (size_t i = 0; i < size; i++)
        fprintf(out, "%s%d,", i % 24 ? "" : "\n    ", (signed char)bytes[i]);
    fprintf(out, "\n    0};\n\n");
}

static void write_string(FILE *out, const char *text)
{
    if (!text) {
        fputs("NULL", out);
        return;
    }
    fputc('"', out);
    for (const unsigned char *c = (const unsigned char *)text; *c; c++) {
        if (*c == '"' || *c == '\\' || *c == '?')
            fprintf(out, "\\%c", *c);
        else if (*c == '\n')
            fputs("\\n", out);
        else if (*c < 0x20 || *c >= 0x7f)
            fprintf(out, "\\%03o", *c);
        else
            fputc(*c, out);
    }
    fputc('"', out);
}

static void write_dimension(FILE *out, struct dimension d)
{
    fprintf(out, "{%d, %d, %d, %d, %d}", d.length, d.mass, d.time, d.angle, d.step);
}

static void write_program(FILE *out, struct arena *arena, const struct program *program)
{
    fprintf(out, "static const struct formula_node nodes[] = {\n");
    for (uint32_t i = 0; i < program->node_count; i++) {
        const struct formula_node *n = &program->nodes[i];
        fprintf(out, "    {%u, %u, %u, %u, ", n->op, n->type, n->kind, n->part);
        write_dimension(out, n->dimension);
        fprintf(out, ", %u, %uu, %uu, %uu, %u, %u, %s},\n", n->leaf, n->a, n->b, n->c, n->text,
                n->text_size, number_exact(arena, n->number));
    }
    fprintf(out, "};\n\nstatic const struct formula_call calls[] = {\n");
    for (uint32_t i = 0; i < program->call_count; i++) {
        const struct formula_call *c = &program->calls[i];
        fprintf(out, "    {%uu, %u, %u, %d, %u, %u},\n", c->body, c->first_slot, c->parameters,
                c->keeps, c->name, c->name_size);
    }
    fprintf(out, "};\n\n");
    write_bytes(out, "text", program->text, program->text_size);
}

static void write_rule(FILE *out, const struct rule *rule)
{
    const char *const strings[] = {rule->name,   rule->why,       rule->put_right,
                                   rule->source, rule->when_text, rule->each_text};
    fprintf(out, "    {");
    for (size_t i = 0; i < sizeof strings / sizeof strings[0]; i++) {
        write_string(out, strings[i]);
        fprintf(out, ",\n     ");
    }
    fprintf(out, "%u, %u, %u, %u, %uu, %u, %u, %u, %u, %u,\n     {", rule->level, rule->hurts,
            rule->chosen_stack, rule->when_each, rule->when, rule->slot, rule->domain,
            rule->first_requirement, rule->requirement_count, rule->put_right_message);
    for (size_t i = 0; i < RULE_IMPLIED_MAX; i++) {
        write_string(out, rule->implied_by[i]);
        fprintf(out, i + 1 < RULE_IMPLIED_MAX ? ", " : "}},\n");
    }
}

static void write_rules(FILE *out, const struct rulebook *book)
{
    fprintf(out, "static const struct rule rules[] = {\n");
    for (uint32_t i = 0; i < book->rule_count; i++)
        write_rule(out, &book->rules[i]);
    fprintf(out, "};\n\nstatic const struct requirement requirements[] = {\n");
    for (uint32_t i = 0; i < book->requirement_count; i++) {
        const struct requirement *r = &book->requirements[i];
        fprintf(out, "    {%uu, %uu, %u, %u, %u, %u, %u, %u, ", r->node, r->blame, r->says,
                r->level, r->has_margin, r->blames_each, r->has_room, r->has_dates);
        write_dimension(out, r->dimension);
        fprintf(out, "},\n");
    }
    fprintf(out, "};\n\nstatic const struct message messages[] = {\n");
    for (uint32_t i = 0; i < book->message_count; i++)
        fprintf(out, "    {%u, %u},\n", book->messages[i].first, book->messages[i].count);
    fprintf(out, "};\n\nstatic const struct message_piece pieces[] = {\n");
    for (uint32_t i = 0; i < book->piece_count; i++) {
        fprintf(out, "    {");
        write_string(out, book->pieces[i].text);
        fprintf(out, ", %uu},\n", book->pieces[i].node);
    }
    fprintf(out, "};\n\n");
}

static void write_book(FILE *out, struct arena *arena, const struct rulebook *book,
                       const struct rulebook_text *texts, size_t count)
{
    fprintf(out, "/* Made from rules/ by compile-rules; not to be edited. */\n"
                 "#include \"rules/rulebook.h\"\n\n");
    write_program(out, arena, &book->program);
    write_rules(out, book);
    fprintf(out,
            "const struct rulebook builtin_rulebook = {\n    \"the built-in rules\",\n"
            "    {nodes, %u, calls, %u, %u, %u, text, %u},\n"
            "    rules, %u, requirements, %u, messages, %u, pieces, %u};\n\n",
            book->program.node_count, book->program.call_count, book->program.slot_count,
            book->program.place_count, book->program.text_size, book->rule_count,
            book->requirement_count, book->message_count, book->piece_count);
    for (size_t i = 0; i < count; i++) {
        char name[32];
        snprintf(name, sizeof name, "file_%zu", i);
        write_bytes(out, name, texts[i].bytes, texts[i].size);
    }
    fprintf(out, "const struct rulebook_text builtin_texts[] = {\n");
    for (size_t i = 0; i < count; i++)
        fprintf(out, "    {\"rules/%s\", file_%zu, %zu},\n", base_name(texts[i].name), i,
                texts[i].size);
    fprintf(out, "};\nconst size_t builtin_text_count = %zu;\n", count);
}

/* What tells the rules of one build from those of another: the FNV-1a hash, 64 bits, of all
 * files in their order, each as its name and a line feed before its bytes.  Carriage returns do
 * not count, which some systems put at the ends of lines.  That hash is here already, and
 * people compare 16 digits with each other; it is no signature, and keeps nobody from making
 * another file to fit. */
static void write_fingerprint(FILE *out, struct arena *arena, const struct rulebook_text *texts,
                              size_t count)
{
    struct buffer all;
    buffer_init(&all, arena);
    for (size_t i = 0; i < count; i++) {
        buffer_text(&all, base_name(texts[i].name));
        buffer_text(&all, "\n");
        for (size_t k = 0; k < texts[i].size; k++) {
            if (texts[i].bytes[k] != '\r')
                buffer_byte(&all, texts[i].bytes[k]);
        }
    }
    fprintf(out, "\nconst char builtin_fingerprint[] = \"%016" PRIx64 "\";\n",
            hash_bytes(buffer_view(&all)));
}

int main(int argc, char **argv)
{
    if (argc < 3) {
        fprintf(stderr, "usage: compile-rules OUT.c FILE...\n");
        return 2;
    }
    struct arena arena;
    arena_init(&arena, NULL);
    size_t count = (size_t)argc - 2, books = 0;
    struct rulebook_text *texts = ARENA_ARRAY(&arena, struct rulebook_text, count);
    struct rulebook_text *rules = ARENA_ARRAY(&arena, struct rulebook_text, count);
    for (size_t i = 0; i < count; i++) {
        size_t size;
        char *bytes = read_whole(argv[i + 2], &size);
        texts[i] = (struct rulebook_text){argv[i + 2], arena_copy(&arena, bytes, size), size};
        free(bytes);
        if (rulebook_is_text(&texts[i]))
            rules[books++] = texts[i];
    }
    struct rulebook_mistakes mistakes = {.arena = &arena};
    struct rulebook book;
    if (!rulebook_load(&mistakes, rules, books, NULL, 0, &book)) {
        fprintf(stderr, "%s\n", rulebook_mistakes_text(&mistakes, buffer_add));
        return 1;
    }
    FILE *out = fopen(argv[1], "wb");
    if (!out) {
        fprintf(stderr, "%s: %s\n", argv[1], strerror(errno));
        return 2;
    }
    write_book(out, &arena, &book, texts, count);
    write_fingerprint(out, &arena, texts, count);
    bool failed = ferror(out) != 0;
    failed |= fclose(out) != 0;
    arena_free(&arena);
    return failed ? 2 : 0;
}
