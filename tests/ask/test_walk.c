/* Whole dialogues: straight, wandering, broken off and taken up again. */
#include "session.h"
#include "../share.h"

#include <criterion/criterion.h>

#include "ask/questions.h"

static void expect_clean(const char *bytes)
{
    struct arena arena;
    struct file_report report;
    const struct rulebook *book = &builtin_rulebook;
    const struct check_options options = {.books = &book, .book_count = 1, .words = true};
    arena_init(&arena, NULL);
    check_bytes(&arena, &options, view_of("shed.yaml"), view_of(bytes), &report);
    for (size_t i = 0; i < report.count; i++)
        cr_expect(report.findings[i].outcome != OUTCOME_FAILED, "%s: %s",
                  report.findings[i].rule, report.findings[i].message);
    arena_free(&arena);
}

static const struct scripted *const scripts[] = {script_setter, script_plate,
                                                 script_not_homing};

enum { SCRIPTS = sizeof scripts / sizeof *scripts };

Test(ask, standard_paths_give_files_without_findings)
{
    for (size_t i = 0; i < SCRIPTS; i++) {
        struct session session;
        session_begin(&session, NULL, NULL);
        session_run(&session, scripts[i]);
        cr_assert_eq(session.state, ASK_SAVED, "script %zu: %.*s", i, VIEW(session.says));
        cr_expect_null(session.draft);
        expect_clean(session.saved);
        session_end(&session);
    }
}

/* How many lines are typed before the rest is offered: with two cutters, and with one. */
Test(ask, a_first_file_takes_some_25_questions)
{
    static const size_t counts[] = {26, 19, 18};
    for (size_t i = 0; i < SCRIPTS; i++) {
        struct session session;
        size_t count = 0;
        session_begin(&session, NULL, NULL);
        for (; strcmp(session_at(&session), "more") != 0; count++)
            session_line(&session, session_script(scripts[i], session_at(&session)));
        cr_expect_eq(count, counts[i], "%zu", count);
        cr_expect(session_said(&session, "== More =="));
        session_end(&session);
    }
}

Test(ask, says_first_what_to_have_at_hand_and_last_what_to_do_at_the_machine)
{
    struct session session;
    session_begin(&session, NULL, NULL);
    const char *says = arena_copy(&session.arena, session.says.data, session.says.size);
    const char *hand = strstr(says, "Have at hand"), *stop = strstr(says, "isolate or unplug"),
               *first = strstr(says, "Question 1 ");
    cr_assert(hand && stop && first && strstr(says, "half an hour"));
    cr_expect(hand < stop && stop < first);
    session_run(&session, script_setter);
    says = arena_copy(&session.arena, session.says.data, session.says.size);
    const char *check = strstr(says, "nothing found"), *next = strstr(says, "at the machine:");
    cr_assert(check && next && check < next);
    cr_expect(strstr(next, "1. ") && strstr(next, "2. ") && strstr(next, "3. "));
    session_end(&session);
}

/* Whatever is measured near the collet, moves or runs has its caution at the question. */
Test(ask, cautions_stand_at_the_question)
{
    struct session session;
    session_begin(&session, NULL, NULL);
    while (*session_at(&session)) {
        const char *at = session_at(&session);
        bool near = strstr(at, "nose_contact") || strstr(at, "stickout") == at + 11;
        cr_expect(!near || session_said(&session, "before hands go near the collet"), "%s", at);
        cr_expect(!strstr(at, "travel") || session_said(&session, "a hand on the stop"), "%s",
                  at);
        cr_expect(!strstr(at, "run_down") || session_said(&session, "faster than it is made"),
                  "%s", at);
        session_line(&session, session_script(script_setter, at));
    }
    session_end(&session);
}

/* What the next cutter is may be said where it is asked whether there is one; it is a question
 * less, and can be gone back to. */
Test(ask, another_cutter_by_what_it_is)
{
    struct session session;
    session_begin(&session, NULL, NULL);
    session_line(&session, "1");
    cr_expect(session_said(&session, "Question 2 of about "));
    while (strcmp(session_at(&session), "another-cutter[1]") != 0)
        session_line(&session, session_script(script_setter, session_at(&session)));
    session_line(&session, "perhaps");
    cr_expect(ask_refused(session.ask));
    session_line(&session, "1/4 in upcut");
    cr_expect_str_eq(session_at(&session), "cutters[1].stickout");
    cr_expect(session_said(&session, "Question 20 of about "), "no number is passed over");
    session_line(&session, "back description");
    cr_expect_str_eq(session_at(&session), "cutters[1].description");
    cr_expect(session_said(&session, "Enter keeps 1/4 in upcut"));
    session_line(&session, "8 mm ball nose");
    session_run(&session, script_setter);
    cr_assert_not_null(session.saved);
    cr_expect(strstr(session.saved, "description: 8 mm ball nose"));
    session_end(&session);
}

