"""Numbers between a machine file and the controller's own files, by agreements: what is taken, what
a copy says, and what is never touched.

    controller.py PROGRAM MACHINE CHECK
    controller.py --list

CHECK is the name of a function below without its `check_`.
"""
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import time

import yaml

import run

PROGRAM = MACHINE = ""
PLAIN = {"LC_ALL": "C.UTF-8", "TERM": "dumb", "HOME": "/nonexistent", "TZ": "UTC",
         **{name: os.environ[name] for name in run.KEPT if name in os.environ}}
NUMBER = r"(?<value>[-+0-9.,]+)"
SLOW = 10  # s: only a run-away
TEXT = b"; own\r\nSTROKE 21.50\r\nFEED = 2.50\r\nABOVE +12.0\r\nCONTACT stops\r\nSTROKE 21.50"


def call(folder, *arguments, answers=None):
    start = time.monotonic()
    done = subprocess.run([PROGRAM, *arguments], cwd=folder, env=PLAIN, capture_output=True,
                          timeout=60, check=False, input=answers,
                          **({"stdin": subprocess.DEVNULL} if answers is None else {}))
    expect(time.monotonic() - start < SLOW, arguments, "took too long")
    for stream in (done.stdout, done.stderr):
        expect(not set(stream) & {0, 7, 8, 27, 127} and b"\xff" not in stream or b"--- a/" in stream,
               arguments, "lets control characters out", stream)
    return done


def expect(truth, *what):
    if not truth:
        sys.exit(" ".join(str(part.decode("utf-8", "replace") if isinstance(part, bytes) else part)
                          for part in what))


def agreement(pattern, field="change.probe_stroke", unit="mm", file="change.txt", **more):
    rows = {"file": file, "pattern": pattern, "field": field, "unit": unit, **more}
    return "  - " + "\n    ".join(f"{key}: {json.dumps(value)}" for key, value in rows.items()
                                  if value is not None) + "\n"


def lay(folder, entries, text=TEXT, changes=(), name="change.txt"):
    """The machine with these agreements, and the controller's file beside it."""
    machine = pathlib.Path(MACHINE).read_text()
    for old, new in changes:
        expect(machine.count(old) == 1, old, "is not there once")
        machine = machine.replace(old, new)
    pathlib.Path(folder, "m.yaml").write_text(machine + "agrees_with:\n" + "".join(entries))
    pathlib.Path(folder, name).write_bytes(text)


def read(folder, name="m.yaml"):
    return pathlib.Path(folder, name).read_bytes()


STROKE = agreement("^STROKE " + NUMBER)


def check_taken(folder):
    """Shown with its line, written only where that is wished, and then nothing is left to do."""
    lay(folder, [STROKE, agreement("^CONTACT (?<value>.*)", "change.no_contact", None),
                 agreement("^FEED = " + NUMBER, "change.probe_feed", "mm/s")])
    before = read(folder)
    shown = call(folder, "revise", "m.yaml", "--from-controller")
    expect(shown.returncode == 0, shown.stdout, shown.stderr)
    expect(shown.stdout.startswith(
        b"change.probe_stroke becomes 21.5 mm, from change.txt:2:8; it was 20 mm.\n"
        b"    2 | STROKE 21.50\n      |        ^^^^^\n2 agreements hold already.\n"), shown.stdout)
    expect(shown.stdout.endswith(b"Nothing is written; --write does that.\n"), shown.stdout)
    expect(read(folder) == before, "written without being asked to")
    done = call(folder, "revise", "m.yaml", "--from-controller", "--write", "--log", "log.txt",
                "--why", "tuned")
    after = before.replace(b"probe_stroke: 20 mm", b"probe_stroke: 21.5 mm")
    expect(read(folder) == after, done.stdout)
    expect(b"change.probe_stroke\t20 mm\t21.5 mm\ttuned\n" in read(folder, "log.txt"))
    expect(read(folder, "change.txt") == TEXT, "the controller's file was touched")
    again = call(folder, "revise", "m.yaml", "--from-controller", "--write")
    expect(again.stdout == b"3 agreements hold already.\nm.yaml: nothing changes.\n", again.stdout)
    expect(read(folder) == after)
    found = call(folder, "check", "m.yaml")
    expect(b"agreement-lost" not in found.stdout, found.stdout)


