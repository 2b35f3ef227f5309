"""Proves rules/reading.yaml: each broken fragment gives its finding, each twin nothing at all.

    reading.py PROGRAM

A fragment takes the place of the section of the same name in the base machine.
"""
import json
import pathlib
import re
import subprocess
import sys

import yaml

RULES = pathlib.Path(__file__).resolve().parents[2] / "rules"
NO_TEXT = "\N{REPLACEMENT CHARACTER}".encode()


def sections(text):
    """The base machine as (key, lines), comments at its head under an empty key."""
    found = [["", []]]
    for line in text.splitlines(keepends=True):
        key = re.match(r"(\w+):", line)
        if key:
            found.append([key[1], []])
        found[-1][1].append(line)
    return [(key, "".join(lines)) for key, lines in found]


def placed(base, fragment):
    key = fragment.split(":", 1)[0]
    if key not in {name for name, _ in base}:
        raise SystemExit(f"the base machine has no section {key}")
    text = "".join(fragment if name == key else old for name, old in base)
    return text.encode().replace(NO_TEXT, b"\xff")


def reader_findings(program, names, machine):
    done = subprocess.run([program, "check", "--format", "json", "--today", "2026-11-25", "-"],
                          input=machine, capture_output=True, check=False)
    if done.returncode not in (0, 1, 2):
        raise SystemExit(f"status {done.returncode}: {done.stderr.decode()}")
    file, = json.loads(done.stdout)["files"]
    return sorted({one["rule"] for one in file["evaluations"]
                   if one["outcome"] == "failed" and one["rule"] in names})


def main(program):
    base = sections((RULES / "base-machine.yaml").read_text(encoding="utf-8"))
    rules = yaml.safe_load((RULES / "reading.yaml").read_text(encoding="utf-8"))["rules"]
    wrong = 0
    for name, rule in rules.items():
        if "broken" not in rule:
            continue
        for kind, wanted in (("broken", [name]), ("twin", [])):
            found = reader_findings(program, rules, placed(base, rule[kind]))
            if found != wanted:
                wrong += 1
                print(f"{name}: the {kind} fragment gives {found}")
    return int(wrong > 0)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
