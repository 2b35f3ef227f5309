"""The policy of a folder: where it is found, what it asks, and what it cannot do.

    policy.py PROGRAM SAMPLES CHECK      one check
    policy.py --list                     the names of all checks
"""
import json
import os
import subprocess
import sys
import tempfile

GOOD, SHORT = "workshop-router.yaml", "stroke-too-short-for-the-short-cutter.yaml"
WAIT = "wait-shorter-than-run-down.yaml"
BOOK = """rulebook: 1
title: Club rules
rules:
  cutter-too-long:
    level: warning
    hurts: work
    each: c in cutters
    require: c.stickout <= 20 mm
    says: cutter {c.number} sticks out {c.stickout}
    why: in this club nobody wants more
    put_right: push it in
    source: a test
    examples:
      holds: [ {"cutters[0].stickout": 20 mm}, {"cutters[0].stickout": 15 mm} ]
      fails: [ {"cutters[0].stickout": 21 mm, margin: -1 mm}, {"cutters[0].stickout": 30 mm} ]
"""

WAITS = """rulebook: 1
title: Waits
rules:
  wait-of-the-club:
    level: warning
    hurts: work
    require: spindle.dwell_after_stop >= 19 s
    blame: spindle.dwell_after_stop
    says: we wait {spindle.dwell_after_stop} for the spindle
    why: a second for whoever looks away
    put_right: wait for {shortfall} more
    source: a test
    examples:
      holds: [ {spindle.dwell_after_stop: 19 s}, {spindle.dwell_after_stop: 20 s} ]
      fails: [ {spindle.dwell_after_stop: 18.9 s, margin: -0.1 s}, {spindle.dwell_after_stop: 10 s} ]
"""


class Shop:
    def __init__(self, program, samples, folder):
        self.program, self.samples, self.folder = os.path.abspath(program), os.path.abspath(samples), folder

    def put(self, name, text):
        path = os.path.join(self.folder, name)
        os.makedirs(os.path.dirname(path), exist_ok=True)
        with open(path, "w", encoding="utf-8") as file:
            file.write(text)

    def copy(self, sample, name, *changes):
        with open(os.path.join(self.samples, sample), encoding="utf-8") as file:
            text = file.read()
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new, 1)
        self.put(name, text)

    def policy(self, text, where="."):
        self.put(os.path.join(where, "proveout.policy.yaml"), "proveout-policy: 1\n" + text)

    def run(self, *arguments, where="."):
        return self.say("check", *arguments, where=where)

    def say(self, command, *arguments, where=".", **how):
        return subprocess.run([self.program, command, "--today", "2026-11-27", *arguments], timeout=100,
                              cwd=os.path.join(self.folder, where), capture_output=True, text=True, **how)

    def found(self, *arguments, **how):
        done = self.run("--format", "json", *arguments, **how)
        assert done.stdout, done.stderr
        return done.returncode, {(one["rule"], one["level"], one["outcome"])
                                 for file in json.loads(done.stdout)["files"] for one in file["evaluations"]
                                 if one["outcome"] in ("failed", "waived") and not one["implied_by"]}


def where_it_is_found(shop):
    shop.copy(GOOD, "club/mills/a.yaml")
    shop.policy("agreements: yes\n", "club")
    wanted = ("agreement-wanted", "error", "failed")
    assert shop.found("club") == (1, {wanted}), "from the folder that is searched on"
    assert shop.found("club/mills/a.yaml") == (0, set()), "a file alone: its own folder"
    assert shop.found("--root", "club", "club/mills/a.yaml") == (1, {wanted})
    assert shop.found("--root", "..", "a.yaml", where="club/mills") == (1, {wanted})
    assert shop.found("--root", "club/mills", "club/mills/a.yaml") == (0, set()), "never above the root"
    shop.policy("stop_at: error\n", "club/mills")
    assert shop.found("club") == (0, set()), "the nearest counts alone"
    told = shop.run("--show", "policy", "club").stdout
    assert told == ("club/mills/proveout.policy.yaml:\n  findings count from error on\n"
                    "  holds for club/mills/a.yaml\n"), told
    os.remove(os.path.join(shop.folder, "club/mills/proveout.policy.yaml"))
    os.symlink("../proveout.policy.yaml", os.path.join(shop.folder, "club/mills/proveout.policy.yaml"))
    done = shop.run("club")
    assert done.returncode == 2 and "it is no plain file" in done.stderr and not done.stdout


