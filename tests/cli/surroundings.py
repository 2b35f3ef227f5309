"""How the program behaves in odd surroundings, where a whole-program case will not do.

    surroundings.py PROGRAM CHECK
    surroundings.py --list

CHECK is the name of a function below without its `check_`.
"""
import fcntl
import json
import os
import pty
import re
import resource
import select
import signal
import stat
import struct
import subprocess
import sys
import tempfile
import termios
import time

import run

sys.path.insert(0, os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
from share import FEWER  # noqa: E402

PROGRAM = ""
KEPT = {name: os.environ[name] for name in run.KEPT if name in os.environ}
PLAIN = {"LC_ALL": "C.UTF-8", "TERM": "dumb", "HOME": "/nonexistent", "TZ": "UTC", **KEPT}
DAY = ["--today", "2026-06-01"]


def machine(case="finding"):
    return run.Case(case).files["shed.yaml"]


def write(folder, name, data):
    path = os.path.join(folder, name)
    os.makedirs(os.path.dirname(path), exist_ok=True)
    with open(path, "wb") as file:
        file.write(data)
    return path


def call(*arguments, env=None, **more):
    more.setdefault("stdout", subprocess.PIPE)
    more.setdefault("stderr", subprocess.PIPE)
    more.setdefault("stdin", subprocess.DEVNULL)
    done = subprocess.run([PROGRAM, *arguments], env={**PLAIN, **(env or {})}, timeout=60,
                          check=False, **more)
    return done.returncode, done.stdout, done.stderr


def expect(given, wanted, what=""):
    if given != wanted:
        sys.exit(f"{what}\ngiven:  {given!r}\nwanted: {wanted!r}")


def expect_true(truth, *what):
    if not truth:
        sys.exit(" ".join(repr(part) if isinstance(part, bytes) else str(part) for part in what))


def check_full_disk(folder):
    path = write(folder, "shed.yaml", machine())
    for arguments in (["check", path], ["check", "--format", "json", path], ["--help"],
                      ["--version"], ["explain", "setter"], ["rules"], ["rules", "--prove"]):
        with open("/dev/full", "wb") as full:
            status, _, error = call(*arguments, stdout=full)
        expect((status, error),
               (2, b"proveout: standard output cannot be written: the disk is full.\n"), arguments)
    status, out, error = call("check", "--output", "/dev/full", path)
    expect((status, out, error),
           (2, b"", b"proveout: /dev/full cannot be written: the disk is full.\n"))


def check_closed_pipe(folder):
    paths = [write(folder, f"{i}.yaml", machine()) for i in range(400)]
    for jobs in "1", "4":
        reading, writing = os.pipe()
        os.close(reading)
        status, _, error = call("check", "-j", jobs, *paths, stdout=writing)
        os.close(writing)
        expect((status, error), (2, b""))
        with subprocess.Popen([PROGRAM, "check", "-j", jobs, *paths], stdout=subprocess.PIPE,
                              stderr=subprocess.PIPE, env=PLAIN) as running:
            running.stdout.readline()
            running.stdout.close()
            expect((running.wait(60), running.stderr.read()), (2, b""))


def check_closed_descriptors(folder):
    path = write(folder, "shed.yaml", machine())
    before = machine()
    for closed in (1,), (2,), (0, 1, 2):
        def close():
            for number in closed:
                os.close(number)
        status, _, _ = call("check", path, path + "-away", preexec_fn=close)
        expect(status, 2, closed)
        with open(path, "rb") as file:
            expect(file.read(), before)
    # What is said on a closed standard error must not land in the output file.
    out = os.path.join(folder, "out.txt")
    status, _, _ = call("check", "-o", out, path, "away", preexec_fn=lambda: os.close(2))
    with open(out, "rb") as file:
        expect_true(b"proveout:" not in file.read(), "a message is in the output")
    expect(call("check", "-", preexec_fn=lambda: os.close(0))[0], 2)


def check_jobs(folder):
    paths = []
    for i in range(800 if FEWER == 1 else 300):
        case = "finding" if i % 3 else "clean"
        text = machine(case) if i % 7 else machine("not-yaml")
        paths.append(write(folder, f"m/{i:04}.yaml", text + b"# %d\n" % i))
        if i % 50 == 0:
            write(folder, f"m/{i:04}-other.yaml", b"on: push\n")
        if i % 90 == 0:
            os.symlink("nowhere", os.path.join(folder, "m", f"{i:04}-away.yaml"))
    for form in ["--format=text"], ["--format=json", "--show=failed"]:
        wanted = call("check", *DAY, *form, "--jobs=1", "m", cwd=folder)
        expect(wanted[0], 2)
        for jobs in "2", "3", "8", "200":
            given = call("check", *DAY, *form, f"--jobs={jobs}", "m", cwd=folder)
            expect_true(given == wanted, f"{jobs} jobs give other output than one")


def check_long_outputs(folder):
    """Longer than is held of one file, in its place among short ones, and with nobody to read on."""
    text = run.machine("sample-configs/workshop-router.yaml")
    start, end = text.index(b"  - number: 1\n"), text.index(b"allowances:")
    cutters = re.split(rb"(?m)^(?=  - number)", text[start:end])[1:]
    for i in range(5):
        many = b"".join(re.sub(rb"number: .*", b"number: %d" % (n + 1), cutters[n % len(cutters)])
                        for n in range((3, 250, 120)[i % 3]))
        write(folder, f"m/{i}.yaml", text[:start] + many + text[end:])
    arguments = ["check", *DAY, "--format", "json", "--show", "all", "m"]
    wanted = call(*arguments, "-j1", cwd=folder)
    listed = json.loads(wanted[1])["files"]
    expect((wanted[0], [file["path"] for file in listed]), (0, [f"m/{i}.yaml" for i in range(5)]))
    expect_true(min(len(json.dumps(listed[i])) for i in (1, 2, 4)) > 300000, "not long enough")
    for jobs in "2", "5":
        expect_true(call(*arguments, "-j", jobs, cwd=folder) == wanted, "-j", jobs)
    status, _, _ = call(*arguments, "-j3", "-o", "out.json", cwd=folder)
    with open(os.path.join(folder, "out.json"), "rb") as file:
        expect_true(status == 0 and file.read() == wanted[1], "-o")
    for jobs in "1", "3":
        with subprocess.Popen([PROGRAM, *arguments, "-j", jobs], stdout=subprocess.PIPE,
                              stderr=subprocess.PIPE, env=PLAIN, cwd=folder) as running:
            running.stdout.read(100000)
            running.stdout.close()
            expect((running.wait(60), running.stderr.read()), (2, b""))


def check_order_of_files(folder):
    names = ["a.yaml", "b.yaml"]
    for name, case in zip(names, ("clean", "finding")):
        write(folder, name, machine(case))
    def blocks(order):
        out = call("check", *DAY, *order, cwd=folder)[1]
        return sorted(out.splitlines())
    expect(blocks(names), blocks(names[::-1]))


def check_pipes_as_files(folder):
    path = os.path.join(folder, "pipe.yaml")
    os.mkfifo(path)
    wanted = call("check", *DAY, "-", "--name", "pipe.yaml", input=machine(), stdin=None,
                  cwd=folder)
    with subprocess.Popen([PROGRAM, "check", *DAY, "pipe.yaml"], cwd=folder, env=PLAIN,
                          stdout=subprocess.PIPE) as running:
        with open(path, "wb") as pipe:
            for byte in range(0, len(machine()), 100):
                pipe.write(machine()[byte:byte + 100])
                pipe.flush()
        expect(running.stdout.read(), wanted[1])
    # In a folder a pipe is no file: nobody may be writing into it.
    write(folder, "sub/shed.yaml", machine("clean"))
    os.mkfifo(os.path.join(folder, "sub", "pipe.yaml"))
    status, out, _ = call("check", *DAY, "sub", cwd=folder)
    expect((status, out.count(b"\n")), (0, 1))


NAMES = ["my shed.yaml", " shed.yaml", "shed.yaml ", "a b/my shed.yaml", "a\tb.yaml", "a\nb.yaml",
         'a"b.yaml', "a'b.yaml", "a\\nb.yaml", "a\u202eb.yaml", "sch\xf6n.yaml", "a../b.yaml",
         "-a.yaml", "a:1:2: error: b%s.yaml", b"a\xff\x9bb.yaml"]
HOSTILE = ["a \t\n\r\"'\\n\x1b[31m\x7f\x9b31m\u202e\u200b\u2028\xf6.yaml",
           b"a\xff\xfe\x9b31m\xc3"]
HARMFUL = re.compile("[\0-\x09\x0b-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2066-\u2069]")


def check_names_of_files(folder):
    """Whatever a file is called, no byte of its name does harm where output goes to a pipe."""
    for number, name in enumerate(HOSTILE):
        name = name if isinstance(name, bytes) else name.encode()
        top = os.path.join(folder, str(number)).encode()
        write(top, name, machine())
        said = b"./" + name
        for arguments in (
                ["check", said], ["check", "--show=all", said], ["check", "."],
                ["check", "--format=json", said], ["check", said + b".away"],
                ["check", "--rulebook", said, said], ["check", "-o", said, said],
                ["check", "-o", said + b"/x", said], ["check", "-", "--name", name],
                ["window", said, "change.probe_stroke"], ["window", said, said],
                ["window", "--format=json", said, "change.probe_stroke"], ["dryrun", said],
                ["dryrun", "--format=json", said], ["revise", said, "change.probe_stroke=25 mm"],
                ["revise", said, said + b"=1"], ["revise", "--answers", said + b".away", said],
                ["rules", "--rulebook", said], ["rules", "--prove", "--rulebook", said],
                ["commission", said + b"/x"], ["explain", said], [b"--" + name], [name]):
            _, out, error = call(*arguments, cwd=top)
            for text in out, error:
                expect_true(not HARMFUL.search(text.decode()), arguments, text)
                expect_true(name not in text, arguments, text)


def check_names_in_differences(folder):
    """Patch finds the file of a difference, whatever it is called and from wherever it was named."""
    for number, name in enumerate(NAMES + HOSTILE):
        name = name if isinstance(name, bytes) else name.encode()
        top = os.path.join(folder, str(number)).encode()
        path = write(top, name, machine())
        for given, within in ((b"./" + name, top), (path, "/"),
                              (b"../" + str(number).encode() + b"/" + name, os.path.dirname(path))):
            write(top, name, machine())
            _, out, _ = call("revise", given, "change.probe_stroke=25 mm", cwd=top)
            # The tab behind a name with blanks is patch's.
            head = b"\n".join(out.split(b"\n")[:2]).replace(b".yaml\t", b".yaml")
            expect_true(not HARMFUL.search(head.decode()), given, head)
            done = subprocess.run(["patch", "-p1", "-d", within], input=out, capture_output=True,
                                  check=False)
            with open(path, "rb") as file:
                expect_true(b"probe_stroke: 25 mm" in file.read(), given, out, done)


def check_links_in_circles(folder):
    write(folder, "m/a/shed.yaml", machine("clean"))
    os.symlink("..", os.path.join(folder, "m", "a", "up"))
    os.symlink("self.yaml", os.path.join(folder, "m", "self.yaml"))
    status, out, error = call("check", *DAY, "m", cwd=folder)
    expect(status, 2)
    expect(error, b"proveout: m/self.yaml cannot be read: its links lead in a circle.\n")
    expect(out.count(b"m/a/shed.yaml: nothing found"), 1)
    # Named itself, a link to a folder is followed.
    os.symlink("m/a", os.path.join(folder, "link"))
    expect(call("check", *DAY, "link", cwd=folder)[0], 0)


def check_deep_folders(folder):
    """Deeper than any path may be long."""
    here = os.open(folder, os.O_RDONLY)
    for _ in range(60):
        os.mkdir("d" * 100, dir_fd=here)
        below = os.open("d" * 100, os.O_RDONLY, dir_fd=here)
        os.close(here)
        here = below
    os.close(here)
    write(folder, "shed.yaml", machine("clean"))
    status, out, error = call("check", *DAY, ".", cwd=folder)
    expect(status, 2)
    expect_true(b"its path is too long" in error, error)
    expect_true(b"nothing found" in out, out)
    subprocess.run(["rm", "-rf", folder + "/" + "d" * 100], check=True)


def check_too_large(folder):
    path = os.path.join(folder, "large.yaml")
    with open(path, "wb") as file:
        file.write(b"proveout: 1\n")
        file.truncate(64 * 1024 * 1024 + 1)
    for name in path, "/dev/zero":
        status, out, error = call("check", name)
        expect((status, error), (2, b""), name)
        expect_true(b"[too-large]" in out, out[:300])


def check_unreadable(folder):
    """Files and folders that this user may not read.  As root, another user is asked."""
    write(folder, "m/a.yaml", machine("clean"))
    write(folder, "m/b.yaml", machine("clean"))
    write(folder, "m/locked/c.yaml", machine("clean"))
    os.chmod(os.path.join(folder, "m", "b.yaml"), 0)
    os.chmod(os.path.join(folder, "m", "locked"), 0)
    os.chmod(folder, 0o755)
    def become_nobody():
        if os.getuid() == 0:
            os.setgroups([])
            os.setgid(65534)
            os.setuid(65534)
    try:
        status, out, error = call("check", *DAY, "m", cwd=folder, preexec_fn=become_nobody)
    except PermissionError:
        sys.exit(77)
    os.chmod(os.path.join(folder, "m", "locked"), 0o755)
    expect(status, 2)
    expect(error, b"proveout: m/b.yaml cannot be read: this user is not allowed to.\n"
                  b"proveout: m/locked cannot be read: this user is not allowed to.\n")
    expect(out.splitlines()[-1], b"3 files: nothing found; 2 could not be read")


def check_output_is_whole(folder):
    source = write(folder, "shed.yaml", machine())
    kept = write(folder, "kept.txt", b"as it was\n")
    os.chmod(kept, 0o640)
    # A write that fails half-way.
    def limit():
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100))
    status, _, error = call("check", "-o", kept, source, preexec_fn=limit)
    expect(status, 2)
    expect_true(b"kept.txt cannot be written: it would be too large." in error, error)
    expect(run.read(kept), b"as it was\n")
    expect(sorted(os.listdir(folder)), ["kept.txt", "shed.yaml"])
    # A run that goes well, onto a link: its target is written and keeps its rights.
    os.symlink("kept.txt", os.path.join(folder, "link.txt"))
    status, out, error = call("check", "-o", "link.txt", source, cwd=folder)
    expect((status, out, error), (1, b"", b""))
    expect_true(b"[probe-stroke-short]" in run.read(kept), "not written")
    expect_true(os.path.islink(os.path.join(folder, "link.txt")), "the link is gone")
    expect(stat.S_IMODE(os.stat(kept).st_mode), 0o640)
    # A new one has the rights that any new file has.
    call("check", "-o", "new.txt", source, cwd=folder, umask=0o027)
    expect(stat.S_IMODE(os.stat(os.path.join(folder, "new.txt")).st_mode), 0o640)


