// A whole site day by the shipped panel sequence, on three phones against one server: a lead, an installer and the builder.
// What is done next is what *Now* says. Job, people and answers are invented.
//
// The day is opened; each reads their own cautions; the frame, its release by the builder, wrap to cavity and its
// release; a delivery; starter to courses, some of them out of the laptop's reach; a defect put right; the sealing planned;
// rain on what is primed; sealed in its windows; extra work; the wall accepted; the day closed; the pack made and verified,
// and what the builder said in it confirmed with the key of his phone.
//
//     NODE_PATH=… CHROMIUM=… CLADLOG=… node phone_day.js FOLDER REPOSITORY

const assert = require("assert");
const fs = require("fs");
const path = require("path");
const { execFileSync } = require("child_process");
const {
    CLADLOG, at, button, cladlog, closed, entries, folder, home, kept, look, next, opened, pair, phone, photo, rained, recorded, run, serve,
    serveAt, stop,
} = require("./phone_site.js");

const JOB = `
key = "boatshed"
name = "Boat shed, 2 Invented Quay"
time_zone = "Pacific/Auckland"
latitude_deg = -41.29
longitude_deg = 174.78
sequence = "panels-on-clips"
[panel]
length_mm = 2400
cover_mm = 600
least_column_mm = 300
least_piece_mm = 100
joint_mm = 10
clear_of_opening_mm = 100
lift_in_mm = 5
[[person]]
name = "Nell Foss"
roles = ["lead"]
[[person]]
name = "Kit Oram"
roles = ["installer"]
[[person]]
name = "Abel Dunn"
roles = ["builder"]
[[wall]]
key = "S"
name = "South, in the shade"
length_mm = 4800
height_mm = 2400
bearing_deg = 180
courses = 4
joints_mm = [1600, 3200]
[[wall.opening]]
key = "O1"
kind = "window"
from_mm = 1900
to_mm = 2900
sill_mm = 900
head_mm = 1500
`;
// A time of the day.
const clock = time => `2026-03-03T${time}:00+13:00`;

// What is typed where a number or a label is asked for, by step and question; elsewhere what is usual is taken.
const TYPED = {
    "deliveries panel-batch": "B-77", "frame-square out": "5500", "frame-plumb lean": "3", "frame-read found": "4", "frame-flat flat": "2",
    "frame-moisture moisture": "15", "starter level": "1", "starter ground": "190", "starter height": "30", "course-level level": "1",
    "cavity depth": "20", "mask width": "10", "mask depth": "8", "prime primer-batch": "P-4", "gun sealant-batch": "S-9",
};
// What is chosen, where the first is not it.
const CHOSEN = { "starter below": "soil" };