/* After a clean first file stands what about people could not be looked at. */
Test(ask, what_was_left_out_about_people_is_named)
{
    struct session session;
    session_begin(&session, NULL, NULL);
    session_run(&session, script_setter);
    const char *says = arena_copy(&session.arena, session.says.data, session.says.size);
    const char *clean = strstr(says, "nothing found"), *left = strstr(says, "about people:"),
               *next = strstr(says, "at the machine:");
    cr_assert(clean && left && next && clean < left && left < next);
    const char *speed = strstr(left, "  cutter-overspeed: ");
    cr_expect(speed && speed < next, "%s", left);
    cr_expect_null(strstr(left, "cutters["));
    session_end(&session);
}

/* One number at a time comes to the same as all in one line. */
Test(ask, part_of_an_answer_is_taken_and_the_rest_asked_for)
{
    static const struct scripted parts[] = {
        {"axes.x.travel", "0 to 800"},    {"axes.x.acceleration", "400, 400"},
        {"axes.y.travel", "0 to 1200"},   {"spindle.dwell_after_stop", "12"},
        {"setter.at.x", "760"},           {"setter.overtravel", "5 mm"},
        {"setter.release", "0.5 mm, 40"}, {0},
    };
    struct session session, straight;
    session_begin(&straight, NULL, NULL);
    session_run(&straight, script_setter);
    session_begin(&session, NULL, NULL);
    while (*session_at(&session)) {
        const char *at = session_at(&session), *part = session_script(parts, at);
        session_line(&session, *part ? part : session_script(script_setter, at));
        cr_expect_not(ask_refused(session.ask), "%s: %.*s", at, VIEW(session.says));
    }
    session_line(&session, "yes");
    cr_expect_str_eq(session.saved, straight.saved);
    session_end(&session);
    session_end(&straight);
}

/* Typing each number that would be proposed gives the same numbers. */
Test(ask, numbers_that_are_set_are_asked_for_one_by_one)
{
    struct session session, straight;
    session_begin(&straight, NULL, NULL);
    session_run(&straight, script_setter);
    session_begin(&session, NULL, NULL);
    while (*session_at(&session)) {
        const char *at = session_at(&session);
        session_line(&session,
                     strcmp(at, "numbers") == 0 ? "yes" : session_script(script_setter, at));
        cr_expect(strcmp(at, "change.standoff") != 0 || session_said(&session, "15 mm"));
    }
    session_line(&session, "yes");
    cr_expect_str_eq(session.saved, straight.saved);
    session_end(&session);
    session_end(&straight);
}

/* Each key of a new file says what it is, and whether it was asked, usual or computed. */
Test(ask, the_file_explains_itself)
{
    for (size_t i = 0; i < SCRIPTS; i++) {
        struct session session;
        session_begin(&session, NULL, NULL);
        session_run(&session, scripts[i]);
        struct view rest = view_of(session.saved);
        while (rest.size) {
            const char *end = memchr(rest.data, '\n', rest.size);
            const char *line = arena_copy(&session.arena, rest.data, (size_t)(end - rest.data));
            rest = view_skip(rest, strlen(line) + 1);
            const char *value = strstr(line, ": ");
            if (!value || strchr(line, '#') < value || strcmp(line, "proveout: 1") == 0)
                cr_expect(!value || strchr(line, '#') || strcmp(line, "proveout: 1") == 0, "%s",
                          line);
            else
                cr_expect(strstr(line, "# asked") || strstr(line, "# default") ||
                              strstr(line, "# computed"),
                          "%s", line);
        }
        session_end(&session);
    }
}

Test(ask, the_same_words_everywhere)
{
    struct session session;
    session_begin(&session, NULL, NULL);
    for (bool review = false; !review;) {
        const char *at = session_at(&session);
        review = !*at;
        session_line(&session, "?");
        cr_expect_not(ask_refused(session.ask), "%s", at);
        cr_expect(session_said(&session, "back goes back"), "%s", at);
        cr_expect(session_said(&session, "later keeps"), "%s", at);
        cr_expect_str_eq(session_at(&session), at);
        session_line(&session, "back");
        cr_expect(strcmp(at, "units") == 0 || strcmp(session_at(&session), at) != 0, "%s", at);
        session_line(&session, "back 100");
        cr_expect_str_eq(session_at(&session), "units");
        session_line(&session, "on");
        cr_expect(strcmp(at, "units") == 0 || strcmp(session_at(&session), at) == 0, "%s: %s",
                  at, session_at(&session));
        if (!review)
            session_line(&session, session_script(script_setter, session_at(&session)));
        if (strcmp(at, "units") == 0)
            session_line(&session, session_script(script_setter, session_at(&session)));
    }
    session_line(&session, "later");
    cr_expect_eq(session.state, ASK_STOPPED);
    cr_expect_null(session.saved);
    cr_expect_not_null(session.draft);
    session_end(&session);
}

