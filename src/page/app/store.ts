/* What the page knows.  One text is the truth; all else is made from it by the library. */
import {computed, effect, signal} from '@preact/signals';
import {type DryRun, type FieldRow, type FieldWindow, readDryRun, readFields, readReport,
        readWindows, type Report} from './answers';
import {bytesOf, type Form, PLAIN, textOf} from './bytes';
import {Checker, type Failure} from './checker';
import {clearDraft, type Draft, findDraft, isKept, keepDraft, keepOpen, listOpen} from './drafts';
import {type Handle, type Opened, saveFile} from './files';
import {texts} from './texts';
import type {Answer, Question} from './wire';
import {fieldMatches} from './yamlpath';

export const tabs = ['questions', 'file', 'numbers', 'change', 'sheet'] as const;
export type Tab = (typeof tabs)[number];

export interface Machine {
    readonly id: string;
    readonly name: string;
    readonly text: string;
    readonly form: Form;
    /** What stands in its file, or stood there when it was opened; null: in none. */
    readonly saved: string | null;
    readonly handle: Handle | null;
    readonly questions: string | null; // answers so far, as the library keeps them
    readonly draft: string; // the name that its draft is kept by
    readonly kept: boolean; // and can be read back
}

/** What is on the screen was made of this text. */
export interface Shown {
    readonly text: string;
    readonly name: string;
    readonly report: Report;
    readonly whole: boolean; // what would put it right was looked for too
    readonly plan: string | null;
    readonly side: string | null;
    readonly undrawn: string; // why there is no drawing
    readonly drawnOf: string | null; // the text that the drawings are of
}

export const machines = signal<readonly Machine[]>([]);
export const currentId = signal<string | null>(null);
export const current = computed(() => machines.value.find(({id}) => id === currentId.value) ?? null);
export const tab = signal<Tab>('file');
export const overview = signal(false); // of several machines
export const notice = signal('');
export const ready = signal<'loading' | 'ready' | 'failed'>('loading');
export const version = signal('');
export const rules = signal('');
export const fields = signal<readonly FieldRow[]>([]);

const rowsByPath = new Map<string, FieldRow | null>();

/** The row of the table of fields that a path of this machine is an instance of. */
export function fieldRow(path: string): FieldRow | null {
    let row = rowsByPath.get(path);
    if (row === undefined) {
        row = fields.value.find((one) => fieldMatches(one.path, path)) ?? null;
        if (fields.value.length) rowsByPath.set(path, row);
    }
    return row;
}

/** Points at a field: nothing happens where it is pointed at already. */
export function pointAtField(path: string): void {
    if (pointed.peek().fields[0] !== path || pointed.peek().lines.length)
        pointed.value = {fields: [path], lines: []};
}

/** A text to be looked at in the place of the machine's own: while a slider is dragged, and as
 *  answers so far would have it. */
export const preview = signal<string | null>(null);
export const cutter = signal(''); // that is drawn; '': the library chooses
/** The numbers of all cutters there are, as the library calls them, wherever they stand. */
export const cutters = signal<readonly string[]>([]);
export const step = signal(''); // after which the spindle is drawn; '': nowhere

/** Fields that are pointed at, and lines. */
export const pointed = signal<{readonly fields: readonly string[];
                               readonly lines: readonly number[]}>({fields: [], lines: []});

export const shownText = computed(() => preview.value ?? current.value?.text ?? null);
export const shown = signal<Shown | null>(null);
export const failure = signal<{readonly why: Failure; readonly text: string} | null>(null);

/** Whether what `shown` says holds for the text on the screen. */
export const checked = computed(() =>
    shown.value !== null && shown.value.text === shownText.value &&
    shown.value.name === current.value?.name);

/* --- the library --- */

export let checker: Checker;
let traps = 0; // on the text that is asked about

export function startChecker(made: Checker): void {
    checker = made;
    void checker.ask([['version'], ['fields'], ['rules fingerprint']]).then((answered) => {
        if (!answered.ok) {
            ready.value = 'failed';
            return;
        }
        version.value = answered.answers[0]?.text ?? '';
        fields.value = readFields(answered.answers[1]) ?? [];
        rules.value = answered.answers[2]?.text ?? '';
        ready.value = 'ready';
    });
}