def check_killed(folder):
    """Stopped while it waits for more of a file."""
    write(folder, "kept.txt", b"as it was\n")
    pipe = os.path.join(folder, "pipe")
    os.mkfifo(pipe)
    for number in signal.SIGINT, signal.SIGTERM, signal.SIGHUP:
        with subprocess.Popen([PROGRAM, "check", "-o", "kept.txt", "pipe"], cwd=folder,
                              env=PLAIN, stderr=subprocess.PIPE) as running:
            with open(pipe, "wb"):
                time.sleep(0.1)
                running.send_signal(number)
                expect(running.wait(20), -number)
                expect(running.stderr.read(), b"")
        expect(sorted(os.listdir(folder)), ["kept.txt", "pipe"])
        expect(run.read(folder, "kept.txt"), b"as it was\n")


def on_terminal(arguments, columns=80, **env):
    """What a terminal of that width receives."""
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
    with subprocess.Popen([PROGRAM, *arguments], stdin=theirs, stdout=theirs,
                          stderr=subprocess.PIPE,
                          env={**PLAIN, "TERM": "xterm", **env}) as running:
        os.close(theirs)
        out = b""
        while True:
            ready, _, _ = select.select([ours], [], [], 20)
            try:
                more = os.read(ours, 65536) if ready else b""
            except OSError:
                more = b""
            if not more:
                break
            out += more
        running.wait(20)
    os.close(ours)
    return out.replace(b"\r\n", b"\n")


