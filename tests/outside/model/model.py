"""Every rule about a machine, written again from the description of the rules, in Python.

Nothing here was taken from the rulebooks or from the program: two readings of one description
are held against each other.  Where the description leaves something open, the rule is marked
with what is open and only its outcome counts, or it is left to agree by chance (see `OPEN`).

Heights are of the nose, machine frame; all numbers SI.
"""
import math

from numbers_naive import Missing, Reader, apply, greatest, least, size, slant, worst, worst_likely

DEFAULTS = {
    "plate.give": (0.0002, 0), "change.feed_override_max": (1.0, 0),
    "allowances.reseat": (0.00635, 0), "allowances.clearance": (0.005, 0),
    "allowances.least_gap": (0.001, 0), "allowances.edge": (0.002, 0),
    "allowances.park_distance": (0.05, 0), "allowances.stack": "worst_case",
    "setter.tested_before_use": False, "setter.rides_on": "table", "spindle.stop_known_by": "wait",
    "change.beyond_soft_limits": False, "change.cuts_power_to": "spindle", "change.guard_locked": False,
    "change.sets": "length",
}
DEFAULTS_WITHIN = {"scan": (0.005, 0), "debounce": (0.005, 0), "reduction": (1.0, 0),
                   "motor_steps": (200.0, 0), "passed_by_gantry": True, "turns": True}
COLLETS = {"ER8": (5, 13.5), "ER11": (7, 18), "ER16": (10, 27.5), "ER20": (13, 31.5),
           "ER25": (16, 34), "ER32": (20, 40), "ER40": (26, 46)}
AXES = ("x", "y", "z")


class Machine:
    """Fields by path; quantities as (middle, half-width), pairs as PATH.low and PATH.high."""

    def __init__(self, fields, cutters, inputs, obstacles):
        self.fields, self.cutters, self.inputs = dict(fields), cutters, inputs
        self.obstacles, self.standing, self.idle = obstacles, {}, []
        self.set_aside()

    def set_aside(self):
        """One of several setters is the setter; those that the change leaves alone stand around."""
        measures = self.fields.get("change.measures_with")
        count = len({path.partition("]")[0] for path in self.fields if path.startswith("setters[")})
        for i in range(count):
            name = self.fields.get(f"setters[{i}].name")
            if measures == "setter" and name == self.fields.get("change.setter"):
                start = f"setters[{i}]."
                self.fields.update({"setter." + path.removeprefix(start): value
                                    for path, value in self.fields.items() if path.startswith(start)})
            else:
                self.idle.append((f"setter {name}", f"setters[{i}]"))
        if not count and measures != "setter" and any(p.startswith("setter.") for p in self.fields):
            self.idle.append(("setter", "setter"))
        own = self.obstacles
        for name, path in self.idle:
            if self.get(path + ".rides_on") != "gantry" and not any(
                    self.covers(o, path) for o in range(own)):
                self.stand(name, path)

    def covers(self, o, path):
        """Does the outline of an obstacle take in the middle of a setter?"""
        middle = [self.get(f"{path}.at.{a}") for a in "xy"]
        ends = [(self.get(f"obstacles[{o}].{a}.low"), self.get(f"obstacles[{o}].{a}.high"))
                for a in "xy"]
        return all(at and low and low[0] <= at[0] <= high[0]
                   for at, (low, high) in zip(middle, ends))

    def stand(self, name, path):
        """A setter as a thing in the way: a square as wide as it is, as high as it trips."""
        to, self.obstacles = f"obstacles[{self.obstacles}]", self.obstacles + 1
        self.fields[to + ".name"], self.standing[to] = name, name
        body = self.get(path + ".body")
        for a in "xy":
            at = self.get(f"{path}.at.{a}")
            for end, sign in (("low", -1), ("high", 1)):
                if at and body:
                    self.fields[f"{to}.{a}.{end}"] = (at[0] + sign * body[0] / 2,
                                                      at[1] + body[1] / 2)
        top, nose = self.get(path + ".height"), self.get(path + ".nose_contact")
        table = self.get("table.nose_contact")
        if not top and nose and table:
            top = (nose[0] - table[0], nose[1] + table[1])
        if top:
            self.fields[to + ".top"] = top

    def called(self, o):
        """An obstacle as findings name it."""
        path = f"obstacles[{o}]"
        return self.standing.get(path) or f"obstacle {self.get(path + '.name')}"

    def get(self, path):
        value = self.fields.get(path)
        if value is None:
            value = DEFAULTS.get(path)
        if value is None and (path.startswith(("inputs.", "obstacles[")) or ".drive." in path
                              or path.startswith("cutters[") and path.endswith(".turns")):
            value = DEFAULTS_WITHIN.get(path.rpartition(".")[2])
        return value

    def need(self, path):
        value = self.get(path)
        if value is None:
            raise Missing(path)
        return value

    def number(self, path):
        return self.need(path)[0]


# What a requirement is made of, and how it is judged: (truth or None, margin or None).

class At:
    """A comparison: `formula` is what there is to spare."""

    def __init__(self, formula, dimension="length", strict=False, stack=False):
        self.formula, self.dimension, self.strict = formula, dimension, strict
        self.stack = stack  # do its tolerances add up as the file chooses?

    def judge(self, machine):
        statistical = self.stack and machine.get("allowances.stack") == "statistical"
        try:
            margin = (worst_likely if statistical else worst)(machine, self.formula)
        except Missing:
            return None, None
        margin.dimension = self.dimension
        if abs(margin.true) < 1e-12 + 1e-13 * margin.scale:
            return not self.strict, margin
        return margin.true > 0, margin


class Is:
    """A fact without a margin."""

    def __init__(self, fact):
        self.fact = fact

    def judge(self, machine):
        try:
            return bool(self.fact(machine)), None
        except Missing:
            return None, None


def pick(margins, choose):
    margins = [m for m in margins if m]
    return choose(margins, key=lambda m: m.true) if margins else None


class Level:
    """A requirement of a rule that has several, of different levels."""

    def __init__(self, level, part):
        self.level, self.part = level, part

    def judge(self, machine):
        return self.part.judge(machine)


class All:
    def __init__(self, *parts):
        self.parts = parts

    def judge(self, machine):
        judged = [part.judge(machine) for part in self.parts]
        truths = [truth for truth, _ in judged]
        truth = False if False in truths else None if None in truths else True
        return truth, pick([margin for _, margin in judged], min)


class Any:
    def __init__(self, *parts):
        self.parts = parts

    def judge(self, machine):
        judged = [part.judge(machine) for part in self.parts]
        if any(truth for truth, _ in judged):
            return True, pick([margin for truth, margin in judged if truth], max)
        if any(truth is None for truth, _ in judged):
            return None, None
        return False, pick([margin for _, margin in judged], max)


class First:
    """Ways out of which the first that holds is told of, or the nearest where none does."""

    def __init__(self, *parts):
        self.parts = parts

    def judge(self, machine):
        for part in self.parts:
            truth, margin = part.judge(machine)
            if truth:
                return truth, margin
        return Any(*self.parts).judge(machine)


class Or:
    """`or` with a flag on the left: where that holds, nothing is compared."""

    def __init__(self, left, right):
        self.left, self.right = left, right

    def judge(self, machine):
        left = self.left.judge(machine)
        if left[0]:
            return left
        right = self.right.judge(machine)
        if right[0] or left[0] is False:
            return right
        return None, None


class OnlyIf:
    """A comparison that is made only where something is so; elsewhere it fails without a margin."""

    def __init__(self, fact, part):
        self.fact, self.part = fact, part

    def judge(self, machine):
        return self.part.judge(machine) if self.fact(machine) else (False, None)


def inside(value, low, high, dimension="length"):
    return All(At(lambda k: value(k) - low(k), dimension),
               At(lambda k: high(k) - value(k), dimension))


# Named quantities.

def listed(machine, c):
    return machine.get(f"cutters[{c}].stickout") is not None


def used_stickout(k, c):
    if k.machine.get("change.stickout_from") == "assumed" or not listed(k.machine, c):
        return k.nominal("change.assumed_stickout")
    return k.nominal(f"cutters[{c}].stickout")


def put_back(k, c):
    """How far off its listed length a cutter may be in the collet: of its own, if it has that."""
    own = f"cutters[{c}].reseat"
    return k.nominal(own if k.has(own) else "allowances.reseat")


def true_stickout(k, c):
    if listed(k.machine, c):
        return k(f"cutters[{c}].stickout") + k.about(f"reseat of {c}", put_back(k, c))
    low, high = k.nominal("change.stickout_range.low"), k.nominal("change.stickout_range.high")
    return (low + high) / 2 + k.about(f"range of {c}", (high - low) / 2)


def approach_nose(k, c):
    if k.machine.need("change.approach") == "fixed":
        return k.nominal("change.approach_z")
    return (k.nominal("setter.nose_contact") + used_stickout(k, c)
            + k.nominal("change.standoff"))


def height_error(k):
    repeatability = k.machine.get("homing.z.repeatability")
    return k.about("height error", repeatability[0]) if repeatability else 0.0


def lost(k):
    """By how much the board is thinner than when the table was touched off."""
    now = "table.thickness_now"
    return k("table.thickness") - k(now) if k.has(now) else 0.0


def surface(k):
    """The table's top today."""
    return k("table.nose_contact") - lost(k)


