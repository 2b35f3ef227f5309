/* screens.js BROWSER PAGE FOLDER: every screen, on a telephone, a tablet and a desk, light and dark:
 * looked at by axe-core, nothing wider than the screen, nothing too small for a finger.  In FOLDER there
 * are pictures of them afterwards. */
const fs = require('fs');
const path = require('path');
const {launch, open, fileAddress, rest, until, named, mouse, drop, sample, openSample, go, expect,
       run} = require('./drive');

const WIDTHS = [[390, 780], [820, 1180], [1440, 900], [720, 450]]; // the last: a desk at 200 %
const axe = fs.readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');

/** Each screen: its name, and how one comes to it from an empty page. */
const screens = {
    start: async () => undefined,
    'question': async (page) => {
        await mouse(page, await named(page, 'Describe a machine', '.door'));
        await page.waitForSelector('form.question');
        await mouse(page, await named(page, 'Take what is offered', 'form.question'));
        await until(page, () => document.querySelector('form.question .entry + .entry, form.question div + div .entry'));
    },
    'review': async (page) => {
        await openSample(page, 'approach-a-digit-too-deep');
        await go(page, 'questions');
        while (!await page.$('.review')) {
            const before = await page.$eval('.questions', (one) => one.dataset.turn);
            await (await named(page, 'On to what is open', 'form.question')).evaluate((one) => one.click());
            await until(page, (turn) => document.querySelector('.questions')?.dataset.turn !== turn, before);
        }
    },
    'file': async (page) => openSample(page, 'approach-a-digit-too-deep'),
    'file, plain': async (page) => {
        await openSample(page, 'approach-a-digit-too-deep');
        await mouse(page, await named(page, 'Plain field', '.file'));
    },
    'numbers': async (page) => {
        await openSample(page, 'approach-a-digit-too-deep');
        await go(page, 'numbers');
        await page.waitForSelector('.slider');
        await page.focus('.slider[data-field="change.approach_z"] input[type=range]');
        await page.waitForSelector('.margins');
    },
    'change': async (page) => {
        await openSample(page, 'approach-a-digit-too-deep');
        await go(page, 'change');
        await page.waitForSelector('.moves [aria-current]');
        await mouse(page, (await page.$$('.moves button'))[12]);
    },
    'sheet': async (page) => {
        await openSample(page, 'workshop-router');
        await go(page, 'sheet');
        await page.waitForSelector('.sheet iframe');
    },
    'machines': async (page) => {
        await drop(page, [sample('approach-a-digit-too-deep'), sample('workshop-router')]);
        await page.waitForSelector('.overview table');
    },
};

async function inColours(page, scheme) {
    const session = await page.createCDPSession();
    await session.send('Emulation.setEmulatedMedia', {features: [
        {name: 'prefers-color-scheme', value: scheme === 'dark' ? 'dark' : 'light'},
        {name: 'prefers-reduced-motion', value: 'reduce'},
        {name: 'forced-colors', value: scheme === 'forced' ? 'active' : 'none'}]});
}

async function lookAt(page) {
    await page.evaluate(axe);
    const found = await page.evaluate(async () => (await window.axe.run(document, {
        iframes: false, runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'],
    })).violations.map(({id, nodes}) => `${id}: ${nodes.slice(0, 2).map(({html}) => html.slice(0, 120)).join(' | ')}`));
    const wide = await page.evaluate(() => {
        const root = document.documentElement;
        return root.scrollWidth > root.clientWidth ? [`wider than the screen by ${root.scrollWidth - root.clientWidth} px`] : [];
    });
    const small = await page.evaluate(() => [...document.querySelectorAll('button, select, summary, input[type=text], input[type=range], a.button')]
        .filter((one) => one.checkVisibility() && !one.closest('.cm-editor'))
        .filter((one) => { const box = one.getBoundingClientRect(); return box.height < 43.5 || box.width < 24; })
        .map((one) => `too small for a finger: ${one.outerHTML.slice(0, 80)}`));
    return [...found, ...wide, ...small];
}

async function main([kind, file, folder]) {
    const browser = await launch(kind);
    fs.mkdirSync(folder, {recursive: true});
    let wrong = 0, looked = 0;
    for (const [name, come] of Object.entries(screens)) {
        if (process.env.STEP && !name.includes(process.env.STEP)) continue;
        for (const [width, height] of WIDTHS) {
            const page = await open(browser, fileAddress(file), {width, height});
            await page.evaluate(() => { localStorage.clear(); sessionStorage.clear(); });
            await come(page);
            await rest(500);
            const schemes = width === 720 ? ['forced'] : ['light', 'dark'];
            for (const scheme of kind === 'chrome' ? schemes : ['as it is']) {
                if (kind === 'chrome') await inColours(page, scheme);
                const complaints = await lookAt(page);
                for (const complaint of complaints) console.log(`${kind}: ${name}, ${width}, ${scheme}: ${complaint}`);
                wrong += complaints.length;
                looked++;
                await page.screenshot({path: path.join(folder, `${name}-${width}-${scheme}.png`)});
                await page.screenshot({path: path.join(folder, `${name}-${width}-${scheme}-all.png`), fullPage: true});
            }
            for (const complaint of page.complaints) console.log(`${kind}: ${name}: ${complaint}`);
            wrong += page.complaints.length;
            await page.evaluate(() => { localStorage.clear(); sessionStorage.clear(); });
            await page.close();
        }
    }
    console.log(`${kind}: ${looked} screens looked at, ${wrong} complaints`);
    await browser.close();
    expect(looked > 0, 'nothing was looked at');
    return wrong;
}

run(main);
