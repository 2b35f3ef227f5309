/* The yardstick of the benchmark: reads each file named and walks libyaml's events, nothing more.
 *
 * What any checker over libyaml must at least do.  Compared with the program in instructions.
 */
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>

#include <yaml.h>

static unsigned char *whole_file(const char *path, size_t *size)
{
    FILE *file = fopen(path, "rb");
    if (!file || fseek(file, 0, SEEK_END))
        return NULL;
    long end = ftell(file);
    unsigned char *bytes = end > 0 ? malloc((size_t)end) : NULL;
    rewind(file);
    *size = bytes ? fread(bytes, 1, (size_t)end, file) : 0;
    fclose(file);
    return bytes;
}

static long count_events(const unsigned char *bytes, size_t size)
{
    yaml_parser_t parser;
    yaml_event_t event;
    long count = 0;
    if (!yaml_parser_initialize(&parser))
        return 0;
    yaml_parser_set_input_string(&parser, bytes, size);
    for (bool more = true; more; count++) {
        if (!yaml_parser_parse(&parser, &event))
            break;
        more = event.type != YAML_STREAM_END_EVENT;
        yaml_event_delete(&event);
    }
    yaml_parser_delete(&parser);
    return count;
}

int main(int argc, char **argv)
{
    long events = 0;
    for (int i = 1; i < argc; i++) {
        size_t size;
        unsigned char *bytes = whole_file(argv[i], &size);
        if (!bytes)
            return 2;
        events += count_events(bytes, size);
        free(bytes);
    }
    printf("%ld events\n", events);
    return 0;
}