/* Nobody has to know the one word for it, and none of them becomes a name. */
Test(ask, words_as_people_say_them)
{
    static const char *const open[] = {
        "skip",     "Skip.",    "I don't know", "I don\xe2\x80\x99t know!",
        "no idea",  "NOT SURE", "none",         "nothing",
        "  skip  ", "dunno",    "unknown"};
    static const char *const stops[] = {"later", "exit", "quit", "Exit.", "QUIT", "stop"};
    static const char *const helps[] = {"?", "help", "what is that?", "Help!", "??"};
    static const char *const names[] = {"machine.name", "inputs.setter.terminal",
                                        "cutters[0].description", "cutters[0].stickout",
                                        "spindle.run_down"};
    for (size_t n = 0; n < sizeof names / sizeof *names; n++)
        for (size_t i = 0; i < sizeof open / sizeof *open; i++) {
            struct session session;
            session_begin(&session, NULL, NULL);
            while (*session_at(&session) &&
                   strcmp(session_at(&session), "another-cutter[1]") != 0)
                session_line(&session, session_script(script_setter, session_at(&session)));
            session_line(&session, arena_format(&session.arena, "back %s", names[n]));
            cr_assert_str_eq(session_at(&session), names[n]);
            session_line(&session, open[i]);
            cr_expect(session_said(&session, "Left open."), "%s at %s: %.*s", open[i], names[n],
                      VIEW(session.says));
            session_end(&session);
        }
    for (size_t i = 0; i < sizeof stops / sizeof *stops; i++) {
        struct session session;
        session_begin(&session, NULL, NULL);
        session_line(&session, stops[i]);
        cr_expect_eq(session.state, ASK_STOPPED, "%s", stops[i]);
        session_end(&session);
    }
    for (size_t i = 0; i < sizeof helps / sizeof *helps; i++) {
        struct session session;
        session_begin(&session, NULL, NULL);
        session_line(&session, helps[i]);
        cr_expect(session_said(&session, "back goes back"), "%s", helps[i]);
        session_end(&session);
    }
}

/* A word that is an answer here is one: `stop` for `stops`, `none` where there is a none. */
Test(ask, words_that_are_answers)
{
    struct session session;
    session_begin(&session, NULL, NULL);
    while (strcmp(session_at(&session), "change.no_contact") != 0) {
        const char *at = session_at(&session);
        bool another = strcmp(at, "another-cutter[1]") == 0;
        session_line(&session, another ? "none" : session_script(script_setter, at));
        cr_expect(!another || session_said(&session, "Taken as: no."));
    }
    session_line(&session, "stop");
    cr_expect_eq(session.state, ASK_GOES_ON);
    cr_expect(session_said(&session, "Taken as no contact: stops."));
    session_line(&session, "back homing.order");
    session_line(&session, "none");
    cr_expect(session_said(&session, "Taken as: none."));
    session_line(&session, "back change.spindle_held_off");
    session_line(&session, "none");
    cr_expect(session_said(&session, "Taken as: no."));
    session_end(&session);
}

/* Whatever is refused, what to type instead is said, and how to leave it open. */
Test(ask, each_refusal_names_what_to_type)
{
    struct session session;
    session_begin(&session, NULL, NULL);
    while (*session_at(&session)) {
        const char *at = session_at(&session);
        bool another = strncmp(at, "another", 7) == 0; /* that would be a cutter */
        session_line(&session, another ? "perhaps" : "7 ells, perhaps, or so");
        if (ask_refused(session.ask)) {
            cr_expect(session_said(&session, "ype "), "%s: %.*s", at, VIEW(session.says));
            cr_expect(session_said(&session, "skip leaves"), "%s: %.*s", at,
                      VIEW(session.says));
            session_line(&session, strcmp(at, "numbers") == 0
                                       ? "yes"
                                       : session_script(script_setter, at));
        }
        if (ask_refused(session.ask))
            session_line(&session, "skip");
    }
    session_end(&session);
}

