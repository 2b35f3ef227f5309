/* The page: three things always in sight, what the file says, what the machine looks like, what is
 * wrong. */
import {useEffect, useState} from 'preact/hooks';
import {animate, Change} from './change';
import {Drawings} from './drawing';
import {followCurrent, redoable, redoLast, undoable, undoLast} from './editor';
import {Example} from './example';
import {File} from './file';
import {droppedFiles} from './files';
import {Findings, Speaker, summary} from './findings';
import {close, Overview} from './machines';
import {Numbers} from './numbers';
import {Questions} from './questions';
import {Sheet} from './sheet';
import {Start} from './start';
import {current, currentId, keeping, type Machine, machines, notice, openBytes, overview, preview, ready,
        rules, saveMachine, showMachine, tab, tabs, version} from './store';
import {texts} from './texts';
import {Button} from './ui';
import {unpacked} from './unpack';

function Kept({machine}: {machine: Machine}) {
    const kept = keeping(machine);
    return <span class={`kept ${kept}`} data-kept={kept} title={texts.keepingHow[kept]}>
        {texts.keeping[kept]}</span>;
}

function Head() {
    const machine = current.value;
    return (
        <header>
            <h1><button type="button" class="quiet" onClick={() => showMachine(null)}>{texts.name}</button></h1>
            {machine && !overview.value && <>
                <p class="name">{machine.name} <Kept machine={machine}/>{' '}
                    <Button kind="quiet" label={texts.close(machine.name)} onClick={() => close(machine)}>✕</Button></p>
                <div class="bar">
                    <Button onClick={() => undoLast()} disabled={!undoable.value || preview.value !== null}>{texts.undo}</Button>
                    <Button onClick={() => redoLast()} disabled={!redoable.value || preview.value !== null}>{texts.redo}</Button>
                    <Button kind="main" onClick={() => void saveMachine(false)} disabled={!machine.text}>{texts.save}</Button>
                    <Button onClick={() => void saveMachine(true)} disabled={!machine.text}>{texts.saveAs}</Button>
                </div>
            </>}
            {machines.value.length > 0 &&
                <Button onClick={() => { overview.value = true; }}>
                    {texts.machines} ({machines.value.length})</Button>}
            <Speaker/>
        </header>
    );
}

function Tabs() {
    const move = (event: KeyboardEvent) => {
        const at = tabs.indexOf(tab.value);
        const to = {ArrowRight: at + 1, ArrowLeft: at - 1, Home: 0, End: tabs.length - 1}[event.key];
        if (to === undefined) return;
        event.preventDefault();
        tab.value = tabs[(to + tabs.length) % tabs.length] ?? 'file';
        requestAnimationFrame(() => document.getElementById(`tab-${tab.value}`)?.focus());
    };
    return (
        <div class="tabs" role="tablist" aria-label={texts.parts} onKeyDown={move}>
            {tabs.map((one) =>
                <button key={one} type="button" role="tab" id={`tab-${one}`} aria-controls="part"
                        aria-selected={tab.value === one} tabIndex={tab.value === one ? 0 : -1}
                        onClick={() => { tab.value = one; }}>{texts.tabs[one]}</button>)}
        </div>
    );
}

const PARTS = {questions: Questions, file: File, numbers: Numbers, change: Change, sheet: Sheet};

function Bench() {
    const Part = PARTS[tab.value];
    const now = summary();
    return (
        <main class={`bench with-${tab.value}`}>
            <div class="top">
                <p class={`summary short ${now.state}`} aria-hidden="true">{now.text}</p>
                <Tabs/>
            </div>
            <div class="part" id="part" role="tabpanel" aria-labelledby={`tab-${tab.value}`}>
                <Part key={currentId.value}/>
            </div>
            <div class="middle">
                {tab.value === 'questions' ? <Example/> : <Drawings onDrawn={animate}/>}
            </div>
            <Findings/>
        </main>
    );
}

function carriesFiles(event: DragEvent): boolean {
    return [...(event.dataTransfer?.types ?? [])].includes('Files');
}

/** Of all that is in this file. */
function Licences() {
    const [text, setText] = useState('');
    const tell = () => void unpacked('licences').then((bytes) => setText(new TextDecoder().decode(bytes)));
    return (
        <details onToggle={(event) => { if (event.currentTarget.open && !text) tell(); }}>
            <summary>{texts.licences}</summary>
            <pre tabIndex={0} aria-label={texts.licences}>{text}</pre>
        </details>
    );
}

export function App() {
    const [dragged, setDragged] = useState(false);
    useEffect(followCurrent, [currentId.value]);
    useEffect(() => {
        document.title = current.value ? `${current.value.name} – ${texts.name}` : texts.name;
    }, [current.value?.name]);
    useEffect(() => {
        const keys = (event: KeyboardEvent) => {
            if (!(event.ctrlKey || event.metaKey) || !current.value) return;
            const key = event.key.toLowerCase();
            // never the browser's own way to save a page
            if (key === 's') event.preventDefault();
            if (preview.value !== null || !current.value.text) return;
            const typing = event.target instanceof HTMLInputElement || event.target instanceof HTMLTextAreaElement;
            const inEditor = event.target instanceof Element && event.target.closest('.cm-editor');
            if (key === 's') void saveMachine(event.shiftKey);
            else if (key === 'z' && !typing && !inEditor) (event.shiftKey ? redoLast : undoLast)();
            else return;
            event.preventDefault();
        };
        const over = (event: DragEvent) => {
            if (!carriesFiles(event)) return;
            event.preventDefault();
            setDragged(true);
        };
        const drop = (event: DragEvent) => {
            if (!carriesFiles(event) || !event.dataTransfer) return;
            event.preventDefault();
            setDragged(false);
            void droppedFiles(event.dataTransfer).then(openBytes);
        };
        const leave = (event: DragEvent) => { if (!event.relatedTarget) setDragged(false); };
        document.addEventListener('keydown', keys);
        document.addEventListener('dragover', over);
        document.addEventListener('dragleave', leave);
        document.addEventListener('drop', drop);
        return () => {
            document.removeEventListener('keydown', keys);
            document.removeEventListener('dragover', over);
            document.removeEventListener('dragleave', leave);
            document.removeEventListener('drop', drop);
        };
    }, []);
    return (
        <>
            <Head/>
            <div role="status">
                {notice.value && <p class="notice">{notice.value}{' '}
                    <Button kind="quiet" label={texts.dismiss} onClick={() => { notice.value = ''; }}>✕</Button></p>}
            </div>
            {ready.value === 'failed' && <p class="failed" role="alert">{texts.notLoaded}</p>}
            {ready.value === 'loading' ? <p role="status">{texts.loading}</p>
                : overview.value ? <Overview/> : current.value ? <Bench/> : <Start/>}
            <footer>
                {texts.name} {version.value && texts.version(version.value, rules.value)} · {texts.offline}
                <Licences/>
            </footer>
            {dragged && <div class="drop" aria-hidden="true">{texts.dropHere}</div>}
        </>
    );
}