def contact(k, c):
    return k("setter.nose_contact") + true_stickout(k, c)


def gap(k, c):
    return approach_nose(k, c) + height_error(k) - contact(k, c)


def probe_end(k, c):
    return approach_nose(k, c) - k.nominal("change.probe_stroke")


def tip_in_traverse(k, c):
    return k.nominal("change.traverse_z") + height_error(k) - true_stickout(k, c)


def reaction(k, name):
    if name is None:
        return 0.01
    sent = k(f"inputs.{name}.latency") if k.has(f"inputs.{name}.latency") else 0.0
    return k(f"inputs.{name}.scan") + k(f"inputs.{name}.debounce") + sent


def overrun(k, speed, name, axis):
    return speed * reaction(k, name) + speed * speed / (2 * k(f"axes.{axis}.acceleration"))


def travel_per_turn(k, a):
    drive = f"axes.{a}.drive."
    kind = k.machine.need(drive + "kind")
    if kind == "screw":
        return k(drive + "lead")
    if kind == "rack" and k.has(drive + "pinion_diameter"):
        return math.pi * k(drive + "pinion_diameter")
    return k(drive + "pitch") * k(drive + "teeth")


def steps_wanted(k, a):
    drive = f"axes.{a}.drive."
    return (k(drive + "motor_steps") * k(drive + "microsteps") * k(drive + "reduction")
            / travel_per_turn(k, a))


def rectangle_distance(k, x, y, rectangle):
    """Plan distance from a place to a rectangle given as (x low, x high, y low, y high)."""
    return slant(greatest(rectangle[0] - x, 0.0, x - rectangle[1]),
                 greatest(rectangle[2] - y, 0.0, y - rectangle[3]))


def rectangle(k, path):
    return [k.nominal(f"{path}.{side}.{end}") for side in "xy" for end in ("low", "high")]


def measured(k, path):
    """A rectangle as it lies, not as it was typed."""
    return [k(f"{path}.{side}.{end}") for side in "xy" for end in ("low", "high")]


def clearance(beside, above):
    """Signed clearance from `beside` = d - R and `above` = underside - top."""
    return apply(lambda a, b: math.hypot(max(0, a), max(0, b)) if a > 0 or b > 0 else max(a, b),
                 beside, above)


# When rules apply.

def turns(m, c):
    return m.get(f"cutters[{c}].turns")


def in_collet(m, c):
    """What is fixed beside the spindle is in no collet."""
    return turns(m, c) or not any(m.get(f"cutters[{c}].offset.{a}") is not None for a in "xy")


def wanted(m, c):
    """Is this cutter's own stick-out asked for?  Not where the file gives a range instead."""
    return listed(m, c) or m.get("change.stickout_range.low") is None


def setter(m):
    return m.get("change.measures_with") == "setter"


def carried(m):
    """Does the gantry take the setter along, so that it is level with the spindle all the time?"""
    return setter(m) and homes(m) and m.get("setter.rides_on") == "gantry"


def stands(m):
    return setter(m) and homes(m) and not carried(m)


def lifted(m):
    """Is the setter on a lift, as far as anything tells?"""
    return setter(m) and homes(m) and any(m.get(f"setter.{name}") is not None for name in (
        "lowered_height", "up_input", "down_input"))


def away(low, x, high):
    """How far a place on a line is outside a stretch of it."""
    return greatest(low - x, 0.0, x - high)


def setter_to_work(k):
    if carried(k.machine):
        return away(k("work.x.low"), k("setter.at.x"), k("work.x.high"))
    return rectangle_distance(k, k("setter.at.x"), k("setter.at.y"), measured(k, "work"))


def setter_sides(m):
    """The axes along which it has a place of its own."""
    return "x" if carried(m) else "xy"


def plate(m):
    return m.get("change.measures_with") == "plate"


def from_a_list(m):
    return m.get("change.measures_with") == "list"


def touched_by_hand(m):
    return m.get("change.measures_with") == "hand"


def probes(m):
    """Does the controller itself look for contact?"""
    return setter(m) or plate(m)


def homes(m):
    return m.get("homing.order") != "none"


def always(m):
    return True


def both(*conditions):
    return lambda m: all(condition(m) for condition in conditions)


def within(m, path, side):
    """Is the setter within this range?  None where the range is not given."""
    if m.get(f"{path}.{side}.low") is None:
        return None
    return (m.number(f"{path}.{side}.low") <= m.number(f"setter.at.{side}")
            <= m.number(f"{path}.{side}.high"))


def beside_table(m):
    return any(within(m, "table", side) is False for side in setter_sides(m))


def parks(m):
    return homes(m) and (setter(m) or all(m.get(f"change.park.{a}") is not None for a in "xyz"))


def over_table(m):
    """Does the setter stand over the table for sure: within its ends, or within the work's?"""
    return not beside_table(m) and any(
        all(within(m, path, side) for side in setter_sides(m)) and (
            path == "table" or m.get("work.y.low") is not None) for path in ("table", "work"))


def perhaps_over_table(m):
    return not beside_table(m) and not over_table(m)


HANDS = {"shoe_off", "clip_on", "plate_on", "setter_clean", "cutter_in", "plate_off", "clip_off",
         "block_under", "block_away"}
CUTS = {"isolated", "unplugged"}


class Step:
    """A question, and what is so of the spindle at the moment when it is put."""

    def __init__(self, asked, off, stands, held):
        self.asked, self.off, self.stands, self.held = asked, off, stands, held


def signalled(m):
    """A sensor at the shaft tells of the standstill; what a drive says of itself does not count."""
    return (m.need("spindle.stop_known_by") == "signal"
            and m.need("spindle.standstill.from") == "shaft")


def steps(m):
    """The questions, first to last.  The controller stops the spindle and waits before the first
    of them; a spindle that is switched by hand runs until somebody is asked to switch it off."""
    asked = m.need("change.asks")
    by_controller = m.need("spindle.switched_by") == "controller"
    wait = m.get("spindle.dwell_after_stop")
    waited = signalled(m) or (wait is not None and wait[0] > 0)
    off = by_controller or "spindle_off" not in asked
    stands, held, walked = by_controller or (off and waited), False, []
    for one in asked:
        locked = m.need("change.spindle_held_off") == "interlocked" and off
        walked.append(Step(one, off, stands, held or locked))
        if one == "spindle_off":
            off, stands = True, stands or waited
        elif one == "standstill":
            stands = stands or off
        elif one in CUTS:
            held = held or off
        elif one == "supply_on":
            held = False
        elif one == "spindle_on":
            off = stands = held = False
    return walked


def hands(m):
    return [step for step in steps(m) if step.asked in HANDS]


def first(m, *words):
    """Where the first of some words is asked; behind all others if nowhere."""
    asked = m.need("change.asks")
    return min((asked.index(w) for w in words if w in asked), default=len(asked))


def hold_asked(m):
    return any(w in CUTS for w in m.need("change.asks"))


def power_cut(m):
    return m.need("change.spindle_held_off") in CUTS or hold_asked(m)


def machine_cut(m):
    return power_cut(m) and m.need("change.cuts_power_to") == "machine"


def seen_before(m, *words):
    """Is somebody asked to see that it stands, after the stop and before the first of `words`?"""
    asked = m.need("change.asks")
    stopped = 0
    if m.need("spindle.switched_by") == "hand" and "spindle_off" in asked:
        stopped = asked.index("spindle_off")
    return "standstill" in asked[stopped:first(m, *words)]


def stop_seen(m):
    return seen_before(m, *HANDS)


def words_before(m, before, after):
    asks = m.get("change.asks")
    return (before not in asks or after not in asks
            or asks.index(before) < asks.index(after))


# The rules.  RULES: (name, when, instances), where instances yields (subject, requirement).

RULES = []


def rule(name, when):
    def add(function):
        RULES.append((name, when, function))
        return function
    return add


def once(name, when, *requirements):
    RULES.append((name, when, lambda m: [(None, one) for one in requirements]))


def each_of(m, things, requirement, where):
    """What is asked of each thing; where it is not known whether to ask, nothing can be said."""
    for subject, thing in things:
        try:
            if where(m, thing):
                yield subject, requirement(thing)
        except Missing as missing:
            yield subject, Is(lambda m, path=str(missing): m.need(path))


def each_cutter(name, when, requirement, where=lambda m, c: True):
    RULES.append((name, when, lambda m: each_of(
        m, [(f"cutter {m.number(f'cutters[{c}].number'):.0f}", c) for c in range(m.cutters)],
        requirement, where)))


def each_axis(name, when, requirement, where=lambda m, a: True):
    RULES.append((name, when, lambda m: each_of(
        m, [(f"axis {a}", a) for a in AXES], requirement, where)))


def word(path, *wanted):
    return Is(lambda m: m.need(path) in wanted)


def flag(path):
    return Is(lambda m: m.need(path))


def asks(*words):
    return Is(lambda m: all(w in m.need("change.asks") for w in words))


def has_soft(m, *axes):
    return any(m.get(f"axes.{a}.soft_limits.low") is not None for a in axes)


def lifts(m):
    return m.get("change.beyond_soft_limits")


