"""Random machines: complete enough to be valid, varied enough that rules hold and fail.

Each is made as YAML text and, beside it, as the exact SI numbers that the text means.
"""
import math
import random
from fractions import Fraction as F

import readings
from model import Machine

INCH = F("0.0254")
LENGTHS = {"mm": F("0.001"), "in": INCH, "cm": F("0.01"), "m": F(1), "um": F("0.000001"),
           "thou": INCH / 1000, "ft": INCH * 12, '"': INCH}
TIMES = {"s": F(1), "ms": F("0.001"), "min": F(60), "us": F("0.000001")}
TURN = 2 * math.pi
POUND, GRAVITY = F("0.45359237"), F("9.80665")
UNITS = {
    "length": {"mm": F("0.001"), "in": INCH, "cm": F("0.01"), "m": F(1)},
    "small": {"mm": F("0.001"), "um": F("0.000001"), "thou": INCH / 1000, "in": INCH},
    "time": {"s": F(1), "ms": F("0.001")},
    "long time": {"s": F(1), "ms": F("0.001"), "min": F(60)},
    "speed": {"mm/min": F("0.001") / 60, "in/min": INCH / 60, "mm/s": F("0.001"),
              "m/min": F(1, 60)},
    "acceleration": {"mm/s^2": F("0.001"), "m/s^2": F(1), "in/s^2": INCH},
    "rotation": {"rpm": TURN / 60, "rev/s": TURN, "rad/s": 1.0},
    "frequency": {"Hz": F(1), "kHz": F(1000), "steps/s": F(1)},
    "steps": {"steps/mm": F(1000), "steps/in": 1 / INCH},
    "inertia": {"kg*m^2": F(1), "kg*cm^2": F("0.0001"), "lb*in^2": POUND * INCH * INCH},
    "torque": {"N*m": F(1), "N*cm": F("0.01"), "lbf*in": POUND * GRAVITY * INCH},
    "slope": {"mm/m": F("0.001"), "%": F("0.01"), "": F(1)},
    "ratio": {"%": F("0.01"), "": F(1)},
}
ASKS = ["spindle_off", "standstill", "z_propped", "isolated", "unplugged", "shoe_off", "clip_on",
        "plate_on", "setter_clean", "plate_off", "clip_off", "cutter_in", "clip_on", "plate_on",
        "plate_off", "clip_off", "supply_on", "speed_set", "spindle_on"]


class Maker:
    """One machine in the making."""

    def __init__(self, seed):
        self.random = random.Random(seed)
        self.fields, self.tree = {}, {}
        self.inch = self.random.random() < 0.4
        self.loose = self.random.random() < 0.5  # does it write tolerances?
        self.odd = self.random.random() < 0.4    # are its heights carelessly chosen?

    def chance(self, probability):
        return self.random.random() < probability

    def put(self, path, text):
        """Sets a text in the tree that becomes the file."""
        at = self.tree
        *way, last = path.split(".")
        for name in way:
            at = at.setdefault(name, {})
        at[last] = text

    def word(self, path, value):
        self.fields[path] = value
        self.put(path, {True: "yes", False: "no"}.get(value, value)
                 if isinstance(value, bool) else str(value))
        return value

    def flag(self, path, likely=0.5):
        return self.word(path, self.chance(likely))

    def maybe_flag(self, path, likely=0.5):
        if self.chance(0.85):
            self.flag(path, likely)

    def unit(self, kind):
        units = UNITS[kind]
        if kind in ("length", "speed") and self.chance(0.7):
            wanted = {"length": ("mm", "in"), "speed": ("mm/min", "in/min")}[kind][self.inch]
        else:
            wanted = self.random.choice(list(units))
        return wanted, units[wanted]

    def digits(self, number, places):
        """A decimal text near `number` with at most `places` significant digits, and its value."""
        if number == 0:
            return "0", F(0)
        decimals = max(0, places - 1 - math.floor(math.log10(abs(number))))
        text = f"{number:.{min(decimals, 9)}f}"
        if "." in text:
            text = text.rstrip("0").rstrip(".")
        return text, F(text)

    def inches(self, number):
        """A mixed number in sixteenths."""
        sixteenths = round(abs(number) * 16)
        if sixteenths == 0:
            return "0", F(0)
        whole, part = divmod(sixteenths, 16)
        fraction = F(part, 16)
        text = " ".join(([str(whole)] if whole or not part else [])
                        + ([f"{fraction.numerator}/{fraction.denominator}"] if part else []))
        sign = "-" if number < 0 else ""
        return sign + text, (whole + fraction) * (-1 if number < 0 else 1)

    def write(self, si, kind, places=4, tolerance=0.0):
        """(text, value, half-width) of a quantity near `si`, in some unit and form."""
        unit, factor = self.unit(kind)
        number = float(si) / float(factor)
        if unit == "in" and kind == "length" and self.chance(0.3) and abs(number) > 0.2:
            text, exact = self.inches(number)
            if self.chance(0.3):
                unit = '"'
        else:
            text, exact = self.digits(number, places)
            if "." in text and self.chance(0.03):
                text += "e0"
        blank = "" if unit == '"' or self.chance(0.1) else " "
        value, width = exact * factor, 0.0
        if tolerance and self.loose and self.chance(0.4):
            wide, exact = self.digits(float(tolerance) / float(factor), 2)
            if exact > 0:
                sign = self.random.choice(("±", "+/-"))
                first = "" if self.chance(0.3) or "/" in text else f"{blank}{unit}"
                width = float(exact * factor)
                return f"{text}{first} {sign} {wide} {unit}".rstrip(), float(value), width
        return f"{text}{blank}{unit}".rstrip(), float(value), width

    def quantity(self, path, si, kind="length", places=4, tolerance=0.0):
        text, value, width = self.write(si, kind, places, tolerance)
        self.fields[path] = (value, width)
        self.put(path, text)
        return value

    def between(self, path, low, high, kind="length", places=3, tolerance=0.0):
        return self.quantity(path, self.random.uniform(low, high), kind, places, tolerance)

    def maybe(self, path, low, high, kind="length", places=3, tolerance=0.0, likely=0.8):
        if self.chance(likely):
            return self.between(path, low, high, kind, places, tolerance)
        return None

    def pair(self, path, low, high, kind="length", tolerance=0.0):
        texts = []
        for end, si in (("low", low), ("high", high)):
            text, value, width = self.write(si, kind, tolerance=tolerance)
            self.fields[f"{path}.{end}"] = (value, width)
            texts.append(text)
        self.put(path, f"[{', '.join(texts)}]")

    def date(self, path, likely=0.7):
        if self.chance(likely):
            day = self.random.randrange(600)
            seconds = (19358 + day) * 86400  # 2023-01-01 and later
            import datetime
            text = (datetime.date(2023, 1, 1) + datetime.timedelta(day)).isoformat()
            self.fields[path] = (float(seconds), 0.0)
            self.put(path, text)


