"""Lets every single allocation of a command fail in turn: it must say so and end in status 2, or do
all the same what it does otherwise; and what it saves is saved whole or not at all.

    memory.py PROGRAM SHIM [--every K]

Every K-th, of many thousands fewer; where K is not given, every single one of the first thousand.
"""
import argparse
import os
import sys
import tempfile

from commands import COMMANDS, Scene, mistake

MOST = 100000


def look(scene, number, shim, more):
    ran = scene.run(surroundings={"LD_PRELOAD": shim, "FAIL_AT": str(number), **more})
    wrong = mistake(scene, ran)
    if not wrong and ran[0] == 2 and b"there is not enough memory" not in ran[2]:
        wrong = "does not say that memory ran out"
    if wrong:
        sys.exit(f"{scene.command.name}, allocation {number} {more}: {wrong}\n{ran}")
    return ran


def try_all(scene, shim, every):
    """From one on, all that follow fail too, until one is reached that is never made; the first
    ones all, for those are the program's surroundings."""
    number, tried = 1, 0
    while number < MOST:
        tried += 1
        if look(scene, number, shim, {"FAIL_ON": "1"}) == scene.plain:
            return number, tried
        number += 1 if number < 10 else max(every, number * every // 1000)
    sys.exit(f"{scene.command.name}: still failing after {MOST} allocations")


def try_single(scene, shim, count, every):
    """One fails, and the next do not: it may go on, or not, but whole."""
    numbers = range(1, count, max(every, count * every // 1000))
    for number in numbers:
        look(scene, number, shim, {})
    return len(numbers)


def main():
    options = argparse.ArgumentParser()
    options.add_argument("program", type=os.path.abspath)
    options.add_argument("shim", type=os.path.abspath)
    options.add_argument("--every", type=int, default=1)
    options = options.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        for command in COMMANDS:
            scene = Scene(options.program, command, os.path.join(folder, "scene"))
            count, tried = try_all(scene, options.shim, options.every)
            tried += try_single(scene, options.shim, count, options.every)
            if count == 1:
                sys.exit(f"nothing fails: is {options.shim} preloaded?")
            print(f"{command.name}: {count} allocations, {tried} let fail")


if __name__ == "__main__":
    main()
