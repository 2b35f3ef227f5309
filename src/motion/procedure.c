#include "motion/procedure.h"

#include "base/bug.h"
#include "motion/internal.h"

struct view ask_word(enum question_word ask)
{
    BUG_UNLESS(ask < ASK_COUNT);
    return field_choice(&field_table[FIELD_CHANGE_ASKS], ask);
}

bool ask_is_hand(enum question_word ask)
{
    switch (ask) {
    case ASK_SHOE_OFF:
    case ASK_PLATE_ON:
    case ASK_CLIP_ON:
    case ASK_SETTER_CLEAN:
    case ASK_CUTTER_IN:
    case ASK_PLATE_OFF:
    case ASK_CLIP_OFF:
    case ASK_BLOCK_UNDER:
    case ASK_BLOCK_AWAY:
        return true;
    case ASK_SPINDLE_OFF:
    case ASK_STANDSTILL:
    case ASK_Z_PROPPED: /* beside the tip, never under it: it wants the standstill alone */
    case ASK_ISOLATED:
    case ASK_UNPLUGGED:
    case ASK_SUPPLY_ON:
    case ASK_SPEED_SET:
    case ASK_SPINDLE_ON:
    case ASK_COUNT:
        return false;
    }
    BUG("no question %d", (int)ask);
}

static bool cuts_power(enum question_word ask)
{
    return ask == ASK_ISOLATED || ask == ASK_UNPLUGGED;
}

/* A wait after the stop stands in for looking. */
static void answer(const struct procedure *list, struct procedure_step *step,
                   struct procedure_state *state, bool waits)
{
    switch (step->ask) {
    case ASK_SPINDLE_OFF:
        state->off = true;
        state->stands = state->stands || waits;
        break;
    case ASK_STANDSTILL:
        state->stands = state->off;
        break;
    case ASK_ISOLATED:
    case ASK_UNPLUGGED:
        state->held = state->held || state->off;
        break;
    case ASK_SUPPLY_ON:
        state->held = false;
        break;
    case ASK_SPINDLE_ON:
        *state = (struct procedure_state){false, false, false};
        break;
    default:
        break;
    }
    bool guarded = list->interlocked && step->hand && state->off;
    step->stands = state->stands;
    step->held_off = state->held || guarded;
    step->endangers = (step->hand && !(step->held_off && step->stands)) ||
                      (step->ask == ASK_Z_PROPPED && !step->stands);
    step->after = *state;
}

uint32_t procedure_find(const struct procedure *procedure, enum question_word word,
                        uint32_t from)
{
    uint32_t i = from;
    while (i < procedure->count && procedure->steps[i].ask != word)
        i++;
    return i;
}

static uint32_t first(const struct procedure *list, enum question_word ask)
{
    return procedure_find(list, ask, 0);
}

static uint32_t first_hand(const struct procedure *list)
{
    uint32_t i = 0;
    while (i < list->count && !list->steps[i].hand)
        i++;
    return i;
}

static uint32_t first_cut(const struct procedure *list)
{
    uint32_t isolated = first(list, ASK_ISOLATED), unplugged = first(list, ASK_UNPLUGGED);
    return isolated < unplugged ? isolated : unplugged;
}

/* Is each `on` followed by its `off` before the spindle is started again, or the end? */
static bool is_removed(const struct procedure *list, enum question_word on,
                       enum question_word off)
{
    bool there = false;
    for (uint32_t i = 0; i < list->count; i++) {
        enum question_word ask = list->steps[i].ask;
        if (ask == ASK_SPINDLE_ON && there)
            return false;
        there = ask == on || (there && ask != off);
    }
    return !there;
}

static bool has_supply_last(const struct procedure *list)
{
    uint32_t after = 0;
    for (uint32_t i = 0; i < list->count; i++)
        if (list->steps[i].hand || cuts_power(list->steps[i].ask))
            after = i + 1;
    return procedure_find(list, ASK_SUPPLY_ON, after) <
           procedure_find(list, ASK_SPINDLE_ON, after);
}

/* The plate lies there from plate_on to plate_off, the block likewise: is that so before, and
 * after, the cutter is changed? */
static void look_for(const struct procedure *list, enum question_word on,
                     enum question_word off, bool *for_old, bool *for_new)
{
    bool lies = false, changed = false;
    for (uint32_t i = 0; i < list->count; i++) {
        enum question_word ask = list->steps[i].ask;
        if (ask == off)
            lies = false;
        lies = lies || ask == on;
        changed = changed || ask == ASK_CUTTER_IN;
        *for_old = *for_old || (lies && !changed);
        *for_new = *for_new || (lies && changed);
    }
    if (!changed)
        *for_new = *for_old;
}

