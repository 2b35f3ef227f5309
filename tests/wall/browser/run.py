"""Sheets of sample machines in browsers and on paper.

    run.py PROGRAM MODULES FOLDER

MODULES is where npm put puppeteer-core, axe-core and vnu-jar; in FOLDER lies afterwards what was
printed.  A share of the samples, or all with SHARE=all; one with a finding, one in inches and one
with two setters always.  The last line of each step says what it went through; the status is 1
where anything was complained of or nothing was looked at.
"""
import os
import subprocess
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
TOP = os.path.join(HERE, "..", "..", "..")
sys.path[:0] = [os.path.join(HERE, ".."), os.path.join(HERE, "..", "..")]
from share import share  # noqa: E402
from sheets import SAMPLES  # noqa: E402

ALWAYS = {"approach-a-digit-too-deep", "inch-router-with-plate", "two-setters"}


def name_of(path):
    return os.path.splitext(os.path.basename(path))[0]


def write_sheets(program, folder):
    samples = SAMPLES
    drawn = set(share([name_of(path) for path in samples], 25)) | ALWAYS
    missing = ALWAYS - {name_of(path) for path in samples}
    if missing:
        sys.exit(f"no such samples: {sorted(missing)}")
    sheets = []
    for path in samples:
        if name_of(path) not in drawn:
            continue
        out = os.path.join(folder, name_of(path) + ".html")
        done = subprocess.run([program, "sheet", "--today", "2026-11-27", "-o", out, path],
                              capture_output=True, check=False, timeout=60)
        if done.returncode in (0, 1):
            sheets.append(out)
        elif name_of(path) in ALWAYS:
            sys.exit(f"{path}: no sheet: {done.stderr.decode()}")
    return sheets


def check(modules, folder, sheets):
    """Each step, and whether it passed."""
    environment = dict(os.environ, NODE_PATH=modules)
    nu = os.path.join(modules, "vnu-jar", "build", "dist", "vnu.jar")
    yield "valid", subprocess.call(["java", "-jar", nu, "--errors-only", *sheets], timeout=300)
    for browser in ("chrome", "firefox"):
        printed = os.path.join(folder, browser)
        yield browser, subprocess.call(
            ["node", os.path.join(HERE, "sheets.js"), browser, printed, *sheets],
            env=environment, timeout=7200)
        yield browser + " on paper", subprocess.call(
            [sys.executable, "-B", os.path.join(HERE, "printed.py"), printed, *sheets],
            timeout=7200)


def main(program, modules, folder):
    os.makedirs(folder, exist_ok=True)
    modules = os.path.abspath(modules)
    failed = 0
    for what, status in check(modules, folder, write_sheets(os.path.abspath(program), folder)):
        print(f"sheets: {what}: {'passed' if status == 0 else 'failed'}", flush=True)
        failed += status != 0
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
