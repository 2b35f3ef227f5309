/* Runs the library beside the page, so that the page goes on answering. */
import makeModule, {type Module} from 'proveout-module';

export interface Work {
    readonly number: number;
    readonly questions: readonly Uint8Array[];
}

/** One array for each question, null where there was no memory for its answer; or how the module
 *  came to grief, after which it is not to be asked again. */
export type Done =
    | {readonly number: number; readonly answers: readonly (Uint8Array | null)[]}
    | {readonly number: number; readonly trap: string};

const scope = self as unknown as {
    postMessage(message: Done, transfer: Transferable[]): void;
    onmessage: (event: MessageEvent<WebAssembly.Module | Work>) => void;
};

let module: Promise<Module>;

function start(compiled: WebAssembly.Module): Promise<Module> {
    return makeModule({
        instantiateWasm(imports, done) {
            void WebAssembly.instantiate(compiled, imports).then(done);
            return {};
        },
        printErr: () => undefined,
    });
}

function answer(library: Module, number: number, question: Uint8Array): Uint8Array | null {
    const room = library._page_room(question.length);
    if (!room) return null;
    library.HEAPU8.set(question, room);
    const at = library._page_answer(number, room, question.length);
    // Memory may have grown, and views of it with it: taken anew.
    return at ? library.HEAPU8.slice(at, at + library._page_answer_size()) : null;
}

async function work({number, questions}: Work): Promise<void> {
    let done: Done;
    try {
        const library = await module;
        done = {number, answers: questions.map((question) => answer(library, number, question))};
    } catch (error) {
        done = {number, trap: String(error)};
    }
    scope.postMessage(done, 'answers' in done
        ? done.answers.flatMap((bytes) => (bytes ? [bytes.buffer] : []))
        : []);
}

scope.onmessage = ({data}) => {
    if (data instanceof WebAssembly.Module) module = start(data);
    else void work(data);
};
