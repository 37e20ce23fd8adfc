// What a page gains where scripts run: one question at a time, clocks that count and sound, pages that follow what others
// record, and what is recorded out of the laptop's reach, which waits here and is sent once. No rule stands here: what is
// asked and how it is judged comes from the laptop.
"use strict";
(() => {
    if (!document.body.dataset.token) return;
    const MINUTE = 60_000;
    const { person } = document.body.dataset;
    // The laptop's clock counts, not the phone's.
    let ahead = Number(document.body.dataset.now) - Date.now();
    const now = () => Date.now() + ahead;
    const all = (what, within = document) => [...within.querySelectorAll(what)];
    const make = (name, text, more = {}) => Object.assign(document.createElement(name), { textContent: text }, more);
    const live = make("p", "", { className: "hear" });
    live.setAttribute("role", "status");
    document.body.append(live);
    const say = text => { live.textContent = ""; setTimeout(() => { live.textContent = text; }, 50); };

    // What is kept on the phone: requests that wait, pages that were seen, the phone's key.
    const opened = new Promise((done, failed) => {
        const request = indexedDB.open("cladlog", 1);
        request.onupgradeneeded = () => {
            request.result.createObjectStore("waiting", { keyPath: "at", autoIncrement: true });
            request.result.createObjectStore("pages");
            request.result.createObjectStore("key");
        };
        request.onsuccess = () => done(request.result);
        request.onerror = () => failed(request.error);
    });
    const kept = async (store, mode, act) => {
        const transaction = (await opened).transaction(store, mode);
        const request = act(transaction.objectStore(store));
        return new Promise((done, failed) => {
            transaction.oncomplete = () => done(request.result);
            transaction.onerror = transaction.onabort = () => failed(transaction.error);
        });
    };
    const waiting = () => kept("waiting", "readonly", store => store.getAll()).catch(() => []);

    // How long the laptop is waited for: out of its reach a phone may hear nothing at all, not even that nobody answers.
    const within = seconds => AbortSignal.timeout?.(seconds * 1000);
    const LOOK = 8, FORM = 12, PHOTO = 300;

    // When each page was last fetched.
    const fresh = new Map();
    // Pages: fetched, shown in place, kept for when the laptop is out of reach.
    async function fetched(url) {
        const answer = await fetch(url, { headers: { accept: "text/html" }, signal: within(LOOK) });
        if (answer.status === 401) { location.assign(url); throw new Error("not paired"); }
        const html = await answer.text();
        if (answer.ok) fresh.set(bare(url), now());
        if (answer.ok) kept("pages", "readwrite", store => store.put({ html, at: now() }, bare(url))).catch(() => {});
        return html;
    }
    // A page by its address, without what was just recorded.
    function bare(url) {
        const address = new URL(url, location);
        address.searchParams.delete("done");
        return address.pathname + address.search;
    }
    let going;
    async function go(url, push = true) {
        // Pressed twice it is one page further, and the last that was pressed counts.
        if (going === url) return;
        going = url;
        let html;
        let old = false;
        try {
            html = await fetched(url);
            reached();
        } catch {
            lost();
            const page = await kept("pages", "readonly", store => store.get(bare(url))).catch(() => undefined);
            if (!page) {
                if (going === url) going = undefined;
                return say("This page was not opened before the connection was lost.");
            }
            ({ html } = page);
            old = page.at;
        }
        if (going !== url) return;
        going = undefined;
        show(html, url, push, old);
        if (old) document.querySelector("main h1").after(make("p", `As it was at ${clock(old)}.`, { className: "fine" }));
    }
    function show(html, url, push, old = false) {
        const page = new DOMParser().parseFromString(html, "text/html");
        if (!page.body.dataset.token) { location.assign(url); return; }
        going = undefined;
        document.title = page.title;
        document.body.dataset.token = page.body.dataset.token;
        // A page that was kept has the time of then.
        if (!old) ahead = Number(page.body.dataset.now) - Date.now();
        for (const what of ["header", "main", "nav.bar"]) document.querySelector(what).replaceWith(page.querySelector(what));
        const address = new URL(url, location);
        if (push) history.pushState(null, "", bare(url) + address.hash); else history.replaceState(null, "", bare(url) + address.hash);
        begin();
        const to = document.querySelector("main [role=alert]") || (address.hash && document.getElementById(address.hash.slice(1)));
        if (to) {
            if (to.tagName === "DETAILS") to.open = true;
            to.scrollIntoView();
        } else {
            scrollTo(0, 0);
        }
        (to || document.getElementById("main")).focus({ preventScroll: true });
        const notice = document.querySelector("main .box[role]");
        if (notice) say(notice.querySelector("p").innerText);
    }
    document.addEventListener("click", event => {
        const link = event.target.closest("a[href]");
        if (!link || event.defaultPrevented || event.button || event.ctrlKey || event.metaKey || event.shiftKey) return;
        const url = new URL(link.getAttribute("href"), location);
        if (url.origin !== location.origin || url.pathname.startsWith("/photo/") || link.getAttribute("href").startsWith("#")) return;
        event.preventDefault();
        go(url.pathname + url.search + url.hash);
    });
    addEventListener("popstate", () => go(location.pathname + location.search, false));

    // The parts of a page that follow what is recorded elsewhere; not while somebody types in them.
    let due;
    // Nor under a thumb: what it is on must still be there when it is lifted.
    let touching = false;
    addEventListener("pointerdown", () => { touching = true; }, true);
    for (const what of ["pointerup", "pointercancel"]) addEventListener(what, () => setTimeout(() => { touching = false; }, 100), true);
    const isTyped = form => [...form.elements].some(field => {
        if (isTicked(field)) return field.checked !== field.defaultChecked;
        if (field.type === "select-one") return field.selectedIndex > 0 && !field.options[field.selectedIndex].defaultSelected;
        return field.name && field.value !== field.defaultValue;
    });
    const same = (one, other) => [one, other].map(part => part.innerHTML.replace(/name="request_id" value="[^"]*"/g, "")).reduce((a, b) => a === b);
    function refresh(after = 250) {
        clearTimeout(due);
        due = setTimeout(async () => {
            try {
                const page = new DOMParser().parseFromString(await fetched(location.pathname + location.search), "text/html");
                if (!page.body.dataset.token) return;
                if (touching) return refresh(400);
                ahead = Number(page.body.dataset.now) - Date.now();
                for (const part of all("main > [data-part], nav.bar")) {
                    const other = part.id ? page.getElementById(part.id) : page.querySelector("nav.bar");
                    const busy = all("form", part).some(isTyped) || (part.contains(document.activeElement) && document.activeElement.matches("input, select, textarea"));
                    if (other && !busy && !part.querySelector("details[open]") && !same(part, other)) part.replaceWith(other);
                }
                reached();
                tick();
            } catch { lost(); }
        }, after);
    }

    // Within reach of the laptop, or not.
    let away = false;
    function lost() {
        if (!away) say("No connection to the laptop. What you record waits on this phone.");
        away = true;
        list();
    }
    function reached() {
        if (away) { away = false; say("Connected to the laptop again."); list(); }
        flush();
    }
    let events;
    function listen() {
        events?.close();
        events = new EventSource("/api/changes");
        events.onmessage = () => refresh();
        events.onopen = () => { reached(); refresh(); };
        events.onerror = () => { lost(); if (events.readyState === EventSource.CLOSED) setTimeout(listen, 5000); };
    }

    // What is recorded: sent at once, or kept until the laptop is in reach.
    const id = () => [...crypto.getRandomValues(new Uint8Array(12))].map(byte => byte.toString(16).padStart(2, "0")).join("");
    const body = ({ multipart, fields }) => {
        const data = multipart ? new FormData() : new URLSearchParams();
        fields.forEach(([name, value]) => data.append(name, value));
        return data;
    };
    // A page that is kept may be sent from more than once: each time under an id of its own.
    function newId(fields) {
        const sent = JSON.parse(localStorage.getItem("sent") || "[]");
        const given = fields.find(([name]) => name === "request_id");
        if (given && sent.includes(given[1])) given[1] = id();
        if (given) localStorage.setItem("sent", JSON.stringify([...sent, given[1]].slice(-300)));
    }
    // What a form says, to know the same form pressed again.
    const saying = ({ path, fields }) => JSON.stringify([path, fields.filter(([name]) => !["token", "request_id", "pressed_at"].includes(name)).map(([name, value]) => [name, value.size ? [value.name, value.size, value.lastModified] : value])]);
    const send = (one, accept) => fetch(one.path, { method: "POST", body: body(one), headers: { accept }, signal: within(one.multipart ? PHOTO : FORM) });
    document.addEventListener("submit", async event => {
        const form = event.target;
        if (form.method !== "post") return;
        event.preventDefault();
        const button = event.submitter || form.querySelector("button");
        if (button.disabled) return;
        button.disabled = true;
        const word = button.textContent;
        const draft = draftOf(form);
        // A field says that it changed also when it is taken off the page.
        const forget = () => { form.dataset.sent = ""; sessionStorage.removeItem(draft.key); };
        const one = {
            path: new URL(form.action).pathname,
            multipart: form.enctype === "multipart/form-data",
            fields: [...new FormData(form)].filter(([, value]) => !(value instanceof File) || value.size),
            title: form.closest(".step") ? document.querySelector("h1").textContent : `${word} (${document.querySelector("h1").textContent})`,
            from: bare(location),
            at: now(),
            draft,
            typed: draft.values.map(([, , text]) => text).filter(Boolean).join("; "),
        };
        // Somebody who sees nothing happen presses again, and again.
        const slow = setTimeout(() => { button.textContent = button.dataset.busy || "Sending …"; say(button.textContent); }, 500);
        const waits = await waiting();
        let html, answer;
        try {
            // What waits was done before.
            if (waits.some(other => !other.why)) throw new TypeError("others wait");
            newId(one.fields);
            answer = await send(one, "text/html");
            html = await answer.text();
        } catch {
            answer = undefined;
        }
        clearTimeout(slow);
        button.textContent = word;
        button.disabled = false;
        if (answer) {
            if (answer.redirected) forget();
            reached();
            return show(html, answer.redirected ? answer.url : location.href, answer.redirected);
        }
        one.fields.push(["pressed_at", new Date(one.at).toISOString()]);
        if (!waits.some(other => !other.why && saying(other) === saying(one))) {
            if (waits.some(other => !other.why)) newId(one.fields);
            try {
                await kept("waiting", "readwrite", store => store.add(one));
            } catch {
                const why = make("p", "Not recorded: the laptop is out of reach, and this phone has no room to keep it.", { className: "flag" });
                why.setAttribute("role", "alert");
                form.append(why);
                return lost();
            }
        }
        forget();
        // It is not to be sent twice.
        const note = make("p", "This waits on the phone.", { className: "box" });
        note.dataset.waits = "";
        form.replaceWith(note);
        lost();
        document.querySelector("#away")?.scrollIntoView();
        retry();
    });

    // What is typed and not sent yet outlasts a reload, a page pressed by mistake, a browser that put the page to sleep.
    const HOURS = 4 * 60 * MINUTE;
    const isTicked = field => field.type === "radio" || field.type === "checkbox";
    function draftOf(form) {
        const fields = [...form.elements].filter(field => field.name);
        const is = fields.filter(field => field.type === "hidden" && !["token", "request_id", "anyway"].includes(field.name)).map(field => field.value);
        const typed = fields.filter(field => !["hidden", "file", "submit"].includes(field.type) && field.name !== "why");
        const text = field => isTicked(field) ? (field.checked ? field.closest("label").textContent.trim() : "") : field.value;
        return {
            key: `draft ${bare(location)} ${JSON.stringify([new URL(form.action).pathname, ...is])}`,
            values: typed.map(field => [field.name, isTicked(field) ? field.checked : field.value, text(field)]),
        };
    }
    const keepDraft = ({ key, values }) => sessionStorage.setItem(key, JSON.stringify({ at: now(), person, values }));
    for (const what of ["input", "change"]) {
        document.addEventListener(what, event => {
            if (event.target.form?.method !== "post" || "sent" in event.target.form.dataset) return;
            keepDraft(draftOf(event.target.form));
        });
    }
    // Whether something that was typed before was put into a form again.
    function restore(form) {
        const { key, values } = draftOf(form);
        const draft = JSON.parse(sessionStorage.getItem(key) || "null");
        if (!draft || draft.person !== person || now() - draft.at > HOURS || draft.values.length !== values.length) return false;
        const fields = [...form.elements].filter(field => field.name && !["hidden", "file", "submit"].includes(field.type) && field.name !== "why");
        draft.values.forEach(([, value], place) => { fields[place][isTicked(fields[place]) ? "checked" : "value"] = value; });
        for (let details = form.closest("details"); details; details = details.parentElement.closest("details")) details.open = true;
        all("details", form).forEach(details => { details.open ||= all("input", details).some(field => isTicked(field) ? field.checked : field.value); });
        form.prepend(make("p", "What you had typed is still here.", { className: "fine" }));
        return true;
    }

    // What clears a refusal, where that is no other request: the form has a link to that.
    const toDo = ({ why, clears, remedy }) => remedy ? why : `${why}. To do: ${clears}`;
    let flushing = false;
    async function flush() {
        if (flushing) return;
        flushing = true;
        try {
            for (const one of (await waiting()).filter(other => !other.why)) {
                const answer = await send(one, "application/json");
                if (answer.ok) {
                    await kept("waiting", "readwrite", store => store.delete(one.at));
                    say(`Sent: ${one.title}.`);
                } else if (answer.status < 500 && answer.status !== 429 && answer.status !== 408) {
                    const said = await answer.json().catch(() => ({}));
                    one.why = said.refused ? toDo(said.refused) : said.error || `refused (${answer.status})`;
                    await kept("waiting", "readwrite", store => store.put(one));
                } else {
                    retry();
                    break;
                }
                await list();
                // The page that it was sent from is as it was before.
                if (document.querySelector("[data-waits]")) await go(location.pathname + location.search, false);
            }
        } catch { retry(); } finally { flushing = false; }
    }
    let trying;
    function retry() {
        clearTimeout(trying);
        trying = setTimeout(() => fetch("/api/head", { headers: { accept: "application/json" }, signal: within(LOOK) }).then(reached, retry), 3000);
    }
    // What waits, and what was refused, above everything else. What is known of it is there at once: nothing is to move
    // away under a thumb.
    let those = [];
    async function list() {
        draw();
        those = await waiting();
        draw();
    }
    function draw() {
        const before = document.getElementById("away");
        if (!away && those.length === 0) return before?.remove();
        const box = make("section", "", { id: "away", className: `box ${those.some(one => one.why) ? "stop" : ""}` });
        box.setAttribute("aria-label", "Connection");
        if (away) box.append(make("p", "No connection to the laptop. What you record waits on this phone and is sent once it is back, with the time that it happened."));
        for (const one of those) {
            const item = make("div", "");
            item.append(make("p", `${one.why ? "Refused" : "Waiting"}: ${one.title}, ${clock(one.at)}.${one.typed ? ` Typed: ${one.typed}.` : ""}`));
            if (one.why) {
                const again = make("a", "Open the form", { className: "go", href: one.from });
                // With what was typed, and when it was done.
                again.addEventListener("click", () => {
                    if (!one.draft) return;
                    const values = one.draft.values.map(([name, value]) => [name, name === "happened_at" && !value ? clock(one.at) : value]);
                    keepDraft({ key: one.draft.key, values });
                });
                const drop = make("button", "Drop it", { className: "quiet", type: "button" });
                drop.onclick = () => kept("waiting", "readwrite", store => store.delete(one.at)).then(list);
                item.append(make("p", `Why: ${one.why}`, { className: "flag" }), again, drop);
            }
            box.append(item);
        }
        if (before?.isEqualNode(box)) return;
        if (before) before.replaceWith(box); else document.querySelector("main h1").after(box);
    }

    // Clocks.
    const clock = at => {
        const zone = document.querySelector("[data-clock]")?.dateTime.match(/([+-])(\d\d):(\d\d)$/);
        const offset = zone ? Number(`${zone[1]}1`) * (Number(zone[2]) * 60 + Number(zone[3])) : 0;
        return new Date(at + offset * MINUTE).toISOString().slice(11, 16);
    };
    function left(length) {
        const seconds = Math.max(0, Math.floor(length / 1000));
        const two = number => String(number).padStart(2, "0");
        if (seconds >= 86_400) return `${Math.floor(seconds / 86_400)} d ${Math.floor(seconds % 86_400 / 3600)} h`;
        if (seconds >= 3600) return `${Math.floor(seconds / 3600)}:${two(Math.floor(seconds % 3600 / 60))} h`;
        return `${Math.floor(seconds / 60)}:${two(seconds % 60)}`;
    }
    const rung = new Set(JSON.parse(sessionStorage.getItem("rung") || "[]"));
    let sound;
    addEventListener("pointerdown", () => { sound ||= new AudioContext(); }, { once: true });
    function ring(text) {
        say(text);
        navigator.vibrate?.([400, 150, 400, 150, 400]);
        if (!sound) return;
        for (const start of [0, 0.35, 0.7]) {
            const tone = sound.createOscillator();
            tone.frequency.value = 880;
            tone.connect(sound.destination);
            tone.start(sound.currentTime + start);
            tone.stop(sound.currentTime + start + 0.2);
        }
    }
    function tick() {
        const at = now();
        const time = document.querySelector("[data-clock]");
        if (time) time.textContent = clock(at);
        for (const one of all(".clock[data-until]")) {
            const until = Number(one.dataset.until);
            one.querySelector("[data-count]").textContent = left(until - at);
            const bar = one.querySelector("progress");
            bar.value = Math.min(bar.max, bar.max - (until - at) / 1000);
            const times = [Number(one.dataset.warns), until - 5 * MINUTE, until - MINUTE, until];
            for (const when of times.filter(when => when && at >= when && at < when + MINUTE)) {
                const key = `${one.dataset.key} ${when}`;
                if (rung.has(key)) continue;
                rung.add(key);
                sessionStorage.setItem("rung", JSON.stringify([...rung].slice(-200)));
                ring(`${one.querySelector("h2").textContent}: ${left(until - at)} left.`);
                refresh(1500);
            }
        }
    }
    // The screen stays on while a window is about to close on it.
    let awake;
    async function wake() {
        const closing = all(".clock[data-until]").some(one => Number(one.dataset.until) - now() < 60 * MINUTE);
        if (!closing || awake || document.visibilityState !== "visible") return;
        try {
            awake = await navigator.wakeLock?.request("screen");
            awake?.addEventListener("release", () => { awake = undefined; });
        } catch { /* not allowed here */ }
    }
    document.addEventListener("visibilitychange", () => { if (document.visibilityState === "visible") { wake(); refresh(0); } });

    // One question at a time.
    function oneByOne(form, typed) {
        const asks = all(".ask", form);
        const submit = form.querySelector("button.go");
        if (asks.length === 0) return;
        const asked = make("p", "", { className: "place" });
        const back = make("button", "Back", { type: "button", className: "quiet" });
        const on = make("button", "Next", { type: "button" });
        const row = make("div", "", { className: "walk" });
        row.append(back, on);
        form.prepend(asked);
        submit.before(row);
        form.classList.add("one");
        let place = 0;
        const put = focus => {
            asks.forEach((ask, other) => { ask.hidden = other !== place; });
            asked.textContent = `Question ${place + 1} of ${asks.length}`;
            const last = place === asks.length - 1;
            back.hidden = place === 0;
            on.hidden = last;
            row.hidden = back.hidden && on.hidden;
            [submit, ...all("[data-last]", form)].forEach(one => { one.hidden = !last; });
            if (focus) {
                const field = asks[place].querySelector("input:not([type=hidden]), select, textarea");
                (field?.matches("[type=radio], [type=file]") ? asks[place].querySelector("legend, label") : field)?.focus();
                asked.scrollIntoView();
            }
        };
        const forward = () => {
            const wrong = all("input, select, textarea", asks[place]).find(field => !field.checkValidity());
            if (wrong) return wrong.reportValidity();
            place += 1;
            put(true);
        };
        all("legend", form).forEach(legend => { legend.tabIndex = -1; });
        on.addEventListener("click", forward);
        back.addEventListener("click", () => { place -= 1; put(true); });
        form.addEventListener("keydown", event => {
            if (event.key !== "Enter" || !event.target.matches("input") || on.hidden) return;
            event.preventDefault();
            forward();
        });
        // A field that a browser would point at has to be seen.
        form.addEventListener("invalid", event => {
            const found = asks.findIndex(ask => ask.contains(event.target));
            if (found >= 0 && found !== place) { place = found; put(false); }
        }, true);
        // Back to where something is wrong, or still to be answered.
        const open = ask => all("input, select, textarea", ask).some(field => !field.checkValidity()) || !all("input:not([type=hidden]), select, textarea", ask).some(field => /radio|checkbox/.test(field.type) ? field.checked : field.value);
        const flagged = asks.findIndex(ask => ask.querySelector(".flag"));
        const first = flagged < 0 && typed ? asks.findIndex(open) : flagged;
        place = first < 0 && typed ? asks.length - 1 : Math.max(first, 0);
        put(false);
        form.addEventListener("change", event => {
            const leadsOn = event.target.matches("[data-on]") && event.target.checked;
            if (leadsOn && !on.hidden && asks[place].contains(event.target) && !asks[place].querySelector("details[open]")) forward();
            judge(form, event.target);
        });
    }
    // How an answer is judged: asked of the laptop, which records nothing by it.
    async function judge(form, field) {
        if (!field.name?.startsWith("answer:") || field.type === "file") return;
        const typed = new URLSearchParams([...new FormData(form)].filter(([name, value]) => (name.startsWith("answer:") || name === "on") && typeof value === "string" && value));
        try {
            const answer = await fetch(`/step/${form.elements.step.value}?${typed}`, { headers: { accept: "text/html" } });
            const page = new DOMParser().parseFromString(await answer.text(), "text/html");
            for (const part of all(".judged", form)) {
                const other = part.id && page.getElementById(part.id);
                if (other && other.innerHTML !== part.innerHTML) {
                    part.innerHTML = other.innerHTML;
                    if (part.textContent) say(part.textContent);
                }
            }
        } catch { /* it is judged when it is sent */ }
    }

    // A text to be handed on.
    function share(text) {
        if (!navigator.share && !navigator.clipboard) return;
        const button = make("button", navigator.share ? "Share" : "Copy", { type: "button" });
        button.addEventListener("click", async () => {
            try {
                if (navigator.share) return await navigator.share({ text: text.dataset.share });
                await navigator.clipboard.writeText(text.dataset.share);
                button.textContent = "Copied";
            } catch { /* put away without sharing */ }
        });
        text.after(button);
    }

    // The phone's own key, made here and not to be taken out: it signs what is said in its person's name.
    async function key() {
        const before = await kept("key", "readonly", store => store.get(person));
        const made = before || await crypto.subtle.generateKey("Ed25519", false, ["sign", "verify"]);
        const raw = new Uint8Array(await crypto.subtle.exportKey("spki", made.publicKey));
        const pem = `-----BEGIN PUBLIC KEY-----\n${btoa(String.fromCharCode(...raw))}\n-----END PUBLIC KEY-----\n`;
        // Told each time: the phone may have been paired again since.
        const answer = await post("/key", { public: pem });
        if (!answer.ok) throw new Error("the key was not taken");
        if (!before) await kept("key", "readwrite", store => store.put(made, person));
        return made;
    }
    const post = (path, fields) => fetch(path, {
        method: "POST",
        body: new URLSearchParams({ token: document.body.dataset.token, request_id: id(), ...fields }),
        headers: { accept: "application/json" },
    });
    function sign(saying) {
        if (!crypto.subtle) return;
        const button = make("button", "Confirm it with this phone's key", { type: "button" });
        button.addEventListener("click", async () => {
            button.disabled = true;
            try {
                const own = await key();
                const bytes = new Uint8Array(await crypto.subtle.sign("Ed25519", own.privateKey, new TextEncoder().encode(saying.dataset.hash)));
                const signature = [...bytes].map(byte => byte.toString(16).padStart(2, "0")).join("");
                const answer = await post("/saying", { entry: saying.dataset.entry, signature });
                const said = await answer.json();
                if (!answer.ok) throw new Error(said.error || said.refused?.why);
                go(location.pathname + location.search, false);
            } catch (error) {
                button.disabled = false;
                saying.append(make("p", `Not confirmed: ${error.message || "this browser makes no such keys"}.`, { className: "flag" }));
            }
        });
        saying.append(button);
    }

    // What a page has: each time that one is shown. One that waits for something looks again by itself.
    let looking;
    function begin() {
        const again = all("main form[method=post]").filter(restore);
        all(".step form").forEach(form => oneByOne(form, again.includes(form)));
        clearTimeout(looking);
        if (document.querySelector("[data-again]")) looking = setTimeout(() => go(location.pathname + location.search, false), 2000);
        all("[data-share]").forEach(share);
        all("[data-entry][data-hash]").forEach(sign);
        all("input[type=file]").forEach(input => input.addEventListener("change", () => {
            input.closest("label").firstChild.textContent = input.files.length ? "Photo taken. Take another" : "Take a photo";
        }));
        // The count says it by the second.
        all(".clock[data-until] .state").forEach(state => { state.lastChild.textContent = state.lastChild.textContent.replace(/, in .*$/, ""); });
        tick();
        wake();
        list();
        keepPages();
    }
    // The pages that are likely wanted when the laptop is out of reach.
    let keeping;
    function keepPages() {
        clearTimeout(keeping);
        keeping = setTimeout(async () => {
            const wanted = new Set(all("nav.bar a, #now a, .pick a, [aria-labelledby=also] .rows a").map(link => link.getAttribute("href")).filter(href => !href.startsWith("/photo/")));
            for (const url of [...wanted].map(href => href.split("#")[0]).slice(0, 20)) {
                if (away) return;
                if (!(fresh.get(bare(url)) > now() - 5 * MINUTE)) await fetched(url).catch(() => {});
            }
        }, 2000);
    }
    history.replaceState(null, "", bare(location) + location.hash);
    // What somebody else saw on this phone is not shown as this person's.
    if (localStorage.getItem("person") !== person) {
        kept("pages", "readwrite", store => store.clear()).catch(() => {});
        localStorage.setItem("person", person);
    }
    begin();
    setInterval(() => { tick(); wake(); }, 1000);
    listen();
    flush();
    // Only where the certificate is one that the browser trusts.
    navigator.serviceWorker?.register("/worker.js").catch(() => {});
})();
