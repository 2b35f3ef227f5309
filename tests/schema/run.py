"""The schemas in programs of others: a reader of JSON Schema, and the YAML service of editors.

    run.py PROGRAM MODULES

MODULES is where npm put ajv and yaml-language-server.  What verdicts.py holds against one reader of
schemas is held against another here: a share, or all with SHARE=all.  The last line of each step
says what it went through; the status is 1 where anything was complained of.
"""
import json
import os
import subprocess
import sys
import tempfile

import cases
import verdicts

HERE = os.path.dirname(os.path.abspath(__file__))


def write_values(program, folder):
    """The schema and the values of each kind, as ajv.js wants them."""
    given = []
    for kind, judged in (("machine", cases.machine_cases), ("rulebook", cases.book_cases),
                         ("policy", cases.own_cases), ("known", cases.own_cases),
                         ("agreements", cases.own_cases)):
        schema, values = (os.path.join(folder, f"{kind}.{end}") for end in ("json", "lines"))
        subprocess.run([program, "schema", kind, "--output", schema], check=True)
        with open(values, "w", encoding="utf-8") as file:
            for case in (one for one in judged(program) if one.kind == kind):
                for loader, value in verdicts.readings(case) if case.verdict is not None else ():
                    file.write(json.dumps([f"{case.name} ({loader})", case.verdict, value]) + "\n")
        given += [schema, values]
    return given


def by_ajv(program, modules):
    with tempfile.TemporaryDirectory() as folder:
        return subprocess.run(["node", os.path.join(HERE, "ajv.js"), *write_values(program, folder)],
                              env=dict(os.environ, NODE_PATH=modules), check=False, timeout=3600,
                              stdout=subprocess.PIPE, stderr=subprocess.STDOUT)


def by_editor(program, modules):
    return subprocess.run([sys.executable, "-B", os.path.join(HERE, "editor.py"), program, modules],
                          check=False, timeout=300, stdout=subprocess.PIPE, stderr=subprocess.STDOUT)


def main(program, modules):
    failed = 0
    for name, step in (("ajv", by_ajv), ("editor", by_editor)):
        done = step(os.path.abspath(program), os.path.abspath(modules))
        sys.stdout.write(done.stdout.decode(errors="replace") +
                         f"schemas: {name}: {'failed' if done.returncode else 'passed'}\n")
        sys.stdout.flush()
        failed += done.returncode != 0
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
