"""Where an allocation fails, and all after it, a public function gives NULL or its whole answer,
and keeps nothing: what is left when the program ends is no more than after a whole answer.

    no_memory.py ANSWERS WALK SHIM SAMPLE

Proposals are left out: lp_solve does not look whether it was given memory.
"""
import os
import subprocess
import sys
import tempfile

QUESTIONS = (("report", "json"), ("windows", "json"), ("dryrun", "text"),
             ("draw", ""), ("sheet", "html"),
             ("revise", "change.standoff=13 mm"), ("compare", "change.standoff=13 mm"))
WALKS = {"a new file": (False, "1\n0 to 800, 0 to 1200, -150 to 0\nnonsense\nback\n?\n"),
         "a file": (True, "back axes.x.acceleration\n300, 300\nback change.standoff\n"
                    "19 mm\nlater\n")}
MOST = 1000000  # allocations


class Program:
    """A program, what it reads, and what it answers when all memory is there."""

    def __init__(self, command, lines, shim, left):
        self.command, self.lines, self.shim, self.left = command, lines, shim, left
        self.status, self.whole, self.kept = self.run(0)

    def run(self, at):
        environment = {**os.environ, "LD_PRELOAD": self.shim, "FAIL_AT": str(at),
                       "FAIL_ON": "1", "LEFT_IN": self.left}
        done = subprocess.run(self.command, input=self.lines.encode(), env=environment,
                              capture_output=True, check=False)
        with open(self.left, encoding="ascii") as file:
            return done.returncode, done.stdout, int(file.read() or -1)

    def mistakes(self, refusals):
        refused = at = 0
        if self.status in refusals or not self.whole:
            yield f"status {self.status}"
        while at < MOST:
            at += 1 + at // 6
            status, out, left = self.run(at)
            if status == self.status and out == self.whole:
                break
            refused += 1
            if status not in refusals or out:
                yield f"allocation {at}: status {status}, {len(out)} bytes"
            if left > self.kept:
                yield f"allocation {at}: {left - self.kept} were not freed"
        else:
            yield f"no answer after {at} allocations"
        if not refused:
            yield "memory never ran out"


def programs(answers, walk, shim, sample, left):
    for question, argument in QUESTIONS:
        command = [answers, question, argument, sample, "0"]
        yield question, Program(command, "", shim, left), (2, 3)
    for name, (begun, lines) in WALKS.items():
        yield name, Program([walk, *[sample] * begun], lines, shim, left), (2, 5)


def main(answers, walk, shim, sample):
    wrong = 0
    with tempfile.TemporaryDirectory() as folder:
        for name, program, refusals in programs(answers, walk, shim, sample,
                                                os.path.join(folder, "left")):
            for mistake in program.mistakes(refusals):
                wrong += 1
                print(f"{name}, {mistake}")
    return wrong


if __name__ == "__main__":
    sys.exit(main(*map(os.path.abspath, sys.argv[1:])))
