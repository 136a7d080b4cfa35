// A sky to look at: what is there to frame, as frames of one camera angle. A drag or the wheel moves the view; a click
// on a frame, or Tab and Enter, chooses it. Nothing is moved but the view.
// A choice is numbered and asked for until Python shows that it has taken it: a message can be lost on its way.
const MOST_FOCUSABLE = 60, CHOICE_MS = 1000;

class FramesSky {
  constructor(root) {
    this.root = root; this.svg = root.querySelector("svg"); this.group = root.querySelector(".frames");
    this.view = new View(); this.backdrop = new Backdrop(root.querySelector("canvas")); this.frames = []; this.pointers = new Map();
    const on = (name, act, options) => this.svg.addEventListener(name, act, options);
    on("pointerdown", e => this.down(e)); on("pointermove", e => this.move(e)); on("keydown", e => this.key(e));
    for (const name of ["pointerup", "pointercancel"]) on(name, e => this.up(e));
    on("pointerleave", () => this.point(null)); on("wheel", e => this.wheel(e), { passive: false });
    for (const [name, act] of [["closer", () => this.view.zoom(0.7)], ["wider", () => this.view.zoom(1 / 0.7)], ["chosen-one", () => this.toChosen()]])
      root.querySelector("." + name).addEventListener("click", () => { act(); this.viewed(); });
    this.observer = new ResizeObserver(() => this.resized()); this.observer.observe(this.svg);
  }

  update(data, send) {
    this.send = send; this.data = data; this.backdrop.take(data.sky);
    if (this.choice?.number <= data.taken) this.choice = null;
    this.root.querySelector(".licence").textContent = this.backdrop.nebulae.licence ?? "";
    this.frames = data.frames.map(f => ({ ...f, corners: f.corners.map(p => skyToVector(...p)) }));
    this.style = style(this.svg); this.view.resize(this.svg.clientWidth || 1, this.svg.clientHeight || 1);
    const kept = globalThis.__frameViews ??= {};
    if (data.look.n !== this.looked) {
      this.looked = data.look.n;
      const was = kept[data.sid];
      if (was?.n === data.look.n) this.view.look(was.ra, was.dec, was.half); else this.view.look(data.look.ra, data.look.dec, data.look.half);
    }
    this.draw(); this.needStars();
  }

  resized() {
    if (!this.data || this.svg.clientWidth === this.view.W && this.svg.clientHeight === this.view.H) return;
    this.view.resize(this.svg.clientWidth, this.svg.clientHeight); this.draw();
  }

  toChosen() { this.view.look(this.data.look.ra, this.data.look.dec, this.data.look.half); }

  viewed() {
    this.backdrop.nebulae.movedAt = performance.now();
    globalThis.__frameViews[this.data.sid] = { ra: this.view.ra, dec: this.view.dec, half: this.view.half, n: this.looked };
    this.want ||= requestAnimationFrame(() => { this.want = 0; this.draw(); });
    clearTimeout(this.calm); this.calm = setTimeout(() => this.needStars(), 350);
  }

  // Ask for other stars when the view has left those at hand or has closed in on them.
  needStars() {
    const { cap } = this.data, { view } = this, off = Math.acos(clamp(dot(skyToVector(cap.ra, cap.dec), view.basis[2]), -1, 1)) / RAD;
    if (this.pointers.size || this.backdrop.key === this.data.sky.key && off + view.reach < cap.radius && view.reach > cap.radius / 4) return;
    const ask = { ra: view.ra, dec: view.dec, reach: view.reach }, text = JSON.stringify(ask), now = performance.now();
    if (text === this.asked && now - this.askedAt < 3000) return;
    this.asked = text; this.askedAt = now; this.send("view", { ...ask, sky: this.backdrop.key });
  }

  draw() {
    const late = this.backdrop.draw(this.view, this.style), { view } = this;
    clearTimeout(this.redraw);
    if (late) this.redraw = setTimeout(() => this.draw(), LAYER_CALM_MS + 30);
    const seen = this.frames.map(f => ({ ...f, px: f.corners.map(v => view.pixel(v)) }))
      .filter(f => f.px.every(Boolean) && f.px.some(p => view.inside(p, 40)));
    this.seen = seen;
    while (this.group.childElementCount > seen.length) this.group.lastChild.remove();
    while (this.group.childElementCount < seen.length) this.group.append(document.createElementNS("http://www.w3.org/2000/svg", "polygon"));
    seen.forEach((f, i) => {
      const e = this.group.children[i];
      e.setAttribute("points", f.px.map(p => p.map(x => x.toFixed(1)).join()).join(" ")); e.setAttribute("class", f.chosen ? "frame chosen" : f.fits ? "frame" : "frame cut");
      e.setAttribute("tabindex", seen.length <= MOST_FOCUSABLE ? 0 : -1); e.setAttribute("role", "button"); e.setAttribute("aria-label", f.title);
    });
    this.root.querySelector(".read").textContent = this.data.said;
  }

