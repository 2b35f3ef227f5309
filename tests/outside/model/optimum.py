"""The numbers that `propose` proposes, against the best that another search finds.

    optimum.py PROGRAM [COUNT [FIRST]] [--highs NODE_MODULES]      a share, or all with SHARE=all

Margins come from the rules in Python (model.py), numbers from a search of its own: successive
linear programmes from many places, and where there are three numbers or fewer from all over a grid.
What the program says of the range of each number, and of what each margin is measured by, is taken
from it: that is the question.  The answers are held against each other: nothing that is found here
may be better than what the program calls the greatest least margin by more than a hundredth; what
it calls so must come out in Python too; and where it finds nothing, neither may this.

Of each machine up to three numbers are asked about; with --highs, all that the program names by
itself.  Programmes are solved by programmes.py; with --highs, by HiGHS under Node.
"""
import collections
import itertools
import json
import math
import os
import random
import sys
import tempfile

import bodies  # noqa: F401  adds its rules to those of the model
import generate
import model
import programmes
from proposals import call, is_ambiguous, share

ENOUGH = 2.0       # times its scale: more is no better
BETTER = 0.01      # so much of it may be missed
HOLDS = 1e-6
WANTED = -1e-6     # what fails with nothing to spare
STARTS = 6
PROGRAMMES = 25
GRID = {1: 65, 2: 13, 3: 7}
BESIDE = 1e-7      # of a range: for slopes


def beside_work(machine):
    """How far the park position lies beside the work area, at worst: the model leaves it open."""
    apart = []
    for a in "xy":
        (low, wide), (high, far) = machine.need(f"work.{a}.low"), machine.need(f"work.{a}.high")
        at = machine.number(f"change.park.{a}")
        apart.append(max(low - wide - at, at - high - far, 0.0))
    return math.hypot(*apart)


OF_ITS_OWN = {"park-over-work": beside_work}


def parts_of(requirement):
    """What the program may have as requirements of their own."""
    return requirement.parts if isinstance(requirement, model.All) else [requirement]


def judged(machine, rules):
    """(truth, margin) of each (rule, subject, which of it); truth None: it cannot be answered."""
    found, counts = {}, collections.Counter()
    for name, when, instances in model.RULES:
        if rules is not None and name not in rules:
            continue
        try:
            applies = when(machine)
        except model.Missing:
            continue
        asked = list(instances(machine)) if applies else []
        times = collections.Counter(subject for subject, _ in asked)
        for subject, requirement in asked:
            for part in parts_of(requirement) if times[subject] == 1 else [requirement]:
                truth, margin = part.judge(machine)
                key = name, subject, counts[name, subject]
                counts[name, subject] += 1
                if truth is None:
                    found[key] = None, None
                elif name in OF_ITS_OWN:
                    found[key] = truth, OF_ITS_OWN[name](machine)
                else:
                    found[key] = truth, margin and margin.true
    return found


