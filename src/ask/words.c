/* The longer texts: what is said before the first question, and after the file is written. */
#include "ask/internal.h"

void present_intro(struct ask *ask)
{
    say(ask, 0,
        "This asks for what proveout needs to know of a router, and writes a machine "
        "file. A first file takes some 25 questions and, with the measuring, half an hour or so; "
        "it can be broken off and taken up at any question.");
    say(ask, 0,
        "Have at hand: the cutters, a straight blank rod that fits the collet, a calliper, "
        "a steel rule, a stopwatch, a slip of paper, the papers of the controller, and "
        "the machine with its position read-out.");
    say(ask, 0,
        "Before anything is done at the machine: isolate or unplug the spindle before "
        "hands go near the collet. Keep a hand on the stop whenever it moves. Run "
        "everything first in air, well above the table. The maker's manual, the local "
        "codes and licensed practice for electrical work come before anything said "
        "here.");
    say(ask, 0,
        "At every question: ? explains it and how to measure, back goes back, skip "
        "leaves it open, later keeps all and stops.");
}

static bool is_answered(const struct ask *ask, uint16_t what, const char *word)
{
    return view_is(answers_get(&ask->answers, what, 0)->text, word);
}

void present_next(struct ask *ask)
{
    bool plate = is_answered(ask, FIELD_CHANGE_MEASURES_WITH, "plate");
    say_line(ask, "");
    say(ask, 0, "Next, at the machine:");
    say(ask, 2, "1. %s Where you would rather change the file, change it and check it again.",
        is_answered(ask, ASK_NUMBERS, "no")
            ? "Set the numbers that were proposed in the controller's change procedure, as the "
              "file has them."
            : "Compare the chosen numbers with the controller's change procedure, and set there "
              "what differs.");
    if (plate)
        say(ask, 2,
            "2. Spindle isolated or unplugged: hold the plate against the cutter and see "
            "that the input changes; take it away and see that it changes back. Both "
            "before every probing.");
    else
        say(ask, 2,
            "2. Spindle isolated or unplugged, the machine standing still: press the "
            "setter by hand and see that its input changes, and changes back.");
    say(ask, 2,
        "3. Spindle still isolated or unplugged, run one change in air: well above "
        "everything, the feed turned down, a hand on the stop%s. Only then go down to where "
        "it counts.",
        plate ? ", the plate in the other hand to stop the probing early"
              : "; stop it as soon as it does not go where the file says");
    say(ask, 0, "The maker's manual, local codes and licensed practice come first.");
}
