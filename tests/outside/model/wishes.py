"""What `propose` makes of wishes about random machines and the samples.

    wishes.py PROGRAM [COUNT [FIRST]]      about half of the COUNT, or all with SHARE=all

Of each machine some numbers are wished least and most.  With what is proposed written into its file,
`check` finds nothing that it did not find before; the number is no worse than the end of its window,
which is found by other means and with all others where they are, and one that nothing bounds has a
window without that end; a step further one of the rules fails that are said to bound it; and a wait
that keeps hands off a turning cutter is no less than 1.2 times the run-down.  The time of the fastest
change, before and after, is the mean of what `dryrun` says of changes from each cutter of the list to
the next, and no more than it was where all held.
"""
import collections
import glob
import json
import os
import random
import re
import sys

import yaml

import generate
from proposals import OF_RULES, SCHEMA, call, evaluations, go_through, with_set

SAMPLES = sorted(glob.glob(os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..", "..",
                                        "sample-configs", "*.yaml")))
ASKED = 3  # numbers of each machine
STEP = {"mm": 0.1, "mm/min": 1, "s": 0.1, "in": 0.001, "in/min": 0.1, "m/min": 0.01, "mm/s": 0.1}
STEP_SI = {"mm": 1e-4, "mm/min": 1e-3 / 60, "s": 0.1, "in": 25.4e-6, "in/min": 2.54e-3 / 60,
           "m/min": 1e-2 / 60, "mm/s": 1e-4}
CLOSE = 1e-9
GUARD = 1.2


def fails_anew(before, after):
    return [key for key, (outcome, *_) in after.items()
            if outcome == "failed" and key[0] != OF_RULES and
            before.get(key, ("held",))[0] not in ("failed", "unchecked")]


def propose(program, folder, *arguments):
    """What is said, its state "refused" where nothing is; and what is wrong with it."""
    text = call(program, folder, "propose", "--format", "json", *arguments)
    if text is None:
        return {"state": "refused"}, []
    said = json.loads(text)
    wrong = [f"{list(one.path)}: {one.message[:200]}" for one in SCHEMA.iter_errors(said)]
    if said["state"] == "found" and said["refuted"]:
        said["state"] = "refuted"
        wrong.append(f"{' '.join(arguments)}: {said['refuted']}")
    return said, wrong


def try_set(program, folder, name, said):
    """A copy of the file with the set in it, and what fails there that did not."""
    before = evaluations(program, folder, name)
    copy = with_set(program, folder, name, changes_of(said))
    return copy, fails_anew(before, evaluations(program, folder, copy))


def changes_of(said):
    return [(one["field"], one["proposed"]["text"]) for one in said["widest"]["changes"]]


def beyond(text, kind):
    """The same number one step, as people set it, further on."""
    found = re.fullmatch(r"(-?[0-9.]+) (\S+)", text)
    if not found or found[2] not in STEP:
        return None
    further = float(found[1]) + STEP[found[2]] * (-1 if kind == "least" else 1)
    return f"{further:.6f} {found[2]}"


def all_held(said):
    """Did everything hold that the numbers could move?  Else some may have to move for that."""
    return not said["stays"] and said["least_before"] is not None and said["least_before"] >= 0


def check_window(wish, window):
    """No worse than with the others where they are."""
    end = window["low" if wish["wish"] == "least" else "high"]
    if not end:
        return
    worse = wish["after"]["si"] - end["si"]
    worse = worse if wish["wish"] == "least" else -worse
    if worse > CLOSE * max(1, abs(end["si"])):
        yield f"{wish['wish']} {wish['field']}: {wish['after']['text']}, by its window {end['text']}"


def check_bounds(program, folder, name, said, wish):
    """A step further one of those that bound it fails."""
    rules = {(one["rule"], one["subject"]) for one in wish["bounds"] if one["by"] == "rule"}
    further = beyond(wish["after"]["text"], wish["wish"])
    if not rules or not further:
        return
    changes = dict(changes_of(said))
    changes[wish["field"]] = further
    copy = with_set(program, folder, name, list(changes.items()))
    if copy is None:
        return
    after = evaluations(program, folder, copy)
    if not any(after.get(key, ("",))[0] in ("failed", "waived") for key in rules):
        yield f"{wish['wish']} {wish['field']}: {rules} hold with {further}"


def check_end(program, folder, copy, said, wish):
    """From the set that was found the same numbers go no further."""
    number, unit = wish["after"]["text"].rsplit(" ", 1)
    if "/" in number or unit not in STEP_SI:
        return
    held = {one["field"] for one in said["held_back"] if not one["moves"]}
    moved = [field for field in said["fields"] if field not in held]
    again, _ = propose(program, folder, f"--{wish['wish']}", wish["field"], copy, *moved)
    for one in again.get("wishes", ()):
        further = (one["after"]["si"] - wish["after"]["si"]) * (-1 if wish["wish"] == "least" else 1)
        if all(bound["by"] == "rule" for bound in one["bounds"]) and further > STEP_SI[unit] * 1.01:
            yield (f"{wish['wish']} {wish['field']}: {wish['after']['text']}, and from there "
                   f"{one['after']['text']}")


