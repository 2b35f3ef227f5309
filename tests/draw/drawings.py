"""Whole drawings, read back: what they show, where, and that nothing lies over anything.

    drawings.py PROGRAM samples      the sample machines, both views
    drawings.py PROGRAM random       a share of 500 machines of the independent model
    drawings.py PROGRAM words        machines full of hostile texts, and very large ones
    drawings.py PROGRAM claims       machines with facts taken out, or with one thing wrong

A drawing has to be well-formed; no text may lie over another, over a line of anything but what it
names, or beyond the sheet; what it shows has to be where the numbers of the file put it, to 0.1 mm of
the machine; what fails has to be marked where `check` finds it; and the least room has to be that of
`dryrun`.
"""
import json
import pathlib
import re
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).resolve().parent
TOP = HERE.parents[1]
sys.path[:0] = [str(TOP / "tests"), str(TOP / "tests" / "outside" / "model")]

import generate  # noqa: E402
import page  # noqa: E402
import share  # noqa: E402

import yaml  # noqa: E402

TODAY = "2026-11-25"
MACHINES = 500
NEAR = 0.0001  # m
UNITS = {"mm": 0.001, "in": 0.0254, '"': 0.0254, "m": 1.0, "cm": 0.01, "um": 1e-6,
         "thou": 0.0000254, "ft": 0.3048}


class Trial:
    """One machine file, whose text is all that is known of it."""

    def __init__(self, program, name, text, path=None):
        self.program, self.name, self.text, self.path = program, name, text, path
        self.failures = []

    def run(self, *arguments):
        done = subprocess.run([self.program, arguments[0], "--today", TODAY, *arguments[1:],
                               self.path or "-"], input=self.text.encode(), capture_output=True,
                              check=False)
        return done.returncode, done.stdout.decode(), done.stderr.decode()

    def expect(self, held, what):
        if not held:
            self.failures.append(f"{self.name}: {what}")

    def draw(self, view, *more):
        status, out, errors = self.run("draw", "--view", view, *more)
        if status not in (0, 1):
            self.failures.append(f"{self.name}, {view}: status {status}, {errors}")
            return None
        found = page.Page(out)
        for one in page.collisions(found):
            self.failures.append(f"{self.name}, {view}: {one}")
        labels = [own_words(g) for one in found.views for _, g in things(one)
                  if own_shapes(g, "rect")]
        numbers = {words[0] for words in labels if len(words) == 1 and words[0].isdigit()}
        key = {row[1] for row in (re.match(r"(\d+)  ", text.text)
                                  for text in found.root.iter(page.NAMESPACE + "text")) if row}
        self.expect(numbers <= key, f"{view}: numbers {numbers - key} are not in the key")
        self.expect(found.width <= 180 and found.height <= 257, f"{view} does not fit a page")
        return found


# --- where things are ---

def things(view):
    """(field, element) of each thing of a view."""
    return [(g.get("data-field"), g) for g in view.iter(page.NAMESPACE + "g")
            if g.get("data-field")]


class Frame:
    """From paper back to the machine."""

    def __init__(self, view):
        self.scale = float(view.get("data-scale")) * 1000
        self.x, self.y = (float(n) for n in view.get("data-origin").split())
        self.near = NEAR + 0.0011 / self.scale  # as exact as a thousandth of a millimetre is

    def back(self, point):
        return (point[0] - self.x) / self.scale, (self.y - point[1]) / self.scale


def own_shapes(group, kind):
    return [e for e in group if e.tag == page.NAMESPACE + kind and e.get("stroke") != "none"]


def own_words(group):
    return [e.text for e in group if e.tag == page.NAMESPACE + "text"]


def bounds(frame, group):
    """Of the first outline of a thing."""
    paths = own_shapes(group, "path")
    if not paths:
        return None
    points = [frame.back(p) for run in page.outline(paths[0]) for p in run]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return min(xs), max(xs), min(ys), max(ys)


def middle(frame, group):
    box = bounds(frame, group)
    return box and ((box[0] + box[1]) / 2, (box[2] + box[3]) / 2)


def agree(trial, frame, what, drawn, wanted):
    trial.expect(drawn is not None and all(abs(a - b) <= frame.near
                                           for a, b in zip(drawn, wanted)),
                 f"{what} is drawn at {drawn}, and should be at {wanted}")


def pair(fields, path):
    ends = [fields.get(f"{path}.{end}") for end in ("low", "high")]
    return None if None in ends else sorted(end[0] for end in ends)


