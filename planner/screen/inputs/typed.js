// What this browser tab remembers by itself: what was typed and not yet applied, which plan and which tabs were
// open, and whether the planner answers. Python says which inputs there are and what the plan has for each of them; what differs from
// that has been typed. An input that comes back without what was typed into it gets it back through Python.

const STORE = "mosaic-planner", REST_MS = 120, AWAY_MS = 1500, GIVEN_MS = 1000, ARRIVE_MS = 700, NARROW_PX = 1000;
const TYPED = ["number", "whole", "text"], MOST_TRIES = 3, MOST_LOOKS = 12, FRAME = ".st-key-pages, .st-key-bar, .st-key-typed_memory, .st-key-behaviour";

const readers = {
  text: (box) => box.querySelector("input, textarea")?.value,
  number: (box) => box.querySelector("input")?.value,
  choice: (box) => {
    const field = box.querySelector("input[role=combobox]");
    return field?.getAttribute("aria-expanded") === "true" ? undefined : field?.value;
  },
  radio: (box) => box.querySelector("input:checked")?.closest("label")?.innerText.trim(),
  check: (box) => {
    const field = box.querySelector("input[type=checkbox]");
    return field ? String(field.checked) : undefined;
  },
  date: (box) => {
    const parts = [...box.querySelectorAll("[role=spinbutton]")];
    if (!parts.length) return undefined;
    const empty = parts.filter((part) => part.dataset.placeholder);
    if (empty.length === parts.length) return "";
    if (empty.length) return undefined;                       // half of a date is none yet
    const of = (type) => parts.find((part) => part.dataset.type === type)?.innerText.trim() ?? "";
    return `${of("year").padStart(4, "0")}-${of("month").padStart(2, "0")}-${of("day").padStart(2, "0")}`;
  },
};

readers.whole = readers.number;

function same(kind, one, other) {
  if (one === other) return true;
  if (kind === "number" || kind === "whole") return one.trim() !== "" && other.trim() !== "" && Number(one) === Number(other);
  return one.replaceAll("\r\n", "\n").trimEnd() === other.replaceAll("\r\n", "\n").trimEnd();
}

class Memory {
  constructor() {
    this.data = null;
    this.forget();
    this.touched = new Set();            // names of inputs that somebody clicked or typed into, in this plan
    const kept = JSON.parse(sessionStorage.getItem(STORE) ?? "{}");
    this.before = kept.here;
    this.drafts = kept.drafts ?? {};
    for (const name of ["input", "click", "keyup", "focusout"]) {
      document.addEventListener(name, (event) => event.isTrusted && this.touch(event.target, name), true);
    }
    new MutationObserver(() => this.soon("give")).observe(document.body, { childList: true, subtree: true });
    this.watch();
    this.fold();
    document.addEventListener("click", (event) => {
      const link = event.target.closest?.("a[href]");
      if (link && event.isTrusted && link.origin === location.origin) this.arrive(link);
    });
    for (const name of ["mousedown", "keyup"]) {
      document.addEventListener(name, (event) => {
        const tab = event.target.closest?.("[role=tab]");
        if (tab && event.isTrusted && !event.button) this.keep(tab);
      }, true);
    }
  }

  forget() {                             // all inputs are new: nothing was given back to them
    this.asked = new WeakSet();          // inputs that were looked at already
    this.given = new WeakMap();          // when, and how often, what was typed was given back to an input
    this.hands = new WeakSet();          // inputs that somebody clicked or typed into since they are there
    this.written = new WeakMap();        // when somebody last typed into an input
    this.changed = {};                   // when the plan got another value for an input
    this.returned = new Set();           // names of those to which something was given back: Python knows it since
    this.taken = {};                     // what was taken back by hand of that, which Python is still to be told
  }

