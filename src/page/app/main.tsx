/* Brings the page to life: unpacks what the file holds, starts the library, shows the first screen. */
import {render} from 'preact';
import {App} from './app';
import {Checker} from './checker';
import {checker, keepNow, notice, ready, restore, startChecker} from './store';
import {samples} from './start';
import {texts} from './texts';
import {block, unpacked} from './unpack';
import type {Question} from './wire';

const compiled = unpacked('library').then((bytes) => WebAssembly.compile(bytes));
compiled.catch(() => { ready.value = 'failed'; });
const workerAddress = URL.createObjectURL(new Blob([block('worker')], {type: 'text/javascript'}));

startChecker(new Checker(compiled, () => new Worker(workerAddress),
                         () => { notice.value = texts.restarted; }));

void unpacked('samples').then((bytes) => {
    samples.value = JSON.parse(new TextDecoder().decode(bytes)) as Record<string, string>;
});

restore();
document.addEventListener('visibilitychange', () => { if (document.hidden) keepNow(); });
window.addEventListener('pagehide', keepNow);

const root = document.getElementById('page');
if (root) {
    root.replaceChildren();
    render(<App/>, root);
}

/** For programs that drive the page: a question as src/page/glue.c knows it, and its answer. */
declare global {
    interface Window {
        proveout: {ask: (question: Question) => Promise<{status: string; given: boolean; text: string} | null>};
    }
}
window.proveout = {
    ask: async (question) => {
        const answered = await checker.ask([question]);
        return answered.ok ? (answered.answers[0] ?? null) : null;
    },
};

// Served from a place of its own, the page is kept for when there is no network, and can be put on a
// home screen.
if (/^https?:$/.test(location.protocol) && 'serviceWorker' in navigator) {
    const link = document.createElement('link');
    link.rel = 'manifest';
    link.href = 'proveout.webmanifest';
    document.head.append(link);
    navigator.serviceWorker.register('worker.js').catch(() => undefined);
}