def check_terminal(folder):
    path = write(folder, "shed.yaml", machine())
    check = ["check", *DAY, path]
    expect_true(b"\x1b[1;31merror\x1b[0m" in on_terminal(check), "no colour on a terminal")
    for arguments, env in ((check, {"NO_COLOR": "1"}), (check, {"TERM": "dumb"}),
                           (check + ["--color=never"], {}), (check, {"TERM": ""})):
        expect_true(b"\x1b" not in on_terminal(arguments, **env), "colour", arguments, env)
    expect_true(b"\x1b[1;31m" in on_terminal(check, NO_COLOR=""), "an empty NO_COLOR says nothing")
    expect_true(b"\x1b[1;31m" in on_terminal(check + ["--color=always"], NO_COLOR="1"),
                "the option comes before NO_COLOR")
    # The sentence first, its place and rule below it; everything else as it goes into a file.
    head, *plain = call(*check)[1].splitlines()
    place, _, sentence = head.partition(b": error: ")
    sentence, _, rule = sentence.partition(b" [")
    shown = re.sub(rb"\x1b\[[0-9;]*m", b"", on_terminal(check)).splitlines()
    at = shown.index(b"  " + place + b" [" + rule)
    expect(b" ".join(line.strip() for line in shown[:at]), b"error: " + sentence)
    expect(shown[at + 1:], plain)
    # Only ASCII where the terminal takes no more; the same facts.
    ascii_only = on_terminal(check, LC_ALL="C", NO_COLOR="1")
    expect_true(max(ascii_only) < 128, "more than ASCII")
    expect_true(b"+/-" in ascii_only, ascii_only)


