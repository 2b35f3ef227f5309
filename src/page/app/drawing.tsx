/* The machine to scale, as the library draws it: pointing at a thing marks its line, and a line its
 * thing. */
import {signal} from '@preact/signals';
import {useEffect, useRef} from 'preact/hooks';
import type {Evaluation, Report} from './answers';
import {goTo} from './editor';
import {cutter, cutters, fieldRow, pointed, preview, shown, shownText, tab} from './store';
import {texts} from './texts';
import {Button} from './ui';

export type Which = 'plan' | 'side' | 'both';
/** On a desk both, where there is room for one the plan. */
export const which = signal<Which>(matchMedia('(min-width: 1200px)').matches ? 'both' : 'plan');
const zoom = signal(1);
const listed = signal(false); // in words

/** The library's SVG as elements of this page; null where it is none. */
export function importDrawing(svg: string): SVGSVGElement | null {
    const parsed = new DOMParser().parseFromString(svg, 'image/svg+xml').documentElement;
    if (!(parsed instanceof SVGSVGElement)) return null;
    return document.importNode(parsed, true);
}

function parentOf(path: string): string {
    return path.replace(/\.?[^.]+$/, '');
}

/** How closely a drawn thing belongs to a field: 3 it stands for it, 2 it shows it too, 1 it is of the
 *  same small section. */
export function belongs(group: Element, field: string): number {
    if (group.getAttribute('data-field') === field) return 3;
    const own = [group.getAttribute('data-field') ?? '',
                 ...(group.getAttribute('data-more') ?? '').split(' ')].filter(Boolean);
    if (own.includes(field)) return 2;
    const parent = parentOf(field);
    return parent.includes('.') || parent.includes('[')
        ? Number(own.some((path) => parentOf(path) === parent || path.startsWith(field + '.')))
        : Number(own.some((path) => path.startsWith(field + '.')));
}

/** Marks the things that belong to these fields and lines; how many there are. */
export function markDrawing(root: Element, fieldsOf: readonly string[],
                            lines: readonly number[]): number {
    const groups = [...root.querySelectorAll('g[data-field]')];
    const best = new Map(fieldsOf.map((field) =>
        [field, Math.max(0, ...groups.map((group) => belongs(group, field)))]));
    let count = 0;
    for (const group of groups) {
        const line = group.getAttribute('data-file') ? 0 : Number(group.getAttribute('data-line'));
        const marked = lines.includes(line) || fieldsOf.some((field) =>
            (best.get(field) ?? 0) > 0 && belongs(group, field) === best.get(field));
        group.classList.toggle('pointed', marked);
        count += Number(marked);
    }
    return count;
}

function itemOf(target: EventTarget | null): Element | null {
    return target instanceof Element ? target.closest('g[data-field]') : null;
}

function pointAt(item: Element | null): void {
    if (!item) return;
    const line = item.getAttribute('data-file') ? 0 : Number(item.getAttribute('data-line'));
    pointed.value = {
        fields: [item.getAttribute('data-field') ?? '',
                 ...(item.getAttribute('data-more') ?? '').split(' ')].filter(Boolean),
        lines: line ? [line] : [],
    };
}

function visit(line: number): void {
    tab.value = 'file';
    requestAnimationFrame(() => goTo(line));
}

function visitLine(item: Element | null): void {
    const line = Number(item?.getAttribute('data-line'));
    if (line && !item?.getAttribute('data-file') && preview.value === null) visit(line);
}

/** One view.  `onDrawn` is given each drawing that comes in. */
export function Drawing({svg, label, fields, lines, onDrawn}: {
    svg: string; label: string; fields: readonly string[]; lines: readonly number[];
    onDrawn?: (drawn: SVGSVGElement) => void;
}) {
    const host = useRef<HTMLDivElement>(null);
    useEffect(() => {
        const made = importDrawing(svg);
        host.current?.replaceChildren(...(made ? [made] : []));
        if (made) onDrawn?.(made);
    }, [svg]);
    const marked = fields.join(' ') + ' ' + lines.join(' ');
    useEffect(() => {
        if (host.current) markDrawing(host.current, fields, lines);
    }, [svg, marked]);
    return (
        <div class="paper" tabIndex={0} role="region" aria-label={label} ref={host}
             style={{'--zoom': String(zoom.value)}}
             onPointerOver={(event) => pointAt(itemOf(event.target))}
             onClick={(event) => {
                 pointAt(itemOf(event.target));
                 if (event.detail > 1) visitLine(itemOf(event.target));
             }}/>
    );
}

/** The same in words, for the keyboard and for whoever does not see it. */
function Items({svg}: {svg: string}) {
    const drawn = importDrawing(svg);
    const items = [...(drawn?.querySelectorAll('g[data-field]') ?? [])];
    return (
        <ul class="items">
            {items.map((item, i) => {
                const line = item.getAttribute('data-file') ? 0 : Number(item.getAttribute('data-line'));
                const what = item.querySelector('title')?.textContent ?? '';
                const value = item.querySelector('desc')?.textContent ?? '';
                return (
                    <li key={i}>
                        <button type="button" class="quiet" onFocus={() => pointAt(item)}
                                onPointerEnter={() => pointAt(item)}
                                onClick={() => visitLine(item)}
                                disabled={!line || preview.value !== null}>
                            {what}{value ? `: ${value}` : ''}
                            {line ? ` (${texts.toLine(line)})` : ''}
                        </button>
                    </li>
                );
            })}
        </ul>
    );
}

