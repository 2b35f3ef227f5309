"""Single mistakes in the rulebooks: do the examples that the rules carry catch every one?

    rulebooks.py PROVER [--list]

Each formula of each rule and definition is spoilt in one place, and the examples of the rules that
read it are run again.  A mutant that they all pass must stand in equivalent.yaml with the reason
why it means the same; an entry there that is caught after all, or is no mutant any more, is
refused as well.
"""
import collections
import concurrent.futures
import json
import pathlib
import re
import subprocess
import sys

import yaml

import formula

HERE = pathlib.Path(__file__).resolve().parent
RULES = HERE.parents[1] / "rules"
EQUIVALENT = HERE / "equivalent.yaml"
WORKERS = 2
WORD = re.compile(r"[a-z_]\w*")


class Formula:
    """A formula where it stands in the text of its entry."""

    def __init__(self, key, node, offset):
        self.key, self.value = key, node.value
        self.start, self.end = node.start_mark.index - offset, node.end_mark.index - offset
        self.block = node.style in (">", "|")


class Entry:
    """One rule, or one definition: its own lines and the formulas in them."""

    def __init__(self, name, text, formulas):
        self.name, self.text, self.formulas = name, text, formulas

    def words(self):
        return {word for one in self.formulas for word in WORD.findall(one.value)}

    def with_formula(self, one, value):
        quoted = json.dumps(value, ensure_ascii=False) + ("\n" if one.block else "")
        return self.text[:one.start] + quoted + self.text[one.end:]

    def without(self, one):
        """The entry without the line of a formula."""
        start = self.text.rindex("\n", 0, one.start) + 1
        end = one.end if one.block else self.text.index("\n", one.end) + 1
        return self.text[:start] + self.text[end:]


def entries(text, section):
    """The entries of a section; each text begins at the line of its key."""
    if section is None:
        return
    pairs = section.value
    starts = [text.rindex("\n", 0, key.start_mark.index) + 1 for key, _ in pairs]
    for (key, value), start, end in zip(pairs, starts, starts[1:] + [section.end_mark.index]):
        own = text[start:end].rstrip() + "\n"
        yield key.value, start, own, value


def scalars(key, node):
    return [(key, node)] if isinstance(node, yaml.ScalarNode) else [
        (f"{key}[{i}]", one) for i, one in enumerate(node.value)]


def alone(text):
    """A rule without the rules that imply it: those are not in its rulebook."""
    return re.sub(r"^ +implied_by: .*\n", "", text, flags=re.MULTILINE)


def rule_entry(name, start, text, node):
    found = [one for key, value in node.value if key.value in ("when", "require")
             for one in scalars(key.value, value)]
    return Entry(name, text, [Formula(key, value, start) for key, value in found])


def definition_entry(name, start, text, node):
    return Entry(name.partition("(")[0], text, [Formula("define", node, start)])


def read_books():
    rules, definitions = [], []
    for path in sorted(RULES.glob("*.yaml")):
        text = path.read_text(encoding="utf-8")
        root = yaml.compose(text, yaml.SafeLoader)
        sections = {key.value: value for key, value in root.value}
        if "rulebook" not in sections or path.name == "reading.yaml":
            continue
        definitions += [definition_entry(*one) for one in entries(text, sections.get("define"))]
        rules += [rule_entry(*one) for one in entries(text, sections.get("rules"))]
    return rules, definitions


def readers(rules, definitions, name):
    """The rules that read a definition, by themselves or through another."""
    names = {name}
    while True:
        more = {one.name for one in definitions if one.words() & names} - names
        if not more:
            return [rule for rule in rules if rule.words() & names]
        names |= more


def book(definitions, rules):
    return "rulebook: 1\ntitle: mutant\ndefine:\n" + "".join(definitions) + "rules:\n" + \
        "".join(rules)


def rule_mutants(rule, definitions):
    """(place, what, mutant, text of the rulebook)"""
    shared = [one.text for one in definitions]
    for one in rule.formulas:
        place = f"{rule.name}/{one.key}"
        for what, value in formula.mutants(one.value):
            yield place, what, value, book(shared, [alone(rule.with_formula(one, value))])
        if one.key == "when":
            yield place, "left out when", "", book(shared, [alone(rule.without(one))])


def definition_mutants(definition, rules, definitions):
    reading = [alone(rule.text) for rule in readers(rules, definitions, definition.name)]
    one = definition.formulas[0]
    for what, value in formula.mutants(one.value):
        own = definition.with_formula(one, value)
        texts = [own if other is definition else other.text for other in definitions]
        yield f"{definition.name}/define", what, value, book(texts, reading)


def prove(prover, texts):
    """A word for each text."""
    send = b"".join(b"%d\n" % len(text) + text for text in (one.encode() for one in texts))
    done = subprocess.run([prover], input=send, capture_output=True, check=False)
    words = done.stdout.decode().split()
    if done.returncode or len(words) != len(texts):
        raise SystemExit(f"the prover ended with {done.returncode} after {len(words)} of "
                         f"{len(texts)}: {done.stderr.decode()}")
    return words


def prove_all(prover, texts):
    """The same, on several cores: every n-th text each, since neighbours take alike."""
    words = [None] * len(texts)
    with concurrent.futures.ThreadPoolExecutor(WORKERS) as pool:
        parts = [pool.submit(prove, prover, texts[i::WORKERS]) for i in range(WORKERS)]
        for i, part in enumerate(parts):
            words[i::WORKERS] = part.result()
    return words


def check_whole(prover, rules, definitions):
    """Unspoilt, everything must be proved: else all mutants would count as caught."""
    shared = [one.text for one in definitions]
    texts = [book(shared, [alone(rule.text)]) for rule in rules]
    texts.append(book(shared, [rule.text for rule in rules]))
    wrong = [rule.name for rule, word in zip(rules, prove_all(prover, texts)) if word != "proved"]
    if wrong:
        raise SystemExit(f"not proved before anything is spoilt: {', '.join(wrong)}")


def known_equivalents():
    listed = yaml.safe_load(EQUIVALENT.read_text(encoding="utf-8"))
    known = {(one["where"], " ".join((one["mutant"] or "").split())): one["because"]
             for one in listed}
    if len(known) != len(listed) or not all(known.values()):
        raise SystemExit(f"{EQUIVALENT.name}: an entry twice, or one without a reason")
    return known


def main(prover, listing=None):
    rules, definitions = read_books()
    check_whole(prover, rules, definitions)
    mutants = [one for rule in rules for one in rule_mutants(rule, definitions)]
    for definition in definitions:
        mutants += definition_mutants(definition, rules, definitions)
    words = prove_all(prover, [one[3] for one in mutants])
    known, wrong = known_equivalents(), 0
    survived = set()
    for (place, what, value, _), word in zip(mutants, words):
        if word == "proved":
            survived.add((place, value))
            if (place, value) not in known:
                wrong += 1
                print(f"not caught: {place}: {what}\n    {value or '(none)'}")
        elif listing:
            print(f"{word}: {place}: {what}: {value}")
    for place, value in sorted(set(known) - survived):
        wrong += 1
        print(f"{EQUIVALENT.name}: is caught, or is no mutant any more: {place}: {value}")
    counts = collections.Counter(words)
    print(f"{len(mutants)} mutants of {len(rules)} rules and {len(definitions)} definitions: "
          f"{counts['caught']} caught, {counts['refused']} refused, {counts['proved']} not, of "
          f"which {len(set(known) & survived)} are known to mean the same")
    return int(wrong > 0)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
