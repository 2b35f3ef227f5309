/* What the library's JSON says, as far as the page reads it.  Whatever is not of the form that is
 * known is no answer: better none than a wrong one. */
import type {Answer} from './wire';

export type Level = 'error' | 'warning' | 'note';
export type Outcome = 'held' | 'failed' | 'waived' | 'unchecked';

export interface Margin {
    readonly si: number;
    readonly dimension: string;
    readonly text: string;
}

export interface Related {
    readonly field: string | null;
    readonly path: string;
    readonly line: number | null;
    readonly text: string | null;
}

export interface Fix {
    readonly title: string;
    readonly path: string;
    readonly offset: number; // in bytes
    readonly length: number;
    readonly text: string;
    readonly why: string | null;
    readonly asks: string | null;
}

export interface Evaluation {
    readonly rule: string;
    readonly level: Level;
    readonly hurts: 'work' | 'machine' | 'person';
    readonly subject: string | null;
    readonly outcome: Outcome;
    readonly margin: Margin | null;
    readonly field: string | null;
    readonly path?: string; // where it is not the file's own
    readonly line: number | null;
    readonly column: number | null; // in code points
    readonly end_line: number | null;
    readonly end_column: number | null;
    readonly related: readonly Related[];
    readonly message: string;
    readonly put_right: string | null;
    readonly fixes: readonly Fix[];
    readonly missing: readonly string[];
    readonly implied_by: string | null;
    readonly waived: {readonly reason: string; readonly until: string | null;
                      readonly accepted_by: string | null} | null;
    readonly fingerprint: string | null;
}

export type FileStatus = 'checked' | 'partial' | 'unreadable';

export interface Report {
    readonly status: FileStatus;
    readonly evaluations: readonly Evaluation[];
    readonly more: readonly {readonly rule: string; readonly failed: number}[];
    readonly rules: Readonly<Record<Outcome | 'inapplicable', number>>;
    readonly counts: Readonly<Record<Level, number>>;
    readonly waived: Readonly<Record<Level, number>>;
}

export interface WindowEnd {
    readonly si: number;
    readonly text: string;
    readonly rule: string;
    readonly subject: string | null;
}

export interface FieldWindow {
    readonly field: string;
    readonly value: {readonly si: number; readonly text: string} | null;
    readonly unit: {readonly text: string; readonly si: number; readonly step: number};
    readonly holds: boolean;
    readonly proved: boolean;
    readonly low: WindowEnd | null;
    readonly high: WindowEnd | null;
    readonly between?: readonly [string, string];
}

export interface Place {
    readonly x: number | null;
    readonly y: number | null;
    readonly z: number | null;
}

export interface Move {
    readonly what: string;
    readonly axes: string;
    readonly from: Place;
    readonly to: Place;
    readonly speed: number | null;
    readonly seconds: number | null;
    readonly at_most: boolean;
    readonly spindle: string;
    readonly by_hand: boolean;
    readonly endangers_hands: boolean;
    readonly starts_what_never_turns: boolean;
    readonly beside_turning_chuck: boolean;
    readonly clearance: {readonly si: number; readonly to: string; readonly body: string} | null;
    readonly number: number;
    readonly told: {
        readonly cutter: string;
        readonly spindle: string;
        readonly danger: boolean;
        readonly lines: readonly {readonly topic: string; readonly text: string}[];
    };
}

export interface DryRun {
    readonly errors: number;
    readonly from: number;
    readonly to: number;
    readonly cautions: readonly string[];
    readonly total: readonly string[];
    readonly missing: readonly string[];
    readonly moves: readonly Move[];
}

export interface FieldRow {
    readonly path: string;
    readonly kind: string;
    readonly unit: string | null;
    readonly nature: string;
    readonly meaning: string;
    readonly how: string | null;
    readonly low: number | null;
    readonly high: number | null;
    readonly choices: readonly string[] | null;
}

export interface Offer {
    readonly text: string;
    readonly enter: boolean;
    readonly source: string;
    readonly reason: string | null;
}