def check_widths(folder):
    path = write(folder, "shed.yaml", machine())
    for columns, most in (30, 40), (40, 40), (64, 64), (100, 100), (300, 100):
        out = on_terminal(["check", *DAY, path], columns=columns, NO_COLOR="1").decode()
        for line in out.splitlines():
            free = ".yaml:" in line or len(line.split()) == 1
            expect_true(free or len(line) <= most, columns, line)


def check_locale(folder):
    path = write(folder, "shed.yaml", machine())
    wanted = call("check", *DAY, path)
    for name in "C", "de_DE.UTF-8", "tr_TR.UTF-8", "POSIX", "":
        expect_true(call("check", *DAY, path, env={"LC_ALL": name}) == wanted, name)


def check_today(folder):
    """Without --today the local day counts, also where it is another than in Greenwich."""
    path = write(folder, "shed.yaml", machine("waived"))
    now = time.time()
    days = {zone: time.strftime("%Y-%m-%d", time.gmtime(now + 3600 * hours))
            for zone, hours in (("AAA-14", 14), ("BBB12", -12))}
    for zone, day in days.items():
        text = machine("waived").replace(b"2026-06-30", day.encode())
        write(folder, "shed.yaml", text)
        status, out, _ = call("check", path, env={"TZ": zone})
        after = time.strftime("%Y-%m-%d", time.gmtime(time.time() + 3600 * (14 if zone == "AAA-14"
                                                                            else -12)))
        expect_true(status == 0 or after != day, zone, day, out)