/* Nobody who counts in inches is offered millimetres; what is offered is round. */
Test(ask, inches_are_offered_in_inches)
{
    static const char *const metric[] = {" mm would do", "takes 5 mm", "takes 6.35 mm",
                                         " mm: ",        " mm/min: ",  "300, 300, 200"};
    struct session session;
    session_begin(&session, NULL, NULL);
    for (size_t n = 0; n < 400 && *session_at(&session); n++) {
        const char *at = session_at(&session);
        for (size_t i = 0; strcmp(at, "units") && i < sizeof metric / sizeof *metric; i++)
            cr_expect_not(session_said(&session, metric[i]), "%s: %.*s", at,
                          VIEW(session.says));
        cr_expect(strcmp(at, "allowances.reseat") || session_said(&session, "takes 0.25 in"));
        cr_expect(strcmp(at, "change.probe_stroke") || session_said(&session, "takes 0.8 in"));
        cr_expect(strcmp(at, "change.probe_feed") || session_said(&session, "takes 4 in/min"));
        session_line(&session, strcmp(at, "numbers") == 0 ? "yes"
                               : strcmp(at, "more") == 0  ? "1, 2, 3, 4, 5, 6, 7, 8"
                                                          : session_script(script_plate, at));
        if (ask_refused(session.ask))
            session_line(&session, "skip");
    }
    cr_assert_str_empty(session_at(&session));
    session_end(&session);
}

/* Back to what is named as people name it, the nearest first. */
Test(ask, back_by_plain_words)
{
    static const struct {
        const char *words, *at;
    } backs[] = {
        {"back number", "cutters[1].number"},
        {"back stickout", "cutters[0].stickout"},
        {"Back run down", "spindle.run_down"},
        {"back setter at x", "setter.at.x"},
        {"back nose contact", "setter.nose_contact"},
        {"back table nose contact", "table.nose_contact"},
        {"back another cutter", "another-cutter[1]"},
        {"back units", "units"},
        {"back homing", "homing.order"},
        {"back Spindle", "spindle.switched_by"},
        {"back spin", NULL},
        {"back down", NULL},
        {"back wards", NULL},
    };
    for (size_t i = 0; i < sizeof backs / sizeof *backs; i++) {
        struct session session;
        session_begin(&session, NULL, NULL);
        while (strcmp(session_at(&session), "cutters[1].description") != 0) {
            const char *at = session_at(&session);
            bool another = strcmp(at, "another-cutter[1]") == 0;
            session_line(&session, another ? "y" : session_script(script_setter, at));
        }
        cr_expect(session_said(&session, "Programs call it 2; back number changes that."));
        session_line(&session, backs[i].words);
        if (!backs[i].at)
            cr_expect(session_said(&session, "There is no question"), "%s", backs[i].words);
        cr_expect_str_eq(session_at(&session),
                         backs[i].at ? backs[i].at : "cutters[1].description");
        session_end(&session);
    }
}

/* All is as good an answer to what more is wanted as its numbers. */
Test(ask, more_is_all_of_it)
{
    static const char *const words[] = {"all", "All", "yes", "1, 2, 3, 4, 5, 6, 7, 8",
                                        "everything"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        struct session session;
        session_begin(&session, NULL, NULL);
        while (strcmp(session_at(&session), "more") != 0)
            session_line(&session, session_script(script_setter, session_at(&session)));
        session_line(&session, words[i]);
        cr_expect(
            session_said(&session, "machine, homing, spindle, table, measuring, cutters,"),
            "%s: %.*s", words[i], VIEW(session.says));
        cr_expect_str_eq(session_at(&session), "machine.note");
        session_end(&session);
    }
}

/* A draft that is taken up again tells of the question at hand, then and later. */
Test(ask, a_draft_tells_of_the_question_at_hand_alone)
{
    struct session session, again;
    session_begin(&session, NULL, NULL);
    while (strcmp(session_at(&session), "spindle.dwell_after_stop") != 0)
        session_line(&session, session_script(script_setter, session_at(&session)));
    session_line(&session, "4, 8");
    session_begin(&again, NULL, session.draft);
    cr_expect(session_said(&again, "[dwell-stop-short]"));
    session_end(&again);
    session_line(&session, "");
    session_line(&session, "isolated");
    session_begin(&again, NULL, session.draft);
    cr_expect_not(session_said(&again, "[dwell-stop-short]"));
    session_line(&again, "spindle");
    cr_expect_not(session_said(&again, "[dwell-stop-short]"), "%.*s", VIEW(again.says));
    session_end(&again);
    session_end(&session);
}

/* The window is looked at again for each answer. */
Test(ask, paragraphs_are_as_wide_as_the_window_is_now)
{
    static const size_t widths[] = {40, 60, 80, 40};
    struct session session;
    session_begin(&session, NULL, NULL);
    for (size_t i = 0; i < sizeof widths / sizeof *widths; i++) {
        size_t longest = 0, size = 0;
        ask_resize(session.ask, widths[i]);
        session_line(&session, "?");
        for (size_t k = 0; k < session.says.size; k++) {
            size = session.says.data[k] == '\n' ? 0 : size + 1;
            longest = size > longest ? size : longest;
        }
        cr_expect(longest <= widths[i] && longest > widths[i] - 12, "%zu: %zu", widths[i],
                  longest);
    }
    session_end(&session);
}

