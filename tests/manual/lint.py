"""Nothing that mandoc finds fault with, in any page of the manual, references to others included.

    lint.py PAGE ...
"""
import os
import shutil
import subprocess
import sys

SKIPPED = 77


def main(pages):
    if not shutil.which("mandoc"):
        print("mandoc is not installed")
        return SKIPPED
    # It looks for the pages that others refer to where it is run.
    names = [os.path.basename(page) for page in pages]
    done = subprocess.run(["mandoc", "-T", "lint", "-W", "style", *names], capture_output=True,
                          cwd=os.path.dirname(pages[0]), text=True, check=False)
    print(done.stdout, done.stderr)
    return int(done.returncode != 0 or bool(done.stdout) or len(pages) < 5)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
