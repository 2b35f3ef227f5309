/* troubles.js BROWSER PAGE: what goes wrong around the page.  Nothing of it may look like "nothing
 * found", lose a text, or get out of the file that it stands in. */
const {launch, open, fileAddress, rest, until, named, mouse, settled, drop, sample, openSample, go,
       toEnd, textOf, runSteps, expect, run} = require('./drive');

const GOOD = 'workshop-router', DEEP = 'approach-a-digit-too-deep';

/** Stands between page and worker, and spoils answers as `window.spoil` says. */
function between() {
    const Real = window.Worker;
    const first = {};
    window.spoil = '';
    window.Worker = class {
        constructor(address) {
            this.real = new Real(address);
            this.real.onmessage = ({data}) => this.pass(data);
        }
        postMessage(message) { this.real.postMessage(message); }
        terminate() { this.real.terminate(); }
        pass(data) {
            let given = data;
            if (data.answers && window.spoil !== '') {
                const last = (bytes) => bytes && bytes.slice(0, bytes.length - 7);
                given = {
                    memory: () => ({...data, answers: data.answers.map(() => null)}),
                    one: () => ({...data, answers: [null, ...data.answers.slice(1)]}),
                    cut: () => ({...data, answers: data.answers.map(last)}),
                    number: () => ({...data, number: data.number + 1}),
                    earlier: () => ({...data, answers: first.answers}),
                    fewer: () => ({...data, answers: data.answers.slice(1)}),
                    trap: () => ({number: data.number, trap: 'RuntimeError: unreachable'}),
                    silence: () => null,
                }[window.spoil]();
            }
            if (data.answers) first.answers ??= data.answers.map((bytes) => bytes && bytes.slice());
            if (given) this.onmessage?.({data: given});
        }
    };
}

const stateOf = (page) => page.$eval('.findings .summary', (one) => one.dataset.state);
const typeAtEnd = async (page, text) => {
    await toEnd(page);
    await page.keyboard.type(text);
};

