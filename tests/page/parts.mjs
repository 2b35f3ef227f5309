// parts.mjs PROGRAM SAMPLES: the parts of the page that need no browser, by themselves; what it takes
// for the field at a place is held against what the program says stands there.
import assert from 'node:assert';
import {spawnSync} from 'node:child_process';
import {readdirSync, readFileSync} from 'node:fs';
import {createRequire} from 'node:module';
import {join, resolve} from 'node:path';
import {fileURLToPath} from 'node:url';

const [program, samples] = process.argv.slice(2).map((path) => resolve(path));
const page = fileURLToPath(new URL('../../src/page', import.meta.url));
const {build} = createRequire(join(page, 'package.json'))('esbuild');

async function part(name) {
    const {outputFiles} = await build({entryPoints: [join(page, 'app', name)], bundle: true, write: false,
                                       format: 'esm', platform: 'neutral'});
    return import('data:text/javascript;base64,' + Buffer.from(outputFiles[0].text).toString('base64'));
}

const {encodeQuestion, decodeAnswer} = await part('wire.ts');
const {columnOffset, unitsBefore, difference} = await part('positions.ts');
const {textOf, bytesOf} = await part('bytes.ts');
const {pathAt, fieldMatches} = await part('yamlpath.ts');
const bytes = (text) => new TextEncoder().encode(text);

// A question: each string behind its length, a NUL behind it.
assert.deepEqual([...encodeQuestion(['a', '', 'µ'])],
                 [1, 0, 0, 0, 97, 0, 0, 0, 0, 0, 0, 2, 0, 0, 0, 0xc2, 0xb5, 0]);

// An answer, and everything that is none.
const whole = 'proveout-answer 1 17 checked text 5\nµ{}\n\nend 17\n';
assert.deepEqual(decodeAnswer(17, bytes(whole)), {status: 'checked', given: true, text: 'µ{}\n'});
assert.deepEqual(decodeAnswer(17, bytes('proveout-answer 1 17 refused trouble 0\n\nend 17\n')),
                 {status: 'refused', given: false, text: ''});
assert.equal(decodeAnswer(17, null), null);
assert.equal(decodeAnswer(18, bytes(whole)), null);
for (let cut = 0; cut < whole.length; cut++) assert.equal(decodeAnswer(17, bytes(whole).subarray(0, cut)), null);
for (const [from, to] of [['answer 1', 'answer 2'], ['text 5', 'text 4'], ['text 5', 'text 6'], ['end 17', 'end 16'],
                          ['text', 'tent'], ['17 checked', '17 ']])
    assert.equal(decodeAnswer(17, bytes(whole.replace(from, to))), null, to);
assert.equal(decodeAnswer(17, Uint8Array.from([...bytes('proveout-answer 1 17 checked text 1\n'), 0xff,
                                               ...bytes('\nend 17\n')])), null);

// Code points and bytes, as UTF-16 has them.
assert.equal(columnOffset('a\u{1F600}b', 3), 3);
assert.equal(columnOffset('ab', 9), 2);
assert.equal(unitsBefore('a\u{1F600}µb', 7), 4);
assert.equal(unitsBefore('abc', 0), 0);
for (const [before, after] of [['abc', 'abXc'], ['aaa', 'aa'], ['', 'x'], ['x', ''], ['same', 'same']]) {
    const {from, to, insert} = difference(before, after);
    assert.equal(before.slice(0, from) + insert + before.slice(to), after);
}

// A file comes back as it was.
for (const text of ['', 'a\nb', 'a\r\nb\r\n', 'a\rb\r', 'a\r\nb\nc', '\ufeffa\r\n', 'a\r\r\n', '\ufeff\ufeffx']) {
    const read = textOf(bytes(text));
    assert.deepEqual([...bytesOf(read.text, read.form)], [...bytes(text)], JSON.stringify(text));
}
assert.equal(textOf(Uint8Array.from([0x61, 0xff])), null);

// The field at a place.
assert(fieldMatches('axes.*.travel', 'axes.x.travel') && fieldMatches('cutters[].stickout', 'cutters[12].stickout'));
assert(!fieldMatches('axes.*.travel', 'axes.x.rapid') && !fieldMatches('a.b', 'a.b.c'));
let held = 0, off = 0;
for (const name of readdirSync(samples).filter((one) => one.endsWith('.yaml'))) {
    const lines = readFileSync(join(samples, name), 'utf8').split('\n');
    const doc = {lines: lines.length, line: (n) => ({text: lines[n - 1]})};
    const {stdout} = spawnSync(program, ['check', '--format', 'json', '--show', 'all', name],
                               {cwd: samples, encoding: 'utf8', maxBuffer: 1 << 28});
    for (const {field, line, column, path, missing} of JSON.parse(stdout).files[0].evaluations) {
        if (!field || !line || path || missing.length || !lines[line - 1].includes(':')) continue;
        const found = pathAt(doc, line, column - 1);
        // a value that goes on over several lines; or one that is not there, for which its record stands
        if (!found || !lines[line - 1].includes(field.replace(/\[\d+\]/g, '').split('.').pop())) continue;
        held++;
        const plain = field.replace(/\.(low|high|readings.*)$/, '').replace(/(words|order)?\[\d+\]$/, '');
        if (found === field || found === plain || field.startsWith(found + '.') || found.startsWith(plain)) continue;
        off++;
        console.log(`${name}:${line}:${column}: ${field} is taken for ${found}`);
    }
}
assert.equal(off, 0);
assert(held > 5000, `only ${held} places`);
console.log(`${held} places, each taken for the field that stands there`);
