"""Forms of measuring on paper, there and back.

    forms.py PROGRAM SAMPLES CHECK
    forms.py --list
"""
import pathlib
import random
import re
import subprocess
import sys
import tempfile

import yaml

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
from share import share  # noqa: E402

CHECKS = {}
SOME = ["measured-several-times", "belt-router-high-z", "inch-router-with-plate", "two-setters",
        "probe-and-drag-knife", "rotary-axis-at-one-side", "router-without-homing"]


def check(function):
    CHECKS[function.__name__] = function
    return function


class Shop:
    def __init__(self, program, samples, name):
        self.program = str(pathlib.Path(program).resolve())
        self.kept = tempfile.TemporaryDirectory()  # as long as the shop
        self.folder = pathlib.Path(self.kept.name)
        self.file = self.folder / "m.yaml"
        self.file.write_bytes((pathlib.Path(samples) / f"{name}.yaml").read_bytes())

    def run(self, *arguments, status=(0, 1)):
        run = subprocess.run([self.program, "measure", "m.yaml", *arguments], cwd=self.folder,
                             stdin=subprocess.DEVNULL, capture_output=True, timeout=120)
        assert run.returncode in status, (arguments, run.returncode, run.stderr.decode())
        return run

    def form(self, *fields):
        return self.run("--form", *fields, status=(0,)).stdout.decode()

    def fill(self, form, *more, status=(0, 1)):
        data = form if isinstance(form, bytes) else form.encode()
        (self.folder / "form").write_bytes(data)
        return self.run("--filled", "form", "--write", *more, status=status)


def flat(node, path=""):
    """Every value of a machine file by its path."""
    if isinstance(node, dict) and "readings" not in node:
        for key, value in node.items():
            yield from flat(value, f"{path}.{key}" if path else str(key))
    elif isinstance(node, list) and node and isinstance(node[0], dict):
        for at, value in enumerate(node):
            yield from flat(value, f"{path}[{at}]")
    else:
        yield path, node


class Texts(yaml.SafeLoader):
    """Every value as the text that stands there."""


Texts.yaml_implicit_resolvers = {}


def said(value):
    return f"[{', '.join(value)}]" if isinstance(value, list) else value


def measured(shop):
    """What may be measured of all that the file says: its path on paper, and what stands there."""
    found = {}
    for path, value in flat(yaml.load(shop.file.read_text(), Texts)):
        run = shop.run("--form", path, status=(0, 2))
        if run.returncode == 0:
            row = re.search(r"^= (.*?)(?:, unit \S+)?$", run.stdout.decode(), re.M)
            found[row.group(1)] = value
    return found


def filled(form, values, spoil=lambda text: text):
    """The form with what the file says in each of its rows."""
    lines, row, boxes = [], None, []
    for line in form.split("\n"):
        if line.startswith("= "):
            row = values[line[2:].split(", unit ")[0]]
            notes = row if isinstance(row, dict) else {}
            plain = None if isinstance(row, (dict, list)) else row
            number, _, tolerance = (plain or "").partition(" ± ")
            if "repeatability" in line and plain:
                plain = number = tolerance = ""  # it is read several times, or not at all
            boxes = list(notes.get("readings", [number] if plain is not None else [said(row)]))
            error = notes.get("instrument_error", tolerance)
        if line.startswith("  [") and row is not None:
            room = line.count("[")
            line = "  " + " ".join(f"[{spoil(boxes.pop(0)) if boxes else ''}]" for _ in range(room))
        elif line.startswith("  with:") and row is not None:
            while boxes:
                lines.append(f"  [ {boxes.pop(0)} ]")
            line = "  with: " + notes.get("with", "__")
            lines += [f"  {key}: {notes[old]}" for key, old in (("by", "by"), ("date", "on"))
                      if old in notes]
        elif line.startswith("  off by"):
            line = f"  off by at most: {error}"
        lines.append(line)
    return "\n".join(lines)


@check
def own_values(program, samples):
    """A form filled with what the file says leaves the file as it is, to the byte."""
    rows = 0
    for name in share(SOME, 3):
        shop = Shop(program, samples, name)
        before = shop.file.read_bytes()
        values = measured(shop)
        form = shop.form(*values)
        rows += len(re.findall(r"^= ", form, re.M))
        assert len(values) == len(re.findall(r"^= ", form, re.M)), name
        for ends in ("\n", "\r\n"):
            shop.fill(filled(form, values).replace("\n", ends))
            assert shop.file.read_bytes() == before, (name, shop.run("--filled", "form").stdout.decode())
    assert rows > 20 * len(share(SOME, 3)), rows