// Answers the questions of a step that is open, one by one, and records it.
async function answer(page) {
    const key = await page.locator(".step").getAttribute("data-step");
    const asks = page.locator(".step .ask");
    for (let question = 0; question < await asks.count(); question += 1) {
        const ask = asks.nth(question);
        await ask.waitFor();
        const field = ask.locator("[name^='answer:']").first();
        if (await field.count()) {
            const name = (await field.getAttribute("name")).slice("answer:".length).split("@")[0];
            await fill(ask, `${key} ${name}`);
        } else {
            // Gun, tooled, tape off: all of it is done, begun five minutes ago.
            await (await ask.locator("[name=so_far]").count() ? ask.locator("[name=so_far]").last() : ask.getByLabel("5 min ago", { exact: true })).check();
        }
        const on = button(page, "Next");
        // A yes goes on by itself.
        if (await on.isVisible() && await ask.isVisible()) await on.tap();
    }
    await page.locator(".step button.go").tap();
    await recorded(page);
    const flags = await page.locator(".done .flag").allInnerTexts();
    assert.deepStrictEqual(flags, [], `${key} opens no defect`);
    return key;
}
async function fill(ask, question) {
    const radio = ask.locator("input[type=radio]");
    if (await ask.locator("input[type=file]").count()) {
        await ask.locator("input[type=file]").setInputFiles(photo());
    } else if (await radio.count() && await ask.getByLabel("Yes", { exact: true }).count()) {
        await ask.getByLabel("Yes", { exact: true }).check();
    } else if (await radio.count()) {
        // Of batches the one that is offered first is taken already.
        const taken = ask.locator("input[type=radio]:checked");
        if (!await taken.count() || await taken.inputValue() === "") await radio.nth(0).check();
        if (CHOSEN[question]) await ask.getByLabel(CHOSEN[question], { exact: true }).check();
    } else {
        for (const input of await ask.locator("input").all()) {
            const limit = await ask.locator(".limit").first().innerText().catch(() => "");
            const planned = limit.match(/required: ([\d.]+) mm/)?.[1];
            const value = await input.inputValue();
            await input.fill(value || TYPED[question] || planned || "0");
        }
    }
}
// Does at a wall what Now says, until that is something else; gives the heading of that.
async function work(page, until) {
    for (;;) {
        await page.goto(`${home()}/?on=S`);
        const heading = await next(page).innerText();
        if (until.test(heading)) return heading;
        if (/^Caution/.test(heading)) {
            await page.getByRole("link", { name: "Read it" }).tap();
            await read(page);
        } else if (/^Reading/.test(heading)) {
            await reading(page);
        } else if (/^Plan the sealing/.test(heading)) {
            await planned(page);
        } else {
            await page.locator(".next a.go").tap();
            await page.locator(".step").waitFor();
            await answer(page);
        }
    }
}
// Reads the cautions that are due, and those on the other phones as well: each on their own.
let others = [];
async function read(page) {
    for (const own of [page, ...others]) {
        await own.goto(`${home()}/cautions?on=S`);
        while (await own.locator("article").count()) {
            const title = await own.locator("article h2").first().innerText();
            await own.locator("article").first().getByRole("button", { name: "I have read it" }).tap();
            await own.locator("article", { hasText: title }).waitFor({ state: "detached" });
        }
    }
}
async function planned(page) {
    await button(page, "Plan it").tap();
    await recorded(page, "seal plan");
}
async function reading(page) {
    const form = page.locator(".next form");
    const typed = [[/^Air/, "17"], [/^Humidity/, "65"], [/^Surface/, "18"], [/^Wind as measured/, "12"]];
    for (const [label, value] of typed) {
        if (await form.getByLabel(label).count()) await form.getByLabel(label).fill(value);
    }
    await button(form, "Keep the reading").tap();
    await recorded(page);
}
// Asks for the release of a hold point; the builder hears of it on his phone, looks, releases it, and signs that he did.
async function released(lead, builder, key) {
    await builder.goto(`${home()}/?on=S`);
    await lead.getByRole("link", { name: "See the hold point" }).first().tap();
    await lead.locator(`#hold-${key}`).getByRole("button", { name: "Request the release" }).tap();
    await lead.locator("main").getByText("release requested").first().waitFor();
    // Without a reload.
    await builder.locator("main").getByText("Your release was requested").waitFor();
    await builder.getByRole("link", { name: "See the hold point" }).first().tap();
    const hold = builder.locator(`#hold-${key}`);
    await opened(hold, "What is recorded of it");
    if (key === "frame") await look(builder, "release");
    await hold.getByRole("button", { name: "Release it" }).tap();
    await recorded(builder);
    await button(builder, "Confirm it with this phone's key").first().tap();
    await button(builder, "Confirm it with this phone's key").waitFor({ state: "detached" });
}
async function delivered(page, product, batch, count, more = {}) {
    await page.goto(`${home()}/stock?on=S`);
    const form = page.locator("form", { has: page.getByRole("button", { name: "Record the delivery" , includeHidden: true }) });
    if (!await form.isVisible()) await opened(page, "Something was delivered");
    await form.locator("select").selectOption(product);
    await form.getByLabel("Batch number").fill(batch);
    await form.getByLabel("How many").fill(count);
    for (const [label, value] of Object.entries(more)) await form.getByLabel(label).fill(value);
    await button(form, "Record the delivery").tap();
    await recorded(page);
}