/** Days from 1970-01-01 where the machine stands. */
export function today(): number {
    const now = new Date();
    return Math.floor((now.getTime() - now.getTimezoneOffset() * 60000) / 86400000);
}

export function todayAsDate(): string {
    return new Date(today() * 86400000).toISOString().slice(0, 10);
}

export function about(word: string, name: string, text: string, format: string, held: string,
                      quick: string, ...rest: string[]): Question {
    return [word, name, text, String(today()), format, held, quick, ...rest];
}

const LARGE = 1000000; // characters, above which a check waits for a pause
const LIMIT = 5000; // ms, and more for more text, after which a check is ended
const PAUSE = 150; // ms without a change, after which all is looked for

/** What is asked of a text: at once only what is found, and what of it moves while something is dragged;
 *  in a pause what would put it right as well. */
type Depth = 'typed' | 'dragged' | 'whole';

function wantedOf(name: string, text: string, drawn: readonly string[], depth: Depth): Question[] {
    const quick = depth === 'whole' ? '' : 'quick';
    const report = about('report', name, text, 'json', depth === 'typed' ? '' : '1', quick);
    return depth === 'typed' ? [report] : [
        report,
        about('draw', name, text, '', '', quick, 'plan', ...drawn),
        about('draw', name, text, '', '', quick, 'side', ...drawn),
    ];
}

/** Advice that was found for the same finding before stays until it is looked for anew. */
function withAdvice(report: Report, before: Report | undefined): Report {
    const known = new Map(before?.evaluations.map((one) => [one.fingerprint, one]));
    return {...report, evaluations: report.evaluations.map((one) => {
        const old = one.fingerprint ? known.get(one.fingerprint) : undefined;
        return old ? {...one, put_right: old.put_right, fixes: old.fixes} : one;
    })};
}

/** Rules are asked of each cutter, so that each is named by what they say. */
function cuttersOf(report: Report): string[] {
    const named = report.evaluations.map(({subject}) => /^cutter (\S+)$/.exec(subject ?? '')?.[1]);
    const numbers = [...new Set(named.filter((number) => number !== undefined))];
    return numbers.sort((a, b) => Number(a) - Number(b));
}

function show(name: string, text: string, depth: Depth, answers: readonly Answer[]): boolean {
    const [first, plan, side] = answers;
    const report = readReport(first);
    if (!report) return false;
    const before = shown.value;
    const drawings = depth === 'typed'
        ? {plan: before?.plan ?? null, side: before?.side ?? null, undrawn: before?.undrawn ?? '',
           drawnOf: before?.drawnOf ?? null}
        : {plan: plan?.given ? plan.text : null, side: side?.given ? side.text : null,
           undrawn: plan?.given ? '' : (plan?.text ?? ''), drawnOf: text};
    const whole = depth === 'whole';
    if (whole) cutters.value = cuttersOf(report);
    shown.value = {text, name, whole, ...drawings,
                   report: whole || before?.name !== name ? report : withAdvice(report, before.report)};
    return true;
}

async function check(name: string, text: string, drawn: readonly string[], depth: Depth): Promise<void> {
    const answered = await checker.askNewest(wantedOf(name, text, drawn, depth), {
        others: othersOf(current.value), limit: LIMIT + text.length / 200,
    });
    if (!answered.ok && answered.why === 'overtaken') return;
    if (text !== shownText.value || name !== current.value?.name) return;
    if (!answered.ok) {
        traps++;
        // Once more with a fresh module; a text that spoils two is not tried a third time.
        if (traps < 2) await check(name, text, drawn, depth);
        else failure.value = {why: answered.why, text};
        return;
    }
    failure.value = show(name, text, depth, answered.answers) ? null : {why: 'broken', text};
}

const tries = signal(0);

/** Looks once more at the text on the screen, after there was no answer. */
export function checkAgain(): void {
    failure.value = null;
    tries.value++;
}

