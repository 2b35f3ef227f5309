"""What a save keeps, and when it is refused: rights, links, what others do meanwhile, lack of room.

    saving.py PROGRAM MACHINE SHIM CHECK
    saving.py --list

CHECK is the name of a function below without its `check_`.  What needs a second person is tried as
root, and skipped by others; what needs access lists, where the disk has them.
"""
import errno
import os
import re
import resource
import shutil
import stat
import struct
import subprocess
import sys
import tempfile

import run

PROGRAM = MACHINE = SHIM = ""
SKIPPED = 77
KEPT = {name: os.environ[name] for name in run.KEPT if name in os.environ}
PLAIN = {"LC_ALL": "C.UTF-8", "TERM": "dumb", "HOME": "/nonexistent", "TZ": "UTC", **KEPT}
CHANGE = "change.standoff=13 mm"
ANNA, BERT, SHOP, OTHERS = 64001, 64002, 64100, 64200  # two people, their group, and another
ACCESS, DEFAULT = "system.posix_acl_access", "system.posix_acl_default"
BEFORE = AFTER = b""


def call(folder, *arguments, person=None, env=None, **more):
    if person:
        more.update(user=person, group=person, extra_groups=[SHOP])
    try:
        done = subprocess.run([PROGRAM, *arguments], cwd=folder, env={**PLAIN, **(env or {})},
                              stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                              stderr=subprocess.PIPE, timeout=60, check=False, **more)
    except PermissionError:
        skip("others cannot run the program where it lies")
    return done.returncode, done.stderr.decode()


def skip(why):
    print("skipped:", why)
    sys.exit(SKIPPED)


def need_root():
    if os.geteuid() != 0:
        skip("only root can play a second person")


def write(folder, name, data=None, owner=None, group=None, mode=None):
    path = os.path.join(folder, name)
    with open(path, "wb") as file:
        file.write(BEFORE if data is None else data)
    if owner is not None:
        os.chown(path, owner, group)
    if mode is not None:
        os.chmod(path, mode)
    return path


def expect(truth, *what):
    if not truth:
        sys.exit(" ".join(map(str, what)))


def saved(folder, path="m.yaml", **more):
    status, error = call(folder, "revise", "--write", path, CHANGE, **more)
    expect((status, error) == (0, ""), status, error)
    expect(run.read(folder, path) == AFTER, "not saved")
    expect_nothing_left(folder)


def refused(folder, reason, arguments=("revise", "--write", "m.yaml", CHANGE), **more):
    status, error = call(folder, *arguments, **more)
    expect(status == 2 and error == f"proveout: {reason}.\n", status, error, "wanted:", reason)
    expect_nothing_left(folder)


def expect_nothing_left(folder):
    left = [name for _, _, files in os.walk(folder) for name in files if ".unfinished" in name]
    expect(not left, "left behind:", left)


def rights(path):
    """Owner, group, mode and all attributes."""
    about = os.stat(path)
    return (about.st_uid, about.st_gid, oct(about.st_mode),
            {name: os.getxattr(path, name) for name in os.listxattr(path)})


def access_list(*entries):
    """As the system has it: a version, then (kind, rights, who) of each entry."""
    kinds = {"user": 1, "person": 2, "group": 4, "team": 8, "mask": 16, "other": 32}
    return struct.pack("<I", 2) + b"".join(
        struct.pack("<HHI", kinds[kind], right, who[0] if who else 0xffffffff)
        for kind, right, *who in entries)


def set_list(path, name, *entries):
    try:
        os.setxattr(path, name, access_list(*entries))
    except OSError as error:
        if error.errno in (errno.ENOTSUP, errno.ENOSYS):
            skip("this disk has no access lists")
        raise


def wide_default(folder):
    """Whatever is made in the folder is given to Bert."""
    set_list(folder, DEFAULT, ("user", 7), ("person", 7, BERT), ("group", 7), ("mask", 7),
             ("other", 5))


