/* The operator's part of a change: the questions as steps, and what nobody asks for. */
#include "base/bug.h"
#include "motion/internal_plan.h"

static enum move_kind kind_of(enum question_word word)
{
    switch (word) {
    case ASK_SPINDLE_OFF:
        return MOVE_SPINDLE_STOP;
    case ASK_STANDSTILL:
        return MOVE_STANDSTILL;
    case ASK_Z_PROPPED:
        return MOVE_PROP;
    case ASK_ISOLATED:
    case ASK_UNPLUGGED:
        return MOVE_HOLD_OFF;
    case ASK_SHOE_OFF:
        return MOVE_SHOE_OFF;
    case ASK_SETTER_CLEAN:
        return MOVE_SETTER_CLEAN;
    case ASK_CUTTER_IN:
        return MOVE_CUTTER;
    case ASK_CLIP_ON:
        return MOVE_CLIP_ON;
    case ASK_PLATE_ON:
        return MOVE_PLATE_ON;
    case ASK_PLATE_OFF:
        return MOVE_PLATE_OFF;
    case ASK_CLIP_OFF:
        return MOVE_CLIP_OFF;
    case ASK_SUPPLY_ON:
        return MOVE_SUPPLY_ON;
    case ASK_SPEED_SET:
        return MOVE_SPEED_SET;
    case ASK_SPINDLE_ON:
        return MOVE_SPINDLE_START;
    case ASK_COUNT:
        break;
    }
    BUG("no question %d", (int)word);
}

static enum spindle_act act_of(const struct procedure_state *state, bool guarded)
{
    if (!state->off)
        return SPINDLE_RUNS;
    if (!state->stands)
        return SPINDLE_STOPS;
    return state->held || guarded ? SPINDLE_HELD_OFF : SPINDLE_STANDS;
}

/* The guard is opened with the first hand that goes in. */
static void open_guard(struct planner *planner, bool hand)
{
    if (!planner->procedure.interlocked || planner->held_shown || !hand || !planner->state.off)
        return;
    planner->held_shown = true;
    planner->spindle = SPINDLE_HELD_OFF;
    plan_by_hand(planner, MOVE_HOLD_OFF);
}

static void note(struct planner *planner, enum move_kind kind)
{
    if (kind == MOVE_PLATE_ON || kind == MOVE_PLATE_OFF)
        planner->plate_lies = kind == MOVE_PLATE_ON;
    if (kind == MOVE_CLIP_ON || kind == MOVE_CLIP_OFF)
        planner->clip_on = kind == MOVE_CLIP_ON;
    if (kind == MOVE_CUTTER)
        planner->changed = true;
    if (kind == MOVE_PROP)
        planner->propped = true;
}

/* Is Z without power, on a machine where it then comes down, and does no block carry it? */
static bool sinks(const struct planner *planner)
{
    bool unpowered = planner->motors_released || (planner->machine_cut && planner->state.held);
    return planner->z_sinks && unpowered && !planner->propped;
}

/* Notes a step at which a hand comes to harm: at the spindle, or under a Z that sinks. */
static void alarm(struct planner *planner, struct move *move, bool hand, bool endangers)
{
    move->sinks = hand && sinks(planner);
    move->endangers = endangers || move->sinks;
    planner->out->endangers += move->endangers;
}

/* Whoever changes the cutter has the new one in hand. */
static void take_cutter(struct planner *planner, enum move_kind kind)
{
    if (kind == MOVE_CUTTER)
        planner->cutter = planner->out->request.to;
}

static void answer(struct planner *planner, const struct procedure_step *step)
{
    enum move_kind kind = kind_of(step->ask);
    struct move *move;
    open_guard(planner, step->hand);
    take_cutter(planner, kind);
    planner->state = step->after;
    planner->spindle = act_of(&step->after, step->held_off);
    if (kind == MOVE_SPINDLE_START ||
        (kind == MOVE_SPINDLE_STOP && planner->procedure.by_hand)) {
        plan_switch(planner, kind);
        move = &planner->out->moves[planner->out->count - 1];
    } else {
        move = plan_by_hand(planner, kind);
    }
    move->asked = true;
    move->ask = step->ask;
    alarm(planner, move, step->hand, step->endangers);
    note(planner, kind);
    planner->spindle = act_of(&step->after, false);
}

void plan_answers(struct planner *planner, uint32_t end)
{
    while (planner->next < end)
        answer(planner, &planner->procedure.steps[planner->next++]);
}

void plan_unasked(struct planner *planner, enum move_kind kind)
{
    open_guard(planner, true);
    take_cutter(planner, kind);
    bool guarded = planner->procedure.interlocked && planner->state.off;
    planner->spindle = act_of(&planner->state, guarded);
    struct move *move = plan_by_hand(planner, kind);
    alarm(planner, move, true, planner->spindle != SPINDLE_HELD_OFF);
    note(planner, kind);
    planner->spindle = act_of(&planner->state, false);
}
