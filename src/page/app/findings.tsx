/* What is wrong: a list that never takes the focus, keeps its order, and says at once where it is of
 * an earlier text. */
import {signal} from '@preact/signals';
import {useEffect, useState} from 'preact/hooks';
import type {Evaluation, Report} from './answers';
import {goTo, putFix} from './editor';
import {checkAgain, checked, checker, current, failure, notice, pointed, preview, shown, shownText,
        tab} from './store';
import {texts} from './texts';
import {Button, LevelSign} from './ui';

export interface Group {
    readonly key: string;
    readonly worst: Evaluation;
    readonly others: readonly Evaluation[];
    readonly follow: readonly Evaluation[]; // what it explains
}

/** Evaluations that failed, as people count them: of one rule at one place together, and what follows
 *  from others below those. */
export function groupFindings(report: Report): Group[] {
    const failed = report.evaluations.filter(({outcome}) => outcome === 'failed');
    const roots = failed.filter(({implied_by}) => !implied_by);
    const cause = new Map(failed.map((one) => [one.rule, one.implied_by]));
    const rootOf = (rule: string): string => {
        let at = rule;
        for (let depth = 0; depth < 20 && cause.get(at); depth++) at = cause.get(at) ?? at;
        return at;
    };
    const groups = new Map<string, Evaluation[]>();
    for (const one of roots) {
        const key = [one.rule, one.path ?? '', one.line, one.column].join(' ');
        groups.set(key, [...(groups.get(key) ?? []), one]);
    }
    const told = new Set<string>();
    return [...groups].map(([key, ones]) => {
        const sorted = [...ones].sort((a, b) => (a.margin?.si ?? 0) - (b.margin?.si ?? 0));
        const worst = sorted[0] as Evaluation;
        const follow = told.has(worst.rule) ? [] : failed.filter(({rule, implied_by}) =>
            implied_by && rootOf(rule) === worst.rule);
        told.add(worst.rule);
        return {key, worst, others: sorted.slice(1), follow};
    });
}

/** What failed for a reason that is itself nowhere in the list. */
export function orphans(report: Report, groups: readonly Group[]): Evaluation[] {
    const known = new Set(groups.flatMap(({follow}) => follow));
    return report.evaluations.filter((one) =>
        one.outcome === 'failed' && one.implied_by && !known.has(one));
}

function point(one: Evaluation): void {
    const name = current.value?.name;
    const lines = [one.path ? null : one.line, ...one.related.map(({line, path}) => path === name ? line : null)]
        .filter((line) => line !== null);
    pointed.value = {fields: one.field ? [one.field] : [], lines};
}

function visit(line: number, column: number): void {
    tab.value = 'file';
    // once the editor is on the screen
    requestAnimationFrame(() => goTo(line, column));
}

function Where({one}: {one: Evaluation}) {
    if (!one.line) return null;
    if (one.path)
        return <span class="where">{texts.putRightElsewhere(one.path)}, {texts.line(one.line)}</span>;
    return (
        <button type="button" class="where"
                onClick={() => visit(one.line ?? 1, one.column ?? 1)}>
            {texts.line(one.line)}
        </button>
    );
}

function Fixes({one, text}: {one: Evaluation; text: string}) {
    const put = (index: number) => {
        const fix = one.fixes[index];
        if (!fix || (fix.asks && !confirm(texts.putRightAsk(fix.title, fix.asks)))) return;
        if (!putFix(text, fix)) notice.value = texts.wrongText;
    };
    return (
        <>
            {one.fixes.map((fix, i) => fix.path === current.value?.name ? (
                <Button key={i} onClick={() => put(i)} disabled={!checked.value || !shown.value?.whole || preview.value !== null}>
                    {texts.putRight}{fix.title}
                </Button>
            ) : (
                <p key={i}>{texts.putRight}{fix.title} ({texts.putRightElsewhere(fix.path)})</p>
            ))}
        </>
    );
}

