/* Every chosen number as a slider over the range in which the rules hold. */
import {signal, useComputed} from '@preact/signals';
import {useEffect, useMemo, useRef, useState} from 'preact/hooks';
import {type Evaluation, type FieldWindow, readProposal} from './answers';
import {replaceText} from './editor';
import {askCurrent, askWindows, checked, checker, current, fieldRow, pointAtField, pointed, preview, revised,
        shown} from './store';
import {texts} from './texts';
import {Button} from './ui';

const windows = signal<{readonly id: string; readonly text: string;
                         readonly rows: readonly FieldWindow[]} | null>(null);
const trouble = signal('');

async function load(): Promise<void> {
    const id = current.value?.id ?? '';
    const {text, got, trouble: why} = await askWindows();
    if (text !== current.value?.text || id !== current.value.id) return;
    trouble.value = why;
    windows.value = got ? {id, text, rows: got} : null;
    // what was set stands in these rows now
    if (!settling && preview.value === null) sliding.value = null;
}

interface Scale {
    readonly low: number;
    readonly high: number;
    readonly step: number;
    readonly digits: number;
}

/** The range of a slider in the unit of its number: its window with a quarter beside, its value in
 *  any case, on the grid of its steps. */
export function scaleOf(row: FieldWindow): Scale {
    const {si, step} = row.unit;
    const value = (row.value?.si ?? 0) / si;
    const usual = fieldRow(row.field);
    const low = row.low ? row.low.si / si : null;
    const high = row.high ? row.high.si / si : null;
    const near = Math.max(Math.abs(value), 20 * step);
    let from = Math.min(low ?? (high ?? value) - near, value);
    let to = Math.max(high ?? (low ?? value) + near, value);
    const room = Math.max((to - from) / 4, 5 * step);
    from = Math.max(from - room, usual?.low != null ? usual.low / si : -Infinity);
    to = Math.min(to + room, usual?.high != null ? usual.high / si : Infinity);
    const grid = step > 0 ? step : Math.max((to - from) / 1000, 1e-6);
    return {low: Math.floor(from / grid) * grid, high: Math.ceil(to / grid) * grid, step: grid,
            digits: step > 0 ? digitsOf(step) : 6};
}

/** How many digits behind the point say any number of such steps: 1 of 0.1, 6 of 1/64. */
export function digitsOf(step: number): number {
    let digits = 0;
    while (digits < 6 && Math.abs(step * 10 ** digits - Math.round(step * 10 ** digits)) > 1e-6) digits++;
    return digits;
}

function typed(value: number, scale: Scale, unit: string): string {
    const text = value.toFixed(scale.digits).replace(/(\.\d*?)0+$/, '$1').replace(/\.$/, '');
    return `${text === '-0' ? '0' : text}${unit ? ' ' + unit : ''}`;
}

/* While one is dragged: the newest wanted value, and whether one is being worked out. */
let wanted: {field: string; value: string} | null = null;
let working = false;

async function follow(): Promise<void> {
    if (working) return;
    working = true;
    while (wanted) {
        const {field, value} = wanted;
        const done = await revised([field, value]);
        if (wanted?.field === field && wanted.value === value) wanted = null;
        if (done.text !== null && sliding.value?.field === field) preview.value = done.text;
        if (done.text === null) trouble.value = done.trouble;
        // the check that the preview brings is the measure: no faster than it
        await checker.ask([['version']]);
    }
    working = false;
}

const sliding = signal<{readonly field: string; readonly value: number} | null>(null);

let settling = 0; // how many are on their way into the text
let last = Promise.resolve(true);

/** Puts a value into the file, one after the other: each begins from the text that the one before left. */
function settle(field: string, value: string): Promise<boolean> {
    wanted = null;
    settling++;
    last = last.then(() => write(field, value)).finally(() => { settling--; });
    return last;
}

async function write(field: string, value: string): Promise<boolean> {
    const done = await revised([field, value]);
    preview.value = null;
    trouble.value = done.trouble;
    if (done.text === null) {
        if (settling === 1) sliding.value = null;
        return false;
    }
    replaceText(done.text);
    return true;
}

function cancel(): void {
    wanted = null;
    sliding.value = null;
    preview.value = null;
}

/** The text has become another one.  Where a slider stands is kept until windows of it have come
 *  (`load`): the rows of before hold the number of before, and a step taken from there would take a
 *  step back. */
function forgetPreview(): void {
    if (settling) return;
    wanted = null;
    preview.value = null;
}

