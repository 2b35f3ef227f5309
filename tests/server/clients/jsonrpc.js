// The protocol by its own library: each capability, and what goes wrong in honest editors.
"use strict";
const assert = require("assert"), fs = require("fs"), {spawn} = require("child_process"), {pathToFileURL} = require("url");
const lsp = require("vscode-languageserver-protocol/node"), rpc = lsp; // one copy of both
const path = process.argv[2], text = fs.readFileSync(path, "utf8"), uri = pathToFileURL(path).href;
const row = text.split("\n").findIndex((line) => line.includes("probe_stroke:"));
const document = {uri}, place = {line: row, character: 17}, point = {start: place, end: place};
const wholly = {start: {line: 0, character: 0}, end: {line: 9999, character: 0}};

class Session {
    constructor() {
        this.child = spawn("proveout", ["language-server", "--stdio"]);
        this.ended = new Promise((done) => this.child.on("exit", done));
        this.link = rpc.createMessageConnection(new rpc.StreamMessageReader(this.child.stdout), new rpc.StreamMessageWriter(this.child.stdin));
        this.told = [];
        this.waiting = [];
        this.link.onNotification(lsp.PublishDiagnosticsNotification.type, (one) => {
            this.told.push(one);
            this.waiting.filter(([fits]) => fits(one)).forEach(([, done]) => done(one));
        });
        this.link.onRequest(lsp.RegistrationRequest.type, () => null);
        this.link.listen();
    }
    ask(type, params) { return this.link.sendRequest(type, params); }
    tell(type, params) { return this.link.sendNotification(type, params); }
    version(number) {
        const is = (one) => one.version === number, found = this.told.find(is);
        return found ? Promise.resolve(found) : new Promise((done) => this.waiting.push([is, done]));
    }
    async start(units) {
        const answer = await this.ask(lsp.InitializeRequest.type, {processId: process.pid, rootUri: null, capabilities: {
            general: {positionEncodings: units},
            workspace: {workspaceEdit: {documentChanges: true}, didChangeWatchedFiles: {dynamicRegistration: true}},
            textDocument: {publishDiagnostics: {relatedInformation: true}, documentSymbol: {hierarchicalDocumentSymbolSupport: true},
                           hover: {contentFormat: ["markdown"]}, codeAction: {codeActionLiteralSupport: {codeActionKind: {valueSet: []}}},
                           rename: {prepareSupport: true}}}});
        await this.tell(lsp.InitializedNotification.type, {});
        return answer.capabilities;
    }
    async open(given, version = 1) {
        await this.tell(lsp.DidOpenTextDocumentNotification.type, {textDocument: {uri, languageId: "yaml", version, text: given}});
        return this.version(version);
    }
    async end() {
        await this.ask(lsp.ShutdownRequest.type);
        await this.tell(lsp.ExitNotification.type);
        assert.strictEqual(await this.ended, 0);
    }
}

const refused = (asked, code) => asked.then(() => assert.fail("not refused"), (error) => assert.strictEqual(error.code, code));
const has = (told) => told.diagnostics.some((one) => one.code === "probe-stroke-short");

