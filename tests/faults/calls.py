"""Lets single system calls of a command fail, or ends it there, by what strace puts in their place.

    calls.py PROGRAM errors [--every K] [COMMAND ...]
        Each call gives each error it can give.  EINTR is no failure: all goes on as without it.
        Any other is told in a sentence and ends in status 2, or changes nothing.
    calls.py PROGRAM kill [--every K] [COMMAND ...]
        Killed before each call.  What is saved is the old or the new, whole; no more than one
        temporary is left, and the next run does what this one was to do.
    calls.py PROGRAM stop [--every K] [COMMAND ...]
        Stopped by a hang-up, Control-C or SIGTERM at each call.  Nothing is left.

Of all these every K-th is tried, from one end of the program to the other; all of them where K is
not given, which takes hours.  Status 77: strace may not be used here.
"""
import argparse
import collections
import concurrent.futures
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import threading

from commands import COMMANDS, Scene, mistake

# What each call may give for a plain file, a folder or a pipe that was opened in good order: the
# sections ERRORS of man-pages 6.03, section 2, and xattr(7); left out is what only a wrong argument
# brings about (EBADF, EFAULT, most of EINVAL).
PATH = "EACCES ELOOP ENAMETOOLONG ENOENT ENOMEM ENOTDIR "
DISK = "EDQUOT EIO ENOSPC EROFS "
ERRORS = {
    "access": PATH + "EIO EROFS",
    "brk": "ENOMEM",  # of the C library's function: the kernel answers with the break as it was
    "clone3": "EAGAIN ENOMEM EPERM",
    "close": "EINTR EIO ENOSPC EDQUOT",
    "faccessat2": PATH + "EIO EROFS",
    "fchmod": "EIO EPERM EROFS",
    "fchown": "EDQUOT EIO EPERM EROFS",
    "fgetxattr": "E2BIG ENODATA EOPNOTSUPP ERANGE EIO",
    "flistxattr": "E2BIG EOPNOTSUPP ERANGE EIO",
    "fremovexattr": DISK + "ENODATA EOPNOTSUPP EPERM",
    "fsetxattr": DISK + "ENODATA EOPNOTSUPP EPERM ERANGE",
    "fstat": "ENOMEM EIO",
    "fsync": DISK + "EINTR EINVAL",
    "ftruncate": "EFBIG EINTR EIO EPERM EROFS",
    "getcwd": "EACCES ENOENT ENOMEM",
    "getdents64": "ENOENT EIO",
    "ioctl": "ENOTTY EIO",
    "link": PATH + DISK + "EEXIST EMLINK EPERM EXDEV",
    "linkat": PATH + DISK + "EEXIST EMLINK EPERM EXDEV",
    "lseek": "ESPIPE ENXIO",
    "madvise": "EAGAIN ENOMEM",
    "mkdir": PATH + DISK + "EEXIST EMLINK EPERM",
    "mmap": "EAGAIN ENOMEM ENODEV",
    "mprotect": "ENOMEM",
    "munmap": "ENOMEM",
    "newfstatat": PATH + "EOVERFLOW EIO",
    "openat": PATH + "EDQUOT EINTR EIO EMFILE ENFILE ENOSPC ENXIO EROFS EPERM ETXTBSY",
    "pipe2": "EMFILE ENFILE",
    "poll": "EINTR ENOMEM",
    "pread64": "EINTR EIO EISDIR",
    "read": "EINTR EIO EISDIR",
    "readlink": PATH + "EIO",
    "readlinkat": PATH + "EIO",
    "rename": PATH + DISK + "EBUSY EISDIR EMLINK ENOTEMPTY EPERM EXDEV",
    "renameat": PATH + DISK + "EBUSY EISDIR EMLINK ENOTEMPTY EPERM EXDEV",
    "renameat2": PATH + DISK + "EBUSY EEXIST EINVAL EISDIR EMLINK EPERM EXDEV",
    "statx": PATH,
    "unlink": PATH + "EBUSY EIO EPERM EROFS",
    "unlinkat": PATH + "EBUSY EIO EPERM EROFS",
    "write": "EDQUOT EFBIG EINTR EIO ENOSPC EPERM EPIPE",
}
# Always succeed as they are called here.
NEVER = {"exit", "exit_group", "fcntl", "futex", "getegid", "geteuid", "getpid", "getrandom",
         "getuid", "gettid", "prlimit64", "restart_syscall", "rseq", "rt_sigaction",
         "rt_sigprocmask", "rt_sigreturn", "sched_getaffinity", "set_robust_list", "sysinfo",
         "tgkill", "umask", "kill", "uname", "getgid", "getgroups"}
SIGNALS = (signal.SIGHUP, signal.SIGINT, signal.SIGTERM)
# The first call of main: what comes before is the loader's affair.
MAIN = re.compile(r"^\d+ +fcntl\(0, F_GETFD")
CALL = re.compile(r"^(\d+) +(\w+)\(")


def strace(out, *options):
    return ["strace", "-f", "-qq", "-o", out, *options]


def calls_of(scene, trace):
    """The calls from main on, each as its name and which of that name in its thread it is.  Those
    of other threads that have a number which the loader has used up are left out."""
    scene.run(before=strace(trace))
    counts, loading, found = collections.Counter(), None, []
    with open(trace, encoding="utf-8", errors="replace") as file:
        for line in file:
            call = CALL.match(line)
            if MAIN.match(line) and loading is None:
                loading = collections.Counter({name: count for (_, name), count in counts.items()})
            if not call:
                continue
            counts[call.groups()] += 1
            if loading is not None and counts[call.groups()] > loading[call[2]]:
                found.append((call[2], counts[call.groups()]))
    return list(dict.fromkeys(found))


