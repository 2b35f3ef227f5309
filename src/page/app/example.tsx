/* The drawing beside a question: of the answers so far, or, where what is asked for cannot be drawn
 * yet, of a sample that has it. */
import {signal} from '@preact/signals';
import {useEffect, useMemo} from 'preact/hooks';
import {belongs, Drawing, Drawings, importDrawing} from './drawing';
import {about, checker, checked, pointed, ready, shown, shownText} from './store';
import {samples} from './start';
import {texts} from './texts';

interface Drawn {
    readonly plan: string;
    readonly side: string;
}

const drawnSamples = signal<readonly Drawn[]>([]);
let begun = false;

/** A sample for each way of measuring; more are not wanted. */
const NAMES = ['workshop-router.yaml', 'corner-plate.yaml', 'setter-on-the-gantry.yaml',
               'rotary-axis-at-one-side.yaml', 'gantry-on-two-motors.yaml'];

async function drawSamples(): Promise<void> {
    if (begun || !Object.keys(samples.value).length) return;
    begun = true;
    for (const name of NAMES) {
        const text = samples.value[name];
        if (!text) continue;
        const answered = await checker.ask([about('draw', name, text, '', '', 'quick', 'plan'),
                                            about('draw', name, text, '', '', 'quick', 'side')]);
        const [plan, side] = answered.ok ? answered.answers : [];
        if (plan?.given && side?.given)
            drawnSamples.value = [...drawnSamples.value, {plan: plan.text, side: side.text}];
    }
}

/** How well a drawing shows what one of the fields says: as belongs(), 0 not at all. */
function shows(svg: string | null, fields: readonly string[]): number {
    const drawn = svg === null ? null : importDrawing(svg);
    const groups = [...(drawn?.querySelectorAll('g[data-field]') ?? [])]
        .filter((group) => group.querySelector('path, circle'));
    return Math.max(0, ...groups.flatMap((group) => fields.map((field) => belongs(group, field))));
}

function Own({only}: {only?: 'plan' | 'side'}) {
    return <div><p class="quiet">{texts.ownDrawing}</p><Drawings {...(only ? {only} : {})}/></div>;
}

export function Example() {
    useEffect(() => { if (ready.value === 'ready') void drawSamples(); },
              [ready.value, samples.value]);
    const asked = pointed.value.fields;
    const key = asked.join(' ');
    const own = checked.value && shownText.value ? shown.value : null;
    const [plan, side] = useMemo(() => [shows(own?.plan ?? null, asked), shows(own?.side ?? null, asked)],
                                 [own?.plan, own?.side, key]);
    const example = useMemo(() => {
        const all = drawnSamples.value.flatMap((one) => [one.plan, one.side]).map((svg) =>
            ({svg, how: shows(svg, asked)}));
        return all.find(({how}) => how === Math.max(...all.map((one) => one.how)));
    }, [drawnSamples.value, key]);
    const best = Math.max(plan, side);
    if (own && best >= (example?.how ?? 0))
        return best ? <Own only={side > plan ? 'side' : 'plan'}/> : <Own/>;
    if (!example?.how) return <Drawings/>;
    return (
        <section class="drawing" aria-label={texts.drawing}>
            <p class="quiet">{texts.exampleDrawing}</p>
            <div class="views">
                <Drawing svg={example.svg} label={texts.exampleDrawing} fields={asked} lines={[]}/>
            </div>
        </section>
    );
}