def axes(m):
    ends = {}
    for a, (low, high) in (("x", (0.5, 1.2)), ("y", (0.4, 1.2)), ("z", (0.09, 0.16))):
        length = m.random.uniform(low, high)
        start = {"z": -length}.get(a, m.random.choice((0.0, -length, -length / 2)))
        m.pair(f"axes.{a}.travel", start, start + length)
        ends[a] = tuple(m.fields[f"axes.{a}.travel.{end}"][0] for end in ("low", "high"))
        m.maybe_flag(f"axes.{a}.limits_enforced", 0.8)
        rapid = m.maybe(f"axes.{a}.rapid", 0.03, 0.15, "speed")
        if m.chance(0.7):
            m.flag(f"axes.{a}.holds_unpowered")
        m.maybe(f"axes.{a}.acceleration", 0.1, 1.5, "acceleration", tolerance=0.02)
        if m.chance(0.7):
            drive(m, a, rapid or 0.1)
    return ends


def drive(m, a, rapid):
    path = f"axes.{a}.drive."
    kind = m.word(path + "kind", m.random.choice(("screw", "belt", "rack")))
    if kind == "screw":
        turn = m.between(path + "lead", 0.002, 0.02)
    elif kind == "rack" and m.chance(0.5):
        turn = math.pi * m.between(path + "pinion_diameter", 0.01, 0.04)
    else:
        pitch = m.random.choice((0.002, 0.003, 0.005))
        teeth = m.random.randrange(12, 40)
        turn = m.quantity(path + "pitch", pitch) * teeth
        m.fields[path + "teeth"] = (float(teeth), 0.0)
        m.put(path + "teeth", str(teeth))
    reduction = 1.0
    if m.chance(0.3):
        text = m.random.choice(("2", "3", "4.25", "10"))
        reduction = float(text)
        m.fields[path + "reduction"] = (reduction, 0.0)
        m.put(path + "reduction", text)
    motor = 200
    if m.chance(0.5):
        motor = m.random.choice((200, 400))
        m.fields[path + "motor_steps"] = (float(motor), 0.0)
        m.put(path + "motor_steps", str(motor))
    micro = m.random.choice((1, 2, 8, 16, 32))
    if m.chance(0.9):
        m.fields[path + "microsteps"] = (float(micro), 0.0)
        m.put(path + "microsteps", str(micro))
    right = motor * micro * reduction / turn
    off = m.random.choice((0, 0, 0.0004, -0.0008, 0.004, -0.015, 0.03, 0.2))
    if m.chance(0.9):
        m.quantity(path + "steps", right * (1 + off), "steps", 7)
    if m.chance(0.6):
        m.quantity(path + "motor_top_speed",
                   TURN * rapid * reduction / turn * m.random.uniform(0.7, 2), "rotation")


def soft_limits(m, ends, homes):
    for a, (low, high) in ends.items():
        if m.chance(0.25):
            m.pair(f"axes.{a}.soft_limits", low + m.random.uniform(-0.002, 0.04),
                   high - m.random.uniform(-0.001, 0.006), tolerance=0.0005)
    if homes and m.chance(0.4):
        m.flag("change.beyond_soft_limits")


def wireless(m, names):
    for name in names:
        if m.chance(0.35):
            m.maybe(f"inputs.{name}.latency", 0.002, 0.04, "time", tolerance=0.001)
            if m.chance(0.9):
                m.word(f"inputs.{name}.fails", m.random.choice(("touched", "free")))


