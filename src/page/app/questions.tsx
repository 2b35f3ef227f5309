/* One question at a time, with what to know for it and what its answer does. */
import {useEffect, useRef, useState} from 'preact/hooks';
import type {AskedField, Standing} from './answers';
import {answerQuestion, asking, askingTrouble, beginAnew, hasAnswers, openQuestions, showSoFar,
        takeSoFar} from './asking';
import {current, pointed, preview} from './store';
import {texts} from './texts';
import {Button, LevelSign} from './ui';

function isMarks(fields: readonly AskedField[]): boolean {
    return fields.length > 1 && fields.every(({kind}) => kind === 'yes or no');
}

/** The window of one number as a band, with what is typed on it. */
function Band({field, typed}: {field: AskedField; typed: string}) {
    const {range} = field;
    if (!range || (range.low === null && range.high === null)) return null;
    const low = range.low === null ? null : range.low / range.unit_si;
    const high = range.high === null ? null : range.high / range.unit_si;
    const number = Number.parseFloat(typed.replace(/^\s*\u2212/, '-'));
    const size = low !== null && high !== null ? high - low
        : Math.max(Math.abs(low ?? high ?? 0) / 2, 1);
    const from = (low ?? (high ?? 0) - 2 * size) - size / 3;
    const to = (high ?? (low ?? 0) + 2 * size) + size / 3;
    const at = (value: number) => Math.min(100, Math.max(0, (value - from) / (to - from) * 100));
    const start = low === null ? 0 : at(low);
    const end = high === null ? 100 : at(high);
    return (
        <div class="scale" aria-hidden="true">
            <span class="band"><span style={{left: `${start}%`, width: `${end - start}%`}}/></span>
            {low !== null && <span class="mark" style={{left: `${start}%`}}>{Number(low.toPrecision(6))}</span>}
            {high !== null && <span class="mark" style={{left: `${end}%`}}>{Number(high.toPrecision(6))}</span>}
            {Number.isFinite(number) && <span class="here" style={{left: `${at(number)}%`}}/>}
        </div>
    );
}

interface Entry {
    readonly values: readonly string[];
    readonly marks: readonly boolean[];
    readonly words: readonly string[];
}

/** "[a, b]" */
const wordsOf = (text: string) => text.replace(/[[\]]/g, '').split(',').map((word) => word.trim()).filter(Boolean);

/** What is typed, as one line. */
export function lineOf(fields: readonly AskedField[], entry: Entry): string {
    const [only] = fields;
    if (isMarks(fields)) return entry.marks.flatMap((mark, i) => (mark ? [String(i + 1)] : [])).join(', ');
    if (fields.length === 1 && only?.kind === 'a list of words') return entry.words.join(', ');
    const values = entry.values.map((value) => value.trim());
    while (values.length > 1 && values[values.length - 1] === '') values.pop();
    return values.join(', ');
}

function Choices({field, value, onChange}: {
    field: AskedField; value: string; onChange: (word: string) => void;
}) {
    const choices = field.choices.length ? field.choices
        : [{word: 'yes', says: 'yes'}, {word: 'no', says: 'no'}];
    return (
        <div class="choices" role="radiogroup" aria-label={field.label ?? field.asks}>
            {choices.map(({word, says}) =>
                <label key={word}><input type="radio" name={field.path} value={word}
                                         checked={value === word}
                                         onChange={() => onChange(word)}/> {says}</label>)}
        </div>
    );
}

/** Words in an order, each as often as is wanted. */
function Words({field, words, onChange}: {
    field: AskedField; words: readonly string[]; onChange: (words: readonly string[]) => void;
}) {
    const says = new Map(field.choices.map((choice) => [choice.word, choice.says]));
    const offered = wordsOf(field.offer?.text ?? '');
    return (
        <div class="words">
            {field.offer &&
                <p>{texts.offered(field.offer.text, field.offer.reason)}{' '}
                    <Button onClick={() => onChange(offered)}>{texts.useOffer}</Button></p>}
            {words.length > 0 ? (
                <ol>{words.map((word, i) =>
                    <li key={i}>{says.get(word) ?? word}{' '}
                        <Button label={texts.wordRemove(says.get(word) ?? word)}
                                onClick={() => onChange(words.filter((_, k) => k !== i))}>−</Button></li>)}</ol>
            ) : <p class="quiet">{texts.wordsNone}</p>}
            <div class="choices" role="group" aria-label={texts.wordsAdd}>
                {field.choices.map(({word, says: said}) =>
                    <button key={word} type="button" data-word={word}
                            onClick={() => onChange([...words, word])}>+ {said}</button>)}
            </div>
        </div>
    );
}