async function day() {
    at(clock("06:50"));
    fs.writeFileSync(path.join(folder, "job.toml"), JOB);
    cladlog("job", "add", "job.toml");
    const said = await serve();
    const [lead, installer, builder] = [await phone(), await phone(), await phone()];
    await pair(lead, said.pairing.url, "Nell Foss");
    await pair(installer, cladlog("serve", "pair").pairing.url, "Kit Oram");
    await pair(builder, cladlog("serve", "pair").pairing.url, "Abel Dunn");
    others = [installer];

    await lead.getByLabel("Topic of the pre-start talk").fill("Frame to cladding, rain after eleven");
    await button(lead, "Open the day").tap();
    await recorded(lead, "site day opened");
    await serveAt(clock("07:10"));
    await delivered(lead, "panel", "B-77", "60", { Colour: "fog grey" });
    await delivered(installer, "primer", "P-4", "2", { "Use by": "11/2027" });
    await delivered(installer, "sealant", "S-9", "20", { "Use by": "30/11/2027" });
    await look(installer, "stock");

    // The frame, and what the panels will hide.
    await work(lead, /^Hold point/);
    await serveAt(clock("08:30"));
    await lead.goto(`${home()}/?on=S`);
    await released(lead, builder, "frame");
    await work(lead, /^Hold point/);
    await lead.goto(`${home()}/?on=S`);
    await released(lead, builder, "cover-up");

    // Up to the first courses; then the laptop is out of reach.
    await serveAt(clock("09:30"));
    await work(lead, /^Course hung/);
    await installer.goto(`${home()}/?on=S`);
    await installer.getByRole("link", { name: "Start" }).tap();
    await installer.locator(".step").waitFor();
    await kept(installer, "/?on=S");
    await stop();
    const before = entries("step-done").length;
    await installer.getByLabel("Yes", { exact: true }).check();
    await installer.locator(".step button.go").tap();
    await installer.locator("main").getByText("Waiting: Course hung").waitFor();
    assert.strictEqual(entries("step-done").length, before);
    at(clock("09:45"));
    await serve();
    await installer.locator("main").getByText("Waiting: Course hung").waitFor({ state: "detached" });
    const hung = entries("step-done").slice(before);
    assert(hung.length > 0 && hung.every(entry => entry.by === "Kit Oram"), "sent once, by whose phone it is");

    // A defect, seen by the installer and put right before the lead's eyes.
    await installer.goto(`${home()}/on/S/C1?on=S`);
    await opened(installer, "Defect");
    const seen = installer.locator("form", { hasText: "Record the defect" });
    await seen.getByLabel("What is wrong").fill("Edge of the first panel chipped");
    await seen.locator("input[type=file]").setInputFiles(photo());
    await button(seen, "Record the defect").tap();
    await recorded(installer);
    await look(installer, "defects-installer");
    await lead.goto(`${home()}/defects?on=S`);
    await look(lead, "defects");
    await lead.getByLabel("How was it put right?").fill("Panel taken off and replaced");
    await button(lead, "It is put right").tap();
    await lead.getByText("No defect is open.").waitFor();

    // The courses to the top, and the sealing by the plan.
    await work(lead, /^Plan the sealing/);
    await planned(lead);
    await look(lead, "sealplan");
    await work(lead, /^(Primed|Nothing)/);
    await serveAt(clock("10:00"));
    await lead.goto(`${home()}/step/prime?on=S/J1..2`);
    await answer(lead);
    await lead.goto(`${home()}/clocks?on=S`);
    await lead.locator(".clock.waiting").first().waitFor();
    await look(lead, "waiting");

    // Rain on what is primed: work stops, and the joints are primed again once they are dry.
    await serveAt(clock("10:20"));
    await installer.goto(`${home()}/?on=S`);
    await rained(installer, "Abel Dunn");
    await lead.goto(`${home()}/clocks?on=S`);
    await lead.locator(".clock.lapsed").first().waitFor();
    await look(lead, "lapsed");
    await serveAt(clock("12:30"));
    await lead.goto(`${home()}/?on=S`);
    await button(lead, "Work has resumed").tap();
    await recorded(lead);
    await work(lead, /^(Primed|Nothing)/);
    await lead.goto(`${home()}/step/prime?on=S/J1..2,S/O1`);
    await answer(lead);
    await serveAt(clock("13:05"));
    await lead.goto(`${home()}/step/gun?on=S/J1..2,S/O1`);
    await look(lead, "bead");
    await answer(lead);
    // One press for all three.
    await recorded(lead, /Recorded: Gunned, .*tape off on S/);

    // What the builder asks for is recorded before it is done.
    await lead.goto(`${home()}/extra?on=S`);
    await lead.getByLabel("What was asked for").fill("Panel behind the downpipe");
    await lead.getByLabel("Who asked for it").fill("Abel Dunn");
    await lead.getByLabel("Hours, of each person").fill("1,5");
    await button(lead, "Record the extra work").tap();
    await recorded(lead);
    await look(lead, "extra");

    // The wall is finished, accepted, handed over; the day is closed.
    await serveAt(clock("15:00"));
    await work(lead, /^Hold point/);
    await lead.goto(`${home()}/?on=S`);
    await released(lead, builder, "handover");
    await work(lead, /^Every step is done/);
    await lead.goto(`${home()}/evening?on=S`);
    await closed(lead);
    await stop();
    cladlog("pack", "pack");
    execFileSync(CLADLOG, ["verify", "pack"], { cwd: folder });
    const confirmed = fs.readFileSync(path.join(folder, "pack/tables/confirmations.csv"), "utf8");
    assert.strictEqual(confirmed.match(/Abel Dunn,own-key/g)?.length, 3, confirmed);
    assert.deepStrictEqual(cladlog("defect", "list").defects.map(one => one.state), ["closed"]);
    assert.strictEqual(entries("photo-added").length, 1);
}

run("a day by the shipped sequence on three phones", day);