def check_taken_as_a_new_file(folder):
    lay(folder, [STROKE])
    before = read(folder)
    done = call(folder, "revise", "m.yaml", "--from-controller", "-o", "new.yaml")
    expect(read(folder) == before and b"probe_stroke: 21.5 mm" in read(folder, "new.yaml"),
           done.stdout, done.stderr)


def check_added(folder):
    """What the machine file lacks comes into its place; both halves of a pair together."""
    lay(folder, [STROKE, agreement("^LOW " + NUMBER, "axes.z.travel.low"),
                 agreement("^HIGH " + NUMBER, "axes.z.travel.high")],
        TEXT + b"\nLOW -139.0\nHIGH 2\n",
        [("  probe_stroke: 20 mm\n", ""), ("    travel: [-140 mm, 0 mm]\n", "")])
    done = call(folder, "revise", "m.yaml", "--from-controller", "--write")
    machine = yaml.load(read(folder), yaml.BaseLoader)
    expect(machine["change"]["probe_stroke"] == "21.50 mm", done.stdout, done.stderr)
    expect(b"it was not given" in done.stdout, done.stdout)
    keys = list(machine["change"])
    expect(keys.index("probe_stroke") == keys.index("probe_feed") - 1, keys)
    expect(machine["axes"]["z"]["travel"] == ["-139.0 mm", "2 mm"], done.stdout)


def check_not_taken(folder):
    """Nothing, several, no number, an endless one, a rival: said, and nothing taken."""
    cases = {
        "the pattern finds nothing in change.txt": [agreement("^STRIDE " + NUMBER)],
        'the pattern finds "stops", which is no number': [agreement("^CONTACT (?<value>.*)")],
        'the pattern finds "9e999", which is no number': [agreement("^HUGE (?<value>.*)")],
        'the pattern finds "1,5", which is no number': [agreement("^COMMA " + NUMBER)],
        "the pattern finds two values: 3 and 4": [agreement("^S " + NUMBER)],
        "which is too large": [agreement("^LARGE (?<value>.*)", "axes.x.drive.steps", "steps/mm")],
        "agrees_with[1], about change.probe_stroke finds 12": [
            STROKE, agreement(r"^ABOVE \+" + NUMBER)],
        "cannot be compared with": [agreement("^STROKE " + NUMBER, file="away.txt")],
        "there is no field change.probe_strike": [
            agreement("^STROKE " + NUMBER, field="change.probe_strike")],
        "the number that the pattern finds has no unit": [
            agreement("^STROKE " + NUMBER, unit=None)],
    }
    text = TEXT + b"\nHUGE 9e999\nCOMMA 1,5\nS 3\nS 4\nLARGE 1.7e308\n"
    for words, entries in cases.items():
        lay(folder, entries, text)
        before = read(folder)
        done = call(folder, "revise", "m.yaml", "--from-controller", "--write")
        said = " ".join(done.stdout.decode().split())
        expect("Nothing is taken by agrees_with[0]" in said and words in said, words, done.stdout)
        expect(read(folder) == before, words, "but something was written")
        expect(done.returncode == 1, words, done.returncode)


def check_fields_named(folder):
    lay(folder, [STROKE, agreement(r"^ABOVE \+" + NUMBER, "change.standoff"),
                 agreement("^NONE " + NUMBER, "change.approach_z")],
        changes=[("standoff: 12 mm", "standoff: 11 mm")])
    done = call(folder, "revise", "m.yaml", "--from-controller", "change.standoff", "--write")
    expect(b"probe_stroke" not in done.stdout.split(b"What moves")[0].split(b"--- a/")[0]
           and b"standoff: 12 mm" in read(folder) and b"probe_stroke: 20 mm" in read(folder),
           done.stdout)
    for words, named in {"no agreement of m.yaml is about change.probe_feed": "change.probe_feed",
                         "there is no field change.probe_fed": "change.probe_fed",
                         "fields are named without values": "change.standoff=3 mm"}.items():
        done = call(folder, "revise", "m.yaml", "--from-controller", named)
        expect(done.returncode == 2 and words in done.stderr.decode(), words, done.stderr)
    for options in (["--from-controller", "--to-controller"], ["--to-controller", "--write"],
                    ["--to-controller", "--log", "x"], ["--to-controller", "--put-right"]):
        done = call(folder, "revise", "m.yaml", *options)
        expect(done.returncode == 2 and not done.stdout, options, done.stdout)
    pathlib.Path(folder, "bare.yaml").write_text(pathlib.Path(MACHINE).read_text())
    done = call(folder, "revise", "bare.yaml", "--from-controller")
    expect(done.returncode == 2 and b"has no agreement" in done.stderr, done.stderr)


