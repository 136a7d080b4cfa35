// How a page behaves, whatever stands on it: Ctrl+Z and Ctrl+Y undo and redo wherever no text is being typed, a refusal
// that comes out of sight is brought to view, a help bubble keeps no press from the button that it covers, and a list
// or calendar that somebody opened stays open while the page changes about it.
// No step is lost, and no page stays behind what the sky was answered: both are asked for until Python shows that it has
// done so (`Owed`).

const TEXT = "input:not([type=checkbox]):not([type=radio]):not([type=range]), textarea, [contenteditable=true], [contenteditable=''], [role=spinbutton]";
const TABLE = "[class*=st-key-filters_]";               // cells are typed into it
const REFUSAL = "[data-testid=stAlertContentError]", CALM_MS = 250, TOP_PX = 64, PATIENCE_MS = 1000, HAND_MS = 400;
const LIST = "[role=combobox][aria-expanded=true], [aria-haspopup=listbox][aria-expanded=true]", CALENDAR = "[data-testid=stDateInputCalendar]";

// What Python still owes this page: steps that it has not counted as done, and to show the plan as new as the sky has it.
// A message can be lost on its way: it may meet a run, another message, or the page that it came from is being left.
class Owed {
  constructor() { this.steps = []; this.data = null; }

  follow(data, send) {
    if (data.sid !== this.data?.sid) Object.assign(this, { steps: [], count: data.done, rev: -1 });
    this.data = data;
    this.send = send;
    this.steps = this.steps.filter(({ n }) => n > data.done);
  }

  step(kind) {
    this.steps.push({ n: ++this.count, kind });
    this.ask(PATIENCE_MS);
  }

  show(sid, rev) {                       // the sky was answered so
    if (sid !== this.data?.sid) return;
    this.rev = Math.max(this.rev, rev);
    this.wait(PATIENCE_MS);
  }

  get none() { return !this.steps.length && this.data.rev >= this.rev; }

  // Another page is under way: a message from this one would call it back.
  get leaving() { return window.__plannerMemory?.leaving; }

  get calm() {
    const app = document.querySelector("[data-testid=stApp]")?.dataset;
    return app?.testScriptState === "notRunning" && app.testConnectionState === "CONNECTED" && !this.leaving;
  }

  ask(patience) {
    if (!this.leaving) this.send("step", { sid: this.data.sid, steps: this.steps });
    this.wait(patience);
  }

  wait(patience) {
    clearTimeout(this.waits);
    this.waits = setTimeout(() => {
      if (!this.none) this.calm ? this.ask(2 * patience) : this.wait(patience);
    }, patience);
  }
}

class Behaviour {
  constructor() {
    this.told = new WeakMap();           // refusals that were there already, and what they said
    this.page = location.pathname;
    this.owed = new Owed();
    this.handAt = -HAND_MS;              // when somebody scrolled
    document.addEventListener("keydown", (event) => this.key(event));
    for (const name of ["wheel", "touchmove"]) {
      addEventListener(name, () => { this.handAt = performance.now(); }, { capture: true, passive: true });
    }
    addEventListener("scroll", (event) => this.scrolled(event), true);
    new MutationObserver(() => this.soon()).observe(document.body, { childList: true, subtree: true, characterData: true });
    for (const one of document.querySelectorAll(REFUSAL)) this.told.set(one, one.textContent);
  }

  key(event) {
    const kind = this.stepOf(event), at = event.composedPath()[0];
    if (!kind || event.defaultPrevented || at.closest?.(TEXT) || event.target.closest?.(TABLE)) return;
    event.preventDefault();
    const sky = this.sky();
    if (sky) sky.send(kind); else this.owed.step(kind);
  }

  stepOf({ key, ctrlKey, metaKey, shiftKey, altKey }) {
    const letter = key.toLowerCase();
    if (!(ctrlKey || metaKey) || altKey) return null;
    return letter === "z" ? (shiftKey ? "redo" : "undo") : letter === "y" && !shiftKey ? "redo" : null;
  }

  // The sky, where it is on the page: it has a clock of its own.
  sky() {
    for (const one of document.querySelectorAll(".st-key-sky, .st-key-sky *")) if (one.shadowRoot?.__sky) return one.shadowRoot.__sky;
    return null;
  }

  // The input whose list is open.
  get opened() { return document.querySelector(LIST); }

  // The framework closes a list when the page scrolls. Where nobody scrolls it is the browser that keeps in its place
  // what is seen while something above it grows or shrinks: of that no list is told.
  scrolled(event) {
    if (!this.opened || performance.now() - this.handAt < HAND_MS || !event.target.contains?.(this.opened)) return;
    event.stopImmediatePropagation();
    this.align();
  }

  // Let a list stand where its input went.
  align() {
    const top = this.opened?.getBoundingClientRect().top;
    if (top !== undefined && top !== this.top) dispatchEvent(new Event("resize"));
    this.top = top;
  }

  soon() {
    clearTimeout(this.waits);
    this.waits = setTimeout(() => this.look(), CALM_MS);
  }

  look() {
    this.thin();
    this.align();
    if (this.opened || document.querySelector(CALENDAR)) return this.soon();   // a refusal is brought to view once nothing is open
    const turned = this.page !== location.pathname, fresh = [];
    this.page = location.pathname;
    for (const one of document.querySelectorAll(REFUSAL)) {
      if (this.told.get(one) !== one.textContent) fresh.push(one);
      this.told.set(one, one.textContent);
    }
    const first = fresh.find((one) => this.hidden(one));
    if (first && !turned && !fresh.some((one) => !this.hidden(one))) first.scrollIntoView({ block: "center", behavior: "smooth" });
  }

  // Bubbles that need no hand: nothing in them scrolls or leads elsewhere.
  thin() {
    for (const one of document.querySelectorAll("[role=tooltip]")) {
      const text = one.querySelector("[data-testid=stTooltipContent]");
      if (text && !text.querySelector("a") && text.scrollHeight <= text.clientHeight + 1) one.style.pointerEvents = "none";
    }
  }

  hidden(one) {
    const box = one.getBoundingClientRect();
    return one.checkVisibility() && (box.top < TOP_PX || box.bottom > innerHeight);
  }
}

export default function ({ data, setTriggerValue }) {
  const behaviour = (window.__plannerBehaviour ??= new Behaviour());
  behaviour.owed.follow(data, setTriggerValue);
}