def thresholds_and_levels(shop):
    shop.copy(SHORT, "a.yaml")
    assert shop.found("a.yaml") == (1, {("probe-stroke-short", "error", "failed")})
    shop.policy("levels: {probe-stroke-short: note}\n")
    assert shop.found("a.yaml") == (0, {("probe-stroke-short", "note", "failed")})
    shop.policy("levels: {probe-stroke-short: note}\nstop_at: note\n")
    assert shop.found("a.yaml")[0] == 1
    assert shop.found("--stop-at", "warning", "a.yaml")[0] == 0, "the command line goes first"
    shop.copy(WAIT, "w.yaml")
    for rule in ("dwell-stop-short", "collet-over-capacity"):
        shop.policy(f"levels: {{{rule}: note}}\n")
        done = shop.run("w.yaml")
        assert done.returncode == 2 and "proveout.policy.yaml:2:10: error" in done.stderr, done.stderr
        assert "can hurt a person: its level is never lowered" in done.stderr
    shop.policy("levels: {unknown-key: note}\n")
    assert "its level is never lowered" in shop.run("w.yaml").stderr
    shop.policy("levels: {unhomed-change: error, dwell-stop-short: error}\n")
    assert shop.run("w.yaml").returncode == 1, "raised, or left as it is"


def rulebooks(shop):
    shop.copy(GOOD, "club/a.yaml")
    shop.put("club/books/club.yaml", BOOK)
    shop.policy("rulebooks: [books/club.yaml]\nstop_at: warning\nlevels: {cutter-too-long: error}\n", "club")
    assert shop.found("club/a.yaml") == (1, {("cutter-too-long", "error", "failed")})
    sarif = json.loads(shop.run("--format", "sarif", "club").stdout)["runs"][0]
    assert [rule["id"] for rule in sarif["tool"]["driver"]["rules"]] == ["cutter-too-long"]
    shop.policy("rulebooks: [../club.yaml]\n", "club")
    shop.put("club.yaml", BOOK)
    done = shop.run("club/a.yaml")
    assert done.returncode == 2 and "cannot be read" in done.stderr, "none but beside it or below"
    shop.put("club/bad.yaml", "rulebook: 1\ntitle: x\nrules: 3\n")
    shop.policy("rulebooks: [bad.yaml]\n", "club")
    done = shop.run("club/a.yaml")
    assert done.returncode == 2 and "bad.yaml:3:" in done.stderr


def agreements_and_ages(shop):
    agreed = ("\ncutters:\n", "\nagrees_with:\n  - {file: c.txt, pattern: 'stroke=(?<value>[0-9.]+)', unit: mm, "
                              "field: change.probe_stroke}\n\ncutters:\n")
    shop.put("c.txt", "stroke=25\n")
    shop.copy(GOOD, "a.yaml", agreed)
    shop.policy("agreements: yes\n")
    assert shop.found("a.yaml") == (0, set())
    shop.policy("agreements: [change.probe_stroke, change.approach_z]\n")
    done = shop.run("a.yaml")
    assert done.returncode == 1 and "nothing holds change.approach_z against" in done.stdout
    shop.policy("agreements: [change.none]\n")
    assert "there is no field called change.none" in shop.run("a.yaml").stderr
    shop.policy("measured_within: 60 days\nstop_at: warning\n")
    assert shop.found("a.yaml") == (0, set())
    old = ("measured-long-ago", "warning", "failed")
    shop.policy("measured_within: 30 days\nstop_at: warning\n")
    assert shop.found("a.yaml") == (1, {old})
    told = shop.run("a.yaml").stdout
    assert "setter.measured_on is 48 days ago" in told and "also:" not in told, "each is told once"
    shop.policy("measured_within: 60 days\nstop_at: warning\n")
    shop.copy(GOOD, "a.yaml", agreed, ("  measured_on: 2026-10-10\n", ""))
    status, found = shop.found("a.yaml")
    assert status == 1 and old in found, "nobody knows how old it is"
    shop.copy(GOOD, "a.yaml", agreed, ("    stickout: 33 mm\n", "    stickout: 33 mm\n    measured_on: 2026-08-01\n"))
    assert shop.found("a.yaml") == (1, {old})
    assert "is 118 days ago" in shop.run("a.yaml").stdout


