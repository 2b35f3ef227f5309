"""Folders: what is left out, the table at the end, how far it is, and any number of jobs.

    folders.py PROGRAM SAMPLES CHECK     one check
    folders.py --list                    the names of all checks
"""
import json
import os
import shutil
import subprocess
import sys
import tempfile
import time

import pexpect

GOOD, SHORT = "workshop-router.yaml", "stroke-too-short-for-the-short-cutter.yaml"


class Folder:
    def __init__(self, program, samples, folder):
        self.program, self.samples, self.folder = os.path.abspath(program), os.path.abspath(samples), folder

    def put(self, name, text):
        path = os.path.join(self.folder, name)
        os.makedirs(os.path.dirname(path), exist_ok=True)
        with open(path, "w", encoding="utf-8") as file:
            file.write(text)

    def copy(self, sample, *names):
        with open(os.path.join(self.samples, sample), encoding="utf-8") as file:
            text = file.read()
        for name in names:
            self.put(name, text)

    def run(self, *arguments):
        return subprocess.run([self.program, "check", "--today", "2026-11-27", *arguments], cwd=self.folder,
                              capture_output=True, text=True, timeout=200)

    def checked(self, *arguments):
        done = self.run("--format", "json", *arguments)
        whole = json.loads(done.stdout)
        return [one["path"] for one in whole["files"]], whole["counts"].get("ignored", 0)


def left_out(shop):
    shop.copy(GOOD, "m/a.yaml", "m/old/a.yaml", "m/old/deep/b.yml", "m/new/old.yaml", "m/new/draft-1.yaml",
              "m/new/keep.yaml", "m/x/y/z.yaml")
    shop.put("m/notes.txt", "")
    shop.copy(GOOD, "capitals/A.YAML", "capitals/b.Yml", "capitals/c.yaml.txt")
    assert shop.checked("capitals")[0] == ["capitals/A.YAML", "capitals/b.Yml"], "from whoever writes so"
    assert shop.checked("m")[1] == 0
    shop.put("m/proveout.ignore", "# what nobody uses\n\n  old/  \r\ndraft-*\nx/y/z.yaml\n")
    assert shop.checked("m") == (["m/a.yaml", "m/new/keep.yaml", "m/new/old.yaml"], 3)
    done = shop.run("m")
    assert done.stdout.endswith("3 left out by proveout.ignore\n"), "it is told"
    assert "left out" in shop.run("-q", "m").stdout, "quiet, but not silent"
    for form in ("sarif", "junit", "github"):
        assert "3 left out by proveout.ignore" in shop.run("--format", form, "m").stdout, form
    assert shop.checked("m/new/draft-1.yaml") == (["m/new/draft-1.yaml"], 0), "a file that is named is read"
    shop.put("m/new/proveout.ignore", "/keep.yaml\n")
    assert shop.checked("m/")[0] == ["m/a.yaml", "m/new/old.yaml"]
    assert shop.checked("m/new") == (["m/new/draft-1.yaml", "m/new/old.yaml"], 1), "each from its own folder on"
    for text, words in (("!keep.yaml\n", "line 1: nothing can be taken back in"), ("a\n/\n", "line 2: it names nothing"),
                        ("[a\n", "line 1: a bracket in it is not closed")):
        shop.put("m/proveout.ignore", text)
        done = shop.run("m")
        assert done.returncode == 2 and words in done.stderr, done.stderr
    os.remove(os.path.join(shop.folder, "m", "proveout.ignore"))
    os.symlink("/dev/zero", os.path.join(shop.folder, "m", "proveout.ignore"))
    done = shop.run("m")
    assert done.returncode == 2 and "it is no plain file" in done.stderr


def table_at_the_end(shop):
    shop.copy(GOOD, "m/a.yaml")
    shop.copy(SHORT, "m/much-longer-name.yaml")
    shop.put("m/broken.yaml", "proveout: 1\nmachine: [\n")
    done = shop.run("m", "missing.yaml")
    lines = done.stdout.splitlines()
    at = next(i for i, line in enumerate(lines) if line.startswith("file ") and "tightest margin" in line)
    rows = lines[at + 1:at + 5]
    assert [row.split()[:3] for row in rows] == [
        ["m/a.yaml", "0", "0"], ["m/broken.yaml", "1", "0"], ["m/much-longer-name.yaml", "1", "0"],
        ["missing.yaml", "-", "-"]], rows
    assert "3.64 mm in probe-stroke-short" in rows[0] and "breaks off" in rows[1] and "not be read" in rows[3]
    assert lines[at + 5] == "" and lines[-1].startswith("4 files: 2 errors"), lines[-1]
    quiet = shop.run("-q", "m").stdout
    assert "m/a.yaml" not in quiet and "\nm/much-longer-name.yaml  " in quiet
    assert "tightest margin\n" not in shop.run("m/a.yaml").stdout, "one file is no table"
    assert "tightest margin\n" not in shop.run("--format", "github", "m").stdout


def jobs_and_bytes(shop):
    for name in os.listdir(shop.samples):
        if name.endswith(".yaml"):
            shutil.copy(os.path.join(shop.samples, name), shop.folder)
    shop.put("proveout.ignore", "w*\n")
    for form in ("text", "json", "sarif", "junit", "github", "gitlab"):
        texts = {shop.run("-j", jobs, "--format", form, ".").stdout for jobs in ("1", "2", "7")}
        assert len(texts) == 1, form


def how_far(shop):
    """Enough files for more than a second, with one job."""
    with open(os.path.join(shop.samples, GOOD), encoding="utf-8") as file:
        text = file.read()
    count, took = 400, 0.0
    while True:
        for i in range(count):
            shop.put(f"m/{i}.yaml", text)
        start = time.monotonic()
        piped = shop.run("-j", "1", "m")
        took = time.monotonic() - start
        if took > 2:
            break
        count *= 2
    assert not piped.stderr and "\r" not in piped.stdout, "nothing of it in a pipe"
    line = f"{shop.program} check -j 1 m >out 2>%s"
    shell = pexpect.spawn("/bin/sh", ["-c", line.replace(" 2>%s", "")], cwd=shop.folder, timeout=200)
    told = shell.read().decode()
    assert f" of {count} files" in told and told.endswith("\r" + " " * 64 + "\r"), told[-200:]
    shell = pexpect.spawn("/bin/sh", ["-c", line.replace(" 2>%s", "").replace(" m ", " m/1.yaml m/2.yaml ")],
                          cwd=shop.folder, timeout=200)
    assert shell.read() == b"", "not before a second"
    shell = pexpect.spawn("/bin/sh", ["-c", f"{shop.program} check -j 1 m"], cwd=shop.folder, timeout=200)
    assert f" of {count} files" not in shell.read().decode(), "not among lines that tell it anyway"


CHECKS = {one.__name__.replace("_", "-"): one for one in (left_out, table_at_the_end, jobs_and_bytes, how_far)}

if __name__ == "__main__":
    if sys.argv[1:] == ["--list"]:
        print("\n".join(CHECKS))
        sys.exit()
    with tempfile.TemporaryDirectory() as place:
        CHECKS[sys.argv[3]](Folder(sys.argv[1], sys.argv[2], place))