let pause = 0;
effect(() => {
    const text = shownText.value;
    const machine = current.value;
    const drawn = [cutter.value, step.value];
    const name = machine?.name ?? '';
    const depth = preview.value === null ? 'typed' : 'dragged';
    if (ready.value !== 'ready' || text === null) return;
    traps = 0;
    clearTimeout(pause);
    void machines.value; // what it takes in may change as well
    void tries.value;
    if (text.length <= LARGE && shown.peek()?.text !== text) void check(name, text, drawn, depth);
    pause = setTimeout(() => void check(name, text, drawn, 'whole'),
                       shown.peek()?.text === text || shown.peek()?.name !== name ? 0
                           : text.length > LARGE ? 4 * PAUSE : PAUSE);
});

/** All other files, by their paths from the folder of this one. */
export function othersOf(machine: Machine | null): string[] {
    const folder = machine?.name.replace(/[^/]*$/, '') ?? '';
    return machines.value.flatMap(({id, name, text}) => id === machine?.id ? []
        : [folder && name.startsWith(folder) ? name.slice(folder.length) : name, text]);
}

/** Asks about the text of the machine in front, for a part of the page. */
export async function askCurrent<T>(word: string, format: string,
                                    read: (answer: {status: string; given: boolean; text: string})
                                        => T | null, ...rest: string[]):
    Promise<{readonly text: string; readonly got: T | null; readonly trouble: string}> {
    const machine = current.value;
    if (!machine) return {text: '', got: null, trouble: ''};
    const answered = await checker.ask([about(word, machine.name, machine.text, format, '', '', ...rest)],
                                       {others: othersOf(machine)});
    if (!answered.ok)
        return {text: machine.text, got: null, trouble: texts.failure(answered.why)};
    const answer = answered.answers[0];
    const got = answer?.given ? read(answer) : null;
    return {text: machine.text, got,
            trouble: got === null ? (answer?.text ?? '') || texts.failure('broken') : ''};
}

export const askWindows = (...paths: string[]) =>
    askCurrent<readonly FieldWindow[]>('windows', 'json', readWindows, ...paths);
export const askDryRun = (from: string, to: string) =>
    askCurrent<DryRun>('dryrun', 'json', readDryRun, from, to, '');

/** The text with a field set; null and why where it cannot be. */
export async function revised(settings: readonly string[]):
    Promise<{readonly text: string | null; readonly trouble: string}> {
    const machine = current.value;
    if (!machine) return {text: null, trouble: ''};
    const answered = await checker.ask([['revise', machine.name, machine.text, ...settings]]);
    if (!answered.ok) return {text: null, trouble: texts.failure(answered.why)};
    const answer = answered.answers[0];
    if (machine.text !== current.value?.text) return {text: null, trouble: texts.overtaken};
    return answer?.given ? {text: answer.text, trouble: ''}
                         : {text: null, trouble: answer?.text ?? ''};
}

/* --- machines --- */

let made = 0;

function newId(): string {
    return `${Date.now().toString(36)}-${(++made).toString(36)}-${Math.floor(Math.random() * 1e9).toString(36)}`;
}

export function changeMachine(id: string, change: Partial<Machine>): void {
    machines.value = machines.value.map((machine) =>
        machine.id === id ? {...machine, ...change} : machine);
}

export function showMachine(id: string | null): void {
    preview.value = null;
    step.value = '';
    cutter.value = '';
    failure.value = null;
    overview.value = false;
    pointed.value = {fields: [], lines: []};
    currentId.value = id;
}

function addMachine(machine: Machine): void {
    machines.value = [...machines.value, machine];
}

/** A new one, which nobody has described yet. */
export function describeNew(): void {
    const id = newId();
    let name = 'machine.yaml';
    for (let n = 2; machines.value.some((other) => other.name === name); n++) name = `machine-${n}.yaml`;
    addMachine({id, name, text: '', form: PLAIN, saved: null, handle: null, questions: null,
                draft: id, kept: false});
    showMachine(id);
    tab.value = 'questions';
}

/** Text that was pasted, or is a sample: it stands in no file. */
export function openText(name: string, text: string): void {
    const id = newId();
    addMachine({id, name, text, form: PLAIN, saved: null, handle: null, questions: null, draft: id,
                kept: false});
    showMachine(id);
    tab.value = 'file';
}