/* No file is called `exit`. */
Test(ask, the_file_is_not_called_by_a_word)
{
    static const char *const words[] = {"yes", "no", "skip", "none", "no idea", "back?"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        struct session session;
        session_begin(&session, NULL, NULL);
        session.setup.path = NULL;
        while (*session_at(&session))
            session_line(&session, session_script(script_setter, session_at(&session)));
        session_line(&session, "yes");
        cr_expect(session_said(&session, "What is the file to be called?"));
        session_line(&session, words[i]);
        cr_expect_null(session.saved, "%s", words[i]);
        session_line(&session, "barn.yaml");
        cr_expect_not_null(session.saved);
        session_end(&session);
    }
}

static uint32_t dice(uint32_t *state, uint32_t sides)
{
    *state = *state * 1664525 + 1013904223;
    return (*state >> 8) % sides;
}

/* Other answers, as somebody gives them who changes their mind. */
static const struct scripted other_answers[] = {
    {"units", "2"},
    {"axes.x.travel", "0 to 700"},
    {"axes.x.travel", "0 to 800, 0 to 1200, -200 to 0"},
    {"axes.z.travel", "-200 to 0"},
    {"axes.x.acceleration", "skip"},
    {"homing.order", "none"},
    {"homing.order", "z, x, y"},
    {"spindle.switched_by", "hand"},
    {"spindle.switched_by", "controller"},
    {"spindle.run_down", "20 s"},
    {"change.measures_with", "plate"},
    {"change.measures_with", "setter"},
    {"spindle.dwell_after_stop", "14, 14"},
    {"setter.at.x", "400, 41 mm"},
    {"setter.at.x", "400 mm"},
    {"numbers", "yes"},
    {"numbers", "no"},
    {"setter.nose_contact", "-100 mm"},
    {"cutters[0].stickout", "60 mm"},
    {"another-cutter[1]", "y"},
    {"another-cutter[1]", "n"},
    {"change.stickout_from", "assumed"},
    {"change.approach", "fixed"},
    {"change.touches_old", "1, 3"},
    {"change.touches_old", "none"},
    {"more", "4"},
    {"obstacle", "y"},
    {"work.height", "skip"},
    {0},
};

static const char *another_answer(uint32_t *state, const char *at)
{
    size_t found = 0;
    const char *line = NULL;
    for (const struct scripted *other = other_answers; other->at; other++)
        if (strcmp(other->at, at) == 0 && dice(state, (uint32_t)++found) == 0)
            line = other->line;
    return line;
}

/* What the walker does at a question. */
static const char *wander(uint32_t *state, const struct scripted *script, const char *at)
{
    static const char *const aside[] = {"back",       "back",       "back 3", "back 10", "?",
                                        "1,500 ohms", "back units", "on",     "back"};
    uint32_t number = dice(state, 10);
    if (number < 4 || !*at)
        return aside[dice(state, *at ? 9 : 4)];
    const char *other = number < 6 ? another_answer(state, at) : NULL;
    return other ? other : session_script(script, at);
}

/* The first line in which two files differ. */
static void expect_same(const char *file, const char *wanted, uint32_t seed)
{
    size_t at = 0, line = 0;
    for (; file[at] && file[at] == wanted[at]; at++)
        if (file[at] == '\n')
            line = at + 1;
    if (file[at] != wanted[at])
        cr_expect_fail("seed %u: `%.*s`, not `%.*s`", seed, (int)strcspn(file + line, "\n"),
                       file + line, (int)strcspn(wanted + line, "\n"), wanted + line);
}

static void walk(const struct scripted *script, uint32_t seed, int steps)
{
    struct session straight, session;
    session_begin(&straight, NULL, NULL);
    session_run(&straight, script);
    session_begin(&session, NULL, NULL);
    for (int i = 0; i < steps; i++) {
        session_line(&session, wander(&seed, script, session_at(&session)));
        cr_assert_eq(session.state, ASK_GOES_ON);
    }
    session_line(&session, "back units");
    session_run(&session, script);
    cr_assert_eq(session.state, ASK_SAVED);
    expect_same(session.saved, straight.saved, seed);
    session_end(&session);
    session_end(&straight);
}

Test(ask, walks_back_and_forth_end_in_the_same_file)
{
    for (uint32_t seed = 1; seed <= share_of(20); seed++)
        for (size_t i = 0; i < SCRIPTS; i++)
            walk(scripts[i], seed * 77, 170);
    walk(scripts[0], 1, (int)share_of(10000));
}

