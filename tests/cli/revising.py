"""Revising real files: every field of the machine that the rules' examples change, and what a save
leaves behind however it ends.

    revising.py PROGRAM MACHINE CHECK
    revising.py --list

CHECK is the name of a function below without its `check_`.
"""
import difflib
import json
import os
import random
import re
import resource
import shutil
import signal
import stat
import subprocess
import sys
import tempfile

import yaml

import run

sys.path.insert(0, os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
from share import share  # noqa: E402

PROGRAM = MACHINE = ""
SKIPPED = 77
KEPT = {name: os.environ[name] for name in run.KEPT if name in os.environ}
PLAIN = {"LC_ALL": "C.UTF-8", "TERM": "dumb", "HOME": "/nonexistent", "TZ": "UTC", **KEPT}
LEAKS = {"ASAN_OPTIONS": "detect_leaks=0"}  # a leak check does not work under a tracer


def call(folder, *arguments, **more):
    return subprocess.run([PROGRAM, *arguments], cwd=folder, env=PLAIN, capture_output=True,
                          timeout=60, check=False, stdin=subprocess.DEVNULL, **more)


def read(*path):
    with open(os.path.join(*path), "rb") as file:
        return file.read()


def write(data, *path):
    with open(os.path.join(*path), "wb") as file:
        file.write(data)


def expect(truth, *what):
    if not truth:
        sys.exit(" ".join(str(part.decode("utf-8", "replace") if isinstance(part, bytes) else part)
                          for part in what))


def leaves(tree, path=""):
    """(path, value) of all that is no section: texts, and lists of texts."""
    if isinstance(tree, dict):
        for key, value in tree.items():
            yield from leaves(value, f"{path}.{key}" if path else key)
    elif isinstance(tree, list) and tree and isinstance(tree[0], dict):
        for i, item in enumerate(tree):
            yield from leaves(item, f"{path}[{i}]")
    else:
        yield path, tree


def load(data):
    return dict(leaves(yaml.load(data, yaml.BaseLoader)))


def other(value, rng):
    """Another text that the same field takes; None where that is not easily told."""
    if isinstance(value, list):
        return "[" + ", ".join(reversed(value)) + "]" if len(value) > 4 else None
    number = re.fullmatch(r"(-?[\d.]+)( ?.*)", value)
    if re.fullmatch(r"\d{4}-\d\d-\d\d", value):
        return "2026-02-%02d" % rng.randint(1, 28)
    if not number or "." in number[2]:
        return {"yes": "no", "no": "yes"}.get(value)
    factor = rng.choice([0.9, 1.1, 1.5])
    if not number[2]:
        return str(int(float(value)) + 1)
    return f"{float(number[1]) * factor:.4g}{number[2]}"


def dressed(text, rng, line_end):
    """The machine in another dress: remarks, empty lines, other line ends."""
    lines = []
    for line in text.splitlines():
        if line.strip() and rng.random() < 0.1:
            lines.append(" " * (len(line) - len(line.lstrip())) + "# a remark")
        if rng.random() < 0.05:
            lines.append("")
        lines.append(line + rng.choice(["", "", "", "  # why", "   "]) if line.strip() else line)
    return (line_end.join(lines) + rng.choice([line_end, ""])).encode()


def check_revision(folder, before, path, text):
    """One value set: only it changes, the printed difference says the same, and again nothing."""
    write(before, folder, "m.yaml")
    shown = call(folder, "revise", "m.yaml", f"{path}={text}")
    expect(shown.returncode in (0, 1), path, text, shown.stderr)
    expect(read(folder, "m.yaml") == before, path, "written without being asked to")
    done = call(folder, "revise", "--write", "m.yaml", f"{path}={text}")
    after = read(folder, "m.yaml")
    expect(done.returncode == shown.returncode, path, text, done.stderr)
    expect(done.stdout.endswith(b"m.yaml is written.\n"), path, done.stdout)

    old, new = load(before), load(after)
    wanted = yaml.load(f"v: {text}", yaml.BaseLoader)["v"]
    expect(new.pop(path) == wanted, path, text, "is not there")
    old.pop(path, None)
    expect(old == new, path, "something else changed")
    match = difflib.SequenceMatcher(None, before.split(b"\n"), after.split(b"\n"), autojunk=False)
    changed = [c for c in match.get_opcodes() if c[0] != "equal"]
    expect(len(changed) == 1, path, "changed in several places")

    write(before, folder, "p.yaml")
    write(shown.stdout, folder, "diff")
    patch = subprocess.run(["patch", "-p1", "--binary", "-s", "-i", "diff", "p.yaml"], cwd=folder,
                           capture_output=True, check=False)
    expect(patch.returncode == 0 and read(folder, "p.yaml") == after, path, "is not what the "
           "difference says", patch.stdout, shown.stdout)

    again = call(folder, "revise", "--write", "m.yaml", f"{path}={text}")
    expect(again.stdout == b"m.yaml: nothing changes; it says all of this already.\n", path,
           again.stdout)
    expect(read(folder, "m.yaml") == after, path, "changed again")


def check_every_field(folder):
    rng = random.Random(7)
    plain = read(MACHINE).decode()
    count = 0
    drawn = share(load(plain).items(), 2)
    for path, value in drawn:
        text = other(value, rng)
        if path == "proveout" or text is None or text == value:
            continue
        before = dressed(plain, rng, rng.choice(["\n", "\n", "\r\n"]))
        check_revision(folder, before, path, text)
        count += 1
    expect(count > len(drawn) / 2, "only", count, "fields")


def check_every_key_added(folder):
    """Each key taken away with its line, and set again."""
    rng = random.Random(8)
    lines = read(MACHINE).decode().splitlines()
    plain = load("\n".join(lines))
    count = 0
    drawn = share(enumerate(lines), 2)
    for number, line in drawn:
        without = lines[:number] + lines[number + 1:]
        try:
            less = load("\n".join(without))
        except yaml.YAMLError:
            continue
        gone = [path for path in plain if path not in less]
        same = all(less[path] == plain[path] for path in less if path in plain)
        if len(gone) != 1 or gone[0] == "proveout" or len(less) != len(plain) - 1 or not same:
            continue
        value = plain[gone[0]]
        text = "[" + ", ".join(value) + "]" if isinstance(value, list) else value
        check_revision(folder, dressed("\n".join(without), rng, rng.choice(["\n", "\r\n"])),
                       gone[0], text)
        count += 1
    expect(count > len(drawn) / 3, "only", count, "keys")


def check_links_and_modes(folder):
    before = read(MACHINE)
    os.mkdir(os.path.join(folder, "deep"))
    write(before, folder, "deep", "m.yaml")
    os.chmod(os.path.join(folder, "deep", "m.yaml"), 0o640)
    os.symlink("deep/m.yaml", os.path.join(folder, "link.yaml"))
    os.symlink("link.yaml", os.path.join(folder, "link to link.yaml"))
    done = call(folder, "revise", "--write", "link to link.yaml", "change.standoff=13 mm")
    expect(done.returncode == 0, done.stderr)
    for link in "link.yaml", "link to link.yaml":
        expect(os.path.islink(os.path.join(folder, link)), link, "is no link any more")
    after = read(folder, "deep", "m.yaml")
    expect(after == before.replace(b"standoff: 12 mm", b"standoff: 13 mm"), after)
    mode = stat.S_IMODE(os.stat(os.path.join(folder, "deep", "m.yaml")).st_mode)
    expect(mode == 0o640, "mode", oct(mode))
    expect(os.listdir(os.path.join(folder, "deep")) == ["m.yaml"], "something was left behind")
    os.remove(os.path.join(folder, "deep", "m.yaml"))
    done = call(folder, "revise", "--write", "link.yaml", "change.standoff=13 mm")
    expect(done.returncode == 2 and b"there is no such file" in done.stderr, done.stderr)
    if os.geteuid() != 0:
        write(before, folder, "kept.yaml")
        os.chmod(os.path.join(folder, "kept.yaml"), 0o444)
        done = call(folder, "revise", "--write", "kept.yaml", "change.standoff=13 mm")
        expect(done.returncode == 2 and b"not allowed" in done.stderr, done.stderr)
        expect(read(folder, "kept.yaml") == before, "a file that may only be read was written")
        os.chmod(os.path.join(folder, "deep"), 0o555)
    write(before, folder, "m.yaml")
    with open("/dev/full", "wb") as full:
        done = subprocess.run([PROGRAM, "revise", "--write", "m.yaml", "change.standoff=13 mm"],
                              cwd=folder, env=PLAIN, stdout=full, stderr=subprocess.PIPE,
                              stdin=subprocess.DEVNULL, check=False)
    expect(done.returncode == 2 and read(folder, "m.yaml") == before,
           "written though nobody could see it", done.stderr)


def calls_of(trace):
    """How often each system call was made, in the part that reads and writes the file."""
    counts = {}
    for line in trace.splitlines():
        name = re.match(r"(\w+)\(", line)
        if name:
            counts[name[1]] = counts.get(name[1], 0) + 1
    return counts


STOPPED_AT = ("openat", "read", "pread64", "write", "fsync", "close", "renameat", "fchmod",
              "newfstatat", "rt_sigaction", "readlinkat", "unlinkat", "fchown", "fstat",
              "fgetxattr", "flistxattr", "exit_group")


def check_stopped_saves(folder):
    """A fault or a kill at each system call: the old file or the new one is there, whole."""
    before = read(MACHINE)
    after = before.replace(b"standoff: 12 mm", b"standoff: 13 mm")
    trace = os.path.join(folder, "trace")

    def traced(*inject):
        write(before, folder, "m.yaml")
        return subprocess.run(["strace", "-o", trace, *inject, PROGRAM, "revise", "--write",
                               "m.yaml", "change.standoff=13 mm"], cwd=folder,
                              env={**PLAIN, **LEAKS, "PATH": os.environ["PATH"]},
                              capture_output=True, stdin=subprocess.DEVNULL, check=False,
                              timeout=60)

    if not shutil.which("strace") or traced().returncode != 0:
        print("skipped: no tracer can be used here")
        sys.exit(SKIPPED)
    expect(read(folder, "m.yaml") == after, "the traced run does not save")
    ends = {"old": 0, "new": 0}
    made = [(name, number, fault) for name, count in calls_of(read(trace).decode(
                "utf-8", "replace")).items() if name in STOPPED_AT
            for number in range(1, count + 1)
            for fault in ("error=EIO", "error=ENOSPC", "signal=KILL", "signal=TERM")
            if name != "exit_group" or not fault.startswith("error")]
    drawn = share(made, 2)
    for name, number, fault in drawn:
        done = traced("-e", f"inject={name}:{fault}:when={number}")
        found = read(folder, "m.yaml")
        where = f"{name} {number} {fault}"
        expect(found in (before, after), where, "left neither the old nor the new file")
        ends["new" if found == after else "old"] += 1
        if done.returncode == 0:
            expect(found == after, where, "ended well and did not save")
        left = [n for n in os.listdir(folder) if n.startswith("m.yaml.")]
        if fault != "signal=KILL":
            expect(not left or name in ("unlink", "exit_group"), where, "left", left)
        for name_left in left:
            os.remove(os.path.join(folder, name_left))
    print(ends)
    expect(ends["old"] > len(drawn) / 2 and ends["new"] > 5, ends, "of", len(made))


def check_output_cut_off(folder):
    """A disk that is full: no half machine file stays behind, and the one given is left alone."""
    before = read(MACHINE)
    write(before, folder, "m.yaml")
    words = "revise", "--output", "new.yaml", "m.yaml", "change.standoff=13 mm"
    expect(call(folder, *words).returncode == 0, "the new file cannot be written at all")
    expect(read(folder, "new.yaml") == before.replace(b"standoff: 12 mm", b"standoff: 13 mm"),
           "the new file says something else")
    os.remove(os.path.join(folder, "new.yaml"))

    def limit():
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (len(before) - 1, len(before) - 1))

    done = call(folder, *words, preexec_fn=limit)
    expect(done.returncode == 2 and b"new.yaml cannot be written" in done.stderr, done.stderr)
    expect(read(folder, "m.yaml") == before, "the file given is changed")
    expect(os.listdir(folder) == ["m.yaml"], "left", os.listdir(folder))


