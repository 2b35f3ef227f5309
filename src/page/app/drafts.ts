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

const OVERSIZE = 4500000; // characters, that no browser has room for

/* When this tab last wrote or read each draft: a later one of another tab's is not written over. */
const known = new Map<string, number>();

/** Removes the oldest drafts that this tab does not have open, until a value has room; none where it
 *  could not have it anyway. */
function makeRoom(store: Storage, key: string, value: string, open: readonly string[]): boolean {
    if (value.length > OVERSIZE) return false;
    for (const old of all(store).reverse()) {
        if (open.includes(old.id)) continue;
        store.removeItem(PREFIX + old.id);
        if (keep(store, key, value)) return true;
    }
    return false;
}

/** What became of a draft: it can be read back; nowhere is room for it; another tab has written one of
 *  that name since, and this one wants a name of its own. */
export type Kept = 'kept' | 'nowhere' | 'taken';

/** Keeps a draft in the tab's own store and, where somebody changed it, in the one that outlasts the
 *  tab.  `open`: the drafts of this tab, which make room for no other. */
export function keepDraft(draft: Draft, changed: boolean, open: readonly string[]): Kept {
    const value = JSON.stringify(draft), key = PREFIX + draft.id;
    const [own, lasting] = stores();
    const other = lasting && read(lasting, key);
    if (changed && other && other.time !== known.get(draft.id)) return 'taken';
    let kept = own ? keep(own, key, value) : false;
    if (changed && lasting && (keep(lasting, key, value) || makeRoom(lasting, key, value, open))) {
        kept = true;
        known.set(draft.id, draft.time);
        for (const old of all(lasting).filter(({id}) => !open.includes(id)).slice(MOST))
            lasting.removeItem(PREFIX + old.id);
    }
    return kept ? 'kept' : 'nowhere';
}

/** Whether what is typed, and answered so far, can be read back: a draft of an earlier text does not
 *  count. */
export function isKept(id: string, text: string, questions: string | null): boolean {
    return stores().some((store) => {
        const draft = read(store, PREFIX + id);
        return draft?.text === text && draft.questions === questions;
    });
}

/** The newest one of a name; null: there is none. */
export function findDraft(id: string): Draft | null {
    const found = stores().map((store) => read(store, PREFIX + id)).filter((draft) => draft !== null)
        .sort((a, b) => b.time - a.time)[0] ?? null;
    const [, lasting] = stores();
    const other = lasting ? read(lasting, PREFIX + id) : null;
    if (other) known.set(id, other.time);
    return found;
}

/** Those that outlast a tab, newest first. */
export function listDrafts(): Draft[] {
    const [own, lasting] = stores();
    return (lasting ? all(lasting) : own ? all(own) : []).slice(0, MOST);
}

export function clearDraft(id: string): void {
    for (const store of stores()) store.removeItem(PREFIX + id);
    known.delete(id);
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
