/* The questions of the library about the machine in front: what stands, and answers to it.
 *
 * The dialogue itself lives in the worker; what would be lost with it, the answers so far, is kept with
 * the machine after each of them. */
import {signal} from '@preact/signals';
import {readStanding, type Standing} from './answers';
import {replaceText} from './editor';
import {changeMachine, checker, current, notice, preview, tab, todayAsDate} from './store';
import {texts} from './texts';
import type {Answer, Question} from './wire';

export interface Asking {
    readonly id: string; // of the machine
    readonly text: string; // that the questions began from
    readonly generation: number; // of the worker that holds the dialogue
    readonly turn: number; // grows with all that the library says
    readonly answered: boolean; // to an answer, not to the opening
    readonly state: string;
    readonly standing: Standing;
    readonly file: string | null; // as the answers so far would have it
}

export const asking = signal<Asking | null>(null);
export const askingTrouble = signal('');
let busy = false;
let turn = 0;

const REST: readonly Question[] = [['file'], ['draft']];

function take(id: string, text: string, answers: readonly Answer[], answered: boolean): void {
    const [stands, file, draft] = answers;
    const standing = readStanding(stands);
    if (!stands || !standing) {
        asking.value = null;
        askingTrouble.value = stands?.status === 'refused'
            ? texts.questionsRefused : texts.failure('broken');
        return;
    }
    asking.value = {id, text, generation: checker.generation, turn: ++turn, answered, state: stands.status, standing,
                    file: file?.given ? file.text : null};
    askingTrouble.value = '';
    const machine = current.value;
    if (machine?.id !== id) {
        // another is in front: what was answered is kept, and is gone on with when this one is
        if (draft?.given) changeMachine(id, {questions: draft.text});
        asking.value = null;
        return;
    }
    if (stands.status === 'saved') {
        changeMachine(id, {questions: null});
        preview.value = null;
        if (file?.given) replaceText(file.text);
        asking.value = {...asking.value, text: file?.text ?? text};
        return;
    }
    if (stands.status === 'unchanged') {
        changeMachine(id, {questions: null});
        preview.value = null;
        return;
    }
    changeMachine(id, {questions: draft?.given ? draft.text : machine.questions});
    showSoFar();
}

function opening(): Question {
    const machine = current.value;
    return ['questions', machine?.name ?? '', machine?.text ?? '', todayAsDate(),
            machine?.questions ?? ''];
}

/** Begins from the text as it stands, and the answers that are kept of it. */
export async function openQuestions(): Promise<void> {
    const machine = current.value;
    if (!machine || busy) return;
    busy = true;
    const answered = await checker.ask([opening(), ...REST]);
    busy = false;
    if (answered.ok) take(machine.id, machine.text, answered.answers, false);
    else askingTrouble.value = texts.failure(answered.why);
}

/** From the beginning, whatever was answered. */
export function beginAnew(): Promise<void> {
    const machine = current.value;
    if (machine) changeMachine(machine.id, {questions: null});
    asking.value = null;
    return openQuestions();
}

export async function answerQuestion(line: string): Promise<void> {
    const now = asking.value;
    if (!now || busy || now.id !== current.value?.id) return;
    busy = true;
    const lost = now.generation !== checker.generation;
    if (lost) notice.value = texts.questionsLost;
    const answered = await checker.ask([...(lost ? [opening()] : []), ['answer', line], ...REST],
                                       lost ? {} : {generation: now.generation});
    busy = false;
    if (!answered.ok) {
        askingTrouble.value = texts.failure(answered.why);
        return;
    }
    take(now.id, now.text, lost ? answered.answers.slice(1) : answered.answers, true);
}

/** While the questions are in front, all else is made from the file as they would have it. */
export function showSoFar(): void {
    const now = asking.value;
    const going = now && now.id === current.value?.id && now.state === 'question';
    preview.value = tab.value === 'questions' && going && now.file !== null &&
        now.file !== current.value?.text ? now.file : null;
}

/** Are there answers that stand in no text? */
export function hasAnswers(now: Asking): boolean {
    return now.state === 'question' && now.file !== null && now.file !== now.text;
}

/** The answers so far become the text, and the questions go on from it. */
export async function takeSoFar(): Promise<void> {
    const now = asking.value;
    const machine = current.value;
    if (!now?.file || now.id !== machine?.id) return;
    changeMachine(machine.id, {questions: null});
    preview.value = null;
    replaceText(now.file);
    asking.value = null;
    await openQuestions();
}
