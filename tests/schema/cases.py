"""Machine files and rulebooks, as they are and spoilt, with what the program says of their form.

A case has a name, the kind of its file, its text, and a verdict: True where the program finds no
mistake of form in it, False where it finds one that a schema can express, None where what it finds
is beyond a schema.  The lists below say which are which.
"""
import collections
import copy
import glob
import importlib.util
import json
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile
import zlib

import yaml

HERE = os.path.dirname(os.path.abspath(__file__))
TOP = os.path.dirname(os.path.dirname(HERE))
sys.path.insert(0, os.path.dirname(HERE))
from share import DRAWN, FEWER  # noqa: E402

# What the reader finds in a machine file that a schema can express, and what it cannot.
EXPRESSED = {"unknown-key", "missing-key", "wrong-kind", "unknown-choice", "unit-missing",
             "unit-unknown", "wrong-dimension", "not-a-number", "too-long", "given-twice",
             "log-not-plain"}
BEYOND = {"not-yaml", "not-utf8", "second-document", "too-large", "too-deep", "duplicate-key",
          "tab-indent", "out-of-order", "unknown-name", "shared-file-unreadable",
          "shared-file-circle"}
# How large a number is, and what a comma parts, no schema sees.
UNSEEN = re.compile(r"two ways|infinite|too far apart|a comma parts|is below 1|no whole number"
                    r"|takes itself|a device|is no log of itself|lists no cutters|stands twice")

# Of a machine that takes in others these are the affair of all of them, and whether a `~` takes
# anything away, too.
ALONE = {"missing-key", "given-twice"}
ABSENT = re.compile(r"no value is written")

# What the loader says of a rulebook that a schema can express.
BOOK_EXPRESSED = re.compile(
    r"unknown key|is missing$|wants a text$|is one of|can only be|wants a formula or a list"
    r"|takes at most|wants names|a rule's name is|a rule wants"
    r"|a definition wants|there is no rule under|only version 1|wants a list of changes"
    r"|an example is|`given` wants|there is no field|has no examples|wants an example that"
    r"|has no unit|is no unit known|is not known here|is neither yes nor no|is no number|no date")
BOOK_NOTHING = re.compile(r"there are two rules|is a built-in rule")

Case = collections.namedtuple("Case", "name kind text verdict")


class Texts(yaml.CBaseLoader):
    """Plain texts stay texts; what has no value is nothing."""

    def construct_scalar(self, node):
        value = super().construct_scalar(node)
        void = not node.style and value in ("", "~", "null", "Null", "NULL")
        return None if void else value


def loaded(text, loader=Texts):
    return yaml.load(text, loader)


def dumped(root):
    text = yaml.dump(root, Dumper=yaml.CSafeDumper, sort_keys=False, allow_unicode=True, width=1000)
    # what takes away what another file says is `~`, and nothing else is
    return re.sub(r"([:-]) null$", r"\1 ~" if "extends" in root else r"\1", text, flags=re.M)


def read(path):
    with open(path, encoding="utf-8", newline="") as file:
        return file.read()


# --- spoiling ---

def ways(value, way=()):
    """The ways to everything in a tree of maps and lists."""
    items = value.items() if isinstance(value, dict) else enumerate(value)
    for key, below in items:
        yield way + (key,)
        if isinstance(below, (dict, list)):
            yield from ways(below, way + (key,))


def at(root, way):
    for key in way:
        root = root[key]
    return root


def changed(root, way, change):
    root = copy.deepcopy(root)
    change(at(root, way[:-1]), way[-1])
    return root


def renamed(map_, key, new):
    """The key in its place under another name."""
    if not isinstance(map_, dict):
        return
    items = list(map_.items())
    map_.clear()
    map_.update((new if old == key else old, value) for old, value in items)


WRONG = ["5 kg", "a b", [], {"a": "b"}, "2027-3-1", "2027-02-30", None, "", "42", "-1 mm", "12", "yes", True,
         "maybe", ["1 mm", "2 mm", "3 mm"], [["x"]], {"readings": []}, {"readings": ["1 mm", "2 mm"]}]