def meanwhile(at, command, refuse=""):
    """Surroundings in which that happens: see tests/shim/meanwhile.c."""
    if not os.path.exists(SHIM):
        skip("nothing is preloaded into this build")
    return {"LD_PRELOAD": SHIM, "MEANWHILE_AT": at, "MEANWHILE": command, "REFUSE": refuse,
            "PATH": os.environ["PATH"]}


# --- rights ---

def check_second_person(folder):
    """A colleague's file is not taken from him, and nor is it parted from its group."""
    need_root()
    os.chown(folder, ANNA, SHOP)
    os.chmod(folder, 0o2775)
    path = write(folder, "m.yaml", None, ANNA, SHOP, 0o664)
    before = rights(path)
    taken = "it belongs to another user, from whom it would be taken"
    refused(folder, f"m.yaml cannot be written: {taken}: let that user save it, or change a copy "
            "of it", person=BERT)
    write(folder, "found", b"old", ANNA, SHOP, 0o664)
    refused(folder, f"found cannot be written: {taken}: let that user save it, or name another file",
            ("check", "-o", "found", "m.yaml"), person=BERT)
    expect(run.read(path) == BEFORE and run.read(folder, "found") == b"old", "written")
    expect(rights(path) == before, rights(path))
    for person in ANNA, None:
        saved(folder, person=person)
        expect(rights(path) == before, person, rights(path))
        write(folder, "m.yaml")
    # Without the folder's help: the group is not the usual one of whoever saves.
    os.chmod(folder, 0o775)
    for mode in 0o640, 0o604, 0o660, 0o400, 0o4644:
        os.chmod(path, mode)
        before = rights(path)
        saved(folder, person=None if mode in (0o400, 0o4644) else ANNA)
        expect(rights(path) == before, oct(mode), rights(path))
        write(folder, "m.yaml")
    write(folder, "m.yaml", None, ANNA, OTHERS, 0o640)
    refused(folder, "m.yaml cannot be written: its group cannot be kept by this user: change a "
            "copy of it", person=ANNA)
    saved(folder)
    expect(os.stat(path).st_gid == OTHERS, "the group is lost")


def check_no_way_in(folder):
    """A file that may be written in a folder that may not, and one that may only be read."""
    need_root()
    os.chmod(folder, 0o755)
    write(folder, "m.yaml", None, ANNA, SHOP, 0o664)
    refused(folder, "m.yaml cannot be written: no file can be made in its folder, as has to be "
            "(this user is not allowed to): change a copy of it", person=ANNA)
    os.chmod(folder, 0o777)
    os.chmod(os.path.join(folder, "m.yaml"), 0o444)
    refused(folder, "m.yaml cannot be written: this user is not allowed to", person=ANNA)
    # A folder that may be used and not listed.
    os.chmod(folder, 0o733)
    write(folder, "m.yaml", None, ANNA, ANNA, 0o600)
    saved(folder, person=ANNA)


def check_access_lists(folder):
    """Nobody gains a right by a save, and nobody loses one."""
    path = write(folder, "m.yaml")
    lists = ((("user", 6), ("person", 6, BERT), ("group", 4), ("mask", 6), ("other", 0)),
             (("user", 6), ("person", 4, ANNA), ("person", 6, BERT), ("group", 0), ("team", 4, SHOP),
              ("mask", 4), ("other", 4)),
             (("user", 7), ("group", 5), ("mask", 1), ("other", 0)))
    for folder_gives in False, True:
        if folder_gives:
            wide_default(folder)
        for entries in lists:
            set_list(path, ACCESS, *entries)
            before = rights(path)
            saved(folder)
            expect(ACCESS in before[3] and rights(path) == before, before, rights(path))
            write(folder, "m.yaml")
    os.removexattr(path, ACCESS)
    for mode in 0o640, 0o600, 0o644:
        os.chmod(path, mode)
        before = rights(path)
        saved(folder)
        expect(rights(path) == before and not before[3], before, rights(path))
        write(folder, "m.yaml")
    set_list(path, ACCESS, *lists[0])
    before = rights(path)
    lost = meanwhile("nothing", "", f"fsetxattr:{errno.EPERM}")
    refused(folder, "m.yaml cannot be written: its access list cannot be kept: change a copy of it",
            env=lost)
    expect(rights(path) == before and run.read(path) == BEFORE, rights(path))
    write(folder, "m.yaml", b"old\n")
    refused(folder, "m.yaml cannot be written: its access list cannot be kept: name another file",
            ("rules", "-o", "m.yaml"), env=lost)
    expect(rights(path) == before and run.read(path) == b"old\n", rights(path))