def patched(folder, before, difference):
    pathlib.Path(folder, "p.txt").write_bytes(before)
    pathlib.Path(folder, "diff").write_bytes(difference)
    done = subprocess.run(["patch", "-p1", "--binary", "-s", "-i", "diff", "p.txt"], cwd=folder,
                          capture_output=True, check=False)
    expect(done.returncode == 0, difference, done.stdout)
    return read(folder, "p.txt")


def check_way_back(folder):
    """Every match, in the manner of the file; a copy, and the same by the difference."""
    lay(folder, [STROKE, agreement("^ABOVE " + NUMBER, "change.standoff"),
                 agreement("^FEED = " + NUMBER, "change.probe_feed", "mm/s"),
                 agreement("^CONTACT (?<value>.*)", "change.no_contact", None)],
        changes=[("probe_stroke: 20 mm", "probe_stroke: 20.125 mm"),
                 ("standoff: 12 mm", "standoff: 11 mm"),
                 ("no_contact: stops", "no_contact: continues")])
    before = read(folder)
    wanted = (TEXT.replace(b"21.50", b"20.125").replace(b"+12.0", b"+11.0")
              .replace(b"stops", b"continues"))
    shown = call(folder, "revise", "m.yaml", "--to-controller")
    expect(shown.returncode == 1, shown.stderr)
    for line in (b"change.txt:2:8: change.probe_stroke: says 21.50, should say 20.125 in mm, as",
                 b"change.txt:4:7: change.standoff: says +12.0, should say +11.0 in mm, as",
                 b"change.txt:5:9: change.no_contact: says stops, should say continues, as",
                 b"change.txt:6:8: change.probe_stroke: says 21.50"):
        expect(line in shown.stdout, line, "is not in", shown.stdout)
    expect(patched(folder, TEXT, shown.stdout) == wanted, "the difference says something else")
    done = call(folder, "revise", "m.yaml", "--to-controller", "--output", "copy.txt")
    expect(read(folder, "copy.txt") == wanted, done.stdout, done.stderr)
    expect(read(folder, "change.txt") == TEXT and read(folder) == before, "something was touched")
    pathlib.Path(folder, "change.txt").write_bytes(wanted)
    done = call(folder, "revise", "m.yaml", "--to-controller", "-o", "none.txt")
    expect(done.returncode == 0 and not os.path.exists(os.path.join(folder, "none.txt")),
           done.stdout)
    expect(b"agreement-lost" not in call(folder, "check", "m.yaml").stdout)


def check_own_file_is_never_written(folder):
    os.mkdir(os.path.join(folder, "c"))
    lay(folder, [agreement("^STROKE " + NUMBER, file="c/change.txt")], name="c/change.txt")
    os.symlink("c/change.txt", os.path.join(folder, "link.txt"))
    os.symlink("c", os.path.join(folder, "d"))
    os.symlink("nowhere/x.txt", os.path.join(folder, "dangling.txt"))
    os.link(os.path.join(folder, "c", "change.txt"), os.path.join(folder, "hard.txt"))
    names = ["c/change.txt", "./c/../c//change.txt", os.path.join(folder, "c", "change.txt"),
             "link.txt", "d/change.txt", "hard.txt", "m.yaml", "dangling.txt", "-", "c"]
    before = read(folder)
    for name in names:
        done = call(folder, "revise", "m.yaml", "--to-controller", "-o", name)
        expect(done.returncode == 2 and done.stderr, name, done.stdout, done.stderr)
        expect(read(folder, "c/change.txt") == TEXT and read(folder) == before, name, "was written")
    expect(sorted(os.listdir(folder)) == ["c", "d", "dangling.txt", "hard.txt", "link.txt",
                                          "m.yaml"] and os.listdir(os.path.join(folder, "c")) ==
           ["change.txt"], os.listdir(folder))


