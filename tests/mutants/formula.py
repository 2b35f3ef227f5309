"""Single mistakes in a formula of a rulebook.

Works on the words of a formula alone, with the precedence of its operators: enough to find where
an operand begins and ends.  What comes out need not be a formula; then the loader refuses it.
"""
import re

TOKEN = re.compile(r"""
    (?P<string>"[^"]*")
  | (?P<number>\d+(?:\.\d+)?)(?P<unit>\ *(?:mm|ms|s|um|rev|rpm|step|%)(?![\w.(]))?
  | (?P<word>[A-Za-z_][\w-]*(?:\.[A-Za-z_]\w*)*)
  | (?P<sign>\.\.|<=|>=|==|±|[-+*/^<>(),])
""", re.VERBOSE)

BINDS = {"or": 1, "and": 2, "<": 3, "<=": 3, ">": 3, ">=": 3, "==": 3, "inside": 3, "is": 3,
         "has": 3, "before": 3, "otherwise": 4, "±": 5, "+": 6, "-": 6, "*": 7, "/": 7, "^": 8}
ENDS = {"then", "else", "if", "for", "where", "in", ",", "(", ")", "..", "every", "any", "largest",
        "smallest", "count", "distinct"}
TURNED = {"<": ["<=", ">"], "<=": ["<", ">="], ">": [">=", "<"], ">=": [">", "<="],
          "==": ["<=", ">="]}
SWAPPED = {"and": ["or"], "or": ["and"], "+": ["-"], "-": ["+"], "*": ["/"], "/": ["*"],
           "±": ["+", "-"], "min": ["max"], "max": ["min"], "largest": ["smallest"],
           "smallest": ["largest"], "every": ["any"], "any": ["every"], "hypot": ["max", "min"],
           "yes": ["no"], "no": ["yes"]}
LEFT_OUT = {"nominal", "not", "abs"}
PARTS = {"low": "high", "high": "low", "x": "y", "y": "x", "z": "x"}


class Token:
    def __init__(self, match):
        self.text, self.start, self.end = match.group(), match.start(), match.end()
        self.number, self.unit, self.word = match.group("number", "unit", "word")


def tokens(formula):
    return [Token(match) for match in TOKEN.finditer(formula)]


def is_unary(all_tokens, i):
    """Is the sign at `i` that of one number, not between two?"""
    before = all_tokens[i - 1].text if i else "("
    return before in BINDS or before in ENDS - {")"} or before in LEFT_OUT


def right_end(all_tokens, i):
    """The index after the right operand of the operator at `i`."""
    depth, binds, j = 0, BINDS[all_tokens[i].text], i + 1
    while j < len(all_tokens):
        text = all_tokens[j].text
        if text == "(":
            depth += 1
        elif text == ")":
            depth -= 1
            if depth < 0:
                break
        elif not depth and j > i + 1:
            if text in ENDS or BINDS.get(text, 9) <= binds and not is_unary(all_tokens, j):
                break
        j += 1
    return j


def left_start(all_tokens, i):
    """The index of the first token of the left operand of the operator at `i`."""
    depth, binds, j = 0, BINDS[all_tokens[i].text], i - 1
    while j >= 0:
        text = all_tokens[j].text
        if text == ")":
            depth += 1
        elif text == "(":
            depth -= 1
            if depth < 0:
                break
        elif not depth and (text in ENDS or BINDS.get(text, 9) < binds):
            break
        j -= 1
    return j + 1


def changed_numbers(token):
    unit = token.unit or ""
    number = float(token.number)
    if number == 0:
        return [f"1{unit}"]
    bigger = f"{number * 1.02:.12g}{unit}"
    return [bigger, f"{number * 0.98:.12g}{unit}"]


def changed_paths(path):
    """One part of a path for its neighbour."""
    parts = path.split(".")
    for i in range(1, len(parts)):
        if parts[i] in PARTS:
            yield ".".join(parts[:i] + [PARTS[parts[i]]] + parts[i + 1:])


def mutants(formula):
    """(what was done, the mutated formula), each once."""
    formula = " ".join(formula.split())
    seen = {formula}
    for what, text in every(formula, tokens(formula)):
        text = " ".join(text.split())
        if text not in seen:
            seen.add(text)
            yield what, text


def every(formula, all_tokens):
    for i, token in enumerate(all_tokens):
        def put(text, first=token, last=token):
            return formula[:first.start] + text + formula[last.end:]
        text = token.text
        following = all_tokens[i + 1].text if i + 1 < len(all_tokens) else ""
        for other in TURNED.get(text, []):
            yield f"turned {text}", put(other)
        if not (text in BINDS and is_unary(all_tokens, i)):
            for other in SWAPPED.get(text, []):
                yield f"{text} for {other}", put(other)
        if text in LEFT_OUT:
            yield f"left out {text}", put("")
        if text == "known":
            yield "known turned", put("not known")
        if text == "is":
            if following == "not":
                yield "is for is not", put("is", token, all_tokens[i + 1])
            else:
                yield "is not for is", put("is not")
        if token.number:
            for other in changed_numbers(token):
                yield "changed number", put(other)
        if token.word:
            for other in changed_paths(text):
                yield "changed path", put(other)
        if text == "where":
            yield "left out where", formula[:token.start]
        if text == "if":
            then = next(j for j in range(i, len(all_tokens)) if all_tokens[j].text == "then")
            condition = formula[all_tokens[i + 1].start:all_tokens[then - 1].end]
            yield "branches swapped", put(f"if not ({condition})", token, all_tokens[then - 1])
        if text in BINDS and BINDS[text] != 3 and text != "^" and not is_unary(all_tokens, i):
            last = all_tokens[right_end(all_tokens, i) - 1]
            first = all_tokens[left_start(all_tokens, i)]
            yield f"dropped right of {text}", put("", token, last)
            yield f"dropped left of {text}", put("", first, token)
        if text == "inside":
            yield from sides(formula, all_tokens, i)


def sides(formula, all_tokens, i):
    """A range that lost one of its ends."""
    dots = next(j for j in range(i, len(all_tokens)) if all_tokens[j].text == "..")
    end = dots + 1
    depth = 0
    while end < len(all_tokens):
        text = all_tokens[end].text
        depth += (text == "(") - (text == ")")
        if depth < 0 or not depth and (text in ENDS - {")"} or BINDS.get(text, 9) <= 3):
            break
        end += 1
    before, after = formula[:all_tokens[i].start], formula[all_tokens[end - 1].end:]
    low = formula[all_tokens[i + 1].start:all_tokens[dots - 1].end]
    high = formula[all_tokens[dots + 1].start:all_tokens[end - 1].end]
    yield "lost the high end", f"{before}>= {low}{after}"
    yield "lost the low end", f"{before}<= {high}{after}"