@check
def other_values(program, samples):
    """What is typed into a row is what the file says then, and nothing else changes."""
    shop = Shop(program, samples, "measured-several-times")
    before = yaml.load(shop.file.read_text(), Texts)
    form = shop.form("table.nose_contact", "cutters[].stickout")
    form = form.replace("= table.nose_contact, unit mm", "= table.nose_contact, unit in")
    form = re.sub(r"(nose_contact, unit in\n(?:  \|.*\n)+  )\[_+\] \[_+\]", r"\1[-4.331____] [ -4 1/3 ]", form)
    form = re.sub(r"(number=3\].stickout, unit mm\n(?:  \|.*\n)+  )\[_+\] \[_+\] \[_+\]",
                  r"\1[35.00_] [35.10] [_35.05 mm]", form)
    form = form.replace("date: ________________________", "date: 2026-11-02", 1)
    form = form.replace("by: ________________________", "by: Anna: and Bo", 1)
    shop.fill(form)
    after = yaml.load(shop.file.read_text(), Texts)
    assert after["table"].pop("nose_contact") == {
        "readings": ["-4.331 in", "-4 1/3 in"], "by": "Anna: and Bo", "on": "2026-11-02"}
    assert after["cutters"][2].pop("stickout") == {
        "readings": ["35.00 mm", "35.10 mm", "35.05 mm"], "by": "Anna: and Bo", "on": "2026-11-02"}
    assert after["cutters"][2].pop("measured_on") == "2026-11-02"
    assert after["table"].pop("measured_on") == "2026-11-02"
    for section, keys in (("table", ("nose_contact", "measured_on")),):
        for key in keys:
            before[section].pop(key)
    before["cutters"][2].pop("stickout")
    before["cutters"][2].pop("measured_on", None)
    assert after == before


HOSTILE = [
    # what is typed, what is said of it; {} is the form with one number in it
    (lambda form: form.replace("-110", "-110 mm \x1b[2J"), "a control character"),
    (lambda form: form.replace("-110", "-110\0"), "a control character"),
    (lambda form: form.encode().replace(b"-110", b"-110\xff"), "not UTF-8"),
    (lambda form: form.replace("-110", "1e400"), "too large"),
    (lambda form: form.replace("-110", "9" * 300), "too long"),
    (lambda form: form.replace("-110", "1000000000000000 TB"), "no unit"),
    (lambda form: form.replace("-110", "-110,5"), "a point in it"),
    (lambda form: form.replace("-110", "-110 _5"), None),
    (lambda form: form.replace("-110", "eleven"), None),
    (lambda form: form.replace("-110", "-110 s"), "is a time"),
    (lambda form: form.replace("-110", "-110 mm ± 1 mm"), "tolerance"),
    (lambda form: form.replace("[-110]", "[-110"), "not closed"),
    (lambda form: form.replace("[-110]", "[-110] -111"), "outside the boxes"),
    (lambda form: form.replace("[-110]", "-110"), "no line of the form"),
    (lambda form: form.replace("[-110]", "[-110], with: [x]"), "outside the boxes"),
    (lambda form: form.replace("= table", "= tabel"), "no field"),
    (lambda form: form.replace("= table.nose_contact", "= change.standoff"), "not measured"),
    (lambda form: form.replace("= table.nose_contact", "= cutters[].stickout"), "several values"),
    (lambda form: form.replace("= table.nose_contact", "= cutters[99].stickout"), "is not in"),
    (lambda form: form.replace("= table.nose_contact, unit mm\n", ""), "no row of the form above"),
    (lambda form: form.replace(", unit mm", ", unit parsec"), "no unit known"),
    (lambda form: form.replace("machine: club", "machine: pub"), "another machine"),
    (lambda form: re.sub("machine:.*\n", "", form), "which machine"),
    (lambda form: form.replace("form: 1", "form: 2"), "another kind"),
    (lambda form: form[form.index("\n") + 1:], "no form"),
    (lambda form: form[:form.index("end:")], "breaks off"),
    (lambda form: form.replace("end: 1", "end: 2"), "another number"),
    (lambda form: form + "= setter.height, unit mm\n", "behind the end"),
    (lambda form: form.replace("end: 1", form[form.index("= "):form.index("end:")] + "end: 2"), "a row in line"),
    (lambda form: form.replace("date: __", "date: 31 March 2027"), "date"),
    (lambda form: form.replace("most: __", "most: -1"), "negative"),
    (lambda form: form.replace("most: __", "most: 1\n  off by at most: 2"), "above already"),
    (lambda form: form.replace("[-110]", "[__]").replace("with: __", "with: calliper"), "no reading"),
    (lambda form: "", "nothing stands"),
    (lambda form: form * 400, None),
    (lambda form: form.replace("[-110]", "[-110]\n  " + "[1] " * 200), "more readings"),
    (lambda form: "= " * 100000, "no form"),
]


