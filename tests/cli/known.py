"""Known findings: what they set aside, and what they never do.

    known.py PROGRAM SAMPLES CHECK       one check
    known.py --list                      the names of all checks
"""
import json
import os
import re
import subprocess
import sys
import tempfile

DEEP = "approach-a-digit-too-deep.yaml"      # no finding that can hurt a person
WAIT = "wait-shorter-than-run-down.yaml"     # one that can
MIXED = "stroke-too-short-for-the-short-cutter.yaml"


class Shop:
    """A folder with machine files, and a file of what is known of them."""

    def __init__(self, program, samples, folder):
        self.program, self.samples, self.folder = os.path.abspath(program), samples, folder

    def text(self, name):
        with open(os.path.join(self.samples, name), encoding="utf-8") as file:
            return file.read()

    def put(self, name, text):
        with open(os.path.join(self.folder, name), "w", encoding="utf-8") as file:
            file.write(text)

    def check(self, *arguments):
        return subprocess.run([self.program, "check", "--today", "2026-11-27", *arguments], text=True,
                              cwd=self.folder, capture_output=True, timeout=100)

    def write(self, *files):
        done = self.check("--write-known", "known.yaml", *files)
        assert done.returncode == 0, done
        return done

    def new(self, *files):
        """Status, and what counts: rule and subject."""
        done = self.check("--known", "known.yaml", "--format", "json", *files)
        found = [(one["rule"], one["subject"]) for file in json.loads(done.stdout)["files"]
                 for one in file["evaluations"]
                 if one["outcome"] == "failed" and not one.get("known") and not one["implied_by"]]
        return done.returncode, found


def turned(text):
    """Lines moved, a comment more, cutters and the keys of each in another order."""
    head, _, rest = text.partition("\ncutters:\n")
    block, _, tail = rest.partition("\n\n")
    items = [re.split(r"\n    ", item) for item in re.split(r"(?m)^  - ", block)[1:]]
    assert len(items) > 2
    rows = ["  - " + "\n    ".join(reversed([line.rstrip("\n") for line in item])) for item in reversed(items)]
    return "# moved\n\n".join(["", head.lstrip("\n")])[9:] + "\n\ncutters:\n" + "\n".join(rows) + "\n\n" + tail


def nothing_is_new(shop):
    shop.put(DEEP, shop.text(DEEP))
    shop.put(MIXED, shop.text(MIXED))
    shop.write(DEEP, MIXED)
    assert shop.new(DEEP, MIXED) == (0, [])
    assert shop.new("./" + DEEP) == (0, [])
    done = shop.check("--known", "known.yaml", DEEP, MIXED)
    assert "known and set aside" in done.stdout.splitlines()[-1], "how many is told"
    assert not done.stderr, "all of them are still there"
    quiet = shop.check("-q", "--known", "known.yaml", MIXED)
    assert "1 error" in quiet.stdout and "known" in quiet.stdout, "quiet, but not silent"
    counts = json.loads(shop.check("--known", "known.yaml", "--format", "json", MIXED).stdout)["counts"]
    assert counts["error"] == 0 and counts["known"]["error"] > 0, counts
    for form in ("sarif", "junit", "github", "gitlab"):
        assert "known and set aside" in shop.check("--known", "known.yaml", "--format", form, MIXED).stdout, form


def moved_and_renamed(shop):
    shop.put(DEEP, shop.text(DEEP))
    shop.write(DEEP)
    other = turned(shop.text(DEEP))
    shop.put(DEEP, other)
    assert shop.new(DEEP) == (0, [])
    shop.put("renamed.yaml", other)
    assert shop.new("renamed.yaml") == (0, []), "the content is the same"
    shop.put("other.yaml", shop.text(DEEP).replace("work:\n", "work:   # another\n").replace("-205 mm", "-204 mm"))
    status, found = shop.new("other.yaml")
    assert status == 1 and found, "another machine has findings of its own"


def new_ones_count(shop):
    shop.put(MIXED, shop.text(MIXED))
    shop.write(MIXED)
    shop.put(MIXED, shop.text(MIXED).replace("order: [z, xy]", "order: [xy, z]"))
    status, found = shop.new(MIXED)
    assert status == 1 and {rule for rule, _ in found} == {"home-z-not-first"}, found
    worse = shop.text(MIXED).replace("probe_stroke: 18 mm", "probe_stroke: 17 mm")
    assert worse != shop.text(MIXED)
    shop.put(MIXED, worse)
    status, found = shop.new(MIXED)
    assert status == 1 and found, "what has grown worse counts"
    shop.put(MIXED, shop.text(MIXED).replace("probe_stroke: 18 mm", "probe_stroke: 19 mm"))
    assert shop.new(MIXED) == (0, []), "what has become less is set aside still"