def within_soft(a, place):
    """Inside the soft limits, of an axis that has any."""
    return Or(Is(lambda m: not has_soft(m, a)),
              inside(place, lambda k: k(f"axes.{a}.soft_limits.low"),
                     lambda k: k(f"axes.{a}.soft_limits.high")))


def at_axis(place, a, margin=lambda k: 0.0):
    return inside(lambda k: k.nominal(f"{place}.{a}"),
                  lambda k: k(f"axes.{a}.travel.low") + margin(k),
                  lambda k: k(f"axes.{a}.travel.high") - margin(k))


def edge(k):
    return k("allowances.edge")




def if_it_stands(requirement):
    return Or(Is(carried), requirement)


once("setter-outside-travel", both(setter, homes), at_axis("setter.at", "x"),
     if_it_stands(at_axis("setter.at", "y")))
once("setter-near-limit", both(setter, homes), at_axis("setter.at", "x", edge),
     if_it_stands(at_axis("setter.at", "y", edge)))
once("setter-below-table", both(setter, homes, over_table),
     At(lambda k: k("setter.nose_contact") - k("table.nose_contact"), strict=True))
once("setter-height-disagrees",
     both(setter, homes, lambda m: m.get("setter.height") is not None or not beside_table(m)),
     At(lambda k: 0.002 - size(k("setter.nose_contact") - k("table.nose_contact")
                               - k("setter.height"))))
each_cutter("setter-out-of-reach", both(setter, homes), lambda c: inside(
    lambda k: contact(k, c), lambda k: k("axes.z.travel.low"), lambda k: k("axes.z.travel.high")))
each_cutter("approach-above-travel", both(setter, homes), lambda c: At(
    lambda k: k("axes.z.travel.high") - approach_nose(k, c)))


def approach_over_table(c):
    return All(At(lambda k: approach_nose(k, c) - true_stickout(k, c) - surface(k),
                  strict=True),
               At(lambda k: approach_nose(k, c) - surface(k), strict=True))


each_cutter("approach-below-table", both(setter, homes, over_table), approach_over_table)
RULES.append(("table-extent-wanted", both(setter, homes, perhaps_over_table), lambda m: [
    (None, All(At(lambda k: k("setter.nose_contact") - k("table.nose_contact"), strict=True),
               *map(approach_over_table, range(m.cutters))))]))


@rule("lengths-say-crash", both(setter, homes, over_table,
                                lambda m: m.get("setter.height") is not None))
def lengths_say_crash(m):
    """A second opinion on cutters of which the setter's own contact has told nothing bad."""
    def well_above(k, c):
        above = (approach_nose(k, c) - k.nominal("setter.nose_contact") - told(k, c)
                 - put_back(k, c) - k.nominal("allowances.least_gap"))
        return above > -1e-12

    def spare(c):
        return At(lambda k: approach_nose(k, c) + height_error(k) - true_stickout(k, c)
                  - k("table.nose_contact") - k("setter.height"))
    # Where it is not known whether a cutter counts, its own requirement is not known either.
    yield None, All(*(Or(Is(lambda m, c=c: not well_above(Reader(m, None), c)), spare(c))
                      for c in range(m.cutters)))




def assumes(m):
    return m.get("change.approach") == "computed" and (
        m.get("change.stickout_from") == "assumed"
        or any(not listed(m, c) for c in range(m.cutters)))


def longest_meant(k, c):
    """The listed stick-out, or the longest that a cutter with none listed may have."""
    if listed(k.machine, c):
        return k(f"cutters[{c}].stickout")
    return k("change.stickout_range.high")


each_cutter("assumed-stickout-short", both(setter, homes, assumes), lambda c: At(
    lambda k: k("change.assumed_stickout") - longest_meant(k, c)))
each_cutter("approach-too-low", both(setter, homes), lambda c: At(
    lambda k: gap(k, c) - k("allowances.least_gap")))
each_cutter("approach-unguarded", both(setter, homes), lambda c: Or(
    flag("change.approach_guarded"),
    At(lambda k: gap(k, c) - put_back(k, c))))


def guarded(m):
    return m.need("change.approach_guarded")


once("approach-overrun", both(setter, homes, guarded),
     At(lambda k: k("setter.overtravel") - overrun(
         k, k.nominal("change.approach_feed"), k.machine.get("setter.input"), "z")))


def from_list(m):
    return m.get("change.approach") == "computed" and m.get("change.stickout_from") == "list"


@rule("wrong-cutter-fitted", both(setter, homes, from_list))
def wrong_cutter_fitted(m):
    def spare(longest):
        def formula(k):
            shortest = min(used_stickout(k, c) for c in range(m.cutters))
            return (k("change.standoff") + shortest - true_stickout(k, longest)
                    - k("allowances.least_gap"))
        return At(formula)
    yield None, Or(flag("change.approach_guarded"), All(*map(spare, range(m.cutters))))


each_cutter("probe-stroke-short", both(setter, homes), lambda c: At(
    lambda k: k("change.probe_stroke") - gap(k, c)))
each_cutter("probe-floor", both(setter, homes), lambda c: At(
    lambda k: probe_end(k, c) - k("axes.z.travel.low")))
each_cutter("empty-collet-hits-setter", both(setter, homes), lambda c: At(
    lambda k: probe_end(k, c) + height_error(k) - k("setter.nose_contact")
    - k("allowances.least_gap")))


def end_switch(m):
    return m.get("setter.end_input") if setter(m) else None


def end_run_spare(k):
    fastest = k.nominal("change.probe_feed") * k.nominal("change.feed_override_max")
    return k("setter.end_overtravel") - overrun(k, fastest, k.machine.get("setter.end_input"), "z")


def end_faults(m):
    """What keeps the end switch from being one that stops for sure."""
    own, name = f"inputs.{m.get('setter.input')}.", f"inputs.{end_switch(m)}."
    return {"shared": m.get(own + "terminal") == m.get(name + "terminal"),
            "open": m.get(name + "contact") != "normally_closed",
            "fails": m.get(name + "fails") == "free"}


def unstopped(m):
    """Would nothing stop Z behind a setter that stays silent, as things are typed?"""
    if not end_switch(m) or any(end_faults(m).values()):
        return True
    return end_run_spare(Reader(m, lambda name, width: 0.0)) < -1e-12


def dead_input(m):
    name = m.need("setter.input")
    return (m.need(f"inputs.{name}.contact") == "normally_open"
            and not m.get("setter.tested_before_use") and unstopped(m))


each_cutter("dead-input-crush", both(setter, homes, dead_input), lambda c: At(
    lambda k: k("setter.overtravel") - (k("change.probe_stroke") - gap(k, c))))


def probing_overrun(turned_up):
    def formula(k):
        speed = k("change.probe_feed")
        if turned_up:
            speed = speed * k("change.feed_override_max")
        if setter(k.machine):
            return k("setter.overtravel") - overrun(k, speed, k.machine.get("setter.input"), "z")
        return k("plate.give") - overrun(k, speed, k.machine.get("plate.input"), "z")
    return At(formula)


once("probe-faster-than-approach", setter, At(
    lambda k: k.nominal("change.approach_feed") - k.nominal("change.probe_feed"), "speed"))
once("probe-overrun", probes, probing_overrun(False))
once("override-crush", lambda m: probes(m) and m.number("change.feed_override_max") > 1, probing_overrun(True))
once("retract-still-tripped", setter, At(
    lambda k: k("change.retract") - k("setter.release")
    - overrun(k, k("change.probe_feed"), k.machine.get("setter.input"), "z"), strict=True))


def touches_twice(m):
    return (m.get("change.second_stroke") is not None
            or m.get("change.second_touch_feed") is not None)


once("second-touch-short", both(setter, touches_twice),
     At(lambda k: k.nominal("change.second_stroke") - k.nominal("change.retract")
        - k("setter.repeatability")))
once("second-touch-no-slower", both(setter, touches_twice), At(
    lambda k: k.nominal("change.probe_feed") - k.nominal("change.second_touch_feed"),
    "speed", strict=True))


def told(k, c):
    """The stick-out as it stands in the file: listed, or the middle of the range."""
    if listed(k.machine, c):
        return k.nominal(f"cutters[{c}].stickout")
    return (k.nominal("change.stickout_range.low") + k.nominal("change.stickout_range.high")) / 2


each_cutter("heights-out-of-order", both(setter, homes), lambda c: All(
    At(lambda k: k("change.traverse_z") - approach_nose(k, c)),
    At(lambda k: approach_nose(k, c) - k.nominal("setter.nose_contact") - told(k, c),
       strict=True),
    At(lambda k: k.nominal("setter.nose_contact") + told(k, c) - k("axes.z.travel.low"),
       strict=True)))


def plan_error(k):
    if carried(k.machine):
        return k("homing.x.repeatability")
    return slant(k("homing.x.repeatability"), k("homing.y.repeatability"))


each_cutter("hollow-cutter", both(setter, homes), lambda c: At(
    lambda k: k("setter.face") - k(f"cutters[{c}].hollow_diameter") - 2 * plan_error(k)),
    where=lambda m, c: turns(m, c) and m.need(f"cutters[{c}].centre") == "hollow")
each_cutter("cutter-wider-than-face", setter, lambda c: At(
    lambda k: k("setter.face") - k(f"cutters[{c}].diameter")))
once("setter-face-beyond-body", setter, At(
    lambda k: k.nominal("setter.body") - k.nominal("setter.face")))
