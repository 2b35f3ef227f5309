"""The program's margins against the model's, on random machines with a fixed seed.

    compare.py PROGRAM [COUNT [FIRST]]

For every rule that applies to a machine: the same outcome for the same subject, the same margins.
A margin that is straight in its tolerances must agree to one part in a million; one that bends may
lie between the worst corner and the plain interval, which is what the program promises.
"""
import collections
import json
import os
import subprocess
import sys
import tempfile

import bodies  # noqa: F401  adds its rules to those of the model
import generate
from catalogue import IMPLIED_BY, RULES
from model import judge

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", ".."))
from share import share  # noqa: E402

ORDER = {"failed": 0, "unchecked": 1, "held": 2}
CLOSE = 1e-6

# Told in place of rules that fail, which are compared themselves.
OF_RULES = "number-out-of-line"

# Where the description leaves open what a margin is: only the outcome is compared.
OPEN = {
    "park-over-work": "whether being beside the work area is a distance",
}


def run(program, texts):
    """Evaluations of each text, by name."""
    with tempfile.TemporaryDirectory() as folder:
        paths = []
        for name, text in texts.items():
            paths.append(os.path.join(folder, name))
            with open(paths[-1], "w", encoding="utf-8") as file:
                file.write(text)
        done = subprocess.run([program, "check", "--format", "json", "--show", "all",
                               "--today", "2025-01-01", *paths],
                              capture_output=True, text=True, check=False)
    if done.returncode not in (0, 1):
        raise SystemExit(f"status {done.returncode}: {done.stderr}")
    return {os.path.basename(file["path"]): file for file in json.loads(done.stdout)["files"]}


def agree(margin, si):
    near = CLOSE * max(1.0, abs(margin.true)) * (1e-3 if abs(margin.true) < 1 else 1)
    if abs(margin.true - si) <= near:
        return True
    return not margin.straight and margin.bound - near <= si <= margin.true + near


def by_subject(verdicts, whole):
    """(outcome, least margin by dimension) of each subject; `whole`: of the rule, under None."""
    found = collections.defaultdict(list)
    for verdict in verdicts:
        found[None if whole else verdict[0]].append(verdict)
    return {subject: (min((v[1] for v in some), key=ORDER.get), least(some))
            for subject, some in found.items()}


def least(verdicts):
    """The least margin of each dimension, as it was given: a rule may put its comparisons into
    one requirement or into several."""
    found = {}
    for _, _, margin, dimension in verdicts:
        if margin is None:
            continue
        if dimension not in found or value(margin) < value(found[dimension]):
            found[dimension] = margin
    return found


def value(margin):
    return margin.true if hasattr(margin, "true") else margin


def differences(rule, theirs, ours):
    """What differs for one rule: `theirs` from the program, `ours` from the model, both lists of
    (subject, outcome, margin, dimension)."""
    # A rule may be asked of the whole file where the other names what it is about.
    whole = {v[0] for v in theirs} == {None} or {v[0] for v in ours} == {None}
    theirs, ours = by_subject(theirs, whole), by_subject(ours, whole)
    for subject in sorted(set(theirs) | set(ours), key=str):
        there, here = theirs.get(subject), ours.get(subject)
        if not there or not here:
            yield subject, f"program {there and there[0]}, model {here and here[0]}"
        elif there[0] != here[0]:
            yield subject, f"program {there[0]}, model {here[0]}; {margins(there[1], here[1])}"
        elif rule not in OPEN and there[0] != "unchecked" and (
                set(there[1]) != set(here[1])
                or not all(agree(here[1][d], there[1][d]) for d in here[1])):
            yield subject, f"{there[0]}; {margins(there[1], here[1])}"


def margins(there, here):
    ours = {d: (m.true, m.bound) for d, m in here.items()}
    return f"margins of the program {there}, of the model {ours}"


