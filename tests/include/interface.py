"""The binary interface, held against interface.txt: symbols that are seen, prototypes, sizes and
offsets of structs, values of enumerations; and the symbols against those that Debian's package
knows, each with the version that it came with.

    interface.py [--accept] HEADERS SHARED STATIC COMPILER...

A line that changes or goes breaks programs that were built before, unless the soversion changes
with it; one that comes is as it should be.
"""
import os
import re
import subprocess
import sys
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))
GOLDEN = os.path.join(HERE, "interface.txt")
PACKAGE = os.path.join(HERE, "../../.package/debian/libproveout0.symbols")


def code(folder):
    """All headers without comments and preprocessor lines."""
    text = ""
    for name in sorted(os.listdir(folder)):
        with open(os.path.join(folder, name), encoding="utf-8") as file:
            text += re.sub(r"/\*.*?\*/", "", file.read(), flags=re.S) + "\n"
    text = re.sub(r"^#(?:.*\\\n)*.*$", "", text, flags=re.M)
    return text.replace('extern "C" {', "")


def symbols(*command):
    listing = subprocess.run(["nm", "-g", "--defined-only", *command], capture_output=True,
                             text=True, check=True).stdout
    return sorted({line.split()[2] for line in listing.splitlines() if len(line.split()) == 3})


def declared(text):
    """Prototypes, in one line each."""
    for match in re.finditer(r"PROVEOUT_EXPORT\s+([^;]*);", text):
        yield " ".join(match[1].split())
    for match in re.finditer(r"^typedef\s+([^;]*);", text, flags=re.M):
        yield "typedef " + " ".join(match[1].split())


def questions(text):
    """Expressions to be printed, each with what it is called."""
    for name, body in re.findall(r"struct (\w+) \{(.*?)\n\};", text, flags=re.S):
        yield f"sizeof struct {name}", f"sizeof(struct {name})"
        for declarators in body.split(";"):
            for member in declarators.split(","):
                found = re.search(r"(\w+)\s*(?:\[\w*\])?$", member.strip())
                if found:
                    yield (f"struct {name}.{found[1]}",
                           f"offsetof(struct {name}, {found[1]})")
    for name, body in re.findall(r"enum (\w+) \{(.*?)\}", text, flags=re.S):
        for item in body.split(","):
            if item.strip():
                word = item.split("=")[0].strip()
                yield f"enum {name} {word}", word


def measured(text, headers, compiler):
    lines = [f'    printf("{name} %d\\n", (int)({value}));' for name, value in questions(text)]
    names = sorted(os.listdir(headers))
    source = "".join(f"#include <proveout/{name}>\n" for name in names)
    source += "#include <stddef.h>\n#include <stdio.h>\nint main(void)\n{\n"
    source += "\n".join(lines) + "\n}\n"
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "interface.c")
        with open(path, "w", encoding="utf-8") as file:
            file.write(source)
        program = os.path.join(folder, "interface")
        subprocess.run([*compiler, "-I", os.path.dirname(headers), path, "-o", program],
                       check=True)
        return subprocess.run([program], capture_output=True, text=True,
                              check=True).stdout.splitlines()


def packaged(seen, headers):
    """The lines of PACKAGE as they should be: what is there keeps its version."""
    with open(PACKAGE, encoding="utf-8") as file:
        lines = file.read().splitlines()
    with open(os.path.join(headers, "version.h"), encoding="utf-8") as file:
        version = re.search(r'PROVEOUT_VERSION "(.*)"', file.read())[1]
    known = {line.split("@")[0].strip(): line for line in lines if line.startswith(" ")}
    return lines, [line for line in lines if not line.startswith(" ")] + \
        [known.get(name, f" {name}@Base {version}") for name in seen]


def main(arguments):
    accept = arguments[0] == "--accept"
    headers, shared, static, *compiler = arguments[accept:]
    text = code(headers)
    seen = symbols("-D", shared)
    wrong = [name for name in symbols(static) if name not in seen] + \
            [name for name in seen if name not in symbols(static)]
    for name in wrong:
        print(f"{name}: seen in one of the shared and the static library alone")
    lines = [f"symbol {name}" for name in seen] + sorted(declared(text)) + \
        measured(text, headers, compiler)
    package, wanted = packaged(seen, headers)
    if accept:
        for path, text in (GOLDEN, lines), (PACKAGE, wanted):
            with open(path, "w", encoding="utf-8") as file:
                file.write("\n".join(text) + "\n")
        return bool(wrong)
    with open(GOLDEN, encoding="utf-8") as file:
        golden = file.read().splitlines()
    for sign, some, others in (("-", golden + package, lines + wanted),
                               ("+", lines + wanted, golden + package)):
        for line in some:
            if line not in others:
                print(f"{sign} {line}")
    return bool(wrong) or golden != lines or package != wanted


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
