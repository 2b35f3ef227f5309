/* What was typed, kept in the browser until it stands in a file.
 *
 * First in the tab's own storage, which a reload keeps, then in the one that outlasts the tab.
 * Other pages on this disk may read the second.  Every write is read back: a draft counts as kept
 * only where it is.
 */
import type {Form} from './bytes';

export interface Draft {
    readonly id: string;
    readonly name: string;
    readonly text: string;
    readonly saved: string | null; // what stood in the file when it was last the same
    readonly form: Form;
    readonly questions: string | null; // answers so far, as the library keeps them
    readonly time: number;
    readonly version: string;
}

const PREFIX = 'proveout.1.draft.';
const OPEN = 'proveout.1.open';
const MOST = 5;

function stores(): Storage[] {
    const found: Storage[] = [];
    for (const name of ['sessionStorage', 'localStorage'] as const) {
        try {
            found.push(window[name]);
        } catch {
            // a browser may refuse both
        }
    }
    return found;
}

function keep(store: Storage, key: string, value: string): boolean {
    try {
        store.setItem(key, value);
        return store.getItem(key) === value;
    } catch {
        return false;
    }
}

function read(store: Storage, key: string): Draft | null {
    try {
        const draft = JSON.parse(store.getItem(key) ?? 'null') as Draft | null;
        return draft && typeof draft.text === 'string' && typeof draft.name === 'string' &&
            typeof draft.id === 'string' && typeof draft.form === 'object'
            ? draft
            : null;
    } catch {
        return null;
    }
}

function all(store: Storage): Draft[] {
    const drafts: Draft[] = [];
    for (let i = 0; i < store.length; i++) {
        const key = store.key(i) ?? '';
        const draft = key.startsWith(PREFIX) ? read(store, key) : null;
        if (draft) drafts.push(draft);
    }
    return drafts.sort((a, b) => b.time - a.time);
}

/** True where it can be read back. */
export function keepDraft(draft: Draft): boolean {
    const value = JSON.stringify(draft);
    let kept = false;
    for (const store of stores()) {
        const key = PREFIX + draft.id;
        let done = keep(store, key, value);
        for (const old of done ? [] : all(store).reverse()) {
            if (done || old.id === draft.id) continue;
            store.removeItem(PREFIX + old.id);
            done = keep(store, key, value);
        }
        kept = done || kept;
        for (const old of all(store).slice(MOST)) store.removeItem(PREFIX + old.id);
    }
    return kept;
}

/** The newest of each, newest first. */
export function listDrafts(): Draft[] {
    const newest = new Map<string, Draft>();
    for (const draft of stores().flatMap(all)) {
        const known = newest.get(draft.id);
        if (!known || known.time < draft.time) newest.set(draft.id, draft);
    }
    return [...newest.values()].sort((a, b) => b.time - a.time).slice(0, MOST);
}

export function clearDraft(id: string): void {
    for (const store of stores()) store.removeItem(PREFIX + id);
}

/** Which drafts this tab has open, the one in front first: a reload opens them again. */
export function keepOpen(ids: readonly string[]): void {
    const store = stores()[0];
    if (store) keep(store, OPEN, JSON.stringify(ids));
}

export function listOpen(): string[] {
    try {
        const ids = JSON.parse(stores()[0]?.getItem(OPEN) ?? '[]') as unknown;
        return Array.isArray(ids) ? ids.filter((id) => typeof id === 'string') : [];
    } catch {
        return [];
    }
}
