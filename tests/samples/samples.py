"""Checks every machine in sample-configs and compares what is found with expected.txt.

    samples.py PROGRAM [--write]

expected.txt has a line a file: its path there, and the findings as `rule at field`, or `clean`, or
`shared` where it is no machine by itself.  A clean machine has no finding of any level, and nothing
that could not be checked.
"""
import json
import pathlib
import subprocess
import sys

HERE = pathlib.Path(__file__).resolve().parent
SAMPLES = HERE.parents[1] / "sample-configs"
EXPECTED = HERE / "expected.txt"
TODAY = "2026-11-25"


def findings(file):
    """What people see: one for a rule and a place, without what follows from another."""
    return sorted({f"{one['rule']} at {one['field']}" for one in file["evaluations"]
                   if one["outcome"] == "failed" and not one["implied_by"]})


def unchecked(file):
    return sorted({f"not checked: {one['rule']} ({', '.join(one['missing'])})"
                   for one in file["evaluations"] if one["outcome"] == "unchecked"})


def found(program):
    done = subprocess.run([program, "check", "--format", "json", "--today", TODAY, str(SAMPLES)],
                          capture_output=True, text=True, check=False)
    if done.returncode not in (0, 1):
        raise SystemExit(f"status {done.returncode}: {done.stderr}")
    for file in sorted(json.loads(done.stdout)["files"], key=lambda one: one["path"]):
        what = findings(file) + unchecked(file) + ["shared"] * (file["status"] == "shared")
        name = pathlib.Path(file["path"]).relative_to(SAMPLES).as_posix()
        yield f"{name}: {'; '.join(what) or 'clean'}"


def main(program, write=None):
    lines = list(found(program))
    if write:
        EXPECTED.write_text("\n".join(lines) + "\n", encoding="utf-8")
        return 0
    expected = EXPECTED.read_text(encoding="utf-8").splitlines()
    for line in sorted(set(expected) - set(lines)):
        print(f"expected: {line}")
    for line in sorted(set(lines) - set(expected)):
        print(f"found:    {line}")
    return int(lines != expected)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
