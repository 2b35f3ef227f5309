/* use.js BROWSER PAGE PROGRAM ANSWERS: everything that people do with the page, done as they do it, by
 * mouse, by finger and by keyboard.  ANSWERS is the folder of tests/ask. */
const {spawnSync} = require('child_process');
const fs = require('fs');
const os = require('os');
const path = require('path');
const {launch, open, fileAddress, rest, until, named, mouse, finger, keyboard, settled, drop,
       sample, openSample, go, toEnd, textOf, runSteps, expect, run} = require('./drive');

const DEEP = 'approach-a-digit-too-deep';

/** What is typed at the prompt of the program, line by line. */
function linesOf(folder, kind) {
    return fs.readFileSync(path.join(folder, kind + '.answers'), 'utf8').split('\n').slice(0, -1)
        .map((line) => line.split('  #')[0].trim());
}

/** The file that the program writes from the same answers. */
function commissioned(program, folder, kind) {
    const place = fs.mkdtempSync(path.join(os.tmpdir(), 'proveout-'));
    spawnSync(program, ['commission', 'machine.yaml'],
              {cwd: place, input: linesOf(folder, kind).join('\n') + '\n'});
    const text = fs.readFileSync(path.join(place, 'machine.yaml'), 'utf8');
    fs.rmSync(place, {recursive: true});
    return text;
}

async function type(page, field, text) {
    await field.focus();
    await field.type(text);
}

/** Which of some choices a line means: by number, or by its beginning. */
function chosen(words, part) {
    return /^\d+$/.test(part) ? Number(part) - 1 : words.findIndex((word) => word.startsWith(part.replaceAll(' ', '_')) ||
        word.startsWith(part));
}

/** Gives the answer to what is asked, in the fields and boxes that are there. */
async function answer(page, line, press) {
    const form = await page.waitForSelector('form.question, .review');
    const before = await page.evaluate(() => document.querySelector('.questions')?.dataset.turn);
    let buttons;
    if (await form.evaluate((one) => one.classList.contains('review'))) {
        await press(page, await named(page, line === 'no' ? 'Leave them' : 'Write these answers', '.review'));
    } else if (line === '') {
        await press(page, await named(page, 'Take what is offered', 'form.question'));
    } else if (line === 'skip') {
        await press(page, await named(page, 'I don’t know', 'form.question'));
    } else {
        const boxes = await form.$$('input[type=checkbox]');
        const groups = await form.$$('[role=radiogroup]');
        buttons = await form.$$('button[data-word]');
        const texts = await form.$$('.entry > input[type=text]');
        if (boxes.length) {
            const words = await Promise.all(boxes.map((box) => box.evaluate((one) => one.value)));
            for (const part of line === 'all' ? words.map((_, i) => String(i + 1)) : line.split(',').map((one) => one.trim()))
                await pick(await form.$$('input[type=checkbox]'), words, part);
        } else if (buttons.length) {
            const words = await Promise.all(buttons.map((one) => one.evaluate((button) => button.dataset.word)));
            for (const part of line.split(',').map((one) => one.trim())) await pick(buttons, words, part);
        } else if (groups.length + texts.length > 1) {
            const entries = await form.$$('.entry');
            for (const [i, part] of line.split(',').map((one) => one.trim()).entries()) await fill(entries[i], part, page);
        } else {
            const [radio] = await form.$$('input[type=radio][value=yes]');
            // where the prompt takes the next thing itself, a person says first that there is one
            if (radio && !/^(y|yes|n|no|\d)$/.test(line)) {
                await answer(page, 'yes', press);
                return answer(page, line, press);
            }
            await fill(await form.$('.entry'), line, page);
        }
        const take = await named(page, 'Take it', 'form.question');
        if (press === keyboard && !buttons?.length) await page.keyboard.press('Enter');
        else await press(page, take);
    }
    await until(page, (turn) => document.querySelector('.questions')?.dataset.turn !== turn, before);
}

async function fill(entry, part, page) {
    const radios = await entry.$$('input[type=radio]');
    if (!radios.length) return type(page, await entry.$('input[type=text]'), part);
    const words = await Promise.all(radios.map((radio) => radio.evaluate((one) => one.value)));
    await pick(radios, words, part);
}

async function pick(boxes, words, part) {
    const box = boxes[chosen(words, part)];
    if (!box) throw new Error(`${part} is none of ${words}`);
    await box.click();
}