class Question:
    """The least margin as a function of the numbers."""

    def __init__(self, machine, said):
        self.machine, self.said = machine, said
        self.fields = said["fields"]
        self.limits = [(one["low"], one["high"]) for one in said["ranges"]]
        self.given = [machine.fields.get(path) for path in self.fields]
        self.now = [machine.get(path)[0] for path in self.fields]
        still = {one["field"] for one in said["held_back"] if not one["moves"]}
        for k, path in enumerate(self.fields):
            if path in still:
                self.limits[k] = (self.now[k], self.now[k])
        self.rules, self.asked = None, 0
        self.scales = self.take_scales()
        self.several = self.take_several()
        self.moving = None
        self.before = self.judge(self.now)
        self.seen = set(self.before)
        self.moving, self.rules = self.find_moving()
        self.aside = {self.key(one) for one in said.get("stays", ())}

    def take_scales(self):
        """By rule and subject, and by requirement: what their margins are measured by."""
        found = collections.defaultdict(dict)
        for one in self.said["scales"]:
            found[one["rule"], one["subject"]][one["requirement"]] = one["scale"]
        return found

    def take_several(self):
        """Rules of several requirements; others may be one there and several here."""
        return {one["rule"] for kind in ("scales", "stays", "excluded")
                for one in self.said.get(kind, ()) if one["requirement"]}

    def key(self, one):
        """What the program names, as far as it is told apart here too."""
        name = one["rule"], one["subject"]
        apart = name[0] in self.several and (*name, 1) in self.seen
        return *name, one["requirement"] if apart else 0

    def is_in(self, key, keys):
        return (key if key[0] in self.several else (*key[:2], 0)) in keys

    def judge(self, x):
        self.asked += 1
        for path, value, given in zip(self.fields, x, self.given):
            self.machine.fields[path] = value, given[1] if given else 0.0
        self.machine.__dict__.pop("rooms", None)  # what is kept there is of other numbers
        found = judged(self.machine, self.rules)
        for path, given in zip(self.fields, self.given):
            if given is None:
                del self.machine.fields[path]
            else:
                self.machine.fields[path] = given
        return found

    def find_moving(self):
        """What comes out otherwise anywhere that is looked."""
        rng = random.Random(1)
        places = [self.drawn(rng) for _ in range(6)]
        for k, (low, high) in enumerate(self.limits):
            for value in (low, high, self.now[k] + 1e-3 * (high - low), (low + high) / 2):
                places.append([*self.now[:k], value, *self.now[k + 1:]])
        moving = set()
        for x in places:
            there = self.judge(x)
            self.seen |= there.keys()
            moving |= {key for key in there.keys() | self.before.keys()
                       if there.get(key) != self.before.get(key)}
        return moving, {key[0] for key in moving}

    def learn(self, x):
        """Does anything come out otherwise there that nothing was known to move?  A narrow strip
        may lie between all places that were looked at."""
        rules, self.rules = self.rules, None
        there = self.judge(x)
        self.rules = rules
        new = {key for key in there.keys() | self.before.keys()
               if there.get(key) != self.before.get(key)} - self.moving
        self.seen |= there.keys()
        self.moving |= new
        self.rules = self.rules | {key[0] for key in new}
        return bool(new)

    def stay_within_travel(self):
        """Cutters are changed where the spindle can go."""
        for k, path in enumerate(self.fields):
            travel = [self.machine.get(f"axes.{path[-1]}.travel.{end}") for end in ("low", "high")]
            if path.startswith(("change.park.", "change.traverse_z")) and all(travel):
                (low, high), now = self.limits[k], self.now[k]
                self.limits[k] = (max(low, min(travel[0][0], now)), min(high, max(travel[1][0], now)))

    def drawn(self, rng):
        return [min(max(rng.choice((rng.uniform(low, high), now, now * rng.uniform(0.5, 2))), low),
                    high) for (low, high), now in zip(self.limits, self.now)]

    def scale(self, key):
        """NAN where it is not known: the program met no margin of it."""
        scales = self.scales.get(key[:2])
        if not scales:
            return math.nan
        return scales.get(key[2]) or max(scales.values())

    def parts(self, x, only=None):
        """Margin by scale of each that counts; -inf under None where something fails that has no
        margin and did not fail before."""
        found = {}
        for key, (holds, margin) in self.judge(x).items():
            if not self.is_in(key, only) if only else (key not in self.moving
                                                       or self.is_in(key, self.aside)):
                continue
            if holds is None:
                if only:
                    found[None] = -math.inf  # nobody can say that it holds there
                continue
            if margin is None:
                if not holds and self.before.get(key, (True, None))[0] is not False:
                    found[None] = -math.inf
                continue
            scale = self.scale(key)
            if math.isnan(scale):
                continue
            part = margin / scale
            found[key] = part if holds else min(part, WANTED)
        return found

    def least(self, x, only=None):
        return min(ENOUGH, *self.parts(x, only).values(), ENOUGH)

    def slopes(self, x, only):
        """(margin, slopes) of each margin about x."""
        here = self.parts(x, only)
        there, beside = [], []
        for k, (low, high) in enumerate(self.limits):
            step = BESIDE * (high - low)
            step = -step if x[k] + step > high else step
            at = x[:]
            at[k] += step
            beside.append(at[k] - x[k])
            there.append(self.parts(at, only))
        return [(part, [(other[key] - part) / by if key in other and by else 0.0
                        for other, by in zip(there, beside)])
                for key, part in here.items() if key is not None]


def climb(question, x, solve, only=None):
    """Successive linear programmes from x; (least, x)."""
    best, look, moved, rows = question.least(x, only), 1.0, True, None
    for _ in range(PROGRAMMES):
        if best >= ENOUGH or look < 1e-6:
            break
        if moved:
            rows = question.slopes(x, only)
        widths = [high - low for low, high in question.limits]
        limits = [(max(low - value, -width * look) / (width or 1),
                   min(high - value, width * look) / (width or 1))
                  for (low, high), value, width in zip(question.limits, x, widths)]
        rows_here = [(ENOUGH, [0.0] * len(x))] + [
            (part, [slope * width for slope, width in zip(slopes, widths)]) for part, slopes in rows]
        found = solve(rows_here, limits)
        if not found or found[0] <= best + 1e-6:
            break
        to = [min(max(value + d * width, low), high)
              for value, d, width, (low, high) in zip(x, found[1], widths, question.limits)]
        there = question.least(to, only)
        moved = there > best + 1e-7
        if moved:
            x, best, look = to, there, min(1.0, look * 2)
        else:
            look /= 4
    return best, x


