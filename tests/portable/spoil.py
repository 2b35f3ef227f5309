"""spoil.py SAMPLES OUT COPIES: every sample machine, and copies of it with one number changed."""
import os
import random
import re
import sys

NUMBER = re.compile(rb"(?<![\w.])\d+(?:\.\d+)?(?=\s*(?:mm|cm|m|in|s|ms|rpm|deg|%)\b)")


def changed(number, chance):
    value = float(number)
    return b"%s" % chance.choice([
        b"0", b"-" + number, b"%.4g" % (value * 10), b"%.17g" % (value / 3),
        b"%.9g" % (value * chance.uniform(0.5, 2)), b"%.5g" % (value + 1.37), number + b" in +"])


def main(samples, out, copies):
    chance = random.Random(7)
    for name in sorted(os.listdir(samples)):
        if not name.endswith((".yaml", ".yml")):
            continue
        with open(os.path.join(samples, name), "rb") as file:
            text = file.read()
        with open(os.path.join(out, name), "wb") as file:
            file.write(text)
        numbers = list(NUMBER.finditer(text))
        for copy in range(copies if numbers else 0):
            at = chance.choice(numbers)
            with open(os.path.join(out, f"{copy}-{name}"), "wb") as file:
                file.write(text[:at.start()] + changed(at[0], chance) + text[at.end():])


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], int(sys.argv[3]))
