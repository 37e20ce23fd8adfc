// A site with a server and the phones that ask it, each a browser of its own: what the checks of the phones share.
//
// FOLDER and REPOSITORY are the arguments of whoever runs a check. PICTURES, where it names a folder, gets a picture of
// each page.

const assert = require("assert");
const fs = require("fs");
const path = require("path");
const { execFileSync, spawn } = require("child_process");
const { chromium } = require("playwright-core");

const [folder, repository] = process.argv.slice(2).map(one => path.resolve(one));
const { CHROMIUM, CLADLOG, PICTURES } = process.env;
const ARGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update",
    "--disable-sync", "--no-first-run", "--disable-dev-shm-usage"];
const axe = fs.readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");
// Nothing takes nearly so long, but for a machine that does much else.
const LONG = 30_000;

const db = path.join(folder, "job.db");
let clock;
function cladlog(...args) {
    const env = { ...process.env, CLADLOG_CLOCK: clock };
    return JSON.parse(execFileSync(CLADLOG, ["--db", db, "--json", ...args], { cwd: folder, env, encoding: "utf8" }) || "{}");
}

// Two walls and three people, with the small sequence of the tests; the builder accepts what the others cover up.
const SHED = `
key = "shed"
name = "Shed, 4 Invented Lane"
time_zone = "Pacific/Auckland"
sequence = "small.toml"
[[person]]
name = "Ana Reid"
roles = ["lead"]
[[person]]
name = "Ivo Marsh"
roles = ["installer"]
[[person]]
name = "Bea Quist"
roles = ["builder", "inspector"]
[[wall]]
key = "N"
name = "North"
length_mm = 6000
height_mm = 2700
courses = 6
joints_mm = [2400, 4800]
[[wall.opening]]
key = "O1"
kind = "window"
from_mm = 900
to_mm = 2100
sill_mm = 900
head_mm = 2100
[[wall]]
key = "E"
name = "East"
length_mm = 4800
height_mm = 2700
courses = 6
joints_mm = [2400]
`;
function shed() {
    at("2026-03-02T07:00:00+13:00");
    fs.writeFileSync(path.join(folder, "job.toml"), SHED);
    const sequence = fs.readFileSync(path.join(repository, "tests/rules/small.toml"), "utf8");
    fs.writeFileSync(path.join(folder, "small.toml"), sequence.replace('roles = ["inspector", "lead"]', 'roles = ["builder"]'));
    cladlog("job", "add", "job.toml");
}

// The server, at the same address each time, so that phones find it again.
let server;
let port = 0;
async function serve() {
    const env = { ...process.env, CLADLOG_CLOCK: clock };
    const args = ["--db", db, "--json", "serve", "--plain", "--listen", `127.0.0.1:${port}`];
    server = spawn(CLADLOG, args, { cwd: folder, env, stdio: ["ignore", "pipe", "inherit"] });
    const line = await new Promise((done, failed) => {
        let text = "";
        server.stdout.on("data", more => { text += more; if (text.includes("\n")) done(text); });
        server.on("exit", code => failed(new Error(`the server ended: ${code}`)));
    });
    const said = JSON.parse(line);
    port = Number(new URL(said.url).port);
    return said;
}
async function stop() {
    const ended = new Promise(done => server.once("exit", done));
    server.kill("SIGTERM");
    assert.strictEqual(await ended, 0, "the server ends well");
}
// The time at which everything happens from now on; a server begins with it.
function at(time) { clock = time; }
async function serveAt(time) {
    await stop();
    at(time);
    return serve();
}

// What a browser says of a server that is away, of a phone that is not paired, and of what a rule refuses.
const EXPECTED = /net::ERR_|status of (401|409)/;
const complaints = [];
let browser;
async function phone(more = {}) {
    const context = await browser.newContext({ viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true, ...more });
    const page = await context.newPage();
    page.setDefaultTimeout(LONG);
    page.on("pageerror", error => { throw error; });
    page.on("console", message => { if (message.type() === "error" && !EXPECTED.test(message.text())) complaints.push(`${page.url()}: ${message.text()}`); });
    return page;
}
async function pair(page, url, name) {
    await page.goto(url);
    await page.getByLabel(name).check();
    await page.getByRole("button").tap();
    await page.getByRole("heading", { level: 1, name: /^Now/ }).waitFor();
}
const home = () => `http://127.0.0.1:${port}`;
const button = (page, name) => page.getByRole("button", { name });
// The heading of what comes first.
const next = page => page.locator(".next h2");

