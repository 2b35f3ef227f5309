"""Linear programmes, solved in plain Python, or by HiGHS where somebody has it for Node.

Both answer the one question that is asked: how far to go from where one is, within limits, so that
the least of several straight margins is greatest.
"""
import json
import subprocess

TINY = 1e-11


def simplex(rows, limits):
    """Greatest t with sum(slopes * d) + margin >= t for each (margin, slopes) of `rows` and
    low <= d <= high for each of `limits`, low <= 0 <= high; (t, d).

    The textbook's tableau.  Each number is what it goes up less what it goes down, so that staying
    where one is, with the least margin, is a corner to start from.  Bland's rule: it ends.
    """
    count, least = len(limits), min(margin for margin, _ in rows)
    columns = 2 * count + 1
    table = []
    for margin, slopes in rows:
        table.append([-s for s in slopes] + list(slopes) + [1.0, margin - least])
    for k, (low, high) in enumerate(limits):
        for shift, bound in ((0, high), (count, -low)):
            row = [0.0] * (columns + 1)
            row[k + shift] = 1.0
            row[-1] = bound
            table.append(row)
    basis = [None] * len(table)          # the column that a row gives; None: its slack
    at_zero = list(range(columns))       # what each column stands for now
    slack = [columns + i for i in range(len(table))]
    basis = slack[:]
    goal = [0.0] * columns + [0.0]
    goal[columns - 1] = -1.0
    while True:
        entering = min((at_zero[j], j) for j in range(columns) if goal[j] < -TINY)[1] if any(
            goal[j] < -TINY for j in range(columns)) else None
        if entering is None:
            break
        ratios = [(row[-1] / row[entering], basis[i], i) for i, row in enumerate(table)
                  if row[entering] > TINY]
        if not ratios:
            return None
        least_ratio = min(ratio for ratio, _, _ in ratios)
        _, leaving = min((name, i) for ratio, name, i in ratios
                         if ratio <= least_ratio + TINY * max(1.0, least_ratio))
        pivot(table, goal, leaving, entering)
        basis[leaving], at_zero[entering] = at_zero[entering], basis[leaving]
    value = {name: row[-1] for name, row in zip(basis, table)}
    going = [value.get(k, 0.0) - value.get(count + k, 0.0) for k in range(count)]
    return value.get(columns - 1, 0.0) + least, going


def pivot(table, goal, leaving, entering):
    """Exchanges a row's variable with a column's, in the condensed tableau."""
    row = table[leaving]
    by = row[entering]
    row[entering] = 1.0
    row[:] = [value / by for value in row]
    for other in [*table, goal]:
        if other is row or not other[entering]:
            continue
        times = other[entering]
        other[entering] = 0.0
        other[:] = [value - times * part for value, part in zip(other, row)]


class Highs:
    """HiGHS by way of Node: `folder` holds the node_modules in which `highs` is."""

    SCRIPT = """
const load = require(process.argv[1]);
load().then((highs) => {
  require("readline").createInterface({ input: process.stdin }).on("line", (line) => {
    const { rows, limits } = JSON.parse(line);
    const number = (x) => x.toPrecision(17).replace("+", "");
    const sum = (slopes) => slopes.map((s, k) => (s < 0 ? "- " : "+ ") + number(Math.abs(s))
                                                 + " d" + k).join(" ");
    const text = "Maximize\\n goal: t\\nSubject To\\n"
      + rows.map(([margin, slopes], i) => ` r${i}: ${sum(slopes)} - t >= ${number(-margin)}`)
            .join("\\n")
      + "\\nBounds\\n t free\\n"
      + limits.map(([low, high], k) => ` ${number(low)} <= d${k} <= ${number(high)}`).join("\\n")
      + "\\nEnd\\n";
    const found = highs.solve(text, { output_flag: false });
    const optimal = found.Status === "Optimal";
    console.log(JSON.stringify(optimal ? { t: found.Columns.t.Primal,
      d: limits.map((_, k) => found.Columns["d" + k].Primal) } : null));
  });
});
"""

    def __init__(self, folder):
        self.node = subprocess.Popen(["node", "-e", self.SCRIPT, folder + "/highs"],
                                     stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)

    def __call__(self, rows, limits):
        rows = [(margin, [s if abs(s) > TINY else 0.0 for s in slopes]) for margin, slopes in rows]
        self.node.stdin.write(json.dumps({"rows": rows, "limits": limits}) + "\n")
        self.node.stdin.flush()
        found = json.loads(self.node.stdout.readline())
        return found and (found["t"], found["d"])

    def close(self):
        self.node.stdin.close()
        self.node.wait()
