"""Rules about what hangs on the spindle and what it may meet, by brute force: every cutter by
itself, every body, every move, every thing.  They are added to those of `model`.

A body is an upright cylinder, looked at from its underside up: flutes, shank, collet nut, a shoe
that stays on, attachments beside the axis.  A thing stands on the table: its outline and its top.
"""
import functools
import math

import geometry
from model import (RULES, approach_nose, both, carried, clearance, contact, from_a_list, height_error,
                   homes, listed, parks, plate, rectangle, setter, stands_up, surface,
                   true_stickout, wanted)
from numbers_naive import Interval, Margin, Missing, greatest, least, worst_one_way


class Body:
    """`radius` and `underside`, the latter from the nose, of a Reader; `beside`, from the axis."""

    def __init__(self, name, radius, underside, beside=lambda k: (0.0, 0.0)):
        self.name, self.radius, self.underside, self.beside = name, radius, underside, beside


class Thing:
    """`top` in the frame of the nose; `apart`, the plan distance from a convex figure, negative
    infinity where it has no end that anybody knows."""

    def __init__(self, name, top, apart):
        self.name, self.top, self.apart = name, top, apart


def flutes_and_shank(m, c):
    """A shank that is surely no thicker than the edge is hidden above it."""
    path = f"cutters[{c}]."
    bodies = [Body(f"flutes {c}", lambda k: k(path + "diameter") / 2,
                   lambda k: -true_stickout(k, c))]
    edge, shank = m.get(path + "diameter"), m.get(path + "shank")
    if not edge or not shank or sum(shank) > sum(edge):
        bodies.append(Body(f"shank {c}", lambda k: k(path + "shank") / 2,
                           lambda k: k(path + "flute_length") - true_stickout(k, c)))
    return bodies


def hanging(m):
    """What hangs on the spindle whichever cutter is in it."""
    bodies = [Body("nut", lambda k: k("spindle.nut_diameter") / 2, lambda k: 0.0)]
    if m.get("spindle.shoe.removed") is False:
        bodies.append(Body("shoe", lambda k: k("spindle.shoe.diameter") / 2,
                           lambda k: -k("spindle.shoe.below_nose")))
    for i in range(m.get("attachments") or 0):
        path = f"attachments[{i}]."
        # How far its middle is off, wherever to, makes it as much wider.
        off = math.hypot(*(m.need(path + a)[1] for a in "xy"))
        bodies.append(Body(
            path, lambda k, p=path, off=off: k(p + "diameter") / 2 + k.about(f"middle of {p}", off),
            lambda k, p=path: k(p + "above_nose"),
            lambda k, p=path: (k.nominal(p + "x"), k.nominal(p + "y"))))
    return bodies


@functools.lru_cache(maxsize=100000)
def plan_distance(corners, outline):
    figure = geometry.hull(list(corners))
    return (geometry.to_place(figure, outline) if len(outline) == 2
            else geometry.to_rectangle(figure, outline))


def spread(number):
    """(middle, half-width) of a number or an interval."""
    if isinstance(number, Interval):
        return (number.low + number.high) / 2, (number.high - number.low) / 2
    return number, 0.0


def apart(corners, beside, outline):
    """The plan distance; for intervals by no more than their widths from that of the middles."""
    ends, slack = zip(*map(spread, outline))
    near = plan_distance(tuple((x + beside[0], y + beside[1]) for x, y in corners), ends)
    slack = sum(slack)
    return Interval(max(0.0, near - slack), near + slack) if slack else near


def rectangle_of(path, measured=True):
    """The outline, as far as its tolerances let it reach: they do so together.  That of the work is
    what somebody has set."""
    def outline(k):
        if not measured:
            return rectangle(k, path)
        wide = k.about(f"outline of {path}", 1.0)
        ends = [k.machine.need(f"{path}.{side}.{end}") for side in "xy" for end in ("low", "high")]
        return [at + (wide * width if out > 0 else -(wide * width)) if width else at
                for (at, width), out in zip(ends, (-1, 1, -1, 1))]
    return lambda k, corners, beside: apart(corners, beside, outline(k))