def area(fields, x, y):
    xs, ys = pair(fields, x), pair(fields, y)
    return (*xs, *ys) if xs and ys else None


AREAS = {"axes.x.travel": "axes.y.travel", "axes.x.soft_limits": "axes.y.soft_limits",
         "table.x": "table.y", "work.x": "work.y"}


def check_plan(trial, found, fields):
    """Positions in the plan against the numbers that the file means."""
    frame, seen = Frame(found.views[0]), 0
    for field, group in things(found.views[0]):
        obstacle = re.fullmatch(r"(obstacles\[\d+\])\.x", field)
        other = f"{obstacle[1]}.y" if obstacle else AREAS.get(field)
        wanted = area(fields, field, other) if other else None
        if wanted:
            agree(trial, frame, field, bounds(frame, group), wanted)
            seen += 1
        elif field == "change.park.x" and group.find(page.NAMESPACE + "path") is not None:
            agree(trial, frame, field, middle(frame, group),
                  (fields["change.park.x"][0], fields["change.park.y"][0]))
            seen += 1
        elif field == "setter.at.x" and field in fields and own_shapes(group, "circle"):
            circles = own_shapes(group, "circle")
            at = [frame.back((float(c.get("cx")), float(c.get("cy")))) for c in circles]
            agree(trial, frame, field, at[0],
                  (fields["setter.at.x"][0], fields["setter.at.y"][0]))
            sizes = [2 * float(c.get("r")) / frame.scale for c in circles]
            wanted = [fields[f"setter.{name}"][0] for name in ("body", "face")
                      if f"setter.{name}" in fields]
            agree(trial, frame, "the setter's size", sizes, wanted)
            seen += 1
    trial.expect(seen, "nothing was found in its plan")
    return seen


def check_side(trial, found, fields):
    """Heights in the view from the front."""
    frame = Frame(found.views[0])
    for field, group in things(found.views[0]):
        if field == "axes.z.travel" and pair(fields, field):
            agree(trial, frame, field, bounds(frame, group)[2:], pair(fields, field))
        elif (field == "change.traverse_z" and own_shapes(group, "path")
              and group.findtext(page.NAMESPACE + "title") == "nose at traverse"):
            agree(trial, frame, field, bounds(frame, group)[2:], [fields[field][0]] * 2)
        elif field == "setter.nose_contact" and field in fields and bounds(frame, group):
            height = fields[field][0]
            low, high = bounds(frame, group)[2:]
            cross = own_shapes(group, "path")[0].get("d").count("M") == 2
            drawn = [(low + high) / 2] if cross else [low, high]
            agree(trial, frame, field, [min(drawn, key=lambda z: abs(z - height))], [height])


def check_details(trial, found, fields):
    """The stroke is as long as it is, and the setter trips where it does."""
    for view in found.views[1:]:
        frame = Frame(view)
        for field, group in things(view):
            title = group.findtext(page.NAMESPACE + "title")
            if field == "change.probe_stroke" and title.startswith("stroke") and (
                    title == "stroke" or "start" in title):
                low, high = bounds(frame, group)[2:]
                if field in fields:
                    agree(trial, frame, title, [high - low], [fields[field][0]])
            elif field == "setter.nose_contact" and field in fields:
                agree(trial, frame, title, bounds(frame, group)[2:], [fields[field][0]] * 2)


# --- what is said ---

LENGTH = re.compile(r"(\d+)(\.\d+)?(?:e(-?\d+))? (mm|in|m|cm|um|thou|ft)\b")


RESERVED = "not all that is in the way is known"


def check_room(trial, found):
    """The nearest approach is what the dry run reckons."""
    words = [group.findtext(page.NAMESPACE + "desc") for _, group in things(found.views[0])
             if group.findtext(page.NAMESPACE + "title") == "nearest approach"]
    said = [text.partition(";")[0] for text in words]
    status, out, _ = trial.run("dryrun", "--format", "json")
    if status == 2:
        trial.expect(not said, "room is drawn that no dry run knows")
        return
    rooms = [move["clearance"]["si"] for move in json.loads(out)["moves"] if move["clearance"]]
    if not rooms:
        trial.expect(said == ["not known"], f"no room is known, and it says {said}")
        return
    _, out, _ = trial.run("dryrun")
    dry = " ".join(out.split())
    reserved = RESERVED in dry or "room: not known" in dry
    trial.expect((RESERVED in words[0]) == reserved,
                 f"`{words[0]}`, but in the dry run it is {reserved} that some is not known")
    whole, places, power, unit = LENGTH.search(said[0]).groups(default="")
    one = 10.0 ** int(power or 0) * UNITS[unit]
    close = 0.6 * 10.0 ** -len(places[1:]) * one
    trial.expect(abs(abs(min(rooms)) - float(whole + places) * one) <= close,
                 f"`{said[0]}`, but the least room is {min(rooms)}")