def who_may_waive(shop):
    waiver = ("\ncutters:\n", "\nwaivers:\n  - {rule: probe-stroke-short, reason: 'no short cutter is used', "
                              "accepted_by: R. Holm}\n\ncutters:\n")
    shop.copy(SHORT, "a.yaml", waiver)
    held = {("probe-stroke-short", "error", "waived")}
    assert shop.found("a.yaml") == (0, held)
    for lets in ("waivers: [{rules: ['*'], by: [R. Holm]}]\n", "waivers: [{rules: [probe-stroke-short]}]\n",
                 "stop_at: error\n"):
        shop.policy(lets)
        assert shop.found("a.yaml") == (0, held), lets
    for lets in ("waivers: []\n", "waivers: [{rules: ['*'], by: [A. Other]}]\n",
                 "waivers: [{rules: [long-and-thin], by: [R. Holm]}]\n"):
        shop.policy(lets)
        assert shop.found("a.yaml") == (1, {("probe-stroke-short", "error", "failed"),
                                            ("waiver-not-allowed", "warning", "failed")}), lets
    shop.policy("waivers: [{rules: [none-such]}]\n")
    assert "there is no rule called none-such" in shop.run("a.yaml").stderr


def mistakes(shop):
    shop.copy(GOOD, "a.yaml")
    for text, words in (("stop: error\n", ":2:1: error: a policy has no key 'stop' here"),
                        ("stop_at: bad\n", "stop_at is error, warning or note"),
                        ("levels: {long-and-thin: high}\n", "a level is error, warning or note"),
                        ("levels: {none-such: error}\n", "there is no rule called none-such"),
                        ("measured_within: 3 weeks\n", "measured_within wants days"),
                        ("measured_within: 0 days\n", "measured_within wants days"),
                        ("rulebooks: club.yaml\n", "rulebooks wants a list"),
                        ("waivers: [{rule: [x]}]\n", "a policy has no key 'rule' here"),
                        ("waivers: [\n", "error")):
        shop.policy(text)
        done = shop.run("a.yaml")
        assert done.returncode == 2 and not done.stdout and words in done.stderr, (text, done)
        assert done.stderr.startswith("proveout.policy.yaml:"), done.stderr
    shop.put("proveout.policy.yaml", "proveout: 1\n")
    assert "a policy begins with the line `proveout-policy: 1`" in shop.run("a.yaml").stderr


def every_command(shop):
    """What looks at one machine asks what its folder has agreed on, and no other folder."""
    wait = ("dwell_after_stop: 18 s", "dwell_after_stop: 20 s")
    for folder in ("club", "elsewhere"):
        shop.copy(GOOD, folder + "/a.yaml", wait)
        shop.copy(GOOD, folder + "/short.yaml")
    shop.policy("stop_at: warning\nrulebooks: [waits.yaml]\n", "club")
    shop.put("club/waits.yaml", WAITS)
    for command, *more in (("compare", "a.yaml", "short.yaml"), ("sheet", "short.yaml"), ("draw", "short.yaml"),
                           ("propose", "short.yaml"), ("window", "a.yaml", "spindle.dwell_after_stop"),
                           ("revise", "a.yaml", "spindle.dwell_after_stop=18s"),
                           ("revise", "a.yaml", "spindle.dwell_after_stop")):
        club, other = (shop.say(command, *more, where=folder, input="18 s\n\n")
                       for folder in ("club", "elsewhere"))
        assert "wait-of-the-club" in club.stdout and not club.stderr, (command, club)
        assert "wait-of-the-club" not in other.stdout + other.stderr, (command, other)
        if command in ("compare", "revise"):
            assert (club.returncode, other.returncode) == (1, 0), ("from which level on", command, club)
    shop.policy("rulebooks: [none.yaml]\n", "club")
    for command in ("sheet", "draw", "dryrun", "propose", "window", "measure", "revise", "commission"):
        done = shop.say(command, "a.yaml", where="club", input="")
        assert done.returncode == 2 and not done.stdout and "none.yaml" in done.stderr, (command, done)


CHECKS = {one.__name__.replace("_", "-"): one for one in (
    where_it_is_found, thresholds_and_levels, rulebooks, agreements_and_ages, who_may_waive, mistakes,
    every_command)}

if __name__ == "__main__":
    if sys.argv[1:] == ["--list"]:
        print("\n".join(CHECKS))
        sys.exit()
    with tempfile.TemporaryDirectory() as place:
        CHECKS[sys.argv[3]](Shop(sys.argv[1], sys.argv[2], place))
