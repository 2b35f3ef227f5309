"""Every test of the whole program, with the program for Windows under Wine in its place.

    cases.py BUILD PROGRAM [NAME ...]   BUILD is one for this machine, with all it tests itself with;
                                        of NAME alone, where there are some

Those that can mean nothing there stand in not-there.txt, each with its reason; one that is there no
more is a failure, too.
"""
import concurrent.futures
import fnmatch
import json
import os
import subprocess
import sys
import time

HERE = os.path.dirname(os.path.abspath(__file__))
ALL = os.environ.get("SHARE") == "all"
MOST = 7200 if ALL else 300 # seconds a test


def not_there():
    """Patterns of names, and whether they are left out."""
    is_long = False
    with open(os.path.join(HERE, "not-there.txt"), encoding="utf-8") as file:
        for line in file:
            if line.startswith("    "):
                yield line.strip(), not (is_long and ALL)
            else:
                is_long = line.startswith("Long:")


def tests(build, program):
    """Name and command of each, with `program` where the build has its own."""
    own = {os.path.join("src", "proveout"), os.path.join(os.path.abspath(build), "src", "proveout")}
    listed = json.loads(subprocess.run(["meson", "introspect", "--tests", build], check=True,
                                       stdout=subprocess.PIPE).stdout)
    return {test["name"]: ([program if word in own else word for word in test["cmd"]],
                           {**os.environ, **test["env"]})
            for test in listed if own & set(test["cmd"])}


def run(command, env, folder):
    begun = time.monotonic()
    try:
        done = subprocess.run(command, env=env, cwd=folder, stdin=subprocess.DEVNULL,
                              stdout=subprocess.PIPE, stderr=subprocess.STDOUT, timeout=MOST,
                              check=False)
        failed, said = done.returncode != 0, done.stdout.decode("utf-8", "replace")
    except subprocess.TimeoutExpired:
        failed, said = True, f"not done after {MOST} s"
    return failed, said, time.monotonic() - begun


def main(build, program, *chosen):
    there, left_out, lost = tests(build, os.path.abspath(program)), set(), []
    for pattern, is_left_out in not_there():
        meant = fnmatch.filter(there, pattern)
        left_out.update(meant if is_left_out else [])
        if not meant:
            lost.append(pattern)
            print(f"{pattern}: in not-there.txt, and no test any more")
    names = chosen or sorted(there.keys() - left_out)
    times, again = {}, []
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        runs = {name: pool.submit(run, *there[name], build) for name in names}
        for name, future in runs.items():
            failed, _, times[name] = future.result()
            if failed:
                again.append(name)
    # Now and then Wine does not start a program while much is going on: once more, alone.
    failures = len(lost)
    for name in again:
        failed, said, _ = run(*there[name], build)
        failures += failed
        print(f"--- {name}: {'failed twice' if failed else 'passed the second time'}",
              *(said.splitlines()[-40:] if failed else []), sep="\n", flush=True)
    slowest = sorted(times, key=times.get)[-5:]
    print(f"{len(names)} tests, {len(left_out)} left out, {failures} failed; longest:",
          ", ".join(f"{name} {times[name]:.0f} s" for name in reversed(slowest)))
    return failures != 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