static void look_for_standstill(struct procedure *out)
{
    uint32_t off = first(out, ASK_SPINDLE_OFF),
             stop = out->by_hand && off < out->count ? off : 0;
    uint32_t seen = procedure_find(out, ASK_STANDSTILL, stop);
    uint32_t cut = first_cut(out), hand = first_hand(out);
    out->standstill_seen = seen < out->count && (seen < hand || hand == out->count);
    /* Where nobody is asked to cut the power, it may be gone as soon as hands go in. */
    uint32_t gone = cut < out->count ? cut : hand;
    out->standstill_first = seen < out->count && (seen < gone || gone == out->count);
}

static void conclude(struct procedure *out)
{
    uint32_t hand = first_hand(out), cut = first_cut(out);
    uint32_t prop = first(out, ASK_Z_PROPPED), shoe = first(out, ASK_SHOE_OFF);
    out->has_hands = hand < out->count;
    out->hold_asked = cut < out->count;
    out->hands_held = out->prop_stands = true;
    out->early = out->count;
    for (uint32_t i = 0; i < out->count; i++) {
        const struct procedure_step *step = &out->steps[i];
        if (step->hand && !step->held_off) {
            out->hands_held = false;
            out->early = i < out->early ? i : out->early;
        }
        if (step->ask == ASK_Z_PROPPED && !step->stands)
            out->prop_stands = false;
    }
    out->propped_for_hands = prop < out->count && prop < hand;
    out->propped_for_power = prop < out->count && prop < (out->hold_asked ? cut : hand);
    out->supply_last = has_supply_last(out);
    out->plate_removed = is_removed(out, ASK_PLATE_ON, ASK_PLATE_OFF);
    out->clip_removed = is_removed(out, ASK_CLIP_ON, ASK_CLIP_OFF);
    out->block_removed = is_removed(out, ASK_BLOCK_UNDER, ASK_BLOCK_AWAY);
    out->shoe_off = shoe < out->count && shoe < first(out, ASK_CUTTER_IN);
    look_for_standstill(out);
    bool block_for_old = false;
    look_for(out, ASK_PLATE_ON, ASK_PLATE_OFF, &out->plate_for_old, &out->plate_for_new);
    look_for(out, ASK_BLOCK_UNDER, ASK_BLOCK_AWAY, &block_for_old, &out->block_for_new);
}

/* Does something other than eyes and ears tell that the spindle stands: a wait, or a sensor
 * that looks at its shaft?  What a drive says of itself is neither. */
static bool look_for_wait(struct look *look, bool *waits)
{
    double wait = 0;
    bool signal = false, shaft = false;
    if (!look_word(look, FIELD_SPINDLE_STOP_KNOWN_BY, "signal", &signal))
        return false;
    if (signal && !look_word(look, FIELD_SPINDLE_STANDSTILL_FROM, "shaft", &shaft))
        return false;
    if (look_given(look, FIELD_SPINDLE_DWELL_AFTER_STOP, 0) &&
        !look_nominal(look, FIELD_SPINDLE_DWELL_AFTER_STOP, 0, &wait))
        return false;
    *waits = shaft || wait > 0;
    return true;
}

void procedure_walk(struct procedure *out, const struct machine *machine)
{
    *out = (struct procedure){0};
    struct look look = {machine, &out->read, &out->missing};
    const struct word_list *asks = NULL;
    bool waits = false;
    bool known = look_words(&look, FIELD_CHANGE_ASKS, &asks);
    known = look_word(&look, FIELD_SPINDLE_SWITCHED_BY, "hand", &out->by_hand) && known;
    known = look_word(&look, FIELD_CHANGE_SPINDLE_HELD_OFF, "interlocked", &out->interlocked) &&
            known;
    known = look_for_wait(&look, &waits) && known;
    if (!known)
        return;
    out->known = true;
    out->count = asks->count;
    for (uint32_t i = 0; i < asks->count; i++) {
        out->steps[i].ask = (enum question_word)asks->word[i];
        out->steps[i].hand = ask_is_hand(out->steps[i].ask);
    }
    /* Where a person switches it and nobody asks, it has to be off before the first question:
     * that nobody asks is another rule's finding. */
    struct procedure_state *before = &out->before, state;
    before->off = !out->by_hand || first(out, ASK_SPINDLE_OFF) == out->count;
    before->stands = !out->by_hand || (before->off && waits);
    state = *before;
    for (uint32_t i = 0; i < out->count; i++)
        answer(out, &out->steps[i], &state, waits);
    conclude(out);
}
