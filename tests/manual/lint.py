"""Nothing that mandoc finds fault with, in any page of the manual.

    lint.py PAGE ...
"""
import shutil
import subprocess
import sys

SKIPPED = 77


def main(pages):
    if not shutil.which("mandoc"):
        print("mandoc is not installed")
        return SKIPPED
    done = subprocess.run(["mandoc", "-T", "lint", "-W", "style", *pages], capture_output=True,
                          text=True, check=False)
    print(done.stdout, done.stderr)
    return int(done.returncode != 0 or bool(done.stdout) or len(pages) < 5)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