function Why({rule}: {rule: string}) {
    const [told, setTold] = useState('');
    const tell = (open: boolean) => {
        if (open && !told)
            void checker.ask([['explain', rule]]).then((answered) =>
                setTold(answered.ok ? (answered.answers[0]?.text ?? '')
                                    : texts.failure(answered.why)));
    };
    return (
        <details onToggle={(event) => tell(event.currentTarget.open)}>
            <summary aria-label={texts.whyOf(rule)}>{texts.why}</summary>
            <pre tabIndex={0} aria-label={texts.whyOf(rule)}>{told}</pre>
        </details>
    );
}

function Finding({group, text}: {group: Group; text: string}) {
    const {worst, others, follow} = group;
    const alike = others.filter(({subject}) => subject);
    return (
        <li class={`finding ${worst.level}`} onPointerEnter={() => point(worst)}
            onFocusCapture={() => point(worst)}>
            <p>
                <LevelSign level={worst.level}/> <span class="hurts">{texts.hurts[worst.hurts]}</span>{' '}
                <Where one={worst}/>
            </p>
            <p class="message">{worst.message}</p>
            {worst.put_right && <p class="right">{texts.putRight}{worst.put_right}</p>}
            {worst.margin && <p class="quiet">{texts.margin(worst.margin.text)}</p>}
            {alike.length > 0 &&
                <p class="quiet">{texts.also(alike.map(({subject, margin}) =>
                    `${subject}${margin ? ` (${margin.text})` : ''}`).join(', '))}</p>}
            <Fixes one={worst} text={text}/>
            {others.filter(({subject}) => !subject).map((one, i) =>
                <div key={i}><p class="message">{one.message}</p><Fixes one={one} text={text}/></div>)}
            {follow.length > 0 &&
                <details>
                    <summary>{texts.follows(follow.length)}</summary>
                    <ul>{follow.map((one, i) =>
                        <li key={i}><LevelSign level={one.level}/> {one.message} <Where one={one}/></li>)}</ul>
                </details>}
            <Why rule={worst.rule}/>
            <p class="rule">{worst.rule}</p>
        </li>
    );
}

function Unchecked({report}: {report: Report}) {
    const missing = [...new Set(report.evaluations.filter(({outcome}) => outcome === 'unchecked')
        .flatMap((one) => one.missing))];
    if (!report.rules.unchecked) return null;
    return (
        <details>
            <summary>{texts.unchecked(report.rules.unchecked)}</summary>
            {missing.length > 0 && <p>{texts.uncheckedHow} {missing.join(', ')}</p>}
            <ul>{report.evaluations.filter(({outcome}) => outcome === 'unchecked').map((one, i) =>
                <li key={i}>{one.rule}{one.subject ? `, ${one.subject}` : ''}: {one.message}{' '}
                    <span class="hurts">{texts.hurts[one.hurts]}</span></li>)}</ul>
        </details>
    );
}

function Waived({report}: {report: Report}) {
    const waived = report.evaluations.filter(({outcome}) => outcome === 'waived');
    if (!waived.length) return null;
    return (
        <details open={waived.some(({hurts}) => hurts === 'person')}>
            <summary>{texts.waived(waived.length)}</summary>
            <p>{texts.waivedHow}</p>
            <ul>{waived.map((one, i) =>
                <li key={i}><LevelSign level="waived"/>{' '}
                    <span class="hurts">{texts.hurts[one.hurts]}</span> <Where one={one}/>{' '}
                    {one.message}
                    {one.waived && <span> ({texts.waivedLine(one.waived.reason, one.waived.until,
                                                             one.waived.accepted_by)})</span>}</li>)}</ul>
        </details>
    );
}

/** While a machine is being asked about, what was not asked yet is no mistake. */
function soFar(): {text: string; state: 'found' | 'wait'} | null {
    if (tab.value !== 'questions' || preview.value === null || !shown.value) return null;
    const groups = groupFindings(shown.value.report);
    const open = groups.filter(({worst}) => isOpen(worst)).length;
    const levels = groups.filter(({worst}) => !isOpen(worst)).map(({worst}) => worst.level);
    const [errors, warnings, notes] = (['error', 'warning', 'note'] as const)
        .map((level) => levels.filter((one) => one === level).length);
    const found = texts.counts(errors ?? 0, warnings ?? 0, notes ?? 0);
    return {text: found ? texts.soFarFound(found) : texts.soFarNone + (open ? texts.soFarOpen : ''),
            state: found ? 'found' : 'wait'};
}

