"""A C file seen as the layer tests need it: comments blanked, literals apart, braces matched.

Knows C's lexical grammar and the habits of this code (one declaration a statement); it is no
compiler.  Line numbers are those of the file: nothing is taken away, only blanked.
"""
import re

TOKEN = re.compile(
    r'(?P<comment>/\*.*?\*/|//(?:\\\n|[^\n])*)'
    r'|(?P<text>"(?:\\.|[^"\\\n])*")'
    r"|(?P<char>'(?:\\.|[^'\\\n])*')", re.S)


def blank(text):
    return re.sub(r"[^\n]", " ", text)


class Source:
    def __init__(self, path, text):
        self.path = path
        self.lines = text.split("\n")
        if self.lines and self.lines[-1] == "":
            self.lines.pop()
        self.literals = []  # (line, text) of string literals outside #include
        without_comments = TOKEN.sub(
            lambda m: blank(m.group()) if m.group("comment") else m.group(), text)
        self.includes = []  # (line, name, quoted)
        for match in re.finditer(r'^[ \t]*#[ \t]*include[ \t]*([<"])([^>"\n]+)[>"]',
                                 without_comments, re.M):
            line = without_comments.count("\n", 0, match.start()) + 1
            self.includes.append((line, match.group(2), match.group(1) == '"'))
        included = {line for line, _, quoted in self.includes if quoted}

        def literal(match):
            if match.group("text"):
                line = text.count("\n", 0, match.start()) + 1
                if line not in included:
                    self.literals.append((line, match.group("text")[1:-1], match.start()))
            return match.group()[0] + blank(match.group()[1:-1]) + match.group()[-1]

        bare = TOKEN.sub(lambda m: blank(m.group()) if m.group("comment") else literal(m), text)
        # Preprocessor lines with their continuations are no code of the function around them.
        self.code = re.sub(r"^[ \t]*#(?:[^\n]*\\\n)*[^\n]*", lambda m: blank(m.group()), bare,
                           flags=re.M)
        self.text = bare

    def line_of(self, offset):
        return self.code.count("\n", 0, offset) + 1

    def functions(self):
        """Each function with a body: (name, line, lines, parameters, nesting)."""
        code, found, start = self.code, [], 0
        depth, at = 0, 0
        while at < len(code):
            letter = code[at]
            if letter == "{":
                head = code[start:at]
                end = matching(code, at)
                plain = re.sub(r"__attribute__\s*\(\(.*?\)\)", blank_of, head)
                match = re.search(r"(\w+)\s*\(", plain)
                if match and head.rstrip().endswith(")"):
                    opening = start + match.end() - 1
                    closing = matching(code, opening)
                    first = self.line_of(start + len(head) - len(head.lstrip()))
                    found.append((match.group(1), first, self.line_of(end) - first + 1,
                                  parameters(code[opening + 1:closing]), nesting(code, at, end)))
                    start = end + 1
                at = end
            elif letter == ";":
                start = at + 1
            at += 1
        return found


def blank_of(match):
    return blank(match.group())


def matching(code, opening):
    """The offset of the bracket that closes the one at `opening`; the end where none does."""
    pairs = {"(": ")", "{": "}", "[": "]"}
    depth, left, right = 0, code[opening], pairs[code[opening]]
    for at in range(opening, len(code)):
        if code[at] == left:
            depth += 1
        elif code[at] == right:
            depth -= 1
            if depth == 0:
                return at
    return len(code) - 1


def parameters(text):
    if text.strip() in ("", "void"):
        return 0
    depth, count = 0, 1
    for letter in text:
        depth += letter in "([{"
        depth -= letter in ")]}"
        count += letter == "," and depth == 0
    return count


def nesting(code, start, end):
    """How many blocks of statements lie within each other inside a function's body."""
    deepest, blocks = 0, []
    for at in range(start + 1, end):
        if code[at] == "{":
            before = code[start:at].rstrip()
            blocks.append(bool(re.search(r"\b(else|do)$", before)) or before.endswith(")")
                          and bool(opens_block(before)))
            deepest = max(deepest, sum(blocks))
        elif code[at] == "}":
            blocks.pop()
    return deepest


def opens_block(before):
    depth = 0
    for at in range(len(before) - 1, -1, -1):
        depth += before[at] == ")"
        depth -= before[at] == "("
        if depth == 0:
            return re.search(r"\b(if|for|while|switch|[A-Z_]+)\s*$", before[:at])
    return None