def changes(value):
    """Ways to spoil one value, or to write it otherwise, by name."""
    def put(new):
        return lambda parent, key: parent.__setitem__(key, new)
    yield "gone", lambda parent, key: parent.__delitem__(key)
    yield "key", lambda parent, key: renamed(parent, key, f"{key}_")
    for wrong in WRONG:
        yield f"{wrong!r}", put(wrong)
    if isinstance(value, str):
        yield "letter", put(value + "x")
        yield "list", put([value])
        yield "capitals", put(value.upper())
        number = re.match(r"([-\d.]+) (\S+)$", value)
        if number:
            yield "unit gone", put(number[1])
            yield "other unit", put(f"{number[1]} {'s' if number[2][-1] == 'm' else 'mm'}")
            yield "comma", put(value.replace(".", ",") if "." in value else number[1] + ",5 " + number[2])
            yield "tolerance", put(f"{value} \u00b1 {number[1].lstrip('-')}")
            yield "two tolerances", put(f"{value} \u00b1 1 {number[2]} \u00b1 1 {number[2]}")
            yield "sign", put(value[1:] if value[0] == "-" else "-" + value)
    elif isinstance(value, list) and value:
        yield "first of it", put(value[0])
        yield "longer", put(value + value[:1])
        yield "shorter", put(value[1:])
        yield "turned", put(value[::-1])
    elif isinstance(value, dict):
        yield "more", put({**value, "another": "1 mm"})
        yield "in a list", put([value])


def spoilt(root, name, one_of, of_all=1):
    """(name, tree) of a share of all that `changes` makes of it; with SHARE=all one of `of_all`."""
    made = []
    for way in ways(root):
        for what, change in changes(at(root, way)):
            made.append((f"{name}: {'.'.join(map(str, way))}: {what}", way, change))
    for label, way, change in share_of(made, of_all if DRAWN == "all" else one_of):
        yield label, changed(root, way, change)


def share_of(made, one_of):
    """As share(), by the label alone, since functions have no lasting name; and of all as well."""
    fewer = one_of * FEWER
    return [one for one in made if zlib.crc32(f"{DRAWN} {one[0]}".encode()) % fewer == 0]


# --- machine files ---

def case_files():
    """The files of the cases of the whole program, each case in a folder of its own."""
    spec = importlib.util.spec_from_file_location("cases_of_cli", os.path.join(TOP, "tests/cli/run.py"))
    run = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(run)
    for name in run.names():
        yield name, run.Case(name).files


def machine_texts(folder):
    """Writes all machine files; returns the path and name of each."""
    written = {}

    def put(name, data):
        path = os.path.join(folder, name)
        os.makedirs(os.path.dirname(path), exist_ok=True)
        with open(path, "wb") as file:
            file.write(data if isinstance(data, bytes) else data.encode())
        written[path] = name

    samples = sorted(glob.glob(os.path.join(TOP, "sample-configs/*.y*ml")))
    for path in samples + sorted(glob.glob(os.path.join(TOP, "tests/cli/machines/*.yaml"))) + \
            [os.path.join(TOP, "rules/base-machine.yaml")]:
        put(os.path.join("plain", os.path.basename(path)), read(path))
    for name, files in share_of(list(case_files()), 1 if DRAWN == "all" else 2):
        for file, data in files.items():
            if file.endswith((".yaml", ".yml")):
                put(os.path.join("cases", name, file), data)
    numbers = os.path.join(folder, "numbers")
    os.makedirs(numbers)
    subprocess.run([sys.executable, "-B", os.path.join(TOP, "tests/portable/spoil.py"),
                    os.path.join(TOP, "sample-configs"), numbers, "20" if DRAWN == "all" else "1"], check=True)
    for path in glob.glob(os.path.join(numbers, "*.yaml")):
        written[path] = os.path.relpath(path, folder)
    for number, (label, root) in enumerate(spoilt_machines(samples)):
        path = f"spoilt {number // 1000}/{number}.yaml"
        put(path, dumped(root))
        written[os.path.join(folder, path)] = label
    return written


EXTENDING = """proveout: 1
extends: whole.yaml
machine: {name: another}
setter: {height: 40 mm, measured_on: ~}
cutters:
  - {number: 1, stickout: 30 mm}
  - {number: 9, description: a new one, stickout: 41 mm, diameter: ~}
inputs: {probe: ~}
"""


