/* The text, and everything that changes it: one document with one undo, whichever part of the page a
 * change comes from. */
import {autocompletion, type Completion, type CompletionContext, type CompletionResult,
        completionKeymap} from '@codemirror/autocomplete';
import {defaultKeymap, history, historyKeymap, isolateHistory, redo, redoDepth, undo,
        undoDepth} from '@codemirror/commands';
import {HighlightStyle, indentService, StreamLanguage, syntaxHighlighting} from '@codemirror/language';
import {yaml} from '@codemirror/legacy-modes/mode/yaml';
import {type Diagnostic, lintGutter, setDiagnostics} from '@codemirror/lint';
import {highlightSelectionMatches, openSearchPanel, search, searchKeymap} from '@codemirror/search';
import {EditorState, StateEffect, StateField, type Text, Transaction} from '@codemirror/state';
import {Decoration, type DecorationSet, drawSelection, EditorView, highlightActiveLine, highlightSpecialChars, hoverTooltip, keymap,
        lineNumbers} from '@codemirror/view';
import {signal} from '@preact/signals';
import {tags} from '@lezer/highlight';
import type {Evaluation} from './answers';
import {columnOffset, difference, unitsBefore} from './positions';
import {changeMachine, current, currentId, fields, machines, pointed, type Shown} from './store';
import {texts} from './texts';
import {fieldMatches, parentPath, pathAt} from './yamlpath';

export const undoable = signal(0);
export const redoable = signal(0);
/** What hovering over a key tells; set by who can ask the library. */
let explainer: (path: string) => Promise<HTMLElement | null> = () => Promise.resolve(null);
export function setExplainer(made: typeof explainer): void {
    explainer = made;
}

const colours = HighlightStyle.define([
    {tag: tags.comment, color: 'var(--quiet)', fontStyle: 'italic'},
    {tag: tags.atom, color: 'var(--accent)'}, // what the mode calls a key
    {tag: [tags.meta, tags.keyword], color: 'var(--quiet)'},
]);

/* --- completion --- */

function nextKeys(parent: string): Map<string, Completion> {
    const found = new Map<string, Completion>();
    const depth = parent ? parent.split('.').length : 0;
    for (const row of fields.value) {
        const parts = row.path.split('.');
        if (parts.length <= depth) continue;
        if (depth && !fieldMatches(parts.slice(0, depth).join('.'), parent)) continue;
        const key = (parts[depth] ?? '').replace('[]', '');
        const whole = parts.length === depth + 1;
        for (const label of key === '*' ? (parts[0] === 'inputs' ? [] : ['x', 'y', 'z']) : [key])
            if (!found.has(label))
                found.set(label, {label, apply: whole ? `${label}: ` : `${label}:`,
                                  type: whole ? 'property' : 'class',
                                  info: whole ? row.meaning : ''});
    }
    return found;
}

function complete(context: CompletionContext): CompletionResult | null {
    const line = context.state.doc.lineAt(context.pos);
    const before = line.text.slice(0, context.pos - line.from);
    const value = /^\s*(?:-\s+)?[A-Za-z_]\w*\s*:\s+(\S*)$/.exec(before);
    if (value) {
        const path = pathAt(context.state.doc, line.number, before.length);
        const row = fields.value.find((one) => fieldMatches(one.path, path));
        const words = row?.choices ?? (row?.kind.includes('yes or no') ? ['yes', 'no'] : []);
        return words.length
            ? {from: context.pos - (value[1] ?? '').length,
               options: words.map((label) => ({label, type: 'keyword'}))}
            : null;
    }
    const key = /^(\s*(?:-\s+)?)(\w*)$/.exec(before);
    if (!key || (!context.explicit && !key[2])) return null;
    const parent = parentPath(context.state.doc, line.number, (key[1] ?? '').length);
    const options = [...nextKeys(parent).values()];
    return options.length ? {from: context.pos - (key[2] ?? '').length, options} : null;
}

/* --- hover --- */

const hover = hoverTooltip(async (view, pos) => {
    const line = view.state.doc.lineAt(pos);
    const path = pathAt(view.state.doc, line.number, pos - line.from);
    const dom = path ? await explainer(path) : null;
    return dom ? {pos: line.from + line.text.search(/\S/), end: line.to, above: false,
                  create: () => ({dom})} : null;
});

/* --- pointing: the line of what is pointed at, and what the line of the cursor is about --- */

const pointLines = StateEffect.define<readonly number[]>();
const pointedLine = Decoration.line({class: 'cm-pointed'});
const pointedLines = StateField.define<DecorationSet>({
    create: () => Decoration.none,
    update(marks, change) {
        let now = marks.map(change.changes);
        for (const effect of change.effects)
            if (effect.is(pointLines))
                now = Decoration.set([...new Set(effect.value)].filter((n) => n <= change.state.doc.lines)
                    .sort((a, b) => a - b).map((n) => pointedLine.range(change.state.doc.line(n).from)));
        return now;
    },
    provide: (field) => EditorView.decorations.from(field),
});

function pointAtCursor(state: EditorState): void {
    const line = state.doc.lineAt(state.selection.main.head);
    const path = pathAt(state.doc, line.number, state.selection.main.head - line.from);
    const now = pointed.peek();
    if (now.lines[0] !== line.number || now.lines.length > 1 || now.fields[0] !== path)
        pointed.value = {fields: path ? [path] : [], lines: [line.number]};
}

/** Marks the lines that are pointed at. */
export function markLines(lines: readonly number[]): void {
    view.dispatch({effects: pointLines.of(lines)});
}

/* --- the view --- */