def check_attributes(folder):
    path = write(folder, "m.yaml")
    try:
        os.setxattr(path, "user.shop", b"second bay\0\xff")
        os.setxattr(path, "user.empty", b"")
        os.setxattr(path, "user.long", b"l" * 1500)
    except OSError:
        skip("this disk has no attributes")
    before = rights(path)
    saved(folder)
    expect(rights(path) == before and len(before[3]) >= 3, rights(path))
    need_root()
    write(folder, "m.yaml")
    os.setxattr(path, "trusted.shop", b"1")
    os.setxattr(path, "security.shop", b"2")
    before = rights(path)
    saved(folder)
    expect(rights(path) == before, rights(path))
    write(folder, "m.yaml")
    os.chown(path, ANNA, ANNA)
    os.chmod(folder, 0o777)
    before = rights(path)
    refused(folder, "m.yaml cannot be written: its attribute security.shop cannot be kept: change a "
            "copy of it", person=ANNA)
    expect(rights(path) == before and run.read(path) == BEFORE, rights(path))


def check_never_wider(folder):
    """At no moment may more people look into the new file than into the old one."""
    log = os.path.join(folder, "log")
    path = write(folder, "m.yaml")
    wide_default(folder)
    look = "stat -c '%a %u %g' m.yaml.unfinished-* >>log 2>/dev/null || [ -e log ]"
    for mode, entries in ((0o640, None), (0o600, None), (0o604, None), (0o640, (
            ("user", 6), ("person", 4, ANNA), ("group", 0), ("mask", 4), ("other", 0)))):
        write(folder, "log", b"")
        if ACCESS in os.listxattr(path):
            os.removexattr(path, ACCESS)
        os.chmod(path, mode)
        if entries:
            set_list(path, ACCESS, *entries)
        if os.geteuid() == 0:
            os.chown(path, ANNA, SHOP)
        saved(folder, env=meanwhile("any", look))
        seen = [line.split() for line in run.read(log).decode().splitlines()]
        expect(len(seen) > 4, seen)
        for given, _, group in seen:
            expect(int(given, 8) & ~mode == 0, given, "is more than", oct(mode))
            expect(int(given, 8) & 0o70 == 0 or group == str(os.stat(path).st_gid), seen)
        write(folder, "m.yaml")


def check_new_files(folder):
    """A new file has the rights that any new file has in this folder; a draft is nobody else's."""
    os.mkdir(os.path.join(folder, "lists"))
    os.mkdir(os.path.join(folder, "state"))
    wide_default(os.path.join(folder, "lists"))
    wide_default(os.path.join(folder, "state"))
    write(folder, "m.yaml")
    answers = b"1\n0 to 800, 0 to 600, -90 to 0\n"
    for umask in 0o022, 0o027, 0o077, 0:
        for place in ".", "lists":
            here = os.path.join(folder, place)
            subprocess.run(["touch", "wanted"], cwd=here, umask=umask, check=True)
            status, error = call(here, "check", "-o", "found", os.path.join(folder, "m.yaml"),
                                 umask=umask)
            expect(status == 0, status, error)
            found, wanted = (rights(os.path.join(here, name)) for name in ("found", "wanted"))
            expect(found == wanted, place, found, wanted)
            os.remove(os.path.join(here, "found"))
            os.remove(os.path.join(here, "wanted"))
        subprocess.run([PROGRAM, "commission", "new.yaml"], cwd=folder, input=answers, umask=umask,
                       env={**PLAIN, "XDG_STATE_HOME": os.path.join(folder, "state")},
                       stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False)
        drafts = os.path.join(folder, "state", "proveout")
        expect(len(os.listdir(drafts)) == 1, os.listdir(drafts))
        for name in os.listdir(drafts):
            about = os.stat(os.path.join(drafts, name))
            expect(stat.S_IMODE(about.st_mode) & 0o077 == 0, oct(about.st_mode))


