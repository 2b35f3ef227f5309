/* Which field a place in the text belongs to, as far as its indentation tells: for hints while it is
 * typed.  What the file says is the library's to know. */

export interface TextLines {
    readonly lines: number;
    line(n: number): {readonly text: string};
}

interface Key {
    readonly key: string;
    readonly column: number; // of the key
    readonly dash: number; // of the dash before it; -1: none
}

function keyOf(text: string): Key | null {
    const found = /^(\s*)(-\s+)?(["']?)([A-Za-z_]\w*)\3\s*:(?=\s|$)/.exec(text);
    if (!found) return null;
    const dash = found[2] ? (found[1] ?? '').length : -1;
    return {key: found[4] ?? '', column: (found[1] ?? '').length + (found[2] ?? '').length, dash};
}

/** How many items of the same list begin above line `n`. */
function itemsAbove(doc: TextLines, n: number, dash: number): number {
    let count = 0;
    for (let i = n - 1; i >= 1; i--) {
        const text = doc.line(i).text;
        if (!text.trim() || /^\s*#/.test(text)) continue;
        const indent = text.search(/\S/);
        if (indent < dash || (indent === dash && text[indent] !== '-')) break;
        if (indent === dash) count++;
    }
    return count;
}

/** The keys that a key at `column` of line `n` stands below: "cutters[2]", "setter.at". */
export function parentPath(doc: TextLines, n: number, column: number): string {
    let path = '';
    let inner = column;
    for (let i = n; i >= 1 && inner > 0; i--) {
        const text = doc.line(i).text;
        const dash = /^(\s*)-(\s|$)/.exec(text);
        const at = dash ? (dash[1] ?? '').length : -1;
        if (dash && at < inner) {
            path = `[${itemsAbove(doc, i, at)}]${path ? '.' + path : ''}`;
            // the key that has the list may stand as far in as its dashes do
            for (let k = i - 1; k >= 1; k--) {
                const key = keyOf(doc.line(k).text);
                if (key && key.dash < 0 && key.column <= at) {
                    path = key.key + path;
                    inner = key.column;
                    i = k;
                    break;
                }
            }
            continue;
        }
        const key = i < n ? keyOf(text) : null;
        if (key && key.column < inner) {
            path = key.key + (path ? (path.startsWith('[') ? '' : '.') + path : '');
            inner = key.column;
        }
    }
    return path;
}

/** The field at `offset` of line `n`; "" where there is none. */
export function pathAt(doc: TextLines, n: number, offset: number): string {
    const text = doc.line(n).text;
    const key = keyOf(text);
    if (!key) return '';
    const parent = parentPath(doc, n, key.column);
    let path = parent ? `${parent}.${key.key}` : key.key;
    const flow = /[{,]\s*([A-Za-z_]\w*)\s*:/g;
    let inner = '';
    for (let found = flow.exec(text); found && found.index <= offset; found = flow.exec(text))
        inner = found[1] ?? '';
    if (inner) path += '.' + inner;
    return path;
}

/** "axes.x.travel" as the table of fields has it: "axes.*.travel"; null: it has no such field. */
export function fieldMatches(general: string, path: string): boolean {
    const parts = path.replace(/\[\d+\]/g, '[]').split('.');
    const wanted = general.split('.');
    return parts.length === wanted.length &&
        wanted.every((part, i) => part === '*' || part === parts[i]);
}
