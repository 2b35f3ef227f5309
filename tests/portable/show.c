/* show FILE...: all that the library says about each file, to the last digit, for holding one
 * build against another. */
#include <proveout/text.h>

#include <stdio.h>

static void show(struct proveout_text *text)
{
    printf("%d %zu\n", (int)proveout_text_status(text), proveout_text_length(text));
    if (proveout_text_ends(text))
        fwrite(proveout_text_data(text), 1, proveout_text_length(text), stdout);
    else
        puts(proveout_text_trouble(text));
    proveout_text_free(text);
}

int main(int argc, char **argv)
{
    static char bytes[1 << 20];
    struct proveout_options options = {0};
    options.size = sizeof options;
    options.held = 1;
    for (int i = 1; i < argc; i++) {
        FILE *file = fopen(argv[i], "rb");
        if (!file)
            return 2;
        size_t size = fread(bytes, 1, sizeof bytes, file);
        fclose(file);
        show(proveout_report(argv[i], bytes, size, &options));
        show(proveout_windows(argv[i], bytes, size, NULL, 0, &options));
        show(proveout_dryrun(argv[i], bytes, size, NULL, &options));
        show(proveout_draw(argv[i], bytes, size, NULL, &options));
    }
    show(proveout_fields());
    return fflush(stdout) != 0;
}