def check_rules(trial, pages):
    """What is marked fails; and what fails is marked somewhere, or named in the description."""
    _, out, _ = trial.run("check", "--format", "json")
    failed = {one["rule"]: one for one in json.loads(out)["files"][0]["evaluations"]
              if one["outcome"] == "failed" and not one["implied_by"]}
    for found in pages:
        marked = {rule for view in found.views for _, g in things(view)
                  for rule in (g.get("data-rule") or "").split()}
        trial.expect(marked <= set(failed), f"marked, but do not fail: {marked - set(failed)}")
        told = found.root.findtext(page.NAMESPACE + "desc")
        for rule in set(failed) - marked:
            trial.expect(rule in told, f"{rule} fails and is nowhere in the drawing")
        for view in found.views:
            for _, group in things(view):
                if group.get("data-rule") and own_shapes(group, "path"):
                    broken = [e for e in group.iter() if e.get("stroke") == "#D55E00"]
                    trial.expect(broken and all(e.get("stroke-dasharray") for e in broken),
                                 f"{group.get('data-field')} fails and does not look like it")


def check_lines(trial, found):
    """The line of each field is the one where its last word, or the section it ends, stands."""
    lines = trial.text.split("\n")
    for view in found.views:
        for field, group in things(view):
            number = group.get("data-line")
            if number and not group.get("data-file"):
                words = re.split(r"[.\[\]]+", field)
                around = " ".join(lines[max(0, int(number) - 2):int(number)])
                trial.expect(words[-1] in around, f"{field} is not in line {number}")


# --- the machines ---

def length(text):
    match = re.match(r"\s*(-?[\d.]+)\s*(mm|in|m|cm|um|thou|ft|\")", str(text))
    return float(match[1]) * UNITS[match[2]] if match else None


def flatten(value, path=""):
    """(path, text) of every number and text of a sample."""
    if isinstance(value, dict):
        for key, below in value.items():
            yield from flatten(below, f"{path}.{key}" if path else str(key))
    elif isinstance(value, list) and len(value) == 2 and all(length(one) is not None
                                                             for one in value):
        yield f"{path}.low", value[0]
        yield f"{path}.high", value[1]
    elif isinstance(value, list):
        for i, below in enumerate(value):
            yield from flatten(below, f"{path}[{i}]")
    else:
        yield path, value


def sample_fields(text):
    return {path: (length(one), 0.0) for path, one in flatten(yaml.safe_load(text))
            if length(one) is not None}


def try_machine(trial, fields):
    plan, side = trial.draw("plan"), trial.draw("side")
    if plan is None or side is None:
        return trial.failures
    check_plan(trial, plan, fields)
    check_side(trial, side, fields)
    check_details(trial, side, fields)
    check_room(trial, plan)
    check_rules(trial, (plan, side))
    check_lines(trial, plan)
    return trial.failures


def samples(program):
    for path in share.share(sorted((TOP / "sample-configs").glob("*.yaml")), 3):
        text = path.read_text(encoding="utf-8")
        yield try_machine(Trial(program, path.name, text, str(path)), sample_fields(text))


def random(program):
    for seed in share.share(range(MACHINES), 12):
        text, machine = generate.make(seed)
        yield try_machine(Trial(program, f"machine {seed}", text), machine.fields)


