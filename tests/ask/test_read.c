/* What is read at the prompt: offers and what is kept, in words; and errors where the eye is.
 */
#include "session.h"

#include <criterion/criterion.h>

/* Where nothing is said to hold the spindle off, or nothing does, the order that is offered
 * isolates it before hands go in: the reason beside it says that nobody's hands meet it. */
Test(ask, no_order_is_offered_without_what_holds_the_spindle_off)
{
    static const char *const held[] = {"skip", "no"};
    for (size_t i = 0; i < sizeof held / sizeof *held; i++) {
        struct session session;
        session_begin(&session, NULL, NULL);
        while (strcmp(session_at(&session), "change.asks") != 0) {
            const char *at = session_at(&session);
            bool asks = strcmp(at, "change.spindle_held_off") == 0;
            session_line(&session, asks ? held[i] : session_script(script_not_homing, at));
            if (asks && strcmp(session_at(&session), at) == 0)
                session_line(&session, ""); /* an error, and kept */
        }
        cr_expect(session_said(&session, "spindle off, standstill, isolated, clip on, "));
        cr_expect(session_said(&session, "supply on"));
        session_end(&session);
    }
}

/* What Enter keeps is read as it would be typed. */
Test(ask, what_is_kept_is_said_in_plain_words)
{
    static const struct {
        const char *at, *line, *kept;
    } kept[] = {
        {"homing.order", "z, xy", "Enter keeps Z, then X and Y together."},
        {"table.nose_contact", "-170.1, -170.0, -170.2",
         "Enter keeps the readings -170.1 mm, -170.0 mm, -170.2 mm."},
        {"inputs.setter.terminal", "5, nc", "Enter keeps 5, normally closed."},
        {"axes.x.travel", "0 to 800, 0 to 1200, -150 to 0",
         "Enter keeps 0 mm to 800 mm, 0 mm to 1200 mm, -150 mm to 0 mm."},
    };
    for (size_t i = 0; i < sizeof kept / sizeof *kept; i++) {
        struct session session;
        session_begin(&session, NULL, NULL);
        while (strcmp(session_at(&session), kept[i].at) != 0)
            session_line(&session, session_script(script_setter, session_at(&session)));
        session_line(&session, kept[i].line);
        session_line(&session, "back");
        cr_expect(session_said(&session, kept[i].kept), "%.*s", VIEW(session.says));
        session_end(&session);
    }
}

/* After a long report its errors stand beside what is to be done next. */
Test(ask, errors_are_named_again_beside_the_prompt)
{
    struct session session;
    session_begin(&session, NULL, NULL);
    while (*session_at(&session)) {
        const char *at = session_at(&session);
        bool held = strcmp(at, "change.spindle_held_off") == 0;
        session_line(&session, held ? "no" : session_script(script_setter, at));
        if (held && strcmp(session_at(&session), at) == 0)
            session_line(&session, "");
    }
    cr_expect(session_said(&session, "Wrong as it stands, as told above:\n"
                                     "  error: nothing keeps the spindle from starting"),
              "%.*s", VIEW(session.says));
    session_line(&session, "yes");
    cr_expect(session_said(&session, "until then no change is run:\n"
                                     "  error: nothing keeps the spindle from starting"),
              "%.*s", VIEW(session.says));
    session_end(&session);
}