function Readings({onChange}: {onChange: (line: string) => void}) {
    const [readings, setReadings] = useState<readonly string[]>(['', '', '']);
    const put = (next: readonly string[]) => {
        setReadings(next);
        onChange(next.map((one) => one.trim()).filter(Boolean).join(', '));
    };
    return (
        <details class="readings">
            <summary>{texts.readings}</summary>
            <p>{texts.readingsHow}</p>
            <ol>{readings.map((value, i) =>
                <li key={i}>
                    <input type="text" inputMode="decimal" aria-label={texts.reading(i + 1)} value={value}
                           onInput={(event) => put(readings.map((old, k) =>
                               k === i ? event.currentTarget.value : old))}/>{' '}
                    <Button label={texts.readingsRemove(i + 1)}
                            onClick={() => put(readings.filter((_, k) => k !== i))}>−</Button>
                </li>)}</ol>
            <Button onClick={() => setReadings([...readings, ''])}>{texts.readingsAdd}</Button>
        </details>
    );
}

function isWord(field: AskedField): boolean {
    return field.choices.length > 0 || field.kind === 'yes or no';
}

function FieldEntry({field, only, value, onChange}: {
    field: AskedField; only: boolean; value: string; onChange: (value: string) => void;
}) {
    const number = field.unit !== null;
    return (
        <div class="entry">
            {!only && <p class="label">{field.label ?? field.path}</p>}
            {isWord(field) ? <Choices field={field} value={value} onChange={onChange}/> : (
                <input type="text" aria-label={only ? texts.answer : texts.answerFor(field.label ?? field.path)}
                       {...(number ? {inputMode: 'decimal' as const} : {})}
                       autocomplete="off" spellcheck={false} value={value}
                       onInput={(event) => onChange(event.currentTarget.value)}/>
            )}
            {field.unit && <p class="quiet">{texts.answerIn(field.unit)}</p>}
            {field.offer &&
                <p>{texts.offered(field.offer.text, field.offer.reason)}{' '}
                    <Button label={`${texts.useOffer}: ${field.offer.text}`}
                            onClick={() => onChange(field.offer?.text ?? '')}>{texts.useOffer}</Button></p>}
            {field.window && <p class="quiet">{field.window}</p>}
            <Band field={field} typed={value}/>
            {only && field.readings && <Readings onChange={onChange}/>}
        </div>
    );
}

function Help({fields}: {fields: readonly AskedField[]}) {
    const told = [...new Set(fields.map(({help}) => help).filter((help) => help !== null && help))];
    return told.length ? (
        <details open><summary>{texts.how}</summary>{told.map((help, i) => <p key={i}>{help}</p>)}</details>
    ) : null;
}