const ours = isolateHistory.of('full');

/** Colours are left away where the text is none that a person reads. */
const LARGE = 500000, DEEP = /[[{]{200}/;

/* A line after one that ends in a colon stands further in; any other under the one before it. */
const indent = indentService.of((context, at) => {
    const {text} = context.lineAt(at, -1);
    const before = text.search(/\S|$/);
    return /^\s*(?:- +)?[\w.-]+:\s*(?:#.*)?$/.test(text) ? before + (/^\s*- /.test(text) ? 4 : 2) : before;
});

function extensions(text: string) {
    const coloured = text.length < LARGE && !DEEP.test(text);
    return [
        // returns of a file whose lines end now so, now so stay where they are
        EditorState.lineSeparator.of('\n'),
        lineNumbers(), highlightSpecialChars(), history(), drawSelection(), highlightActiveLine(),
        highlightSelectionMatches(), search({top: true}), EditorView.lineWrapping,
        autocompletion({override: [complete], icons: false}),
        ...(coloured ? [StreamLanguage.define(yaml), indent, syntaxHighlighting(colours)] : []),
        lintGutter(), hover, pointedLines,
        // files that are dropped are opened by the page, and not put into this text
        EditorView.domEventHandlers({drop: (event) => (event.dataTransfer?.files.length ?? 0) > 0}),
        keymap.of([...defaultKeymap, ...searchKeymap, ...historyKeymap, ...completionKeymap]),
        EditorView.contentAttributes.of({'aria-label': texts.editor, tabindex: '0',
                                         spellcheck: 'false', autocapitalize: 'off'}),
        EditorView.updateListener.of((update) => {
            if (update.docChanged && held)
                changeMachine(held, {text: update.state.doc.toString()});
            undoable.value = undoDepth(update.state);
            redoable.value = redoDepth(update.state);
            if (update.selectionSet && update.view.hasFocus) pointAtCursor(update.state);
        }),
    ];
}

const states = new Map<string, EditorState>();
let held: string | null = null; // whose text the view has

export const view = new EditorView({state: EditorState.create({extensions: extensions('')})});

/** Puts the text of the machine in front into the view, with its own undo. */
export function followCurrent(): void {
    const id = currentId.value;
    if (held === id) return;
    if (held) states.set(held, view.state);
    held = id;
    const machine = current.value;
    toldMarks = '\0'; // whatever it was of another
    view.setState((id && states.get(id)) ||
                  EditorState.create({doc: machine?.text ?? '', extensions: extensions(machine?.text ?? '')}));
    undoable.value = undoDepth(view.state);
    redoable.value = redoDepth(view.state);
    for (const known of [...states.keys()])
        if (!machines.value.some((one) => one.id === known)) states.delete(known);
}

/** Makes the text of the machine in front this one: a step of its own in the undo, unless it was
 *  typed. */
export function replaceText(text: string, typed = false): void {
    followCurrent();
    const before = view.state.doc.toString();
    if (text === before) return;
    const {from, to, insert} = difference(before, text);
    view.dispatch({changes: {from, to, insert},
                   annotations: [typed ? Transaction.userEvent.of('input.type') : ours]});
}

/** Puts a fix of the library in, which counts bytes of `text`; false where that is no longer it. */
export function putFix(text: string, fix: {offset: number; length: number; text: string}): boolean {
    followCurrent();
    if (view.state.doc.toString() !== text) return false;
    const from = unitsBefore(text, fix.offset);
    const to = unitsBefore(text, fix.offset + fix.length);
    view.dispatch({changes: {from, to, insert: fix.text}, selection: {anchor: from},
                   annotations: [ours]});
    return true;
}

export const undoLast = () => { followCurrent(); undo(view); };
export const redoLast = () => { followCurrent(); redo(view); };
export const find = () => openSearchPanel(view);

export function goTo(line: number, column = 1): void {
    const at = view.state.doc.line(Math.min(Math.max(line, 1), view.state.doc.lines));
    view.dispatch({selection: {anchor: at.from + columnOffset(at.text, column)},
                   effects: EditorView.scrollIntoView(at.from, {y: 'center'})});
    view.focus();
}

/* --- findings at their places --- */

export function spanOf(doc: Text, evaluation: Evaluation): {from: number; to: number} | null {
    const {line, column, end_line, end_column} = evaluation;
    if (!line || !column || line > doc.lines || evaluation.path) return null;
    const first = doc.line(line);
    const last = end_line && end_line <= doc.lines ? doc.line(end_line) : first;
    const from = first.from + columnOffset(first.text, column);
    const to = last.from + columnOffset(last.text, end_column ?? column);
    return {from, to: Math.max(from, to)};
}

let toldMarks = '';

/** Marks what failed; only where it was found in the text that stands here. */
export function markFindings(found: Shown | null): void {
    const marks: Diagnostic[] = [];
    if (found && found.text === view.state.doc.toString()) {
        for (const evaluation of found.report.evaluations) {
            const span = evaluation.outcome === 'failed' && !evaluation.implied_by
                ? spanOf(view.state.doc, evaluation)
                : null;
            if (span)
                marks.push({...span, message: evaluation.message,
                            source: evaluation.rule,
                            severity: evaluation.level === 'note' ? 'info' : evaluation.level});
        }
    }
    // Marks go with the text while somebody types: what is as it was is left alone.
    const told = marks.map(({message}) => message).join('\n');
    if (told === toldMarks && !(found?.whole && marks.length)) return;
    toldMarks = told;
    marks.sort((a, b) => a.from - b.from);
    view.dispatch(setDiagnostics(view.state, marks));
}
