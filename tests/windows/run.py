"""The program for Windows under Wine: that it says what the one for this machine says, that it passes
what that one is tested with, and what Windows alone has.

    run.py BUILD EXE FOLDER     BUILD is one for this machine, with all that it tests itself with; in
                                FOLDER, which is made, lies what is needed meanwhile

Needs wine64, mingw-w64 and tmux.  A line for each step, `windows: STEP: passed` or `failed`.
"""
import os
import re
import subprocess
import sys

import wine

HERE = os.path.dirname(os.path.abspath(__file__))
SAMPLES = os.path.join(HERE, "..", "..", "sample-configs")
OF_WINDOWS = {"advapi32.dll", "kernel32.dll", "msvcrt.dll", "ntdll.dll"}
COMPILER = "x86_64-w64-mingw32-gcc-posix"


def wants_nothing(exe):
    """No library but those that every Windows has; and a version, which Windows shows."""
    told = subprocess.run(["x86_64-w64-mingw32-objdump", "-p", exe], check=True,
                          stdout=subprocess.PIPE).stdout.decode()
    wanted = {name.lower() for name in re.findall(r"DLL Name: (\S+)", told)}
    print("wants", *sorted(wanted))
    with open(exe, "rb") as file:
        data = file.read()
    marks = ("VS_VERSION_INFO".encode("utf-16-le"), b"activeCodePage", b"longPathAware")
    return bool(wanted) and wanted <= OF_WINDOWS and all(mark in data for mark in marks)


def script(name, *arguments):
    return subprocess.run([sys.executable, "-B", os.path.join(HERE, name), *arguments],
                          check=False).returncode == 0


def compiled(name, folder):
    exe = os.path.join(folder, name + ".exe")
    os.makedirs(folder, exist_ok=True)
    subprocess.run([COMPILER, "-std=gnu17", "-O1", "-municode", "-static", "-o", exe,
                    os.path.join(HERE, name + ".c")], check=True)
    return exe


def main(build, exe, folder):
    native = os.path.join(build, "src", "proveout")
    with wine.Wine(folder) as machine:
        machine.lend_git(compiled("git", os.path.join(folder, "path")))
        program = machine.wrapped(exe)
        steps = {
            "wants nothing": lambda: wants_nothing(exe),
            "says the same": lambda: script("alike.py", native, program, SAMPLES),
            "system": lambda: script("system.py", program, machine.prefix,
                                     machine.wrapped(compiled("holds", folder))),
            "consoles": lambda: script("consoles.py", program),
            "cases": lambda: script("cases.py", build, program),
        }
        failed = 0
        for name, step in steps.items():
            passed = step()
            failed += not passed
            print(f"windows: {name}: {'passed' if passed else 'failed'}", flush=True)
    return failed != 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
