/* A file's bytes as a text that can be edited, and back without changing what nobody edited. */

export interface Form {
    readonly mark: boolean; // a byte order mark comes first
    readonly eol: '\n' | '\r\n' | '\r';
}

export const PLAIN: Form = {mark: false, eol: '\n'};

/** Null where the bytes are no UTF-8. */
export function textOf(bytes: Uint8Array): {text: string; form: Form} | null {
    let text: string;
    try {
        text = new TextDecoder('utf-8', {fatal: true, ignoreBOM: true}).decode(bytes);
    } catch {
        return null;
    }
    const mark = text.startsWith('\ufeff');
    if (mark) text = text.slice(1);
    const pairs = text.split('\r\n').length - 1;
    const feeds = text.split('\n').length - 1 - pairs;
    const returns = text.split('\r').length - 1 - pairs;
    // Lines that end now so, now so stay as they are: the returns stand in the text.
    const eol = pairs && !feeds && !returns ? '\r\n' : returns && !pairs && !feeds ? '\r' : '\n';
    return {text: eol === '\n' ? text : text.replaceAll(eol, '\n'), form: {mark, eol}};
}

export function bytesOf(text: string, form: Form): Uint8Array<ArrayBuffer> {
    const ended = form.eol === '\n' ? text : text.replaceAll('\n', form.eol);
    return new TextEncoder().encode((form.mark ? '\ufeff' : '') + ended);
}