once("off-the-face", both(setter, homes), At(
    lambda k: k("setter.face") / 2 - plan_error(k) - 0.001))
RULES.append(("setter-inside-work", both(setter, homes), lambda m: [(None, First(
    *([At(lambda k: -k("setter.lowered_height"))] if lifted(m) else []), All(*(
        At(lambda k, c=c: setter_to_work(k) - k("setter.body") / 2
           - k(f"cutters[{c}].diameter") / 2) for c in range(m.cutters)))))]))


@rule("setter-in-obstacle", stands)
def setter_in_obstacle(m):
    def apart(o, body):
        return At(lambda k: rectangle_distance(
            k, k.nominal("setter.at.x"), k.nominal("setter.at.y"), rectangle(k, f"obstacles[{o}]"))
            - (k.nominal("setter.body") / 2 if body else 0.0), strict=not body)
    yield None, All(*(apart(o, body) for o in range(m.obstacles) for body in (False, True)))


def each_idle(name, when, parts):
    RULES.append((name, when, lambda m: [(subject, parts(m, path)) for subject, path in m.idle]))


RULES.append(("unused-setter-unseen", homes, lambda m: [
    (subject, Any(*(Is(lambda m, o=o, path=path: bool(
        m.need(f"obstacles[{o}].y.low") and m.covers(o, path)))
        for o in range(m.obstacles if m.get(path + ".at.y") else 0)
        if m.get(f"obstacles[{o}].x.low") and m.get(f"obstacles[{o}].top"))))
    for subject, path in m.idle if m.get(path + ".at.x")]))


def widest(k, c):
    """The radius of a cutter's edge or shank, whichever is known and wider."""
    path = f"cutters[{c}]."
    both_known = [k(path + name) / 2 for name in ("diameter", "shank") if k.has(path + name)]
    return greatest(*both_known) if both_known else k(path + "diameter")


RULES.append(("descent-into-work", both(setter, homes), lambda m: [(None, First(
    All(*(At(lambda k, c=c: setter_to_work(k) - widest(k, c))
          for c in range(m.cutters))),
    At(lambda k: k("setter.nose_contact") - surface(k) - k("work.height"))))]))
def corner(m):
    """Does the change find the corner of the work as well?"""
    return plate(m) and any(m.get(f"plate.corner.{a}") is not None for a in "xy")


def side_run_on(a):
    def spare(k):
        speed = k.nominal("change.side_feed") * k.nominal("change.feed_override_max")
        return k("plate.give") - overrun(k, speed, k.machine.need("plate.input"), a)
    return At(spare)


once("corner-half", corner,
     Is(lambda m: all(m.get(f"plate.corner.{a}") is not None for a in "xy")))
each_cutter("corner-diameter-missing", corner,
            lambda c: Is(lambda m: m.get(f"cutters[{c}].diameter") is not None))
each_cutter("corner-descent-onto-plate", corner, lambda c: At(
    lambda k: k.nominal("change.side_out") - k("plate.face") - widest(k, c)
    - k("allowances.least_gap")))
each_cutter("corner-stroke-short", corner, lambda c: At(
    lambda k: k.nominal("change.side_stroke") - k.nominal("change.side_out")
    + k(f"cutters[{c}].diameter") / 2))
once("corner-passed-over", corner,
     At(lambda k: k.nominal("change.side_down") - k("allowances.least_gap")),
     At(lambda k: k("plate.corner.depth") - k.nominal("change.side_down")))
each_cutter("corner-nut-on-plate", corner, lambda c: At(
    lambda k: true_stickout(k, c) - k.nominal("change.side_down") - k("allowances.least_gap")))
RULES.append(("corner-overrun", corner, lambda m: [(f"axis {a}", side_run_on(a)) for a in "xy"]))
once("plate-untested", plate, flag("plate.continuity_test"))
once("plate-beyond-stroke", plate, At(lambda k: k("change.probe_stroke") - k("plate.jog_within")))


def plate_for_old(m):
    return not m.need("change.touches_old") or first(m, "plate_on") <= first(m, "cutter_in")


def lies_for_new(m, laid, away):
    """Does it lie under the new cutter, left from before or laid anew?"""
    asked = m.need("change.asks")
    if "cutter_in" not in asked:
        return laid in asked
    before, after = asked[:first(m, "cutter_in")], asked[first(m, "cutter_in"):]
    left = [word for word in before if word in (laid, away)][-1:] == [laid]
    return left or laid in after


def plate_for_new(m):
    return "plate_on" not in m.need("change.asks") or lies_for_new(m, "plate_on", "plate_off")


def gone(laid, away):
    """Nothing of this kind is left when the spindle starts, or when the change is over."""
    def fact(m):
        there = False
        for one in m.need("change.asks") + ["spindle_on"]:
            if one == "spindle_on" and there:
                return False
            there = one == laid or there and one != away
        return True
    return Is(fact)


def taken_away(thing):
    return gone(f"{thing}_on", f"{thing}_off")


def something_laid(m):
    return plate(m) or any(w in m.need("change.asks") for w in ("plate_on", "clip_on"))


once("plate-not-asked-on", plate, asks("plate_on"), Is(plate_for_old), Is(plate_for_new))
once("plate-left-on", something_laid, All(
    taken_away("plate"), taken_away("clip"), Or(Is(lambda m: not plate(m)), All(
        asks("plate_off"), Is(lambda m: "clip_off" in m.need("change.asks")
                              or m.need("plate.return_path") != "clip")))))
once("plate-height-disagrees", both(plate, homes, lambda m: m.get("plate.nose_contact")), At(
    lambda k: 0.0005 - abs(k.nominal("plate.nose_contact") - k.nominal("table.nose_contact")
                           - k.nominal("plate.thickness"))))
each_cutter("cutter-wider-than-plate", plate, lambda c: At(
    lambda k: k("plate.face") - k(f"cutters[{c}].diameter")))
once("plate-return-path", plate, word("plate.return_path", "clip"))
once("plate-spots-differ", plate, Or(flag("plate.same_spot"), At(
    lambda k: k("allowances.z_step") - k("table.slope") * k("plate.spot_distance"))))


def sets_zero(m):
    """Is Z of the work set anew by each touch, and no length kept?"""
    return m.need("change.sets") == "work_zero"


def takes_off(place):
    """Is the plate's thickness taken off elsewhere?  A difference of two touches needs no answer."""
    return Any(flag("change.touches_old"), Is(lambda m: m.need("plate.thickness_in") != place))


once("reference-cut-away", plate,
     Any(Is(sets_zero), flag("change.touches_old"), word("plate.spot", "fixed")),
     Any(Is(lambda m: not sets_zero(m)), flag("change.touches_old"), flag("work.zero_face_kept")))
once("plate-thickness-twice",
     lambda m: plate(m) and (sets_zero(m) or m.get("plate.thickness_in") is not None),
     takes_off("both"))
once("plate-thickness-forgotten", both(plate, sets_zero), takes_off("none"))


def terminal(m, device):
    return m.get(f"inputs.{m.get(device + '.input')}.terminal")


def contact_kind(m, device):
    return m.get(f"inputs.{m.get(device + '.input')}.contact")


def shared(m):
    return (m.get("setter.input") is not None and m.get("plate.input") is not None
            and terminal(m, "setter") == terminal(m, "plate"))


once("input-contact-conflict", shared,
     Is(lambda m: contact_kind(m, "setter") == contact_kind(m, "plate")))


@rule("input-terminal-twice", always)
def input_terminal_twice(m):
    def tested(name):
        return ((m.get("setter.input") == name and m.get("setter.tested_before_use"))
                or (m.get("plate.input") == name and m.get("plate.continuity_test")))

    def fine(m):
        return all(m.get(f"inputs.{a}.terminal") != m.get(f"inputs.{b}.terminal")
                   or tested(a) and tested(b)
                   for i, a in enumerate(m.inputs) for b in m.inputs[:i])
    yield None, Is(fine)


once("setter-contact-open", both(setter, unstopped), Any(
    Is(lambda m: contact_kind(m, "setter") == "normally_closed"),
    flag("setter.tested_before_use")))
once("plate-contact-closed", lambda m: m.get("plate.input") is not None, Any(
    Is(lambda m: contact_kind(m, "plate") == "normally_open"), Is(shared)))
def fails(m, device):
    return m.get(f"inputs.{m.get(device + '.input')}.fails")


once("setter-fails-free", both(setter, lambda m: fails(m, "setter"), unstopped), Any(
    Is(lambda m: fails(m, "setter") == "touched"), flag("setter.tested_before_use")))
once("plate-fails-free", both(plate, lambda m: fails(m, "plate")), Any(
    Is(lambda m: fails(m, "plate") == "touched"), flag("plate.continuity_test")))
each_axis("home-fails-free", homes, lambda a: Is(lambda m: all(
    fails(m, switch) in (None, "touched") for switch in (f"homing.{a}", f"homing.{a}.second"))),
          where=lambda m, a: fails(m, f"homing.{a}") or fails(m, f"homing.{a}.second"))
RULES.append(("bounce-outlasts-debounce", always, lambda m: [
    (f"input {name}", At(lambda k, name=name: k(f"inputs.{name}.debounce")
                         - k(f"inputs.{name}.bounce"), "time")) for name in m.inputs]))



