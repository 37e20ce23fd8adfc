// The parts of a day on three phones, against a running server, with the small sequence of the tests:
//
// - pairing, a wall walked by touch, a measurement judged before it is recorded, photos, a hold point released by the
//   builder on their own phone and confirmed with the phone's key, a rain stop, a closing window, undo;
// - what one records is on the others' screens without a reload;
// - out of the laptop's reach: what is recorded waits, is sent once, and what is refused then says why;
// - with scripts switched off the same forms do;
// - axe-core without a violation, light and dark; no page scrolls sideways at 360, 390 and 1024 px.
//
//     NODE_PATH=… CHROMIUM=… CLADLOG=… node phone_check.js FOLDER REPOSITORY

const assert = require("assert");
const fs = require("fs");
const path = require("path");
const { execFileSync } = require("child_process");
const {
    CLADLOG, at, button, cladlog, closed, entries, folder, home, kept, look, next, opened, pair, phone, photo, rained, recorded, run, serve,
    serveAt, shed, stop,
} = require("./phone_site.js");

async function day() {
    shed();
    const said = await serve();
    const [ana, ivo, bea] = [await phone(), await phone({ viewport: { width: 360, height: 740 } }), await phone()];

    // A stranger sees how to pair, and no more.
    const answer = await ana.goto(home());
    assert.strictEqual(answer.status(), 401);
    await ana.locator("main").getByText("This phone is not paired").first().waitFor();
    await look(ana, "unpaired");
    await ana.goto(said.pairing.url);
    await look(ana, "pair");
    await pair(ana, said.pairing.url, "Ana Reid");
    await pair(ivo, cladlog("serve", "pair").pairing.url, "Ivo Marsh");
    await pair(bea, cladlog("serve", "pair").pairing.url, "Bea Quist");

    // The day is opened by the lead; the installer's phone follows.
    await look(ana, "open-the-day");
    await ana.getByLabel("Bea Quist").uncheck();
    await button(ana, "Open the day").tap();
    await recorded(ana, "site day opened");
    await next(ivo).getByText("Frame checked").waitFor();

    // A measurement is judged before it is recorded.
    await ana.getByRole("link", { name: "Wall N", exact: true }).tap();
    await ana.getByRole("heading", { name: "Now at N" }).waitFor();
    await look(ana, "now");
    await ana.getByRole("link", { name: "Start" }).tap();
    await ana.getByRole("heading", { name: "Frame checked on N" }).waitFor();
    await ana.getByLabel("In mm").fill("5");
    await ana.getByLabel("In mm").blur();
    await ana.locator("main").getByText("Out by 2 mm").waitFor();
    await look(ana, "step");
    assert.strictEqual(entries("step-done").length, 0, "nothing is recorded by being judged");
    await ana.getByLabel("In mm").fill("2");
    await ana.getByLabel("In mm").blur();
    await ana.locator("main").getByText("In tolerance.").waitFor();
    await button(ana, "Record").tap();
    await recorded(ana, "Frame checked on N");

    // Undo, and again.
    await opened(ana, "Undo");
    await button(ana, "Take it back").tap();
    await next(ana).getByText("Frame checked on N").waitFor();
    await ana.getByRole("link", { name: "Start" }).tap();
    await ana.getByLabel("In mm").fill("1");
    await button(ana, "Record").tap();
    await recorded(ana, "Frame checked on N");

    // A photo, on the right subject.
    await ivo.goto(`${home()}/on/N?on=N`);
    await opened(ivo, "Photo");
    await ivo.locator("input[type=file]").first().setInputFiles(photo());
    await button(ivo, "Keep the photo").tap();
    await recorded(ivo, "photo on N");
    assert.strictEqual(entries("photo-added")[0].subject, "N");
    assert.strictEqual(entries("photo-added")[0].by, "Ivo Marsh");
    await look(ivo, "subject");

    // The hold point: requested by the lead, released by the builder, confirmed with the key of her phone.
    await ana.goto(`${home()}/holds?on=N`);
    await button(ana, "Request the release").first().tap();
    await ana.locator("main").getByText("release requested").first().waitFor();
    await look(ana, "holds");
    await bea.goto(`${home()}/holds?on=N`);
    await look(bea, "holds-to-release");
    await button(bea, "Release it").first().tap();
    await bea.locator("main").getByText("released by Bea Quist").first().waitFor();
    await button(bea, "Confirm it with this phone's key").tap();
    await bea.locator("main").getByText("confirmed with their own key").waitFor();

    // Cautions, each on their own phone; then courses, by touch.
    await ana.goto(`${home()}/?on=N`);
    await ana.getByRole("link", { name: "Caution: Dust" }).waitFor();
    for (const page of [ana, ivo]) {
        await page.goto(`${home()}/cautions?on=N`);
        await button(page, "I have read it").tap();
        await page.getByText("You have read all that is due now.").waitFor();
    }
    await look(ana, "cautions");
    await ana.goto(`${home()}/?on=N`);
    await next(ana).getByText("Hang the course on N/C1..6").waitFor();
    await ana.getByRole("link", { name: "Start" }).tap();
    await ana.getByRole("link", { name: "C2", exact: true }).tap();
    await ana.getByRole("heading", { name: "Hang the course on N/C1..2" }).waitFor();
    await button(ana, "Done: record it").tap();
    await recorded(ana, "Hang the course on N/C1..2");
    await ana.goto(`${home()}/wall/N`);
    await look(ana, "wall");
    // A place of the drawing leads to it.
    await ana.locator(".drawing a[href='/on/N/C3']").dispatchEvent("click");
    await ana.getByRole("heading", { name: "N/C3, a course" }).waitFor();

    // Out of reach: what is recorded waits, with its time; what others undid meanwhile makes it refused.
    await ivo.goto(`${home()}/step/course?on=N/C3`);
    await ivo.getByRole("heading", { name: "Hang the course on N/C3" }).waitFor();
    await kept(ivo, "/?on=N");
    await stop();
    await button(ivo, "Done: record it").tap();
    await ivo.locator("main").getByText("Waiting: Hang the course on N/C3").waitFor();
    await look(ivo, "away");
    await ivo.getByRole("link", { name: "Now", exact: true }).tap();
    await ivo.locator("main").getByText(/As it was at/).waitFor();
    assert.strictEqual(entries("step-done").filter(entry => entry.subject === "N/C3").length, 0);
    await serve();
    await ivo.locator("main").getByText("Waiting: Hang the course").waitFor({ state: "detached" });
    assert.strictEqual(entries("step-done").filter(entry => entry.subject === "N/C3").length, 1, "sent once");
    await ana.goto(`${home()}/step/course?on=N/C5`);
    await ivo.goto(`${home()}/step/course?on=N/C4`);
    await stop();
    await button(ivo, "Done: record it").tap();
    await ivo.locator("main").getByText("Waiting: Hang the course on N/C4").waitFor();
    cladlog("undo");
    await serve();
    await ivo.locator("main").getByText("Refused: Hang the course on N/C4").waitFor();
    await ivo.locator("main").getByText(/^Why: /).first().waitFor();
    await look(ivo, "refused");
    await button(ivo, "Drop it").tap();
    await ivo.locator("main").getByText("Refused: Hang the course").waitFor({ state: "detached" });

    // Rain stops the job on one phone, and stands on the others.
    await ana.goto(`${home()}/?on=N`);
    await rained(ana);
    await ana.locator("main").getByText(/^STOPPED since/).waitFor();
    await ivo.goto(`${home()}/?on=N`);
    await ivo.locator("main").getByText(/^STOPPED since/).waitFor();
    await look(ivo, "stopped");
    await button(ana, "Work has resumed").tap();
    await ivo.locator("main").getByText(/^STOPPED since/).waitFor({ state: "detached" });

    // With scripts switched off, by plain forms alone.
    const bare = await phone({ javaScriptEnabled: false });
    await pair(bare, cladlog("serve", "pair").pairing.url, "Ivo Marsh");
    await bare.goto(`${home()}/step/prime?on=N/J1`);
    await button(bare, "Done: record it").tap();
    await recorded(bare, "Prime the joint on N/J1");
    await bare.goto(`${home()}/step/gun?on=N/J1`);
    await bare.locator("main").getByText("Not yet:").waitFor();
    await bare.locator("main").getByText("It has happened all the same").waitFor();

    // The window is about to close: it counts, and says so five minutes before.
    await serveAt("2026-03-02T12:54:58+13:00");
    await ana.goto(`${home()}/clocks?on=N`);
    await ana.locator(".clock.closing").waitFor();
    await look(ana, "clocks");
    const before = await ana.locator("[data-count]").textContent();
    await ana.waitForFunction(text => document.querySelector("[data-count]").textContent !== text, before);
    await ana.locator("p.hear", { hasText: "left." }).waitFor({ state: "attached" });
    await ana.goto(`${home()}/?on=N`);
    await ana.locator(".clock.closing").waitFor();
    // Gunning asks for a reading first.
    await next(ana).getByText("Reading on N").waitFor();
    await look(ana, "reading");
    await ana.locator(".next").getByLabel("Air in the shade, °C").fill("18,5");
    await ana.locator(".next").getByLabel("Humidity, %").fill("60");
    await ana.locator(".next").getByLabel("Surface of N, °C").fill("19");
    await button(ana, "Keep the reading").first().tap();
    await recorded(ana, "reading on N");
    await ana.goto(`${home()}/step/gun?on=N/J1`);
    await button(ana, "Done: record it").tap();
    await recorded(ana, "Gun the joint on N/J1");

    // The evening: the text for the builder, the hours, the pack with what she confirmed.
    await serveAt("2026-03-02T16:30:00+13:00");
    await ana.goto(`${home()}/evening?on=N`);
    await look(ana, "evening");
    await closed(ana);
    await stop();
    cladlog("pack", "pack", "--interim");
    const table = fs.readFileSync(path.join(folder, "pack/tables/confirmations.csv"), "utf8");
    assert.match(table, /Bea Quist,own-key/);
    assert.strictEqual(entries("phone-paired").length, 4);
    execFileSync(CLADLOG, ["verify", "pack"], { cwd: folder });
}

run("the parts of a day on three phones", day);