def check_hard_links(folder):
    path = write(folder, "m.yaml")
    other = os.path.join(folder, "other.yaml")
    os.link(path, other)
    refused(folder, "m.yaml cannot be written: it has 2 names (hard links), and would be parted from "
            "the others: change a copy of it")
    # Of which commission tells before it asks anything.
    refused(folder, "m.yaml cannot be written: it has 2 names (hard links), and would be parted from "
            "the others: change a copy of it", ("commission", "m.yaml"))
    expect(os.path.samefile(path, other) and run.read(path) == BEFORE, "parted or written")
    write(folder, "old", b"old\n")
    os.link(os.path.join(folder, "old"), os.path.join(folder, "older"))
    refused(folder, "old cannot be written: it has 2 names (hard links), and would be parted from "
            "the others: name another file", ("rules", "-o", "old"))
    os.remove(other)
    saved(folder)


# --- meanwhile ---

def check_meanwhile(folder):
    """Everything somebody else can do between reading the file and renaming."""
    theirs = BEFORE + b"# theirs\n"
    write(folder, "theirs", theirs)
    write(folder, "same", BEFORE)
    changed = "m.yaml cannot be written: somebody else has changed it meanwhile"
    for command, left in (("cat theirs >m.yaml", theirs), ("mv theirs m.yaml", theirs),
                          ("cp -p m.yaml x; mv x m.yaml", BEFORE), ("rm m.yaml", None),
                          ("rm m.yaml; ln -s theirs m.yaml", theirs),
                          ("rm m.yaml; mkdir m.yaml", None), (": >m.yaml", b"")):
        write(folder, "theirs", theirs)
        path = write(folder, "m.yaml")
        refused(folder, changed, env=meanwhile("fsync", command))
        there = run.read(path) if os.path.isfile(path) else None
        expect(there == left, command, there)
        shutil.rmtree(path) if os.path.isdir(path) else os.path.lexists(path) and os.remove(path)
    write(folder, "m.yaml")
    refused(folder, "m.yaml cannot be written: it has 2 names (hard links), and would be parted from "
            "the others: change a copy of it", env=meanwhile("fchmod", "ln m.yaml second"))
    os.remove(os.path.join(folder, "second"))
    # Rights that somebody changes meanwhile are kept as well.
    saved(folder, env=meanwhile("fchmod", "chmod 604 m.yaml"))
    mode = stat.S_IMODE(os.stat(os.path.join(folder, "m.yaml")).st_mode)
    expect(mode == 0o604, oct(mode))


def check_places_meanwhile(folder):
    """Links and folders that lead elsewhere meanwhile: what was meant is saved, and no other."""
    for name in "a", "b":
        os.mkdir(os.path.join(folder, name))
        write(folder, f"{name}/m.yaml")
    os.symlink("a/m.yaml", os.path.join(folder, "link.yaml"))
    status, error = call(folder, "revise", "--write", "link.yaml", CHANGE,
                         env=meanwhile("fsync", "ln -sfn b/m.yaml link.yaml"))
    expect((status, error) == (0, ""), status, error)
    expect(run.read(folder, "a/m.yaml") == AFTER, "not saved")
    expect(run.read(folder, "b/m.yaml") == BEFORE, "another file was written")
    write(folder, "a/m.yaml")
    status, error = call(folder, "revise", "--write", "a/m.yaml", CHANGE,
                         env=meanwhile("fsync", "mv a c; mv b a"))
    expect((status, error) == (0, ""), status, error)
    expect(run.read(folder, "c/m.yaml") == AFTER, "not saved")
    expect(run.read(folder, "a/m.yaml") == BEFORE, "another file was written")
    expect_nothing_left(folder)