def the_setter(m):
    """Where nobody says how wide it is, that does not matter to what passes over its middle, and
    what would meet a needle there is sure to meet it."""
    def from_middle(k, corners, beside):
        if carried(m):  # both are on the gantry: only what is beside the axis is off along Y
            flat = tuple((x, 0.0) for x, _ in corners)
            return apart(flat, beside, (k.nominal("setter.at.x"), 0.0))
        return apart(corners, beside, (k.nominal("setter.at.x"), k.nominal("setter.at.y")))

    def near(k, corners, beside):
        away = from_middle(k, corners, beside)
        if isinstance(away, float) and away < 1e-12:  # points on one line: not quite nothing
            return away
        return greatest(0.0, away - k("setter.body") / 2)

    def top(k):
        return k("setter.nose_contact")
    needle = [] if m.get("setter.body") else [Thing("setter's middle", top, from_middle)]
    return [Thing("setter", top, near), *needle]


def the_work():
    return Thing("work", lambda k: surface(k) + k("work.height"),
                 rectangle_of("work", measured=False))


def the_table(m):
    known = all(m.get(f"table.{side}.low") is not None for side in "xy")
    return Thing("table", surface, rectangle_of("table") if known
                 else lambda k, corners, beside: -math.inf)


def obstacle(o):
    path = f"obstacles[{o}]"
    return Thing(path, lambda k: k("table.nose_contact") + stands_up(k, o), rectangle_of(path))


def room(m, body, thing, move):
    """The Margin of a clearance, None where it is not known.  `move`: (its name, the figure that
    the axis sweeps over, the lowest height of the nose)."""
    name, figure, nose = move

    def formula(k):
        beside = thing.apart(k, figure(k), body.beside(k)) - body.radius(k)
        above = nose(k) + body.underside(k) - thing.top(k)
        return clearance(beside, above)

    known = m.__dict__.setdefault("rooms", {})
    key = (name, body.name, thing.name)
    if key not in known:
        try:
            known[key] = worst_one_way(m, formula)
        except Missing:
            known[key] = None
    return known[key]


class Rooms:
    """The least of some clearances leaves what `clear` names.  Where one is not known it is still
    sure to fail if another runs into something."""

    def __init__(self, parts, clear=None):
        self.parts, self.clear = parts, clear

    def judge(self, machine):
        margins = [room(machine, *part) for part in self.parts]
        known = [margin for margin in margins if margin]
        if len(known) < len(margins) and not any(m.true < -1e-12 for m in known):
            return None, None
        least_room = min(known, key=lambda margin: margin.true, default=None)
        if least_room is None:
            return True, None
        clear = machine.number(self.clear) if self.clear else 0.0
        margin = Margin(least_room.true - clear, min(m.bound for m in known) - clear,
                        least_room.straight, least_room.scale)
        margin.dimension = "length"
        return margin.true > -1e-12, margin


CLEAR = "allowances.clearance"


# The moves of a change.

def anywhere_in_work(k):
    return [(k.nominal(f"work.x.{a}"), k.nominal(f"work.y.{b}"))
            for a in ("low", "high") for b in ("low", "high")]


def parked(k):
    return [(k.nominal("change.park.x"), k.nominal("change.park.y"))]


def at_setter(k):
    """One on the gantry is met by the new cutter where the gantry was parked."""
    along = "change.park.y" if carried(k.machine) else "setter.at.y"
    return [(k.nominal("setter.at.x"), k.nominal(along))]


def at_setter_first(k):
    """And by the old one wherever the gantry was over the work."""
    if not carried(k.machine):
        return at_setter(k)
    return [(k.nominal("setter.at.x"), k.nominal(f"work.y.{end}")) for end in ("low", "high")]


def over_setter(k):
    """Where it goes down: of one on the gantry anywhere between its places is as bad."""
    first = carried(k.machine) and k.machine.need("change.touches_old")
    return tuple(at_setter(k) + (at_setter_first(k) if first else []))


def sideways(m):
    """Between start, setter and park, as the change goes.  Without a setter nobody knows where it is
    touched off: only the way from the start to the park is known; with a list the way back too."""
    def move(name, a, b):
        return (name, lambda k: tuple(a(k) + b(k)),
                lambda k: k.nominal("change.traverse_z") + height_error(k))
    if from_a_list(m) and m.need("change.returns_to_start"):
        return [move("to park", anywhere_in_work, parked), move("back", parked, anywhere_in_work)]
    if not setter(m):
        return [move("to park", anywhere_in_work, parked)]
    ways = [move("park to setter", parked, at_setter)]
    if m.need("change.touches_old"):
        ways += [move("to setter", anywhere_in_work, at_setter_first),
                 move("setter to park", at_setter_first, parked)]
    else:
        ways.append(move("to park", anywhere_in_work, parked))
    if m.need("change.returns_to_start"):
        ways.append(move("back", at_setter, anywhere_in_work))
    return ways