def put_in(scene, name, number, what):
    # Signals get lost where strace lets the kernel choose the calls that it looks at.
    quicker = [] if what.startswith("signal=") else ["--seccomp-bpf"]
    ran = scene.run(before=strace("/dev/null", *quicker, "-e", f"trace={name}",
                                  "-e", f"inject={name}:{what}:when={number}"))
    if ran[2].startswith(b"strace: "):
        sys.exit(f"{name} {what}: {ran[2]}")
    return ran


def fails(scene, name, number, error):
    ran = put_in(scene, name, number, "retval=0" if name == "brk" else f"error={error}")
    wrong = mistake(scene, ran)
    if wrong and name == "newfstatat" and error == "ENOENT" and not scene.left():
        wrong = None  # gone while the folder is walked: it is no longer in it
    if error == "EINTR" and not wrong and ran != scene.plain:
        wrong = "is no failure, and changes something"
    if wrong and name == "write" and error == "EPIPE" and ran[0] == 2 and not scene.left():
        wrong = None  # nobody reads any more: nobody is to be told
    if wrong and name in ("unlink", "unlinkat") and ran[0] == 2:
        wrong = None
    return wrong and f"{wrong}\n    {ran[0]}, {ran[2]}"


def goes_on(scene):
    """Another run, of all that was left: does it come to the same end?"""
    status, _, error = scene.run(again=True)
    saved = scene.files().get(scene.command.saves)
    if status != scene.plain[0] or saved != scene.wanted():
        return f"the next run is hindered: {status}, {error}"
    return None


def is_killed(scene, name, number, _):
    ran = put_in(scene, name, number, "signal=KILL")
    if ran[0] != -signal.SIGKILL:
        return f"was not killed: status {ran[0]}"
    left = scene.left()
    place = scene.command.saves or "state/"
    if len(left) > 1 or any(name in scene.given or not name.startswith((place, "state/"))
                            for name in left):
        return f"left behind or spoilt: {', '.join(left)}"
    return goes_on(scene)


def is_stopped(scene, name, number, number_of_signal):
    ran = put_in(scene, name, number, f"signal={number_of_signal.name}")
    # A dialogue ends in an order of its own; a process that is ending is not stopped any more.
    orderly = (scene.plain[0], 2) if scene.command.says or name == "exit_group" else ()
    if ran[0] not in (-number_of_signal, *orderly):
        return f"was not stopped: status {ran[0]}"
    if scene.left():
        return f"left behind or spoilt: {', '.join(scene.left())}"
    return goes_on(scene)


def points(mode, calls):
    for name, number in calls:
        if mode == "errors":
            for error in ERRORS.get(name, "").split():
                yield name, number, error
        elif mode == "kill":
            yield name, number, "SIGKILL"
        else:
            for one in SIGNALS:
                yield name, number, one


LOOKS = {"errors": fails, "kill": is_killed, "stop": is_stopped}


def try_command(program, command, options, folder):
    """How much was tried of how much, and what went wrong."""
    trace = os.path.join(folder, "trace")
    calls = calls_of(Scene(program, command, os.path.join(folder, "scene")), trace)
    unknown = {name for name, _ in calls} - set(ERRORS) - NEVER
    if unknown or not calls:
        sys.exit(f"{command.name} makes calls of which it is not said how they fail: {unknown}")
    every = list(points(options.mode, calls))
    own = threading.local()

    def look(point):
        if not hasattr(own, "scene"):
            own.scene = Scene(program, command, tempfile.mkdtemp(dir=folder))
        wrong = LOOKS[options.mode](own.scene, *point)
        what = getattr(point[2], "name", point[2])
        return wrong and f"{command.name}, {point[0]} number {point[1]}, {what}: {wrong}"

    chosen = every[::options.every]
    with concurrent.futures.ThreadPoolExecutor(options.jobs) as pool:
        wrong = [one for one in pool.map(look, chosen) if one]
    return len(chosen), len(every), wrong


def main():
    options = argparse.ArgumentParser()
    options.add_argument("program", type=os.path.abspath)
    options.add_argument("mode", choices=LOOKS)
    options.add_argument("--every", type=int, default=1)
    options.add_argument("--jobs", type=int, default=os.cpu_count())
    options.add_argument("command", nargs="*")
    options = options.parse_args()
    if not shutil.which("strace") or subprocess.run(
            ["strace", "-f", "--seccomp-bpf", "-o", "/dev/null", "true"], capture_output=True,
            check=False).returncode:
        return 77
    wrong = 0
    for command in COMMANDS:
        if options.command and command.name not in options.command:
            continue
        if options.mode != "errors" and not command.saves:
            continue
        with tempfile.TemporaryDirectory() as folder:
            tried, total, found = try_command(options.program, command, options, folder)
        print(f"{command.name}: {tried} of {total} tried, {len(found)} wrong", flush=True)
        print("".join(f"  {one}\n" for one in found), end="", flush=True)
        wrong += len(found)
    return wrong > 0


if __name__ == "__main__":
    # Whoever started this may ignore them; the programs under test must not inherit that.
    for one in SIGNALS:
        signal.signal(one, signal.SIG_DFL)
    sys.exit(main())