@check
def hostile(program, samples):
    """What cannot be read is told with its line and column, and nothing is written."""
    shop = Shop(program, samples, "measured-several-times")
    before = shop.file.read_bytes()
    form = shop.form("table.nose_contact").replace("[__________]", "[-110]", 1)
    for at, (spoil, wanted) in enumerate(HOSTILE):
        run = shop.fill(spoil(form), status=(2,))
        errors = run.stderr.decode()
        assert shop.file.read_bytes() == before, at
        assert not run.stdout, (at, run.stdout)
        assert re.search(r"^proveout: form:\d+:\d+: ", errors, re.M) or "cannot be read" in errors, (at, errors)
        assert wanted is None or wanted in errors, (at, wanted, errors)
        assert "nothing is taken from form" in errors or "cannot be read" in errors, (at, errors)
        assert "\x1b" not in errors and len(errors) < 5000, at
    run = shop.fill(form.replace("[-110]", "[eleven]"), status=(2,))
    line = form.split("\n").index(next(one for one in form.split("\n") if "[-110]" in one)) + 1
    assert f"form:{line}:4: " in run.stderr.decode(), run.stderr.decode()


@check
def at_random(program, samples):
    """Bytes of a filled form exchanged at random: read whole, or nothing is taken."""
    shop = Shop(program, samples, "measured-several-times")
    before = shop.file.read_bytes()
    form = shop.form("table.nose_contact", "setter.nose_contact", "axes.x.travel")
    form = form.replace("[__________]", "[-110.2]", 2).encode()
    draw = random.Random(14)
    for _ in range(150):
        spoiled = bytearray(form)
        for _ in range(draw.randint(1, 4)):
            at = draw.randrange(len(spoiled))
            spoiled[at:at + draw.randint(0, 3)] = draw.choice([b"", b"[", b"]", b"=", b"\n", b"9", b"_", b"|", b"\xe2", b": "])
        shop.file.write_bytes(before)
        run = shop.fill(bytes(spoiled), status=(0, 1, 2))
        if run.returncode == 2:
            assert shop.file.read_bytes() == before and run.stderr, spoiled


@check
def changed_since(program, samples):
    """A form for a file that has changed since is taken, and that is told."""
    shop = Shop(program, samples, "measured-several-times")
    form = shop.form("table.nose_contact").replace("[__________]", "[-110.2]", 1)
    assert b"has changed since" not in shop.fill(form, status=(0, 1)).stdout
    assert b"has changed since" in shop.fill(form, status=(0, 1)).stdout


@check
def printed(program, samples):
    """At most 72 columns of what every printer has; spindles are held off before each row."""
    for name in share(SOME, 3):
        shop = Shop(program, samples, name)
        form = shop.form(*measured(shop))
        for line in form.split("\n"):
            assert len(line) <= 72 and line.isascii(), (name, line)
        order = [one for one in re.findall(r"^# (.*)$", form, re.M) if one.startswith(("At", "For"))]
        walk = ["At the screen, and along the axes", "At the table and the setter", "At the spindle",
                "At each cutter", "For the change"]
        assert order == [one for one in walk if one in order], order
        for row in re.split(r"\n(?=#|= )", form):
            if row.startswith("= cutters") and ".stickout" in row:
                assert "( ) spindle isolated or unplugged" in row, row


if __name__ == "__main__":
    if sys.argv[1] == "--list":
        print("\n".join(CHECKS))
    else:
        CHECKS[sys.argv[3]](sys.argv[1], sys.argv[2])