export function openBytes(files: readonly Opened[]): void {
    const refused: string[] = [];
    let first: string | null = null;
    for (const {name, bytes, handle} of files) {
        const read = bytes && textOf(bytes);
        if (!read) {
            refused.push(name);
            continue;
        }
        const id = newId();
        addMachine({id, name, text: read.text, form: read.form, saved: read.text, handle,
                    questions: null, draft: id, kept: false});
        first ??= id;
    }
    notice.value = refused.length ? texts.notUtf8(refused.join(', ')) : '';
    if (first) {
        showMachine(first);
        tab.value = 'file';
        if (files.length - refused.length > 1) overview.value = true;
    }
}

export function closeMachine(id: string): void {
    const draft = machines.value.find((machine) => machine.id === id)?.draft;
    if (draft) clearDraft(draft);
    keptAs.delete(id);
    machines.value = machines.value.filter((machine) => machine.id !== id);
    if (currentId.value === id) showMachine(machines.value[0]?.id ?? null);
}

export async function saveMachine(anew: boolean): Promise<void> {
    const machine = current.value;
    if (!machine) return;
    const saved = await saveFile(machine.name, bytesOf(machine.text, machine.form),
                                 anew ? null : machine.handle);
    if (saved === 'stopped') return;
    notice.value = saved.handle ? texts.savedAs(saved.name) : texts.downloaded(saved.name);
    // Of a download nobody can tell whether it came to be a file.
    if (saved.handle) changeMachine(machine.id, {saved: machine.text, handle: saved.handle, name: saved.name});
}

export type Keeping = 'file' | 'draft' | 'none';

/** Where the text of a machine stands. */
export function keeping(machine: Machine): Keeping {
    if (machine.saved === machine.text && !machine.questions) return 'file';
    return machine.kept ? 'draft' : 'none';
}

/* --- drafts --- */

function draftOf(machine: Machine): Draft {
    const {draft, name, text, saved, form, questions} = machine;
    return {id: draft, name, text, saved, form, questions, time: Date.now(), version: version.value};
}

const keptAs = new Map<string, string>(); // what each draft holds, to write only what is new

function keepOne(machine: Machine, open: readonly string[]): void {
    const now = JSON.stringify([machine.draft, machine.name, machine.text, machine.saved, machine.questions]);
    if (keptAs.get(machine.id) === now || (!machine.text && !machine.questions)) return;
    keptAs.set(machine.id, now);
    const kept = keepDraft(draftOf(machine), keeping(machine) !== 'file', open);
    if (kept === 'nowhere') keptAs.delete(machine.id); // there may be room the next time
    if (kept === 'taken') {
        const own = {...machine, draft: newId()};
        changeMachine(machine.id, {draft: own.draft});
        keepOne(own, [...open, own.draft]);
    }
}

function keepAll(): void {
    const open = machines.value.map(({draft}) => draft);
    for (const machine of machines.value) keepOne(machine, open);
    // what one wrote may have taken the room of another
    for (const {id, draft, text, questions, kept} of machines.value)
        if (isKept(draft, text, questions) !== kept) changeMachine(id, {kept: !kept});
    const front = currentId.value;
    keepOpen([...machines.value].sort((a, b) => Number(b.id === front) - Number(a.id === front))
        .map(({draft}) => draft));
}

let soon = 0;
let restored = false;
effect(() => {
    void machines.value;
    void currentId.value;
    if (!restored) return;
    clearTimeout(soon);
    soon = setTimeout(keepAll, 300);
});

export function keepNow(): void {
    clearTimeout(soon);
    keepAll();
}

export function openDraft(id: string): void {
    const open = machines.value.find((machine) => machine.draft === id);
    const draft = open ? null : findDraft(id);
    if (open) showMachine(open.id);
    if (!draft) return;
    const {name, text, saved, form, questions} = draft;
    const machine = newId();
    addMachine({id: machine, name, text, saved, form, questions, handle: null, draft: id, kept: true});
    showMachine(machine);
    tab.value = questions ? 'questions' : 'file';
}

/** After a reload: what this tab had open. */
export function restore(): void {
    for (const id of listOpen().reverse()) openDraft(id);
    restored = true;
}