def check_guard(machine, wish):
    if wish["field"] != "spindle.dwell_after_stop" or wish["after"] == wish["before"]:
        return
    run_down = str(machine.get("spindle", {}).get("run_down", ""))
    found = re.match(r"([0-9.]+) s(?: ± ([0-9.]+) s)?$", run_down)
    if found:
        least = GUARD * (float(found[1]) + float(found[2] or 0))
        if wish["after"]["si"] < least - CLOSE:
            yield f"a wait of {wish['after']['text']}, the spindle runs down for {run_down}"


def check_wish(program, folder, name, window, kind):
    said, wrong = propose(program, folder, f"--{kind}", window["field"], name)
    if said["state"] != "found":
        return said["state"], wrong
    wish, = said["wishes"]
    held = any(one["field"] == wish["field"] and not one["moves"] for one in said["held_back"])
    copy, fail = try_set(program, folder, name, said)
    wrong += [f"{kind} {window['field']}: {key} fails with it" for key in fail]
    with open(os.path.join(folder, name), encoding="utf-8") as file:
        machine = yaml.safe_load(file)
    wrong += check_guard(machine, wish)
    by = {one["by"] for one in wish["bounds"]}
    if held or not wish["bounds"]:
        return "held back", wrong
    if by == {"rule"}:
        wrong += check_end(program, folder, copy, said, wish)
    if "nothing" in by and all_held(said) and window["low" if kind == "least" else "high"]:
        wrong.append(f"{kind} {window['field']}: said not to be bounded, and its window is")
    if "rule" in by and all_held(said):
        by.add("a window")
        wrong += check_window(wish, window)
    if "rule" in by:
        wrong += check_bounds(program, folder, name, said, wish)
    return "bounded by " + " and ".join(sorted(by)), wrong


def seconds_of(program, folder, name, cutters):
    """The mean of the changes from each cutter to the next."""
    total = 0
    for one, other in zip(cutters, cutters[1:] + cutters[:1]):
        text = call(program, folder, "dryrun", "--format", "json", "--from", str(one), "--to",
                    str(other), name)
        if text is None:
            return None
        total += json.loads(text)["seconds"]
    return total / len(cutters)


def check_fastest(program, folder, name):
    said, wrong = propose(program, folder, "--fastest", name)
    if said["state"] != "found":
        return said["state"], wrong
    wish, = said["wishes"]
    copy, fail = try_set(program, folder, name, said)
    wrong += [f"fastest: {key} fails with it" for key in fail]
    with open(os.path.join(folder, name), encoding="utf-8") as file:
        cutters = [one["number"] for one in yaml.safe_load(file)["cutters"]]
    if len(set(cutters)) < len(cutters):
        return "found, with a number twice", wrong
    for which, file in (("before", name), ("after", copy)):
        found = seconds_of(program, folder, file, cutters)
        if found is not None and abs(found - wish[which]["si"]) > 1e-6:
            wrong.append(f"fastest: {which} {wish[which]['si']} s, by the dry runs {found} s")
    guarded = any(one["by"] == "guard" for one in wish["bounds"])  # a wait may have been too short
    if all_held(said) and not guarded and wish["after"]["si"] > wish["before"]["si"] + CLOSE:
        wrong.append(f"fastest: {wish['after']['text']}, and it was {wish['before']['text']}")
    return "found", wrong


def check_seed(program, folder, seed):
    """A machine made at random, of which much fails, and one of the samples, of which little does."""
    with open(SAMPLES[seed % len(SAMPLES)], encoding="utf-8") as file:
        texts = {f"m{seed}.yaml": generate.make(seed)[0], f"s{seed}.yaml": file.read()}
    total, wrong = collections.Counter(), []
    for name, text in texts.items():
        with open(os.path.join(folder, name), "w", encoding="utf-8") as file:
            file.write(text)
        counts, found = check_machine(program, folder, name, random.Random(seed))
        total += counts
        wrong += [f"seed {seed}, {name}: {one}" for one in found]
    return total, wrong


def check_machine(program, folder, name, rng):
    counts = collections.Counter(machines=1)
    text = call(program, folder, "window", "--format", "json", name)
    windows = [one for one in json.loads(text)["windows"] if one["value"]] if text else []
    wrong = []
    for window in rng.sample(windows, min(ASKED, len(windows))):
        kind = rng.choice(("least", "most"))
        what, found = check_wish(program, folder, name, window, kind)
        counts[what] += 1
        wrong += found
    what, found = check_fastest(program, folder, name)
    counts["fastest " + what] += 1
    return counts, wrong + found


def main(program, count=60, first=0):
    total, wrong = go_through(program, count, first, check_seed)
    few = total["bounded by rule"] + total["bounded by a window and rule"] < total["machines"] / 4
    sys.exit(1 if wrong or few else 0)


if __name__ == "__main__":
    main(*sys.argv[1:])
