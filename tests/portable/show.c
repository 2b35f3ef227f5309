/* show FILE...: all that the library says about each file, every bit of it, for holding one
 * build against another. */
#include <proveout/check.h>

#include <stdio.h>
#include <stdlib.h>

static const char *or_none(const char *text)
{
    return text ? text : "-";
}

static void show(const char *name, const void *bytes, size_t size)
{
    struct proveout_options options = {1};
    struct proveout_result *result = proveout_check(name, bytes, size, &options);
    printf("%s: status %d\n", name, (int)proveout_status(result));
    for (size_t i = 0; i < proveout_count(result); i++) {
        const struct proveout_finding *f = proveout_finding(result, i);
        printf("%u:%u-%u:%u %s %d %d %s %s %a %s\n  %s\n  %s\n  %s\n", f->line, f->column,
               f->end_line, f->end_column, f->rule, (int)f->level, (int)f->outcome,
               or_none(f->subject), or_none(f->field), f->margin, or_none(f->margin_text),
               f->message, or_none(f->why), or_none(f->put_right));
    }
    proveout_free(result);
}

int main(int argc, char **argv)
{
    static char bytes[1 << 20];
    for (int i = 1; i < argc; i++) {
        FILE *file = fopen(argv[i], "rb");
        if (!file)
            return 2;
        show(argv[i], bytes, fread(bytes, 1, sizeof bytes, file));
        fclose(file);
    }
    return fflush(stdout) != 0;
}