Test(ask, every_draft_goes_on_to_the_same_file)
{
    for (size_t i = 0; i < SCRIPTS; i++) {
        struct session straight;
        session_begin(&straight, NULL, NULL);
        session_run(&straight, scripts[i]);
        for (int stop = 1;; stop++) {
            struct session first, second;
            session_begin(&first, NULL, NULL);
            for (int n = 0; n < stop && *session_at(&first); n++)
                session_line(&first, session_script(scripts[i], session_at(&first)));
            bool whole = !*session_at(&first);
            session_begin(&second, NULL, first.draft);
            cr_expect(session_said(&second, "Going on with the draft"));
            cr_expect_str_eq(session_at(&second), session_at(&first));
            session_run(&second, scripts[i]);
            cr_assert_eq(second.state, ASK_SAVED);
            cr_expect_str_eq(second.saved, straight.saved);
            session_end(&first);
            session_end(&second);
            if (whole)
                break;
        }
        session_end(&straight);
    }
}

Test(ask, an_input_of_an_existing_file_may_be_called_as_people_like)
{
    static const char *const names[] = {"tool setter", "tool.setter"};
    for (size_t i = 0; i < 2; i++) {
        struct session session, again;
        session_begin(&session, NULL, NULL);
        const char *base =
            arena_format(&session.arena,
                         "proveout: 1\nchange: {measures_with: setter}\nsetter: {input: %s}\n"
                         "inputs:\n  %s: {terminal: A1, contact: normally_closed}\n",
                         names[i], names[i]);
        const char *path = arena_format(&session.arena, "inputs.%s.terminal", names[i]);
        session_begin(&again, base, NULL);
        session_line(&again, "back inputs.setter.terminal");
        cr_expect(session_said(&again, "There is no question"));
        session_line(&again, arena_format(&again.arena, "back %s", path));
        cr_assert_str_eq(session_at(&again), path);
        session_line(&again, "A2");
        const char *draft = arena_copy(&session.arena, again.draft, again.draft_size);
        const char *at = arena_format(&session.arena, "%s", session_at(&again));
        session_end(&again);
        session_begin(&again, base, draft);
        cr_expect(session_said(&again, "1 answer is kept"), "%.*s", VIEW(again.says));
        cr_expect_str_eq(session_at(&again), at);
        session_line(&again, arena_format(&again.arena, "back %s", path));
        cr_expect(session_said(&again, "Enter keeps A2"));
        session_end(&again);
        session_end(&session);
    }
}

Test(ask, a_damaged_or_stale_draft_is_said_to_be_so)
{
    struct session session, again;
    session_begin(&session, NULL, NULL);
    session_line(&session, "1");
    session_line(&session, "0 to 800, 0 to 1200, -150 to 0");
    size_t size = session.draft_size;
    for (size_t cut = 1; cut < size; cut += 7) {
        char *draft = arena_copy(&session.arena, session.draft, size - cut);
        session_begin(&again, NULL, draft);
        cr_expect(session_said(&again, "damaged"));
        cr_expect_eq(again.put_aside, 1);
        cr_expect_str_eq(session_at(&again), "units");
        session_end(&again);
        draft = arena_copy(&session.arena, session.draft, size);
        draft[cut] ^= 1;
        session_begin(&again, NULL, draft);
        cr_expect(session_said(&again, "damaged"));
        session_end(&again);
    }
    session_begin(&again, session.saved ? session.saved : "proveout: 1\n", session.draft);
    cr_expect(session_said(&again, "stale"));
    session_end(&again);
    session_begin(&again, NULL, session.draft);
    session_line(&again, "anew");
    cr_expect_str_eq(session_at(&again), "units");
    session_end(&again);
    session_end(&session);
}

Test(ask, enter_throughout_leaves_a_file_as_it_is)
{
    for (size_t i = 0; i < SCRIPTS; i++) {
        struct session made, session;
        session_begin(&made, NULL, NULL);
        session_run(&made, scripts[i]);
        session_begin(&session, made.saved, NULL);
        for (int n = 0; n < 200 && session.state == ASK_GOES_ON; n++)
            session_line(&session, "");
        cr_expect_eq(session.state, ASK_UNCHANGED);
        cr_expect_null(session.saved);
        session_end(&session);
        session_end(&made);
    }
}

/* What more readings would bring is told where that is much beside the tightest margin, and of
 * one number, of which no scatter is known, never. */
Test(ask, more_readings_are_proposed_where_they_pay)
{
    static const struct {
        const char *line;
        bool pay;
    } answers[] = {{"-126, -125, -125.6", true},
                   {"-125.001, -125.000, -125.002", false},
                   {"-125.1", false},
                   {"-125.1 ± 2 mm", false}};
    struct session made, session;
    session_begin(&made, NULL, NULL);
    session_run(&made, script_setter);
    for (size_t i = 0; i < sizeof answers / sizeof *answers; i++) {
        session_begin(&session, made.saved, NULL);
        session_line(&session, "back setter.nose_contact");
        cr_assert_str_eq(session_at(&session), "setter.nose_contact");
        session_line(&session, answers[i].line);
        cr_expect_eq(session_said(&session, "readings would bring"), answers[i].pay, "%s: %.*s",
                     answers[i].line, VIEW(session.says));
        session_end(&session);
    }
    session_end(&made);
}