def grid(question, only):
    """The best place of a grid over all of the ranges."""
    count = len(question.fields)
    marks = [sorted({now, *(low + (high - low) * i / (GRID[count] - 1)
                            for i in range(GRID[count]))})
             for (low, high), now in zip(question.limits, question.now)]
    return max(((question.least(list(x), only), list(x)) for x in itertools.product(*marks)),
               key=lambda found: found[0])


def search(question, solve, rng, starts, only=None):
    if len(question.fields) in GRID:
        starts = [*starts, grid(question, only)[1]]
    starts = [*starts, *(question.drawn(rng) for _ in range(STARTS))]
    best = -math.inf, None
    for start in starts:
        best = max(best, climb(question, start, solve, only), key=lambda found: found[0])
        if best[0] >= ENOUGH:
            break
    return search(question, solve, rng, starts, only) if question.learn(best[1]) else best


def of_set(question, said_set):
    to = {one["field"]: one["proposed"]["si"] for one in said_set["changes"]}
    return [to.get(path, now) for path, now in zip(question.fields, question.now)]


def check_found(question, said, solve, rng):
    exact = min(ENOUGH, said["least_unrounded"])
    proposed = of_set(question, said["widest"])
    theirs = question.least(proposed)
    if theirs < -HOLDS:
        worst = min(question.parts(proposed).items(), key=lambda one: one[1])
        yield f"the set fails in Python: {worst}"
    best, x = search(question, solve, rng, [question.now, proposed])
    if best > exact * (1 + BETTER) + HOLDS:
        yield (f"least {exact}, and {best} is possible with "
               f"{dict(zip(question.fields, x))}")


def check_none(question, said, solve, rng):
    keys = {question.key(one) for one in said["excluded"]}
    if keys:
        best, x = search(question, solve, rng, [question.now], keys if said["stands"] else None)
        if best >= -HOLDS:
            yield (f"{sorted(keys, key=str)} exclude each other, and hold with "
                   f"{dict(zip(question.fields, x))}: {best}")
    aside, question.aside = question.aside, set()
    question.stay_within_travel()
    for key in sorted(aside, key=str):
        if not any(question.is_in(one, {key}) for one in question.moving):
            continue  # no number moves it
        best, x = search(question, solve, rng, [question.now], {key})
        if best >= -HOLDS:
            yield f"{key} stays, and holds with {dict(zip(question.fields, x))}: {best}"


def check_machine(program, folder, seed, solve, few):
    name, rng = f"m{seed}.yaml", random.Random(seed)
    text, machine = generate.make(seed)
    if is_ambiguous(machine):
        return collections.Counter(ambiguous=1), []
    with open(os.path.join(folder, name), "w", encoding="utf-8") as file:
        file.write(text)
    said = json.loads(call(program, folder, "propose", "--format", "json", name))
    if few and len(said["fields"]) > few:
        fields = rng.sample(said["fields"], rng.randint(1, few))
        said = json.loads(call(program, folder, "propose", "--format", "json", name, *fields))
    counts = collections.Counter(machines=1)
    if said["state"] == "nothing to mend":
        return counts, []
    counts[said["state"]] += 1
    question = Question(machine, said)
    counts["numbers"] += len(question.fields)
    check = check_found if said["state"] == "found" else check_none
    wrong = list(check(question, said, solve, rng))
    counts["evaluations"] += question.asked
    return counts, [f"machine {seed}: {one}" for one in wrong]


def main(program, count=60, first=0, *options):
    highs = os.path.abspath(options[1]) if options[:1] == ("--highs",) else None
    if highs and not os.path.isdir(os.path.join(highs, "highs")):
        sys.exit(f"{highs} has no highs in it")
    solve = programmes.Highs(highs) if highs else programmes.simplex
    total, wrong = collections.Counter(), []
    with tempfile.TemporaryDirectory() as folder:
        for seed in share(range(int(first), int(first) + int(count)), 200, least=5):
            counts, found = check_machine(os.path.abspath(program), folder, seed, solve,
                                          0 if highs else 3)
            total += counts
            wrong += found
            print(*found, sep="\n", end="\n" if found else "", flush=True)
    print(", ".join(f"{number} {what}" for what, number in total.items()), f"; {len(wrong)} wrong")
    sys.exit(1 if wrong or not total["found"] else 0)


if __name__ == "__main__":
    main(*sys.argv[1:])
