"""Agreement with the controller's own file, and waivers: each row a machine file, what lies beside
it, and all that is found about the two.

    agreements.py PROGRAM MACHINE
"""
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import time

import run

PLAIN = {"LC_ALL": "C.UTF-8", "TERM": "dumb", "HOME": "/nonexistent", "TZ": "UTC",
         **{name: os.environ[name] for name in run.KEPT if name in os.environ}}
SLOW = 5  # s: only a run-away; what it takes on a quiet machine is printed
TEXT = "; probing\nSTROKE 20\nFEED = 2.50 MM/S\nSTANDOFF:12.0\nCONTACT stops\nNAME example router\n"
NUMBER = "(?<value>[-0-9.,]+)"


def agree(pattern, field="change.probe_stroke", unit="mm", text=TEXT, **more):
    """One agreement, and the file that it speaks of."""
    rows = {"file": "change.txt", "pattern": pattern, "field": field, "unit": unit, **more}
    lines = [f"{key}: {json.dumps(value)}" for key, value in rows.items() if value is not None]
    return "agrees_with:\n  - " + "\n    ".join(lines) + "\n", {"change.txt": text}


STROKE = "^STROKE " + NUMBER
COSTLY = {
    "nested repeats": ("(?<value>(a+)+)$", "a" * 40000 + "b"),
    "a run before every start": ("(?<value>[ab]*[bc]d(?=x))", "ab" * 20000 + "d"),
    "a run before a late end": ("(?<value>[ab]*[bc]d(?=x))", "ab" * 20000 + "\ndx"),
    "dots": ("(?<value>.*.*.*.*x)", "y" * 40000 + "\nx"),
    "the same run again": ("(?=(a+))(?<value>\\1b)", "a" * 40000 + "\nb"),
    "looking ahead": ("(?=(a+))(?<value>a*b\\1)c", "a" * 40000 + "\nbc"),
    "a word before every end": ("(?<value>(?:\\w+\\s?)*z)$", "word " * 8000 + "\n-z-"),
    "repeats of repeats": ("(?<value>(?:a{0,60}){0,60}b)", "a" * 20000 + "\nb"),
}