/** Of each rule that reads the field, the instance with the least margin. */
function marginsOf(field: string): Evaluation[] {
    const least = new Map<string, Evaluation>();
    for (const one of shown.value?.report.evaluations ?? []) {
        if (!one.margin || one.outcome === 'unchecked') continue;
        if (one.field !== field && !one.related.some((place) => place.field === field)) continue;
        const known = least.get(one.rule);
        if (!known?.margin || known.margin.si > one.margin.si) least.set(one.rule, one);
    }
    return [...least.values()].sort((a, b) => (a.margin?.si ?? 0) - (b.margin?.si ?? 0));
}

/** How long a whole bar is, of each kind of margin: the greatest that is overdrawn, or four times the
 *  least that is left.  What is greater fills its bar: it is none to look at. */
function wholeBars(rows: readonly Evaluation[]): ReadonlyMap<string, number> {
    const whole = new Map<string, number>();
    for (const {margin} of rows) {
        if (!margin) continue;
        const known = whole.get(margin.dimension);
        if (known === undefined || (margin.si > 0 && known === 0))
            whole.set(margin.dimension, margin.si < 0 ? -margin.si : 4 * margin.si);
    }
    return whole;
}

/** Margins as bars to the right of a line, to its left where they are overdrawn. */
function Margins({field}: {field: string}) {
    const rows = marginsOf(field);
    const whole = wholeBars(rows);
    if (!rows.length) return null;
    return (
        <table class="margins">
            <caption>{texts.marginsOf}</caption>
            <tbody>{rows.map(({rule, subject, margin, outcome}) => {
                const part = margin ? margin.si / (whole.get(margin.dimension) || 1) : 0;
                return (
                    <tr key={rule} class={`is-${outcome}`}>
                        <th scope="row">{rule}{subject ? `, ${subject}` : ''}</th>
                        <td><span class="gauge" aria-hidden="true">
                            <span class={part < 0 ? 'fill short' : 'fill'}
                                  style={part < 0 ? {right: '50%', width: `${Math.min(50, -50 * part)}%`}
                                                  : {left: '50%', width: `${Math.min(50, 50 * part)}%`}}/>
                        </span></td>
                        <td class="number">{margin?.text}</td>
                    </tr>
                );
            })}</tbody>
        </table>
    );
}

function Band({row, scale}: {row: FieldWindow; scale: Scale}) {
    const at = (si: number) =>
        Math.min(100, Math.max(0, (si / row.unit.si - scale.low) / (scale.high - scale.low) * 100));
    if (row.between) return <span class="band" aria-hidden="true"/>;
    const from = row.low ? at(row.low.si) : 0;
    const to = row.high ? at(row.high.si) : 100;
    return <span class="band" aria-hidden="true">
        <span style={{left: `${from}%`, width: `${Math.max(to - from, 0.5)}%`}}/></span>;
}

function windowText(row: FieldWindow): string {
    if (row.between) return texts.windowNone(row.between[0], row.between[1]);
    const text = texts.windowOf(row.low?.text ?? null, row.high?.text ?? null);
    return row.proved ? text : `${text}; ${texts.windowOpen}`;
}