def check_appeared(folder):
    """A new file is not put over one that has appeared, whichever way the disk knows."""
    write(folder, "m.yaml")
    for at, refuse in (("fsync", ""), ("renameat2", ""), ("linkat", f"renameat2:{errno.EINVAL}"),
                       ("linkat", f"renameat2:{errno.ENOSYS}")):
        env = meanwhile(at, "echo theirs >found", refuse)
        refused(folder, "found cannot be written: it is there already",
                ("check", "-o", "found", "m.yaml"), env=env)
        expect(run.read(folder, "found") == b"theirs\n", at)
        os.remove(os.path.join(folder, "found"))
        status, error = call(folder, "check", "-o", "found", "m.yaml",
                             env=meanwhile(at, ":", refuse))
        expect((status, error) == (0, ""), at, status, error)
        expect(os.stat(os.path.join(folder, "found")).st_nlink == 1, "two names")
        expect_nothing_left(folder)
        os.remove(os.path.join(folder, "found"))
    write(folder, "found", b"old\n")
    refused(folder, "found cannot be written: somebody else has changed it meanwhile",
            ("check", "-o", "found", "m.yaml"), env=meanwhile("fsync", "echo 1 >x; mv x found"))


def check_left_behind(folder):
    """What a run that was killed has left is in no later run's way."""
    write(folder, "m.yaml")
    done = subprocess.run(["sh", "-c", 'name=$(printf "m.yaml.unfinished-%x" $$); echo >$name; '
                           'exec "$0" "$@"', PROGRAM, "revise", "--write", "m.yaml", CHANGE],
                          cwd=folder, env={**PLAIN, "PATH": os.environ["PATH"]}, check=False,
                          stdout=subprocess.DEVNULL)
    expect(done.returncode == 0 and run.read(folder, "m.yaml") == AFTER, "not saved")
    left = [name for name in os.listdir(folder) if ".unfinished" in name]
    expect(len(left) == 1 and run.read(folder, left[0]) == b"\n", left)


# --- what --output may replace ---

def contents(folder):
    return {os.path.join(place, name): run.read(place, name)
            for place, _, names in os.walk(folder) for name in names}


def check_read_files(folder):
    """Nothing that was read in a run is written over by it, however it is called."""
    house = run.Case("own-rulebook").files["house.yaml"]
    controller = run.Case("agreement").files
    write(folder, "house.yaml", house)
    write(folder, "m.yaml")
    write(folder, "broken.yaml", b"on: push\n")
    os.symlink("house.yaml", os.path.join(folder, "link"))
    os.symlink("broken.yaml", os.path.join(folder, "link.yaml"))
    for name, data in controller.items():
        os.makedirs(os.path.dirname(os.path.join(folder, name)), exist_ok=True)
        write(folder, name, data)
    for out, arguments in (
            ("house.yaml", ("check", "--rulebook", "house.yaml", "m.yaml")),
            ("link", ("check", "--rulebook", "house.yaml", "m.yaml")),
            ("./house.yaml", ("window", "--rulebook", "link", "m.yaml")),
            ("house.yaml", ("dryrun", "--rulebook", "link", "m.yaml")),
            ("house.yaml", ("explain", "--rulebook", "link", "setter")),
            ("house.yaml", ("rules", "--rulebook", "link")),
            ("link", ("rules", "--prove", "house.yaml")),
            ("broken.yaml", ("check", "link.yaml")),
            ("link.yaml", ("check", "broken.yaml", "m.yaml")),
            ("machines/controller/change.txt", ("check", "machines/shed.yaml"))):
        before = contents(folder)
        status, error = call(folder, *arguments, "-o", out)
        expect(status == 2 and error == f"proveout: {out} has been read in this run, and is not "
               "written over.\n", arguments, status, error)
        expect(contents(folder) == before, arguments, "something is written, or left behind")
    for out in "link", "m.yaml", "house.yaml":
        before = contents(folder)
        status, error = call(folder, "revise", "--rulebook", "house.yaml", "m.yaml", CHANGE, "-o",
                             out)
        expect(status == 2 and "is there already" in error, out, status, error)
        expect(contents(folder) == before, out, "something is written, or left behind")
    with open(os.path.join(folder, "broken.yaml"), "rb") as file:
        done = subprocess.run([PROGRAM, "check", "-o", "broken.yaml", "-"], stdin=file, cwd=folder,
                              env=PLAIN, stderr=subprocess.PIPE, check=False)
    expect(done.returncode == 2 and b"has been read" in done.stderr, done)
    # What was only looked at in a folder, and passed over, is no loss.
    os.mkdir(os.path.join(folder, "m"))
    write(folder, "m/m.yaml")
    write(folder, "m/found.yaml", b"old: 1\n")
    status, error = call(folder, "check", "-o", "m/found.yaml", "m")
    expect((status, error) == (0, ""), status, error)