  at(e) { const b = this.svg.getBoundingClientRect(); return [e.clientX - b.left, e.clientY - b.top]; }

  // The frame under a pixel: of several that hold it, the one whose middle is nearest.
  frameAt([x, y]) {
    const middle = f => [0, 1].map(i => f.px.reduce((s, p) => s + p[i], 0) / 4);
    const held = this.seen.filter(f => holds(f.px, x, y)).map(f => [f, Math.hypot(middle(f)[0] - x, middle(f)[1] - y)]);
    return held.sort((a, b) => a[1] - b[1])[0]?.[0];
  }

  down(e) {
    const p = this.at(e);
    this.svg.setPointerCapture(e.pointerId); this.pointers.set(e.pointerId, p);
    const all = [...this.pointers.values()];
    this.drag = all.length === 1 ? { from: p, v: this.view.vector(...p) }
      : { gap: Math.hypot(all[0][0] - all[1][0], all[0][1] - all[1][1]), half: this.view.half, v: this.view.vector((all[0][0] + all[1][0]) / 2, (all[0][1] + all[1][1]) / 2) };
  }

  move(e) {
    const p = this.at(e), { drag, view } = this;
    this.point(p);
    if (!this.pointers.has(e.pointerId)) return;
    this.pointers.set(e.pointerId, p);
    if (drag.gap && this.pointers.size === 2) {
      const [a, b] = [...this.pointers.values()];
      view.look(view.ra, view.dec, drag.half * drag.gap / Math.max(8, Math.hypot(a[0] - b[0], a[1] - b[1])));
      view.hold(drag.v, (a[0] + b[0]) / 2, (a[1] + b[1]) / 2);
    } else if (drag.from && (drag.moved || Math.hypot(p[0] - drag.from[0], p[1] - drag.from[1]) > 3)) { drag.moved = true; view.hold(drag.v, ...p); } else return;
    this.viewed();
  }

  up(e) {
    if (!this.pointers.delete(e.pointerId)) return;
    const { drag } = this;
    if (e.type === "pointerup" && drag.from && !drag.moved) this.choose(this.frameAt(drag.from));
    if (!this.pointers.size) { this.drag = null; this.needStars(); }
  }

  choose(frame) {
    if (!frame) return;
    this.number = Math.max(this.number ?? 0, this.data.taken) + 1; this.choice = { name: frame.name, number: this.number };
    this.ask(CHOICE_MS);
  }

  ask(patience) { this.send("target", this.choice); this.wait(patience); }

  wait(patience) {
    clearTimeout(this.waits);
    this.waits = setTimeout(() => {
      if (this.choice) globalThis.__plannerBehaviour?.owed.calm ?? true ? this.ask(2 * patience) : this.wait(patience);
    }, patience);
  }

  wheel(e) { e.preventDefault(); this.view.zoom(Math.exp(clamp(e.deltaY, -240, 240) * 0.0016), ...this.at(e)); this.viewed(); }

  key(e) {
    const d = { ArrowLeft: [1, 0], ArrowRight: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[e.key], { view } = this, { W, H } = view;
    const zoom = { "+": 0.8, "=": 0.8, "-": 1.25 }[e.key], i = [...this.group.children].indexOf(e.target);
    if (d) view.hold(view.basis[2], W / 2 + d[0] * 40, H / 2 + d[1] * 40);
    else if (zoom) view.zoom(zoom);
    else if (e.key === "0") this.toChosen();
    else if ((e.key === "Enter" || e.key === " ") && i >= 0) this.choose(this.seen[i]);
    else return;
    e.preventDefault(); e.stopPropagation(); this.viewed();
  }

  point(p) {
    const tip = this.root.querySelector(".tip"), f = p && !this.drag?.moved && this.frameAt(p);
    tip.hidden = !f;
    if (f) { tip.textContent = f.title; tip.style.left = `${Math.min(p[0] + 14, Math.max(0, this.view.W - 250))}px`; tip.style.top = `${p[1] + 14}px`; }
  }

  close() { clearTimeout(this.waits); this.observer.disconnect(); delete this.root.__frames; }
}

export default function ({ parentElement, data, setTriggerValue }) {
  const sky = parentElement.__frames ??= new FramesSky(parentElement);
  sky.update(data, setTriggerValue);
  return () => sky.close();
}