def follow_ons(evaluations):
    """(rule, subject, what is wrong) of failures that should be told as another's follow-ons and
    are not, or are told as those of a rule that did not fail."""
    outcomes = collections.defaultdict(list)
    for one in evaluations:
        outcomes[one["rule"], one["subject"]].append(one["outcome"])
    for one in evaluations:
        if one["outcome"] != "failed" or one["rule"] not in RULES:
            continue
        subject, told = one["subject"], one["implied_by"]
        # Where two cutters have one number, the subject alone does not tell which failed.
        causes = [cause for cause in IMPLIED_BY.get(one["rule"], []) for key in {subject, None}
                  if outcomes[cause, key] and set(outcomes[cause, key]) == {"failed"}]
        if causes and not told:
            yield one["rule"], subject, f"follows from {' or '.join(causes)}, and is told by itself"
        if told and "failed" not in outcomes[told, subject] + outcomes[told, None]:
            yield one["rule"], subject, f"is said to follow from {told}, which did not fail"


def levels(evaluations, verdicts):
    """(rule, subject, what differs) of failures at levels that differ, where a rule has several."""
    theirs, ours = collections.defaultdict(set), collections.defaultdict(set)
    for one in evaluations:
        if one["outcome"] == "failed" and "/" in RULES.get(one["rule"], ("",))[0]:
            theirs[one["rule"], one["subject"]].add(one["level"])
    for one in verdicts:
        if one.outcome == "failed" and "/" in RULES[one.rule][0]:
            ours[one.rule, one.subject].add(one.level)
    for rule, subject in sorted(set(theirs) & set(ours), key=str):
        there, here = theirs[rule, subject], ours[rule, subject]
        if there != here:
            yield rule, subject, f"program {sorted(there)}, model {sorted(here)}, by level"


def compare_file(file, machine):
    """(rule, subject, difference) for one machine, and how many evaluations were compared."""
    verdicts, idle = judge(machine)
    theirs, ours = collections.defaultdict(list), collections.defaultdict(list)
    unsound = []
    for one in file["evaluations"]:
        if one["rule"] not in RULES:
            if one["outcome"] != "failed":  # what the reader finds is never anything else
                unsound.append((one["rule"], one["subject"], "the model does not have it"))
            elif one["level"] == "error" and one["outcome"] == "failed" and one["rule"] != OF_RULES:
                unsound.append((one["rule"], one["subject"], one["message"]))
            continue
        level, hurts = RULES[one["rule"]]
        if one["level"] not in level.split("/") or one["hurts"] != hurts:
            unsound.append((one["rule"], None, f"is {one['level']}, {one['hurts']}"))
        margin = one["margin"] or {"si": None, "dimension": None}
        theirs[one["rule"]].append((one["subject"], one["outcome"], margin["si"],
                                    margin["dimension"]))
    for one in verdicts:
        ours[one.rule].append((one.subject, one.outcome, one.margin,
                               one.margin and one.margin.dimension))
    found = unsound + list(follow_ons(file["evaluations"]))
    found += levels(file["evaluations"], verdicts)
    for rule in RULES:
        for subject, difference in differences(rule, theirs[rule], ours[rule]):
            if rule in idle:
                difference += " (does not apply)"
            found.append((rule, subject, difference))
    return found, len(verdicts)


def main(program, count=400, first=0):
    made = {f"machine-{seed:04}.yaml": generate.make(seed)
            for seed in share(range(int(first), int(first) + int(count)), 1)}
    files = run(program, {name: text for name, (text, _) in made.items()})
    compared, counts, shown, seen = 0, collections.Counter(), collections.Counter(), set()
    for name, (_, machine) in made.items():
        found, number = compare_file(files[name], machine)
        for one in files[name]["evaluations"]:
            seen |= {(one["rule"], one["outcome"]), (one["rule"], one["outcome"], one["level"])}
        compared += number
        for rule, subject, difference in found:
            counts[rule] += 1
            if shown[rule] < 4:
                shown[rule] += 1
                print(f"{name}: {rule} ({subject}): {difference}")
    for rule in sorted(RULES):
        lacking = {outcome for outcome in ("held", "failed") if (rule, outcome) not in seen}
        lacking |= {f"failed as {level}" for level in RULES[rule][0].split("/")
                    if (rule, "failed", level) not in seen}
        if lacking and len(made) >= 200:
            counts[rule] += 1
            print(f"{rule}: never {' or '.join(sorted(lacking))}: the machines are too much alike")
    for rule, number in counts.most_common():
        print(f"{rule}: {number} differences")
    print(f"{len(made)} machines, {compared} evaluations, {sum(counts.values())} differences")
    sys.exit(1 if counts else 0)


if __name__ == "__main__":
    main(*sys.argv[1:])
