"""Names of rules: those in use are in rules/names.txt, which only grows, and none that is retired
comes back.  The reader's own list in C and rules/reading.yaml have the same names and levels.
"""
import pathlib
import re
import sys

import yaml

ROOT = pathlib.Path(__file__).resolve().parents[2]
LEVELS = {"LEVEL_NOTE": "note", "LEVEL_WARNING": "warning", "LEVEL_ERROR": "error"}


def in_c():
    text = (ROOT / "src/finding/names.h").read_text(encoding="utf-8")
    return {name: LEVELS[level] for name, level in re.findall(r'X\(\w+, "([a-z0-9-]+)", (LEVEL_\w+)\)', text)}


def in_rulebooks():
    """Names and levels by whether the entry is a rule with a formula."""
    rules, reading = {}, {}
    for path in sorted((ROOT / "rules").glob("*.yaml")):
        book = yaml.safe_load(path.read_text(encoding="utf-8"))
        into = rules if "rulebook" in book else reading
        for name, entry in (book.get("rules") or {}).items():
            into[name] = entry["level"]
    return rules, reading


def in_list():
    lines = (ROOT / "rules/names.txt").read_text(encoding="utf-8").splitlines()
    pairs = [line.split(maxsplit=1) for line in lines if line and not line.startswith("#")]
    return [name for name, _ in pairs], dict(pairs)


def complaints():
    rules, reading = in_rulebooks()
    c_names = in_c()
    for name in sorted(set(c_names) | set(reading)):
        if c_names.get(name) != reading.get(name):
            yield f"{name}: {c_names.get(name)} in names.h, {reading.get(name)} in reading.yaml"
    listed, fates = in_list()
    for name in sorted({name for name in listed if listed.count(name) > 1}):
        yield f"{name} stands twice in names.txt"
    used = {name for name, fate in fates.items() if fate == "in use"}
    for name in sorted((set(rules) | set(reading)) - used):
        yield f"{name} is not listed as in use in names.txt"
    for name in sorted(used - set(rules) - set(reading)):
        yield f"{name} is listed as in use in names.txt, but no rule has it"


if __name__ == "__main__":
    FOUND = list(complaints())
    print("\n".join(FOUND))
    sys.exit(bool(FOUND))
