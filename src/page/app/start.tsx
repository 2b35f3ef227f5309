/* Three doors: describe a machine, open a file, look at a sample; and what is left from earlier. */
import {signal} from '@preact/signals';
import {useState} from 'preact/hooks';
import {clearDraft, type Draft, listDrafts} from './drafts';
import {openFiles} from './files';
import {describeNew, openBytes, openDraft, openText} from './store';
import {texts} from './texts';
import {Button} from './ui';

/** The samples that the page brings along, by name. */
export const samples = signal<Readonly<Record<string, string>>>({});

function Drafts() {
    const [drafts, setDrafts] = useState<readonly Draft[]>(listDrafts());
    if (!drafts.length) return null;
    return (
        <section>
            <h2>{texts.drafts}</h2>
            <p class="quiet">{texts.draftsHow}</p>
            <ul class="drafts">{drafts.map((draft) =>
                <li key={draft.id}>
                    <Button onClick={() => openDraft(draft.id)}>{texts.draftOpen(draft.name)}</Button>{' '}
                    <span class="quiet">{texts.draftTime(draft.time)}</span>{' '}
                    <Button kind="quiet" label={texts.draftClear(draft.name)} onClick={() => {
                        clearDraft(draft.id);
                        setDrafts(listDrafts());
                    }}>✕</Button>
                </li>)}</ul>
        </section>
    );
}

function Samples() {
    const names = Object.keys(samples.value);
    const [name, setName] = useState('');
    const chosen = name || names.find((one) => one === 'workshop-router.yaml') || names[0] || '';
    return (
        <section class="door">
            <h2>{texts.sample}</h2>
            <p>{texts.sampleHow}</p>
            <select aria-label={texts.sample} value={chosen}
                    onChange={(event) => setName(event.currentTarget.value)}>
                {names.map((one) => <option key={one} value={one}>{one.replace(/\.ya?ml$/, '').replaceAll('-', ' ')}</option>)}
            </select>{' '}
            <Button kind="main" disabled={!chosen}
                    onClick={() => openText(chosen, samples.value[chosen] ?? '')}>{texts.sample}</Button>
        </section>
    );
}

function Paste() {
    const [text, setText] = useState('');
    return (
        <details>
            <summary>{texts.paste}</summary>
            <textarea rows={6} spellcheck={false} aria-label={texts.paste} value={text}
                      onInput={(event) => setText(event.currentTarget.value)}/>
            <Button disabled={!text} onClick={() => openText('pasted.yaml', text)}>{texts.pasteTake}</Button>
        </details>
    );
}

export function Start() {
    const open = (folder: boolean) => void openFiles(folder).then(openBytes);
    return (
        <main class="start">
            <p class="claim">{texts.claim}</p>
            <div class="doors">
                <section class="door">
                    <h2>{texts.describe}</h2>
                    <p>{texts.describeHow}</p>
                    <Button kind="main" onClick={describeNew}>{texts.describe}</Button>
                </section>
                <section class="door">
                    <h2>{texts.open}</h2>
                    <p>{texts.openHow}</p>
                    <Button kind="main" onClick={() => open(false)}>{texts.open}</Button>{' '}
                    <Button onClick={() => open(true)}>{texts.openFolder}</Button>
                    <Paste/>
                </section>
                <Samples/>
            </div>
            <Drafts/>
            <p>{texts.offline}</p>
            <p class="caution">{texts.caution}</p>
        </main>
    );
}