def shared_with_homing(device):
    """Each home switch by itself: one of which nothing is known may be the one."""
    return All(*(Is(lambda m, a=a: not m.get(f"{device}.input")
                    or m.need(f"homing.{a}.input") != m.get(f"{device}.input")) for a in AXES),
               *(Is(lambda m, a=a: m.get(f"{device}.input") is None
                    or m.get(f"homing.{a}.second.input") != m.get(f"{device}.input"))
                 for a in AXES))


once("input-serves-two", homes, shared_with_homing("setter"), shared_with_homing("plate"))

once("no-contact-continues", probes, word("change.no_contact", "stops"))
once("idle-unchecked", probes, flag("change.idle_checked"))
once("cutter-unasked", always, asks("cutter_in"))
once("hand-spindle-unasked", lambda m: m.get("spindle.switched_by") == "hand",
     asks("spindle_off", "spindle_on"))
once("spindle-can-start", always,
     Is(lambda m: m.need("change.spindle_held_off") != "no"))
RULES.append(("asks-out-of-order", always, lambda m: [
    (None, Is(lambda m, pair=pair: words_before(m, *pair))) for pair in (
        ("spindle_off", "cutter_in"), ("unplugged", "cutter_in"), ("plate_off", "spindle_on"),
        ("clip_off", "spindle_on"), ("cutter_in", "spindle_on"))]))
once("hands-before-held-off",
     lambda m: (hold_asked(m) or m.need("change.spindle_held_off") == "interlocked"),
     Is(lambda m: all(step.held for step in hands(m))))
once("hold-off-unasked", always,
     Level("error", Is(lambda m: m.need("change.spindle_held_off") != "unplugged"
                       or hold_asked(m))),
     Level("warning", Is(lambda m: m.need("change.spindle_held_off") != "isolated"
                         or hold_asked(m))))


def supply_comes_back(m):
    """After the last hand and the last word that takes the supply away, and before the start."""
    asked = m.need("change.asks")
    last = max((i for i, w in enumerate(asked) if w in HANDS | CUTS), default=-1)
    rest = asked[last + 1:]
    return "supply_on" in rest[:rest.index("spindle_on") if "spindle_on" in rest else len(rest)]


once("supply-on-unasked", power_cut, Is(supply_comes_back))


def switched_by_hand(m):
    return m.need("spindle.switched_by") == "hand"


once("standstill-unwaited", lambda m: switched_by_hand(m) and hands(m), Is(
    lambda m: stop_seen(m) or signalled(m) or m.get("spindle.dwell_after_stop") is not None))
once("prop-before-standstill", lambda m: "z_propped" in m.need("change.asks"), Is(
    lambda m: all(step.stands for step in steps(m) if step.asked == "z_propped")))


def released(m):
    return m.get("change.motors_held") is False


def propped(m):
    """A block carries Z before it loses its motor: where the power goes, at the word for it, or at
    the first hand if there is no such word; where only the motors let go, at the first hand."""
    prop = first(m, "z_propped")
    cut = first(m, *CUTS) if hold_asked(m) else first(m, *HANDS)
    return ("z_propped" in m.need("change.asks") and (not machine_cut(m) or prop < cut)
            and (not released(m) or prop < first(m, *HANDS)))


once("z-sinks-on-hands", lambda m: machine_cut(m) or released(m),
     Or(flag("axes.z.holds_unpowered"), Is(propped)))
once("position-lost", machine_cut, flag("change.homes_again"))
once("shoe-off-unasked", lambda m: m.get("spindle.shoe.removed"), Is(
    lambda m: "shoe_off" in m.need("change.asks")
    and first(m, "shoe_off") < first(m, "cutter_in")))
once("motors-released", always, flag("change.motors_held"))
once("reference-missing",
     lambda m: probes(m) and not (plate(m) and sets_zero(m)) and not m.need("change.touches_old"),
     flag("change.refuses_unreferenced"))
once("unhomed-change", both(setter, homes), flag("change.refuses_unhomed"))
once("stale-offset", always, word("change.after_abort", "offset_cleared"))
each_axis("limits-not-enforced", homes, lambda a: flag(f"axes.{a}.limits_enforced"))

once("traverse-outside-travel", homes, inside(
    lambda k: k("change.traverse_z"), lambda k: k("axes.z.travel.low"),
    lambda k: k("axes.z.travel.high")))
each_cutter("traverse-hits-setter", both(setter, homes), lambda c: At(
    lambda k: tip_in_traverse(k, c) - k("setter.nose_contact")))
each_cutter("traverse-low-over-setter", both(setter, homes), lambda c: At(
    lambda k: tip_in_traverse(k, c) - k("setter.nose_contact") - k("allowances.clearance")))
each_cutter("traverse-hits-work", homes, lambda c: At(
    lambda k: tip_in_traverse(k, c) - surface(k) - k("work.height")))
each_cutter("traverse-low-over-work", homes, lambda c: At(
    lambda k: tip_in_traverse(k, c) - surface(k) - k("work.height")
    - k("allowances.clearance")))


def work_unknown(m):
    return m.get("work.height") is None


each_cutter("traverse-hits-table", both(homes, work_unknown), lambda c: At(
    lambda k: tip_in_traverse(k, c) - surface(k)))
each_cutter("traverse-low-over-table", both(homes, work_unknown), lambda c: At(
    lambda k: tip_in_traverse(k, c) - surface(k) - k("allowances.clearance")))


def beam(top, wanted):
    return At(lambda k: k("machine.gantry_underside") - top(k)
              - (k("allowances.clearance") if wanted else 0.0))


def stands_up(k, o):
    """What the jaws of a rotary axis sweep may be the highest of it."""
    path = f"obstacles[{o}]."
    if not k.has(path + "chuck.diameter"):
        return k(path + "top")
    return greatest(k(path + "top"), k(path + "chuck.axis_height") + k(path + "chuck.diameter") / 2)


def with_chuck(m):
    return [o for o in range(m.obstacles) if m.get(f"obstacles[{o}].chuck.diameter") is not None]


def across_chuck(m, o):
    """The outline has to be as wide as what turns, across its axis."""
    path = f"obstacles[{o}]."
    if m.get(path + "chuck.along") is None:
        return Is(lambda m: m.need(path + "chuck.along"))
    side = path + ("y" if m.get(path + "chuck.along") == "x" else "x")
    return At(lambda k: k(side + ".high") - k(side + ".low") - k(path + "chuck.diameter"))


RULES.append(("chuck-beyond-obstacle", always, lambda m: [
    (m.called(o), across_chuck(m, o)) for o in with_chuck(m)]))
RULES.append(("chuck-turns-on-hands", always, lambda m: [
    (m.called(o),
     Is(lambda m, o=o: m.need(f"obstacles[{o}].chuck.stands"))) for o in with_chuck(m)]))


def passed_by_beam(m, o):
    return m.need(f"obstacles[{o}].passed_by_gantry")


def setter_top(k):
    return k("setter.nose_contact") - k("table.nose_contact")


for level, wanted_below in (("hits", False), ("low-over", True)):
    once(f"gantry-{level}-work", always, beam(lambda k: k("work.height") - lost(k), wanted_below))
    once(f"gantry-{level}-setter", stands, beam(setter_top, wanted_below))
    RULES.append((f"gantry-{level}-obstacle", always, lambda m, wanted_below=wanted_below: [
        (m.called(o),
         beam(lambda k, o=o: stands_up(k, o), wanted_below))
        for o in range(m.obstacles) if passed_by_beam(m, o)]))


each_cutter("return-out-of-reach", homes, lambda c: At(
    lambda k: k("axes.z.travel.high") - surface(k) - k("work.height")
    - true_stickout(k, c)))
once("park-outside-travel", parks, *(at_axis("change.park", a) for a in AXES))
once("park-near-limit", parks, *(at_axis("change.park", a, edge) for a in "xy"))
once("park-over-setter", both(setter, homes), At(
    lambda k: slant(k("change.park.x") - k("setter.at.x"), 0.0 if carried(k.machine) else
                    k("change.park.y") - k("setter.at.y"))
    - k("setter.body") / 2 - k("allowances.park_distance")))


each_idle("park-over-idle-setter", parks, lambda m, path: At(
    lambda k: slant(k("change.park.x") - k(path + ".at.x"),
                    0.0 if m.get(path + ".rides_on") == "gantry" else
                    k("change.park.y") - k(path + ".at.y"))
    - k(path + ".body") / 2 - k("allowances.park_distance")))


def park_reach(m, c):
    """How far beside the park position a cutter may be with its edge, homed as badly as may be."""
    return widest(Reader(m, lambda name, width: 0.0), c) + math.hypot(
        *((m.get(f"homing.{a}.repeatability") or (0, 0))[0] for a in "xy"))


def from_park(m, path):
    """The plan distance of an area, 0 within it."""
    k = Reader(m, None)
    return rectangle_distance(k, k.nominal("change.park.x"), k.nominal("change.park.y"),
                              rectangle(k, path))


def from_park_to_setter(m):
    k = Reader(m, None)
    middle = math.hypot(*(k.nominal(f"change.park.{a}") - k.nominal(f"setter.at.{a}")
                          for a in setter_sides(m)))
    return middle if m.get("setter.body") is None else middle - m.number("setter.body") / 2


def outlined(m, path):
    return all(m.get(f"{path}.{side}.low") is not None for side in "xy")


