/* Prints what the reader makes of a file, for comparing with what others make of it.
 *
 *     dump FILE...
 *
 * For each file a line "= STATUS", then the tree in the event notation of the YAML test suite
 * (`+MAP`,
 * `=VAL :text`, ...), then one line `! NAME OFFSET MESSAGE` for each finding, then an empty
 * line.
 */
#include "../../tree/invariants.h"

#include <stdio.h>
#include <stdlib.h>

enum { FILE_MAX = 1 << 20 };

static void print_text(char mark, struct view text)
{
    printf("=VAL %c", mark);
    for (size_t i = 0; i < text.size; i++) {
        static const char plain[] = "\\\n\t\r\b", shown[] = "\\ntrb";
        const char *at = text.data[i] ? strchr(plain, text.data[i]) : NULL;
        if (at)
            printf("\\%c", shown[at - plain]);
        else
            putchar(text.data[i]);
    }
    putchar('\n');
}

static void print_node(const struct source *source, const struct tree_node *node);

static void print_children(const struct source *source, const struct tree_node *node)
{
    for (const struct tree_node *child = node->first; child; child = child->next) {
        if (node->kind == TREE_MAP) {
            struct view key = source_slice(source, child->key_span);
            if (key.size && key.data[0] == '*')
                printf("=ALI %.*s\n", VIEW(key));
            else
                print_text(key.size && strchr("'\"|>", key.data[0]) ? key.data[0] : ':',
                           child->key);
        }
        print_node(source, child);
    }
}

static void print_node(const struct source *source, const struct tree_node *node)
{
    struct view slice = source_slice(source, node->span);
    switch ((enum tree_kind)node->kind) {
    case TREE_TEXT:
        print_text(node->style == STYLE_PLAIN || slice.size == 0 ? ':' : slice.data[0],
                   node->text);
        break;
    case TREE_ALIAS:
        printf("=ALI %.*s\n", VIEW(slice));
        break;
    case TREE_MAP:
        puts("+MAP");
        print_children(source, node);
        puts("-MAP");
        break;
    case TREE_LIST:
        puts("+SEQ");
        print_children(source, node);
        puts("-SEQ");
        break;
    }
}

static bool dump(struct view name, struct view bytes)
{
    static const char *const words[] = {"whole", "partial", "unreadable"};
    struct arena arena;
    struct source source;
    struct finding_sink sink;
    struct tree tree;
    arena_init(&arena, NULL);
    source_init(&source, &arena, name, bytes);
    sink_init(&sink, &arena, &source);
    tree_read(&tree, &arena, &source, &sink);
    printf("= %s\n", words[tree.status]);
    if (tree.root)
        print_node(&source, tree.root);
    for (size_t i = 0; i < sink.findings.count; i++) {
        const struct finding *finding = &sink.findings.items[i];
        printf("! %s %u-%u %s\n", finding->rule, (unsigned)finding->at.span.start,
               (unsigned)finding->at.span.end, finding->message);
    }
    putchar('\n');
    struct span where;
    const char *fault = tree_fault(&tree, &where);
    if (!fault)
        fault = findings_fault(&sink, &where);
    if (fault)
        fprintf(stderr, "%.*s: expected at %u-%u: %s\n", VIEW(name), (unsigned)where.start,
                (unsigned)where.end, fault);
    arena_free(&arena);
    return fault == NULL;
}

int main(int count, char **names)
{
    char *bytes = malloc(FILE_MAX);
    if (!bytes)
        return 1;
    bool holds = true;
    for (int i = 1; i < count; i++) {
        FILE *file = fopen(names[i], "rb");
        if (!file)
            return 1;
        size_t size = fread(bytes, 1, FILE_MAX, file);
        fclose(file);
        holds &= dump(view_of(names[i]), (struct view){bytes, size});
    }
    free(bytes);
    return holds ? 0 : 2;
}