function Question({standing}: {standing: Standing}) {
    const fields = standing.fields ?? [];
    const key = fields.map(({path}) => path).join(' ') + String(standing.number);
    const stands = (field: AskedField) => field.offer?.source === 'kept' ? field.offer.text : '';
    const fresh = (): Entry => ({values: fields.map(() => ''),
                                 marks: fields.map((field) => stands(field) === 'yes'),
                                 words: fields[0] ? wordsOf(stands(fields[0])) : []});
    const [entry, setEntry] = useState<Entry>(fresh());
    const head = useRef<HTMLHeadingElement>(null);
    const form = useRef<HTMLFormElement>(null);
    useEffect(() => {
        if (standing.taken) setEntry(fresh());
        // what was refused is typed again; else the question is read first, but not before anything
        // was answered here
        const now = asking.value;
        if (!now?.answered || now.turn === readTurn) return;
        readTurn = now.turn;
        if (standing.taken) {
            document.querySelector(matchMedia('(max-width: 959px)').matches ? '.middle' : '.part')
                ?.scrollIntoView({block: 'start'});
            head.current?.focus({preventScroll: true});
        } else form.current?.querySelector('input')?.focus();
    }, [key, standing]);
    useEffect(() => {
        pointed.value = {fields: fields.map(({path}) => path), lines: []};
        // Each question is a place in the browser's history, so that its way back is ours.
        if (!backwards) history.pushState({asking: ++place}, '');
        backwards = false;
    }, [key]);
    const marks = isMarks(fields);
    const list = fields.length === 1 && fields[0]?.kind === 'a list of words';
    const values = fields.map((_, i) => entry.values[i] ?? '');
    const line = lineOf(fields, {...entry, values});
    const submit = (event: Event) => {
        event.preventDefault();
        void answerQuestion(line);
    };
    return (
        <form class="question" onSubmit={submit} key={key} ref={form}>
            <p class="quiet">{standing.topic} · {texts.questionOf(standing.number ?? 0, standing.of ?? 0)}
                {standing.about ? ` · ${texts.aboutOf(standing.about)}` : ''}</p>
            {standing.note && <p class="quiet">{standing.note}</p>}
            {standing.again && <p>{texts.again}</p>}
            <h2 tabIndex={-1} ref={head}>{standing.headline ?? texts.marksAsk}</h2>
            {(standing.cautions ?? []).map((one) => <p key={one} class="caution">{texts.cautionOf(one)}</p>)}
            {marks ? (
                <div class="choices" role="group" aria-label={texts.answer}>
                    {fields.map((field, i) =>
                        <label key={field.path}><input type="checkbox" value={field.path} checked={entry.marks[i] ?? false}
                            onChange={(event) => setEntry({...entry, marks: fields.map((_, k) =>
                                k === i ? event.currentTarget.checked : entry.marks[k] ?? false)})}/>{' '}
                            {field.question}</label>)}
                </div>
            ) : list && fields[0] ? (
                <Words field={fields[0]} words={entry.words}
                       onChange={(words) => setEntry({...entry, words})}/>
            ) : fields.map((field, i) => (
                <div key={field.path}>
                    {fields.length > 1 && field.asks !== fields[0]?.asks && <p class="label">{field.question}</p>}
                    <FieldEntry field={field} only={fields.length === 1} value={values[i] ?? ''}
                                onChange={(value) => setEntry({...entry, values: fields.map((_, k) =>
                                    k === i ? value : values[k] ?? '')})}/>
                </div>
            ))}
            <div class="bar">
                <button type="submit" class="main" disabled={!line}>{texts.taking}</button>
                {(marks || list) && !line &&
                    <Button onClick={() => void answerQuestion('none')}>{texts.noneOfThem}</Button>}
                {standing.offer?.enter && standing.offer.text &&
                    <Button onClick={() => void answerQuestion('')}>
                        {texts.takeOffer}: {standing.offer.text}</Button>}
                <Button onClick={() => void answerQuestion('skip')}>{texts.skip}</Button>
                <Button onClick={goBack}>{texts.backOne}</Button>
                <Button onClick={() => void answerQuestion('later')}>{texts.later}</Button>
                {current.value?.text && <Button onClick={() => void answerQuestion('on')}>{texts.on}</Button>}
            </div>
            <Help fields={fields}/>
        </form>
    );
}

let readTurn = 0;
let backwards = false;
let place = 0; // of what is shown, in the browser's history

function goBack(): void {
    backwards = true;
    void answerQuestion('back');
}

function Judged({standing}: {standing: Standing}) {
    return (
        <div role="status">
            {standing.said && <p class={standing.taken ? 'said' : 'failed'}>{standing.said}</p>}
            {standing.findings.length > 0 && <p class="label">{texts.judged}</p>}
            <ul>{standing.findings.map((one, i) =>
                <li key={i}><LevelSign level={one.level}/> {one.message}
                    {one.put_right && <span>; {texts.putRight}{one.put_right}</span>}
                    {one.would_do.filter((title) => typeof title === 'string').map((title) =>
                        <span key={title}>; {title}</span>)}</li>)}</ul>
        </div>
    );
}

