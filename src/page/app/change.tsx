/* The change walked through, step by step, at the machine's own speeds. */
import {signal} from '@preact/signals';
import {useEffect, useRef, useState} from 'preact/hooks';
import type {DryRun, Move} from './answers';
import {CutterChoice} from './drawing';
import {askDryRun, current, cutter, step} from './store';
import {texts} from './texts';
import {Button} from './ui';

const HAND = 2; // s that a step by hand is shown for while it plays
const speeds = [0.25, 0.5, 1, 2, 4];

/** What is being played: where the spindle came from, and how long it takes. */
const playing = signal<{readonly move: Move; readonly seconds: number} | null>(null);

export function isFailing(move: Move): boolean {
    return move.endangers_hands || move.starts_what_never_turns || move.beside_turning_chuck ||
        (move.clearance !== null && move.clearance.si < 0);
}

function calm(): boolean {
    return matchMedia('(prefers-reduced-motion: reduce)').matches;
}

/** Moves the spindle of a drawing from where the step began to where it is drawn. */
export function animate(drawn: SVGSVGElement): void {
    const play = playing.value;
    const group = drawn.querySelector('g[data-step]');
    const view = group?.closest('g[data-view]');
    if (!play || !group || !view || calm()) return;
    const scale = Number(view.getAttribute('data-scale')) * 1000; // mm of paper a metre
    const {from, to} = play.move;
    const by = (a: number | null, b: number | null) => (a === null || b === null ? 0 : (a - b) * scale);
    const up = view.getAttribute('data-view') === 'plan' ? by(from.y, to.y) : by(from.z, to.z);
    const across = by(from.x, to.x);
    if (!up && !across) return;
    group.animate([{transform: `translate(${across}px, ${-up}px)`}, {transform: 'none'}],
                  {duration: play.seconds * 1000, easing: 'linear'});
}

function handsOf(move: Move): {text: string; danger: boolean} {
    if (move.endangers_hands || move.told.danger) return {text: texts.handsDanger, danger: true};
    const held = move.spindle === 'held off';
    return {text: !move.by_hand ? texts.handsAway : held ? texts.handsHeld : texts.handsNotHeld,
            danger: false};
}

function State({move}: {move: Move}) {
    const hands = handsOf(move);
    const held = move.spindle === 'held off';
    return (
        <dl class="state">
            <div><dt>{texts.spindle}</dt><dd>{move.told.spindle}</dd></div>
            <div><dt>{texts.heldOff}</dt><dd class={held ? '' : 'strong'}>{held ? texts.heldOffYes : texts.heldOffNo}</dd></div>
            <div><dt>{texts.hands}</dt><dd class={hands.danger ? 'danger' : ''}>{hands.text}</dd></div>
        </dl>
    );
}

function Lines({move}: {move: Move}) {
    return <ul class="told">{move.told.lines.map(({topic, text}, i) =>
        <li key={i} class={topic}>{text}</li>)}</ul>;
}