async function main([kind, file]) {
    const browser = await launch(kind);
    const address = fileAddress(file);
    const complaints = [];
    const clear = (page) => page.evaluate(() => { localStorage.clear(); sessionStorage.clear(); });
    const on = (options, step) => async () => {
        const page = await open(browser, address, options);
        await clear(page);
        try {
            return await step(page);
        } finally {
            complaints.push(...page.complaints);
            await page.evaluate(() => { window.spoil = ''; });
            await clear(page);
            await page.close();
        }
    };
    const list = {};

    for (const spoil of ['memory', 'one', 'cut', 'number', 'earlier', 'fewer', 'trap', 'silence']) {
        list[`no answer: ${spoil}`] = on({before: between}, async (page) => {
            expect((await openSample(page, GOOD)).state === 'clean', 'a good sample');
            await page.evaluate((how) => { window.spoil = how; }, spoil);
            const seen = page.evaluate(() => new Promise((done) => {
                const states = new Set();
                const watch = setInterval(() => states.add(document.querySelector('.findings .summary').dataset.state), 5);
                const end = setInterval(() => {
                    if (!document.querySelector('.findings .failed[role=alert]') ||
                        !document.querySelector('pre.print').textContent.endsWith('nonsense: 1')) return;
                    clearInterval(watch);
                    clearInterval(end);
                    done([...states]);
                }, 50);
            }));
            await typeAtEnd(page, '\nnonsense: 1');
            const states = await Promise.race([seen, rest(60000).then(() => ['nothing was said'])]);
            // once it is another text, nothing is called clean any more
            expect(await stateOf(page) === 'none' && states.every((one) => ['clean', 'wait', 'none'].includes(one)), `${states}`);
            expect((await page.$eval('.findings .summary', (one) => one.textContent)).startsWith('Not checked'), 'said');
            expect((await textOf(page)).endsWith('nonsense: 1'), 'the text is there');
            await page.evaluate(() => { window.spoil = ''; });
            // a check that was on its way may have answered already
            await page.evaluate(() => document.querySelector('.findings .failed[role=alert] button')?.click());
            await until(page, () => document.querySelector('.findings .summary').dataset.state === 'found');
            await typeAtEnd(page, '2');
            await until(page, () => document.querySelector('.findings .summary').dataset.state === 'found');
        });
    }
    list['clean is said of no other text'] = on({before: between}, async (page) => {
        await openSample(page, GOOD);
        const wrong = page.evaluate(() => new Promise((done) => {
            let count = 0;
            const watch = setInterval(() => {
                const bad = document.querySelector('pre.print').textContent.includes('nonsense: 1');
                if (bad && document.querySelector('.findings .summary').dataset.state === 'clean') count++;
            }, 2);
            setTimeout(() => { clearInterval(watch); done(count); }, 4000);
        }));
        for (let i = 0; i < 4; i++) {
            await typeAtEnd(page, '\nnonsense: 1');
            for (let k = 0; k < 12; k++) await page.keyboard.press('Backspace');
        }
        expect(await wrong === 0, `${await wrong} times`);
    });
    list['questions go on after the checker broke down'] = on({before: between}, async (page) => {
        await mouse(page, await named(page, 'Describe a machine', '.door'));
        const take = async () => {
            const before = await page.$eval('.questions', (one) => one.dataset.turn);
            await mouse(page, await named(page, 'Take what is offered', 'form.question'));
            await until(page, (turn) => document.querySelector('.questions')?.dataset.turn !== turn, before);
        };
        await page.waitForSelector('form.question');
        await take();
        const asked = await page.$eval('form.question h2', (one) => one.textContent);
        await page.evaluate(() => { window.spoil = 'trap'; });
        await mouse(page, await named(page, 'I don’t know', 'form.question'));
        await page.waitForSelector('.questions .failed[role=alert]');
        await page.evaluate(() => { window.spoil = ''; });
        await mouse(page, await named(page, 'I don’t know', 'form.question'));
        await until(page, (was) => document.querySelector('form.question h2')?.textContent !== was, asked);
        await rest(400);
        await page.reload();
        await page.waitForSelector('form.question');
        expect(await page.$eval('form.question h2', (one) => one.textContent) !== asked, 'answers are kept');
    });
    list['a closed tab loses nothing'] = on({}, async (page) => {
        await openSample(page, GOOD);
        await typeAtEnd(page, '\n# only typed');
        const text = await textOf(page);
        await page.reload();
        await until(page, (want) => document.querySelector('pre.print')?.textContent === want, text);
        await until(page, () => document.querySelector('header .kept').dataset.kept === 'draft');
        const second = await open(browser, address);
        await mouse(second, await named(second, `Go on with ${GOOD}`));
        await until(second, (want) => document.querySelector('pre.print')?.textContent === want, text);
        complaints.push(...second.complaints);
        await second.close();
    });
    list['drafts are cleared, and no draft takes the place of a file'] = on({}, async (page) => {
        await openSample(page, GOOD);
        await typeAtEnd(page, '\n# draft');
        await rest(600);
        const second = await open(browser, address);
        await openSample(second, GOOD);
        expect(!(await textOf(second)).includes('# draft'), 'the file as it is');
        await mouse(second, await named(second, 'proveout', 'header'));
        await mouse(second, await named(second, `Clear the draft of ${GOOD}`));
        await second.close();
    });
    list['files that nobody edited take no draft away'] = on({}, async (page) => {
        await openSample(page, GOOD);
        await typeAtEnd(page, '\n# only here');
        await drop(page, Array.from({length: 7}, (_, i) => ({name: `else-${i}.yaml`, bytes: Buffer.from('proveout: 1\n')})));
        await rest(700);
        await page.reload();
        await page.waitForSelector('.bench');
        await mouse(page, await named(page, 'Machines (8)'));
        await mouse(page, await named(page, `Show ${GOOD}`, '.overview'));
        await until(page, () => document.querySelector('pre.print')?.textContent.endsWith('# only here'));
    });
    list['two tabs keep two drafts'] = on({}, async (page) => {
        await openSample(page, GOOD);
        await typeAtEnd(page, '\n# first');
        await rest(600);
        const second = await open(browser, address);
        await mouse(second, await named(second, `Go on with ${GOOD}`));
        await until(second, () => document.querySelector('pre.print')?.textContent.endsWith('# first'));
        await typeAtEnd(page, ' tab');
        await rest(600);
        await typeAtEnd(second, ' and second');
        await rest(600);
        const kept = await page.evaluate(() => Object.entries(localStorage).map(([, value]) => value));
        complaints.push(...second.complaints);
        await second.close();
        expect(kept.some((one) => one.includes('# first tab')) && kept.some((one) => one.includes('# first and second')),
               `${kept.length} kept`);
    });
    list['full storage is said'] = on({}, async (page) => {
        await openSample(page, GOOD);
        await page.evaluate(() => {
            for (const store of [localStorage, sessionStorage]) {
                let size = 1 << 22;
                for (let i = 0; size > 8; i++) {
                    try {
                        store.setItem(`else.${i}.${size}`, 'x'.repeat(size));
                    } catch {
                        size >>= 1;
                    }
                }
            }
        });
        await typeAtEnd(page, '\n# more and more and more and more and more');
        await until(page, () => document.querySelector('header .kept').dataset.kept === 'none');
        expect((await settled(page)).state === 'clean', 'and it goes on checking');
    });
    list['hostile names and texts'] = on({}, async (page) => {
        const evil = '"><img src=x onerror="document.body.dataset.owned=1"><script>document.body.dataset.owned=1</script>';
        const text = sample(DEEP).bytes.toString().replace('router with one approach height', `'${evil.replaceAll("'", '')}'`)
            .replace('6 mm end mill, two flutes', `'${evil}'`) + `\n${'javascript:alert(1)'}: '</script><svg onload=alert(1)>'\n`;
        await drop(page, [{name: `a${evil.replaceAll('/', '_')}.yaml`, bytes: Buffer.from(text)}]);
        await settled(page);
        for (const tab of ['questions', 'numbers', 'change', 'sheet', 'file']) {
            await go(page, tab);
            await rest(500);
        }
        const frames = page.frames();
        for (const frame of frames)
            expect(!await frame.evaluate(() => document.body.dataset.owned || document.querySelector('img')), 'text stays text');
    });
    list['a file keeps its mark and its ends of lines'] = on({}, async (page) => {
        const written = async (bytes) => {
            await drop(page, [{name: 'kept.yaml', bytes}]);
            await settled(page);
            await page.evaluate(() => {
                window.written = null;
                window.showSaveFilePicker = async () => ({name: 'kept.yaml', getFile: async () => new Blob([window.written]),
                    createWritable: async () => ({write: async (given) => { window.written = given.slice(); }, close: async () => {}})});
            });
            await mouse(page, await named(page, 'Save', 'header'));
            await until(page, () => window.written !== null);
            return Buffer.from(await page.evaluate(() => [...window.written]));
        };
        const good = sample(GOOD).bytes.toString();
        for (const text of ['\ufeff' + good, good.replaceAll('\n', '\r\n'), '\ufeff' + good.replaceAll('\n', '\r\n'),
                            good.replaceAll('\n', '\r'), good.replace('\n', '\r\n'), good + '# \u{1F600} µ\n'])
            expect((await written(Buffer.from(text))).equals(Buffer.from(text)), JSON.stringify(text.slice(0, 60)));
        await drop(page, [{name: 'mixed.yaml', bytes: Buffer.from(good.replace('\n', '\r\n'))}]);
        await settled(page);
        await typeAtEnd(page, '#');
        expect((await textOf(page)).startsWith(good.replace('\n', '\r\n')), 'an edit touches no other line');
    });
    list['what is no text is not opened, and that is said'] = on({}, async (page) => {
        await drop(page, [{name: 'cutters.yaml', bytes: Buffer.from([0x70, 0xff, 0xfe, 0x00])}]);
        await page.waitForSelector('.notice');
        expect((await page.$eval('.notice', (one) => one.textContent)).includes('cutters.yaml'), 'by its name');
    });
    list['5 MB'] = on({}, async (page) => {
        const text = sample(GOOD).bytes.toString() + '# '.padEnd(100, 'x').concat('\n').repeat(50000);
        const started = Date.now();
        await drop(page, [{name: 'large.yaml', bytes: Buffer.from(text)}]);
        await until(page, () => document.querySelector('.findings .summary')?.dataset.state === 'clean');
        await go(page, 'numbers');
        await go(page, 'file');
        await typeAtEnd(page, 'nonsense: 1');
        await until(page, () => document.querySelector('.findings .summary')?.dataset.state === 'found');
        return `${Date.now() - started} ms`;
    });
    list['far too large, and far too deep'] = on({}, async (page) => {
        for (const [text, times] of [['a: b\n', 4 << 20], ['[', 200000]]) {
            await page.evaluate((of, count) => {
                const transfer = new DataTransfer();
                transfer.items.add(new File([of.repeat(count)], 'odd.yaml'));
                document.dispatchEvent(new DragEvent('drop', {dataTransfer: transfer}));
            }, text, times);
            await until(page, () => ['found', 'none'].includes(document.querySelector('.findings .summary')?.dataset.state));
            expect(await stateOf(page) !== 'clean', 'not clean');
            await mouse(page, await named(page, 'Close', 'header'));
        }
        expect((await openSample(page, GOOD)).state === 'clean', 'and the next is checked');
    });
    // Firefox cannot be told so while it is driven.
    if (kind === 'chrome') list['without scripts there is a notice'] = async () => {
        const page = await browser.newPage();
        await page.setJavaScriptEnabled(false);
        await page.goto(address);
        await page.setJavaScriptEnabled(true);
        const text = await page.evaluate(() => document.body.innerText);
        await page.close();
        expect(/here none have run/.test(text) && text.length < 3000, text.slice(0, 200));
    };

    return runSteps(kind, browser, list, complaints);
}

run(main);
