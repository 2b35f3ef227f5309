// bundle.mjs OUTPUT MODULE SOURCES LICENCES: makes the one file of it, from the module that emcc built,
// app/, page.html and page.css; and, beside it, what serves it from a place of its own.
import {createHash} from 'node:crypto';
import {mkdirSync, readdirSync, readFileSync, writeFileSync} from 'node:fs';
import {dirname, join, relative, resolve} from 'node:path';
import {fileURLToPath} from 'node:url';
import {gzipSync} from 'node:zlib';
import {build} from 'esbuild';

const [output, module, sources, licences] = process.argv.slice(2).map((path) => resolve(path));
const here = dirname(fileURLToPath(import.meta.url));
const read = (path) => readFileSync(path, 'utf8');

async function bundled(entry) {
    const result = await build({
        entryPoints: [join(here, 'app', entry)],
        bundle: true, minify: true, write: false, metafile: true, charset: 'utf8',
        format: 'iife', target: 'es2022', legalComments: 'none', absWorkingDir: here,
        alias: {'proveout-module': module},
    });
    return {text: result.outputFiles[0].text, inputs: Object.keys(result.metafile.inputs)};
}

// In a block that a browser reads as text, and in JavaScript, both say the same.
const inBlock = (script) => script.replace(/<\/(script)/gi, '<\\/$1').replace(/<!--/g, '<\\!--');
const packed = (bytes) => gzipSync(bytes, {level: 9}).toString('base64');

/** The packages that any of these files belong to. */
function packagesOf(inputs) {
    const names = inputs.map((path) => /node_modules\/((?:@[^/]+\/)?[^/]+)\//.exec(path)?.[1]);
    return [...new Set(names.filter(Boolean))].sort();
}

function licenceOf(name) {
    const folder = join(here, 'node_modules', name);
    const file = readdirSync(folder).find((entry) => /^licen[cs]e/i.test(entry));
    if (!file) throw new Error(`${name} brings no licence`);
    return [`${name} ${JSON.parse(read(join(folder, 'package.json'))).version}`,
            read(join(folder, file))];
}

function licencesOf(inputs) {
    const own = [['proveout', read(join(sources, 'LICENSE'))]];
    const libraries = readdirSync(licences).sort().map((name) => [name, read(join(licences, name))]);
    return [...own, ...libraries, ...packagesOf(inputs).map(licenceOf)]
        .map(([name, text]) => `${name}\n${'='.repeat(name.length)}\n\n${text.trim()}\n`).join('\n\n');
}

const folder = join(sources, 'sample-configs');
const samples = Object.fromEntries(readdirSync(folder).filter((name) => /\.ya?ml$/.test(name)).sort()
    .map((name) => [name, read(join(folder, name))]));

const loader = await bundled('loader.ts');
const page = await bundled('main.tsx');
const worker = await bundled('worker.ts');
const script = inBlock(loader.text).trimEnd();
const policy = [
    "default-src 'none'",
    // what the one script that is named here brings in, and nothing else
    `script-src 'sha256-${createHash('sha256').update(script).digest('base64')}' 'strict-dynamic'`
        + " 'wasm-unsafe-eval'",
    "worker-src blob: 'self'", // the page's own worker; and, where it is served, what keeps it
    "style-src 'unsafe-inline'", // the editor makes its styles as it goes
    'img-src data: blob:', "manifest-src 'self'", "base-uri 'none'", "form-action 'none'",
].join('; ');

const parts = {
    POLICY: policy,
    STYLE: read(join(here, 'page.css')),
    LIBRARY: packed(readFileSync(module.replace(/\.js$/, '.wasm'))),
    SAMPLES: packed(JSON.stringify(samples)),
    LICENCES: packed(licencesOf([...page.inputs, ...worker.inputs])),
    WORKER: inBlock(worker.text),
    PROGRAM: packed(page.text),
    SCRIPT: script,
};
const html = read(join(here, 'page.html')).replace(/%([A-Z]+)%/g, (whole, name) => parts[name] ?? whole);
writeFileSync(output, html);

const site = join(dirname(output), 'site');
mkdirSync(site, {recursive: true});
writeFileSync(join(site, 'index.html'), html);
writeFileSync(join(site, 'worker.js'), read(join(here, 'site', 'worker.js'))
    .replace('%VERSION%', createHash('sha256').update(html).digest('hex').slice(0, 16)));
for (const name of ['proveout.webmanifest', 'icon.svg'])
    writeFileSync(join(site, name), read(join(here, 'site', name)));
console.log(`${relative(process.cwd(), output)}: ${Buffer.byteLength(html)} bytes, of them `
    + ['LIBRARY', 'PROGRAM', 'SAMPLES', 'LICENCES'].map((name) =>
        `${name.toLowerCase()} ${parts[name].length}`).join(', '));
