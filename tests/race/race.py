"""Honest mistakes in machines that pass, and what `revise --put-right --write` makes of them.

    race.py PROGRAM [PART OF A FAULT'S NAME]

Where chosen numbers or words are to blame, at least nine of ten have to be mended: `check` finds no
error and no warning afterwards, and no number has changed that is measured or a fact.  Where a
measured number is to blame, as many times in ten what is said ends with the order to measure it
again, named first: of three heights that disagree nobody can tell which is wrong.  Where only
people can say, as many times in ten the question is put.  What is measured is never bent, and nothing
is written that was to be asked: not once.
"""
import os
import pathlib
import subprocess
import sys
import tempfile

import yaml

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))
from leaves import changed  # noqa: E402

SAMPLES = HERE.parents[1] / "sample-configs"
TODAY = "2026-11-25"
GOOD = 0.9  # of all
FIRST = "Measure again first: "
UNASKED = "Not done without a yes: "


class Forbidden(Exception):
    """What must not happen once, however rarely."""


def call(program, folder, *arguments):
    return subprocess.run([program, *arguments], cwd=folder, capture_output=True, text=True,
                          timeout=120, check=False, stdin=subprocess.DEVNULL)


def finds_nothing(program, folder):
    return call(program, folder, "check", "--today", TODAY, "--stop-at", "warning",
                "m.yaml").returncode == 0


def is_chosen(program, path):
    said = call(program, None, "explain", path).stdout
    return any(line.split()[:2] == ["nature", "chosen"] for line in said.splitlines())


def bent(program, good, after):
    """What is otherwise than in the machine that passed, and is not chosen."""
    return [path for path in changed(good, after) if not is_chosen(program, path)]


def edited(text, edits):
    for edit in edits:
        was, now = (part.strip() for part in edit.split("->"))
        if text.count(was) != 1:
            raise SystemExit(f"{was!r} is there {text.count(was)} times")
        text = text.replace(was, now)
    return text


def run(program, folder, fault):
    """What is wrong with what was made of it; None: nothing."""
    path = pathlib.Path(folder, "m.yaml")
    good = (SAMPLES / (fault["machine"] + ".yaml")).read_text(encoding="utf-8")
    path.write_text(good, encoding="utf-8")
    if not finds_nothing(program, folder):
        return "the machine itself does not pass"
    path.write_text(edited(good, fault["edit"]), encoding="utf-8")
    if finds_nothing(program, folder):
        return "nobody finds it"
    done = call(program, folder, "revise", "--put-right", "--write", "--today", TODAY, "m.yaml")
    who, _, field = fault["blame"].partition(" ")
    told = " ".join(done.stdout.split())
    if who == "asked":
        if path.read_text(encoding="utf-8") != edited(good, fault["edit"]):
            raise Forbidden("something was written")
        return None if field in told.partition(UNASKED)[2] else done.stdout
    if who != "measured":
        if not finds_nothing(program, folder):
            return done.stdout + done.stderr
        away = bent(program, good, path.read_text(encoding="utf-8"))
        if away:
            raise Forbidden(f"{', '.join(away)} was to stay")
        return None
    spoilt = edited(good, fault["edit"])
    away = bent(program, spoilt, path.read_text(encoding="utf-8"))
    if away:
        raise Forbidden(f"{', '.join(away)} was to stay")
    named = told.partition(FIRST)[2]
    return None if named.startswith((field + ".", field + ",")) else done.stdout


def main(program, part=""):
    program = os.path.abspath(program)
    faults = [one for one in yaml.safe_load((HERE / "faults.yaml").read_text(encoding="utf-8"))
              if part in one["fault"]]
    counts = {"chosen": [0, 0], "words": [0, 0], "asked": [0, 0], "measured": [0, 0]}
    forbidden = False
    for fault in faults:
        with tempfile.TemporaryDirectory() as folder:
            try:
                wrong = run(program, folder, fault)
            except Forbidden as never:
                wrong, forbidden = str(never), True
        count = counts[fault["blame"].split()[0]]
        count[0] += not wrong
        count[1] += 1
        if wrong:
            print(f"not put right: {fault['fault']} ({fault['machine']})\n{wrong}")
    print(", ".join(f"{what}: {good} of {of}" for what, (good, of) in counts.items()))
    counts["chosen"] = [sum(both) for both in zip(counts["chosen"], counts.pop("words"))]
    return int(forbidden or any(good < GOOD * of for good, of in counts.values()))


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