/** A whole machine by the questions; how long it took from an empty page to a file that is checked. */
async function describe(page, lines, press) {
    const started = Date.now();
    await press(page, await named(page, 'Describe a machine', '.door'));
    for (const line of lines) await answer(page, line, press);
    await until(page, () => document.querySelector('.questions')?.textContent.includes('The answers are in the file'));
    const found = await settled(page);
    await go(page, 'file');
    return {found, text: await textOf(page), took: Date.now() - started};
}

const keptOf = (page) => page.$eval('header .kept', (one) => one.dataset.kept);
const windowOf = (page, field) => page.$(`.slider[data-field="${field}"]`);

async function main([kind, file, program, folder]) {
    const browser = await launch(kind);
    const address = fileAddress(file);
    const complaints = [];
    /** Each in a tab of its own. */
    const on = (options, step) => async () => {
        const page = await open(browser, address, options);
        await page.evaluate(() => { localStorage.clear(); sessionStorage.clear(); });
        try {
            return await step(page);
        } finally {
            complaints.push(...page.complaints);
            await page.evaluate(() => { localStorage.clear(); sessionStorage.clear(); });
            await page.close();
        }
    };
    const touch = {width: 820, height: 1180, touch: true};
    const list = {};

    list['three doors'] = on({}, async (page) => {
        await named(page, 'Describe a machine', '.door');
        await named(page, 'Open a file', '.door');
        const started = Date.now();
        await mouse(page, await named(page, 'Look at a sample', '.door'));
        const found = await settled(page);
        await page.waitForSelector('.unseen[role=status]');
        expect(found.state === 'clean' && found.text === 'Nothing found', `a good sample: ${found.text}`);
        return `a sample is checked after ${Date.now() - started} ms`;
    });
    list['licences'] = on({}, async (page) => {
        await mouse(page, await named(page, 'Licences', 'footer'));
        await until(page, () => ['proveout', 'libyaml', 'pcre2', 'lp-solve', 'preact', '@codemirror/view', 'LGPL'].every((name) =>
            document.querySelector('footer pre').textContent.includes(name)));
    });
    list['open, by field'] = on({}, async (page) => {
        await page.evaluate(() => {
            window.showOpenFilePicker = undefined;
            HTMLInputElement.prototype.click = () => undefined; // no picker of the system's, which nobody answers
        });
        await mouse(page, await named(page, 'Open a file', '.door'));
        const field = await page.waitForSelector('input[type=file]', {hidden: true});
        await field.uploadFile(...[path.join(__dirname, '..', '..', 'sample-configs', DEEP + '.yaml')]);
        const found = await settled(page);
        expect(found.text === '1 error' && await keptOf(page) === 'file', `${found.text}, ${await keptOf(page)}`);
    });
    list['open, by pasting'] = on({}, async (page) => {
        await mouse(page, await named(page, 'Paste a machine file'));
        await page.$eval('.door textarea', (one, text) => {
            one.value = text;
            one.dispatchEvent(new Event('input', {bubbles: true}));
        }, sample(DEEP).bytes.toString());
        await mouse(page, await named(page, 'Check what is pasted'));
        expect((await settled(page)).text === '1 error', 'pasted text is checked');
    });

    const all = kind === 'chrome' || process.env.SHARE === 'all';
    const described = [['setter', mouse, {}], ['plate', finger, touch], ['not-homing', keyboard, {}]];
    for (const [machine, press, options] of described.slice(0, all ? 3 : 1)) {
        list[`questions: ${machine}`] = on(options, async (page) => {
            const {text, found, took} = await describe(page, linesOf(folder, machine), press);
            const expected = commissioned(program, folder, machine);
            expect(text === expected, `another file than commission writes: ${JSON.stringify(text).slice(0, 200)}`);
            return `${found.text}, ${Math.round(took / 100) / 10} s from nothing to the file`;
        });
    }
    list['questions: marked in the drawing, way back, resumed'] = on({}, async (page) => {
        const lines = linesOf(folder, 'setter');
        await mouse(page, await named(page, 'Describe a machine', '.door'));
        const marked = [];
        for (const line of lines.slice(0, 14)) {
            await rest(150);
            if (await page.$('.drawing g.pointed')) marked.push(await page.$eval('form.question h2', (one) => one.textContent));
            await answer(page, line, mouse);
        }
        expect(marked.length >= 4, `dimensions marked: ${marked}`);
        const asked = await page.$eval('form.question h2', (one) => one.textContent);
        await page.goBack();
        await until(page, (was) => document.querySelector('form.question h2')?.textContent !== was, asked);
        await answer(page, '760, 40', mouse);
        await until(page, (was) => document.querySelector('form.question h2')?.textContent === was, asked);
        await rest(500);
        await page.reload();
        await until(page, (was) => document.querySelector('form.question h2')?.textContent === was, asked);
        for (const line of lines.slice(14)) await answer(page, line, mouse);
        await go(page, 'file');
        expect(await textOf(page) === commissioned(program, folder, 'setter'), 'resumed, and another file');
        return `${marked.length} of 14 marked`;
    });
    list['questions: readings, window, "later"'] = on({}, async (page) => {
        await mouse(page, await named(page, 'Describe a machine', '.door'));
        for (const line of linesOf(folder, 'setter').slice(0, 9)) await answer(page, line, mouse);
        await mouse(page, await named(page, 'Readings, one by one'));
        const boxes = await page.$$('.readings input');
        for (const [i, reading] of ['-170.02', '-170.00', '-170.01'].entries()) await type(page, boxes[i], reading);
        await mouse(page, await named(page, 'Take it', 'form.question'));
        await until(page, () => /-170\.0[0-9]* mm/.test(document.querySelector('.said')?.textContent ?? ''));
        await mouse(page, await named(page, 'Later', 'form.question'));
        await until(page, () => document.querySelector('.questions')?.textContent.includes('Left off'));
        await until(page, () => document.querySelector('header .kept').dataset.kept === 'draft');
        await mouse(page, await named(page, 'Go on with the questions'));
        await page.waitForSelector('form.question');
    });

    list['questions: answers are not lost where the text is changed'] = on({}, async (page) => {
        await openSample(page, 'workshop-router');
        await go(page, 'questions');
        await answer(page, '', mouse);
        for (let i = 0; i < 40 && !(await page.$eval('form.question', (one) => one.textContent.includes('acceleration') ||
            one.textContent.includes('accelerate'))); i++) await answer(page, '', mouse);
        await answer(page, '500, 500, 300', mouse);
        await go(page, 'file');
        await page.waitForSelector('.cm-line'); // the tab is there before its lines are
        await page.click('.cm-line');
        await page.keyboard.type('# x ');
        await go(page, 'questions');
        await named(page, 'Leave the answers');
        await mouse(page, await named(page, 'Put the answers in'));
        await go(page, 'file');
        await until(page, () => document.querySelector('pre.print')?.textContent.includes('300 mm/s^2'));
        await mouse(page, await named(page, 'Undo', 'header'));
        await until(page, () => document.querySelector('pre.print')?.textContent.includes('# x '));
    });
    list['text: 200 keys, none lost, undone'] = on({}, async (page) => {
        await openSample(page, DEEP);
        const before = await textOf(page);
        await toEnd(page);
        const typed = '# ' + 'abcdefghij klmnopqrs'.repeat(10);
        await page.keyboard.type(typed.slice(0, 200));
        try {
            await until(page, (want) => document.querySelector('pre.print').textContent === want, before + typed.slice(0, 200));
        } catch {
            throw new Error(`lost: ${(await textOf(page)).slice(before.length - 20)}`);
        }
        expect((await settled(page)).text === '1 error', 'a remark changes nothing');
        while (!(await page.$eval('header .bar button', (one) => one.disabled))) await (await named(page, 'Undo', 'header')).click();
        expect(await textOf(page) === before, 'undone to the first byte');
    });
    list['text: completion, hover, find'] = on({}, async (page) => {
        await openSample(page, 'workshop-router');
        await toEnd(page);
        await page.keyboard.type('spin');
        await page.waitForSelector('.cm-tooltip-autocomplete');
        const offered = await page.$eval('.cm-tooltip-autocomplete', (one) => one.textContent);
        expect(offered.includes('spindle'), `offered: ${offered}`);
        await page.keyboard.press('Escape');
        for (let i = 0; i < 4; i++) await page.keyboard.press('Backspace');
        await settled(page);
        await page.keyboard.down('Control');
        await page.keyboard.press('f');
        await page.keyboard.up('Control');
        await page.waitForSelector('.cm-search input');
        await page.keyboard.type('probe_stroke');
        await page.keyboard.press('Enter');
        await page.keyboard.press('Escape');
        const line = await page.evaluateHandle(() => [...document.querySelectorAll('.cm-line')].find((one) =>
            one.textContent.includes('probe_stroke:')));
        await line.evaluate((one) => one.scrollIntoView({block: 'center'}));
        await rest(300);
        const box = await line.asElement().boundingBox();
        await page.mouse.move(box.x + 60, box.y + 8);
        await rest(100);
        await page.mouse.move(box.x + 64, box.y + 9);
        await page.waitForSelector('.cm-tooltip .hint');
        const hint = await page.$eval('.cm-tooltip .hint', (one) => one.textContent);
        expect(/change\.probe_stroke/.test(hint) && /all rules hold/.test(hint) && /margin/.test(hint), `hint: ${hint}`);
    });
    for (const [name, press, options] of [['mouse', mouse, {}], ['finger', finger, touch], ['keyboard', keyboard, {}]]) {
        list[`put right, by ${name}`] = on(options, async (page) => {
            await openSample(page, DEEP);
            const before = await textOf(page);
            await until(page, () => document.querySelector('.unseen[role=status]').textContent === '1 error');
            await until(page, () => [...document.querySelectorAll('.finding button')].some((one) =>
                one.textContent.startsWith('put right') && !one.disabled));
            await press(page, await named(page, 'put right', '.finding'));
            await until(page, () => document.querySelector('.findings .summary')?.dataset.state === 'clean');
            await until(page, () => document.querySelector('.unseen[role=status]').textContent === 'Nothing found, 1 fewer');
            const after = await textOf(page);
            expect(after.replace('-101.7 mm', '-195 mm') === before, 'one number, and comments untouched');
            await press(page, await named(page, 'Undo', 'header'));
            await until(page, () => document.querySelector('.findings .summary')?.textContent === '1 error');
            expect(await textOf(page) === before, 'one undo away');
            await press(page, await named(page, 'line 152', '.finding'));
            await until(page, () => document.querySelector('.cm-activeLine')?.textContent.includes('approach_z'));
        });
        list[`drawing, by ${name}`] = on(options, async (page) => {
            await openSample(page, 'workshop-router');
            await page.waitForSelector('.paper g[data-field="setter.at.x"]');
            if (press === keyboard) {
                await keyboard(page, await named(page, 'What is drawn, in words'));
                const item = await named(page, 'setter:', '.items');
                await item.focus();
                await page.waitForSelector('.paper g.pointed[data-field="setter.at.x"]');
                await page.keyboard.press('Enter');
            } else {
                const thing = await page.$('.paper g[data-field="setter.at.x"] text');
                await press(page, thing);
                await page.waitForSelector('.paper g.pointed[data-field="setter.at.x"]');
                await press(page, await named(page, 'What is drawn, in words'));
                await press(page, await named(page, 'setter:', '.items'));
            }
            await until(page, () => document.querySelector('.cm-activeLine')?.textContent.includes('at:'));
            await page.select('.drawing select', '3');
            await until(page, () => [...document.querySelectorAll('.paper text')].some((one) => one.textContent.includes('cutter 3 comes in')));
            return 'thing to line, chosen cutter drawn';
        });
        list[`change, by ${name}`] = on(options, async (page) => {
            await openSample(page, DEEP);
            await go(page, 'change', press);
            await page.waitForSelector('.moves [aria-current]');
            const told = await page.$eval('.state', (one) => one.textContent);
            expect(/Spindle.*Kept from starting.*Hands/.test(told), `always in words: ${told}`);
            await press(page, await named(page, 'Next step', '.player'));
            await page.waitForSelector('.moves li:nth-child(2) [aria-current]');
            await press(page, await named(page, 'Step back', '.player'));
            await page.waitForSelector('.moves li:nth-child(1) [aria-current]');
            await page.select('.player select', '4');
            await press(page, await named(page, 'Last step', '.player'));
            await press(page, await named(page, 'First step', '.player'));
            if (press === keyboard) {
                await page.focus('.moves button');
                for (let i = 0; i < 5; i++) await page.keyboard.press('ArrowDown');
                await page.waitForSelector('.moves li:nth-child(6) [aria-current]');
            }
            const failing = await page.$$eval('.moves li', (all) => all.findIndex((one) => one.querySelector('.failing')));
            expect(failing > 5, 'a step runs into the setter');
            await press(page, (await page.$$('.moves button'))[failing - 1]);
            await press(page, await named(page, 'Play', '.player'));
            await page.waitForSelector('.now.failing');
            await rest(1200);
            await page.waitForSelector(`.moves li:nth-child(${failing + 1}) [aria-current]`);
            await named(page, 'Play', '.player');
            expect(await page.$('.paper g[data-step]'), 'the spindle is drawn after the step');
            return 'stops where it runs into the setter';
        });
        list[`numbers, by ${name}`] = on(options, async (page) => {
            await openSample(page, 'workshop-router');
            await go(page, 'numbers', press);
            const field = 'change.standoff';
            await page.waitForSelector(`.slider[data-field="${field}"]`);
            const before = await page.evaluate(() => document.querySelector('header .kept').dataset.kept);
            expect(before === 'file', 'opened as a file');
            const slider = await (await windowOf(page, field)).$('input[type=range]');
            await slider.evaluate((one) => one.scrollIntoView({block: 'center'}));
            const was = await slider.evaluate((one) => one.value);
            if (press === keyboard) {
                await slider.focus();
                await page.keyboard.press('ArrowRight');
            } else {
                const box = await slider.boundingBox();
                const at = await slider.evaluate((one) => (one.value - one.min) / (one.max - one.min));
                const from = {x: box.x + 8 + (box.width - 16) * at, y: box.y + box.height / 2};
                if (press === finger) {
                    await page.touchscreen.touchStart(from.x, from.y);
                    for (let i = 1; i <= 10; i++) await page.touchscreen.touchMove(from.x + 4 * i, from.y);
                    await page.touchscreen.touchEnd();
                } else {
                    await page.mouse.move(from.x, from.y);
                    await page.mouse.down();
                    await page.mouse.move(from.x + 40, from.y, {steps: 10});
                    await until(page, () => document.querySelector('.margins'));
                    await page.mouse.up();
                }
            }
            await until(page, (one, old) => document.querySelector(`.slider[data-field="${one}"] input[type=range]`).value !== old &&
                !document.querySelector('header .bar button').disabled, field, was);
            await settled(page);
            await press(page, await named(page, 'More of change.probe_feed', '.slider'));
            await rest(300);
            await press(page, await named(page, 'Undo', 'header'));
            await rest(300);
            await press(page, await named(page, 'Undo', 'header'));
            await until(page, () => document.querySelector('header .kept').dataset.kept === 'file');
            return 'one undo for each';
        });
    }
    list['numbers: typed, refused, escaped, found together'] = on({}, async (page) => {
        await openSample(page, DEEP);
        await go(page, 'numbers');
        const entry = await page.waitForSelector('.slider[data-field="change.approach_z"] input[type=text]');
        await entry.evaluate((one) => one.select());
        await entry.type('-1 kg');
        await page.keyboard.press('Enter');
        await page.waitForSelector('.slider[data-field="change.approach_z"] .failed');
        expect((await settled(page)).text === '1 error', 'a mass is no height');
        await page.keyboard.press('Escape');
        const slider = await page.$('.slider[data-field="change.approach_z"] input[type=range]');
        await slider.evaluate((one) => one.scrollIntoView({block: 'center'}));
        const box = await slider.boundingBox();
        await page.mouse.move(box.x + 40, box.y + 20);
        await page.mouse.down();
        await page.mouse.move(box.x + 200, box.y + 20, {steps: 5});
        await rest(200);
        await page.keyboard.press('Escape');
        await page.mouse.move(box.x + 230, box.y + 20, {steps: 3});
        await page.mouse.up();
        await rest(300);
        expect(await keptOf(page) === 'file', `Escape puts the number back: ${await keptOf(page)}`);
        await mouse(page, await named(page, 'Find numbers that do together'));
        await mouse(page, await named(page, 'Take these numbers'));
        await until(page, () => document.querySelector('.findings .summary')?.dataset.state === 'clean');
    });
    list['numbers: quick steps, and 64ths of an inch'] = on({}, async (page) => {
        await openSample(page, 'workshop-router');
        await go(page, 'numbers');
        const slider = await page.waitForSelector('.slider[data-field="spindle.dwell_after_stop"] input[type=range]');
        const [before, step] = await slider.evaluate((one) => [one.valueAsNumber, Number(one.step)]);
        await slider.focus();
        for (let i = 0; i < 10; i++) await page.keyboard.press('ArrowRight');
        await rest(2000);
        await go(page, 'file');
        const [, written] = /dwell_after_stop: ([0-9.]+) s/.exec(await textOf(page));
        expect(Math.abs(Number(written) - (before + 10 * step)) < 1e-9, `${before} and 10 steps: ${written}`);
        await openSample(page, 'inch-router-with-plate');
        await go(page, 'numbers');
        await page.waitForSelector('.slider');
        const row = await page.evaluateHandle(() => [...document.querySelectorAll('.slider')].find((one) =>
            / in$/.test(one.querySelector('input[type=text]').value) && Math.abs(one.querySelector('input[type=range]').step - 1 / 64) < 1e-9));
        const field = await row.evaluate((one) => one.dataset.field);
        const inches = await row.evaluate((one) => one.querySelector('input[type=range]').valueAsNumber);
        await (await named(page, `More of ${field}`, '.slider')).click();
        await until(page, () => !document.querySelector('header .bar button').disabled);
        await go(page, 'file');
        const key = field.split('.').pop();
        const found = new RegExp(`${key}: ([-0-9.]+) in`).exec(await textOf(page));
        expect(found && Math.abs((Number(found[1]) - inches) * 64 - 1) < 1e-3, `${field}: ${inches} in, then ${found?.[1]}`);
    });
    list['sheet'] = on({}, async (page) => {
        await openSample(page, 'workshop-router');
        await go(page, 'sheet');
        const frame = await (await page.waitForSelector('.sheet iframe')).contentFrame();
        await frame.waitForSelector('h1');
        expect((await frame.$eval('h1', (one) => one.textContent)).includes('workshop router'), 'its sheet');
        await frame.evaluate(() => { window.print = () => { document.body.dataset.printed = 'yes'; }; });
        await mouse(page, await named(page, 'Print', '.sheet'));
        await frame.waitForSelector('[data-printed]');
        await page.select('.sheet select', '3');
        await until(page, () => document.querySelector('.sheet iframe'));
    });
    list['several machines, a shared list, what has changed'] = on({}, async (page) => {
        const place = path.join(__dirname, '..', '..', 'sample-configs', 'two-mills');
        const files = fs.readdirSync(place, {recursive: true}).filter((one) => /\.ya?ml$/.test(one))
            .map((name) => ({name: 'shop/' + name, bytes: fs.readFileSync(path.join(place, name))}));
        const many = Array.from({length: 40}, (_, i) => ({name: `else-${i}.yaml`, bytes: Buffer.from('proveout: 1\n')}));
        await drop(page, [...files, sample(DEEP), ...many]);
        await page.waitForSelector('.overview table');
        await until(page, () => ![...document.querySelectorAll('.overview td')].some((one) => one.textContent.startsWith('Checking')));
        const rows = await page.$$eval('.overview tbody tr', (all) => all.map((one) => one.textContent));
        expect(rows.some((row) => row.includes(DEEP) && row.includes('1 error')), `which fail: ${rows}`);
        for (const row of rows)
            expect(/cutters\.yaml|frame\.yaml/.test(row) <= row.includes('others take it in'), `taken in: ${row}`);
        expect(!rows.some((row) => /Not checked|breaks off/.test(row)), `all read: ${rows}`);
        await mouse(page, await named(page, 'Show ' + DEEP, '.overview'));
        await until(page, () => [...document.querySelectorAll('.finding button')].some((one) =>
            one.textContent.startsWith('put right') && !one.disabled));
        await mouse(page, await named(page, 'put right', '.finding'));
        await mouse(page, await named(page, 'What has changed', '.file details'));
        await until(page, () => /gone|better/.test(document.querySelector('pre.told')?.textContent ?? ''));
        return `${rows.length} machines`;
    });
    list['saved where it came from'] = on({}, async (page) => {
        await openSample(page, DEEP);
        await page.evaluate(() => {
            window.written = null;
            const handle = {name: 'saved.yaml', getFile: async () => new Blob([window.written]),
                createWritable: async () => ({write: async (bytes) => { window.written = bytes.slice(); }, close: async () => {}})};
            window.showSaveFilePicker = async () => handle;
        });
        await until(page, () => [...document.querySelectorAll('.finding button')].some((one) =>
            one.textContent.startsWith('put right') && !one.disabled));
        await mouse(page, await named(page, 'put right', '.finding'));
        expect(await keptOf(page) !== 'file', 'not in the file yet');
        await page.keyboard.down('Control');
        await page.keyboard.press('s');
        await page.keyboard.up('Control');
        await until(page, () => document.querySelector('header .kept').dataset.kept === 'file');
        const text = await page.evaluate(() => new TextDecoder().decode(window.written));
        expect(text === await textOf(page), 'all of it was written');
    });

    return runSteps(kind, browser, list, complaints);
}

run(main);
