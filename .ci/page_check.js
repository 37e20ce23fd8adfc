// Opens pages as a phone (390 px) and a desk (1000 px) show them, with scripts off, and fails where one
//
// - violates a rule of axe-core, all of its rules being asked;
// - can be scrolled sideways as a whole;
// - carries a script, or asks for anything but itself.
//
//     NODE_PATH=… CHROMIUM=/usr/bin/chromium node page_check.js PAGE.html…

const fs = require("fs");
const path = require("path");
const { pathToFileURL } = require("url");
const { chromium } = require("playwright-core");

const WIDTHS = [390, 1000];
// What a browser does besides is of no use here, and as root it has no sandbox of its own.
const ARGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update",
    "--disable-sync", "--no-first-run", "--disable-dev-shm-usage"];
const axe = fs.readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");

// As a reader has it: scripts off.
async function look(browser, url, width) {
    const context = await browser.newContext({ viewport: { width, height: 900 }, javaScriptEnabled: false });
    const page = await context.newPage();
    const asked = [];
    page.on("request", request => asked.push(request.url()));
    await page.goto(url);
    const found = await page.evaluate(() => ({
        wide: document.documentElement.scrollWidth,
        room: document.documentElement.clientWidth,
        scripts: document.scripts.length,
        words: document.body.innerText.split(/\s+/).length,
    }));
    await context.close();
    const outside = asked.filter(one => one !== url && !one.startsWith("data:"));
    const wrong = [];
    if (found.wide > found.room) wrong.push(`${found.wide} px wide in a window of ${found.room} px`);
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
