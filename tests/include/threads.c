/* Several threads ask the library at once, each something else about another machine: every
 * answer is the one that was given to one thread alone.  Built with -fsanitize=thread it also
 * tells of memory that two of them touch.
 *
 *     threads MACHINE ...
 */
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "proveout/check.h"
#include "proveout/questions.h"
#include "proveout/text.h"

enum { THREADS = 8, ROUNDS = 2, MACHINES_MAX = 64, SIZE_MAX_READ = 1 << 20 };

struct machine {
    const char *name;
    char *bytes;
    size_t size;
};

/* An answer as bytes of its own, terminated; to be freed. */
typedef char *ask(const struct machine *machine);

static char *copy(const char *text)
{
    size_t size = strlen(text) + 1;
    char *out = malloc(size);
    if (!out)
        abort();
    return memcpy(out, text, size);
}

static char *of_text(struct proveout_text *text)
{
    const char *said =
        proveout_text_ends(text) ? proveout_text_data(text) : proveout_text_trouble(text);
    char *out = copy(said ? said : "no memory");
    proveout_text_free(text);
    return out;
}

static char *ask_check(const struct machine *machine)
{
    struct proveout_options options = {.size = sizeof options, .held = 2};
    struct proveout_result *result =
        proveout_check(machine->name, machine->bytes, machine->size, &options);
    size_t room = 1;
    for (size_t i = 0; i < proveout_count(result); i++)
        room += strlen(proveout_finding(result, i)->message) + 1;
    char *out = calloc(room, 1), *at = out;
    if (!out)
        abort();
    for (size_t i = 0; i < proveout_count(result); i++) {
        const char *message = proveout_finding(result, i)->message;
        memcpy(at, message, strlen(message));
        at += strlen(message);
        *at++ = '\n';
    }
    proveout_free(result);
    return out;
}

static char *ask_report(const struct machine *machine)
{
    return of_text(proveout_report(machine->name, machine->bytes, machine->size, NULL));
}

static char *ask_windows(const struct machine *machine)
{
    const char *field = "change.standoff";
    return of_text(
        proveout_windows(machine->name, machine->bytes, machine->size, &field, 1, NULL));
}

static char *ask_dryrun(const struct machine *machine)
{
    return of_text(proveout_dryrun(machine->name, machine->bytes, machine->size, NULL, NULL));
}

static char *ask_drawing(const struct machine *machine)
{
    return of_text(proveout_draw(machine->name, machine->bytes, machine->size, NULL, NULL));
}

static char *ask_sheet(const struct machine *machine)
{
    return of_text(proveout_sheet(machine->name, machine->bytes, machine->size, NULL, NULL));
}

static char *ask_revise(const struct machine *machine)
{
    const struct proveout_setting setting = {"change.standoff", "13 mm"};
    return of_text(proveout_revise(machine->name, machine->bytes, machine->size, &setting, 1));
}

static char *ask_explain(const struct machine *machine)
{
    (void)machine;
    return of_text(proveout_explain("probe-stroke-short", NULL));
}

static char *ask_schema(const struct machine *machine)
{
    (void)machine;
    return of_text(proveout_schema());
}

static char *ask_questions(const struct machine *machine)
{
    static const char *const answers[] = {"back change.standoff", "19 mm", "nonsense", "on"};
    struct proveout_questions *asked =
        proveout_questions_open(machine->bytes, machine->size, NULL);
    for (size_t i = 0; i < sizeof answers / sizeof *answers; i++)
        proveout_questions_answer(asked, answers[i], strlen(answers[i]));
    const char *said = proveout_questions_json(asked, NULL);
    char *out = copy(said ? said : "nothing");
    proveout_questions_close(asked);
    return out;
}

static ask *const asks[] = {ask_check, ask_report, ask_windows, ask_dryrun, ask_drawing,
                            ask_sheet, ask_revise, ask_explain, ask_schema, ask_questions};

enum { ASKS = sizeof asks / sizeof *asks };

static struct machine machines[MACHINES_MAX];
static size_t machine_count;
static char *alone[MACHINES_MAX][ASKS];

/* Each begins elsewhere.  Returns how many answers were others, as a pointer. */
static void *ask_all(void *argument)
{
    size_t first = *(const size_t *)argument, wrong = 0, count = machine_count * ASKS;
    for (size_t i = 0; i < ROUNDS * count; i++) {
        size_t which = (first * count / THREADS + i) % count;
        const struct machine *machine = &machines[which / ASKS];
        char *answer = asks[which % ASKS](machine);
        wrong += strcmp(answer, alone[which / ASKS][which % ASKS]) != 0;
        free(answer);
    }
    return (void *)wrong;
}

static void read_machine(const char *path)
{
    FILE *file = fopen(path, "rb");
    struct machine *machine = &machines[machine_count++];
    *machine = (struct machine){.name = path, .bytes = malloc(SIZE_MAX_READ)};
    if (!file || !machine->bytes)
        abort();
    machine->size = fread(machine->bytes, 1, SIZE_MAX_READ, file);
    fclose(file);
}

int main(int argc, char **argv)
{
    pthread_t threads[THREADS];
    size_t firsts[THREADS], wrong = 0;
    for (int i = 1; i < argc && i <= MACHINES_MAX; i++)
        read_machine(argv[i]);
    for (size_t i = 0; i < machine_count; i++)
        for (size_t j = 0; j < ASKS; j++)
            alone[i][j] = asks[j](&machines[i]);
    for (size_t i = 0; i < THREADS; i++) {
        firsts[i] = i;
        if (pthread_create(&threads[i], NULL, ask_all, &firsts[i]) != 0)
            abort();
    }
    for (size_t i = 0; i < THREADS; i++) {
        void *found;
        pthread_join(threads[i], &found);
        wrong += (size_t)found;
    }
    for (size_t i = 0; i < machine_count; i++) {
        for (size_t j = 0; j < ASKS; j++)
            free(alone[i][j]);
        free(machines[i].bytes);
    }
    printf("%zu machines, %d questions each, %d threads: %zu answers differ\n", machine_count,
           ASKS, THREADS, wrong);
    return wrong > 0 || !machine_count;
}