def inputs(m):
    names = m.random.sample(["probe", "setter-in", "plate-in", "home_x", "limits", "spare"],
                            m.random.randrange(2, 5))
    terminals = [f"IN{i}" for i in range(1, 9)]
    m.random.shuffle(terminals)
    for i, name in enumerate(names):
        terminal = terminals[0] if m.chance(0.15) else terminals[i]
        if m.chance(0.1):
            terminal = str(i + 1)
        m.word(f"inputs.{name}.terminal", terminal)
        m.word(f"inputs.{name}.contact",
               m.random.choice(("normally_open", "normally_closed")))
        m.maybe(f"inputs.{name}.scan", 0.0005, 0.01, "time", tolerance=0.0002, likely=0.5)
        m.maybe(f"inputs.{name}.debounce", 0.001, 0.02, "time", tolerance=0.0005, likely=0.5)
        m.maybe(f"inputs.{name}.bounce", 0.001, 0.01, "time", tolerance=0.0005, likely=0.6)
    return names


def homing(m, ends, names, homes):
    if not homes:
        m.put("homing.order", "none")
        m.fields["homing.order"] = "none"
        return
    order = m.random.choice((["z", "xy"], ["z", "x", "y"], ["z", "yx"], ["xyz"], ["xy", "z"],
                             ["z", "x"]))
    m.fields["homing.order"] = order
    m.put("homing.order", f"[{', '.join(order)}]")
    for a in "xyz":
        path = f"homing.{a}."
        low, high = ends[a]
        end = m.random.choice(("low", "high", "high", "high") if a == "z" else ("low", "high"))
        if m.chance(0.9):
            m.word(path + "end", end)
        off = m.random.choice((1, 1, 1, -1)) * m.random.uniform(0.0005, 0.004)
        inward = -1 if end == "high" else 1
        place = high if end == "high" else low
        if m.chance(0.8):
            if m.odd:
                off *= m.random.choice((1, 1, 80))
            m.quantity(path + "rest", place + inward * off, tolerance=0.0003)
        if m.chance(0.8):
            m.quantity(path + "trip", place - inward * m.random.uniform(-0.002, 0.003),
                       tolerance=0.0003)
        m.maybe(path + "fast_feed", 0.01, 0.06, "speed")
        m.maybe(path + "slow_feed", 0.001, 0.01, "speed")
        m.maybe(path + "back_off", 0.001, 0.005)
        m.maybe(path + "release", 0.0003, 0.002, "small", tolerance=0.0001)
        m.maybe(path + "overtravel", 0.0005, 0.005, tolerance=0.0002)
        m.maybe(path + "repeatability", 0.00001, 0.0008, "small", likely=0.85)
        if m.chance(0.6):
            m.word(path + "input", m.random.choice(names))
        m.maybe_flag(path + "shares_limit")
        if m.chance(0.25):
            second_motor(m, a, names)


def second_motor(m, a, names):
    """The other side of the beam: mostly a little ahead or behind."""
    path = f"homing.{a}."
    for name in ("rest", "trip"):
        own = m.fields.get(path + name)
        if own and m.chance(0.8):
            m.quantity(f"{path}second.{name}", own[0] + m.random.uniform(-0.0015, 0.0015),
                       tolerance=0.0002)
    if m.chance(0.8):
        m.word(path + "second.input", m.random.choice(names))
    m.maybe(path + "square_limit", 0.0002, 0.002, "small", tolerance=0.0001)


def cutters(m):
    count = m.random.choice((1, 2, 3, 3, 4, 6))
    numbers = m.random.sample(range(1, 30), count)
    if m.odd and m.chance(0.2):
        numbers[-1] = numbers[0]
    unlisted = m.chance(0.25)
    rows = []
    for c, number in enumerate(numbers):
        path = f"cutters[{c}]."
        row = {}
        m.tree["cutter"] = row

        def moved(name):
            value = m.tree.get("scratch")
            if value is not None:
                row[name] = m.tree.pop("scratch")

        def put(name, make):
            before = m.fields.pop("scratch", None)
            make("scratch")
            if "scratch" in m.fields:
                m.fields[path + name] = m.fields.pop("scratch")
            if before is not None:
                m.fields["scratch"] = before
            moved(name)

        m.fields[path + "number"] = (float(number), 0.0)
        row["number"] = str(number)
        row["description"] = m.random.choice(
            ('"1/4 in upcut"', "surfacing cutter", "'V, 60 degrees'", "6 mm two-flute"))
        stickout = m.random.uniform(0.018, 0.06)
        length = stickout + m.random.uniform(-0.01 if m.odd else 0.01, 0.05)
        across = m.random.uniform(0.003, 0.03)
        if not unlisted or m.chance(0.6):
            put("stickout", lambda p: m.quantity(p, stickout, tolerance=0.0005))
        shank = m.random.choice((0.003175, 0.004, 0.006, 0.00635, 0.008, 0.0095, 0.0127, 0.0201))
        for name, value, likely in (("diameter", across, 0.9), ("shank", shank, 0.9),
                                    ("length", length, 0.9),
                                    ("flute_length", m.random.uniform(0.01, 0.04), 0.8)):
            if m.chance(likely):
                put(name, lambda p, v=value: m.quantity(p, v, tolerance=0.0002))
        if m.chance(0.15):
            still = m.chance(0.8)
            m.fields[path + "turns"], row["turns"] = not still, "no" if still else "yes"
            for a in "xy":
                if still and m.chance(0.3):
                    put(f"offset_{a}", lambda p: m.between(p, -0.2, 0.2, tolerance=0.001))
                    row.setdefault("offset", {})[a] = row.pop(f"offset_{a}")
                    m.fields[f"{path}offset.{a}"] = m.fields.pop(f"{path}offset_{a}")
        centre = m.random.choice(("cutting", "cutting", "hollow"))
        m.fields[path + "centre"] = row["centre"] = centre
        if centre == "hollow" and m.chance(0.8):
            put("hollow_diameter", lambda p: m.between(p, 0.002, across, tolerance=0.0002))
        if m.chance(0.6):
            put("speed", lambda p: m.between(p, 800, 2500, "rotation", tolerance=20))
        if m.chance(0.8):
            put("top_speed", lambda p: m.between(p, 1200, 3500, "rotation", tolerance=20))
        rows.append(row)
        del m.tree["cutter"]
    m.tree["cutters"] = rows
    return count


