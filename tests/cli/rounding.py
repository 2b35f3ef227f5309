"""What is nothing but for rounding is told as nothing: no text holds a length of a femtometre.

    rounding.py PROGRAM RULES

Every example of every rule is a machine at or beside a boundary, where sums of decimal fractions
come to nothing or to exactly what is allowed.  Each is checked and run dry, some are searched for
windows and revised, and all that comes out is looked through.
"""
import copy
import glob
import os
import re
import subprocess
import sys
import tempfile

import yaml

import run

sys.path.insert(0, os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
from share import FEWER, share  # noqa: E402

PLAIN = {"LC_ALL": "C.UTF-8", "TERM": "dumb", "HOME": "/nonexistent", "TZ": "UTC",
         **{name: os.environ[name] for name in run.KEPT if name in os.environ}}
# The rulebooks are long: libyaml itself, where there is a binding.
LOADER = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
# Smaller than a picometre or a picosecond in any unit that people write.
ODD = re.compile(r"^.*\de-(?:09|[1-9]\d).*$", re.M)


def put(root, path, value):
    """Changes the machine as an example says."""
    *way, last = re.findall(r"\[(\d+)\]|([^.\[\]]+)", path)
    at = root
    for index, name in way:
        at = at[int(index)] if index else at.setdefault(name, {})
    key = int(last[0]) if last[0] else last[1]
    if value == "~":
        at.pop(key, None) if isinstance(at, dict) else at.pop(key)
    elif isinstance(at, list) and key == len(at):
        at.append(value)
    else:
        at[key] = value


def machines(rules):
    """(name, machine) of each example."""
    with open(os.path.join(rules, "base-machine.yaml"), encoding="utf-8") as file:
        base = yaml.load(file, LOADER)
    for path in sorted(glob.glob(os.path.join(rules, "*.yaml"))):
        with open(path, encoding="utf-8") as file:
            book = yaml.load(file, LOADER)
        for rule, entry in (book.get("rules") or {}).items():
            examples = entry.get("examples", {})
            for kind in ("holds", "fails"):
                for index, changes in enumerate(examples.get(kind, [])):
                    root = copy.deepcopy(base)
                    for field, value in {**examples.get("given", {}), **changes}.items():
                        if field not in ("margin", "level"):
                            put(root, field, value)
                    yield f"{rule}-{kind}-{index}.yaml", root


def look(program, folder, *arguments):
    done = subprocess.run([program, *arguments], cwd=folder, env=PLAIN, capture_output=True,
                          timeout=120, check=False, stdin=subprocess.DEVNULL)
    if done.returncode < 0:
        sys.exit(f"{arguments}: ended by signal {-done.returncode}")
    for line in ODD.findall(done.stdout.decode()):
        yield f"{' '.join(arguments)}: {line.strip()}"


def all_odd(program, folder, names):
    yield from look(program, folder, "check", "--show", "all", ".")
    for name in share(names, 2):
        yield from look(program, folder, "dryrun", name)
    for name in share(names, 8):
        yield from look(program, folder, "window", name)
        yield from look(program, folder, "revise", name, "change.standoff=11.3 mm",
                        "change.traverse_z=-4.9 mm", "setter.nose_contact=-124.9 mm")


def main(program, rules):
    with tempfile.TemporaryDirectory() as folder:
        made = dict(machines(rules))
        names = share(made, 8)
        for name in names:
            with open(os.path.join(folder, name), "w", encoding="utf-8") as file:
                yaml.safe_dump(made[name], file, allow_unicode=True, sort_keys=False, width=1000)
        odd = list(all_odd(os.path.abspath(program), folder, names))
    print(*odd[:20], sep="\n")
    print(f"{len(names)} machines, {len(odd)} odd lines")
    return 1 if odd or len(names) < 150 / FEWER else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