def check_no_copy_where_not_all_is_sure(folder):
    """A pattern that would not know its number again, two that want one place, several files."""
    long = [("probe_stroke: 20 mm", "probe_stroke: 120 mm")]
    lay(folder, [agreement(r"^STROKE (?<value>\d\d\.\d\d)$")], changes=long)
    done = call(folder, "revise", "m.yaml", "--to-controller", "-o", "copy.txt")
    expect(b"would not find its number in it any more" in done.stdout.replace(b"\n", b" ")
           and done.returncode == 2, done.stdout, done.stderr)
    lay(folder, [STROKE, agreement("^STROKE " + NUMBER, "change.standoff")], changes=long)
    done = call(folder, "revise", "m.yaml", "--to-controller", "-o", "copy.txt")
    expect(b"want different things in one place" in done.stdout.replace(b"\n", b" "), done.stdout)
    lay(folder, [STROKE, agreement("^ABOVE " + NUMBER, "change.standoff", file="b.txt")],
        changes=long + [("standoff: 12 mm", "standoff: 11 mm")])
    pathlib.Path(folder, "b.txt").write_bytes(TEXT)
    done = call(folder, "revise", "m.yaml", "--to-controller", "-o", "copy.txt")
    expect(b"takes the copy of one file, and 2 would change" in done.stderr, done.stderr)
    expect(not os.path.exists(os.path.join(folder, "copy.txt")))
    done = call(folder, "revise", "m.yaml", "--to-controller", "change.standoff", "-o", "copy.txt")
    expect(read(folder, "copy.txt") == TEXT.replace(b"+12.0", b"+11.0"), done.stderr)


HOSTILE = {
    "binary": bytes(range(256)) * 40 + b"\nSTROKE 21.5\n\x00\x1b[2J\xff",
    "huge": b"x" * ((4 << 20) - 20) + b"\nSTROKE 21.5\n",
    "too large": b"x" * (4 << 20) + b"\nSTROKE 21.5\n",
    "a very long line": b"STROKE 21.5 " + b"\x1b[31m" * 200000 + b"\n",
    "thousands of matches": b"STROKE 21.5\n" * 20000,
    "thousands that differ": b"".join(b"STROKE %d\n" % i for i in range(20000)),
    "invalid UTF-8": b"\xff\xfe\xc0\x80 \xe2\x82\nSTROKE 21.5 \xff\n",
    "no line end": b"STROKE 21.5",
    "lone carriage returns": b"a\rSTROKE 21.5\rb",
    "empty": b"",
}


def check_hostile_files(folder):
    for name, text in HOSTILE.items():
        lay(folder, [STROKE], text)
        before = read(folder)
        done = call(folder, "revise", "m.yaml", "--from-controller", "--write")
        taken = name not in ("too large", "thousands that differ", "empty")
        expect((b"probe_stroke: 21.5 mm" in read(folder)) == taken, name, done.stdout[:2000],
               done.stderr)
        expect(taken or read(folder) == before, name)
        pathlib.Path(folder, "m.yaml").write_bytes(before)
        copy = os.path.join(folder, "copy.txt")
        call(folder, "revise", "m.yaml", "--to-controller", "-o", "copy.txt")
        expect(os.path.exists(copy) == taken, name)
        if taken:
            expect(read(folder, "copy.txt") == text.replace(b"21.5", b"20.0"), name)
            os.unlink(copy)
        expect(read(folder, "change.txt") == text, name)


