"use strict";
// What is looked at inside an open sheet.  Each function is sent to the browser as text, so it uses
// nothing from outside itself, and gives a list of complaints.

// Everything that can be read can be told from what it lies on: 4.5 : 1 for letters, 3 : 1 for
// lines, and colours given by the viewer where the viewer gives them.
function visible() {
  const canvas = document.createElement("div");
  canvas.style.cssText = "background:Canvas;color:CanvasText";
  document.body.append(canvas);
  const parts = (text) => (text.match(/[\d.]+/g) || []).map(Number);
  const light = (text) => {
    const [r, g, b] = parts(text).slice(0, 3).map((part) => {
      const one = part / 255;
      return one <= 0.04045 ? one / 12.92 : ((one + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ground = light(getComputedStyle(canvas).backgroundColor);
  canvas.remove();
  const contrast = (text) => {
    const own = light(text);
    return (Math.max(own, ground) + 0.05) / (Math.min(own, ground) + 0.05);
  };
  const wrong = new Set();
  const shown = document.body.checkVisibility ? (one) => one.checkVisibility() : () => true;
  for (const one of document.body.querySelectorAll("*")) {
    const style = getComputedStyle(one), drawn = one.namespaceURI.endsWith("svg");
    if (!shown(one)) continue;
    const reads = [...one.childNodes].some((node) => node.nodeType === 3 && node.data.trim());
    if (reads && !["title", "desc"].includes(one.localName)) {
      const colour = drawn ? style.fill : style.color;
      if (!(contrast(colour) >= 4.5)) wrong.add(`letters ${colour} in ${one.localName}`);
    } else if (drawn && style.stroke !== "none" && one.getBBox && one.localName !== "g" &&
               one.localName !== "svg" && !(contrast(style.stroke) >= 3)) {
      wrong.add(`lines ${style.stroke} in ${one.localName}`);
    }
    if (!drawn && parts(style.backgroundColor)[3] !== 0 &&
        Math.abs(light(style.backgroundColor) - ground) > 0.02)
      wrong.add(`${one.localName} has a ground of its own`);
  }
  if (!document.querySelector("svg text")) wrong.add("there is no drawing");
  return [...wrong];
}

// The page itself never scrolls sideways; what is wider scrolls in a region that the keys reach;
// and letters can be read: 12 px and more.
function fits() {
  const wrong = new Set(), width = document.documentElement.clientWidth;
  if (document.documentElement.scrollWidth > width)
    wrong.add(`the page is ${document.documentElement.scrollWidth} px wide of ${width}`);
  const scrolls = (one) => ["auto", "scroll"].includes(getComputedStyle(one).overflowX);
  for (const one of document.body.querySelectorAll("*")) {
    const box = one.getBoundingClientRect();
    if (!box.width || !box.height) continue;
    let around = one;
    while (around && !scrolls(around)) around = around.parentElement;
    if ((box.right > width + 0.5 || box.left < -0.5) && !around)
      wrong.add(`${one.localName}.${one.getAttribute("class")} is cut off at ${box.right} px`);
    if (scrolls(one) && one.scrollWidth > one.clientWidth + 1 &&
        (one.tabIndex < 0 || !one.getAttribute("aria-label")))
      wrong.add(`no key reaches ${one.localName}.${one.className}, or it has no name`);
    if (![...one.childNodes].some((node) => node.nodeType === 3 && node.data.trim())) continue;
    let size = parseFloat(getComputedStyle(one).fontSize);
    if (one.localName === "text") size *= one.getScreenCTM().a;
    if (size < 11.95) wrong.add(`letters of ${size.toFixed(1)} px in ${one.localName}`);
  }
  return [...wrong];
}

// What is told of pages is for paper.
function pagesTold() {
  const shown = [...document.querySelectorAll(".head span")].filter(
    (one) => one.getClientRects().length && /page \d+ of \d+/.test(one.textContent));
  return shown.length ? [`the screen tells of ${shown.length} pages`] : [];
}

// How many stops the keys should make, and from here on which they make.
function watchFocus() {
  const all = [...document.querySelectorAll("*")];
  window.proveoutStops = [];
  document.addEventListener("focusin", (event) => {
    const one = event.target, style = getComputedStyle(one);
    window.proveoutStops.push([all.indexOf(one), style.outlineStyle !== "none"]);
  });
  return all.filter((one) => one.tabIndex >= 0 && one.getClientRects().length &&
    (one.localName === "input" || one.hasAttribute("tabindex"))).map((one) => all.indexOf(one));
}

// Laid out for paper, nothing is wider than the 180 mm it has.
function within() {
  const left = document.body.getBoundingClientRect().left, most = 180 / 25.4 * 96 + 0.5;
  const wrong = new Set();
  if (document.body.getBoundingClientRect().width > most) wrong.add("the body is too wide");
  for (const one of document.body.querySelectorAll("*")) {
    const box = one.getBoundingClientRect();
    if (box.width && box.height && (box.right - left > most || box.left < left - 0.5))
      wrong.add(`${one.localName}.${one.getAttribute("class")} reaches from ` +
        `${box.left - left} to ${box.right - left} px`);
  }
  return [...wrong];
}

module.exports = { visible, fits, pagesTold, watchFocus, within };
