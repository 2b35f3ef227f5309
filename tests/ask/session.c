#include "session.h"

#include <criterion/criterion.h>
#include <stdlib.h>

static void replace(char **text, size_t *size, struct view bytes)
{
    free(*text);
    *text = malloc(bytes.size + 1);
    memcpy(*text, bytes.data, bytes.size);
    (*text)[bytes.size] = '\0';
    *size = bytes.size;
}

static void keep(void *user, struct view draft)
{
    struct session *session = user;
    replace(&session->draft, &session->draft_size, draft);
}

static void aside(void *user)
{
    struct session *session = user;
    session->put_aside++;
}

static void drop(void *user)
{
    struct session *session = user;
    free(session->draft);
    session->draft = NULL;
    session->draft_size = 0;
}

static const char *save(void *user, struct arena *arena, const char *path, struct view bytes)
{
    struct session *session = user;
    (void)arena;
    if (strcmp(path, "taken.yaml") == 0)
        return "taken.yaml is there already and is not written over";
    replace(&session->saved, &session->saved_size, bytes);
    return NULL;
}

void session_begin(struct session *session, const char *base, const char *draft)
{
    *session = (struct session){.book = &builtin_rulebook};
    arena_init(&session->arena, NULL);
    session->rules = (struct check_options){.books = &session->book, .book_count = 1};
    session->setup = (struct ask_setup){
        .rules = &session->rules,
        .layout = {.width = 80, .unicode = true, .show = SHOW_FAILED},
        .path = "shed.yaml",
        .exists = base != NULL,
        .base = view_of(base),
        .draft = view_of(draft),
        .today = view_of("2027-03-31"),
        .host = {session, keep, aside, drop, save, NULL, NULL},
    };
    session->ask = ask_begin(&session->arena, &session->setup, &session->says);
}

void session_line(struct session *session, const char *line)
{
    session->state = ask_line(session->ask, view_of(line), &session->says);
}

void session_end(struct session *session)
{
    arena_free(&session->arena);
    free(session->draft);
    free(session->saved);
}

const char *session_at(struct session *session)
{
    return ask_at(session->ask, &session->arena);
}

bool session_said(const struct session *session, const char *words)
{
    size_t size = strlen(words);
    for (size_t i = 0; i + size <= session->says.size; i++)
        if (memcmp(session->says.data + i, words, size) == 0)
            return true;
    return false;
}

const char *session_script(const struct scripted *script, const char *at)
{
    for (; script->at; script++)
        if (strcmp(script->at, at) == 0)
            return script->line;
    return "";
}

void session_run(struct session *session, const struct scripted *script)
{
    for (int i = 0; i < 500 && *session_at(session); i++)
        session_line(session, session_script(script, session_at(session)));
    cr_assert_str_empty(session_at(session), "the questions do not come to an end");
    session_line(session, "yes");
}

const struct scripted script_setter[] = {
    {"units", "1"},
    {"axes.x.travel", "0 to 800, 0 to 1200, -150 to 0"},
    {"axes.y.travel", "0 to 1200; -150 to 0"},
    {"axes.z.travel", "-150 to 0"},
    {"axes.x.acceleration", "400, 400, 250"},
    {"axes.y.acceleration", "400 250"},
    {"axes.z.acceleration", "250"},
    {"homing.order", "[z, xy]"},
    {"spindle.switched_by", "1"},
    {"spindle.run_down", "8"},
    {"spindle.dwell_after_stop", "12, 12"},
    {"spindle.dwell_after_start", "12 s"},
    {"change.spindle_held_off", "isolated"},
    {"change.cuts_power_to", "spindle"},
    {"table.nose_contact", "-170"},
    {"work.height", "20"},
    {"change.measures_with", "setter"},
    {"inputs.setter.terminal", "5, normally closed"},
    {"inputs.setter.contact", "2"},
    {"setter.at.x", "760, 40"},
    {"setter.at.y", "40"},
    {"setter.nose_contact", "-125"},
    {"setter.overtravel", "5, 0.5, 40"},
    {"setter.release", "0.5, 40"},
    {"setter.body", "40"},
    {"cutters[0].description", "6 mm end mill"},
    {"cutters[0].stickout", "32"},
    {"another-cutter[1]", "1/4 in upcut"},
    {"cutters[1].description", "1/4 in upcut"},
    {"cutters[1].stickout", "1 1/8\""},
    {"another-cutter[2]", "n"},
    {"change.stickout_from", "list, computed"},
    {"change.approach", "computed"},
    {"change.touches_old", "2, 3, 4"},
    {"change.no_contact", "stops, before descent"},
    {"change.offset_applied", "before descent"},
    {"change.asks", "1, 2, 4, 7, 8, 13, 15"},
    {"numbers", "no"},
    {"more", "none"},
    {0},
};

#define PLATE_MACHINE                                                                          \
    {"axes.x.travel", "0 to 24, 0 to 36, -4 to 0"}, {"axes.y.travel", "0, 36, -4, 0"},         \
        {"axes.z.travel", "-4 to 0"}, {"axes.x.acceleration", "20, 20, 12"},                   \
        {"axes.y.acceleration", "20, 12"}, {"axes.z.acceleration", "12"},                      \
        {"spindle.switched_by", "hand"}, {"change.spindle_held_off", "unplugged"},             \
        {"change.cuts_power_to", "1"}, {"table.nose_contact", "-4.6"},                         \
        {"change.measures_with", "plate"}, {"inputs.plate.terminal", "P, 1"},                  \
        {"inputs.plate.contact", "1"}, {"plate.spot", "anywhere"},                             \
        {"cutters[0].description", "1/4 in upcut"}, {"cutters[0].stickout", "1 1/4"},          \
        {"another-cutter[1]", "n"}, {"change.touches_old", "all"},                             \
        {"change.no_contact", "1, 1"}, {"change.offset_applied", "1"}, {"numbers", "2"},       \
    {                                                                                          \
        "more", "none"                                                                         \
    }

const struct scripted script_plate[] = {
    {"units", "inches"},
    PLATE_MACHINE,
    {"homing.order", "z, x, y"},
    {"work.height", "3/4"},
    {"change.asks",
     "spindle off, standstill, unplugged, clip on, plate on, plate off, clip off, cutter in, "
     "clip on, plate on, plate off, clip off, supply on, speed set, spindle on"},
    {0},
};

const struct scripted script_not_homing[] = {
    {"units", "2"},
    PLATE_MACHINE,
    {"homing.order", "none"},
    {"change.asks", "1, 2, 5, 9, 10, 11, 12, 8, 9, 10, 11, 12, 13, 14, 15"},
    {0},
};