  follow(data, send) {
    this.send = send;
    for (const [name, { shown }] of Object.entries(data.inputs)) {
      if (this.data?.inputs[name] && this.data.inputs[name].shown !== shown) this.changed[name] = Date.now();
    }
    this.data = data;
    if (data.page === this.leaving) this.leaving = null;
    if (this.before && this.before.session !== data.session && !this.asking) {   // loaded anew, or a planner anew
      this.asking = true;
      this.forget();
      send("back", this.before);
      this.veil(this.before.plan !== data.plan);
      if (this.before.plan !== data.plan) return;             // the next run shows where it goes on
    }
    this.asking = false;
    this.veil(false);
    if (this.before && this.before.plan !== data.plan) {
      this.drafts = {};
      this.touched.clear();
      document.querySelector('[data-testid="stPopover"] button[aria-expanded="true"]')?.click();   // shows the sky
    }
    for (const [name, draft] of Object.entries(this.drafts)) {
      const input = data.inputs[name];   // what the plan has by now counts more than what was typed before
      if (input && !same(input.kind, input.shown, draft.base)) delete this.drafts[name];
    }
    const { plan, own, id, server, session, tabs } = data;
    this.before = { plan, own, id, server, session, tabs };
    this.store();
    this.soon("give");
    this.soon("note");                   // an input may show the plan again: undone before it was seen to be applied
  }

  veil(is) {                             // what is seen for a moment is another plan: nobody is to press there
    document.documentElement.classList.toggle("planner-going-back", is);
  }

  touch(target, what) {
    for (let box = target; box; box = box.parentElement) {
      for (const name of box.classList ?? []) {
        if (!name.startsWith("st-key-")) continue;
        if (what !== "focusout") this.touched.add(name.slice(7));   // a menu that closes takes the cursor away by itself
        this.hands.add(box);
        if (what === "input" || (what === "click" && this.written.has(box))) this.written.set(box, Date.now());
      }
    }
    if (what === "focusout" && !this.running) this.note();   // it may be gone before long: a tab is clicked next
    this.soon("note");
  }

  store() {
    try {
      sessionStorage.setItem(STORE, JSON.stringify({ here: this.before, drafts: this.drafts }));
    } catch { /* full: the plan's own text is kept by the planner anyway */ }
  }

  soon(what) {
    this.waits ??= {};
    clearTimeout(this.waits[what]);
    this.waits[what] = setTimeout(() => (this.running ? this.soon(what) : this[what]()), REST_MS);
  }

  get app() { return document.querySelector("[data-testid=stApp]"); }
  get running() { return this.app?.dataset.testScriptState !== "notRunning"; }
  get connected() { return this.app?.dataset.testConnectionState === "CONNECTED"; }

  get empty() {                          // nothing but what stands on every page
    const parts = [...document.querySelectorAll(".stMainBlockContainer > .stVerticalBlock > *")];
    return parts.every((part) => part.matches(FRAME) || part.querySelector(`:scope > :is(${FRAME})`));
  }

  *inputs() {
    for (const [name, input] of Object.entries(this.data?.inputs ?? {})) {
      const box = document.querySelector(`.st-key-${CSS.escape(name)}`);
      const value = box ? readers[input.kind]?.(box) : undefined;
      if (value !== undefined) yield { name, box, value, ...input };
    }
  }

  note() {                               // remember what was typed
    if (!this.connected || this.asking) return;
    for (const { name, kind, shown, value, box } of this.inputs()) {
      const draft = this.drafts[name];
      if (TYPED.includes(kind) && this.changed[name] > this.written.get(box) && !same(kind, value, shown)) {
        delete this.drafts[name];        // a message that was under way brought it back: it counts no more
        this.taken[name] = shown;
        delete this.changed[name];
        continue;
      }
      const waits = !this.written.has(box) && !(this.asked.has(box) && this.hands.has(box));
      if (draft && waits && same(kind, value, shown)) continue;   // it came back, and is still to be filled
      if (same(kind, value, shown)) {
        delete this.drafts[name];
        if (this.written.has(box) && this.returned.has(name)) this.taken[name] = value;
      } else {
        delete this.taken[name];
        if (this.touched.has(name) && draft?.typed !== value) this.drafts[name] = { base: shown, typed: value };
      }
      this.asked.add(box);
    }
    this.store();
    this.tell();
  }

