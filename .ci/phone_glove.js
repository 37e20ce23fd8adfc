// What goes wrong with a phone in a wet glove, against a running server: nothing is lost, nothing is recorded twice.
//
// Pressed twice; gone back after it was recorded; reloaded, or led astray, in the middle of a form; the connection lost
// between the press and the answer, or no answer at all; several things recorded from one page out of reach; two hours
// asleep; a phone that is set to another part of the world.
//
//     NODE_PATH=… CHROMIUM=… CLADLOG=… node phone_glove.js FOLDER REPOSITORY

const assert = require("assert");
const {
    button, cladlog, entries, home, kept, look, next, opened, pair, phone, photo, recorded, run, serve, shed, stop,
} = require("./phone_site.js");

const SMALL = { viewport: { width: 360, height: 640 } };

// A press of the glove: two, the second before anything can come of the first.
const twice = target => target.evaluate(one => { one.click(); one.click(); });
const waiting = (page, count) => page.waitForFunction(count => document.querySelectorAll("#away > div").length === count, count);
const steps = on => entries("step-done").filter(entry => entry.subject === on && !entry.struck_by);

async function day() {
    shed();
    const said = await serve();
    const [ana, ivo] = [await phone(SMALL), await phone({ ...SMALL, timezoneId: "America/New_York" })];
    await pair(ana, said.pairing.url, "Ana Reid");
    await pair(ivo, cladlog("serve", "pair").pairing.url, "Ivo Marsh");
    await ana.getByLabel("Bea Quist").uncheck();
    await twice(button(ana, "Open the day"));
    await recorded(ana);
    assert.strictEqual(entries("day-opened").length, 1);

    // The clock is the site's, wherever the phone believes it is.
    await ivo.goto(`${home()}/?on=N`);
    assert.match(await ivo.locator("[data-clock]").innerText(), /^07:0/);

    // Reloaded, and led astray by the bar: what was typed is still there.
    await ana.goto(`${home()}/?on=N`);
    await twice(ana.getByRole("link", { name: "Start" }));
    await ana.getByRole("heading", { name: "Frame checked on N" }).waitFor();
    await ana.getByLabel("In mm").fill("2");
    await ana.reload();
    await ana.getByText("What you had typed is still here.").waitFor();
    assert.strictEqual(await ana.getByLabel("In mm").inputValue(), "2");
    await ana.getByRole("link", { name: "Clocks" }).tap();
    await ana.getByRole("heading", { name: "Clocks" }).waitFor();
    await ana.goBack();
    await ana.getByText("What you had typed is still here.").waitFor();
    assert.strictEqual(await ana.getByLabel("In mm").inputValue(), "2");
    await look(ana, "typed-before");

    // The answer is lost on the way: it is sent again, and recorded once.
    await ana.route("**/record", async route => { await route.fetch(); await route.abort(); }, { times: 1 });
    const resent = ana.waitForResponse(response => response.url().endsWith("/record"));
    await twice(button(ana, "Record"));
    assert((await resent).ok());
    await waiting(ana, 0);
    assert.strictEqual(steps("N").length, 1, "recorded once");

    // Back at the page that it was recorded on: that says so, and asks whether it was done once more.
    await ana.goto(`${home()}/step/frame?on=N`);
    await ana.getByText(/^Recorded already on N: .*by Ana Reid\.$/).waitFor();
    assert(!await button(ana, "Record").isVisible());
    await look(ana, "recorded-already");
    // Another phone that has had it open all the time is told as well.
    await ivo.goto(`${home()}/step/frame?on=E`);
    await ivo.getByRole("heading", { name: "Frame checked on E" }).waitFor();
    await ana.goto(`${home()}/step/frame?on=E`);
    await ana.getByLabel("In mm").fill("1");
    await twice(button(ana, "Record"));
    await recorded(ana);
    await ivo.getByText(/^Recorded already on E: .*by Ana Reid\.$/).waitFor();
    assert.strictEqual(steps("E").length, 1);

    // No answer at all, not even that nobody answers.
    await ivo.goto(`${home()}/on/N?on=N`);
    await ivo.route("**/note", () => {}, { times: 1 });
    await opened(ivo, "Note");
    await ivo.getByLabel("Note").fill("scaffold moved");
    await twice(button(ivo, "Keep the note"));
    await button(ivo, "Sending …").waitFor();
    await ivo.locator("[data-waits]").waitFor();
    await waiting(ivo, 0);
    assert.strictEqual(entries("noted").length, 1);

    // Out of reach: two notes and two photos from one page, one of them pressed again; each is recorded once.
    await ivo.goto(`${home()}/on/N?on=N`);
    await kept(ivo, "/?on=N");
    await stop();
    const away = async (what, fill, press) => {
        await ivo.getByRole("link", { name: "Now", exact: true }).tap();
        await ivo.locator("[data-waits]").waitFor({ state: "detached" });
        await ivo.getByText(/As it was at/).waitFor();
        await opened(ivo, what);
        await fill();
        await twice(button(ivo, press));
        await ivo.locator("[data-waits]").waitFor();
    };
    const note = text => away("Note", () => ivo.getByLabel("Note").fill(text), "Keep the note");
    const shot = () => away("Photo", () => ivo.locator("input[type=file]").first().setInputFiles(photo()), "Keep the photo");
    await note("batten split");
    await note("batten replaced");
    await note("batten replaced");
    await shot();
    await waiting(ivo, 3);
    await look(ivo, "several-wait");
    await serve();
    await waiting(ivo, 0);
    assert.strictEqual(entries("noted").length, 3);
    assert.strictEqual(entries("photo-added").length, 1);

    // Two hours asleep: the clock is right at the first press, and what is recorded is of now.
    await ana.clock.install();
    await ana.goto(`${home()}/?on=N`);
    await ana.clock.fastForward("02:00:00");
    await ana.getByRole("link", { name: "Holds" }).tap();
    await ana.getByRole("heading", { name: "Hold points" }).waitFor();
    assert.match(await ana.locator("[data-clock]").innerText(), /^07:0/);
    await next(ivo).first().waitFor();
}

run("a phone in a wet glove", day);