def mended_ones_are_told(shop):
    shop.put(MIXED, shop.text(MIXED))
    shop.write(MIXED)
    shop.put(MIXED, shop.text(MIXED).replace("probe_stroke: 18 mm", "probe_stroke: 30 mm"))
    done = shop.check("--known", "known.yaml", MIXED)
    assert done.returncode == 0 and "probe-stroke-short of cutter 1 is not found any more" in done.stderr, done
    assert re.search(r"known\.yaml:\d+: ", done.stderr)
    shop.put(MIXED, "proveout: 1\nmachine: [\n")
    assert "any more" not in shop.check("--known", "known.yaml", MIXED).stderr, "nobody knows of a broken file"


def persons_are_never_hidden(shop):
    shop.put(WAIT, shop.text(WAIT))
    done = shop.write(WAIT)
    assert "can hurt a person" in done.stderr, done.stderr
    status, found = shop.new(WAIT)
    assert status == 1 and ("dwell-stop-short", None) in found, found
    # nor by writing its fingerprint in by hand
    report = json.loads(shop.check("--format", "json", WAIT).stdout)
    rows = "".join(f'      - {{rule: {one["rule"]}, level: error, fingerprint: {one["fingerprint"]}}}\n'
                   for one in report["files"][0]["evaluations"] if one["outcome"] == "failed")
    shop.put("known.yaml", f"proveout-known: 1\nfiles:\n  - file: {WAIT}\n    content: 0\n    findings:\n{rows}")
    assert shop.new(WAIT) == (status, found)


def mistakes_have_places(shop):
    shop.put(DEEP, shop.text(DEEP))
    whole = "proveout-known: 1\nfiles:\n  - file: a\n    content: b\n    findings:\n      - {%s}\n"
    row = "rule: a, level: error, fingerprint: 0123456789abcdef"
    for text, wanted in (
            ("", "known.yaml:1:1: error"),
            ("files: []\n", "known.yaml:1:1: error: a file of known findings begins with"),
            ("proveout-known: 2\n", "begins with"),
            ("proveout-known: 1\nfiles: 3\n", "known.yaml:2:8: error: files wants a list"),
            ("proveout-known: 1\nfile: []\n", "known.yaml:2:1: error: a file of known findings has no key 'file'"),
            (whole % (row + ", colour: red"), "known.yaml:6:"),
            (whole % row.replace("error", "bad"), "level is error, warning or note"),
            (whole % row.replace("cdef", "cdeg"), "fingerprint is 16"),
            (whole % (row + ", margin: 3 mm"), "margin wants a number"),
            (whole % "rule: [", "known.yaml:6:")):
        shop.put("known.yaml", text)
        done = shop.check("--known", "known.yaml", DEEP)
        assert done.returncode == 2 and wanted in done.stderr and not done.stdout, (text, done)
    shop.put("known.yaml", whole % row)
    assert shop.check("--known", "known.yaml", DEEP).returncode == 1
    assert shop.check("--known", "not-there.yaml", DEEP).returncode == 2
    assert shop.check("--known", "known.yaml", "--write-known", "x.yaml", DEEP).returncode == 2
    assert not os.path.exists(os.path.join(shop.folder, "x.yaml"))
    for option in ("--known", "--write-known", "--since", "--changed"):
        done = shop.check("--sheet", "s.html", option, "x", DEEP)
        assert done.returncode == 2 and option in done.stderr, "nothing is passed over in silence"
    good = shop.text("workshop-router.yaml")
    shop.put("good.yaml", good)
    shop.write("good.yaml")
    assert shop.new("good.yaml") == (0, []), "a file of no findings can be read"
    done = shop.check("--write-known", "good.yaml", "good.yaml")
    assert done.returncode == 2 and "proveout: 1" in good
    with open(os.path.join(shop.folder, "good.yaml"), encoding="utf-8") as file:
        assert file.read() == good, "a machine file is never written over"


def jobs_make_no_difference(shop):
    names = []
    for name in sorted(os.listdir(shop.samples)):
        if name.endswith(".yaml"):
            shop.put(name, shop.text(name))
            names.append(name)
    for jobs, where in (("1", "one.yaml"), ("4", "four.yaml")):
        assert shop.check("-j", jobs, "--write-known", where, *names).returncode == 0
    texts = []
    for where in ("one.yaml", "four.yaml"):
        with open(os.path.join(shop.folder, where), encoding="utf-8") as file:
            texts.append(file.read())
    assert texts[0] == texts[1]
    done = [shop.check("-j", jobs, "--known", "one.yaml", *names) for jobs in ("1", "4")]
    assert (done[0].stdout, done[0].stderr) == (done[1].stdout, done[1].stderr)


CHECKS = {one.__name__.replace("_", "-"): one for one in (
    nothing_is_new, moved_and_renamed, new_ones_count, mended_ones_are_told, persons_are_never_hidden,
    mistakes_have_places, jobs_make_no_difference)}

if __name__ == "__main__":
    if sys.argv[1:] == ["--list"]:
        print("\n".join(CHECKS))
        sys.exit()
    with tempfile.TemporaryDirectory() as place:
        CHECKS[sys.argv[3]](Shop(sys.argv[1], sys.argv[2], place))