def obstacles(m, ends):
    rows = []
    for o in range(m.random.choice((0, 0, 1, 2))):
        row, path = {"name": f"fence{o}"}, f"obstacles[{o}]"
        m.fields[f"{path}.name"] = f"fence{o}"
        for a in "xy":
            low, high = ends[a]
            at = m.random.uniform(low, high)
            m.pair("scratch", at, at + m.random.uniform(0.02, 0.3), tolerance=0.001)
            row[a] = m.tree.pop("scratch")
            for end in ("low", "high"):
                m.fields[f"{path}.{a}.{end}"] = m.fields.pop(f"scratch.{end}")
        m.between("scratch", 0.01, 0.12, tolerance=0.001)
        row["top"], m.fields[f"{path}.top"] = m.tree.pop("scratch"), m.fields.pop("scratch")
        if m.chance(0.3):
            m.flag("scratch")
            row["passed_by_gantry"] = m.tree.pop("scratch")
            m.fields[f"{path}.passed_by_gantry"] = m.fields.pop("scratch")
        rows.append(row)
    if rows:
        m.tree["obstacles"] = rows
    return len(rows)


def attachments(m):
    rows = []
    for i in range(m.random.choice((0, 0, 0, 1, 2))):
        row, path = {"name": f"head{i}"} if m.chance(0.8) else {}, f"attachments[{i}]"
        for name, low, high, wide in (("x", -0.1, 0.1, 0.001), ("y", -0.1, 0.1, 0.001),
                                      ("diameter", 0.01, 0.1, 0.001),
                                      ("above_nose", -0.06, 0.03, 0.001)):
            m.between("scratch", low, high, tolerance=wide)
            row[name], m.fields[f"{path}.{name}"] = m.tree.pop("scratch"), m.fields.pop("scratch")
        rows.append(row)
    if rows:
        m.tree["attachments"] = rows
        m.fields["attachments"] = len(rows)


def setter(m, ends, names, reach, height):
    for a in "xy":
        low, high = ends[a]
        m.between(f"setter.at.{a}", low - 0.01, high + 0.005, tolerance=0.0005)
    m.quantity("setter.nose_contact", reach, tolerance=0.0003)
    if m.chance(0.7):
        m.quantity("setter.height", abs(height + m.random.uniform(-0.003, 0.003)), tolerance=0.0002)
    m.maybe("setter.face", 0.002 if m.odd else 0.008, 0.03, tolerance=0.0002)
    m.maybe("setter.body", 0.02, 0.06, tolerance=0.0005)
    m.between("setter.overtravel", 0.0005, 0.006, tolerance=0.0002)
    m.maybe("setter.repeatability", 0.000002, 0.0001, "small")
    m.maybe("setter.release", 0.0002, 0.002, "small", tolerance=0.0001)
    m.date("setter.measured_on")
    if m.chance(0.7):
        m.flag("setter.tested_before_use")
    m.word("setter.input", m.random.choice(names))


def plate(m, names, table):
    m.word("plate.input", m.random.choice(names))
    m.between("plate.jog_within", 0.005, 0.05)
    m.flag("plate.continuity_test", 0.7)
    m.flag("plate.same_spot")
    m.word("plate.spot", m.random.choice(("fixed", "anywhere")))
    m.maybe("plate.spot_distance", 0.1, 0.8)
    if m.chance(0.8):
        m.word("plate.return_path", m.random.choice(("clip", "bearings")))
    thickness = m.maybe("plate.thickness", 0.001, 0.02, tolerance=0.0001)
    if m.chance(0.4):
        off = m.random.choice((0.0, 0.0004, -0.0004, 0.0006, 0.01, -0.02))
        off *= m.random.uniform(0.8, 1.2)
        m.quantity("plate.nose_contact", table + (thickness or 0.01) + off, places=6,
                   tolerance=0.0002)
    m.maybe("plate.face", 0.005, 0.08, tolerance=0.0005)
    m.maybe("plate.repeatability", 0.000005, 0.0001, "small")
    m.maybe("plate.give", 0.00005, 0.001, "small", likely=0.5)