async function capabilities() {
    const s = new Session();
    await refused(s.ask(lsp.HoverRequest.type, {textDocument: document, position: place}), -32002);
    const can = await s.start(["utf-16"]);
    assert.strictEqual(can.positionEncoding, "utf-16");
    assert(has(await s.open(text)));
    const found = s.told[0].diagnostics.find((one) => one.code === "probe-stroke-short");
    assert.strictEqual(found.range.start.line, row);
    assert(found.relatedInformation.length && found.data.fingerprint);
    assert((await s.ask(lsp.HoverRequest.type, {textDocument: document, position: place})).contents.value.includes("Put right"));
    assert((await s.ask(lsp.CompletionRequest.type, {textDocument: document, position: {line: row, character: 20}})).items.length);
    assert((await s.ask(lsp.DocumentSymbolRequest.type, {textDocument: document})).some((one) => one.children.length));
    assert((await s.ask(lsp.FoldingRangeRequest.type, {textDocument: document})).length);
    const actions = await s.ask(lsp.CodeActionRequest.type, {textDocument: document, range: point, context: {diagnostics: [found]}});
    const fix = actions.find((one) => one.kind === "quickfix");
    assert(fix.edit.documentChanges[0].edits.length && fix.edit.documentChanges[0].textDocument.version === 1);
    assert.deepStrictEqual(fix.diagnostics, [found]);
    assert((await s.ask(lsp.CodeActionRequest.type, {textDocument: document, range: point, context: {diagnostics: [], only: ["refactor"]}}))
        .every((one) => one.kind.startsWith("refactor")));
    assert(Array.isArray(await s.ask(lsp.DefinitionRequest.type, {textDocument: document, position: place})));
    assert(Array.isArray(await s.ask(lsp.ReferencesRequest.type, {textDocument: document, position: place, context: {includeDeclaration: true}})));
    const hints = await s.ask(lsp.InlayHintRequest.type, {textDocument: document, range: wholly});
    assert(hints.some((one) => one.label.includes("21.36 mm")), JSON.stringify(hints));
    const rows = text.split("\n"), named = rows.findIndex((line) => line.startsWith("  home-x: {"));
    const name = {line: named, character: 4};
    const renamed = await s.ask(lsp.RenameRequest.type, {textDocument: document, position: name, newName: "left"});
    assert.deepStrictEqual(renamed.documentChanges[0].edits.map((one) => rows[one.range.start.line].slice(
        one.range.start.character, one.range.end.character) + one.newText), ["home-xleft", "home-xleft"]);
    assert.strictEqual((await s.ask(lsp.DefinitionRequest.type, {textDocument: document, position: {
        line: rows.findIndex((line) => line.includes("input: home-x")), character: 13}}))[0].range.start.line, named);
    assert.strictEqual(await s.ask(lsp.PrepareRenameRequest.type, {textDocument: document, position: {line: 0, character: 0}}), null);
    await refused(s.ask(lsp.RenameRequest.type, {textDocument: document, position: {line: 0, character: 0}, newName: "x"}), -32803);
    assert(Array.isArray(await s.ask(lsp.DocumentRangeFormattingRequest.type, {textDocument: document, range: wholly, options: {}})));
    // of a file in which nothing was touched nothing is laid out
    assert.deepStrictEqual(await s.ask(lsp.DocumentFormattingRequest.type, {textDocument: document, options: {}}), []);
    assert((await s.ask(lsp.ExecuteCommandRequest.type, {command: "proveout.explain", arguments: ["probe-stroke-short"]})).includes("probe-stroke-short"));
    await s.end();
}

async function hostile() {
    const s = new Session();
    await s.start(["utf-16"]);
    await s.open("\ufeff" + text.replace(/\n/g, "\r\n"), 5);
    await refused(s.ask("no/such", {}), -32601);
    await refused(s.ask(lsp.HoverRequest.type, {textDocument: {uri: "file:///no"}, position: place}), -32602);
    await s.ask(lsp.HoverRequest.type, {textDocument: document, position: {line: 99999, character: 99999}});
    const change = (version, ...contentChanges) => s.tell(lsp.DidChangeTextDocumentNotification.type, {textDocument: {uri, version}, contentChanges});
    await change(4, {text: "a: 1"}); // older
    await change(6, {range: {start: {line: 0, character: 9999}, end: {line: 0, character: 9999}}, text: " \u{1f600}"});
    assert(has(await s.version(6)));
    const token = new rpc.CancellationTokenSource();
    const asked = s.link.sendRequest(lsp.HoverRequest.type, {textDocument: document, position: place}, token.token);
    token.cancel();
    await asked.then(() => {}, (error) => assert.strictEqual(error.code, -32800));
    await s.end();
    const rude = new Session();
    await rude.start(["utf-8", "utf-16"]);
    await rude.tell(lsp.ExitNotification.type);
    assert.strictEqual(await rude.ended, 1);
    const gone = new Session();
    assert.strictEqual((await gone.start(["utf-32"])).positionEncoding, "utf-32");
    gone.child.stdin.end();
    assert.strictEqual(await gone.ended, 1);
}

setTimeout(() => { console.log("failed: no end"); process.exit(1); }, 60000).unref();
capabilities().then(hostile).then(() => { console.log("all is as it should be"); process.exit(0); },
                                  (error) => { console.log("failed:", error); process.exit(1); });
