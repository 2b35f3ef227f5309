/* The drawing beside a question: of the answers so far, or, where what is asked for cannot be drawn
 * yet, of a sample that has it. */
import {signal} from '@preact/signals';
import {useEffect} from 'preact/hooks';
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

/** Does a drawing show a thing that one of the fields says? */
function shows(svg: string | null, fields: readonly string[]): boolean {
    const drawn = svg === null ? null : importDrawing(svg);
    return [...(drawn?.querySelectorAll('g[data-field]') ?? [])].some((group) =>
        group.querySelector('path, circle') && fields.some((field) => belongs(group, field) > 0));
}

export function Example() {
    useEffect(() => { if (ready.value === 'ready') void drawSamples(); },
              [ready.value, samples.value]);
    const asked = pointed.value.fields;
    const own = checked.value && shownText.value ? shown.value : null;
    if (own && (shows(own.plan, asked) || shows(own.side, asked)))
        return <div><p class="quiet">{texts.ownDrawing}</p><Drawings/></div>;
    const examples = drawnSamples.value.flatMap(({plan, side}) => [plan, side]);
    const example = examples.find((svg) => shows(svg, asked));
    if (example) {
        return (
            <section class="drawing" aria-label={texts.drawing}>
                <p class="quiet">{texts.exampleDrawing}</p>
                <div class="views">
                    <Drawing svg={example} label={texts.exampleDrawing} fields={asked} lines={[]}/>
                </div>
            </section>
        );
    }
    return own ? <div><p class="quiet">{texts.ownDrawing}</p><Drawings/></div> : <Drawings/>;
}