def change(m, ends, kind, homes, reach):
    low, high = ends["z"]
    m.word("change.measures_with", kind)
    m.flag("change.touches_old")
    if kind == "setter":
        approach(m, reach)
    if kind == "setter" or (homes and m.chance(0.7)):
        for a in "xy":
            m.between(f"change.park.{a}", ends[a][0] - 0.005, ends[a][1] + 0.003)
        m.between("change.park.z", low if m.chance(0.2) else high - 0.05, high + 0.001)
    stroke = m.random.uniform(0.012, 0.05)
    m.quantity("change.probe_stroke", stroke)
    feed = m.between("change.probe_feed", 0.0008, 0.012, "speed")
    if m.chance(0.5):
        m.quantity("change.second_touch_feed", feed * m.random.uniform(0.2, 1.1), "speed")
        m.between("change.second_stroke", 0.001, 0.006)
    if m.chance(0.4):
        m.between("change.feed_override_max", 0.9, 2, "ratio", 2)
    m.between("change.retract", 0.0005, 0.006)
    m.flag("change.idle_checked")
    m.word("change.no_contact", m.random.choice(("stops", "stops", "continues")))
    if homes:
        m.quantity("change.traverse_z",
                   high - m.random.uniform(-0.001, 1.2 * (high - low) if m.odd else 0.02))
    else:
        m.between("change.lift", 0.01, 0.06)
    m.word("change.spindle_held_off",
           m.random.choice(("isolated", "interlocked", "unplugged", "no")))
    m.maybe_flag("change.motors_held", 0.7)
    if m.chance(0.8):
        m.word("change.starts_spindle", m.random.choice(("always", "if_it_turns")))
    m.maybe_flag("change.refuses_unhomed", 0.7)
    if m.chance(0.8):
        m.word("change.after_abort", m.random.choice(("offset_cleared", "offset_kept")))
    m.word("change.offset_applied", m.random.choice(("before_descent", "after_descent")))
    m.flag("change.returns_to_start")
    if m.chance(0.5):
        m.word("change.cuts_power_to", m.random.choice(("spindle", "machine")))
    for name in ("homes_again", "guard_locked"):
        if m.chance(0.7):
            m.flag(f"change.{name}")
    words = questions(m)
    m.fields["change.asks"] = words
    m.put("change.asks", f"[{', '.join(words)}]")


def questions(m):
    """Mostly in an order that makes sense, with some left out; sometimes a few words stray from
    their places, are said again somewhere, or all are shuffled."""
    keep = m.random.choice((0.3, 0.7, 0.9, 0.97))
    words = [word for word in ASKS if m.chance(keep)]
    stray = m.random.choice((0, 0, 1, 2, 4))
    for _ in range(stray if words else 0):
        word = m.random.choice(words)
        if m.chance(0.6):
            words.remove(word)
        words.insert(m.random.randrange(len(words) + 1), word)
    if m.chance(0.1):
        m.random.shuffle(words)
    return words


def approach(m, reach):
    unlisted = any(f"cutters[{c}].stickout" not in m.fields
                   for c in range(len(m.tree["cutters"])))
    source = m.word("change.stickout_from", m.random.choice(("list", "list", "assumed")))
    if source == "assumed" or unlisted:
        m.between("change.assumed_stickout", 0.035, 0.07)
    if unlisted and m.chance(0.7):
        low = m.random.uniform(0.015, 0.03)
        m.pair("change.stickout_range", low, low + m.random.uniform(0.01, 0.04))
    if m.word("change.approach", m.random.choice(("computed", "computed", "fixed"))) == "fixed":
        m.quantity("change.approach_z", reach + m.random.uniform(-0.03 if m.odd else 0.05,
                                                                  0.15 if m.odd else 0.09))
    else:
        m.between("change.standoff", 0.005, 0.1 if m.odd else 0.02)
    m.between("change.approach_feed", 0.002 if m.odd else 0.01, 0.08, "speed", tolerance=0.0005)
    m.flag("change.approach_guarded")


