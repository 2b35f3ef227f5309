/* All open machines: which fail, which stand in no file. */
import {useEffect, useState} from 'preact/hooks';
import {readReport, type Report} from './answers';
import {openFiles} from './files';
import {about, checker, closeMachine, keeping, type Machine, machines, openBytes, othersOf, overview,
        showMachine} from './store';
import {texts} from './texts';
import {Button} from './ui';

interface Row {
    readonly text: string;
    readonly report: Report | null;
    readonly trouble: string;
    readonly takes: readonly string[]; // machines whose files it takes in
}

async function lookAt(machine: Machine): Promise<Row> {
    const others = machines.value.filter(({id}) => id !== machine.id);
    const answered = await checker.ask([about('report', machine.name, machine.text, 'json', '', ''), ['read']],
                                       {others: othersOf(machine)});
    if (!answered.ok)
        return {text: machine.text, report: null, trouble: texts.failure(answered.why), takes: []};
    const report = readReport(answered.answers[0]);
    const takes = (answered.answers[1]?.text ?? '').split(' ').filter(Boolean)
        .flatMap((index) => others[Number(index)]?.id ?? []);
    return {text: machine.text, report, trouble: report ? '' : texts.failure('broken'), takes};
}

function foundIn(row: Row | undefined, machine: Machine): string {
    if (!machine.text) return texts.empty;
    if (!row || row.text !== machine.text) return texts.checking;
    if (!row.report) return row.trouble;
    const {counts, rules, status} = row.report;
    const found = texts.counts(counts.error, counts.warning, counts.note);
    return [status === 'checked' ? '' : texts[status], found || (status === 'checked' ? texts.clean : ''),
            rules.waived ? texts.waived(rules.waived) : '',
            rules.unchecked ? texts.unchecked(rules.unchecked) : ''].filter(Boolean).join('; ');
}

export function close(machine: Machine): void {
    if (keeping(machine) === 'file' || (!machine.text && !machine.questions) ||
        confirm(texts.closeAsk(machine.name))) closeMachine(machine.id);
}

export function Overview() {
    const all = machines.value;
    const [rows, setRows] = useState<ReadonlyMap<string, Row>>(new Map());
    const taken = new Set([...rows.values()].flatMap(({takes}) => takes));
    const texts_ = all.map(({name, text}) => name + '\n' + text).join('\0');
    useEffect(() => {
        let stopped = false;
        void (async () => {
            for (const machine of all) {
                if (stopped) return;
                const row = await lookAt(machine);
                setRows((known) => new Map(known).set(machine.id, row));
            }
        })();
        return () => { stopped = true; };
    }, [texts_]);
    return (
        <main class="overview">
            <h2>{texts.overview}</h2>
            <p>{texts.overviewHow}</p>
            <div class="bar">
                <Button onClick={() => void openFiles().then(openBytes)}>{texts.open}</Button>
                <Button onClick={() => void openFiles(true).then(openBytes)}>{texts.openFolder}</Button>
                <Button onClick={() => showMachine(null)}>{texts.start}</Button>
            </div>
            <div class="wide" tabIndex={0} role="region" aria-label={texts.overview}>
                <table>
                    <thead><tr>
                        <th scope="col">{texts.overviewName}</th><th scope="col">{texts.overviewFound}</th>
                        <th scope="col">{texts.overviewKept}</th><td/>
                    </tr></thead>
                    <tbody>{all.map((machine) =>
                        <tr key={machine.id}>
                            <th scope="row">
                                <Button label={texts.overviewOpen(machine.name)} onClick={() => {
                                    showMachine(machine.id);
                                    overview.value = false;
                                }}>{machine.name}</Button>
                            </th>
                            <td>{foundIn(rows.get(machine.id), machine)}{taken.has(machine.id) ? ` (${texts.overviewPart})` : ''}</td>
                            <td>{texts.keeping[keeping(machine)]}</td>
                            <td><Button kind="quiet" label={texts.close(machine.name)}
                                        onClick={() => close(machine)}>✕</Button></td>
                        </tr>)}</tbody>
                </table>
            </div>
        </main>
    );
}