def words(program):
    base = (TOP / "sample-configs" / "workshop-router.yaml").read_text(encoding="utf-8")
    hostile = ['<script>alert(1)</script>', "]]>", "&#0; &lt;", '\\u202eright to left',
               "\\x1b[31m \\x07", "\\uFFFE\\uFFFF", "'\\\"/>", "a" * 10000, "\\u6f22" * 300,
               "\\n\\n", " ", "\\u200b\\u200d"]
    for text in hostile:
        changed, count = re.subn(r"(- name: ).*", lambda m, t=text: f'{m[1]}"{t}"', base)
        changed = re.sub(r"(?m)^(  name: ).*", lambda m, t=text: f'{m[1]}"{t}"', changed, count=1)
        trial = Trial(program, f"the name {text[:20]!r}", changed)
        trial.expect(count > 0, "there is no name to change")
        for view in ("plan", "side"):
            trial.draw(view)
        yield trial.failures
    trial = Trial(program, "after each step", base)
    _, out, _ = trial.run("dryrun", "--format", "json")
    for number, move in enumerate(json.loads(out)["moves"]):
        plan, place = trial.draw("plan", "--step", str(number)), move["to"]
        at = [middle(Frame(plan.views[0]), g) for _, g in things(plan.views[0])
              if g.findtext(page.NAMESPACE + "title") == f"spindle after step {number}"]
        if place["x"] is None or place["y"] is None:
            trial.expect(at == [None], f"step {number} ends at no known place, but at {at}")
        else:
            agree(trial, Frame(plan.views[0]), f"step {number}", at[0],
                  (place["x"], place["y"]))
    yield trial.failures
    many = "".join(f"  - {{name: clamp {i}, x: [{i % 30 * 25} mm, {i % 30 * 25 + 9} mm], "
                   f"y: [{i // 30 * 35} mm, {i // 30 * 35 + 9} mm], top: {i % 50} mm}}\n"
                   for i in range(900))
    trial = Trial(program, "900 obstacles", base.replace("obstacles:\n", "obstacles:\n" + many))
    plan = trial.draw("plan")
    trial.expect(plan and "drawn without a label" in "".join(t.words for t in plan.texts),
                 "what has no label is not counted")
    yield trial.failures
    more = "".join(f"  - {{number: {i}, description: cutter, stickout: {20 + i % 30} mm, "
                   "diameter: 6 mm, shank: 6 mm}\n" for i in range(100, 600))
    trial = Trial(program, "500 cutters", base.replace("cutters:\n", "cutters:\n" + more))
    for view in ("plan", "side"):
        trial.draw(view)
    trial.draw("side", "--cutter", "599")
    yield trial.failures


def described(found):
    return found.root.findtext(page.NAMESPACE + "desc")


def of_field(found, field):
    return [g for one, g in things(found.views[0]) if one == field]


def of_two_files(program):
    """What fails in a file that another one uses is told with the line of that one."""
    with tempfile.TemporaryDirectory() as folder:
        for path in (TOP / "sample-configs" / "two-mills").glob("*.yaml"):
            text = path.read_text(encoding="utf-8")
            changed = re.sub(r"probe_stroke: \d+ mm", "probe_stroke: 2 mm", text)
            (pathlib.Path(folder) / path.name).write_text(changed, encoding="utf-8")
        machine = pathlib.Path(folder) / "mill-by-the-door.yaml"
        trial = Trial(program, "two files", machine.read_text(encoding="utf-8"), str(machine))
        rows = " ".join(text.words for text in trial.draw("side").texts)
        told = re.search(r"\[probe-stroke-short, line \d+ of \S*frame\.yaml\]", rows)
        trial.expect(told, "what fails in another file is told with a line of this one")
    return trial.failures