def below_park(m):
    """What may lie below: (its distance, its height in the frame of the nose)."""
    found = [((lambda m: from_park(m, "table")) if outlined(m, "table") else None,
              surface)]
    if outlined(m, "work") and m.get("work.height") is not None:
        found.append((lambda m: from_park(m, "work"),
                      lambda k: surface(k) + k("work.height")))
    if setter(m):
        found.append((from_park_to_setter, lambda k: k("setter.nose_contact")))
    return found + [(lambda m, o=o: from_park(m, f"obstacles[{o}]"),
                     lambda k, o=o: k("table.nose_contact") + stands_up(k, o))
                    for o in range(m.obstacles)]


class Below:
    """A requirement about a thing, where cutter `c` parked there reaches it.  An obstacle that is
    low enough does no harm, whether it is reached or not."""

    def __init__(self, c, distance, part, is_obstacle):
        self.c, self.distance, self.part = c, distance, part
        self.is_obstacle = is_obstacle

    def judge(self, machine):
        try:
            if self.distance and self.distance(machine) > park_reach(machine, self.c) + 1e-12:
                if self.distance is from_park_to_setter:
                    machine.need("setter.body")
                return True, None
        except Missing:
            held, _ = self.part.judge(machine)
            return (True if held and self.is_obstacle else None), None
        return self.part.judge(machine)


def above_all(name, spare, strict, stack=False):
    RULES.append((name, parks, lambda m: [
        (f"cutter {m.number(f'cutters[{c}].number'):.0f}", All(*(
            Below(c, distance, At(lambda k, c=c, top=top: spare(k, c) - top(k), strict=strict,
                                  stack=stack), i >= len(below_park(m)) - m.obstacles)
                for i, (distance, top) in enumerate(below_park(m)))))
        for c in range(m.cutters)]))


above_all("park-tip-hits", lambda k, c: k.nominal("change.park.z") + height_error(k)
          - true_stickout(k, c), strict=True, stack=True)
above_all("park-too-low", lambda k, c: k.nominal("change.park.z") - k(f"cutters[{c}].length"),
          strict=False)


def on_table(side):
    """The work lies on the table along this side, as far as the table's extent is known."""
    def spare(end, sign):
        return At(lambda k: sign * (k.nominal(f"table.{side}.{end}")
                                    - k.nominal(f"work.{side}.{end}")))
    return Or(Is(lambda m: m.get(f"table.{side}.low") is None),
              All(spare("low", -1), spare("high", 1)))


once("work-outside-table",
     lambda m: any(m.get(f"table.{side}.low") is not None for side in "xy"),
     on_table("x"), on_table("y"))


def park_outside_work(m):
    def inside_along(s):
        (low, wide), (high, far) = m.need(f"work.{s}.low"), m.need(f"work.{s}.high")
        return low - wide <= m.number(f"change.park.{s}") <= high + far
    return not all(inside_along(s) for s in "xy")


once("park-over-work", parks, Is(park_outside_work))
once("offset-after-descent", lambda m: m.need("change.returns_to_start"),
     word("change.offset_applied", "before_descent"))
each_cutter("cutter-cannot-reach-table", homes, lambda c: At(
    lambda k: surface(k) + k.nominal(f"cutters[{c}].stickout")
    - k("axes.z.travel.low")), where=wanted)


def touches_setter(m):
    """Does every cutter, as it is told, meet the setter within the travel of Z?"""
    met = All(*(inside(lambda k, c=c: k.nominal("setter.nose_contact") + told(k, c),
                       lambda k: k.nominal("axes.z.travel.low"),
                       lambda k: k.nominal("axes.z.travel.high")) for c in range(m.cutters)))
    truth = met.judge(m)[0]
    if truth is None:
        raise Missing("stickout")
    return truth


def any_listed(m):
    return any(listed(m, c) for c in range(m.cutters))


RULES.append(("table-out-of-reach", both(
    homes, any_listed, lambda m: not setter(m) or touches_setter(m)), lambda m: [(None, Any(*(
        At(lambda k, c=c: surface(k) + k.nominal(f"cutters[{c}].stickout")
           - k("axes.z.travel.low")) for c in range(m.cutters) if listed(m, c))))]))

once("home-incomplete", setter, Is(lambda m: all(
    any(a in group for group in m.get("homing.order")) for a in AXES)
    and m.get("homing.order") != "none"))
once("home-z-not-first", homes, Is(lambda m: m.get("homing.order")[0] == "z"))
once("home-z-toward-table", homes, word("homing.z.end", "high"))
each_axis("home-outside-travel", homes, lambda a: inside(
    lambda k: k(f"homing.{a}.rest"), lambda k: k(f"axes.{a}.travel.low"),
    lambda k: k(f"axes.{a}.travel.high")))


def half_named(a):
    def formula(k):
        beyond = (k(f"homing.{a}.rest")
                  - (k(f"axes.{a}.travel.low") + k(f"axes.{a}.travel.high")) / 2)
        return beyond if k.machine.need(f"homing.{a}.end") == "high" else -beyond
    return At(formula)


each_axis("home-at-other-end", homes, half_named)
each_axis("home-overrun", homes, lambda a: At(
    lambda k: k(f"homing.{a}.overtravel") - overrun(
        k, k(f"homing.{a}.fast_feed"), k.machine.get(f"homing.{a}.input"), a)))
each_axis("home-back-off-short", homes, lambda a: At(
    lambda k: k(f"homing.{a}.back_off") - k(f"homing.{a}.release") - overrun(
        k, k(f"homing.{a}.slow_feed"), k.machine.get(f"homing.{a}.input"), a)))


def beyond_limit(a):
    return Any(At(lambda k: k(f"homing.{a}.trip") - k(f"axes.{a}.travel.high")),
               At(lambda k: k(f"axes.{a}.travel.low") - k(f"homing.{a}.trip")))


each_axis("home-trip-inside-travel", homes, beyond_limit,
          where=lambda m, a: m.need(f"homing.{a}.shares_limit"))


def sides_apart(name):
    """Of an axis on two motors, each with its own switch."""
    def requirement(a):
        return Or(Is(lambda m: m.get(f"homing.{a}.second.{name}") is None), At(
            lambda k: k(f"homing.{a}.square_limit")
            - size(k(f"homing.{a}.second.{name}") - k(f"homing.{a}.{name}"))))
    return requirement


def has_second(m, a, *names):
    return any(m.get(f"homing.{a}.second.{name}") is not None for name in names)


each_axis("beam-out-of-square", homes,
          lambda a: All(sides_apart("trip")(a), sides_apart("rest")(a)),
          where=lambda m, a: has_second(m, a, "trip", "rest"))
each_axis("second-switch-shared", homes, lambda a: Is(
    lambda m: m.get(f"inputs.{m.get(f'homing.{a}.second.input')}.terminal")
    != m.get(f"inputs.{m.need(f'homing.{a}.input')}.terminal")),
          where=lambda m, a: has_second(m, a, "input"))
each_axis("second-switch-half", homes, lambda a: Is(
    lambda m: has_second(m, a, "input") and has_second(m, a, "trip", "rest")),
          where=lambda m, a: has_second(m, a, "input", "trip", "rest"))


def switched(m):
    return m.get("spindle.switched_by") == "controller"


def waited_for(m):
    """Is it a wait on which the hands rely?"""
    if signalled(m):
        return False
    return switched(m) or (not stop_seen(m) and m.get("spindle.dwell_after_stop") is not None)


def waits(margin):
    def formula(k):
        if not k.has("spindle.dwell_after_stop") and k.machine.get(
                "spindle.stop_known_by") == "signal":
            return 0.0 - margin(k)  # no wait but the drive's word
        return k.nominal("spindle.dwell_after_stop") - margin(k)
    return At(formula, "time")


once("dwell-stop-short", waited_for, waits(lambda k: k("spindle.run_down")))
once("dwell-stop-tight", waited_for, waits(lambda k: 1.2 * k("spindle.run_down")))
once("dwell-start-short", both(switched, lambda m: any(turns(m, c) for c in range(m.cutters))), At(
    lambda k: k("spindle.dwell_after_start") - k("spindle.run_up"), "time"))
once("standstill-unproven", signalled, flag("spindle.standstill.seen_turning"))
once("standstill-timeout-continues", signalled, word("spindle.standstill.on_timeout", "stops"))
once("standstill-timeout-short",
     lambda m: signalled(m) and m.get("spindle.standstill.timeout") is not None,
     At(lambda k: k.nominal("spindle.standstill.timeout") - k("spindle.run_down"), "time"))


def run_down_reckoned(k):
    return k("spindle.inertia") * k("spindle.speed.high") / k("spindle.braking_torque")



def second_opinion(m):
    return m.get("spindle.inertia") is not None or m.get("spindle.braking_torque") is not None


once("run-down-disagrees", second_opinion,
     At(lambda k: 0.25 * run_down_reckoned(k)
        - size(k("spindle.run_down") - run_down_reckoned(k)), "time"))
once("run-down-long", always, At(lambda k: 10.0 - k("spindle.run_down"), "time"))


def cut_early(m):
    """Can the power go, and the brake with it, while the spindle still turns?"""
    if m.need("change.spindle_held_off") == "interlocked" and not m.need("change.guard_locked"):
        return True
    return power_cut(m) and not seen_before(m, *(CUTS if hold_asked(m) else HANDS))


