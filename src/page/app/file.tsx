/* The text itself, with its findings at their places; or in a plain field. */
import {signal} from '@preact/signals';
import {useEffect, useRef, useState} from 'preact/hooks';
import {find, markFindings, markLines, replaceText, setExplainer, view} from './editor';
import {askCurrent, askWindows, current, fieldRow, pointed, shown} from './store';
import {texts} from './texts';
import {Button} from './ui';

const plain = signal(false);

/** What a field means, how to come by it, and the range in which all rules hold. */
async function explain(path: string): Promise<HTMLElement | null> {
    const row = fieldRow(path);
    if (!row) return null;
    const lines = [row.meaning, row.how ?? ''];
    if (row.choices) lines.push(row.choices.join(', '));
    const number = /number|position/.test(row.kind) && row.kind !== 'a list of numbers with units';
    if (number) {
        const {got} = await askWindows(path);
        const [window] = got ?? [];
        if (window?.between) lines.push(texts.windowNone(window.between[0], window.between[1]));
        else if (window) lines.push(texts.windowOf(window.low?.text ?? null, window.high?.text ?? null));
    }
    const margins = (shown.value?.report.evaluations ?? []).filter((one) => one.margin &&
        one.outcome !== 'unchecked' &&
        (one.field === path || one.related.some((place) => place.field === path)));
    const least = margins.sort((a, b) => (a.margin?.si ?? 0) - (b.margin?.si ?? 0))[0];
    if (least?.margin) lines.push(`${texts.margin(least.margin.text)}: ${least.rule}`);
    const dom = document.createElement('div');
    dom.className = 'hint';
    for (const text of [path, ...lines].filter(Boolean)) {
        const line = document.createElement('p');
        line.textContent = text;
        dom.append(line);
    }
    return dom;
}
setExplainer(explain);

function Compared() {
    const [told, setTold] = useState('');
    const machine = current.value;
    const tell = () => {
        if (!machine) return;
        if (machine.saved === null) setTold(texts.compareNew);
        else if (machine.saved === machine.text) setTold(texts.compareNone);
        else void askCurrent('compare', '', (answer) => answer.text, machine.saved)
            .then(({got, trouble}) => setTold(got === null ? trouble : `${texts.compareHow}\n\n${got}`));
    };
    return (
        <details onToggle={(event) => { if (event.currentTarget.open) tell(); }}>
            <summary>{texts.compare}</summary>
            <Button onClick={tell}>{texts.compare}</Button>
            <pre class="told" tabIndex={0} aria-label={texts.compare}>{told}</pre>
        </details>
    );
}

function Editor() {
    const host = useRef<HTMLDivElement>(null);
    useEffect(() => {
        host.current?.append(view.dom);
        view.requestMeasure();
    }, []);
    const found = shown.value;
    useEffect(() => markFindings(found), [found]);
    const {lines} = pointed.value;
    useEffect(() => markLines(lines), [lines]);
    return <div class="editor" ref={host}/>;
}

export function File() {
    const text = current.value?.text ?? '';
    return (
        <section class="file" aria-label={texts.tabs.file}>
            <div class="bar">
                <Button onClick={find} disabled={plain.value}>{texts.findText}</Button>
                <Button onClick={() => { plain.value = !plain.value; }}>
                    {plain.value ? texts.richField : texts.plainField}</Button>
            </div>
            {plain.value
                ? <textarea class="plain" rows={24} spellcheck={false} aria-label={texts.editor} value={text}
                            onInput={(event) => replaceText(event.currentTarget.value, true)}/>
                : <Editor/>}
            <p class="quiet">{texts.editorHow}</p>
            <Compared/>
            <pre class="print" aria-hidden="true">{text}</pre>
        </section>
    );
}