Test(ask, a_changed_answer_changes_nothing_else_in_a_file)
{
    static const char base[] = "# ours\nproveout: 1\nmachine: {name: shed} # painted on\n"
                               "table:\n  nose_contact: -170 mm   # calliper\ncutters:\n"
                               "  - number: 1   # the usual\n    description: end mill\n"
                               "    stickout: 30 mm\n";
    static const char after[] = "# ours\nproveout: 1\nmachine: {name: barn} # painted on\n"
                                "table:\n  nose_contact: -170 mm   # calliper\ncutters:\n"
                                "  - number: 1   # the usual\n    description: end mill\n"
                                "    stickout: 30 mm\n  - number: 2\n    description: ball\n";
    struct session session;
    session_begin(&session, base, NULL);
    for (int n = 0; n < 200 && *session_at(&session); n++) {
        const char *at = session_at(&session);
        session_line(&session, strcmp(at, "machine.name") == 0             ? "barn"
                               : strcmp(at, "another-cutter[1]") == 0      ? "y"
                               : strcmp(at, "cutters[1].description") == 0 ? "ball"
                                                                           : "");
    }
    session_line(&session, "yes");
    cr_assert_eq(session.state, ASK_SAVED, "%.*s", VIEW(session.says));
    cr_expect_str_eq(session.saved, after);
    session_end(&session);
}

/* A list that is not there comes before what ends a file, in its style and with its line ends.
 */