# --- lack of room, and signals ---

def check_size_limit(folder):
    """A limit of a file's size is a failed write: not the end, and nothing is left behind."""
    write(folder, "m.yaml")
    write(folder, "found", b"old\n")

    def limit():
        resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))

    large = "cannot be written: it would be too large"
    refused(folder, f"m.yaml {large}", preexec_fn=limit)
    refused(folder, f"found {large}", ("rules", "-o", "found"), preexec_fn=limit)
    refused(folder, f"new {large}", ("rules", "-o", "new"), preexec_fn=limit)
    expect(run.read(folder, "m.yaml") == BEFORE and run.read(folder, "found") == b"old\n", "written")
    expect("new" not in os.listdir(folder), "half a file")
    with open(os.path.join(folder, "out"), "wb") as out:
        done = subprocess.run([PROGRAM, "rules"], stdout=out, stderr=subprocess.PIPE, env=PLAIN,
                              preexec_fn=limit, check=False)
    expect((done.returncode, done.stderr) == (2, f"proveout: standard output {large}.\n".encode()),
           done)


def check_interrupted_calls(folder):
    """A call that a signal breaks off is made again."""
    trace = os.path.join(folder, "trace")

    def traced(*inject):
        write(folder, "m.yaml")
        done = subprocess.run(["strace", "-o", trace, *inject, PROGRAM, "revise", "--write",
                               "m.yaml", CHANGE], cwd=folder, capture_output=True,
                              env={**PLAIN, "ASAN_OPTIONS": "detect_leaks=0",
                                   "PATH": os.environ["PATH"]},
                              stdin=subprocess.DEVNULL, check=False, timeout=60)
        return done.returncode, done.stderr.decode()

    if not shutil.which("strace") or traced()[0] != 0:
        skip("no tracer can be used here")
    names = [re.match(r"\w*", line)[0] for line in run.read(trace).decode().splitlines()]
    first = next(i for i, line in enumerate(run.read(trace).decode().splitlines())
                 if '"m.yaml"' in line and not line.startswith("execve"))
    tried = 0
    for i in range(first, len(names)):
        if names[i] not in ("openat", "read", "pread64", "write", "fsync", "close", "renameat",
                            "fchmod", "fgetxattr", "flistxattr"):
            continue
        number = names[:i + 1].count(names[i])
        given = traced("-e", f"inject={names[i]}:error=EINTR:when={number}")
        expect(given == (0, "") and run.read(folder, "m.yaml") == AFTER, names[i], number, given)
        expect_nothing_left(folder)
        tried += 1
    expect(tried > 15, tried)


CHECKS = {name[6:]: function for name, function in globals().items() if name.startswith("check_")}


def main(arguments):
    global PROGRAM, MACHINE, SHIM, BEFORE, AFTER
    if arguments == ["--list"]:
        print("\n".join(CHECKS))
        return
    PROGRAM, MACHINE, SHIM = (os.path.abspath(path) for path in arguments[:3])
    BEFORE = run.read(MACHINE)
    AFTER = BEFORE.replace(b"standoff: 12 mm", b"standoff: 13 mm")
    with tempfile.TemporaryDirectory() as folder:
        os.chmod(folder, 0o755)
        CHECKS[arguments[3]](os.path.realpath(folder))


if __name__ == "__main__":
    main(sys.argv[1:])