export interface AskedField {
    readonly path: string;
    readonly label: string | null;
    readonly asks: string;
    readonly question: string;
    readonly help: string | null;
    readonly nature: string | null;
    readonly kind: string | null;
    readonly unit: string | null;
    readonly needed: boolean;
    readonly offer: Offer | null;
    readonly readings: boolean;
    readonly window: string | null;
    readonly range: {readonly low: number | null; readonly high: number | null;
                     readonly unit: string; readonly unit_si: number} | null;
    readonly choices: readonly {readonly word: string; readonly says: string}[];
}

export interface AskedFinding {
    readonly rule: string;
    readonly level: Level;
    readonly message: string;
    readonly put_right: string | null;
    readonly would_do: readonly unknown[];
}

export interface ReviewedAnswer {
    readonly path: string;
    readonly text: string | null;
    readonly source: string;
    readonly asked: boolean;
}

/** What stands, of the questions to a person. */
export interface Standing {
    readonly state: 'question' | 'review' | 'name' | 'over';
    readonly taken: boolean;
    readonly said: string | null;
    readonly findings: readonly AskedFinding[];
    // of a question
    readonly number?: number;
    readonly of?: number;
    readonly topic?: string;
    readonly note?: string | null;
    readonly headline?: string | null;
    readonly about?: string | null;
    readonly again?: boolean;
    readonly cautions?: readonly string[];
    readonly offer?: Offer | null;
    readonly fields?: readonly AskedField[];
    // of the review
    readonly answers?: readonly ReviewedAnswer[];
    readonly refused?: string | null;
    readonly unchanged?: boolean;
    readonly proposal?: {
        readonly changes: readonly {readonly path: string; readonly now: string;
                                    readonly text: string}[];
        readonly left: number;
        readonly less_for_people: string | null;
        readonly measure_first: string | null;
    } | null;
    readonly excluded?: {readonly because: string; readonly rules: readonly unknown[]} | null;
}

function parse(answer: Answer | undefined): Record<string, unknown> | null {
    if (!answer?.given) return null;
    try {
        const value: unknown = JSON.parse(answer.text);
        return typeof value === 'object' && value !== null && !Array.isArray(value)
            ? (value as Record<string, unknown>)
            : null;
    } catch {
        return null;
    }
}

/** The answer as JSON of a format; null where it is none, or of a version not known. */
function parseFormat(answer: Answer | undefined, format: string): Record<string, unknown> | null {
    const json = parse(answer);
    return json?.format === format && json.version === 1 ? json : null;
}

export function readReport(answer: Answer | undefined): Report | null {
    const json = parseFormat(answer, 'proveout-findings') as {
        files: (Omit<Report, 'counts' | 'waived'>)[];
        counts: Report['counts'] & {waived: Report['waived']};
    } | null;
    const file = json?.files[0];
    if (!json || !file || file.status !== answer?.status) return null;
    const {error, warning, note, waived} = json.counts;
    const whole = [error, warning, note, file.rules.failed, file.rules.unchecked]
        .every((count) => Number.isInteger(count));
    return whole && Array.isArray(file.evaluations)
        ? {...file, counts: {error, warning, note}, waived}
        : null;
}

export function readWindows(answer: Answer | undefined): readonly FieldWindow[] | null {
    const json = parseFormat(answer, 'proveout-windows');
    return json ? (json.windows as FieldWindow[]) : null;
}

export function readDryRun(answer: Answer | undefined): DryRun | null {
    return parseFormat(answer, 'proveout-dryrun') as DryRun | null;
}

export function readStanding(answer: Answer | undefined): Standing | null {
    return parseFormat(answer, 'proveout-question') as Standing | null;
}

export function readFields(answer: Answer | undefined): readonly FieldRow[] | null {
    if (!answer?.given) return null;
    try {
        const rows: unknown = JSON.parse(answer.text);
        return Array.isArray(rows) ? (rows as FieldRow[]) : null;
    } catch {
        return null;
    }
}

/** A set of numbers with which less fails, as `propose` found it. */
export interface Proposal {
    readonly changes: readonly {readonly field: string; readonly to: {readonly text: string};
                                readonly from: {readonly text: string} | null}[];
}

export function readProposal(answer: Answer | undefined): Record<string, unknown> | null {
    return parseFormat(answer, 'proveout-proposal');
}
