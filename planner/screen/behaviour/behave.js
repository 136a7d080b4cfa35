// How a page behaves, whatever stands on it: Ctrl+Z and Ctrl+Y undo and redo wherever no text is being typed, a refusal
// that comes out of sight is brought to view, and a help bubble keeps no press from the button that it covers.

const TEXT = "input:not([type=checkbox]):not([type=radio]):not([type=range]), textarea, [contenteditable=true], [contenteditable=''], [role=spinbutton]";
const TABLE = "[class*=st-key-filters_]";               // cells are typed into it
const REFUSAL = "[data-testid=stAlertContentError]", CALM_MS = 250, TOP_PX = 64;

class Behaviour {
  constructor() {
    this.told = new WeakMap();           // refusals that were there already, and what they said
    this.page = location.pathname;
    document.addEventListener("keydown", (event) => this.key(event));
    new MutationObserver(() => this.soon()).observe(document.body, { childList: true, subtree: true, characterData: true });
    for (const one of document.querySelectorAll(REFUSAL)) this.told.set(one, one.textContent);
  }

  key(event) {
    const kind = this.stepOf(event), at = event.composedPath()[0];
    if (!kind || event.defaultPrevented || at.closest?.(TEXT) || event.target.closest?.(TABLE)) return;
    event.preventDefault();
    const sky = this.sky();
    if (sky) sky.send(kind); else this.send("step", kind);
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

  soon() {
    clearTimeout(this.waits);
    this.waits = setTimeout(() => this.look(), CALM_MS);
  }

  look() {
    this.thin();
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

export default function ({ setTriggerValue }) {
  const behaviour = (window.__plannerBehaviour ??= new Behaviour());
  behaviour.send = setTriggerValue;
}