function Slider({row}: {row: FieldWindow}) {
    const scale = useMemo(() => scaleOf(row), [row]);
    const unit = row.unit.text;
    const moved = useComputed(() => (sliding.value?.field === row.field ? sliding.value.value : null)).value;
    const near = useComputed(() => sliding.value?.field === row.field || pointed.value.fields.includes(row.field)).value;
    const now = moved ?? (row.value?.si ?? 0) / row.unit.si;
    const [text, setText] = useState<string | null>(null);
    const [wrong, setWrong] = useState('');
    const errors = useComputed(() => shown.value?.report.counts.error ?? 0).value;
    const said = moved === null && row.value ? row.value.text : typed(now, scale, unit);
    // Escape holds until the slider is taken anew, whatever moves come before it is let go.
    const left = useRef(false);
    const drag = (value: number) => {
        if (left.current) return;
        sliding.value = {field: row.field, value};
        pointAtField(row.field);
        wanted = {field: row.field, value: typed(value, scale, unit)};
        void follow();
    };
    const step = (by: number) => {
        const value = now + by * scale.step;
        sliding.value = {field: row.field, value};
        put(typed(value, scale, unit));
    };
    const put = (value: string) => void settle(row.field, value).then((done) => {
        setWrong(done ? '' : trouble.value || texts.notSet);
        if (done) setText(null);
    });
    const meaning = fieldRow(row.field)?.meaning;
    return (
        <li class={row.holds ? 'slider' : 'slider fails'} data-field={row.field}
            onFocusCapture={() => pointAtField(row.field)}>
            <h3>{row.field}</h3>
            {meaning && <p class="quiet">{meaning}</p>}
            <div class="track">
                <Band row={row} scale={scale}/>
                <input type="range" min={scale.low} max={scale.high} step={scale.step} value={now}
                       aria-label={texts.slide(row.field)}
                       aria-valuetext={texts.sliding(said, errors)}
                       onInput={(event) => drag(event.currentTarget.valueAsNumber)}
                       onPointerDown={() => { left.current = false; }}
                       onChange={(event) => {
                           if (left.current) event.currentTarget.valueAsNumber = now;
                           else put(typed(event.currentTarget.valueAsNumber, scale, unit));
                       }}
                       onKeyDown={(event) => {
                           left.current = event.key === 'Escape';
                           if (left.current) cancel();
                       }}/>
            </div>
            <div class="value">
                <Button label={texts.less(row.field)}
                        onClick={() => step(-1)}>−</Button>
                <input type="text" inputMode="decimal" aria-label={texts.valueOf(row.field)}
                       value={text ?? said} size={12} aria-invalid={wrong !== ''}
                       onInput={(event) => setText(event.currentTarget.value)}
                       onKeyDown={(event) => {
                           if (event.key === 'Enter' && text !== null) put(text);
                           if (event.key === 'Escape') { setText(null); setWrong(''); }
                       }}
                       onBlur={() => { if (text !== null && text !== said) put(text); }}/>
                <Button label={texts.moreOf(row.field)}
                        onClick={() => step(1)}>+</Button>
                <span class="quiet">{windowText(row)}</span>
            </div>
            {wrong && <p class="failed" role="alert">{wrong}</p>}
            {row.low && <p class="quiet">{texts.bound.low(row.low.rule + (row.low.subject ? `, ${row.low.subject}` : ''))}</p>}
            {row.high && <p class="quiet">{texts.bound.high(row.high.rule + (row.high.subject ? `, ${row.high.subject}` : ''))}</p>}
            {near && <Margins field={row.field}/>}
        </li>
    );
}

interface Change {
    readonly field: string;
    readonly now: {readonly text: string};
    readonly proposed: {readonly text: string};
    readonly file: string | null;
}

function Proposed() {
    const [changes, setChanges] = useState<readonly Change[] | null>(null);
    const [said, setSaid] = useState('');
    const [of, setOf] = useState('');
    const ask = () => void askCurrent('propose', 'json', readProposal).then(({text, got, trouble: why}) => {
        const found = (got?.fewest ?? got?.widest ?? null) as {changes: Change[]} | null;
        setOf(text);
        setChanges(found?.changes ?? null);
        setSaid(found ? '' : why || texts.proposeNone);
    });
    const take = () => void revised((changes ?? []).flatMap(({field, proposed}) =>
        [field, proposed.text])).then(({text, trouble: why}) => {
        if (text === null) setSaid(why);
        else replaceText(text);
        setChanges(null);
    });
    const fresh = changes && of === current.value?.text ? changes : null;
    return (
        <div class="proposed">
            <Button onClick={ask}>{texts.propose}</Button> <span class="quiet">{texts.proposeHow}</span>
            <div role="status">
                {said && <p>{said}</p>}
                {fresh && <ul>{fresh.map(({field, now, proposed}) =>
                    <li key={field}>{texts.proposeChange(field, now.text, proposed.text)}</li>)}</ul>}
            </div>
            {fresh && fresh.length > 0 && <Button kind="main" onClick={take}>{texts.proposeTake}</Button>}
        </div>
    );
}

export function Numbers() {
    const text = current.value?.text;
    useEffect(() => cancel, [current.value?.id]);
    useEffect(() => { void load(); return forgetPreview; }, [text, current.value?.id]);
    const rows = windows.value && windows.value.id === current.value?.id ? windows.value.rows : [];
    const bounded = rows.filter((row) => row.low || row.high || row.between);
    const free = rows.filter((row) => !bounded.includes(row));
    return (
        <section aria-label={texts.tabs.numbers}>
            <h2>{texts.numbers}</h2>
            <p>{texts.numbersHow}</p>
            {shown.value && checked.value && shown.value.report.rules.failed > 0 && <Proposed/>}
            {trouble.value && <p class="failed">{trouble.value}</p>}
            {!rows.length && !trouble.value && <p class="quiet">{texts.numbersNone}</p>}
            <ul class={windows.value?.text === text ? 'sliders' : 'sliders stale'}>
                {[...bounded, ...free].filter(({value}) => value).map((row) =>
                    <Slider key={row.field} row={row}/>)}
            </ul>
        </section>
    );
}