def check_hostile_names(folder):
    """A file whose name has control characters in it is told without them."""
    name = "a\x1b[2J\nb.txt"
    lay(folder, [agreement("^STROKE " + NUMBER, file=name)], name=name)
    done = call(folder, "revise", "m.yaml", "--from-controller")
    expect(b"\\x1b" in done.stdout, done.stdout)
    done = call(folder, "revise", "m.yaml", "--to-controller")
    expect(b"\x1b" not in done.stdout, done.stdout)


def partings(folder):
    found = json.loads(call(folder, "check", "m.yaml", "--format", "json").stdout)
    return {one["field"]: one["parting"] for one in found["files"][0]["evaluations"]
            if "parting" in one}


def check_what_rests_on_it(folder):
    """As many margins as move, by `compare`, where the controller's number stands here."""
    fields = {"change.probe_stroke": ("probe_stroke: 20 mm", "mm", "14"),
              "change.standoff": ("standoff: 12 mm", "mm", "9.5"),
              "setter.nose_contact": ("nose_contact: -125 mm", "mm", "-120"),
              "axes.z.travel.low": (None, "mm", "-130"),
              "spindle.dwell_after_stop": (None, "s", "1")}
    for field, (_, unit, number) in fields.items():
        lay(folder, [agreement("^N (?<value>.*)", field, unit)], b"N " + number.encode())
        old = read(folder)
        one = partings(folder)[field]
        call(folder, "revise", "m.yaml", f"{field}={number} {unit}", "-o", "then.yaml")
        moved = json.loads(call(folder, "compare", "m.yaml", "then.yaml", "--format",
                                "json").stdout)
        now = moved["files"][0]
        expect(one["margins"] > 0, field, one)
        pairs = [m for m in now["moves"]
                 if m["before"] and m["after"] and m["before"]["margin"] and m["after"]["margin"]]
        expect(one["margins"] == len(pairs), field, one, len(pairs))
        failing = [m for m in pairs if m["after"]["outcome"] == "failed"]
        expect(one["failing_there"] == len(failing), field, one, failing)
        tightest = [m for m in pairs if (m["rule"], m["subject"]) ==
                    (one["tightest"]["rule"], one["tightest"]["subject"])]
        expect(any(m["before"]["margin"]["text"] == one["tightest"]["here"] and
                   m["after"]["margin"]["text"] == one["tightest"]["there"] for m in tightest),
               field, one, tightest)
        expect(not failing or any(m in failing for m in tightest), field, one)
        expect(read(folder) == old)
        os.unlink(os.path.join(folder, "then.yaml"))
        review = json.loads(call(folder, "compare", "m.yaml", "m.yaml", "--format", "json").stdout)
        told = review["files"][0]["partings"]
        expect([t["parting"] for t in told] == [one] and told[0]["field"] == field
               and told[0]["controller"] == {"path": "change.txt", "line": 1, "column": 3}, told)


PLACES = b"""; heights in mm
STROKE = 20.0
ABOVE 0.50 and 12
BOTH 7
BOTH 7
COMMA 1,5
"""


def agree(folder, field, at, *more, answers=b"mm\n"):
    return call(folder, "revise", "m.yaml", "agree", field, "--at", at, *more, answers=answers)


