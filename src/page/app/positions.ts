/* Places: the library counts code points and bytes, the page UTF-16 units. */

/** Where column `column` of a line stands in it; columns count code points from 1. */
export function columnOffset(line: string, column: number): number {
    let offset = 0;
    for (let seen = 1; seen < column && offset < line.length; seen++)
        offset += (line.codePointAt(offset) ?? 0) > 0xffff ? 2 : 1;
    return offset;
}

/** How many UTF-16 units stand before byte `bytes` of a text in UTF-8. */
export function unitsBefore(text: string, bytes: number): number {
    let at = 0;
    let seen = 0;
    while (at < text.length && seen < bytes) {
        const point = text.codePointAt(at) ?? 0;
        seen += point < 0x80 ? 1 : point < 0x800 ? 2 : point < 0x10000 ? 3 : 4;
        at += point > 0xffff ? 2 : 1;
    }
    return at;
}

/** The one stretch in which two texts differ. */
export function difference(before: string, after: string): {from: number; to: number;
                                                            insert: string} {
    const least = Math.min(before.length, after.length);
    let start = 0;
    while (start < least && before[start] === after[start]) start++;
    let end = 0;
    while (end < least - start &&
           before[before.length - 1 - end] === after[after.length - 1 - end]) end++;
    return {from: start, to: before.length - end, insert: after.slice(start, after.length - end)};
}