const isOpen = ({rule}: Evaluation) => rule === 'missing-key';

/** One line: what is found, or that nothing can be said. */
export function summary(): {text: string; state: 'clean' | 'found' | 'none' | 'wait'} {
    if (failure.value && failure.value.text === shownText.value)
        return {text: texts.failure(failure.value.why), state: 'none'};
    if (shownText.value === null) return {text: texts.none, state: 'none'};
    if (!checked.value || !shown.value) return {text: texts.checking, state: 'wait'};
    if (!shownText.value) return {text: texts.empty, state: 'none'};
    const asked = soFar();
    if (asked) return asked;
    const {counts, status, rules} = shown.value.report;
    const found = texts.counts(counts.error, counts.warning, counts.note);
    if (found) return {text: found, state: 'found'};
    if (status !== 'checked') return {text: texts[status], state: 'none'};
    const rest = [rules.waived ? texts.waived(rules.waived) : '',
                  rules.unchecked ? texts.unchecked(rules.unchecked) : ''].filter(Boolean);
    return {text: [texts.clean, ...rest].join('; '), state: rest.length ? 'found' : 'clean'};
}

/* --- for whoever does not see it --- */

const spoken = signal('');
let before: {readonly id: string | null; readonly count: number} | null = null;
let timer = 0;

/** What the summary says, once it stands for a second, and how many findings fewer or more. */
function speakLater(): void {
    clearTimeout(timer);
    if (!shown.value || !checked.value || !shown.value.whole || preview.value !== null) return;
    const {error, warning, note} = shown.value.report.counts;
    const now = {id: current.value?.id ?? null, count: error + warning + note};
    timer = setTimeout(() => {
        const change = before && before.id === now.id ? now.count - before.count : 0;
        before = now;
        spoken.value = '';
        setTimeout(() => { spoken.value = texts.spoken(summary().text, change); }, 50);
    }, 1000);
}

export function Speaker() {
    const found = shown.value;
    useEffect(speakLater, [found, checked.value]);
    return <p class="unseen" role="status" aria-live="polite">{spoken.value}</p>;
}

function Failed() {
    const lost = failure.value;
    if (!lost || lost.text !== shownText.value) return null;
    return (
        <div class="failed" role="alert">
            <p>{texts.failure(lost.why)}</p>
            <p>{texts.failureKeep}</p>
            <Button onClick={checkAgain}>{texts.failureAgain}</Button>
        </div>
    );
}

export function Findings() {
    const found = shown.value;
    const now = summary();
    const asked = soFar() !== null;
    const groups = found ? groupFindings(found.report).filter(({worst}) => !asked || !isOpen(worst)) : [];
    const lost = found ? orphans(found.report, groups) : [];
    return (
        <section class="findings" aria-label={texts.findings}>
            <h2>{texts.findings}</h2>
            <p class={`summary ${now.state}`} data-state={now.state}>{now.text}</p>
            <Failed/>
            {found && !checked.value && shownText.value && <p class="quiet">{texts.stale}</p>}
            {found && shownText.value &&
                <div class={checked.value ? '' : 'stale'}>
                    {found.report.status === 'partial' && <p class="failed">{texts.partial}</p>}
                    {found.report.status === 'unreadable' && <p class="failed">{texts.unreadable}</p>}
                    <ol>{groups.map((group) =>
                        <Finding key={group.key} group={group} text={found.text}/>)}</ol>
                    {lost.length > 0 && <ul>{lost.map((one, i) =>
                        <li key={i}><LevelSign level={one.level}/> {one.message} <Where one={one}/></li>)}</ul>}
                    {found.report.more.map(({rule, failed}) =>
                        <p key={rule}>{texts.more(failed, rule)}</p>)}
                    <Waived report={found.report}/>
                    <Unchecked report={found.report}/>
                    {checked.value && now.state === 'clean' &&
                        <p>{texts.cleanHow(found.report.rules.held)}</p>}
                </div>}
            <p class="caution">{texts.caution}</p>
        </section>
    );
}
