"""What `propose` says of random machines, taken at its word.

    proposals.py PROGRAM [COUNT [FIRST]]      about half of the COUNT, or all with SHARE=all

Each set that is proposed is written into its file with `revise`, and the file checked: what failed
and was to be mended holds, nothing fails that held before, and the margins told are those that come
out.  Where the program says that no set will do, thousands of sets drawn over the whole range, and
the best of them moved about, must not find one in which the rules of the conflict hold.
"""
import collections
import concurrent.futures
import json
import os
import random
import subprocess
import sys
import tempfile

import jsonschema

import generate

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", ".."))
from share import share  # noqa: E402

with open(os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..", "cli",
                       "proposal.schema.json"), encoding="utf-8") as file_of_schema:
    SCHEMA = jsonschema.Draft202012Validator(json.load(file_of_schema))
CLOSE = 1e-9
OF_RULES = "number-out-of-line"  # it tells what may be behind others that fail
NOT_ASKED = "not asked", None, 0
DRAWN = 40  # sets, for each conflict
# Of files as large as this no changes are tried, which is what takes the time of a check.
LARGE = ("# " + 96 * "." + "\n") * 2700


def call(program, folder, *arguments, fine=(0, 1)):
    done = subprocess.run([program, *arguments], cwd=folder, capture_output=True, text=True,
                          timeout=120, check=False, stdin=subprocess.DEVNULL)
    if done.returncode not in fine:
        return None
    return done.stdout


def evaluations(program, folder, name):
    """(outcome, margin, how many fail) of each rule and subject, the worst of several."""
    with open(os.path.join(folder, name), encoding="utf-8") as file:
        text = file.read()
    with open(os.path.join(folder, "large-" + name), "w", encoding="utf-8") as file:
        file.write(text + "\n" + LARGE)
    text = call(program, folder, "check", "--format", "json", "--show", "all", "large-" + name,
                fine=(0, 1, 2))
    order = {"failed": 0, "unchecked": 1, "held": 2, "waived": 3}
    found, fail = {}, collections.Counter()
    for one in json.loads(text)["files"][0]["evaluations"]:
        key = one["rule"], one["subject"]
        fail[key] += one["outcome"] == "failed"
        margin = one["margin"]["si"] if one["margin"] else None
        kept = found.get(key)
        if not kept or (order[one["outcome"]], margin or 0) < (order[kept[0]], kept[1] or 0):
            found[key] = one["outcome"], margin
    return {key: (*kept, fail[key]) for key, kept in found.items()}


def with_set(program, folder, name, changes):
    """A copy of the file that has the set in it."""
    copy = "set-" + name
    with open(os.path.join(folder, name), encoding="utf-8") as file:
        text = file.read()
    with open(os.path.join(folder, copy), "w", encoding="utf-8") as file:
        file.write(text)
    settings = [f"{path}={value}" for path, value in changes]
    done = not settings or call(program, folder, "revise", "--write", copy, *settings,
                                fine=(0, 1, 2))
    if done is None:
        return None
    return copy


def check_set(program, folder, name, said, kind):
    before = evaluations(program, folder, name)
    copy = with_set(program, folder, name, [(one["field"], one["proposed"]["text"])
                                            for one in said[kind]["changes"]])
    after = evaluations(program, folder, copy)
    for key, (outcome, _, _) in after.items():
        if outcome == "failed" and key[0] != OF_RULES and before.get(key, ("held",))[0] not in ("failed", "unchecked"):
            yield f"{kind}: {key} fails with it, and did not"
    if kind == "widest":
        for one in said["margins"]:
            key = one["rule"], one["subject"]
            if one["after"] and after.get(key, NOT_ASKED)[1] is not None:
                if after[key][1] > one["after"]["si"] + CLOSE:
                    yield f"{key}: margin {after[key][1]}, told {one['after']['si']}"
            holds = one["after"] and one["after"]["si"] >= 0
            of_many = after.get(key, NOT_ASKED)[2], before.get(key, NOT_ASKED)[2]
            mended = not one["before"] or one["before"]["si"] < 0
            # Another requirement of the rule may fail, as before.
            if holds and of_many[0] >= max(1, of_many[1] + (not mended)):
                yield f"{key}: told to hold, and fails"