function Review({standing}: {standing: Standing}) {
    const {proposal, answers, refused, excluded} = standing;
    const head = useRef<HTMLHeadingElement>(null);
    useEffect(() => {
        pointed.value = {fields: [], lines: []};
        head.current?.focus();
    }, []);
    return (
        <div class="review">
            <h2 tabIndex={-1} ref={head}>{texts.review}</h2>
            <p>{texts.reviewHow}</p>
            {proposal && (
                <div class="proposed">
                    <p>{texts.proposalHow}</p>
                    <ul>{proposal.changes.map(({path, now, text}) =>
                        <li key={path}>{texts.proposeChange(path, now, text)}</li>)}</ul>
                    {proposal.less_for_people && <p class="caution">{proposal.less_for_people}</p>}
                    {proposal.measure_first && <p class="caution">{proposal.measure_first}</p>}
                    <Button kind="main" onClick={() => void answerQuestion('yes')}>{texts.takeProposal}</Button>{' '}
                    <Button onClick={() => void answerQuestion('no')}>{texts.leaveProposal}</Button>
                </div>
            )}
            {excluded && <p>{excluded.because}: {excluded.rules.map(String).join('; ')}</p>}
            {refused && <p class="failed">{refused}</p>}
            {!proposal &&
                <div class="bar">
                    <Button kind="main" disabled={refused !== null && refused !== undefined}
                            onClick={() => void answerQuestion('yes')}>{texts.takeFile}</Button>
                    <Button onClick={goBack}>{texts.backOne}</Button>
                    <Button onClick={() => void answerQuestion('later')}>{texts.later}</Button>
                </div>}
            <table class="answers">
                <tbody>{(answers ?? []).map(({path, text, source, asked}, i) =>
                    <tr key={`${path} ${i}`}>
                        <th scope="row">{path}</th>
                        <td>{text ?? texts.leftOpen}</td>
                        <td class="quiet">{source}</td>
                        <td>{asked && <Button label={texts.changeAnswer(path)}
                                              onClick={() => void answerQuestion(`back ${path}`)}>
                            {texts.changeAnswer('')}</Button>}</td>
                    </tr>)}</tbody>
            </table>
        </div>
    );
}

function Name() {
    const [name, setName] = useState('');
    return (
        <form onSubmit={(event) => { event.preventDefault(); void answerQuestion(name); }}>
            <label>{texts.nameFile} <input type="text" value={name}
                onInput={(event) => setName(event.currentTarget.value)}/></label>{' '}
            <button type="submit" class="main">{texts.taking}</button>
        </form>
    );
}

function Over({state}: {state: string}) {
    const said = {saved: texts.questionsOver, unchanged: texts.questionsUnchanged,
                  stopped: texts.questionsStopped, refused: texts.questionsRefused}[state] ?? state;
    return (
        <div role="status">
            <p>{said}</p>
            {asking.value?.standing.said && <p>{asking.value.standing.said}</p>}
            {state !== 'refused' && <Button kind="main" onClick={() => void openQuestions()}>
                {state === 'stopped' ? texts.questionsGoOn : texts.questionsAgain}</Button>}
        </div>
    );
}

/** Somebody changed the text while answers to questions about it were not in it yet. */
function Changed() {
    return (
        <div class="proposed" role="alert">
            <p>{texts.questionsChanged}</p>
            <Button kind="main" onClick={() => void takeSoFar()}>{texts.questionsKeep}</Button>{' '}
            <Button onClick={() => void beginAnew()}>{texts.questionsLeave}</Button>
        </div>
    );
}

export function Questions() {
    const machine = current.value;
    const now = asking.value;
    const mine = now && machine && now.id === machine.id ? now : null;
    const changed = mine && machine && mine.text !== machine.text && mine.state === 'question';
    useEffect(() => {
        if (!mine || (changed && !hasAnswers(mine))) void openQuestions();
        else if (!changed) showSoFar();
        return () => { preview.value = null; };
    }, [machine?.id, changed]);
    useEffect(() => {
        const back = (event: PopStateEvent) => {
            const to = (event.state as {asking?: number} | null)?.asking;
            if (to === undefined) return;
            if (to < place) goBack(); // forward there is nothing: what comes is asked when it comes
            place = to;
        };
        window.addEventListener('popstate', back);
        return () => window.removeEventListener('popstate', back);
    }, []);
    return (
        <section class="questions" aria-label={texts.tabs.questions} data-turn={mine?.turn ?? 0}>
            {askingTrouble.value && <p class="failed" role="alert">{askingTrouble.value}</p>}
            {mine && changed && hasAnswers(mine) ? <Changed/> : mine ? (
                <>
                    <Judged standing={mine.standing}/>
                    {mine.state === 'question' && mine.standing.state === 'question' &&
                        <Question standing={mine.standing}/>}
                    {mine.state === 'question' && mine.standing.state === 'review' &&
                        <Review standing={mine.standing}/>}
                    {mine.state === 'question' && mine.standing.state === 'name' && <Name/>}
                    {mine.state !== 'question' && <Over state={mine.state}/>}
                    {mine.state === 'question' && mine.file !== null && preview.value !== null &&
                        <p><Button onClick={() => void takeSoFar()}>{texts.takeSoFar}</Button></p>}
                </>
            ) : <Button onClick={() => void openQuestions()}>{texts.questionsGoOn}</Button>}
        </section>
    );
}