RULES.append(("coast-longer-than-wait", waited_for, lambda m: [(None, Level(
    "warning" if cut_early(m) else "note", waits(lambda k: k("spindle.coast_down"))))]))


def speed_of(k, c):
    """The cutter's own speed, but no spindle runs slower than it can."""
    known = [k(path) for path in (f"cutters[{c}].speed", "spindle.speed.low") if k.has(path)]
    return greatest(*known) if known else k("spindle.speed.low")


def dialled(m):
    by = m.get("spindle.speed_set_by") or m.need("spindle.switched_by")
    return by == "hand"


def speed_asked(m):
    return ("speed_set" in m.need("change.asks")
            and first(m, "speed_set") < first(m, "spindle_on"))


def dial_to_spare(k):
    """Between the fastest that the dial may be left at and the slowest that a cutter bears."""
    def each(name):
        return [k(f"cutters[{c}].{name}") for c in range(k.machine.cutters)
                if k.has(f"cutters[{c}].{name}") and turns(k.machine, c)]
    fastest = greatest(*each("speed")) if each("speed") else k("spindle.speed.high")
    if not each("top_speed"):
        raise Missing("top_speed")
    return least(*each("top_speed")) - fastest


once("speed-unset", dialled, Or(Is(speed_asked), At(dial_to_spare, "rotation speed")))
each_cutter("speed-beyond-spindle", always, lambda c: At(
    lambda k: k("spindle.speed.high") - k.nominal(f"cutters[{c}].speed"), "rotation speed"),
    where=lambda m, c: turns(m, c) and m.get(f"cutters[{c}].speed") is not None)
each_cutter("cutter-overspeed", always, lambda c: At(
    lambda k: k(f"cutters[{c}].top_speed") - speed_of(k, c), "rotation speed"), where=turns)
each_cutter("never-turned-is-started", always,
            lambda c: word("change.starts_spindle", "if_it_turns"),
            where=lambda m, c: not turns(m, c))


def under_setter(c, a):
    """Where the spindle has to stand for a tip beside it."""
    path = f"cutters[{c}].offset.{a}"
    return Or(Is(lambda m: m.get(path) is None),
              inside(lambda k: k(f"setter.at.{a}") - k(path),
                     lambda k: k(f"axes.{a}.travel.low"), lambda k: k(f"axes.{a}.travel.high")))


each_cutter("offset-out-of-reach", both(setter, homes),
            lambda c: All(under_setter(c, "x"), if_it_stands(under_setter(c, "y"))),
            where=lambda m, c: not in_collet(m, c))
each_cutter("offset-passed-over", both(setter, homes), lambda c: Is(lambda m: in_collet(m, c)),
            where=lambda m, c: not turns(m, c))
once("spindle-growth", always, At(lambda k: k("allowances.z_step") - k("spindle.growth")))

once("cutter-number-twice", always, Is(lambda m: len(
    {m.number(f"cutters[{c}].number") for c in range(m.cutters)}) == m.cutters))
for missing, where_asked in (("cutter-stickout-missing", setter),
                             ("cutter-stickout-unlisted",
                              lambda m: plate(m) or touched_by_hand(m))):
    each_cutter(missing, where_asked, lambda c: Is(
        lambda m: listed(m, c) or m.get("change.stickout_range.low") is not None))
each_cutter("cutter-impossible", always, lambda c: At(
    lambda k: k(f"cutters[{c}].length") - k(f"cutters[{c}].stickout"), strict=True),
    where=lambda m, c: wanted(m, c) and in_collet(m, c))
each_cutter("flutes-in-collet", always, lambda c: At(
    lambda k: k(f"cutters[{c}].stickout") - k(f"cutters[{c}].flute_length")),
    where=lambda m, c: wanted(m, c) and turns(m, c))


def closes_on(c, i):
    """Does collet `i` at hand close on the shank of cutter `c`?"""
    def down(k):
        small = k.machine.need("spindle.collet") in ("ER8", "ER11")
        return 0.0005 if small else 0.001
    return At(lambda k: least(
        k(f"cutters[{c}].shank") - k(f"spindle.collet_sizes[{i}]") + down(k),
        k(f"spindle.collet_sizes[{i}]") - k(f"cutters[{c}].shank")))


RULES.append(("shank-not-held", always, lambda m: [
    (f"cutter {m.number(f'cutters[{c}].number'):.0f}",
     Any(*(closes_on(c, i) for i in range(m.get("spindle.collet_sizes") or 0)))
     if m.get("spindle.collet_sizes") else At(lambda k: k("spindle.collet_sizes")))
    for c in range(m.cutters) if in_collet(m, c)]))


def collet(k, which):
    return COLLETS[k.machine.need("spindle.collet")][which] / 1000


each_cutter("shank-over-capacity", always, lambda c: At(
    lambda k: collet(k, 0) - k(f"cutters[{c}].shank")), where=in_collet)
RULES.append(("collet-over-capacity", always, lambda m: [(None, All(
    At(lambda k: collet(k, 0)), *(
        At(lambda k, i=i: collet(k, 0) - k(f"spindle.collet_sizes[{i}]"))
        for i in range(m.get("spindle.collet_sizes") or 0))
    ) if m.get("spindle.collet_sizes") else At(lambda k: k("spindle.collet_sizes")))]))
each_cutter("shank-barely-held", always, lambda c: At(
    lambda k: k(f"cutters[{c}].length") - k(f"cutters[{c}].stickout") - 2 * collet(k, 1) / 3),
    where=lambda m, c: wanted(m, c) and in_collet(m, c)
    and m.number(f"cutters[{c}].shank") >= 0.004)
each_cutter("long-and-thin", always, lambda c: All(
    At(lambda k: 5 * k(f"cutters[{c}].diameter") - k(f"cutters[{c}].flute_length")),
    Or(Is(lambda m: not wanted(m, c)),
       At(lambda k: 6 * k(f"cutters[{c}].shank") - k(f"cutters[{c}].stickout")))), where=turns)


def described(m, a):
    return m.get(f"axes.{a}.drive.kind") is not None


each_axis("steps-disagree", always, lambda a: At(
    lambda k: 0.02 * steps_wanted(k, a) - size(k(f"axes.{a}.drive.steps") - steps_wanted(k, a)),
    "steps per length"), where=described)
each_axis("steps-off", always, lambda a: At(
    lambda k: 0.001 * steps_wanted(k, a) - size(k(f"axes.{a}.drive.steps") - steps_wanted(k, a)),
    "steps per length"), where=lambda m, a: m.get(f"axes.{a}.drive.kind") == "screw")
each_axis("step-rate-over-limit", always, lambda a: At(
    lambda k: k("machine.pulse_limit") - k(f"axes.{a}.rapid") * k(f"axes.{a}.drive.steps"),
    "step rate"), where=described)
each_axis("motor-overspeed", always, lambda a: At(
    lambda k: k(f"axes.{a}.drive.motor_top_speed")
    - 2 * math.pi * k(f"axes.{a}.rapid") * k(f"axes.{a}.drive.reduction") / travel_per_turn(k, a),
    "rotation speed"), where=described)
once("resolution-coarse", lambda m: described(m, "z"), At(
    lambda k: k("allowances.z_step") - travel_per_turn(k, "z") / k("axes.z.drive.reduction")
    / k("axes.z.drive.motor_steps")))


def surface_step(k):
    """The step between the surfaces that two cutters leave, at its largest: a sum of happenings
    that have nothing to do with each other, so the corners are not what is asked here."""
    m = k.machine
    device = m.need("change.measures_with")
    name = m.get(f"{device}.input")
    scan = sum(m.get(f"inputs.{name}.scan")) if name else 0.005
    scan += sum(m.get(f"inputs.{name}.latency") or (0.0,)) if name else 0.0
    feed = ("change.second_touch_feed" if k.has("change.second_touch_feed")
            else "change.probe_feed")  # of the touch that counts
    terms = [2 * k.nominal(f"{device}.repeatability"), k.nominal(feed) * scan]
    if not m.need("change.touches_old") and not (device == "plate" and sets_zero(m)):
        terms.append(k.nominal("homing.z.repeatability"))
    if device == "plate" and not m.need("plate.same_spot"):
        terms.append(k.nominal("table.slope") * k.nominal("plate.spot_distance"))
    if m.get("allowances.stack") == "statistical":
        return math.sqrt(sum(term * term for term in terms))
    return sum(terms)


once("z-step-over-budget", probes, At(lambda k: k("allowances.z_step") - surface_step(k)))
once("measured-before-work", setter,
     At(lambda k: k("setter.measured_on") - k("machine.last_worked_on"), "time"))
once("measured-before-work", always,
     At(lambda k: k("table.measured_on") - k("machine.last_worked_on"), "time"))


def not_before(measured, worked):
    """In days: where the work is not dated nothing is asked."""
    return lambda m: [(None, At(lambda k: k(measured) - k(worked), "time"))] if m.get(worked) else []


RULES.append(("setter-before-axis-work", both(setter, homes), lambda m: [
    (f"axis {a}", part) for a in AXES
    for _, part in not_before("setter.measured_on", f"axes.{a}.last_worked_on")(m)]))
