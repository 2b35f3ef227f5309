"""The page in browsers.

    run.py PAGE PROGRAM MODULES FOLDER

PAGE is proveout.html with site/ beside it, MODULES where npm put puppeteer-core and axe-core; in
FOLDER are pictures of every screen afterwards.  Of the spoilt files that the page has to judge as
the program does a share, or all 2,000 with SHARE=all.  The last line of each step says what it went
through; the status is 1 where anything was complained of.
"""
import concurrent.futures
import os
import subprocess
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
TOP = os.path.join(HERE, "..", "..")
COPIES = 29 if os.environ.get("SHARE") == "all" else 3


def main(page, program, modules, folder):
    page, program, folder = (os.path.abspath(path) for path in (page, program, folder))
    environment = dict(os.environ, NODE_PATH=os.path.abspath(modules))
    spoilt = os.path.join(folder, "spoilt")
    os.makedirs(spoilt, exist_ok=True)
    subprocess.run([sys.executable, "-B", os.path.join(TOP, "tests", "portable", "spoil.py"),
                    os.path.join(TOP, "sample-configs"), spoilt, str(COPIES)], check=True)
    steps = {"parity": [page, program, spoilt],
             "use": [page, program, os.path.join(TOP, "tests", "ask")],
             "troubles": [page],
             "screens": [page, os.path.join(folder, "screens")],
             "served": [os.path.join(os.path.dirname(page), "site")]}

    def go(browser):
        return [step(browser, name, given, environment) for name, given in steps.items()]

    done = subprocess.run(["node", os.path.join(HERE, "parts.mjs"), program,
                           os.path.join(TOP, "sample-configs")], check=False, timeout=600)
    print(f"page: parts: {'failed' if done.returncode else 'passed'}", flush=True)

    # both at once: each waits for its browser most of the time
    with concurrent.futures.ThreadPoolExecutor() as both:
        failed = (done.returncode != 0) + sum(sum(found) for found in both.map(go, ("chrome", "firefox")))
    return 1 if failed else 0


def step(browser, name, given, environment):
    done = subprocess.run(["node", os.path.join(HERE, name + ".js"), browser, *given], env=environment,
                          timeout=7200, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False)
    sys.stdout.write(done.stdout.decode(errors="replace") +
                     f"page: {name} in {browser}: {'failed' if done.returncode else 'passed'}\n")
    sys.stdout.flush()
    return done.returncode != 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
