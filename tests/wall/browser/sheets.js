"use strict";
// Opens sheets in a browser and looks at them; prints them for `printed.py`.
//
//     node sheets.js chrome|firefox FOLDER SHEET.html ...
//
// NODE_PATH names where puppeteer-core and axe-core are.  FOLDER gets NAME-A4.pdf and
// NAME-Letter.pdf of each.  One line for each complaint; the status is 1 where there are any.
const fs = require("fs");
const path = require("path");
const puppeteer = require("puppeteer-core");
const inside = require("./inside.js");

const axe = fs.readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");
const [kind, folder, ...sheets] = process.argv.slice(2);
const PHONE = { width: 390, height: 844 }, DESK = { width: 1280, height: 900 };
const COLOURS = ["light", "dark", "forced"];

// No way out: every connection goes to a port where nobody listens.
const BLOCKED = {
  "network.proxy.type": 1, "network.proxy.http": "127.0.0.1", "network.proxy.http_port": 9,
  "network.proxy.ssl": "127.0.0.1", "network.proxy.ssl_port": 9,
  "security.fileuri.strict_origin_policy": true,
};

// Firefox takes colours from its settings alone, so each kind of them is a run of its own.
function launch(colours) {
  if (kind === "firefox") {
    const preferences = {
      ...BLOCKED,
      "layout.css.prefers-color-scheme.content-override": colours === "dark" ? 0 : 1,
      "browser.display.document_color_use": colours === "forced" ? 2 : 1,
    };
    return puppeteer.launch({
      timeout: 180000,
      browser: "firefox", executablePath: process.env.FIREFOX || "/usr/bin/firefox-esr",
      headless: true, extraPrefsFirefox: preferences,
    });
  }
  return puppeteer.launch({
    timeout: 180000,
    browser: "chrome", executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
    headless: true, args: ["--no-sandbox", "--proxy-server=127.0.0.1:9"],
  });
}

// As long as the session lasts; and nothing is looked at in other colours than it is told.
async function paint(session, colours) {
  if (!session) return;
  const features = [
    { name: "prefers-color-scheme", value: colours === "dark" ? "dark" : "light" },
    { name: "forced-colors", value: colours === "forced" ? "active" : "none" },
  ];
  await session.send("Emulation.setEmulatedMedia", { media: "", features });
}

async function painted(page, colours) {
  const now = await page.evaluate(() => ({
    dark: matchMedia("(prefers-color-scheme: dark)").matches,
    forced: matchMedia("(forced-colors: active)").matches,
  }));
  return now.forced === (colours === "forced") && (now.forced || now.dark === (colours === "dark"))
    ? [] : [`the browser does not show ${colours} colours`];
}

// What axe finds, in light colours: of dark ones it takes the ground for white.  Its text goes in
// as the browser's own, which the page's policy does not hold off.
async function accessible(page) {
  await page.evaluate(axe);
  const found = await page.evaluate(async () => {
    const result = await window.axe.run(document, { preload: false });
    return result.violations.map((one) =>
      `axe: ${one.id}: ${one.nodes.length} times, ${one.nodes[0].html.slice(0, 120)}`);
  });
  return found;
}

// Tab goes through everything that can be used or scrolled, in the order of the page, and what has
// the focus shows it.
async function byKeys(page) {
  const wanted = await page.evaluate(inside.watchFocus);
  await page.evaluate(() => { document.activeElement.blur(); window.scrollTo(0, 0); });
  for (let i = 0; i < wanted.length; i++) await page.keyboard.press("Tab");
  const stops = await page.evaluate(() => window.proveoutStops);
  const wrong = [];
  const reached = new Set(stops.map(([at]) => at));
  const missed = wanted.filter((at) => !reached.has(at));
  if (missed.length) wrong.push(`keys do not reach ${missed.length} of ${wanted.length}`);
  if (stops.some(([at], i) => i && at < stops[i - 1][0])) wrong.push("keys go back and forth");
  if (stops.some(([, outlined]) => !outlined)) wrong.push("the focus does not show");
  if (!wanted.length) wrong.push("there is nothing for keys");
  return wrong;
}

async function print(page, sheet) {
  const wrong = [];
  if (kind === "chrome") {
    await page.setViewport(DESK);
    await page.emulateMediaType("print");
    wrong.push(...await page.evaluate(inside.within));
    await page.emulateMediaType(null);
  }
  for (const format of ["A4", "Letter"]) {
    const name = `${path.basename(sheet, ".html")}-${format}.pdf`;
    await page.pdf({ path: path.join(folder, name), format, printBackground: false });
  }
  return wrong;
}

async function look(page, session, sheet, colours) {
  const wrong = [], address = `file://${path.resolve(sheet)}`, requests = [];
  const told = (message) => wrong.push(`console: ${message.text()}`);
  const failed = (error) => wrong.push(`error: ${error.message}`);
  const asked = (request) => requests.push(request.url());
  page.on("console", told).on("pageerror", failed).on("request", asked);
  const add = async (what, found) => wrong.push(...(await found).map((one) => `${what}: ${one}`));
  await paint(session, colours);
  await page.setViewport(DESK);
  await page.goto(address);
  // Firefox reads a letter or two of its own from a data: address; the page's policy allows none.
  const asks = (one) => one !== address && !(kind === "firefox" && one.startsWith("data:"));
  if (requests.some(asks)) wrong.push(`asks for ${requests.join(", ")}`);
  await add(colours, painted(page, colours));
  await add(colours, page.evaluate(inside.visible));
  if (colours === "light") {
    await add("1280 px", accessible(page));
    await add("1280 px", page.evaluate(inside.fits));
    await add("1280 px", page.evaluate(inside.pagesTold));
    await page.setViewport(PHONE);
    await add("390 px", page.evaluate(inside.fits));
    await add("390 px", accessible(page));
    await add("390 px", byKeys(page));
    await add("paper", print(page, sheet));
  }
  page.off("console", told).off("pageerror", failed).off("request", asked);
  return wrong;
}

async function main() {
  let complaints = 0, looked = 0;
  fs.mkdirSync(folder, { recursive: true });
  let browser = kind === "chrome" ? await launch("") : null;
  for (const colours of COLOURS) {
    if (kind === "firefox") browser = await launch(colours);
    if (colours === "light") console.log(await browser.version());
    const page = await browser.newPage();
    const session = kind === "chrome" ? await page.createCDPSession() : null;
    for (const sheet of sheets) {
      const wrong = await look(page, session, sheet, colours);
      looked++;
      complaints += wrong.length;
      for (const one of wrong.slice(0, 12)) console.log(`${kind}: ${path.basename(sheet)}: ${one}`);
    }
    await page.close();
    if (kind === "firefox") await browser.close();
  }
  if (kind === "chrome") await browser.close();
  console.log(`${kind}: ${looked} sheets opened, ${complaints} complaints`);
  process.exit(complaints || !looked ? 1 : 0);
}

main().catch((error) => { console.error(error); process.exit(2); });
