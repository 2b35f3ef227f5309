"""What `revise --put-right` does to random machines, and to the samples.

    mending.py PROGRAM [COUNT [FIRST]]      about a third of the COUNT, or all with SHARE=all

What is written is never worse than what was there, the gravest first; it ends as `check` of it
ends; of a machine that reads well only numbers change that are chosen; and a second run has nothing
more to do, and says the same of what stays.
"""
import collections
import concurrent.futures
import functools
import json
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile

import generate

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parents[1]))
from leaves import changed  # noqa: E402
from share import share  # noqa: E402

SAMPLES = HERE.parents[2] / "sample-configs"
TODAY = "2026-11-25"
NOTHING = "nothing changes."
OF_RULES = "number-out-of-line"  # it tells what may be behind others that fail


def call(program, folder, *arguments):
    return subprocess.run([program, *arguments], cwd=folder, capture_output=True, text=True,
                          timeout=240, check=False, stdin=subprocess.DEVNULL)


def check(program, folder, name):
    """How `check` ends, and how much fails: errors, warnings, notes, each follow-on counted."""
    done = call(program, folder, "check", "--format", "json", "--show", "failed", "--today", TODAY,
                name)
    report = json.loads(done.stdout)["files"][0]
    failed = collections.Counter(one["level"] for one in report["evaluations"]
                                 if one["outcome"] == "failed" and one["rule"] != OF_RULES)
    return done.returncode, [failed[level] for level in ("error", "warning", "note")]


@functools.lru_cache(maxsize=None)
def is_chosen(program, path):
    """By what `explain` says of the field; one of a pair by the pair."""
    said = call(program, None, "explain", path).stdout
    return any(line.split()[:2] == ["nature", "chosen"] for line in said.splitlines())


def put_right(program, folder, name):
    return call(program, folder, "revise", "--put-right", "--write", "--today", TODAY, name)


def left(done, heading):
    """What is said to stay: the lines about that, which stand before what moves."""
    lines, at = [], False
    for line in done.stdout.splitlines():
        at = line.startswith(heading) or (at and line.startswith("  "))
        if at:
            lines.append(line)
    return lines


def look(program, folder, name):
    """Yields what is wrong, after how much of what was mended."""
    path = os.path.join(folder, name)
    before = pathlib.Path(path).read_bytes()
    _, failed = check(program, folder, name)
    done = put_right(program, folder, name)
    if done.returncode not in (0, 1):
        return "refused", [f"it ends with {done.returncode}: {done.stderr[:200]}"]
    after = pathlib.Path(path).read_bytes()
    status, stays = check(program, folder, name)
    wrong = []
    if status != done.returncode:
        wrong.append(f"it ends with {done.returncode}, `check` with {status}")
    if stays > failed:
        wrong.append(f"{failed} failed before, {stays} afterwards")
    wrong += [f"{one} is set, and is not chosen" for one in changed(before, after)
              if not is_chosen(program, one)]
    again = put_right(program, folder, name)
    if pathlib.Path(path).read_bytes() != after or NOTHING not in again.stdout:
        wrong.append(f"a second run changes it: {again.stdout[:2000]}")
    for heading in ("Left as it is", "Measure again first", "Then measure again"):
        if left(done, heading) != left(again, heading):
            wrong.append(f"a second run says otherwise of what stays: {heading}")
    what = ("nothing to mend" if not any(failed[:2]) else
            "all mended" if not any(stays[:2]) else
            "a part mended" if stays < failed else "nothing mended")
    return what, wrong


def random_machine(program, folder, seed):
    name = f"m{seed}.yaml"
    pathlib.Path(folder, name).write_text(generate.make(seed)[0], encoding="utf-8")
    what, wrong = look(program, folder, name)
    return collections.Counter([what]), [f"machine {seed}: {one}" for one in wrong]


def sample(program, folder, name):
    """In a folder of its own, with what lies beside it."""
    at = pathlib.Path(folder, name.replace("/", "-"))
    source = SAMPLES / name
    shutil.copytree(source.parent, at)
    what, wrong = look(program, str(at), source.name)
    return collections.Counter([f"sample: {what}"]), [f"{name}: {one}" for one in wrong]


def main(program, count=90, first=0):
    total, wrong = collections.Counter(), []
    program = os.path.abspath(program)
    names = [one.relative_to(SAMPLES).as_posix() for one in sorted(SAMPLES.rglob("*.yaml"))]
    machines = [one for one in names if "\nchange:" in (SAMPLES / one).read_text(encoding="utf-8")]
    with tempfile.TemporaryDirectory() as folder, \
            concurrent.futures.ThreadPoolExecutor(2) as pool:
        jobs = [(random_machine, one) for one in share(range(int(first), int(first) + int(count)), 3)]
        jobs += [(sample, one) for one in share(machines, 3, least=8)]
        for counts, found in pool.map(lambda job: job[0](program, folder, job[1]), jobs):
            total += counts
            wrong += found
    print(*wrong[:40], sep="\n")
    print(", ".join(f"{number} {what}" for what, number in sorted(total.items())),
          f"; {len(wrong)} wrong")
    sys.exit(1 if wrong or not total["sample: all mended"] else 0)


if __name__ == "__main__":
    main(*sys.argv[1:])