def spindle(m, names):
    by = m.word("spindle.switched_by", m.random.choice(("controller", "controller", "hand")))
    if m.chance(0.9):
        low = m.random.uniform(600, 1200)
        m.pair("spindle.speed", low, low + m.random.uniform(500, 1500), "rotation",
               tolerance=10)
    m.maybe("spindle.run_up", 1, 5, "long time", tolerance=0.2)
    if m.chance(0.4):
        m.word("spindle.speed_set_by", m.random.choice(("controller", "hand")))
    signal = standstill(m, names)
    if by == "controller" or m.chance(0.5):
        run_down = m.between("spindle.run_down", 2, 14, "long time", tolerance=0.5)
        if m.chance(0.6) and "spindle.speed.high" in m.fields:
            torque = m.between("spindle.braking_torque", 0.05, 0.5, "torque")
            m.quantity("spindle.inertia", torque * run_down * m.random.uniform(0.6, 1.4)
                       / m.fields["spindle.speed.high"][0], "inertia")
        if not signal or m.chance(0.5):
            wait = 0.0 if by == "hand" and m.chance(0.1) else m.random.uniform(2, 18)
            m.quantity("spindle.dwell_after_stop", wait, "long time", tolerance=0.5)
        m.between("spindle.dwell_after_start", 1, 6, "long time")
    m.maybe("spindle.coast_down", 4, 20, "long time", tolerance=0.5, likely=0.6)
    m.maybe("spindle.growth", 0.00001, 0.0003, "small", tolerance=0.00001)
    if m.chance(0.85):
        m.word("spindle.collet", m.random.choice(("ER8", "ER11", "ER16", "ER20", "ER25", "ER32",
                                                  "ER40")))
    if m.chance(0.8):
        sizes = m.random.sample((0.003175, 0.004, 0.006, 0.00635, 0.007, 0.008, 0.010, 0.0127),
                                m.random.randrange(1, 5))
        texts = []
        for i, one in enumerate(sizes):
            text, value, _ = m.write(one, "length")
            texts.append(text)
            m.fields[f"spindle.collet_sizes[{i}]"] = (value, 0.0)
        m.fields["spindle.collet_sizes"] = len(sizes)
        m.put("spindle.collet_sizes", f"[{', '.join(texts)}]")
    m.maybe("spindle.nut_diameter", 0.02, 0.06)
    if m.chance(0.3):
        m.between("spindle.shoe.diameter", 0.08, 0.15, tolerance=0.002)
        m.between("spindle.shoe.below_nose", 0.0, 0.05, tolerance=0.002)
        m.flag("spindle.shoe.removed")


def standstill(m, names):
    """Does a signal tell that the spindle stands?  Its particulars may be there all the same."""
    signal = m.chance(0.3)
    if signal or m.chance(0.3):
        m.word("spindle.stop_known_by", "signal" if signal else "wait")
    if signal or m.chance(0.1):
        m.word("spindle.standstill.from", m.random.choice(("shaft", "shaft", "drive")))
        if m.chance(0.5):
            m.word("spindle.standstill.input", m.random.choice(names))
        m.word("spindle.standstill.on_timeout", m.random.choice(("stops", "continues")))
        m.flag("spindle.standstill.seen_turning")
        m.maybe("spindle.standstill.timeout", 2, 20, "long time", tolerance=0.5, likely=0.7)
    return signal


def allowances(m):
    for name, low, high in (("reseat", 0.0005, 0.008), ("clearance", 0.002, 0.01),
                            ("least_gap", 0.0005, 0.003), ("edge", 0.001, 0.006),
                            ("park_distance", 0.02, 0.2)):
        m.maybe(f"allowances.{name}", low, high, likely=0.5)
    m.maybe("allowances.z_step", 0.00002, 0.0003, "small", likely=0.8)
    if m.chance(0.5):
        m.word("allowances.stack", m.random.choice(("worst_case", "statistical")))


def own_reseat(m):
    """Some cutters come back better than the others, or worse."""
    for c, row in enumerate(m.tree["cutters"]):
        if m.chance(0.2):
            m.between("scratch", 0.000005, m.random.choice((0.0001, 0.01)))
            row["reseat"] = m.tree.pop("scratch")
            m.fields[f"cutters[{c}].reseat"] = m.fields.pop("scratch")


def unmeasured(m):
    """A few machines that measure nothing, or by hand; what they were before stays in the file."""
    stops = m.chance(0.5)
    for c, row in enumerate(m.tree["cutters"]):
        if stops and m.chance(0.8):
            stop = m.random.choice(("collar", "shoulder", "jig", "eye"))
            m.fields[f"cutters[{c}].stop"] = row["stop"] = stop
        if m.chance(0.5):
            m.date("scratch")
            if "scratch" in m.fields:
                row["measured_on"] = m.tree.pop("scratch")
                m.fields[f"cutters[{c}].measured_on"] = m.fields.pop("scratch")
    if m.fields["change.measures_with"] == "plate" and m.chance(0.4):
        m.word("change.measures_with", m.random.choice(("list", "hand")))
    if m.chance(0.3):
        words = list(m.fields["change.asks"])
        for word in ("block_away", "block_under"):
            if m.chance(0.9):
                words.insert(m.random.randrange(len(words) + 1), word)
        if m.chance(0.5) and "cutter_in" in words:
            words = [word for word in words if not word.startswith("block")]
            at = words.index("cutter_in") + 1
            words[at:at] = ["block_under", "block_away"]
        m.fields["change.asks"] = words
        m.put("change.asks", f"[{', '.join(words)}]")