  tell() {                               // once nobody types there any more
    const at = document.activeElement, typing = at?.matches("input, textarea, [role=spinbutton]") ? at : null, inputs = {};
    for (const [name, value] of Object.entries(this.taken)) {
      if (typing?.closest(`.st-key-${CSS.escape(name)}`)) continue;
      inputs[name] = value;
      delete this.taken[name];
      this.returned.delete(name);
    }
    if (Object.keys(inputs).length) this.send("typed", { inputs, id: this.data.id });
  }

  give() {                               // give back what was typed to inputs that came back without it
    if (!this.connected || this.asking) return;
    const back = {}, now = Date.now();
    for (const { name, kind, shown, value, box } of this.inputs()) {
      const draft = this.drafts[name], given = this.given.get(box);
      const missed = given && given.tries < MOST_TRIES && !this.hands.has(box) && same(kind, value, shown);
      if (box.contains(document.activeElement) || this.written.has(box) || (this.asked.has(box) && !missed)) continue;
      this.asked.add(box);
      if (!draft || same(kind, value, draft.typed)) continue;
      setTimeout(() => this.soon("give"), GIVEN_MS);            // a message can be lost on its way
      if (missed && now - given.at < GIVEN_MS) continue;
      back[name] = draft.typed;
      this.returned.add(name);
      this.given.set(box, { at: now, tries: (given?.tries ?? 0) + 1 });
    }
    if (Object.keys(back).length) this.send("typed", { inputs: back, id: this.data.id });
  }

  watch() {                              // say what happened when the planner does not answer
    let since = null, saying = false;
    setInterval(async () => {
      if (!this.app || this.connected) {
        if (since) this.send?.("again", Date.now());     // the page is made anew, by the planner that answers now
        since = null;
        this.say(null);
        return;
      }
      since ??= Date.now();
      if (Date.now() - since < AWAY_MS || saying) return;
      saying = true;
      await new Promise((done) => setTimeout(done, AWAY_MS));
      const status = await fetch("/_stcore/host-config", { cache: "no-store" }).then((r) => r.status, () => 0);
      if (!this.connected) this.say(status === 403 ? "locked" : "away");
      saying = false;
    }, 500);
  }

  // A page that is asked for while the sky's own message is under way can lose its contents, or stay away: then it is
  // asked for again.
  arrive(link, tries = 1) {
    const page = link.pathname.split("/").pop();
    this.leaving = this.data?.page === page ? null : page;   // meanwhile nothing else is to be sent from here
    clearTimeout(this.leaves);
    this.leaves = setTimeout(() => {
      if (this.running || !this.connected) return this.arrive(link, tries);
      const there = this.data?.page === page;
      if ((there && !this.empty) || tries > MOST_TRIES) { this.leaving = null; return; }
      if (there) this.send("again", Date.now());
      else link.click();
      this.arrive(link, tries + 1);
    }, ARRIVE_MS);
  }

  // A tab that is chosen while the answer to an earlier choice is under way loses to that: then it is chosen again.
  keep(tab, looks = 1) {
    clearTimeout(this.keeps);
    this.keeps = setTimeout(() => {
      if (this.running || !this.connected) return this.keep(tab, looks);
      if (!tab.isConnected || looks > MOST_LOOKS) return;
      if (tab.getAttribute("aria-selected") !== "true") tab.click();
      this.keep(tab, looks + 1);
    }, ARRIVE_MS);
  }

  fold() {                               // on a narrow screen the list of pages closes when one was chosen
    document.addEventListener("click", (event) => {
      if (!event.target.closest?.('[data-testid="stSidebarNavLink"]') || innerWidth > NARROW_PX) return;
      setTimeout(() => document.querySelector('[data-testid="stSidebarCollapseButton"] button')?.click(), 50);
    });
  }

  say(what) {
    document.documentElement.classList.toggle("planner-away", Boolean(what));
    let note = document.getElementById("planner-away");
    if (!what) { note?.remove(); return; }
    if (!note) {
      note = document.body.appendChild(Object.assign(document.createElement("div"), { id: "planner-away" }));
      note.setAttribute("role", "alert");
    }
    const words = this.data?.words?.[what] ?? "";
    if (note.textContent !== words) note.textContent = words;
  }
}

export default function ({ data, setTriggerValue }) {
  const memory = (window.__plannerMemory ??= new Memory());
  memory.follow(data, setTriggerValue);
}