def claims(program):
    """What a drawing says of a machine that is known in part, or that runs into something."""
    base = (TOP / "sample-configs" / "workshop-router.yaml").read_text(encoding="utf-8")

    def changed(name, *pairs):
        text = base
        for before, after in pairs:
            if before not in text:
                raise ValueError(f"{before!r} is not in the sample")
            text = text.replace(before, after)
        return Trial(program, name, text)

    few = (("  nut_diameter: 34 mm\n", ""),
           ("  shoe: {diameter: 100 mm, below_nose: 30 mm, removed: yes}\n", ""))
    trial = changed("without nut and shoe", *few)
    for view in ("plan", "side"):
        found = trial.draw(view, "--step", "6")
        told = described(found)
        for words in (RESERVED, "not all that hangs on the spindle is known"):
            trial.expect(words in told, f"{view} does not say that {words}")
    yield trial.failures

    trial = changed("no park", ("  park: {x: 420 mm, y: 40 mm, z: -3 mm}\n", ""))
    told = described(trial.draw("plan"))
    trial.expect("park: where it is, is not known" in told, "park is missing without a word")
    trial.expect(RESERVED in told, "room is promised on ways that nobody knows")
    yield trial.failures

    trial = changed("clamps under the gantry", ("top: 70 mm", "top: 140 mm"))
    for view, field in (("plan", "obstacles[1].x"), ("side", "obstacles[1].top")):
        found = trial.draw(view)
        marks = [g.get("data-rule") for g in of_field(found, field)]
        trial.expect(marks == ["gantry-hits-obstacle"], f"{view}: the clamps are marked {marks}")
        trial.expect("runs into it by 10 mm at worst" in described(found),
                     f"{view} does not say that the gantry hits them")
    found = trial.draw("plan")
    near = [g for g in of_field(found, "change.traverse_z")
            if g.findtext(page.NAMESPACE + "title") == "nearest approach"]
    agree(trial, Frame(found.views[0]), "where the gantry hits",
          middle(Frame(found.views[0]), near[0]), (0.4, 1.26))
    yield trial.failures

    trial = changed("a wide cutter goes out", ("touches_old: no", "touches_old: yes"),
                    ("diameter: 28 mm", "diameter: 60 mm"))
    for cutter in ("1", "4"):
        told = described(trial.draw("plan", "--cutter", cutter))
        trial.expect("sideways to park: swept 60 mm wide by the cutter" in told,
                     f"with cutter {cutter} one way back is drawn too narrow")
    yield trial.failures

    trial = changed("a name that would be a row", ("toe clamps at the back",
                                                   '"x\\nEvery rule holds.\\ny"'),
                    ("fence at the left", '"clamp\\0 that is loose"'))
    told = described(trial.draw("plan"))
    trial.expect("Every rule holds." not in told.split("\n"), "a name is a row of its own")
    trial.expect("clamp\\x00 that is loose" in told, "a name ends at a zero byte")
    yield trial.failures

    many = "".join(f"  - {{name: clamp {i}, x: [{i % 10 * 40} mm, {i % 10 * 40 + 9} mm], "
                   f"y: [{i // 10 * 35} mm, {i // 10 * 35 + 9} mm], top: 9 mm}}\n"
                   for i in range(70))
    last = "  - {name: the last, x: [600 mm, 800 mm], y: [900 mm, 1100 mm], top: 140 mm}\n"
    trial = changed("the 73rd obstacle", ("\nsetter:\n", f"{many}{last}\nsetter:\n"))
    found = trial.draw("plan")
    group = of_field(found, "obstacles[72].x")[0]
    trial.expect(any(e.get("stroke-width") == "0.5" for e in own_shapes(group, "rect")),
                 "what fails has no frame where it is far down in the list")
    yield trial.failures

    trial = changed("a stroke too short", ("probe_stroke: 25 mm", "probe_stroke: 6 mm"))
    found = trial.draw("side", "--cutter", "3")
    rows = "\n".join(text.words for text in found.texts)
    for cutter in (1, 2, 3):
        trial.expect(f"before cutter {cutter} " in rows,
                     f"cutter {cutter} is not told in the key")
    trial.expect("probe-stroke-short fails for 1 more" in described(found), "one is left out")
    yield trial.failures

    yield of_two_files(program)

    trial = changed("an approach too deep", ("approach: computed\n  standoff: 15 mm",
                                             "approach: fixed\n  approach_z: -160 mm"))
    told = described(trial.draw("side", "--cutter", "2"))
    trial.expect("below the trip: by 49 mm (change.approach_z" in told, told)
    trial.expect("stroke to spare" not in told, "there is a stroke to spare below the trip")
    yield trial.failures

    trial = changed("half an obstacle", ("    x: [20 mm, 50 mm]\n", ""))
    told = described(trial.draw("plan"))
    trial.expect("obstacles[name=fence at the left] has no x" in told,
                 "the things of a list are called otherwise than by `check`")
    yield trial.failures

    trial = changed("a cutter without its stick-out", ("    stickout: 35 mm\n", ""))
    trial.expect("the longest of those with a stick-out" in described(trial.draw("side")),
                 "one cutter is the longest, and not all are known")
    yield trial.failures

    trial = changed("no travel of X", ("travel: [0 mm, 850 mm]\n    ", ""))
    told = described(trial.draw("plan"))
    trial.expect("travel: 1300 mm along Y, along X not known" in told, "half of the travel")
    yield trial.failures


def main(program, what):
    count, failures = 0, []
    for some in {"samples": samples, "random": random, "words": words,
                 "claims": claims}[what](program):
        count, failures = count + 1, failures + some
    for one in failures[:40]:
        print(one)
    print(f"{count} machines, {len(failures)} failures")
    return int(bool(failures) or not count)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