def check_agreement_made(folder):
    """Its pattern is tried, its unit asked for, and it holds from then on; the list says the same."""
    lay(folder, [])
    pathlib.Path(folder, "m.yaml").write_text(pathlib.Path(MACHINE).read_text())
    os.mkdir(os.path.join(folder, "c"))
    pathlib.Path(folder, "c", "own.txt").write_bytes(PLACES)
    before = read(folder)
    done = agree(folder, "change.probe_stroke", "c/own.txt:2")
    expect(read(folder) == before and b"read in mm it would be the 20 mm" in done.stdout, done.stdout)
    done = agree(folder, "change.probe_stroke", "c/own.txt:2", "--shared", "list.yaml", "--write")
    expect(done.returncode == 0, done.stdout, done.stderr)
    made = yaml.load(read(folder), yaml.BaseLoader)["agrees_with"]
    expect(len(made) == 1 and made[0]["file"] == "c/own.txt" and made[0]["unit"] == "mm"
           and made[0]["field"] == "change.probe_stroke", made)
    shared = yaml.load(read(folder, "list.yaml"), yaml.BaseLoader)
    expect(shared["proveout-agreements"] == "1" and len(shared["agreements"]) == 1, shared)
    expect(shared["agreements"][0] == {**made[0], "file": "own.txt"}, shared)
    again = agree(folder, "change.probe_stroke", "c/own.txt:2", "--write")
    expect(again.returncode == 2 and b"is about change.probe_stroke and this file already"
           in again.stderr, again.stderr)
    for column, field, unit in ((7, "change.standoff", b"in\n"), (16, "change.standoff", b"mm\n")):
        text = read(folder)
        done = agree(folder, field, f"{folder}/c/own.txt:3:{column}", "--write", "--shared",
                     "list.yaml", answers=unit)
        rows = yaml.load(read(folder), yaml.BaseLoader)["agrees_with"]
        expect(len(rows) == 2 and rows[1]["unit"] == unit.decode().strip(), done.stdout, done.stderr)
        lost = b"agreement-lost" in call(folder, "check", "m.yaml").stdout
        expect(lost == (column == 7), column, done.stdout)  # half an inch is not 12 mm
        pathlib.Path(folder, "m.yaml").write_bytes(text)
    expect(len(yaml.load(read(folder, "list.yaml"), yaml.BaseLoader)["agreements"]) == 3)
    expect(read(folder, "c/own.txt") == PLACES)


def check_agreement_made_where_the_machine_takes_in_others(folder):
    """In its own file, whose list it goes to the end of; a list taken in would be replaced whole."""
    lay(folder, [], PLACES)
    base, own = pathlib.Path(folder, "base.yaml"), pathlib.Path(folder, "m.yaml")
    machine = pathlib.Path(MACHINE).read_text()
    base.write_text(machine)
    for entries, count in (([], 1), ([agreement("^nothing " + NUMBER, "change.retract")], 2)):
        own.write_text("proveout: 1\nextends: base.yaml\n" + ("agrees_with:\n" if entries else "") + "".join(entries))
        done = agree(folder, "change.probe_stroke", "change.txt:2", "--write")
        rows = yaml.load(read(folder), yaml.BaseLoader)["agrees_with"]
        expect(len(rows) == count and rows[-1]["field"] == "change.probe_stroke", done.stdout, done.stderr)
        expect(set(rows[-1]) == {"file", "pattern", "unit", "field"}, rows)
        expect(base.read_text() == machine, "base.yaml is changed")
    base.write_text(machine + "agrees_with:\n" + agreement("^nothing " + NUMBER, "change.retract"))
    own.write_text("proveout: 1\nextends: base.yaml\n")
    before = read(folder)
    done = agree(folder, "change.probe_stroke", "change.txt:2", "--write")
    expect(done.returncode == 2 and b"taken from another file whole" in done.stderr, done.stdout, done.stderr)
    expect(read(folder) == before, "m.yaml is changed")


def check_agreement_asked_about(folder):
    """Nothing is guessed: no unit without an answer, no number of several, and stop ends it."""
    lay(folder, [], PLACES)
    pathlib.Path(folder, "m.yaml").write_text(pathlib.Path(MACHINE).read_text())
    before = read(folder)
    for answers, words in ((b"", "Stopped"), (b"\n", "none is taken for granted"),
                           (b"kg\nstop\n", "none is taken for granted"), (b"stop\n", "Stopped")):
        done = agree(folder, "change.probe_stroke", "change.txt:2", "--write", answers=answers)
        expect(done.returncode == 2 and words in done.stdout.decode() and read(folder) == before,
               answers, done.stdout, done.stderr)
    done = agree(folder, "change.standoff", "change.txt:3", "--write", answers=b"12\n16\nmm\n")
    said = " ".join(done.stdout.decode().split())
    expect("0.50 in column 7 and 12 in column 16" in said and "None of these stands there" in said
           and b"agrees_with" in read(folder), done.stdout, done.stderr)