export function CutterChoice({label, none, value, onChange}: {
    label: string; none: string; value: string; onChange: (number: string) => void;
}) {
    return (
        <label class="choice">{label}{' '}
            <select value={value} onChange={(event) => onChange(event.currentTarget.value)}>
                <option value="">{none}</option>
                {cutters.value.map((number) => <option key={number} value={number}>{number}</option>)}
            </select>
        </label>
    );
}

/** What rules ask of the fields that are pointed at, those with the least room first. */
function rulesOf(report: Report, fields: readonly string[]): Evaluation[] {
    const least = new Map<string, Evaluation>();
    for (const one of report.evaluations) {
        if (one.outcome === 'unchecked' || !(fields.includes(one.field ?? '') ||
            one.related.some(({field}) => field !== null && fields.includes(field)))) continue;
        const known = least.get(one.rule);
        if (!known || (one.margin?.si ?? 0) < (known.margin?.si ?? 0)) least.set(one.rule, one);
    }
    return [...least.values()].sort((a, b) => (a.margin?.si ?? 0) - (b.margin?.si ?? 0));
}

const RULES_SHOWN = 5;

/** The field, its line and its rules, in a place that does not move while the pointer does. */
function PointedAt() {
    const {fields, lines} = pointed.value;
    const found = shown.value;
    const [line] = lines;
    const rules = found ? rulesOf(found.report, fields) : [];
    const row = fields.map(fieldRow).find((one) => one !== null);
    return (
        <div class="at">
            {!row && <p class="quiet">{texts.pointHow}</p>}
            {row && <>
                <p><strong>{fields.join(', ')}</strong>{' '}
                    {line !== undefined && <button type="button" class="where" disabled={preview.value !== null}
                                                   onClick={() => visit(line)}>{texts.line(line)}</button>}</p>
                <p>{row.meaning}</p>
                {row.how && <details><summary>{texts.how}</summary><p>{row.how}</p></details>}
                {rules.length > 0 ? (
                    <p>{texts.pointedAt}: {rules.slice(0, RULES_SHOWN).map(({rule, margin, outcome}) =>
                        `${outcome === 'failed' ? '✕ ' : ''}${rule}${margin ? ` (${margin.text})` : ''}`).join(', ')}
                        {rules.length > RULES_SHOWN ? ` ${texts.andMore(rules.length - RULES_SHOWN)}` : ''}</p>
                ) : <p class="quiet">{texts.pointedNone}</p>}
            </>}
        </div>
    );
}

/** Plan and view from the front, as is chosen; where one is chosen, `only` may be wanted in its place. */
export function Drawings({onDrawn, only}: {
    onDrawn?: (drawn: SVGSVGElement) => void; only?: 'plan' | 'side';
}) {
    const found = shown.value;
    const chosen = which.value === 'both' ? 'both' : only ?? which.value;
    const views = (['plan', 'side'] as const).filter((view) => chosen === 'both' || chosen === view);
    const drawn = found && (found.plan ?? found.side);
    return (
        <section class="drawing" aria-label={texts.drawing}>
            <div class="bar">
                <div role="group" aria-label={texts.view}>
                    {(['plan', 'side', 'both'] as const).map((view) =>
                        <Button key={view} pressed={which.value === view}
                                onClick={() => { which.value = view; }}>{texts[view]}</Button>)}
                </div>
                <CutterChoice label={texts.cutterShown} none={texts.cutterChosen} value={cutter.value}
                              onChange={(number) => { cutter.value = number; }}/>
                <Button label={texts.smaller}
                        onClick={() => { zoom.value = Math.max(0.5, zoom.value / 1.25); }}>−</Button>
                <Button label={texts.larger}
                        onClick={() => { zoom.value = Math.min(8, zoom.value * 1.25); }}>+</Button>
            </div>
            <PointedAt/>
            {found && drawn && shownText.value ? (
                <div class={found.drawnOf === shownText.value ? 'views' : 'views stale'}>
                    {views.map((view) => found[view] &&
                        <Drawing key={view} svg={found[view]} label={texts[view]}
                                 fields={pointed.value.fields} lines={pointed.value.lines}
                                 {...(onDrawn ? {onDrawn} : {})}/>)}
                    <details onToggle={(event) => { listed.value = event.currentTarget.open; }}>
                        <summary>{texts.drawnItems}</summary>
                        {listed.value && views.map((view) => found[view] && <Items key={view} svg={found[view]}/>)}
                    </details>
                </div>
            ) : <p class="quiet">{found?.undrawn || texts.noDrawing}</p>}
        </section>
    );
}
