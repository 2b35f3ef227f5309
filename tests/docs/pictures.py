"""The pictures of README.md are what the program draws today, byte for byte, and all of them are shown.

    pictures.py PROGRAM
"""
import os
import re
import subprocess
import sys
import tempfile

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
PICTURES = os.path.join(ROOT, ".pictures")


def read(*path):
    with open(os.path.join(*path), "rb") as file:
        return file.read()


def main(program):
    wrong = []
    kept = sorted(name for name in os.listdir(PICTURES) if name.endswith(".svg"))
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([os.path.join(PICTURES, "make"), program, folder], check=True)
        if sorted(os.listdir(folder)) != kept:
            wrong.append(f"there are {kept}, and made are {sorted(os.listdir(folder))}")
        else:
            wrong += [f"{name} is not what is drawn now" for name in kept
                      if read(PICTURES, name) != read(folder, name)]
    shown = re.findall(r"\]\(\.pictures/([^)]*)\)", read(ROOT, "README.md").decode())
    if sorted(shown) != kept:
        wrong.append(f"README.md shows {shown}, and there are {kept}")
    if wrong:
        sys.exit("\n".join(wrong + ["`.pictures/make PROGRAM` draws them anew; look at them"]))


if __name__ == "__main__":
    main(*sys.argv[1:])
