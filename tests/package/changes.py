"""What .package/changes tells users, of commits made up for it: groups, sentences of their own, what is
left out, and from which tag on.

    changes.py
"""
import os
import shutil
import subprocess
import sys
import tempfile

TOP = os.path.abspath(os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", ".."))
NEEDED = ["meson.build", "rules", "src/cli/commands.inc", ".package/changes"]
ENVIRONMENT = {"PATH": os.environ["PATH"], "HOME": "/nowhere", "LC_ALL": "C.UTF-8", "GIT_CONFIG_NOSYSTEM": "1",
               "GIT_AUTHOR_DATE": "2026-11-20T12:00:00Z", "GIT_COMMITTER_DATE": "2026-11-20T12:00:00Z"}
for who in ("AUTHOR", "COMMITTER"):
    ENVIRONMENT.update({f"GIT_{who}_NAME": "R. Holm", f"GIT_{who}_EMAIL": "holm@localhost"})
COMMITS = [("src/a.c", "rules: a wait is asked for"),
           ("src/b.c", "page: sliders keep each step\n\nThey did not.\n\nFor-users: Sliders stay where\n they were put."),
           ("src/c.c", "cli, page: options stand in one table\n\nFor-users: -"),
           ("tests/d.py", "machine: its cases have names of their own"),
           ("src/e.c", "tests: what was common stands once"),
           ("src/f.c", "lathe: a new area")]
WANTED = """proveout VERSION, of 2026-11-20
PLAIN
What changed since v0.0.9:

Checks and rules

* rules: a wait is asked for

The page

* Sliders stay where they were put.

Besides

* lathe: a new area
"""


def run(folder, *command):
    return subprocess.run(command, cwd=folder, env=ENVIRONMENT, stdout=subprocess.PIPE, check=True).stdout.decode()


def commit(folder, name, message):
    path = os.path.join(folder, name)
    os.makedirs(os.path.dirname(path), exist_ok=True)
    with open(path, "w", encoding="utf-8") as file:
        file.write(message)
    run(folder, "git", "add", "-A")
    run(folder, "git", "commit", "-q", "-m", message)


def told(folder, *arguments):
    return run(folder, os.path.join(folder, ".package/changes"), *arguments)


def main(folder):
    for name in NEEDED:
        os.makedirs(os.path.dirname(os.path.join(folder, name)), exist_ok=True)
        (shutil.copytree if os.path.isdir(os.path.join(TOP, name)) else shutil.copy)(
            os.path.join(TOP, name), os.path.join(folder, name))
    run(folder, "git", "init", "-q", "-b", "main")
    commit(folder, "src/0.c", "base: all of it")
    first = told(folder)
    if "The first release" not in first or "proveout check:" not in first or "What changed" in first:
        sys.exit(f"of a first release:\n{first}")
    run(folder, "git", "tag", "v0.0.9")
    if told(folder) != first:
        sys.exit("its own tag makes another release of it")
    run(folder, "git", "checkout", "-q", "-b", "side")
    for row in COMMITS[:3]:
        commit(folder, *row)
    run(folder, "git", "checkout", "-q", "main")
    for row in COMMITS[3:]:
        commit(folder, *row)
    run(folder, "git", "merge", "-q", "--no-ff", "-m", "Merge branch 'side'", "side")
    given = told(folder)
    head, line = given.split("\n")[:2]
    wanted = WANTED.replace("PLAIN", "=" * len(head) + "\n", 1).replace("VERSION", head.split()[1].rstrip(","))
    if given != wanted or line != "=" * len(head):
        sys.exit(f"{given}\nis not\n{wanted}")
    run(folder, "git", "tag", "v0.1.0")
    if told(folder) != wanted or told(folder, "v0.0.9") != wanted:
        sys.exit("its own tag, or the tag by its name, makes another list")
    if "Nothing that users see" not in told(folder, "HEAD"):
        sys.exit("something changed since now")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as place:
        main(place)