def spoilt_machines(samples):
    for path in [os.path.join(TOP, "rules/base-machine.yaml"), *samples]:
        base = os.path.basename(path) == "base-machine.yaml"
        yield from spoilt(loaded(read(path)), os.path.basename(path), 30 if base else 1200, 1 if base else 100)
    for name in ("setter-on-a-lift", "corner-plate", "parked-beside-the-other-setter",
                 "rotary-axis-at-one-side", "gantry-on-two-motors", "router-without-homing"):
        path = os.path.join(TOP, "sample-configs", name + ".yaml")
        yield from spoilt(loaded(read(path)), name, 150, 10)
    yield from spoilt(loaded(EXTENDING), "extending", 1)


def is_by_name(one):
    """Which of several setters has to be whole its name tells, which no schema follows."""
    return one["rule"] == "missing-key" and (one["field"] or "").startswith("setters[")


def machine_verdicts(program, folder):
    """What the program finds wrong in the form of each file, by its path."""
    if os.path.basename(folder).startswith("spoilt"):
        shutil.copy(os.path.join(TOP, "rules/base-machine.yaml"), os.path.join(folder, "whole.yaml"))
    done = subprocess.run([program, "check", "--format", "json", "--show", "failed", "--today",
                           "2026-10-10", folder], capture_output=True, check=False)
    for file in json.loads(done.stdout)["files"]:
        if file["status"] == "shared":
            continue  # a part of the machines that take it in, and judged with these
        own = [one for one in file["evaluations"] if "path" not in one]
        found = {one["rule"] for one in file["evaluations"]} & (EXPRESSED | BEYOND)
        clear = [one for one in own if one["rule"] in EXPRESSED and not UNSEEN.search(one["message"])
                 and not is_by_name(one)]
        yield file["path"], found, clear


def machine_cases(program):
    with tempfile.TemporaryDirectory() as folder:
        names = machine_texts(folder)
        parts = [os.path.join(folder, part) for part in sorted(os.listdir(folder))]
        for path, found, clear in (one for part in parts for one in machine_verdicts(program, part)):
            try:
                text = read(path)
                root = loaded(text)
            except (UnicodeDecodeError, yaml.YAMLError):
                continue
            if not isinstance(root, dict) or path not in names:
                continue
            if takes_in(root):
                clear = [one for one in clear if one["rule"] not in ALONE and
                         not ABSENT.search(one["message"])]
            yield Case(names[path], "machine", text, True if not found else False if clear else None)


def takes_in(root):
    return "extends" in root or (isinstance(root.get("cutters"), dict) and "from" in root["cutters"])


# --- rulebooks ---

def readme_books():
    text = read(os.path.join(TOP, "rules/README.md"))
    for book in re.findall(r"^```yaml rulebook\n(.*?)^```", text, re.M | re.S):
        yield loaded(book)


def built_in_books():
    """Books of the built-in rules, under other names, without what they follow from."""
    for path in sorted(glob.glob(os.path.join(TOP, "rules/*.yaml"))):
        root = loaded(read(path))
        if "rulebook" in root and "rules" in root and os.path.basename(path) != "reading.yaml":
            root.pop("define", None)
            root["rules"] = {"own-" + name[:50]: {key: value for key, value in rule.items()
                                                  if key != "implied_by"}
                             for name, rule in root["rules"].items()}
            yield os.path.basename(path), root


def formula_mutants(root, name):
    """A formula spoilt in one place: the form is the same."""
    sys.path.insert(0, os.path.join(TOP, "tests/mutants"))
    import formula  # noqa: E402
    chance = random.Random(zlib.crc32(f"{DRAWN} {name}".encode()))
    for rule_name, rule in root["rules"].items():
        if isinstance(rule.get("require"), str) and chance.random() < (1 if DRAWN == "all" else 0.3 / FEWER):
            mutants = list(formula.mutants(rule["require"]))
            for what, value in mutants[:3]:
                other = {**root, "rules": {rule_name: {**rule, "require": value}}}
                yield f"{name}: {rule_name}: {what}", other


def book_texts():
    for number, root in enumerate(readme_books()):
        yield f"README {number}", root
        yield from spoilt(root, f"README {number}", 12)
    for name, root in built_in_books():
        yield name, root
        yield from formula_mutants(root, name)
        small = {**root, "rules": dict(list(root["rules"].items())[:2])}
        yield from spoilt(small, name, 120, 4)
    yield "defines", {"rulebook": "1", "title": "Names", "define": {"twice(c)": "2 * c.stickout"}}
    yield "nothing", {"rulebook": "1", "title": "Names"}
    yield "empty", {"rulebook": "1", "title": "Names", "rules": {}}
    yield "empty but for names", {"rulebook": "1", "title": "a", "rules": {}, "define": {"a": "1"}}
    yield "version", {"rulebook": "2", "title": "Names", "define": {"a": "1"}}