// Waits until a page says that it was recorded.
const recorded = (page, what = "") => page.locator(".done", { hasText: what instanceof RegExp ? what : `Recorded: ${what}` }).waitFor();
// Opens what is folded.
const opened = (page, what) => page.locator("summary", { hasText: what }).first().tap();
// Rain stops the work.
async function rained(page, notified) {
    await opened(page, "Work has stopped");
    await page.getByLabel(/^Rain stopped it/).check();
    await page.getByLabel("What stopped it").fill("rain");
    if (notified) await page.getByLabel("Who was notified").fill(notified);
    await button(page, "Work has stopped").tap();
}
async function closed(page) {
    await button(page, "Close the day").tap();
    await recorded(page, "site day closed");
}

// Waits until a page is kept on the phone.
const kept = (page, url) => page.waitForFunction(key => new Promise(done => {
    const request = indexedDB.open("cladlog", 1);
    request.onsuccess = () => {
        const found = request.result.transaction("pages").objectStore("pages").getKey(key);
        found.onsuccess = () => { request.result.close(); done(found.result !== undefined); };
    };
}), url, { polling: 500 });

// A photo that the demonstration has.
const photo = () => path.join(repository, "demo-db/photos/north-before-cladding.jpg");

let pictures = 0;
async function picture(page, name) {
    if (PICTURES) await page.screenshot({ path: path.join(PICTURES, `${String(pictures++).padStart(2, "0")}-${name}.png`), fullPage: true });
}
// No violation of any rule of axe-core, no sideways scrolling, nothing to press smaller than 44 px.
async function look(page, name) {
    for (const colorScheme of ["light", "dark"]) {
        await page.emulateMedia({ colorScheme });
        await page.evaluate(axe);
        const found = await page.evaluate(() => window.axe.run(document, {
            resultTypes: ["violations"], rules: { "color-contrast-enhanced": { enabled: true }, "target-size": { enabled: true } },
        }));
        const wrong = found.violations.map(one => `${one.id}: ${one.help}; ${one.nodes[0].html.slice(0, 200)} ${one.nodes[0].failureSummary}`);
        assert.deepStrictEqual(wrong, [], `${name}, ${colorScheme}`);
        await picture(page, `${name}-${colorScheme}`);
    }
    await page.emulateMedia({ colorScheme: "light" });
    const before = page.viewportSize();
    for (const width of [360, 390, 1024]) {
        await page.setViewportSize({ width, height: 800 });
        const { wide, room, small } = await page.evaluate(() => ({
            wide: document.documentElement.scrollWidth,
            room: document.documentElement.clientWidth,
            small: [...document.querySelectorAll("button, .go, .bar a, .rows a, .pick a, summary, .tick, input:not([type=hidden]):not([type=radio]):not([type=checkbox]), select, textarea")]
                .filter(one => one.offsetParent && one.getBoundingClientRect().height < 44).map(one => one.outerHTML.slice(0, 100)),
        }));
        assert(wide <= room, `${name}: ${wide} px wide in a window of ${room} px`);
        assert.deepStrictEqual(small, [], `${name} at ${width} px: too small for a glove`);
        if (width !== 390) await picture(page, `${name}-${width}`);
    }
    await page.setViewportSize(before);
}

const entries = kind => cladlog("log").entries.filter(entry => entry.kind === kind);

// Runs a check, and says how long it took; what fails says where each phone was.
async function run(what, check) {
    browser = await chromium.launch({ executablePath: CHROMIUM, args: ARGS });
    const begun = Date.now();
    try {
        await check();
        assert.deepStrictEqual(complaints, [], "errors on the browsers' consoles");
        console.log(`${what}: ${Math.round((Date.now() - begun) / 1000)} s`);
    } catch (error) {
        console.error(error);
        for (const page of browser.contexts().flatMap(context => context.pages())) {
            console.error(page.url(), await page.locator("main").innerText({ timeout: 1000 }).catch(() => ""));
        }
        process.exitCode = 1;
    }
    server?.kill();
    await browser.close();
}

module.exports = {
    CLADLOG, at, button, cladlog, closed, entries, folder, home, kept, look, next, opened, pair, phone, photo, rained, recorded, run, serve,
    serveAt, shed, stop,
};
