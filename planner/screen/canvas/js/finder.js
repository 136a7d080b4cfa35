// The search on the sky: it offers nebulae as one types; the one that is taken comes to the middle, with what can be done.
class Finder {
  constructor(sky, root) {
    this.sky = sky; this.input = root.querySelector(".find input"); this.list = root.querySelector(".find ul"); this.found = [];
    this.input.addEventListener("input", () => { clearTimeout(this.wait); this.wait = setTimeout(() => this.ask(), 120); });
    this.input.addEventListener("keydown", e => this.key(e));
    root.querySelector(".find .back").addEventListener("click", () => { this.sky.choose(null); root.querySelector(".whole").click(); });
    this.input.addEventListener("blur", () => setTimeout(() => this.show([]), 200));
    this.list.addEventListener("pointerdown", e => { e.preventDefault(); this.take([...this.list.children].indexOf(e.target.closest("li"))); });
  }

  async ask() {
    const text = this.input.value.trim(), found = text.length > 1 ? await this.sky.ask({ find: text }) : [];
    if (text === this.input.value.trim()) this.show(found ?? []);
  }

  show(found) {
    this.found = found; this.at = -1; this.list.hidden = !found.length; this.input.setAttribute("aria-expanded", !!found.length);
    this.list.replaceChildren(...found.map((one, i) => {
      const row = document.createElement("li"), about = document.createElement("small");
      row.id = `found-${i}`; row.setAttribute("role", "option"); row.textContent = one.title; about.textContent = one.about; row.append(about);
      return row;
    }));
  }

  key(e) {
    const step = { ArrowDown: 1, ArrowUp: -1 }[e.key];
    if (step && this.found.length) { this.mark(mod(this.at + step, this.found.length)); e.preventDefault(); }
    else if (e.key === "Enter") { this.take(Math.max(0, this.at)); e.preventDefault(); }
    else if (e.key === "Escape") this.show([]);
    e.stopPropagation();
  }

  mark(i) {
    this.at = i; this.input.setAttribute("aria-activedescendant", `found-${i}`);
    [...this.list.children].forEach((row, j) => row.setAttribute("aria-selected", j === i));
  }

  take(i) {
    const one = this.found[i], { view } = this.sky;
    if (!one) return;
    view.look(one.ra, one.dec, Math.max(view.half > 8 * one.across ? 2 * one.across : view.half, 0.7 * one.across, 0.2)); this.sky.viewed();
    this.show([]); this.sky.choose({ ...one, title: `${one.title}: ${one.about}` }, [view.W / 2, view.H / 2]);
    this.sky.root.querySelector(".choice button").focus();
  }
}
