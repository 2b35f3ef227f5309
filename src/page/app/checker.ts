/* The library, asked from the page: one thing at a time, the newest check before all else, and a
 * fresh worker whenever one comes to grief. */
import type {Done, Work} from './worker';
import {type Answer, decodeAnswer, encodeQuestion, type Question} from './wire';

/** Why there is no answer. */
export type Failure =
    | 'overtaken' // a newer check came
    | 'memory'
    | 'trap' // the module came to grief
    | 'late' // it took too long, and was ended
    | 'broken'; // what came is no whole answer

export type Answered =
    | {readonly ok: true; readonly answers: readonly Answer[]}
    | {readonly ok: false; readonly why: Failure};

/** How something is asked. */
export interface Asked {
    /** Files that the machine file may lead to: path and text in turn.  None: it leads nowhere. */
    readonly others?: readonly string[];
    readonly limit?: number; // ms
    /** Of the worker that it is meant for: another does not know what it is about. */
    readonly generation?: number;
}

interface Job extends Asked {
    readonly questions: readonly Question[];
    readonly done: (answered: Answered) => void;
}

const LIMIT = 20000;

function isSame(a: readonly string[], b: readonly string[] | null): boolean {
    return b !== null && a.length === b.length && a.every((part, i) => part === b[i]);
}

export class Checker {
    /** Grows with each fresh worker: what an earlier one held is gone. */
    generation = 0;
    private worker: Worker | null = null;
    private number = 0;
    private running: {job: Job; work: Work; timer: number; others: boolean} | null = null;
    private check: Job | null = null;
    private readonly waiting: Job[] = [];
    private others: readonly string[] | null = null; // that the worker has; null: it was told of none

    constructor(private readonly compiled: Promise<WebAssembly.Module>,
                private readonly makeWorker: () => Worker,
                private readonly onRestart: () => void) {}

    /** Asks about the text now on the screen: whatever was asked so before is overtaken. */
    askNewest(questions: readonly Question[], asked: Asked = {}): Promise<Answered> {
        return new Promise((done) => {
            this.check?.done({ok: false, why: 'overtaken'});
            this.check = {...asked, questions, done};
            void this.next();
        });
    }

    ask(questions: readonly Question[], asked: Asked = {}): Promise<Answered> {
        return new Promise((done) => {
            this.waiting.push({...asked, questions, done});
            void this.next();
        });
    }

    /** Ends the worker; what it was asked fails. */
    restart(why: Failure): void {
        this.worker?.terminate();
        this.worker = null;
        const running = this.running;
        this.running = null;
        if (running) {
            clearTimeout(running.timer);
            running.job.done({ok: false, why});
        }
        this.onRestart();
        void this.next();
    }

    private async start(): Promise<Worker> {
        const compiled = await this.compiled;
        if (this.worker) return this.worker;
        const worker = this.makeWorker();
        worker.onmessage = ({data}: MessageEvent<Done>) => this.finish(worker, data);
        worker.onerror = () => {
            if (worker === this.worker) this.restart('trap');
        };
        worker.postMessage(compiled);
        this.worker = worker;
        this.generation++;
        this.others = null;
        return worker;
    }

    private async next(): Promise<void> {
        const worker = await this.start();
        if (this.running || worker !== this.worker) return;
        const job = this.check ?? this.waiting.shift();
        if (!job) return;
        if (job === this.check) this.check = null;
        if (job.generation !== undefined && job.generation !== this.generation) {
            job.done({ok: false, why: 'trap'});
            void this.next();
            return;
        }
        const others = job.others !== undefined && !isSame(job.others, this.others);
        const questions = others ? [['others', ...job.others], ...job.questions] : job.questions;
        const work = {number: ++this.number, questions: questions.map(encodeQuestion)};
        const timer = setTimeout(() => this.restart('late'), job.limit ?? LIMIT);
        this.running = {job, work, timer, others};
        if (others) this.others = job.others;
        worker.postMessage(work);
    }

    private finish(worker: Worker, done: Done): void {
        const running = this.running;
        if (worker !== this.worker || !running) return;
        if (done.number !== running.work.number) {
            this.restart('broken');
            return;
        }
        if ('trap' in done) {
            this.restart('trap');
            return;
        }
        clearTimeout(running.timer);
        this.running = null;
        const answered = this.read(done.number, done.answers, running);
        // What memory there was stays taken: a fresh worker has all of it.
        if (!answered.ok && answered.why === 'memory') this.restart('memory');
        running.job.done(answered);
        void this.next();
    }

    private read(number: number, given: readonly (Uint8Array | null)[],
                 running: {job: Job; others: boolean}): Answered {
        const bytes = running.others ? given.slice(1) : given;
        const answers = bytes.map((part) => decodeAnswer(number, part));
        if (given.some((part) => part === null)) return {ok: false, why: 'memory'};
        const told = running.others ? decodeAnswer(number, given[0] ?? null) : null;
        if (running.others && !(told?.given && told.status === 'checked')) {
            this.others = null; // whatever files it has are not those that were meant
            return {ok: false, why: 'broken'};
        }
        return bytes.length === running.job.questions.length && answers.every((answer) => answer !== null)
            ? {ok: true, answers}
            : {ok: false, why: 'broken'};
    }
}