def check_agreement_refused(folder):
    lay(folder, [], PLACES)
    pathlib.Path(folder, "m.yaml").write_text(pathlib.Path(MACHINE).read_text())
    os.mkdir(os.path.join(folder, "sub"))
    os.rename(os.path.join(folder, "m.yaml"), os.path.join(folder, "sub", "m.yaml"))
    pathlib.Path(folder, "sub", "change.txt").write_bytes(PLACES)
    os.symlink("../change.txt", os.path.join(folder, "sub", "out.txt"))
    pathlib.Path(folder, "bad.yaml").write_text("proveout-agreements: 1\nagreements: [{field: x}]\n")
    before = read(folder, "sub/m.yaml")
    stroke, own = "change.probe_stroke", "sub/change.txt"
    for field, at, more, words in (
            (stroke, own, [], "--at wants FILE:LINE"),
            (stroke, own + ":0", [], "--at wants FILE:LINE"),
            (stroke, own + ":99", [], "and no line 99"),
            (stroke, own + ":1", [], "no number stands in line 1"),
            (stroke, own + ":2:3", [], "no number stands at column 3"),
            (stroke, own + ":4", [], "finds another number as well"),
            (stroke, own + ":6:7", [], "has to be written by hand"),
            (stroke, "change.txt:2", [], "lies elsewhere"),
            (stroke, "sub/out.txt:2", [], "lies elsewhere"),
            (stroke, "sub/away.txt:2", [], "there is no such file"),
            ("change.probe_strike", own + ":2", [], "there is no field"),
            ("change.no_contact", own + ":2", [], "is no single number"),
            ("axes.x.travel", own + ":2", [], "name its .low or its .high"),
            (stroke, own + ":2", ["--shared", "bad.yaml"], "has a mistake in it"),
            (stroke, own + ":2", ["--shared", "-"], "is a file")):
        done = call(folder, "revise", "sub/m.yaml", "agree", field, "--at", at, "--write", *more,
                    answers=b"mm\n")
        expect(done.returncode == 2 and words in done.stderr.decode(), at, words, done.stdout,
               done.stderr)
        expect(read(folder, "sub/m.yaml") == before, at, "was written")
    for words, arguments in (("wants --at", ["agree", stroke]), ("wants one field", ["agree"]),
                             ("wants one field", ["agree", stroke, "change.standoff"])):
        done = call(folder, "revise", "sub/m.yaml", *arguments, answers=b"mm\n")
        expect(done.returncode == 2 and words in done.stderr.decode(), words, done.stderr)


LIST = """proveout-agreements: 1
agreements:
  - {field: change.probe_stroke, file: "*.txt", pattern: '^STROKE (?<value>[-+0-9.]+)'}
  - {field: change.standoff, file: own.txt, pattern: '^NONE (?<value>.*)', unit: mm}
  - {field: setter.height, file: own.txt, pattern: '^HIGH (?<value>.*)', unit: mm, within: 0.1 mm}
"""
WALK = pathlib.Path(run.HERE).parent / "ask" / "setter.answers"


def commission(folder, answer, *more, unit=b"mm\n"):
    """A walk in which the probing stroke is answered so."""
    walk = WALK.read_bytes().splitlines()
    expect(walk[-2:] == [b"", b"yes"], walk)
    answers = unit + b"\n".join(walk[:-2]) + b"\n" + answer + b"\n\nyes\n"
    return call(folder, "commission", "--today", "2026-06-01", *more, "new.yaml", answers=answers)