def make(seed):
    """(YAML text, Machine) of the random machine `seed`."""
    m = Maker(seed)
    kind = m.random.choice(("setter", "setter", "setter", "plate"))
    homes = kind == "setter" or m.chance(0.5)
    m.put("proveout", "1")
    m.word("machine.name", f"machine {seed}")
    m.date("machine.last_worked_on")
    m.maybe("machine.pulse_limit", 5000, 60000, "frequency")
    m.maybe("machine.gantry_underside", 0.04, 0.15, tolerance=0.001)
    ends = axes(m)
    names = inputs(m)
    homing(m, ends, names, homes)
    cutter_count = cutters(m)
    reach = ends["z"][0] - m.random.uniform(0.01, 0.035)
    both = m.chance(0.2)
    height = m.random.uniform(-0.01 if m.odd else 0.02, 0.06)
    if kind == "setter" or both:
        setter(m, ends, names, reach, height)
    table = m.quantity("table.nose_contact", reach - height, tolerance=0.0003)
    if kind == "plate" or both:
        plate(m, names, table)
    if m.chance(0.5):
        for a in "xy":
            m.pair(f"table.{a}", ends[a][0] + m.random.uniform(-0.05, 0.1), ends[a][1],
                   tolerance=0.001)
    m.maybe("table.slope", 0.00005, 0.001, "slope")
    m.date("table.measured_on")
    if m.chance(0.85):
        for a in "xy":
            low, high = ends[a]
            m.pair(f"work.{a}", low + m.random.uniform(0.02, 0.2),
                   high - m.random.uniform(0.02, 0.15), tolerance=0.001)
    m.maybe("work.height", 0.005, 0.1, tolerance=0.001)
    obstacle_count = obstacles(m, ends)
    attachments(m)
    spindle(m, names)
    change(m, ends, kind, homes, reach)
    allowances(m)
    soft_limits(m, ends, homes)
    wireless(m, names)
    own_reseat(m)
    board(m)
    ride_along(m, height)
    rotary(m)
    lift(m, names, height)
    unmeasured(m)
    corner(m, kind)
    end_switch(m, names)
    m.maybe_flag("change.refuses_unreferenced", 0.6)
    listed_setter(m)
    zero_anew(m)
    if "plate.corner.x" in m.fields and m.chance(0.15):  # half of it only
        del m.fields["plate.corner.x"], m.tree["plate"]["corner"]["x"]
    readings.some(m)
    several(m, ends, names, height)
    for scratch in ("scratch",):
        assert scratch not in m.fields and scratch not in m.tree
    return dump(m), Machine(m.fields, cutter_count, names, obstacle_count)


def several(m, ends, names, height):
    """More than one setter: that of the machine becomes one of a list."""
    if "setter" not in m.tree or m.chance(0.8):
        return
    calls = m.random.sample(("left", "right", "low one"), m.random.choice((1, 2, 2, 3)))
    first = m.random.randrange(len(calls))
    own, rows = take_setter(m, f"setters[{first}]."), []
    for i, name in enumerate(calls):
        rows.append(own if i == first else another(m, f"setters[{i}].", ends, names, height))
        rows[-1]["name"] = m.fields[f"setters[{i}].name"] = name
    m.tree["setters"] = rows
    if m.fields["change.measures_with"] == "setter" or m.chance(0.5):
        m.word("change.setter", calls[first])


def take_setter(m, path):
    """The setter out of the tree; its fields go where it will be."""
    for one in [one for one in m.fields if one.startswith("setter.")]:
        m.fields[path + one.removeprefix("setter.")] = m.fields.pop(one)
    return m.tree.pop("setter")


def another(m, path, ends, names, height):
    for a in "xy":
        low, high = ends[a]
        m.between(f"setter.at.{a}", low - 0.01, high + 0.005, tolerance=0.0005)
    contact = m.fields["table.nose_contact"][0] + height
    if m.chance(0.6):
        m.quantity("setter.nose_contact", contact, tolerance=0.0003)
    if m.chance(0.5):
        m.quantity("setter.height", abs(height + m.random.uniform(-0.003, 0.003)), tolerance=0.0002)
    m.maybe("setter.body", 0.02, 0.06, tolerance=0.0005)
    m.date("setter.measured_on")
    if m.chance(0.5):
        m.word("setter.input", m.random.choice(names))
    if m.chance(0.2):
        m.word("setter.rides_on", m.random.choice(("gantry", "table")))
    return take_setter(m, path)


def listed_setter(m):
    """A setter that is not used may be on the list of what stands on the table."""
    if not {"setter.at.x", "setter.at.y", "obstacles[0].top"} <= m.fields.keys() or m.chance(0.6):
        return
    if m.fields["change.measures_with"] == "setter":
        return
    for a in "xy":
        middle = m.fields[f"setter.at.{a}"][0]
        m.pair("scratch", middle - 0.03, middle + 0.03)
        m.tree["obstacles"][0][a] = m.tree.pop("scratch")
        for end in ("low", "high"):
            m.fields[f"obstacles[0].{a}.{end}"] = m.fields.pop(f"scratch.{end}")


def corner(m, kind):
    """A plate that finds the corner of the work; now and then in a file that measures otherwise."""
    if "plate.input" not in m.fields or not m.chance(0.4 if kind == "plate" else 0.1):
        return
    for a in "xy":
        m.between(f"plate.corner.{a}", -0.02, 0.02)
    m.maybe("plate.corner.depth", 0.002, 0.02, tolerance=0.0002)
    out = (m.fields.get("plate.face") or (0.05, 0))[0] + m.random.uniform(0.0, 0.03)
    m.quantity("change.side_out", out)
    m.between("change.side_down", 0.0005, m.random.choice((0.015, 0.04)))
    m.quantity("change.side_stroke", out + m.random.uniform(-0.01, 0.01))
    m.between("change.side_feed", 0.0005, 0.006, "speed")


