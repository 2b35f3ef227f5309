"""Where an allocation fails, and all after it, a public function gives NULL or its whole answer.

    no_memory.py ANSWERS SHIM SAMPLE
"""
import os
import subprocess
import sys

QUESTIONS = (("report", "json"), ("windows", "json"), ("dryrun", "text"),
             ("revise", "change.standoff=13 mm"))
MOST = 1000000  # allocations


def asked(answers, question, argument, sample, shim, at):
    environment = {**os.environ, "LD_PRELOAD": shim, "FAIL_AT": str(at), "FAIL_ON": "1"}
    done = subprocess.run([answers, question, argument, sample, "0"], env=environment,
                          capture_output=True, check=False)
    return done.returncode, done.stdout


def main(answers, shim, sample):
    wrong = 0
    for question, argument in QUESTIONS:
        status, whole = asked(answers, question, argument, sample, shim, 0)
        refused = 0
        if status or not whole:
            wrong += 1
            print(f"{question}: status {status}")
        at = 0
        while at < MOST:
            at += 1 + at // 6
            status, out = asked(answers, question, argument, sample, shim, at)
            if status == 0 and out == whole:
                break
            refused += status == 2
            if status not in (2, 3) or out:
                wrong += 1
                print(f"{question}, allocation {at}: status {status}, {len(out)} bytes")
        else:
            wrong += 1
            print(f"{question}: no answer after {at} allocations")
        if not refused:
            wrong += 1
            print(f"{question}: memory never ran out")
    return wrong


if __name__ == "__main__":
    sys.exit(main(*map(os.path.abspath, sys.argv[1:])))