def check_conflict(program, folder, name, said, rng):
    """Sets drawn at random: in none of them all rules of the conflict hold."""
    keys = [(one["rule"], one["subject"]) for one in said["excluded"] if said["stands"]]
    windows = call(program, folder, "window", "--format", "json", name, *said["fields"])
    if windows is None or not keys:
        return
    now = {one["field"]: one["value"] for one in json.loads(windows)["windows"] if one["value"]}
    for _ in range(DRAWN):
        changes = []
        for path, value in now.items():
            number, _, unit = value["text"].rpartition(" ")
            try:
                number = float(number)
            except ValueError:
                continue
            size = max(abs(number), 1)
            away = rng.gauss(0, 1) * size * rng.choice((0.05, 0.3, 2))
            changes.append((path, f"{number + away:.6g} {unit}"))
        drawn = rng.sample(changes, rng.randint(1, len(changes))) if changes else []
        copy = with_set(program, folder, name, drawn)
        if copy is None:
            continue
        after = evaluations(program, folder, copy)
        if all(after.get(key, ("gone",))[0] == "held" for key in keys):
            yield f"conflict of {keys}: they hold with {drawn}"
            return


def is_ambiguous(machine):
    """Where two cutters have one number nobody can tell which of them is meant."""
    numbers = [machine.get(f"cutters[{c}].number") for c in range(machine.cutters)]
    return len(set(numbers)) < len(numbers)


def check_machine(program, folder, seed):
    name = f"m{seed}.yaml"
    rng = random.Random(seed)
    text, machine = generate.make(seed)
    if is_ambiguous(machine):
        return collections.Counter(ambiguous=1), []
    with open(os.path.join(folder, name), "w", encoding="utf-8") as file:
        file.write(text)
    text = call(program, folder, "propose", "--format", "json", name)
    counts, wrong = collections.Counter(machines=1), []
    if text is None:
        return counts, [f"machine {seed}: no answer"]
    said = json.loads(text)
    wrong += [f"{list(one.path)}: {one.message[:200]}" for one in SCHEMA.iter_errors(said)]
    counts[said["state"]] += 1
    if said["state"] == "found":
        if said["refuted"]:
            counts["refuted by the check"] += 1
            return counts, [f"machine {seed}: refuted: {said['refuted']}"]
        for kind in ("widest", "fewest"):
            wrong += check_set(program, folder, name, said, kind)
        counts["with fewer changes"] += (len(said["fewest"]["changes"]) <
                                         len(said["widest"]["changes"]))
        counts["left"] += said["left"] > 0
    elif said["state"] == "none":
        wrong += check_conflict(program, folder, name, said, rng)
        counts["alone"] += not said["excluded"]
        counts["a conflict that does not stand"] += bool(said["excluded"]) and not said["stands"]
        counts["with ways"] += bool(said["ways"])
    return counts, [f"machine {seed}: {one}" for one in wrong]


def go_through(program, count, first, check):
    """What a check of one seed counts, and finds wrong, of a share of them; both are printed."""
    total, wrong = collections.Counter(), []
    program = os.path.abspath(program)
    with tempfile.TemporaryDirectory() as folder, \
            concurrent.futures.ThreadPoolExecutor(2) as pool:
        seeds = share(range(int(first), int(first) + int(count)), 2)
        for counts, found in pool.map(lambda s: check(program, folder, s), seeds):
            total += counts
            wrong += found
    print(*wrong[:40], sep="\n")
    print(", ".join(f"{number} {what}" for what, number in total.items()), f"; {len(wrong)} wrong")
    return total, wrong


def main(program, count=60, first=0):
    total, wrong = go_through(program, count, first, check_machine)
    sys.exit(1 if wrong or total["found"] < total["machines"] / 20 else 0)


if __name__ == "__main__":
    main(*sys.argv[1:])
