/* What the tests of the page share: a browser with no network that reports all it complains of, and
 * the hands of a person, who uses a mouse, a finger or the keyboard. */
const fs = require('fs');
const path = require('path');
const puppeteer = require('puppeteer-core');

const PROGRAMS = {chrome: '/usr/bin/chromium', firefox: '/usr/bin/firefox-esr'};

async function launch(kind) {
    return puppeteer.launch({
        browser: kind, executablePath: PROGRAMS[kind], headless: true, timeout: 180000, protocolTimeout: 300000,
        args: kind === 'firefox' ? [] : ['--no-sandbox', '--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE 127.0.0.1'],
        // else the files of a disk would share what is stored, which they do not
        extraPrefsFirefox: {'security.fileuri.strict_origin_policy': true,
                            'network.dns.disabled': true},
    });
}

/** A page whose complaints, and whose requests for anything but itself, are in `page.complaints`. */
async function open(browser, address, {width = 1440, height = 900, touch = false, before} = {}) {
    const page = await browser.newPage();
    page.complaints = [];
    page.on('console', (message) => {
        if (['error', 'warning', 'warn'].includes(message.type()))
            page.complaints.push(`console: ${message.text()}`);
    });
    page.on('pageerror', (error) => page.complaints.push(`error: ${error.message}`));
    page.on('request', (request) => {
        if (request.url() !== address && !/^(blob|data):/.test(request.url()))
            page.complaints.push(`request: ${request.url().slice(0, 80)}`);
    });
    await page.setViewport({width, height, hasTouch: touch});
    if (before) await page.evaluateOnNewDocument(before);
    await page.goto(address);
    await page.waitForSelector('.doors, .bench', {timeout: 60000});
    return page;
}

const fileAddress = (file) => 'file://' + path.resolve(file);
const rest = (ms) => new Promise((done) => setTimeout(done, ms));

/** Waits until `what` of the page is true; says what was waited for where it never is. */
async function until(page, what, ...given) {
    try {
        await page.waitForFunction(what, {timeout: 60000, polling: 30}, ...given);
    } catch (error) {
        throw new Error(`never so: ${String(what).slice(0, 200)} ${given}: ${error.message}`);
    }
}

/** The button or the like that is called so, at first sight of it. */
async function named(page, name, within = '') {
    await until(page, (text, inside) => [...document.querySelectorAll(`${inside} button, ${inside} a.button, ${inside} summary`)]
        .some((one) => (one.getAttribute('aria-label') ?? one.textContent).trim().startsWith(text) && one.checkVisibility()), name, within);
    return (await page.evaluateHandle((text, inside) =>
        [...document.querySelectorAll(`${inside} button, ${inside} a.button, ${inside} summary`)].find((one) =>
            (one.getAttribute('aria-label') ?? one.textContent).trim().startsWith(text) && one.checkVisibility()),
    name, within)).asElement();
}

/* The hands: each presses a thing that is handed to it. */
const mouse = (_page, element) => element.click();
async function finger(page, element) {
    await element.evaluate((one) => one.scrollIntoView({block: 'center'}));
    await element.tap();
}
async function keyboard(page, element) {
    await element.focus();
    await page.keyboard.press('Enter');
}

/** What the summary says of the text that is on the screen, once it is checked. */
async function settled(page) {
    await until(page, () => {
        const one = document.querySelector('.findings .summary');
        return one && one.dataset.state !== 'wait';
    });
    return page.$eval('.findings .summary', (one) => ({state: one.dataset.state, text: one.textContent}));
}

/** Opens files as whoever drops them on the page does. */
async function drop(page, files) {
    await page.evaluate((given) => {
        const transfer = new DataTransfer();
        for (const {name, text} of given)
            transfer.items.add(new File([Uint8Array.from(atob(text), (c) => c.charCodeAt(0))], name));
        document.dispatchEvent(new DragEvent('drop', {dataTransfer: transfer, bubbles: true, cancelable: true}));
    }, files.map(({name, bytes}) => ({name, text: Buffer.from(bytes).toString('base64')})));
}

const sampleFolder = path.join(__dirname, '..', '..', 'sample-configs');
const sample = (name) => ({name: name + '.yaml', bytes: fs.readFileSync(path.join(sampleFolder, name + '.yaml'))});

async function openSample(page, name) {
    await drop(page, [sample(name)]);
    await until(page, (file) => document.querySelector('header .name')?.textContent.includes(file), name);
    return settled(page);
}

const go = async (page, tab, press = mouse) => {
    await press(page, await page.waitForSelector(`#tab-${tab}`));
    await page.waitForSelector(`#tab-${tab}[aria-selected=true]`);
};

/** The caret behind the last line of the text.  The tab is there before its lines are. */
async function toEnd(page) {
    await page.waitForSelector('.cm-line', {timeout: 60000});
    await page.focus('.cm-content');
    await page.keyboard.down('Control');
    await page.keyboard.press('End');
    await page.keyboard.up('Control');
}

/** The text of the machine in front, as it would be saved. */
const textOf = (page) => page.evaluate(() => document.querySelector('pre.print')?.textContent ?? null);

/** Runs named steps, with STEP those with that in their names; prints what failed. */
async function steps(kind, list) {
    let failed = 0;
    for (const [name, step] of Object.entries(list)) {
        if (process.env.STEP && !name.includes(process.env.STEP)) continue;
        const started = Date.now();
        try {
            const said = await step();
            console.log(`${kind}: ${name}: ${said ?? 'done'} (${Date.now() - started} ms)`);
        } catch (error) {
            failed++;
            console.log(`${kind}: ${name}: FAILED: ${error.stack.slice(0, 900)}`);
        }
    }
    return failed;
}

/** Runs a test with what it was given; what it returns is how much was wrong. */
function run(main) {
    main(process.argv.slice(2)).then((wrong) => process.exit(wrong ? 1 : 0), (error) => {
        console.error(error);
        process.exit(1);
    });
}

/** Runs the steps of a browser, tells what pages complained of in them, and closes it. */
async function runSteps(kind, browser, list, complaints) {
    const failed = await steps(kind, list);
    for (const complaint of new Set(complaints)) console.log(`${kind}: ${complaint}`);
    await browser.close();
    return failed || complaints.length;
}

function expect(holds, what) {
    if (!holds) throw new Error(what);
}

module.exports = {launch, open, fileAddress, rest, until, named, mouse, finger, keyboard, settled, drop,
                  sample, openSample, go, toEnd, textOf, run, runSteps, expect};
