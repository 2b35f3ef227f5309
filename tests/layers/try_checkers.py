"""The checkers of this folder, tried on small files that break each promise once, and on twins
that keep it: a checker that finds nothing anywhere would pass unseen."""
import os
import subprocess
import sys
import tempfile
import unittest

import includes
import limits
import symbols
import tree
import words

TABLE = tree.Table("""
low   -    -
side  -    -
mid   low  yaml
high  *    -
[library yaml]
yaml.h
[posix high]
unistd.h sys/*
[calls high except mid/stop.c]
exit stderr
""")


def written(files):
    folder = tempfile.TemporaryDirectory()
    for path, text in files.items():
        full = os.path.join(folder.name, path)
        os.makedirs(os.path.dirname(full), exist_ok=True)
        with open(full, "w", encoding="utf-8") as file:
            file.write(text)
    return folder


class Includes(unittest.TestCase):
    def complaint(self, path, line):
        with written({path: f"{line}\n"}) as root:
            found, _ = includes.check(root, TABLE)
        self.assertLessEqual(len(found), 1)
        return found[0] if found else None

    def test_kept(self):
        for path, line in (("src/mid/a.c", '#include "low/b.h"'),
                           ("src/mid/a.c", "#include <yaml.h>"),
                           ("src/mid/a.c", '#include "mid/internal.h"'),
                           ("src/low/a.c", "#include <string.h>"),
                           ("src/low/a.c", '/* #include "high/a.h" */'),
                           ("src/high/a.c", '#include "side/a.h"'),
                           ("src/high/a.c", "#include <sys/stat.h>")):
            self.assertIsNone(self.complaint(path, line), line)

    def test_broken(self):
        for path, line, words_of_it in (
                ("src/low/a.c", '#include "mid/b.h"', "low may not know mid, which stands below"),
                ("src/mid/a.c", '#include "side/b.h"', "mid may not know side"),
                ("src/high/a.c", '#include "mid/internal.h"', "private to mid"),
                ("src/high/a.c", "#include <yaml.h>", "only mid may use yaml"),
                ("src/mid/a.c", "#  include <unistd.h>", "POSIX is for high alone"),
                ("src/mid/a.c", "#include <zlib.h>", "of no library"),
                ("src/mid/a.c", '#include "b.h"', "name the folder"),
                ("src/mid/a.h", '#include "new/b.h"', "no folder of layers.txt"),
                ("src/new/a.c", "int a;", "lies in no folder")):
            self.assertIn(words_of_it, self.complaint(path, line) or "nothing", line)


class Limits(unittest.TestCase):
    def complaints(self, text, path="src/low/a.c"):
        return limits.check_file(path, text)

    def function(self, lines, parameters="void"):
        return f"static int f({parameters})\n{{\n" + "    g();\n" * (lines - 3) + "}\n"

    def test_functions(self):
        self.assertEqual(self.complaints(self.function(80)), [])
        self.assertIn("81 lines", self.complaints(self.function(81))[0])
        self.assertEqual(self.complaints(self.function(9, "int a, int b, int (*c)(int, int),\n"
                                                          "    int d, int e, int f")), [])
        self.assertIn("7 parameters", self.complaints(
            self.function(9, "int a, int b, int c, int d, int e, int f, int g"))[0])

    def test_nesting(self):
        def nested(depth):
            return ("int f(void)\n{\n" + "    if (a) {\n" * depth
                    + "    struct s x = {{1, {2}}};\n    g(&(struct s){{1}});\n"
                    + "    }\n" * depth + "}\n")
        self.assertEqual(self.complaints(nested(4)), [])
        self.assertIn("5 blocks", self.complaints(nested(5))[0])

    def test_columns(self):
        self.assertEqual(self.complaints("int a; /*" + "x" * 89 + "*/\n"), [])
        self.assertIn("101 columns", self.complaints("int a; /*" + "x" * 90 + "*/\n")[0])
        self.assertEqual(self.complaints('say("' + "x" * 120 + '");\n'), [])

    def test_no_function(self):
        self.assertEqual(self.complaints(
            "static const struct s table[] = {\n" + "    {F(1, 2, 3, 4, 5, 6, 7)},\n" * 200
            + "};\n#define M(a) \\\n    do { \\\n    } while (0)\n"), [])


class Words(unittest.TestCase):
    def complaints(self, text, pairs=frozenset()):
        return words.check_source("src/low/a.c", text, pairs)[0]

    def test_literals(self):
        self.assertIn("`token`", self.complaints('say("an odd token");')[0])
        self.assertIn("`Parsing`", self.complaints('say("Parsing it");')[0])
        self.assertIn("exclamation", self.complaints('say("mind the cutter!");')[0])
        self.assertEqual(self.complaints('say("a nodal point", a != b); /* token */'), [])
        self.assertEqual(self.complaints('BUG("node %d", 1);'), [])
        self.assertEqual(self.complaints('say("null");', {("src/low/a.c", "null")}), [])

    def test_rulebooks(self):
        text = "rules:\n  a:\n    {}: a sequence of moves\n    examples:\n      holds: [{{x: 1}}]\n"
        self.assertIn("`sequence`", words.check_rulebook("r", text.format("why"))[0])
        self.assertEqual(words.check_rulebook("r", text.format("source")), [])

    def test_stale_permission(self):
        with written({"src/low/a.c": "int a;\n"}) as root:
            found, _ = words.check(root, {("src/low/a.c", "null")})
        self.assertIn("no longer there", found[0])


class Symbols(unittest.TestCase):
    def complaints(self, folder, name, text, **others):
        files = {name: text, **{f"{other}.c": more for other, more in others.items()}}
        with written(files) as root:
            library = os.path.join(root, f"lib{folder}.a")
            for one in files:
                member = os.path.join(root, f"{folder}_{one}.o")
                subprocess.run([*COMPILER, "-x", "c", "-fPIC", "-c", os.path.join(root, one), "-o",
                                member], check=True)
                subprocess.run(["ar", "crs", library, member], check=True)
            return symbols.check(library, TABLE)

    def test_data(self):
        self.assertEqual(self.complaints("low", "a.c", 'const char *const a[] = {"b"};'), [])
        for text in ("int a = 1;", "static int a; int *f(void) { return &a; }",
                     'const char *a = "b";', "_Thread_local int a;"):
            self.assertIn("can be written to", self.complaints("low", "a.c", text)[0], text)

    def test_calls(self):
        text = "_Noreturn void exit(int); void f(void) { exit(1); }"
        self.assertIn("low/a.c: exit", self.complaints("low", "a.c", text)[0])
        self.assertEqual(self.complaints("mid", "stop.c", text), [])
        self.assertEqual(self.complaints("high", "a.c", text), [])

    def test_circles(self):
        files = {"b": "void c(void); void b(void) { c(); }", "c": "void a(void); void c(void) { a(); }"}
        straight = "void b(void); void a(void) {} void d(void) { a(); }"
        turned = "void b(void); void a(void) { b(); }"
        self.assertEqual(self.complaints("low", "a.c", straight, **files), [])
        self.assertEqual(self.complaints("low", "a.c", turned, **files),
                         ["low/a.c, low/b.c and low/c.c call each other in a circle"])


if __name__ == "__main__":
    COMPILER = sys.argv[1:] or ["cc"]
    unittest.main(argv=[sys.argv[0]])