Test(ask, a_list_is_added_however_the_file_is_laid_out)
{
    static const struct {
        const char *base, *after;
    } cases[] = {
        {"proveout: 1\r\n", "proveout: 1\r\ncutters:\r\n  - description: end mill\r\n"},
        {"proveout: 1\n...\n", "proveout: 1\ncutters:\n  - description: end mill\n...\n"},
        {"{proveout: 1}\n", "{proveout: 1, cutters: [{description: end mill}]}\n"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct session session;
        struct view file;
        session_begin(&session, cases[i].base, NULL);
        session_line(&session, "back cutters[0].description");
        session_line(&session, "end mill");
        cr_assert_null(ask_file(session.ask, &file));
        cr_expect(view_is(file, cases[i].after), "%zu: %.*s", i, VIEW(file));
        session_end(&session);
    }
}

Test(ask, enter_throughout_a_new_file_is_stopped_where_a_guess_would_do_harm)
{
    /* No value that was measured, and no safeguard, is made up. */
    struct session session;
    session_begin(&session, NULL, NULL);
    for (int n = 0; n < 20; n++)
        session_line(&session, "");
    cr_expect_str_eq(session_at(&session), "axes.x.travel");
    cr_expect(ask_refused(session.ask));
    /* Everything skipped: nothing that was measured, and no safeguard, was made up. */
    static const char *const harmless[] = {"axes",        "run_down",        "nose_contact",
                                           "held_off",    "idle_checked",    "no_contact",
                                           "dwell_after", "switched_by",     "offset_applied",
                                           "stickout",    "approach_guarded"};
    for (int n = 0; n < 200 && *session_at(&session); n++) {
        session_line(&session, "");
        if (ask_refused(session.ask))
            session_line(&session, "skip");
    }
    session_line(&session, "yes");
    cr_assert_not_null(session.saved);
    for (size_t i = 0; i < sizeof harmless / sizeof *harmless; i++)
        cr_expect_null(strstr(session.saved, arena_format(&session.arena, "%s: ", harmless[i])),
                       "%s", harmless[i]);
    session_end(&session);
}

Test(ask, a_mistake_shows_at_its_question_and_not_first_at_the_review)
{
    struct session session;
    session_begin(&session, NULL, NULL);
    while (strcmp(session_at(&session), "change.standoff") != 0)
        session_line(&session, strcmp(session_at(&session), "numbers") == 0
                                   ? "yes"
                                   : session_script(script_setter, session_at(&session)));
    session_line(&session, "1 mm");
    cr_expect(session_said(&session, "[approach-too-low]"));
    cr_expect(session_said(&session, "put right"));
    cr_expect(session_said(&session, "Enter keeps 1 mm"));
    cr_expect_str_eq(session_at(&session), "change.standoff");
    session_line(&session, "15");
    cr_expect_str_eq(session_at(&session), "change.probe_stroke");
    session_end(&session);
}

/* One that is better and not good yet is told as often as it is typed. */
Test(ask, what_is_left_of_a_mistake_is_told_again)
{
    struct session session;
    session_begin(&session, NULL, NULL);
    while (strcmp(session_at(&session), "spindle.dwell_after_stop") != 0)
        session_line(&session, strcmp(session_at(&session), "spindle.run_down") == 0
                                   ? "7.5"
                                   : session_script(script_setter, session_at(&session)));
    static const char *const typed[] = {"4, 8", "5, 8", "7, 8", "5, 9", "8.9, 9"};
    for (size_t i = 0; i < sizeof typed / sizeof *typed; i++) {
        session_line(&session, typed[i]);
        cr_expect(session_said(&session, "the wait after stopping"), "%s", typed[i]);
        cr_expect_str_eq(session_at(&session), "spindle.dwell_after_stop", "%s", typed[i]);
    }
    session_line(&session, "10, 8");
    cr_expect_str_neq(session_at(&session), "spindle.dwell_after_stop");
    cr_expect_not(session_said(&session, "[dwell-"));
    /* Typed again as it stands it is meant so. */
    session_line(&session, "back spindle.dwell_after_stop");
    session_line(&session, "4, 8");
    session_line(&session, "4, 8");
    cr_expect_str_neq(session_at(&session), "spindle.dwell_after_stop");
    /* What stands in another place and grows worse is told there. */
    session_line(&session, "back spindle.run_down");
    session_line(&session, "9");
    cr_expect(session_said(&session, "the spindle runs down for 9 s"), "%.*s",
              VIEW(session.says));
    session_end(&session);
}

Test(ask, nothing_shows_first_at_the_review)
{
    /* Wandering with other answers; whatever the review finds was shown before. */
    for (uint32_t seed = 1; seed <= 15; seed++) {
        struct session session;
        struct buffer said;
        uint32_t state = seed;
        session_begin(&session, NULL, NULL);
        buffer_init(&said, &session.arena);
        for (int n = 0; n < 300 && *session_at(&session); n++) {
            const char *at = session_at(&session);
            const char *other = dice(&state, 3) ? NULL : another_answer(&state, at);
            session_line(&session, other ? other : session_script(script_setter, at));
            if (ask_refused(session.ask))
                session_line(&session, "skip");
            if (*session_at(&session))
                buffer_add(&said, session.says);
        }
        struct arena arena;
        struct file_report report;
        arena_init(&arena, NULL);
        session_line(&session, "no"); /* to other numbers, where some are proposed */
        session_line(&session, "yes");
        cr_assert_not_null(session.saved);
        struct check_options options = session.rules;
        options.words = true;
        check_bytes(&arena, &options, view_of("shed.yaml"), view_of(session.saved), &report);
        for (size_t i = 0; i < report.count; i++) {
            const struct finding *finding = &report.findings[i];
            if (finding->outcome != OUTCOME_FAILED || finding->implied_by ||
                strcmp(finding->rule, "missing-key") == 0)
                continue;
            cr_expect_not_null(
                strstr(buffer_string(&said), arena_format(&arena, "[%s]", finding->rule)),
                "seed %u: %s: %s", seed, finding->rule, finding->message);
        }
        arena_free(&arena);
        session_end(&session);
    }
}

Test(ask, every_field_has_its_question)
{
    struct arena arena;
    struct question_list list;
    arena_init(&arena, NULL);
    question_rows(&arena, &list);
    for (unsigned id = 1; id < FIELD_COUNT; id++) {
        bool found =
            field_table[id].group == GROUP_AGREEMENT || field_table[id].group == GROUP_WAIVER;
        for (size_t i = 0; i < list.rows.count; i++)
            found |= list.rows.items[i]->what == id;
        cr_expect(found, "%s", field_table[id].key);
    }
    arena_free(&arena);
}

/* What the field table and the rulebooks both have a name for is the same in both. */
Test(ask, conditions_are_those_of_the_rulebooks)
{
    static const struct {
        enum field_when when;
        const char *name;
    } both[] = {{WHEN_HOMES, "homes"}, {WHEN_PLATE, "by_plate"}};
    struct arena arena;
    arena_init(&arena, NULL);
    for (size_t i = 0; i < sizeof both / sizeof *both; i++) {
        const struct when *when = &when_table[both[i].when];
        const char *line =
            arena_format(&arena, "\n  %s: %s is %s%s\n", both[i].name,
                         field_table[when->field].key, when->is_not ? "not " : "", when->is);
        bool found = false;
        for (size_t k = 0; k < builtin_text_count; k++)
            found |= strstr(arena_copy(&arena, builtin_texts[k].bytes, builtin_texts[k].size),
                            line) != NULL;
        cr_expect(found, "%s", line);
    }
    arena_free(&arena);
}
