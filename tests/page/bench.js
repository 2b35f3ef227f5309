/* bench.js PAGE: how fast the page is in Chromium, as it is and with a sixth of the speed.  Measures,
 * and never fails. */
const {launch, open, fileAddress, until, named, openSample, go, toEnd, rest, run} = require('./drive');

const middle = (list) => [...list].sort((a, b) => a - b)[Math.floor(list.length / 2)];
const high = (list) => [...list].sort((a, b) => a - b)[Math.floor(list.length * 0.95)];
const told = (list) => `median ${middle(list).toFixed(1)} ms, 95 % ${high(list).toFixed(1)} ms`;

/** From a key to the findings of the text with it on the screen. */
async function typing(page) {
    await toEnd(page);
    await page.keyboard.type('\n#');
    await rest(600);
    await page.evaluate(() => {
        window.times = {answered: [], shown: []};
        let start = 0, before = '', answered = false, text = false;
        const print = document.querySelector('pre.print');
        const summary = document.querySelector('.findings .summary');
        document.addEventListener('keydown', () => {
            start = performance.now();
            before = print.textContent;
            answered = text = false;
        }, {capture: true});
        new MutationObserver(() => {
            if (!start || answered) return;
            answered = true;
            window.times.answered.push(performance.now() - start);
        }).observe(document.querySelector('.cm-content'), {characterData: true, childList: true, subtree: true});
        new MutationObserver(() => {
            if (!start) return;
            text ||= print.textContent !== before;
            if (!text || summary.dataset.state === 'wait') return;
            window.times.shown.push(performance.now() - start);
            start = 0;
        }).observe(document.body, {attributes: true, characterData: true, childList: true, subtree: true});
    });
    for (let i = 0; i < 40; i++) {
        await page.keyboard.press('x');
        await rest(250);
    }
    return page.evaluate(() => window.times);
}

/** How often a dragged number is checked and drawn anew. */
async function dragging(page) {
    await go(page, 'numbers');
    const slider = await page.waitForSelector('.slider[data-field="change.standoff"] input[type=range], .slider[data-field="change.approach_z"] input[type=range]');
    await slider.evaluate((one) => one.scrollIntoView({block: 'center'}));
    await rest(500);
    await page.evaluate(() => {
        window.frames_ = [];
        let last = '';
        new MutationObserver(() => {
            const now = document.querySelector('.middle').textContent;
            if (now === last) return;
            last = now;
            window.frames_.push(performance.now());
        }).observe(document.querySelector('.middle'), {childList: true, subtree: true});
    });
    return slider.evaluate(async (one) => {
        const steps = 90, from = one.valueAsNumber, size = (one.max - one.min) / 300;
        for (let i = 0; i < steps; i++) {
            one.value = from + (i % 2 ? 1 : -1) * size * (i + 1) / 2;
            one.dispatchEvent(new Event('input', {bubbles: true}));
            await new Promise((done) => requestAnimationFrame(done));
        }
        await new Promise((done) => setTimeout(done, 500));
        one.dispatchEvent(new KeyboardEvent('keydown', {key: 'Escape', bubbles: true}));
        return window.frames_.slice(1).map((time, k) => time - window.frames_[k]).filter((gap) => gap < 400);
    });
}

async function main([file]) {
    const browser = await launch('chrome');
    for (const slower of [1, 6]) {
        const opened = [];
        for (let i = 0; i < 3; i++) {
            const page = await browser.newPage();
            await page.setViewport({width: 1440, height: 900});
            await page.emulateCPUThrottling(slower);
            const start = Date.now();
            await page.goto(fileAddress(file));
            await (await named(page, 'Look at a sample', '.door')).evaluate((one) => one.click());
            await until(page, () => document.querySelector('.findings .summary')?.dataset.state === 'clean');
            opened.push(Date.now() - start);
            await page.evaluate(() => { localStorage.clear(); sessionStorage.clear(); });
            await page.close();
        }
        console.log(`${slower} x: from opening to a first finding: ${opened.join(', ')} ms`);
        for (const name of ['workshop-router', 'approach-a-digit-too-deep']) {
            const page = await open(browser, fileAddress(file));
            await page.emulateCPUThrottling(slower);
            await openSample(page, name);
            const {answered, shown} = await typing(page);
            console.log(`${slower} x, ${name}: a key is seen after ${told(answered)}; its findings after ${told(shown)}`);
            const gaps = await dragging(page);
            console.log(`${slower} x, ${name}: while dragged, checked and drawn anew every ${told(gaps)} (${gaps.length})`);
            await page.evaluate(() => { localStorage.clear(); sessionStorage.clear(); });
            await page.close();
        }
    }
    await browser.close();
}

run(main);