def check_many_failures(folder):
    """Of one rule at most 1,000 instances are listed, the rest is counted; one place is one finding."""
    head = machine().decode().partition("cutters:")[0]
    cutters = "".join(f"  - {{number: {i}, description: flat, stickout: 30 mm}}\n"
                      for i in range(1, 5001))
    path = write(folder, "shed.yaml", f"{head}cutters:\n{cutters}".encode())
    status, out, error = call("check", *DAY, path)
    expect((status, error), (1, b""))
    expect(out.count(b"[probe-stroke-short]"), 1)
    expect_true(b"and 987 more at this place\n" in out, out[:3000])
    expect_true(b"  4000 more of probe-stroke-short are not listed.\n" in out, out[-3000:])
    expect_true(len(out.splitlines()) < 80, len(out.splitlines()), "lines")
    file = json.loads(call("check", *DAY, "--format=json", path)[1])["files"][0]
    expect(file["more"], [{"rule": "probe-stroke-short", "failed": 4000}])
    expect(sum(e["outcome"] == "failed" for e in file["evaluations"]), 1000)


def check_rules_are_listed(folder):
    shown = call("rules")[1].decode()
    listed = re.findall(r"^  ([a-z][a-z0-9-]+) ", shown, re.M)
    titles = re.findall(r"^\S.*", shown, re.M)
    blanks = shown.count("\n\n")
    expect(shown.count("\n"), len(listed) + len(titles) + blanks)
    rules = os.path.join(os.path.dirname(os.path.dirname(run.HERE)), "rules")
    written = []
    for name in os.listdir(rules):
        if name.endswith(".yaml") and name != "base-machine.yaml":
            with open(os.path.join(rules, name), encoding="utf-8") as file:
                text = file.read()
            written += re.findall(r"^  ([a-z][a-z0-9-]+):$", text.partition("\nrules:\n")[2], re.M)
    expect(sorted(listed), sorted(written))
    for name in written:
        status, out, error = call("explain", name, cwd=folder)
        expect((status, error), (0, b""), name)
        expect_true(out.startswith(name.encode() + b": "), out)


def names():
    return [name[6:] for name in globals() if name.startswith("check_")]


def main(arguments):
    global PROGRAM
    if arguments == ["--list"]:
        print("\n".join(names()))
        return
    PROGRAM = os.path.abspath(arguments[0])
    with tempfile.TemporaryDirectory() as folder:
        globals()["check_" + arguments[1]](folder)


if __name__ == "__main__":
    # Whoever started the tests may ignore a hang-up; the programs under test must not inherit that.
    signal.signal(signal.SIGHUP, signal.SIG_DFL)
    main(sys.argv[1:])
