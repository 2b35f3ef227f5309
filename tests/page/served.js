/* served.js BROWSER SITE: the page from a server of this machine; and once it was there, without it. */
const fs = require('fs');
const http = require('http');
const path = require('path');
const {launch, rest, until, expect, run} = require('./drive');

const TYPES = {'.html': 'text/html; charset=utf-8', '.js': 'text/javascript', '.svg': 'image/svg+xml',
               '.webmanifest': 'application/manifest+json'};

function serve(folder) {
    const server = http.createServer((request, response) => {
        const name = path.basename(new URL(request.url, 'http://localhost').pathname) || 'index.html';
        const file = path.join(folder, name);
        if (!fs.existsSync(file)) {
            response.writeHead(404).end();
            return;
        }
        response.writeHead(200, {'content-type': TYPES[path.extname(name)]}).end(fs.readFileSync(file));
    });
    return new Promise((done) => server.listen(0, '127.0.0.1', () => done(server)));
}

async function main([kind, site]) {
    const server = await serve(site);
    const address = `http://127.0.0.1:${server.address().port}/`;
    const browser = await launch(kind);
    const page = await browser.newPage();
    const complaints = [];
    page.on('pageerror', (error) => complaints.push(error.message));
    await page.setViewport({width: 820, height: 1180, hasTouch: true});
    await page.goto(address);
    await page.waitForSelector('.doors');
    await until(page, async () => Boolean((await navigator.serviceWorker.ready).active) && Boolean(navigator.serviceWorker.controller));
    const manifest = await page.evaluate(async () => {
        const link = document.querySelector('link[rel=manifest]');
        return link && link.href;
    });
    expect(manifest, 'it can be put on the home screen');
    const told = JSON.parse(fs.readFileSync(path.join(site, 'proveout.webmanifest'), 'utf8'));
    expect(told.icons.every(({src}) => fs.existsSync(path.join(site, src))), 'its picture is there');
    await rest(500);
    await new Promise((done) => { server.closeAllConnections(); server.close(done); });
    await page.goto(address);
    await page.waitForSelector('.doors', {timeout: 20000});
    await page.evaluate(() => [...document.querySelectorAll('.door button')].at(-1).click());
    await until(page, () => document.querySelector('.findings .summary')?.dataset.state === 'clean');
    console.log(`${kind}: served, kept, and opened without its server`);
    for (const complaint of complaints) console.log(`${kind}: ${complaint}`);
    await browser.close();
    return complaints.length;
}

run(main);