function Player({run}: {run: DryRun}) {
    const [at, setAt] = useState(0);
    const [going, setGoing] = useState(false);
    const [speed, setSpeed] = useState(1);
    const list = useRef<HTMLOListElement>(null);
    const last = run.moves.length - 1;
    const move = run.moves[Math.min(at, last)];
    const show = (index: number, moving: boolean) => {
        const next = Math.min(Math.max(index, 0), last);
        const shownMove = run.moves[next];
        playing.value = moving && shownMove
            ? {move: shownMove, seconds: (shownMove.seconds ?? HAND) / speed} : null;
        setAt(next);
        step.value = shownMove ? String(shownMove.number) : '';
    };
    useEffect(() => {
        show(Math.min(at, last), false);
        return () => { step.value = ''; playing.value = null; };
    }, [run]);
    useEffect(() => {
        if (!going || !move) return;
        if (isFailing(move) || at === last) {
            setGoing(false);
            return;
        }
        const wait = (move.by_hand ? HAND : (move.seconds ?? HAND)) / speed;
        const timer = setTimeout(() => show(at + 1, true), wait * 1000);
        return () => clearTimeout(timer);
    }, [going, at, speed, run]);
    useEffect(() => {
        list.current?.querySelector('[aria-current]')?.scrollIntoView({block: 'nearest'});
    }, [at]);
    if (!move) return null;
    const go = (index: number) => { setGoing(false); show(index, false); };
    const keys = (event: KeyboardEvent) => {
        const to = {ArrowDown: at + 1, ArrowRight: at + 1, ArrowUp: at - 1, ArrowLeft: at - 1,
                    Home: 0, End: last}[event.key];
        if (to === undefined) return;
        event.preventDefault();
        go(to);
        list.current?.querySelectorAll('button')[Math.min(Math.max(to, 0), last)]?.focus();
    };
    return (
        <div class="player">
            <div class="bar">
                <Button label={texts.first} onClick={() => go(0)} disabled={at === 0}>⇤</Button>
                <Button label={texts.back} onClick={() => go(at - 1)} disabled={at === 0}>←</Button>
                <Button kind="main" onClick={() => setGoing(!going)}
                        disabled={!going && (at === last || calm())}>
                    {going ? texts.pause : texts.play}</Button>
                <Button label={texts.next} onClick={() => go(at + 1)} disabled={at === last}>→</Button>
                <Button label={texts.last} onClick={() => go(last)} disabled={at === last}>⇥</Button>
                <label class="choice">{texts.speed}{' '}
                    <select value={speed} onChange={(event) => setSpeed(Number(event.currentTarget.value))}>
                        {speeds.map((n) => <option key={n} value={n}>{texts.times(n)}</option>)}
                    </select>
                </label>
            </div>
            <div role="status" aria-live={going ? 'off' : 'polite'} class={isFailing(move) ? 'now failing' : 'now'}>
                <p class="quiet">{texts.stepOf(at + 1, run.moves.length)}</p>
                <h3>{move.number}. {move.what}, {move.told.cutter}</h3>
                <State move={move}/>
                {isFailing(move) && <p class="failed">{texts.stoppedAt}</p>}
                <Lines move={move}/>
                {move.by_hand && <p class="quiet">{texts.byHand}</p>}
            </div>
            <ol class="moves" ref={list} onKeyDown={keys}>
                {run.moves.map((one, i) =>
                    <li key={i}>
                        <button type="button" class={isFailing(one) ? 'failing' : ''}
                                {...(i === at ? {'aria-current': 'step' as const} : {})}
                                onClick={() => go(i)}>
                            {one.number}. {one.what}
                            <span class="quiet"> {one.told.spindle}</span>
                            {isFailing(one) && <span class="danger"> ✕</span>}
                        </button>
                    </li>)}
            </ol>
        </div>
    );
}

export function Change() {
    const [from, setFrom] = useState('');
    const [run, setRun] = useState<{text: string; of: string; run: DryRun | null; trouble: string} | null>(null);
    const text = current.value?.text;
    const to = cutter.value;
    useEffect(() => {
        void askDryRun(from, to).then(({text: of, got, trouble}) =>
            setRun({text: of, of: `${from} ${to}`, run: got, trouble}));
    }, [text, from, to, current.value?.id]);
    const fresh = run && run.text === text && run.of === `${from} ${to}` ? run : null;
    return (
        <section class="change" aria-label={texts.tabs.change}>
            <h2>{texts.change}</h2>
            <p>{texts.changeHow}</p>
            <div class="bar">
                <CutterChoice label={texts.changeFrom} none={texts.changeChosen} value={from} onChange={setFrom}/>
                <CutterChoice label={texts.changeTo} none={texts.changeChosen} value={to}
                              onChange={(number) => { cutter.value = number; }}/>
            </div>
            {fresh?.run ? (
                <>
                    {fresh.run.errors > 0 && <p class="failed">{texts.errorsFirst(fresh.run.errors)}</p>}
                    <Player key={fresh.of} run={fresh.run}/>
                    <details open>
                        <summary>{texts.cautionsFirst}</summary>
                        <ul>{fresh.run.cautions.map((one) => <li key={one}>{one}</li>)}</ul>
                    </details>
                    {fresh.run.total.map((one) => <p key={one}>{one}</p>)}
                </>
            ) : <p class="quiet">{fresh?.trouble || texts.checking}</p>}
        </section>
    );
}
