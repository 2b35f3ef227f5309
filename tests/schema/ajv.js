// The schemas by ajv.
//
//     ajv.js SCHEMA VALUES ...
//
// VALUES is a file with a line of JSON for each value: [name, is it valid?, value].  Prints those that
// ajv judges otherwise; the status is 1 where there are any.
const fs = require("fs");
const Ajv = require("ajv/dist/2020").default;

const lines = (path) => fs.readFileSync(path, "utf8").split("\n").filter(Boolean).map((line) => JSON.parse(line));

let count = 0, wrong = 0;
for (let i = 2; i + 1 < process.argv.length; i += 2) {
    // a keyword that it does not know is refused, but for what editors show
    const ajv = new Ajv({strictTypes: false, keywords: ["patternErrorMessage"]});
    const takes = ajv.compile(JSON.parse(fs.readFileSync(process.argv[i], "utf8")));
    for (const [name, valid, value] of lines(process.argv[i + 1])) {
        count++;
        if (takes(value) === valid) continue;
        if (wrong++ < 40) console.log(`${name}: ${valid ? "refused: " + JSON.stringify(takes.errors[0]) : "taken"}`);
    }
}
console.log(`${count} values, ${wrong} judged otherwise`);
process.exit(wrong || !count ? 1 : 0);