def down(c):
    """Onto the setter with cutter `c`: to its touch, or to the end of an approach below that."""
    return (f"down {c}", over_setter,
            lambda k: least(contact(k, c), approach_nose(k, c) + height_error(k)))


def at_least(m, c, thing):
    """However far a cutter sticks out, its tip gets down to the setter, its shank stays above that
    by the flutes, and the nose gets to the end of the fast approach."""
    if wanted(m, c) and not listed(m, c):
        approach = (f"approach {c}", over_setter,
                    lambda k: approach_nose(k, c) + height_error(k))
        touch = ("touch", approach[1], lambda k: k("setter.nose_contact"))
        tip = Body(f"tip {c}", lambda k: k(f"cutters[{c}].diameter") / 2, lambda k: 0.0)
        if thing.name == "work" or thing.name.startswith("obstacle"):
            yield tip, thing, touch
            if all(m.get(f"cutters[{c}].{name}") is not None for name in ("shank", "flute_length")):
                yield Body(f"shank at touch {c}", lambda k: k(f"cutters[{c}].shank") / 2,
                           lambda k: k(f"cutters[{c}].flute_length")), thing, touch
        for body in hanging(m):
            yield body, thing, approach


PARK = ("park", lambda k: tuple(parked(k)),
        lambda k: k.nominal("change.park.z") + height_error(k))


def sweeps(m):
    if setter(m):
        return homes(m)
    old = plate(m) and m.need("change.touches_old")
    return homes(m) and not old and bool(m.get("change.park.x") and m.get("change.park.y"))


def things(m):
    return [the_table(m), the_work()] + (the_setter(m) if setter(m) else [])


def obstacles(m):
    return [obstacle(o) for o in range(m.obstacles)]


def each_obstacle(name, when, parts, clear=None):
    RULES.append((name, when, lambda m: [
        (m.called(o), Rooms(parts(m, obstacle(o)), clear))
        for o in range(m.obstacles)]))


def swept(m, thing):
    bodies = hanging(m) + [b for c in range(m.cutters) for b in flutes_and_shank(m, c)]
    return [(body, thing, move) for move in sideways(m) for body in bodies]


def swept_at_setter(m, thing):
    return [(body, thing, down(c)) for c in range(m.cutters)
            for body in hanging(m) + flutes_and_shank(m, c)] + [
                part for c in range(m.cutters) for part in at_least(m, c, thing)]


each_obstacle("move-meets-obstacle", sweeps, swept)
each_obstacle("move-near-obstacle", sweeps, swept, CLEAR)
each_obstacle("descent-meets-obstacle", both(setter, homes), swept_at_setter)
each_obstacle("setter-crowded", both(setter, homes), swept_at_setter, CLEAR)


def each_change(name, when, parts, clear=None):
    """Of each cutter."""
    RULES.append((name, when, lambda m: [
        (f"cutter {m.number(f'cutters[{c}].number'):.0f}", Rooms(parts(m, c), clear))
        for c in range(m.cutters)]))


def hanging_sideways(m, _):
    return [(body, thing, move) for move in sideways(m) for body in hanging(m)
            for thing in things(m)]


def all_at_park(m, c):
    return [(body, thing, PARK) for body in hanging(m) + flutes_and_shank(m, c)
            for thing in things(m) + obstacles(m)]


def going_down(m, c):
    return ([(body, thing, down(c)) for body in hanging(m) for thing in things(m)]
            + [(body, the_work(), down(c)) for body in flutes_and_shank(m, c)]
            + [part for thing in things(m) for part in at_least(m, c, thing)])


each_change("hanging-part-hits", sweeps, hanging_sideways)
each_change("hanging-part-low", sweeps, hanging_sideways, CLEAR)
each_change("park-meets", parks, all_at_park)
each_change("park-near", parks, all_at_park, CLEAR)
each_change("shoe-into-setter", both(setter, homes), going_down)
each_change("shoe-near-setter", both(setter, homes), going_down, CLEAR)