def rotary(m):
    """An obstacle of which something turns."""
    for o, row in enumerate(m.tree.get("obstacles", ())):
        if m.chance(0.75):
            continue
        path, chuck = f"obstacles[{o}].chuck.", {}
        for name, low, high in (("diameter", 0.02, 0.15), ("axis_height", 0.0, 0.06)):
            if m.chance(0.95):
                m.between("scratch", low, high, tolerance=0.0005)
                chuck[name], m.fields[path + name] = m.tree.pop("scratch"), m.fields.pop("scratch")
        for name, words in (("along", "xy"), ("stands", ("yes", "yes", "no"))):
            if m.chance(0.9):
                chuck[name] = m.random.choice(words)
                m.fields[path + name] = chuck[name] == "yes" if name == "stands" else chuck[name]
        if chuck:
            row["chuck"] = chuck


def board(m):
    """A spoilboard that is surfaced often, and what was worked on of its own."""
    if m.chance(0.3):
        thickness = m.random.uniform(0.008, 0.03)
        m.quantity("table.thickness", thickness, tolerance=0.0002)
        lost = m.random.choice((0, m.random.uniform(-0.002, 0.006)))
        m.quantity("table.thickness_now", thickness - lost, tolerance=0.0002)
        m.date("table.thickness_measured_on")
    for part in ("table", "spindle", *(f"axes.{a}" for a in "xyz")):
        m.date(f"{part}.last_worked_on", 0.2)


def zero_anew(m):
    """What the touch sets, and where the thickness of the plate is taken off."""
    if "plate.input" not in m.fields and m.chance(0.7):
        return
    if m.chance(0.7):
        m.word("change.sets", m.random.choice(("length", "work_zero", "work_zero")))
    if m.chance(0.7):
        m.word("plate.thickness_in", m.random.choice(("change", "offset", "both", "none")))
    if m.chance(0.8):
        m.flag("work.zero_face_kept")


def end_switch(m, names):
    """Puts a switch that stops Z behind the setter's overtravel."""
    if "setter" in m.tree and m.chance(0.35):
        m.word("setter.end_input", m.random.choice(names))
        m.maybe("setter.end_overtravel", 0.00005, 0.002, "small", tolerance=0.0001, likely=0.9)


def lift(m, names, height):
    """Puts a setter that is there on a lift, with some of its switches."""
    if "setter" not in m.tree or not m.chance(0.35):
        return
    m.maybe("setter.lowered_height", -0.02, max(0.002, height + 0.004), tolerance=0.0005,
            likely=0.9)
    for end in ("up", "down"):
        if m.chance(0.85):
            m.word(f"setter.{end}_input", m.random.choice(names))
        if m.chance(0.85):
            m.flag(f"setter.seen_{end}", 0.7)


def ride_along(m, height):
    """Hangs a setter that is there on the gantry: mostly without a Y."""
    if "setter" not in m.tree or not m.chance(0.3):
        return
    m.word("setter.rides_on", "gantry")
    m.maybe("setter.underside", 0.002, max(0.004, height + 0.002), tolerance=0.0005)
    if m.chance(0.8):
        del m.tree["setter"]["at"]["y"]
        m.fields.pop("setter.at.y", None)
    if m.chance(0.4):
        low, high = (m.fields[f"axes.x.travel.{end}"][0] for end in ("low", "high"))
        m.quantity("setter.at.x", m.random.choice((low, high)) + m.random.uniform(-0.005, 0.005),
                   tolerance=0.0005)


def dump(m):
    """The tree as YAML, its sections in random order and style."""
    first, rest = ["proveout"], [name for name in m.tree if name != "proveout"]
    m.random.shuffle(rest)
    lines = []
    for name in first + rest:
        lines += entry(m, name, m.tree[name], 0)
    return "\n".join(lines) + "\n"


def entry(m, name, value, depth):
    pad = "  " * depth
    if isinstance(value, str):
        remark = "  # as measured" if m.chance(0.03) else ""
        return [f"{pad}{name}: {value}{remark}"]
    if isinstance(value, list):
        lines = [f"{pad}{name}:"]
        for row in value:
            if m.chance(0.3):
                lines.append(f"{pad}  - {flow(row)}")
            else:
                inner = [line for key, text in row.items()
                         for line in entry(m, key, text, depth + 2)]
                inner[0] = f"{pad}  - {inner[0].lstrip()}"
                lines += inner
        return lines
    if depth > 0 and all(isinstance(v, str) for v in value.values()) and m.chance(0.3):
        return [f"{pad}{name}: {flow(value)}"]
    lines = [f"{pad}{name}:"]
    for key, below in value.items():
        lines += entry(m, key, below, depth + 1)
    return lines


def flow(value):
    if isinstance(value, str):
        return value
    return "{" + ", ".join(f"{key}: {flow(text)}" for key, text in value.items()) + "}"


if __name__ == "__main__":
    import sys
    print(make(int(sys.argv[1]))[0], end="")
