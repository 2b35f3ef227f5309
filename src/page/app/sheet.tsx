/* The sheet that hangs beside the machine, as the library lays it out: looked at and printed. */
import {useEffect, useRef, useState} from 'preact/hooks';
import {CutterChoice} from './drawing';
import {askCurrent, current} from './store';
import {texts} from './texts';
import {Button} from './ui';

export function Sheet() {
    const [cutter, setCutter] = useState('');
    const [sheet, setSheet] = useState<{text: string; of: string; html: string | null; trouble: string} | null>(null);
    const frame = useRef<HTMLIFrameElement>(null);
    const [address, setAddress] = useState('');
    const text = current.value?.text;
    useEffect(() => {
        void askCurrent('sheet', 'html', (answer) => answer.text, cutter).then(({text: of, got, trouble}) =>
            setSheet({text: of, of: cutter, html: got, trouble}));
    }, [text, cutter, current.value?.id]);
    useEffect(() => {
        if (!sheet?.html) return;
        const made = URL.createObjectURL(new Blob([sheet.html], {type: 'text/html;charset=utf-8'}));
        setAddress(made);
        return () => URL.revokeObjectURL(made);
    }, [sheet?.html]);
    const fresh = sheet?.html && sheet.text === text && sheet.of === cutter;
    const name = (current.value?.name ?? 'machine').replace(/^.*[/\\]/, '').replace(/\.ya?ml$/i, '');
    return (
        <section class="sheet" aria-label={texts.tabs.sheet}>
            <h2>{texts.sheet}</h2>
            <p>{texts.sheetHow}</p>
            <div class="bar">
                <CutterChoice label={texts.sheetFor} none={texts.sheetAll} value={cutter}
                              onChange={setCutter}/>
                <Button kind="main" disabled={!fresh}
                        onClick={() => frame.current?.contentWindow?.print()}>{texts.print}</Button>
                {fresh && <a class="button" href={address} download={`${name}-sheet.html`}>{texts.sheetSave}</a>}
            </div>
            {fresh && address
                // it holds no script, and could run none
                ? <iframe ref={frame} srcdoc={sheet.html ?? ''} sandbox="allow-same-origin allow-modals"
                          title={texts.sheet}/>
                : <p class="quiet">{sheet?.trouble || texts.sheetNone}</p>}
        </section>
    );
}
