/* Files in and out: pickers where the browser has them, else a file field and a download. */

export interface Handle {
    readonly name: string;
    getFile(): Promise<File>;
    createWritable(): Promise<{write(data: BufferSource): Promise<void>; close(): Promise<void>}>;
}

interface Pickers {
    showOpenFilePicker?: (options: object) => Promise<Handle[]>;
    showSaveFilePicker?: (options: object) => Promise<Handle>;
}

export interface Opened {
    readonly name: string;
    readonly bytes: Uint8Array | null;
    readonly handle: Handle | null;
}

const TYPES = [{description: 'YAML', accept: {'text/yaml': ['.yaml', '.yml']}}];

function stopped(error: unknown): boolean {
    return error instanceof DOMException && error.name === 'AbortError';
}

/** What cannot be read, as a folder that was dropped, comes without bytes. */
async function opened(file: File, handle: Handle | null): Promise<Opened> {
    const name = file.webkitRelativePath || file.name;
    const bytes = await file.arrayBuffer().catch(() => null);
    return {name, bytes: bytes && new Uint8Array(bytes), handle};
}

/** Asks for files in a field of the page's own. */
function fromField(folder: boolean): Promise<Opened[]> {
    return new Promise((done, failed) => {
        const field = document.createElement('input');
        field.type = 'file';
        field.multiple = true;
        if (folder) field.webkitdirectory = true;
        field.hidden = true;
        document.body.append(field);
        const end = (files: Promise<Opened[]>) => {
            field.remove();
            files.then(done, failed);
        };
        field.addEventListener('cancel', () => end(Promise.resolve([])));
        field.addEventListener('change', () => {
            const files = [...(field.files ?? [])].filter((file) =>
                !folder || /\.ya?ml$/i.test(file.name));
            end(Promise.all(files.map((file) => opened(file, null))));
        });
        field.click();
    });
}

/** To be called in the click itself: a picker wants that. */
export async function openFiles(folder = false): Promise<Opened[]> {
    const pick = (window as Pickers).showOpenFilePicker;
    if (!pick || folder) return fromField(folder);
    try {
        const handles = await pick({types: TYPES, multiple: true});
        return await Promise.all(handles.map(async (handle) =>
            opened(await handle.getFile(), handle)));
    } catch (error) {
        if (stopped(error)) return [];
        return fromField(folder);
    }
}

export function droppedFiles(transfer: DataTransfer): Promise<Opened[]> {
    return Promise.all([...transfer.files].map((file) => opened(file, null)));
}

export type Saved = {readonly handle: Handle | null; readonly name: string} | 'stopped';

function download(name: string, bytes: Uint8Array<ArrayBuffer>): void {
    const link = document.createElement('a');
    link.href = URL.createObjectURL(new Blob([bytes], {type: 'text/yaml'}));
    link.download = name.replace(/^.*[/\\]/, '');
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
}

/** Writes the file where it came from; else where a picker says, else as a download. */
export async function saveFile(name: string, bytes: Uint8Array<ArrayBuffer>,
                               handle: Handle | null): Promise<Saved> {
    const pick = (window as Pickers).showSaveFilePicker;
    try {
        const to = handle ?? (pick && await pick({types: TYPES, suggestedName: name.replace(/^.*[/\\]/, '')}));
        if (to) {
            const writable = await to.createWritable();
            await writable.write(bytes);
            await writable.close();
            const there = new Uint8Array(await (await to.getFile()).arrayBuffer());
            if (there.length !== bytes.length || there.some((byte, i) => byte !== bytes[i]))
                throw new Error('the file does not hold what was written');
            return {handle: to, name: to.name};
        }
    } catch (error) {
        if (stopped(error)) return 'stopped';
    }
    download(name, bytes);
    return {handle: null, name};
}
