// Opens pages as phones (360 and 390 px) and a desk (1000 px) show them, with scripts off and all that is folded open, and
// fails where one
//
// - violates a rule of axe-core, all of its rules being asked;
// - can be scrolled sideways as a whole;
// - has figures in a drawing that are smaller than 11 px;
// - carries a script, or asks for anything but itself;
// - printed, leaves out what is folded on a screen.
//
//     NODE_PATH=… CHROMIUM=/usr/bin/chromium node page_check.js PAGE.html…

const fs = require("fs");
const path = require("path");
const { pathToFileURL } = require("url");
const { chromium } = require("playwright-core");

const WIDTHS = [360, 390, 1000];
// Least height of letters and figures in a drawing, CSS pixels.
const FIGURES = 11;
// What a browser does besides is of no use here, and as root it has no sandbox of its own.
const ARGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update",
    "--disable-sync", "--no-first-run", "--disable-dev-shm-usage"];
const axe = fs.readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");

const unfold = page => page.evaluate(() => document.querySelectorAll("details").forEach(one => { one.open = true; }));

// What is folded has a height of its own only where it is shown.
const hidden = page => page.evaluate(() => [...document.querySelectorAll("section details")]
    .filter(one => !one.children[1].checkVisibility()).map(one => one.firstElementChild.innerText));

// As a reader has it: scripts off.
async function look(browser, url, width) {
    const context = await browser.newContext({ viewport: { width, height: 900 }, javaScriptEnabled: false });
    const page = await context.newPage();
    const asked = [];
    page.on("request", request => asked.push(request.url()));
    await page.goto(url);
    await page.emulateMedia({ media: "print" });
    const unprinted = await hidden(page);
    await page.emulateMedia({ media: "screen" });
    await unfold(page);
    const found = await page.evaluate(() => ({
        figures: [...document.querySelectorAll("svg text")].map(text =>
            Number(text.getAttribute("font-size")) * text.ownerSVGElement.getBoundingClientRect().width / text.ownerSVGElement.viewBox.baseVal.width),
        wide: document.documentElement.scrollWidth,
        room: document.documentElement.clientWidth,
        scripts: document.scripts.length,
        words: document.body.innerText.split(/\s+/).length,
    }));
    await context.close();
    const outside = asked.filter(one => one !== url && !one.startsWith("data:"));
    const wrong = [];
    if (found.wide > found.room) wrong.push(`${found.wide} px wide in a window of ${found.room} px`);
    const least = Math.min(...found.figures);
    if (least < FIGURES) wrong.push(`figures of ${least.toFixed(1)} px in a drawing`);
    if (unprinted.length > 0) wrong.push(`not printed: ${unprinted.join(", ")}`);
    if (found.scripts > 0) wrong.push(`${found.scripts} scripts`);
    if (outside.length > 0) wrong.push(`asks for ${outside.join(", ")}`);
    if (found.words < 100) wrong.push(`only ${found.words} words can be read`);
    return wrong;
}

// axe is a script itself, so here scripts are on; the page has none of its own.
async function ask(browser, url, width) {
    const context = await browser.newContext({ viewport: { width, height: 900 } });
    const page = await context.newPage();
    await page.goto(url);
    await unfold(page);
    await page.evaluate(axe);
    const found = await page.evaluate(() => window.axe.run(document, { resultTypes: ["violations", "incomplete"] }));
    await context.close();
    const wrong = found.violations.map(one =>
        `${one.id} (${one.impact}): ${one.help}; ${one.nodes.length} places, the first:\n      ${one.nodes[0].html.slice(0, 150)}`);
    return { wrong, passed: found.passes.length, undecided: found.incomplete.map(one => `${one.id} in ${one.nodes.length} places`) };
}

async function main(files) {
    const browser = await chromium.launch({ executablePath: process.env.CHROMIUM, args: ARGS });
    let failed = 0;
    for (const file of files) {
        for (const width of WIDTHS) {
            const url = pathToFileURL(path.resolve(file)).href;
            const { wrong, passed, undecided } = await ask(browser, url, width);
            wrong.unshift(...await look(browser, url, width));
            const left = undecided.length > 0 ? `, undecided: ${undecided.join(", ")}` : "";
            console.log(`${path.basename(file)} at ${width} px: ${passed} rules hold, ${wrong.length} failures${left}`);
            wrong.forEach(one => console.log(`  FAILS ${one}`));
            failed += wrong.length;
        }
    }
    await browser.close();
    return failed;
}

main(process.argv.slice(2)).then(failed => process.exit(failed > 0 ? 1 : 0), error => {
    console.error(error);
    process.exit(2);
});
