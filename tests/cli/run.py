"""Runs whole-program cases: folders here, each with what to run and all that must come out.

    run.py PROGRAM CASE ...            compares; fails with the differences
    run.py --accept PROGRAM [CASE ...] rewrites what must come out (all cases where none is named)
    run.py --list                      prints the names of all cases
    run.py --same CASE ...             fails unless these are all cases

A case is a folder with
    title       one line: what it shows
    args        the arguments, one a line
    in          standard input (empty where it is not there)
    env         NAME=VALUE lines, on top of the fixed environment
    out, err    all of standard output and standard error
    status      the exit status
    made-NAME   all of a file NAME that the program makes or changes
and whatever files the program is to read.  The program runs in a copy of the folder.
"""
import difflib
import os
import shutil
import subprocess
import sys
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))
OURS = {"title", "args", "in", "env", "out", "err", "status"}
KEPT = ("ASAN_OPTIONS", "UBSAN_OPTIONS", "LSAN_OPTIONS")


def names():
    return sorted(name for name in os.listdir(HERE)
                  if os.path.exists(os.path.join(HERE, name, "title")))


def read(*path):
    try:
        with open(os.path.join(*path), "rb") as file:
            return file.read()
    except FileNotFoundError:
        return b""


def environment(case):
    fixed = {"LC_ALL": "C.UTF-8", "TERM": "dumb", "HOME": "/nonexistent", "PATH": "/nonexistent",
             "TZ": "UTC"}
    fixed.update({name: os.environ[name] for name in KEPT if name in os.environ})
    for line in read(HERE, case, "env").decode().splitlines():
        name, _, value = line.partition("=")
        fixed[name] = value
    return fixed


def copy(case, folder):
    """The case's own files, without what belongs to the test."""
    def is_ours(path, entries):
        if path != os.path.join(HERE, case):
            return set()
        return {e for e in entries if e in OURS or e.startswith("made-")}
    shutil.copytree(os.path.join(HERE, case), folder, symlinks=True, ignore=is_ours)


def files(folder):
    return {name: read(folder, name) for name in os.listdir(folder)
            if os.path.isfile(os.path.join(folder, name))}


def run(program, case):
    """What comes out, by the name of the file that it must equal."""
    with tempfile.TemporaryDirectory() as top:
        folder = os.path.join(top, "case")
        copy(case, folder)
        before = files(folder)
        done = subprocess.run(
            [program, *read(HERE, case, "args").decode().splitlines()], cwd=folder,
            env=environment(case), input=read(HERE, case, "in"), capture_output=True, timeout=60,
            check=False)
        given = {"out": done.stdout, "err": done.stderr, "status": b"%d\n" % done.returncode}
        for name, text in files(folder).items():
            if before.get(name) != text:
                given["made-" + name] = text
    return given


def wanted(case):
    made = [name for name in os.listdir(os.path.join(HERE, case)) if name.startswith("made-")]
    return {name: read(HERE, case, name) for name in ["out", "err", "status", *made]}


def difference(name, want, give):
    shown = [text.decode("utf-8", "backslashreplace").splitlines(keepends=True)
             for text in (want, give)]
    return "".join(line if line.endswith("\n") else line + "\n" for line in
                   difflib.unified_diff(*shown, "wanted " + name, "given " + name))


def compare(program, case):
    want, give = wanted(case), run(program, case)
    wrong = False
    for name in sorted(want.keys() | give.keys()):
        if want.get(name) != give.get(name):
            wrong = True
            sys.stdout.write(difference(f"{case}/{name}", want.get(name, b""),
                                        give.get(name, b"")))
    return wrong


def accept(program, case):
    want, give = wanted(case), run(program, case)
    for name in want.keys() - give.keys():
        os.remove(os.path.join(HERE, case, name))
    for name, text in give.items():
        if read(HERE, case, name) != text or name not in os.listdir(os.path.join(HERE, case)):
            print(f"{case}/{name}")
            with open(os.path.join(HERE, case, name), "wb") as file:
                file.write(text)


def main(arguments):
    if arguments[0] == "--list":
        print("\n".join(names()))
        return False
    if arguments[0] == "--same":
        apart = sorted(set(names()) ^ set(arguments[1:]))
        if apart:
            print("set up the build again, so that it knows of these cases:", *apart)
        return bool(apart)
    if arguments[0] == "--accept":
        for case in arguments[2:] or names():
            accept(os.path.abspath(arguments[1]), case)
        return False
    program = os.path.abspath(arguments[0])
    return any([compare(program, case) for case in arguments[1:]])


if __name__ == "__main__":
    sys.exit(1 if main(sys.argv[1:]) else 0)