# What is written, and the findings: name, field, and the words that must be in the message.
AGREEMENTS = {
    "the same": (agree(STROKE), []),
    "lost": (agree(STROKE, text="STROKE 21\n"),
             [("agreement-lost", "change.probe_stroke", "20 mm here, but change.txt says 21 mm")]),
    "to the digits written": (agree(STROKE, text="STROKE 20.4\n"),
                              [("agreement-lost", "change.probe_stroke", "20.4 mm")]),
    "rounded to whole millimetres": (agree("^S " + NUMBER, "setter.nose_contact",
                                           text="S -125\n"), []),
    "half a digit off": (agree("^S " + NUMBER, text="S 20.0\nS 20.0\n"), []),
    "rounded to its digits": (agree("^F " + NUMBER, "axes.x.rapid", "in/s", text="F 3.94\n"), []),
    "its last digit another": (agree("^F " + NUMBER, "axes.x.rapid", "in/s", text="F 3.95\n"),
                               [("agreement-lost", "axes.x.rapid", "3.95 in/s")]),
    "a fraction is exact": (agree("^W (?<value>.+)", "axes.x.travel.high", "in",
                                  text="W 31 1/2\n"),
                            [("agreement-lost", "axes.x.travel.high", "800 mm here")]),
    "a typeset minus": (agree("^S (?<value>.+)", "setter.nose_contact",
                              text="S \u2212125.4\n"),
                        [("agreement-lost", "setter.nose_contact", "-125 mm here")]),
    "an exponent is exact": (agree("^S (?<value>.+)", text="S 2.01e1\n"),
                             [("agreement-lost", "change.probe_stroke", "20 mm here")]),
    "the unit beside the number": (agree(r"^FEED = (?<value>[\d.]+ \S+)", "change.probe_feed",
                                         None, "FEED = 2.50 mm/s\n"), []),
    "another unit": (agree(STROKE, unit="cm", text="STROKE 2.0\n"), []),
    "a wrong unit": (agree(STROKE, unit="kg"), [("unit-unknown", "agrees_with[0].unit", "kg")]),
    "no unit": (agree(STROKE, unit=None), [("unit-missing", "agrees_with[0].unit", "no unit")]),
    "within": (agree(STROKE, text="STROKE 20.9\n", within="1 mm"), []),
    "not within": (agree(STROKE, text="STROKE 21.1\n", within="1 mm"),
                   [("agreement-lost", "change.probe_stroke", "21.1 mm")]),
    "within what": (agree(STROKE, within="1 s"), [("*", "agrees_with[0].within", "")]),
    "unmatched": (agree("^STRIDE " + NUMBER),
                  [("agreement-unmatched", "agrees_with[0].pattern", "finds nothing")]),
    "no number": (agree("^CONTACT (?<value>.+)"),
                  [("agreement-unmatched", "agrees_with[0].pattern", "no number")]),
    "ambiguous": (agree(STROKE, text="STROKE 20\nSTROKE 25\n"),
                  [("agreement-ambiguous", "agrees_with[0].pattern", "20 and 25")]),
    "twice the same": (agree(STROKE, text="STROKE 20\nSTROKE 20\n"), []),
    "lines of another system": (agree(STROKE + "$", text="A\r\nSTROKE 20\r\n"), []),
    "bytes that are no text": (agree(STROKE, text="\udcff\udcfe\nSTROKE 20\n\udcff"), []),
    "an empty file": (agree(STROKE, text=""),
                      [("agreement-unmatched", "agrees_with[0].pattern", "finds nothing")]),
    "a word": (agree("^CONTACT (?<value>.+)", "change.no_contact", None), []),
    "another word": (agree("^CONTACT (?<value>.+)", "change.no_contact", None,
                           "CONTACT continues\n"),
                     [("agreement-lost", "change.no_contact", "says continues")]),
    "a text": (agree("^NAME (?<value>.+)", "machine.name", None), []),
    "a flag": (agree("^T (?<value>.+)", "change.touches_old", None, "T no\n"),
               [("agreement-lost", "change.touches_old", "yes here")]),
    "of a pair": (agree("^L " + NUMBER, "axes.z.travel.low", text="L -140\n"), []),
    "of a cutter": (agree("^C " + NUMBER, "cutters[number=2].stickout", text="C 45\n"), []),
    "of another cutter": (agree("^C " + NUMBER, "cutters[0].stickout", text="C 45\n"),
                          [("agreement-lost", "cutters[0].stickout", "32 mm here")]),
    "no group": (agree("^STROKE [0-9]+"), [("wrong-kind", "agrees_with[0].pattern", "value")]),
    "two groups": (agree("(?<a>S)TROKE " + NUMBER),
                   [("wrong-kind", "agrees_with[0].pattern", "one named group")]),
    "a broken pattern": (agree("(?<value>[0-9"), [("wrong-kind", "agrees_with[0].pattern", "")]),
    "no such field": (agree(STROKE, "change.probe_strike"),
                      [("unknown-name", "agrees_with[0].field", "change.probe_stroke")]),
    "a field that is not there": (agree(STROKE, "homing.x.overtravle"),
                                  [("unknown-name", "agrees_with[0].field", "")]),
    "too large a file": (agree(STROKE, text="x" * (4 << 20) + "\nSTROKE 20\n"),
                         [("agreement-unmatched", "agrees_with[0].file", "more than 4194304 bytes")]),
    "as large as may be": (agree(STROKE, text="G1 X12.5 Y-3.25 Z-2\n" * ((4 << 20) // 20 - 2)
                                 + "STROKE 20\n"), []),
    "a pattern that is too large": (agree("(?<value>(?:a{0,200}){0,200}){0,30}c"),
                                    [("wrong-kind", "agrees_with[0].pattern", "too large")]),
    **{name: (agree(pattern, text=text),
              [("agreement-pattern-costly", "agrees_with[0].pattern", "too many steps")])
       for name, (pattern, text) in COSTLY.items()},
}


def waive(rule, **more):
    rows = {"rule": rule, "reason": "seen on the machine", **more}
    lines = [f"{key}: {value}" for key, value in rows.items() if value is not None]
    return "  - " + "\n    ".join(lines) + "\n"


# Changes of the machine, its waivers, and: what is waived (rule, subject), what fails (name, field).
SHORT = {"probe_stroke: 20 mm": "probe_stroke: 12 mm"}
THIN = {"stickout: 32 mm\n    diameter: 6 mm": "stickout: 20 mm\n    diameter: 6 mm",
        "stickout: 38 mm\n    diameter: 28 mm": "stickout: 10 mm\n    diameter: 28 mm"}
WAIVERS = {
    "waived": (SHORT, [waive("probe-stroke-short")],
               {("probe-stroke-short", f"cutter {c}") for c in (1, 2, 3)}, set()),
    "at its place": (SHORT, [waive("probe-stroke-short", where="change.probe_stroke")],
                     {("probe-stroke-short", f"cutter {c}") for c in (1, 2, 3)}, set()),
    "above its place": (SHORT, [waive("probe-stroke-short", where="change")],
                        {("probe-stroke-short", f"cutter {c}") for c in (1, 2, 3)}, set()),
    "elsewhere": (SHORT, [waive("probe-stroke-short", where="change.probe_feed")], set(),
                  {("probe-stroke-short", "change.probe_stroke"),
                   ("waiver-unused", "waivers[0].rule")}),
    "the start of a name is no place": (
        SHORT, [waive("probe-stroke-short", where="change.probe")], set(),
        {("probe-stroke-short", "change.probe_stroke"), ("waiver-unused", "waivers[0].rule")}),
    "one cutter by its number": (
        THIN, [waive("flutes-in-collet", where='"cutters[number=3]"')],
        {("flutes-in-collet", "cutter 3")},
        # what would have followed from the waived one stands for itself
        {("flutes-in-collet", "cutters[0].stickout"),
         ("cutter-cannot-reach-table", "axes.z.travel.low")}),
    "one cutter by its place": (
        THIN, [waive("flutes-in-collet", where='"cutters[0].stickout"')],
        {("flutes-in-collet", "cutter 1")},
        {("flutes-in-collet", "cutters[2].stickout"),
         ("cutter-cannot-reach-table", "axes.z.travel.low")}),
    "a cutter that is not there": (
        THIN, [waive("flutes-in-collet", where='"cutters[number=7]"')], set(),
        {("flutes-in-collet", "cutters[0].stickout"), ("flutes-in-collet", "cutters[2].stickout"),
         ("waiver-unused", "waivers[0].rule")}),
    "its last day": (SHORT, [waive("probe-stroke-short", until="2026-06-01")],
                     {("probe-stroke-short", f"cutter {c}") for c in (1, 2, 3)}, set()),
    "a day too late": (SHORT, [waive("probe-stroke-short", until="2026-05-31")], set(),
                       {("probe-stroke-short", "change.probe_stroke"),
                        ("waiver-expired", "waivers[0].until")}),
    "without a reason": (SHORT, [waive("probe-stroke-short", reason='"  "')], set(),
                         {("probe-stroke-short", "change.probe_stroke"),
                          ("waiver-unreasoned", "waivers[0].reason")}),
    "unused": ({}, [waive("probe-stroke-short")], set(), {("waiver-unused", "waivers[0].rule")}),
    "of a rule that does not apply": ({}, [waive("plate-untested")], set(), set()),
    "of a rule that cannot be asked": ({"  run_up: 4 s\n": ""},
                                       [waive("dwell-start-short")], set(), set()),
    "of no rule": ({}, [waive("probe-stroke-shrt")], set(),
                   {("unknown-name", "waivers[0].rule")}),
    "of a warning of the reader": ({"standoff: 12 mm": "standoff: 12 mm\n  tea: no"},
                                   [waive("unknown-key")], set(),
                                   {("unknown-key", "change.tea"),
                                    ("waiver-unused", "waivers[0].rule")}),
}


def check(program, text, files):
    with tempfile.TemporaryDirectory() as folder:
        for name, content in {"shed.yaml": text, **files}.items():
            pathlib.Path(folder, name).write_bytes(content.encode("utf-8", "surrogateescape"))
        start = time.monotonic()
        done = subprocess.run([program, "check", "--format", "json", "--today", "2026-06-01",
                               "shed.yaml"], cwd=folder, env=PLAIN, capture_output=True,
                              timeout=60, check=False, stdin=subprocess.DEVNULL)
        took = time.monotonic() - start
    if done.returncode not in (0, 1):
        sys.exit(done.stderr.decode())
    return json.loads(done.stdout)["files"][0]["evaluations"], took


def fits(one, wanted):
    name, field, words = wanted
    return name in ("*", one["rule"]) and one["field"] == field and words in one["message"]


def agreements(program, base):
    failures, slowest = 0, 0
    for name, ((entry, files), wanted) in AGREEMENTS.items():
        found, took = check(program, base + entry, files)
        slowest = max(slowest, took)
        failed = [one for one in found if one["outcome"] == "failed"]
        right = len(failed) == len(wanted) and all(map(fits, failed, wanted))
        for one in failed:
            if one["rule"] == "agreement-lost":
                there = [r for r in one["related"] if r["path"] == "change.txt"]
                right = right and len(there) == 1 and one["line"] and there[0]["line"]
        if not right or took > SLOW:
            failures += 1
            print(f"{name}: {took:.3f} s", *[(o["rule"], o["field"], o["message"]) for o in failed],
                  sep="\n    ")
    print(f"{len(AGREEMENTS)} agreements, the slowest took {slowest * 1000:.0f} ms")
    return failures


def waivers(program, base):
    failures = 0
    for name, (changes, entries, waived, wanted) in WAIVERS.items():
        text = base
        for old, new in changes.items():
            if text.count(old) != 1:
                sys.exit(f"{name}: `{old}` is not there once")
            text = text.replace(old, new)
        found, _ = check(program, text + "waivers:\n" + "".join(entries), {})
        are = {(o["rule"], o["subject"]) for o in found if o["outcome"] == "waived"}
        fail = {(o["rule"], o["field"]) for o in found
                if o["outcome"] == "failed" and not o["implied_by"]}
        reasons = {o["waived"]["reason"] for o in found if o["outcome"] == "waived"}
        if are != waived or fail != wanted or reasons - {"seen on the machine"}:
            failures += 1
            print(f"{name}: waived {sorted(are)}, failed {sorted(fail)}")
    print(f"{len(WAIVERS)} waivers")
    return failures


def main(program, machine):
    program = os.path.abspath(program)
    base = pathlib.Path(machine).read_text()
    sys.exit(1 if agreements(program, base) + waivers(program, base) else 0)


if __name__ == "__main__":
    main(*sys.argv[1:])