def book_verdict(program, path):
    done = subprocess.run([program, "rules", "--rulebook", path], capture_output=True, check=False,
                          encoding="utf-8")
    said = [line.split(" error: ", 1)[1] for line in done.stderr.splitlines() if " error: " in line]
    said = [one for one in said if not BOOK_NOTHING.search(one)]
    clear = [one for one in said if BOOK_EXPRESSED.search(one) and not UNSEEN.search(one)]
    return True if not said else False if clear else None


def book_cases(program):
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "book.yaml")
        for name, root in book_texts():
            text = dumped(root)
            with open(path, "w", encoding="utf-8") as file:
                file.write(text)
            yield Case(name, "rulebook", text, book_verdict(program, path))


# --- policies and known findings ---

POLICIES = (
    {"proveout-policy": "1"},
    {"proveout-policy": "1", "stop_at": "warning", "rulebooks": [], "agreements": "yes",
     "measured_within": "180 days", "levels": {"long-and-thin": "note", "unhomed-change": "error"},
     "waivers": [{"rules": ["*"], "by": ["R. Holm"]}, {"rules": ["long-and-thin"]}]},
    {"proveout-policy": "1", "agreements": ["change.approach_z", "setter.height"], "waivers": []})
KNOWN = (
    {"proveout-known": "1", "files": []},
    {"proveout-known": "1", "files": [{"file": "a.yaml", "content": "0123456789abcdef", "findings": [
        {"rule": "probe-stroke-short", "level": "error", "subject": "cutter 1", "margin": "-0.00336",
         "fingerprint": "b6641e8fdf22dec2"},
        {"rule": "unknown-key", "level": "error", "field": "x", "fingerprint": "0123456789abcdef"}]}]})
AGREEMENTS = (
    {"proveout-agreements": "1", "agreements": [
        {"field": "change.standoff", "file": "*.conf", "pattern": "^S (?<value>.*)", "unit": "mm", "within": "0.05 mm",
         "for": "the mills"},
        {"field": "setter.height", "file": "a.txt", "pattern": "H (?<value>.*)"}]},
    {"proveout-agreements": "1", "agreements": []})
# What these say that a schema can express; names of rules and fields it cannot.
OWN_EXPRESSED = re.compile(
    r"has no key|is missing here|wants (?:a text|keys with values|a list|days|a number)|begins with the line"
    r"|is error, warning or note|is 16 hexadecimal|has keys with values|has the keys rules and by"
    r"|wants a list of texts")


def own_cases(program):
    with tempfile.TemporaryDirectory() as folder:
        shutil.copy(os.path.join(TOP, "sample-configs/workshop-router.yaml"), folder)
        with open(os.path.join(folder, "c.txt"), "w", encoding="utf-8") as file:
            file.write("STANDOFF 12\n")
        for kind, name, given, roots in (("policy", "proveout.policy.yaml", ["--show", "policy"], POLICIES),
                                         ("known", "known.yaml", ["--known", "known.yaml"], KNOWN),
                                         ("agreements", "agreements.yaml", None, AGREEMENTS)):
            path = os.path.join(folder, name)
            for number, root in enumerate(roots):
                for what, one in ((f"{kind} {number}", root), *spoilt(root, f"{kind} {number}", 40)):
                    text = dumped(one)
                    with open(path, "w", encoding="utf-8") as file:
                        file.write(text)
                    asked = ["check", *given, "workshop-router.yaml"] if given else [
                        "revise", "workshop-router.yaml", "agree", "change.standoff", "--at", "c.txt:1", "--shared", name]
                    done = subprocess.run([os.path.abspath(program), *asked], cwd=folder, capture_output=True,
                                          check=False, encoding="utf-8", input="mm\n")
                    said = [line for line in done.stderr.splitlines() if " error: " in line]
                    clear = [line for line in said if OWN_EXPRESSED.search(line)]
                    yield Case(what, kind, text, True if not said else False if clear else None)
            os.remove(path)


def cases(program):
    yield from machine_cases(program)
    yield from book_cases(program)
    yield from own_cases(program)
