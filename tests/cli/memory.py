"""Lets every single allocation of the program fail in turn: it must say so and end in status 2, or do
all the same what it does otherwise.

    memory.py PROGRAM SHIM
"""
import os
import sys
import tempfile

import surroundings as place

MOST = 100000


def is_clean(given, wanted):
    status, _, error = given
    return given == wanted or (status == 2 and error.startswith(b"proveout: "))


def try_all(arguments, shim, folder, every):
    """From allocation 1 on, all that follow fail too, until one is reached that is never made.  All
    are tried, or ever fewer of the later ones."""
    wanted = place.call(*arguments, cwd=folder)
    number = 1
    while number < MOST:
        given = place.call(*arguments, cwd=folder, env={
            "LD_PRELOAD": shim, "FAIL_AT": str(number), "FAIL_ON": "1"})
        if given == wanted:
            return number
        if not is_clean(given, wanted):
            sys.exit(f"allocation {number} of {arguments}: {given}")
        left = [name for name in os.listdir(folder) if name.startswith("out.txt.")]
        if left:
            sys.exit(f"allocation {number} of {arguments}: {left} is left behind")
        number += 1 if every else 1 + number // 20
    sys.exit(f"{arguments}: still failing after {MOST} allocations")


def try_single(arguments, shim, folder, count):
    """One fails, and the next do not: it may go on, or not, but whole."""
    wanted = place.call(*arguments, cwd=folder)
    for number in range(1, count, 1 + count // 60):
        given = place.call(*arguments, cwd=folder,
                           env={"LD_PRELOAD": shim, "FAIL_AT": str(number)})
        if not is_clean(given, wanted):
            sys.exit(f"allocation {number} alone of {arguments}: {given}")


def main(program, shim):
    place.PROGRAM = os.path.abspath(program)
    shim = os.path.abspath(shim)
    with tempfile.TemporaryDirectory() as folder:
        place.write(folder, "m/a.yaml", place.machine())
        place.write(folder, "m/b.yaml", place.machine("clean"))
        place.write(folder, "house.yaml", place.run.Case("own-rulebook").files["house.yaml"])
        today = place.DAY
        for every, arguments in (
                (True, ["check", *today, "m/a.yaml"]),
                (False, ["check", *today, "-j2", "-o", "out.txt", "m"]),
                (False, ["check", *today, "--format=json", "--show=all", "m/a.yaml"]),
                (False, ["check", *today, "--rulebook=house.yaml", "m/b.yaml"]),
                (False, ["explain", "setter.nose_contact"]),
                (False, ["--help"])):
            count = try_all(arguments, shim, folder, every)
            try_single(arguments, shim, folder, count)
            if count == 1:
                sys.exit(f"nothing fails: is {shim} preloaded?")
            print(f"{count} allocations: {' '.join(arguments)}")


if __name__ == "__main__":
    main(*sys.argv[1:])
