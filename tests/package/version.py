"""The version stands in meson.build, and all that has to repeat it says the same; and the program
tells its rules from others.

    version.py VERSION PROGRAM

VERSION is what meson.build has.  The fingerprint of the rules is reckoned here once more, from the
files in the order in which rules/meson.build names them.
"""
import json
import os
import re
import subprocess
import sys

TOP = os.path.abspath(os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", ".."))


def read(path):
    with open(os.path.join(TOP, path), encoding="utf-8") as file:
        return file.read()


def fingerprint():
    """FNV-1a, 64 bits."""
    value = 14695981039346656037
    for name in re.findall(r"'([a-z-]+\.yaml)'", read("rules/meson.build")):
        with open(os.path.join(TOP, "rules", name), "rb") as file:
            for byte in name.encode() + b"\n" + file.read().replace(b"\r", b""):
                value = (value ^ byte) * 1099511628211 % 2**64
    return f"{value:016x}"


def main(version, program):
    lock = json.loads(read("src/page/package-lock.json"))
    said = {
        "include/proveout/version.h": re.search(r'PROVEOUT_VERSION "(.*)"',
                                                read("include/proveout/version.h"))[1],
        "src/page/package.json": json.loads(read("src/page/package.json"))["version"],
        "src/page/package-lock.json": lock["version"],
        "its first package": lock["packages"][""]["version"],
    }
    wrong = [f"{name} says {given}, meson.build {version}" for name, given in said.items() if given != version]
    told = subprocess.run([program, "--version"], stdout=subprocess.PIPE, check=True).stdout.decode()
    wanted = f"proveout {version}\nrules {fingerprint()}\n"
    if told.replace("\r", "") != wanted:
        wrong.append(f"--version tells\n{told}and not\n{wanted}")
    print("\n".join(wrong) or f"{len(said) + 1} places, {wanted}", end="")
    return len(wrong) > 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
