"""Every unit of the table against GNU units.

    gnu_units.py FACTORS    the program that prints the table

Source: the definitions that come with GNU units (Debian package `units`), a program of its own.
Traps: its `rad` is the unit of absorbed dose, the angle is `radian`; it has no `ozf` and no steps.
"""
import re
import shutil
import subprocess
import sys

WORDS = {
    "rad": "radian", "rev": "revolution", "deg": "degree", "ozf": "(oz force)",
    "step": "1", "steps": "1", "thou": "thou", "%": "percent",
}
NEAR = 4e-16  # relative: two units in the last place


def spelled(unit):
    return re.sub(r"[A-Za-z]+|%", lambda m: WORDS.get(m.group(), m.group()), unit)


def asked(have, want):
    answer = subprocess.run(
        ["units", "--terse", "--output-format", "%.17g", spelled(have), spelled(want)],
        capture_output=True, text=True, check=False).stdout.strip()
    try:
        return float(answer)
    except ValueError:
        return answer


def main(factors):
    if not shutil.which("units"):
        print("SKIP: the program `units` is not there")
        return 77
    rows = subprocess.run([factors], capture_output=True, text=True, check=True).stdout
    count = wrong = 0
    for row in rows.splitlines():
        unit, ours, si = row.split("\t")
        theirs = asked(unit, si)
        count += 1
        if not isinstance(theirs, float) or abs(theirs - float(ours)) > NEAR * abs(theirs):
            print(f"{unit}: {ours} {si}, GNU units says {theirs}")
            wrong += 1
    print(f"{count} units, {wrong} differ")
    return 1 if wrong or count < 100 else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
