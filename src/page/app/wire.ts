/* Questions and answers as src/page/glue.c reads and writes them. */

export type Part = string | Uint8Array;
export type Question = readonly Part[];

export interface Answer {
    /** How the file was read, or how the questions stand. */
    readonly status: string;
    /** False where `text` tells why there is none. */
    readonly given: boolean;
    readonly text: string;
}

const encoder = new TextEncoder();

/** A row of strings, each with its length before it and a NUL behind it. */
export function encodeQuestion(question: Question): Uint8Array {
    const parts = question.map((part) => (typeof part === 'string' ? encoder.encode(part) : part));
    const bytes = new Uint8Array(parts.reduce((sum, part) => sum + part.length + 5, 0));
    const view = new DataView(bytes.buffer);
    let at = 0;
    for (const part of parts) {
        view.setUint32(at, part.length, true);
        bytes.set(part, at + 4);
        at += part.length + 5;
    }
    return bytes;
}

const HEAD_MOST = 128;

/**
 * The answer to question `number`; null where the bytes are not the whole of one, from its first
 * byte to its end mark.
 */
export function decodeAnswer(number: number, bytes: Uint8Array | null): Answer | null {
    if (!bytes) return null;
    const line = bytes.subarray(0, HEAD_MOST).indexOf(10);
    if (line < 0) return null;
    try {
        const decoder = new TextDecoder('utf-8', {fatal: true, ignoreBOM: true});
        const head = /^proveout-answer 1 (\d+) ([a-z-]+) (text|trouble) (\d+)$/.exec(
            decoder.decode(bytes.subarray(0, line)));
        if (!head || Number(head[1]) !== number) return null;
        const end = line + 1 + Number(head[4]);
        if (decoder.decode(bytes.subarray(end)) !== `\nend ${number}\n`) return null;
        return {
            status: head[2] ?? '',
            given: head[3] === 'text',
            text: decoder.decode(bytes.subarray(line + 1, end)),
        };
    } catch {
        return null;
    }
}
