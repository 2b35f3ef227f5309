"""Dry runs from the program's own mouth, of every sample machine and every pair of its cutters.

    dryrun.py PROGRAM SAMPLES

As JSON they keep to their schema and add up: each step starts where the last one ended, the times
make the sum, contact lies between its bounds, the room to obstacles is no less than the rules say.
As text they fit the terminal, wide or narrow, and each step is there.
"""
import fcntl
import itertools
import json
import math
import os
import pathlib
import pty
import re
import struct
import subprocess
import sys
import termios

import jsonschema

import run

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
from share import share  # noqa: E402

HERE = pathlib.Path(__file__).parent
PLAIN = {"LC_ALL": "C.UTF-8", "TERM": "dumb", "HOME": "/nonexistent", "TZ": "UTC",
         **{name: os.environ[name] for name in run.KEPT if name in os.environ}}
SCHEMA = jsonschema.Draft202012Validator(json.loads((HERE / "dryrun.schema.json").read_text()))
DOWN = ("approach", "probe", "second touch", "to park height", "lift")
TODAY = ("--today", "2026-11-01")


def call(program, *arguments):
    done = subprocess.run([program, *arguments], env=PLAIN, capture_output=True, timeout=60,
                          check=False, stdin=subprocess.DEVNULL)
    if done.returncode not in (0, 1) or done.stderr:
        sys.exit(f"{arguments}: {done.returncode} {done.stderr.decode()}")
    return done.stdout.decode()


def on_terminal(program, width, *arguments):
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, width, 0, 0))
    done = subprocess.Popen([program, *arguments], env=PLAIN, stdin=subprocess.DEVNULL,
                            stdout=theirs, stderr=subprocess.PIPE)
    os.close(theirs)
    text = b""
    try:
        while piece := os.read(ours, 65536):
            text += piece
    except OSError:
        pass  # how a terminal says that its other end has gone
    done.wait(60)
    os.close(ours)
    return text.decode().replace("\r\n", "\n")


def expect(truth, what):
    if not truth:
        sys.exit(what)


def check_sums(name, found):
    moves = found["moves"]
    for before, after in itertools.pairwise(moves):
        if after["what"] != "jog to plate":
            expect(before["to"] == after["from"], f"{name}: {after['what']} starts elsewhere")
    total = sum(move["seconds"] or 0 for move in moves)
    expect(math.isclose(total, found["seconds"]), f"{name}: {total} s, not {found['seconds']} s")
    for move in moves:
        still = set("xyz") - set(move["axes"])
        expect(all(move["from"][a] == move["to"][a] for a in still), f"{name}: {move['what']}")
        probes = move["what"] in ("probe", "second touch")
        expect((move["contact"] is not None) == probes, f"{name}: contact of {move['what']}")
        if probes and move["contact"]["expected"] is not None:
            at = move["contact"]
            expect(at["latest"] <= at["expected"] <= at["earliest"], f"{name}: {at}")
        expect(move["clearance"] is None or move["axes"] in ("x", "xy") or move["what"] in DOWN,
               f"{name}: {move['what']}")
    cutters = [move["cutter"] for move in moves]
    change = cutters.index(found["to"]) if found["from"] != found["to"] else 0
    expect(set(cutters[:change]) <= {found["from"]} and set(cutters[change:]) == {found["to"]},
           f"{name}: cutters {cutters}")


def rooms_of_rules(program, path):
    """The clearance of the rules to each obstacle, by its name."""
    found = json.loads(call(program, "check", "--format", "json", "--show", "all", *TODAY, path))
    return {one["subject"].removeprefix("obstacle "): one["margin"]["si"]
            for one in found["files"][0]["evaluations"]
            if one["rule"] == "move-meets-obstacle" and one["margin"]}


def start(path):
    """A place within the travel, also where its sign was lost."""
    with open(path, encoding="utf-8") as file:
        text = file.read()
    upward = re.search(r"^  z:\n(?:    .*\n)*?    travel: \[[0-9]", text, re.M)
    left = re.search(r"^  x:\n(?:    .*\n)*?    travel: \[-\d+ mm, 0 ", text, re.M)
    z = "-10 mm" if not upward else "40 mm" if "travel: [30 mm" in text else "10 mm"
    return f"{'-' if left else ''}0.3 m, 200 mm, {z}"


def check_machine(program, path):
    numbers = sorted({json.loads(call(program, "dryrun", "--format", "json", *TODAY, path))[end]
                      for end in ("from", "to")})
    rooms, count = rooms_of_rules(program, path), 0
    pairs = [[]] + [["--from", f"{a:g}", "--to", f"{b:g}"] for a in numbers for b in numbers]
    for pair in pairs:
        for at in ([], ["--at", start(path)]):
            found = json.loads(call(program, "dryrun", "--format", "json", *TODAY, *pair, *at, path))
            name = f"{os.path.basename(path)} {pair} {at}"
            SCHEMA.validate(found)
            check_sums(name, found)
            for move in found["moves"]:
                room = move["clearance"]
                if room and room["to"] in rooms and not at and (
                        move["axes"] in ("x", "xy")
                        and room["body"] not in ("gantry", "setter on the gantry")):
                    expect(room["si"] >= rooms[room["to"]] - 1e-9,
                           f"{name}: {room['si']} m, the rules say {rooms[room['to']]} m")
            count += 1
    for width in (40, 80):
        text = on_terminal(program, width, "dryrun", *TODAY, path)
        long = [line for line in text.split("\n") if len(line) > width and " " in line.strip()]
        expect(not long, f"{path} at {width}: {long}")
        found = json.loads(call(program, "dryrun", "--format", "json", *TODAY, path))
        lines = text.split("\n")
        once = found["moves"][0]["what"] == "measure what is in"  # before the first change: step 0
        for index, move in enumerate(found["moves"], 0 if once else 1):
            expect(any(line.startswith(f"{index:2}. {move['what'].split()[0]}") for line in lines),
                   f"{path} at {width}: step {index} is not there")
    return count


def main(program, samples):
    names = sorted(path.name for path in pathlib.Path(samples).glob("*.yaml"))
    count = sum(check_machine(program, os.path.join(samples, name)) for name in share(names, 4))
    print(f"{count} dry runs")


if __name__ == "__main__":
    main(*sys.argv[1:])