def check_commission_beside(folder):
    """Offered with file and line, taken by a yes alone, and checked from then on."""
    os.mkdir(os.path.join(folder, "c"))
    pathlib.Path(folder, "c", "own.txt").write_bytes(b"; x\x1b[2J\nSTROKE 22.50 ; mm\nHIGH 40\n")
    pathlib.Path(folder, "c", "agreements.yaml").write_text(LIST)
    taken = commission(folder, b"yes", "--beside", "c")
    machine = yaml.load(read(folder, "new.yaml"), yaml.BaseLoader)
    expect(machine["change"]["probe_stroke"] == "22.5 mm", taken.stdout[-3000:], taken.stderr)
    expect(machine["agrees_with"] == [{
        "file": "c/own.txt", "pattern": "^STROKE (?<value>[-+0-9.]+)", "unit": "mm",
        "field": "change.probe_stroke"}], machine.get("agrees_with"))
    said = " ".join(taken.stdout.decode().split())
    for words in ("c/own.txt:2 says 22.50 mm: STROKE 22.50 ; mm", "Enter does not",
                  "In which unit does c/own.txt give a length, as 22.50?",
                  "about change.standoff in c/own.txt, is not offered: the pattern finds nothing",
                  "Found beside, and not taken: setter.height (c/own.txt:3)"):
        expect(words in said, words, taken.stdout)
    expect(said.count("In which unit does") == 1, "asked more than once")
    pathlib.Path(folder, "c", "own.txt").write_bytes(b"STROKE 24\nHIGH 40\n")
    expect(b"agreement-lost" in call(folder, "check", "new.yaml").stdout)
    for answer in (b"", b"22.5 mm"):  # Enter, and the same number typed, take no agreement
        os.unlink(os.path.join(folder, "new.yaml"))
        done = commission(folder, answer, "--beside", "c")
        expect(b"agrees_with" not in read(folder, "new.yaml"), answer, done.stdout)
        expect(b"not taken: change.probe_stroke" in done.stdout, answer, done.stdout[-300:])


def check_commission_beside_differ(folder):
    """Two files that say different things: told, and a yes takes neither."""
    pathlib.Path(folder, "a.txt").write_bytes(b"STROKE 22\n")
    pathlib.Path(folder, "b.txt").write_bytes(b"STROKE 23\n")
    pathlib.Path(folder, ".hidden.txt").write_bytes(b"STROKE 24\n")
    pathlib.Path(folder, "list.yaml").write_text(LIST)
    os.mkdir(os.path.join(folder, "d.txt"))
    os.symlink("/etc/passwd", os.path.join(folder, "e.txt"))
    done = commission(folder, b"yes", "--beside", ".", "--shared", "list.yaml", unit=b"mm\nmm\n")
    said = " ".join(done.stdout.decode().split())
    expect("a.txt:1 says 22 mm" in said and "b.txt:1 says 23 mm" in said
           and "They say different things" in said and ".hidden" not in said, done.stdout[:3000])
    expect("in e.txt, is not offered: e.txt cannot be compared with: a link" in said and
           "in d.txt, is not offered: d.txt cannot be compared with: it is no plain file" in said,
           done.stdout[:3000])
    expect(done.returncode == 2 and not os.path.exists(os.path.join(folder, "new.yaml")),
           done.stdout[-2000:])


def check_commission_beside_refused(folder):
    os.mkdir(os.path.join(folder, "c"))
    pathlib.Path(folder, "c", "agreements.yaml").write_text("proveout-agreements: 1\nagrements: []\n")
    os.symlink("/etc", os.path.join(folder, "out"))
    for words, arguments in (("lies elsewhere", ["--beside", "/etc"]),
                             ("lies elsewhere", ["--beside", "out"]),
                             ("lies elsewhere", ["--beside", ".."]),
                             ("there is no such file", ["--beside", "away"]),
                             ("agreements.yaml:2:1", ["--beside", "c"]),
                             ("goes with --beside", ["--shared", "c/agreements.yaml"])):
        done = commission(folder, b"yes", *arguments, unit=b"")
        expect(done.returncode == 2 and words in done.stderr.decode(), words, done.stderr)
        expect(not os.path.exists(os.path.join(folder, "new.yaml")), words)
    done = call(folder, "commission", "--beside", "c", answers=b"")
    expect(done.returncode == 2 and b"wants the name of the machine file" in done.stderr, done.stderr)


CHECKS = {name.removeprefix("check_").replace("_", " "): function
          for name, function in list(globals().items()) if name.startswith("check_")}

if __name__ == "__main__":
    if sys.argv[1] == "--list":
        print("\n".join(name.replace(" ", "-") for name in CHECKS))
        sys.exit()
    PROGRAM, MACHINE = os.path.abspath(sys.argv[1]), os.path.abspath(sys.argv[2])
    with tempfile.TemporaryDirectory() as place:
        CHECKS[sys.argv[3].replace("-", " ")](place)
