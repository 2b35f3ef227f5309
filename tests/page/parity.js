/* parity.js BROWSER PAGE PROGRAM FOLDER: what the page's library says about each file of a folder is
 * what the program says, byte for byte. */
const {execFileSync, spawnSync} = require('child_process');
const fs = require('fs');
const path = require('path');
const {launch, open, fileAddress, run} = require('./drive');

const TODAY = '2026-11-27';
const DAYS = String(Date.parse(TODAY) / 86400000);
const KINDS = [
    ['report', 'json', ['check', '--format', 'json']],
    ['windows', 'json', ['window', '--format', 'json']],
    ['dryrun', 'json', ['dryrun', '--format', 'json']],
    ['draw', '', ['draw'], 'plan'],
    ['draw', '', ['draw', '--view', 'side'], 'side'],
    ['sheet', 'html', ['sheet']],
];

async function main([kind, page, program, folder]) {
    const browser = await launch(kind);
    const tab = await open(browser, fileAddress(page));
    const names = fs.readdirSync(folder).sort();
    let same = 0, differ = 0, without = 0;
    for (const [i, name] of names.entries()) {
        const bytes = fs.readFileSync(path.join(folder, name));
        // all that it says of every tenth, and of the rest what it finds
        for (const [word, format, command, ...more] of i % 10 ? KINDS.slice(0, 1) : KINDS) {
            const native = spawnSync(program, [...command, '--today', TODAY, name],
                                     {cwd: folder, encoding: 'utf8', maxBuffer: 1 << 28});
            const answer = await tab.evaluate(async (question, text) => {
                const part = Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
                return window.proveout.ask(question.map((one) => one ?? part));
            }, [word, name, null, DAYS, format, '', '', ...more], bytes.toString('base64'));
            if (answer && (answer.given ? answer.text === native.stdout : native.status === 2 && !native.stdout)) {
                same++;
                without += answer.given ? 0 : 1;
            } else {
                differ++;
                console.log(`${kind}: ${name}: ${word} differs: ${answer?.text.slice(0, 200)}`);
            }
        }
    }
    const version = execFileSync(program, ['--version'], {encoding: 'utf8'});
    const shown = await tab.$eval('footer', (one) => one.textContent);
    if (!version.trim().split('\n').every((line) => shown.includes(line.split(' ').pop()))) {
        differ++;
        console.log(`${kind}: the page says of itself: ${shown.slice(0, 60)}`);
    }
    for (const complaint of tab.complaints) console.log(`${kind}: ${complaint}`);
    console.log(`${kind}: ${names.length} files, ${same} answers the same (${without} of them that there is none), ${differ} differ`);
    await browser.close();
    return differ || tab.complaints.length || same < 100;
}

run(main);
