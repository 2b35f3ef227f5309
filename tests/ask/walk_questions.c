/* A program of somebody else's: answers the questions of the library with the lines of its input,
 * and prints the file.
 *
 *     walk-questions [FILE] < LINES
 *
 * Standard error gets what stood before each answer, and at the end, each as JSON and a NUL.  Every
 * third question is left and begun again from the draft. */
#include <proveout/questions.h>

#include <stdio.h>
#include <string.h>

static char base[1 << 20], draft[1 << 20], line[1 << 16];

static void tell(struct proveout_questions *questions)
{
    size_t size = 0;
    const char *json = proveout_questions_json(questions, &size);
    if (json)
        fwrite(json, 1, size + 1, stderr);
}

static struct proveout_questions *open_again(struct proveout_questions *questions, size_t base_size,
                                             size_t number)
{
    struct proveout_questions_options options = {sizeof options, "shed.yaml", 9, "2027-03-31", 10,
                                                 draft, 0};
    const char *kept = proveout_questions_draft(questions, &options.draft_size);
    if (questions && (number % 3 || !kept || options.draft_size > sizeof draft))
        return questions;
    if (kept)
        memcpy(draft, kept, options.draft_size);
    proveout_questions_close(questions);
    return proveout_questions_open(base, base_size, &options);
}

int main(int argc, char **argv)
{
    size_t size = 0, base_size = 0;
    if (argc > 1) {
        FILE *file = fopen(argv[1], "rb");
        if (!file)
            return 2;
        base_size = fread(base, 1, sizeof base, file);
        fclose(file);
    }
    if (proveout_questions_state(NULL) != PROVEOUT_QUESTIONS_NO_MEMORY ||
        proveout_questions_json(NULL, &size) || proveout_questions_file(NULL, NULL) ||
        proveout_questions_draft(NULL, NULL) ||
        proveout_questions_answer(NULL, "", 0) != PROVEOUT_QUESTIONS_NO_MEMORY)
        return 2;
    struct proveout_questions *questions = open_again(NULL, base_size, 0);
    for (size_t number = 1; fgets(line, sizeof line, stdin); number++) {
        questions = open_again(questions, base_size, number);
        tell(questions);
        proveout_questions_answer(questions, line, strcspn(line, "\n"));
    }
    tell(questions);
    const char *file = proveout_questions_file(questions, &size);
    /* after the file, for which memory may run out too */
    enum proveout_questions_state state = proveout_questions_state(questions);
    fwrite(file ? file : "", 1, size, stdout);
    proveout_questions_close(questions);
    proveout_questions_close(NULL);
    return (int)state;
}