RULES.append(("heights-before-spindle-work", always, lambda m: [
    *(not_before("setter.measured_on", "spindle.last_worked_on")(m)
      if setter(m) and homes(m) else [(None, Is(lambda m: True))]),
    *not_before("table.measured_on", "spindle.last_worked_on")(m)]
    if m.get("spindle.last_worked_on") else []))


def idle_dates(m, path):
    """Nobody worked on the machine, or on an axis, since its place was measured."""
    measured = path + ".measured_on"
    yield (At(lambda k: k(measured) - k("machine.last_worked_on"), "time")
           if m.get("machine.last_worked_on") else Is(lambda m: True))
    yield All(*(part for a in AXES for _, part in not_before(measured, f"axes.{a}.last_worked_on")(m)))


RULES.append(("idle-setter-old", homes, lambda m: [
    (subject, part) for subject, path in m.idle for part in idle_dates(m, path)]))


@rule("table-before-part-work", always)
def table_before_part_work(m):
    surfaced = "table.thickness_measured_on" if m.get("table.thickness_now") else "table.measured_on"
    asked = [*not_before("table.measured_on", "axes.z.last_worked_on")(m),
             *not_before(surfaced, "table.last_worked_on")(m)]
    yield from asked + [(None, Is(lambda m: True))] * (3 - len(asked)) if asked else []


once("board-lost-twice", lambda m: m.get("table.thickness_now") is not None
     and m.number("table.measured_on") > m.number("table.thickness_measured_on"),
     At(lambda k: -size(k.nominal("table.thickness") - k.nominal("table.thickness_now"))))


# Lengths from a list, or touched off by whoever changes the cutter.
each_cutter("listed-length-missing", from_a_list, lambda c: Is(lambda m: listed(m, c)))
each_cutter("listed-length-old", from_a_list, lambda c: At(
    lambda k: k(f"cutters[{c}].measured_on") - k("machine.last_worked_on"), "time"), where=listed)


def repeats(c):
    """Twice in and out of the collet, within the step that is accepted."""
    return At(lambda k: k("allowances.z_step") - put_back(k, c) - put_back(k, c))


each_cutter("reseat-over-step", from_a_list, repeats)
each_cutter("stickout-by-eye", from_a_list, lambda c: Or(
    Is(lambda m: m.get(f"cutters[{c}].stop") in ("collar", "shoulder", "jig")),
    OnlyIf(lambda m: m.get(f"cutters[{c}].reseat") is not None, repeats(c))))
once("touch-off-unasked", touched_by_hand, Is(
    lambda m: lies_for_new(m, "block_under", "block_away")))
once("touch-off-powerless", lambda m: touched_by_hand(m) and power_cut(m),
     word("change.cuts_power_to", "spindle"))
once("block-left-under",
     lambda m: touched_by_hand(m) or "block_under" in m.need("change.asks"),
     All(gone("block_under", "block_away"), asks("block_away")))


each_axis("soft-limits-outside-travel", homes, lambda a: All(
    At(lambda k: k.nominal(f"axes.{a}.soft_limits.low") - k(f"axes.{a}.travel.low")),
    At(lambda k: k(f"axes.{a}.travel.high") - k.nominal(f"axes.{a}.soft_limits.high"))),
          where=lambda m, a: has_soft(m, a))
for beyond, asked in (("setter-beyond-soft-limits", lambda m: not lifts(m)),
                      ("soft-limits-lifted", lifts)):
    once(beyond, both(setter, homes, asked, lambda m: has_soft(m, "x", "y")),
         within_soft("x", lambda k: k("setter.at.x")),
         if_it_stands(within_soft("y", lambda k: k("setter.at.y"))))
once("park-beyond-soft-limits", both(parks, lambda m: not lifts(m) and has_soft(m, *AXES)),
     *(within_soft(a, lambda k, a=a: k.nominal(f"change.park.{a}")) for a in AXES))
each_cutter("z-beyond-soft-limits", both(homes, lambda m: not lifts(m) and has_soft(m, "z")),
            lambda c: All(
                At(lambda k: k("axes.z.soft_limits.high") - k.nominal("change.traverse_z")),
                Or(Is(lambda m: not setter(m)), At(
                    lambda k: contact(k, c) - k("axes.z.soft_limits.low")))))


# A setter that the gantry takes along.

once("carried-setter-with-y", carried, Is(lambda m: m.get("setter.at.y") is None))
once("underside-above-trip", both(carried, lambda m: m.get("setter.underside") is not None),
     At(lambda k: setter_top(k) - k("setter.underside"), strict=True))


def passes(top, apart, spare=lambda k: 0.0):
    """Over a thing, or beside it along X."""
    return First(At(lambda k: k("setter.underside") - top(k) - spare(k)),
                 At(lambda k: apart(k) - k("setter.body") / 2 - spare(k)))


once("carried-setter-hits-work", carried, passes(lambda k: k("work.height") - lost(k), setter_to_work))
for fault, spare_room in (("hits", lambda k: 0.0), ("near", lambda k: k("allowances.clearance"))):
    RULES.append((f"carried-setter-{fault}-obstacle", carried, lambda m, spare_room=spare_room: [
        (m.called(o), passes(
            lambda k, o=o: stands_up(k, o),
            lambda k, o=o: away(k(f"obstacles[{o}].x.low"), k("setter.at.x"),
                                k(f"obstacles[{o}].x.high")), spare_room))
        for o in range(m.obstacles) if passed_by_beam(m, o)]))


def misses_at_work(beside, radius, below):
    """At the edge of the work area something on the spindle stays clear of the setter level with
    it, or it never gets down to it."""
    def above(k):
        return (surface(k) + least(*(true_stickout(k, c) for c in
                                                  range(k.machine.cutters)))
                - below(k) - k("setter.nose_contact"))
    return First(At(lambda k: beside(k) - k("setter.body") / 2 - radius(k)), At(above))


def attachment_beside(i):
    path = f"attachments[{i}]"
    return misses_at_work(
        lambda k: slant(k(f"{path}.y"), away(k("work.x.low") + k(f"{path}.x"), k("setter.at.x"),
                                             k("work.x.high") + k(f"{path}.x"))),
        lambda k: k(f"{path}.diameter") / 2, lambda k: -k(f"{path}.above_nose"))


RULES.append(("carried-setter-beside-work", carried, lambda m: [(None, All(
    misses_at_work(setter_to_work, lambda k: k("spindle.nut_diameter") / 2, lambda k: 0.0),
    Or(Is(lambda m: m.get("spindle.shoe.diameter") is None), misses_at_work(
        setter_to_work, lambda k: k("spindle.shoe.diameter") / 2,
        lambda k: k("spindle.shoe.below_nose"))),
    *(attachment_beside(i) for i in range(m.get("attachments") or 0))))]))
each_cutter("carried-setter-missed", carried, lambda c: At(
    lambda k: k("setter.face") / 2 - size(k(f"cutters[{c}].offset.y"))),
            where=lambda m, c: not turns(m, c) and m.get(f"cutters[{c}].offset.y") is not None)


once("end-switch-unfit", end_switch, *(
    Level("error" if fault == "shared" else "warning",
          Is(lambda m, fault=fault: not end_faults(m)[fault]))
    for fault in ("shared", "open", "fails")))
once("end-switch-overrun", end_switch, At(end_run_spare))


# A setter on a lift.

for end in ("up", "down"):
    once(f"lift-unseen-{end}", lifted, All(
        Is(lambda m, end=end: m.get(f"setter.{end}_input") is not None),
        flag(f"setter.seen_{end}")))
once("lift-not-lower", lifted,
     At(lambda k: setter_top(k) - k("setter.lowered_height"), strict=True))


def switch(m, end):
    """What a switch of the lift is wired to, by its parts; None where there is none."""
    name = m.get(f"setter.{end}_input")
    return name and {part: m.get(f"inputs.{name}.{part}")
                     for part in ("terminal", "contact", "fails")}


def lift_terminals_differ(m):
    seen = [terminal(m, "setter")] + [switch(m, end)["terminal"] for end in ("up", "down")
                                      if switch(m, end)]
    return len(set(seen)) == len(seen)


def quiet_when_dead(m):
    return all(one["contact"] == "normally_open" and one["fails"] in (None, "free")
               for one in (switch(m, "up"), switch(m, "down")) if one)


once("lift-input-shared", lifted, Is(lift_terminals_differ))
once("lift-switch-fails-seen", lifted, Is(quiet_when_dead))


class Verdict:
    def __init__(self, rule, subject, outcome, margin, level=None):
        self.rule, self.subject, self.outcome, self.margin = rule, subject, outcome, margin
        self.level = level  # where the rule has several


def judge(machine):
    """Verdicts of every rule that applies; names of those that do not."""
    verdicts, idle = [], set()
    for name, when, instances in RULES:
        try:
            applies = when(machine)
        except Missing:
            verdicts.append(Verdict(name, None, "unchecked", None))
            continue
        found = list(instances(machine)) if applies else []
        for subject, requirement in found:
            truth, margin = requirement.judge(machine)
            outcome = {True: "held", False: "failed", None: "unchecked"}[truth]
            verdicts.append(Verdict(name, subject, outcome, margin if truth is not None else None,
                                    getattr(requirement, "level", None)))
        if not found:
            idle.add(name)
    return verdicts, idle - {v.rule for v in verdicts}
