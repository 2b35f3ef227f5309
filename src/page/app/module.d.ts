/* What emcc writes beside the module. */
declare module 'proveout-module' {
    export interface Module {
        HEAPU8: Uint8Array;
        _page_room(size: number): number;
        _page_answer(number: number, bytes: number, size: number): number;
        _page_answer_size(): number;
    }
    export default function makeModule(options: {
        instantiateWasm(imports: WebAssembly.Imports,
                        done: (instance: WebAssembly.Instance) => void): object;
        print?: (line: string) => void;
        printErr?: (line: string) => void;
    }): Promise<Module>;
}
