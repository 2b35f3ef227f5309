"""Single slips in good machine files: one slip, one finding, at the place of the slip.

    machines.py PROGRAM [--list]

Every slip that machine_slips.py can make in the sample machines that are clean is made, one at a
time, and the file checked.  Of the files in which something is found, those count as right that
have exactly one finding, told by itself or with follow-ons, which points at the slip by itself or
by a related place.  Fails where these are fewer than 97 %.
"""
import collections
import json
import pathlib
import subprocess
import sys
import tempfile

import machine_slips

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
from share import FEWER, share  # noqa: E402

HERE = pathlib.Path(__file__).resolve().parent
SAMPLES = HERE.parents[1] / "sample-configs"
EXPECTED = HERE.parent / "samples/expected.txt"
TODAY = "2026-11-25"
WANTED = 0.97
AT_LEAST = 200


def clean_samples():
    """Of those that stand in one file: a slip is a change of one text."""
    lines = EXPECTED.read_text(encoding="utf-8").splitlines()
    return [name for name, _, what in (line.partition(": ") for line in lines)
            if what == "clean" and "/" not in name]


def check(program, texts):
    """The evaluations of each text."""
    with tempfile.TemporaryDirectory() as folder:
        for i, text in enumerate(texts):
            pathlib.Path(folder, f"{i:05}.yaml").write_text(text, encoding="utf-8")
        done = subprocess.run([program, "check", "--format", "json", "--show", "failed",
                               "--today", TODAY, folder],
                              capture_output=True, text=True, check=False)
    if done.returncode not in (0, 1, 2):
        raise SystemExit(f"status {done.returncode}: {done.stderr}")
    files = {pathlib.Path(one["path"]).stem: one for one in json.loads(done.stdout)["files"]}
    return [files.get(f"{i:05}") for i in range(len(texts))]


def told(file):
    """What people are told: one finding for a rule and a place, follow-ons left out."""
    found = {}
    for one in file["evaluations"]:
        if one["outcome"] == "failed" and not one["implied_by"]:
            found.setdefault((one["rule"], one["line"], one["column"]), one)
    return list(found.values())


def points_at(finding, path, lines, what):
    """Whether a finding leads to the slip.  What was left out has no line: it is named."""
    if what in ("line left out", "left empty") and (
            path == finding["field"] or path.startswith(f"{finding['field']}.")
            or path in finding["message"]):
        return True
    places = {finding["line"]} | {one["line"] for one in finding["related"]}
    return bool(places & lines)


def judge(file, path, lines, what):
    """`silent`, `right`, `elsewhere` or `several`."""
    if file is None:
        return "passed over"
    found = told(file)
    if not found:
        return "silent"
    if len(found) > 1:
        return "several"
    return "right" if points_at(found[0], path, lines, what) else "elsewhere"


def shifted(lines, what):
    """A line that was left out lets the ones below move up."""
    return lines | {line - 1 for line in lines} if what == "line left out" else lines


def main(program, listing=None):
    made = []
    for name in share(clean_samples(), 8):
        text = (SAMPLES / name).read_text(encoding="utf-8")
        made += [(name, *slip) for slip in machine_slips.slips(text) if slip[3] != text]
    files = check(program, [one[4] for one in made])
    counts, kinds = collections.Counter(), collections.defaultdict(collections.Counter)
    most = 0
    for (name, what, path, lines, _), file in zip(made, files):
        verdict = judge(file, path, shifted(lines, what), what)
        counts[verdict] += 1
        kinds[what][verdict] += 1
        most = max(most, len(told(file)) if file else 0)
        if listing and verdict not in ("silent", "right"):
            print(f"{name}: {what}: {path}: {verdict}")
            for one in told(file) if file else []:
                print(f"    {one['rule']} at {one['field']}: {one['message']}")
    print(f"{'slip':24}{'made':>6}{'found':>7}{'right':>7}{'several':>9}{'elsewhere':>11}")
    for what, some in sorted(kinds.items()):
        made_of, silent = sum(some.values()), some["silent"]
        print(f"{what:24}{made_of:6}{made_of - silent:7}{some['right']:7}{some['several']:9}"
              f"{some['elsewhere']:11}")
    found = counts["right"] + counts["several"] + counts["elsewhere"]
    rate = counts["right"] / found if found else 0
    print(f"{len(made)} slips, {found} with a finding, of which {counts['right']} have exactly "
          f"one and at the slip: {rate:.1%}; {counts['several']} have several (at most {most}), "
          f"{counts['elsewhere']} point elsewhere; {counts['passed over']} passed over")
    return int(rate < WANTED or found < AT_LEAST / FEWER)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
