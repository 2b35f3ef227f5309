"""Writes the inputs that the program's targets begin with: the sample machines, the examples of the
rules, and what the tests of the commands are given.

    seeds.py FOLDER            FOLDER/TARGET/ of each
"""
import os
import re
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
TOP = os.path.join(HERE, "..", "..", "..")
sys.path.insert(0, os.path.join(TOP, "tests", "cli"))

import run  # noqa: E402
import yaml  # noqa: E402

CUT = b"=====\n"


def read(*names):
    with open(os.path.join(TOP, *names), "rb") as file:
        return file.read()


def folder_of(*names):
    return [read(*names, name) for name in sorted(os.listdir(os.path.join(TOP, *names)))
            if name.endswith((".yaml", ".answers"))]


def examples():
    """What the rules' examples change in the base machine, as `revise` takes it."""
    for name in sorted(os.listdir(os.path.join(TOP, "rules"))):
        book = yaml.load(read("rules", name), yaml.BaseLoader) if name.endswith(".yaml") else {}
        for rule in book.get("rules", {}).values() if "rulebook" in book else ():
            for kind in ("fails", "holds"):
                for one in (rule.get("examples") or {}).get(kind, [])[:2]:
                    yield b"".join(f"{key}={value}\n".encode() for key, value in one.items()
                                   if isinstance(value, str) and key != "margin")


def cases(suffix):
    for name in sorted(os.listdir(run.CASES)):
        for path, data in run.Case(name[:-len(".case")]).files.items():
            if path.endswith(suffix):
                yield path, data


def rulebooks():
    books = [data for _, data in cases(".yaml") if data.startswith(b"rulebook:")]
    rule = re.compile(rb"(?ms)^  [a-z0-9-]+:\n    level:.*?(?=^  [a-z0-9-]+:\n|\Z)")
    for data in folder_of("rules"):
        books += [b"rulebook: 1\ntitle: House\nrules:\n" + found[0]
                  for found in list(rule.finditer(data))[::6]]
    return books


def targets():
    base = read("rules", "base-machine.yaml")
    machines = folder_of("sample-configs") + [base]
    written = [data for _, data in cases(".yaml") if b"proveout" in data[:200]]
    agreements = [(b"agrees_with:\n  - file: change.txt\n    field: %s\n    pattern: '%s'\n" % pair,
                   b"STROKE 20\nNAME workshop router\r\nT no\n") for pair in (
                       (b"change.probe_stroke", b"^STROKE (?<value>[-+0-9.]+)'\n    unit: 'mm"),
                       (b"machine.name", b"^NAME (?<value>.+)"),
                       (b"change.touches_old", b"^T (?<value>.+)"))]
    dialogues = [b"".join(line for line in data.splitlines(True) if not line.startswith(b"#"))
                 for data in folder_of("tests", "ask")]
    sample = machines[0]
    yield "check", machines + written
    yield "window", machines
    yield "draw", machines
    yield "sheet", machines
    page = (b'<meta name="proveout-sheet" content="1" data-machine="a" data-file="1" data-made="2" '
            b'data-day="3" data-cutter="%s"><tr data-field="machine.name" data-value="&lt;&#65;">'
            b"<tr data-value='1' data-finding='probe-floor, cutter 1'></html>")
    yield "compare", [machine + CUT + page % cutter for machine in machines[::4]
                      for cutter in (b"", b"1")]
    yield "dryrun", machines + [sample + CUT + b"1\n2\n400 mm, 300 mm, -20 mm\n"]
    yield "revise", [base + CUT + one for one in list(examples())[::3]] + [
        one + CUT for one in machines]
    yield "dialogue", [CUT + one + b"yes\nyes\n" for one in dialogues] + [
        one + CUT + b"back change.standoff\n19 mm\non\non\nyes\n" for one in machines[::4]]
    yield "agreements", [sample + section + CUT + text for section, text in agreements]
    yield "rulebooks", [book + CUT + base for book in rulebooks()]


def main(folder):
    for target, inputs in targets():
        os.makedirs(os.path.join(folder, target))
        for number, data in enumerate(inputs):
            with open(os.path.join(folder, target, f"{number:04}"), "wb") as file:
                file.write(data)


if __name__ == "__main__":
    main(sys.argv[1])
