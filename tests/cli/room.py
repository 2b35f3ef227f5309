"""How much memory the largest inputs may take, and that those without an end come to one.

    room.py PROGRAM CHECK
    room.py --list

CHECK is the name of a function below without its `check_`.  The limits are gross: what held a file
many times over does not get through, and a few bytes more or less do not show.  bench/ measures.
"""
import os
import resource
import subprocess
import sys
import tempfile

import run

PROGRAM = ""
PLAIN = {"LC_ALL": "C.UTF-8", "TERM": "dumb", "HOME": "/nonexistent", "TZ": "UTC"}
MEGA = 1024 * 1024
LARGEST = 64 * MEGA
ENDLESS = {"zeros": ["cat", "/dev/zero"], "line ends": ["yes", ""]}


def machine():
    return run.machine("sample-configs/workshop-router.yaml")


def write(folder, name, *parts):
    path = os.path.join(folder, name)
    with open(path, "wb") as file:
        for part in parts:
            file.write(part)
    return path


def call(most, *arguments, **more):
    """Status, output and errors, within `most` megabytes of addresses."""
    more.setdefault("stdin", subprocess.DEVNULL)
    done = subprocess.run(
        [PROGRAM, *arguments], env=PLAIN, timeout=300, check=False, capture_output=True,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (most * MEGA, most * MEGA)),
        **more)
    return done.returncode, done.stdout, done.stderr


def expect(truth, *what):
    if not truth:
        sys.exit(" ".join(str(part) for part in what))


def check_difference(folder):
    """The difference holds only what it shows, not a record of each line."""
    top, below = machine().split(b"\nchange:\n")
    for name, fill in ("line ends", b"\n"), ("comments", b"# of a line\n"):
        path = write(folder, "long.yaml", top, b"\n", fill * (16 * MEGA // len(fill)),
                     b"change:\n", below)
        status, out, error = call(160, "revise", path, "machine.name=other",
                                  "change.probe_stroke=26 mm")
        expect(status == 0 and out.count(b"\n@@ ") == 2, name, status, out[:2000], error)


def check_endless(folder):
    """What has no end is read up to the limit, and held once."""
    pipe, shed = os.path.join(folder, "pipe.yaml"), write(folder, "shed.yaml", machine())
    os.mkfifo(pipe)
    for name, source in ENDLESS.items():
        for arguments in (["check", "-"], ["check", "--format", "json", "-"], ["window", "-"],
                          ["dryrun", "-"], ["check", "--rulebook", "/dev/stdin", shed],
                          ["check", pipe], ["revise", pipe, "change.probe_stroke=26 mm"]):
            if name == "zeros" and len(arguments) != 2:
                continue
            named = pipe in arguments
            with subprocess.Popen(
                    ["sh", "-c", 'exec "$@" >' + pipe, "sh", *source] if named else source,
                    stdout=subprocess.DEVNULL if named else subprocess.PIPE) as endless:
                status, out, error = call(140, *arguments, stdin=endless.stdout)
                if endless.stdout:
                    endless.stdout.close()
                endless.kill()
            expect(status == 2, name, arguments, status, out, error)
            expect(b"memory" not in error, name, arguments, error)
            expect(arguments[0] != "check" or b"at most 67108864 are read" in out + error or
                   b"more than 67108864 bytes" in error, name, arguments, out, error)


def check_endless_answers(folder):
    """Neither do answers go on for ever that never end a line."""
    shed = write(folder, "shed.yaml", machine())
    for arguments in (["commission"], ["commission", "--answers", "/dev/zero"],
                      ["revise", shed, "setter"]):
        with open("/dev/zero", "rb") as zero:
            status, out, error = call(40, *arguments, stdin=zero, cwd=folder)
        expect(status == 2 and b"too long" in out, arguments, status, out[-300:], error)
        expect(b"memory" not in error, arguments, error)


def check_endless_files(folder):
    shed = write(folder, "shed.yaml", machine())
    for arguments in (["check", "/dev/zero"], ["check", "--rulebook", "/dev/zero", shed],
                      ["revise", "/dev/zero", "a.b=1"], ["dryrun", "/dev/zero"]):
        status, out, error = call(140, *arguments)
        expect(status == 2 and b"memory" not in error, arguments, out, error)
    # What a machine file names may be anybody's: what is no plain file is not even opened.
    os.symlink("/dev/zero", os.path.join(folder, "zero"))
    os.mkfifo(os.path.join(folder, "pipe"))
    with open(os.path.join(folder, "large"), "wb") as file:
        file.truncate(1024 * LARGEST)
    for name in "zero", "pipe", "large":
        write(folder, "shed.yaml", machine(), b"\nagrees_with:\n  - file: ", name.encode(),
              b"\n    pattern: '(?<value>[0-9]+)'\n    unit: mm\n    field: change.standoff\n")
        status, out, error = call(140, "check", shed)
        expect(status in (0, 1) and name.encode() in out, name, status, out, error)


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
    main(sys.argv[1:])