def check_others_changes(folder):
    """A file that somebody else changes while questions are answered is not written over."""
    before = read(MACHINE)
    write(before, folder, "m.yaml")
    process = subprocess.Popen([PROGRAM, "revise", "--write", "m.yaml", "change.standoff"],
                               cwd=folder, env=PLAIN, stdin=subprocess.PIPE,
                               stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    shown = b""
    while b"Enter keeps 12 mm.\n" not in shown:
        shown += os.read(process.stdout.fileno(), 4096)
    theirs = before.replace(b"retract: 3 mm", b"retract: 4 mm")
    write(theirs, folder, "m.yaml")
    _, error = process.communicate(b"13 mm\n", timeout=60)
    expect(process.returncode == 2, process.returncode)
    expect(error == b"proveout: m.yaml cannot be written: somebody else has changed it "
           b"meanwhile.\n", error)
    expect(read(folder, "m.yaml") == theirs, "their change is lost")


LOG = b"# proveout log 1: day, machine file, field, old value, new value, reason\n"


def check_log(folder):
    """Whole lines are added to a log, and only to a log; without one nothing is written."""
    write(re.sub(rb"standoff: .*", b"standoff: 10 mm", read(MACHINE)), folder, "m.yaml")

    def revise(log, value, *more):
        return call(folder, "revise", "--today", "2026-06-01", "--write", "--log", log, "m.yaml",
                    f"change.standoff={value} mm", *more)

    def line(old, new, why=b""):
        return b"\t".join((b"2026-06-01", b"m.yaml", b"change.standoff", old, new, why)) + b"\n"

    done = revise("log", 12, "--why", "a\tb\nc \u202e \033[31m")
    expect(done.stderr == b"" and b"put into log." in done.stdout, done.stderr)
    whole = LOG + line(b"10 mm", b"12 mm", b"a\\tb\\nc \\u202e \\x1b[31m")
    expect(read(folder, "log") == whole, read(folder, "log"))
    os.truncate(os.path.join(folder, "log"), len(whole) - 9)  # as if somebody was stopped there
    revise("log", 13)
    expect(read(folder, "log") == whole[:-9] + b"\n" + line(b"12 mm", b"13 mm"),
           read(folder, "log"))
    kept = read(folder, "log")
    revise("log", 13)  # nothing changes
    call(folder, "revise", "--log", "log", "m.yaml", "change.standoff=14 mm")  # nothing is written
    expect(read(folder, "log") == kept, read(folder, "log"))

    os.mkfifo(os.path.join(folder, "pipe"))
    os.mkdir(os.path.join(folder, "sub"))
    write(b"#!/bin/sh\n", folder, "script")
    write(b"# proveout", folder, "short")
    machine = read(folder, "m.yaml")
    for other in ("m.yaml", "script", "short", "pipe", "sub", "no/such/folder", "/dev/null"):
        path = os.path.join(folder, other)
        held = read(path) if os.path.isfile(path) else None
        done = revise(other, 15)
        expect(done.returncode == 2 and b"nothing is written" in done.stderr, other, done.stderr)
        expect(read(folder, "m.yaml") == machine, other)
        expect(held is None or read(path) == held, other)
    write(b"", folder, "empty")
    revise("empty", 15)
    expect(read(folder, "empty") == LOG + line(b"13 mm", b"15 mm"), read(folder, "empty"))


NO_LOGS = ("../log", "..", ".log", "-log", "--write", "a/b", "/tmp/log", "a\\b", "..\\log", "C:log", "log:x",
           "CON", "con", "nul.txt", "Aux.log", "COM1", "lpt9.a.b", "PRN ", "a\tb", "a\nb", "a\x1b[31m",
           "a\u202eb", "log.", "log ", " log", "a|b", "a>b", "a*", "", "m.yaml", "M.YAML", "x" * 101)


def check_log_names(folder):
    """A log that a machine file names is a plain name beside it: nothing else is opened or made."""
    sub = os.path.join(folder, "sub")
    os.mkdir(sub)
    for name in NO_LOGS:
        before = read(MACHINE).replace(b"\n", b"\nlog: " + json.dumps(name).encode() + b"\n", 1)
        write(before, sub, "m.yaml")
        found = json.loads(call(sub, "check", "-f", "json", "m.yaml").stdout)["files"][0]
        expect([one for one in found["evaluations"] if one["rule"] == "log-not-plain"], name)
        done = call(sub, "revise", "--write", "m.yaml", "change.standoff=13 mm")
        expect(b"Nothing is put into a log" in done.stdout, name, done.stdout, done.stderr)
        expect(os.listdir(sub) == ["m.yaml"] and os.listdir(folder) == ["sub"], name, "is made")
        write(read(MACHINE), sub, "m.yaml")
        done = call(sub, "revise", "m.yaml", "log=" + name)
        expect(done.returncode == 2 or b"log-not-plain" in done.stdout or name != name.strip(), name,
               done.stdout)
    for name in "log", "m.log", "the log of m", "\u00fcber.txt", "com", "console", "a-b.c", "nul-1":
        write(read(MACHINE).replace(b"\n", b"\nlog: " + name.encode() + b"\n", 1), sub, "m.yaml")
        done = call(folder, "revise", "--write", "sub/m.yaml", "change.standoff=13 mm")
        expect(f"put into sub/{name}, which is new, as".encode() in
               b" ".join(done.stdout.split()), name, done.stdout)
        expect(read(sub, name).startswith(LOG) and b"13 mm" in read(sub, name), name)
        os.remove(os.path.join(sub, name))


def check_log_of_the_file(folder):
    """Lines go to a log that is one, through no link; else nothing is written, and that is said."""
    def revise(value, *more):
        return call(folder, "revise", "--today", "2026-06-01", "--write", "m.yaml",
                    f"change.standoff={value} mm", *more)

    before = read(MACHINE).replace(b"\n", b"\nlog: a.log\n", 1)
    path = os.path.join(folder, "a.log")
    write(LOG, folder, "real")
    write(b"precious\n", folder, "mine")
    for make in (lambda: os.symlink("real", path), lambda: os.symlink("nowhere", path),
                 lambda: os.symlink("a.log", path), lambda: os.mkfifo(path), lambda: os.mkdir(path),
                 lambda: os.link(os.path.join(folder, "mine"), path),
                 lambda: write(b"# proveout log", path)):
        write(before, folder, "m.yaml")
        make()
        kept = {name: read(folder, name) for name in ("real", "mine")}
        done = revise(14)
        expect(done.returncode == 2 and b"nothing is written" in done.stderr, done.stderr)
        expect(read(folder, "m.yaml") == before and not os.path.exists(os.path.join(folder, "nowhere")),
               done.stdout)
        expect(kept == {name: read(folder, name) for name in kept}, "something is added")
        (os.rmdir if os.path.isdir(path) else os.remove)(path)
    write(LOG, folder, "other")
    done = revise(14, "--log", "other", "--why", "colder")
    expect(not os.path.exists(path) and b"14 mm\tcolder\n" in read(folder, "other"), done.stderr)
    revise(15, "--why", "warmer")
    expect(read(path).endswith(b"14 mm\t15 mm\twarmer\n"), read(path))
    done = revise(16)
    expect(b"put into a.log, as the machine file says." in done.stdout, done.stdout)
    call(folder, "revise", "m.yaml", "change.standoff=17 mm")
    call(folder, "revise", "-o", "new.yaml", "m.yaml", "change.standoff=17 mm")
    expect(read(path).count(b"\n") == 3 and b"17 mm" in read(folder, "new.yaml"), read(path))


def check_log_of_several_files(folder):
    """Where one of several files cannot be written, nothing is logged, and that is said."""
    write(read(MACHINE), folder, "frame.yaml")
    own = b"proveout: 1\nextends: frame.yaml\nlog: a.log\nchange: {standoff: 12 mm}\n"
    write(own, folder, "m.yaml")
    os.link(os.path.join(folder, "m.yaml"), os.path.join(folder, "second"))
    words = "revise", "--write", "m.yaml", "change.standoff=13 mm", "change.retract=4 mm"
    done = call(folder, *words)
    expect(done.returncode == 2 and b"frame.yaml is written" in done.stdout, done.stdout)
    expect(b"nothing is put into the log, since not all was written" in done.stderr, done.stderr)
    expect(read(folder, "m.yaml") == own and read(folder, "a.log") == LOG, read(folder, "a.log"))


def length_of(margin):
    """A margin of a length, SI; others are made from lengths by dividing, and vary as they like."""
    return margin["si"] if margin and margin["dimension"] == "length" else 0.0


def verdicts(folder, name):
    """{(rule, subject): [(outcome, margin)]} of a file."""
    found = {}
    done = call(folder, "check", "--today", "2026-06-01", "--show", "all", "-f", "json", name)
    for one in json.loads(done.stdout)["files"][0]["evaluations"]:
        found.setdefault((one["rule"], one["subject"]), []).append(
            (one["outcome"], length_of(one["margin"])))
    return {key: sorted(some) for key, some in found.items()}


def remarks(text):
    return [line.partition(b" #")[2] for line in text.splitlines()]


def shortest(text):
    """Without the zeros at a number's end, which no other unit keeps."""
    return re.sub(rb"\.0+ mm", b" mm", re.sub(rb"(\.\d*[1-9])0+ mm", rb"\1 mm", text))


def check_units(folder):
    """In inches a machine is the same machine, and back in millimetres the same file."""
    samples = os.path.join(os.path.dirname(MACHINE), "..", "sample-configs")
    folder = shutil.copytree(samples, os.path.join(folder, "samples"))
    for name in sorted(name for name in os.listdir(samples) if name.endswith(".yaml"))[::3]:
        texts = {}
        for way in (("mm",), ("inch",), ("inch", "mm")):
            write(read(samples, name), folder, name)
            for unit in way:
                done = call(folder, "revise", "--write", name, "units", unit)
                expect(done.returncode in (0, 1) and not done.stderr, name, way, done.stderr)
            texts[way] = read(folder, name)
            expect(remarks(texts[way]) == remarks(read(samples, name)), name, "a comment is lost")
            there, here = verdicts(samples, name), verdicts(folder, name)
            expect(there.keys() == here.keys(), name, way)
            for key, before in there.items():
                for (outcome, margin), (now, other) in zip(before, here[key]):
                    near = abs(margin) < 1e-6 and "inch" in way  # nothing to spare, and rounded
                    expect((outcome == now or near) and abs(margin - other) < 1e-6,
                           name, way, key, before, here[key])
        expect(shortest(texts[("mm",)]) == shortest(texts[("inch", "mm")]), name, "is another file")
        expect(not re.search(rb"\d *mm(?![/\w^])", re.sub(rb"#.*|description.*|note.*", b"",
                                                        texts[("inch",)])), name, "has mm left")
    write(b"proveout: 1\nallowances: {reseat: &fine 25.4 mm, clearance: *fine}\ncutters:\n"
          b"  - &first {number: 1, stickout: 50.8 mm +/- 0.2 mm, diameter: '6.35 mm'}\n"
          b"  - {<<: *first, number: 2, stickout: 1/4 in}\n", folder, "merged.yaml")
    call(folder, "revise", "--write", "merged.yaml", "units", "inch")
    expect(read(folder, "merged.yaml") ==
           "proveout: 1\nallowances: {reseat: &fine 1 in, clearance: *fine}\ncutters:\n"
           "  - &first {number: 1, stickout: 2 in ± 0.007875 in, diameter: 0.25 in}\n"
           "  - {<<: *first, number: 2, stickout: 1/4 in}\n".encode(), read(folder, "merged.yaml"))
    write(b"proveout: 1\nextends: merged.yaml\ntable: {nose_contact: -9 mm}\n", folder, "own.yaml")
    done = call(folder, "revise", "--write", "own.yaml", "units", "inch")
    expect(done.returncode == 2 and b"takes in other files" in done.stderr, done.stderr)
    write(read(MACHINE).replace(b"standoff: 12 mm", b"standoff: twelve"), folder, "wrong.yaml")
    before = read(folder, "wrong.yaml")
    done = call(folder, "revise", "--write", "wrong.yaml", "units", "inch")
    expect(b"twelve" in before and done.returncode == 2 and b"stay as they are" in done.stderr,
           done.stderr)
    expect(read(folder, "wrong.yaml") == before, "it was written")


def check_names(folder):
    """The difference names the file in a way that patch takes."""
    before = read(MACHINE)
    os.mkdir(os.path.join(folder, "a b"))
    os.mkdir(os.path.join(folder, "c"))
    write(before, folder, "a b", "my shed.yaml")
    for path, name in (("a b/my shed.yaml", b"a b/my shed.yaml\t"),
                       (os.path.join(folder, "a b/my shed.yaml"),
                        os.path.join(folder, "a b/my shed.yaml").lstrip("/").encode() + b"\t"),
                       ("./a b/my shed.yaml", b"a b/my shed.yaml\t"),
                       ("c/../a b/my shed.yaml", b"my shed.yaml\t")):
        done = call(folder, "revise", path, "change.standoff=13 mm")
        expect(done.stdout.startswith(b"--- a/" + name + b"\n+++ b/" + name + b"\n"), path,
               done.stdout[:200])


CHECKS = {name[6:]: function for name, function in globals().items()
          if name.startswith("check_") and name != "check_revision"}


def main(arguments):
    global PROGRAM, MACHINE
    if arguments == ["--list"]:
        print("\n".join(CHECKS))
        return
    PROGRAM, MACHINE = (os.path.abspath(path) for path in arguments[:2])
    with tempfile.TemporaryDirectory() as folder:
        CHECKS[arguments[2]](os.path.realpath(folder))


if __name__ == "__main__":
    main(sys.argv[1:])
