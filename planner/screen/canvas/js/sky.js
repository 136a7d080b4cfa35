// The canvas as a whole: what Python says comes in by `update`, finished gestures go out by `commit`. `rev` is a
// clock shared with Python: the newer side is right; `sid` names the session.
const BESIDE_WORDS = ["dotted", "dashes and dots", "long dashes"];
const REST_MS = 40, ROUTE = new URL("/canvas", location.origin);

class Sky {
  constructor(root) {
    this.root = root; this.svg = root.querySelector("svg"); this.box = root.querySelector(".sky");
    this.view = new View(); this.composition = new Composition(); this.rev = -1; this.draws = 0; this.unheard = [];
    this.backdrop = new Backdrop(root.querySelector("canvas")); this.overlay = new Overlay(this.svg);
    this.gestures = new Gestures(this); this.buttons(); this.finder = new Finder(this, root);
    this.observer = new ResizeObserver(() => this.resized()); this.observer.observe(this.svg);
  }

  update(data, send) {
    this.trigger = send;
    if (data.sid !== this.sid) { this.sid = data.sid; this.rev = -1; this.unheard = []; this.mirrorShown(); }
    const fresh = data.rev >= this.rev && !this.gestures.busy;
    if (fresh) { this.composition.take(data); this.answered = performance.now(); }
    if (fresh && this.owes) this.settle(data.rev);
    this.rev = Math.max(this.rev, data.rev);
    this.unheard = this.unheard.filter(message => message.rev > data.rev);
    this.backdrop.take(data.sky); this.root.querySelector(".licence").textContent = this.backdrop.nebulae.licence ?? ""; this.data = this.newer(data); this.style = style(this.svg);
    this.view.resize(this.svg.clientWidth || 1, this.svg.clientHeight || 1);
    if (data.look.n !== this.looked) this.goTo(data.look);
    this.root.querySelector(".undo").disabled = !data.can_undo; this.root.querySelector(".redo").disabled = !data.can_redo;
    if (fresh && data.said !== this.heard) this.say(this.heard = data.said);
    this.legend(); this.draw(); this.needStars();
  }

  // Whose panels are drawn how, in words; nothing where one instrument has the mosaic alone.
  legend() {
    const box = this.root.querySelector(".legend"), { shows, beside, panels } = this.composition;
    const count = n => `${n} ${n === 1 ? "panel" : "panels"}`, rows = shows ? [["shown", `${shows}: ${count(panels.length)}, filled, plain names`],
      ...beside.map((b, k) => [`beside-${k % BESIDE_WAYS}`, `${b.name}: ${count(b.panels.length)}, ${BESIDE_WORDS[k % BESIDE_WAYS]}, framed names`])] : [];
    const told = JSON.stringify(rows);
    if (told === this.told) return;
    this.told = told; box.hidden = !rows.length;
    box.replaceChildren(...rows.map(([kind, words]) => {
      const row = document.createElement("li"), svg = document.createElementNS(SVG, "svg"), line = document.createElementNS(SVG, "rect");
      svg.setAttribute("viewBox", "0 0 34 14"); svg.setAttribute("aria-hidden", "true"); line.setAttribute("class", kind);
      Object.entries({ x: 1.5, y: 1.5, width: 31, height: 11 }).forEach(([key, v]) => line.setAttribute(key, v));
      svg.append(line); row.append(svg, words); return row;
    }));
  }

  // What sees to it that the page follows, whichever it is by then.
  get page() { return globalThis.__plannerBehaviour?.owed; }

  // A page that was made before the last answer brings nothing new of the plan.
  newer(data) {
    const old = this.data?.sid === data.sid && data.rev < this.data.rev;
    return old ? { ...this.data, cap: data.cap, sky: data.sky, look: data.look } : data;
  }

  // Once the answer to a gesture has been drawn, the rest of the page may follow.
  settle(rev) {
    this.owes = false;
    setTimeout(() => this.tell("settled", { rev }), 60);
    this.page?.show(this.sid, rev);
  }

  // The hand rests while it drags: Python may work out the plan before it is let go.
  resting(kind) {
    clearTimeout(this.rest);
    this.rest = setTimeout(() => this.gestures.drag?.moved &&
      this.ask({ rest: { kind, ...this.composition.message() } }), REST_MS);
  }

  // Where Python sends the view; the own one comes back when the page is opened anew.
  goTo(look) {
    this.looked = look.n;
    const kept = (globalThis.__skyViews ??= {})[this.sid];
    if (kept?.n === look.n) return this.view.look(kept.ra, kept.dec, kept.half, kept.angle);
    if (look.fit) this.fit(0); else this.view.look(look.ra, look.dec, look.half ?? this.view.half, 0);
  }

  fit(angle = this.view.angle) {
    const live = this.composition.live();
    this.view.fit([...live.picture, ...live.outline, ...[...live.panels, ...live.beside.flatMap(b => b.panels)].flatMap(p => p.corners)], angle); this.viewed();
  }

  resized() {
    if (this.svg.clientWidth === this.view.W && this.svg.clientHeight === this.view.H || !this.data) return;
    this.view.resize(this.svg.clientWidth, this.svg.clientHeight); this.draw();
  }

  viewed() {
    this.backdrop.nebulae.movedAt = performance.now();
    globalThis.__skyViews[this.sid] = { ...this.view, n: this.looked };
    this.soon();
    clearTimeout(this.calm); this.calm = setTimeout(() => this.needStars(), 350);
  }

  // Whether the stars at hand are those of the view.
  get starsHere() {
    const { cap, sky } = this.data, { view } = this, off = Math.acos(clamp(dot(skyToVector(cap.ra, cap.dec), view.basis[2]), -1, 1)) / RAD;
    return this.backdrop.key === sky.key && off + view.reach < cap.radius && view.reach > cap.radius / 4;
  }

  // Ask for other stars when the view has left those at hand or has closed in on them.
  needStars() {
    const { view } = this;
    if (this.starsHere || this.gestures.drag || this.closed) return;
    const ask = [view.ra, view.dec, view.reach].map(x => x.toFixed(3)).join(), now = performance.now();
    if (this.unheard.length || ask === this.asked && now - this.askedAt < 3000) return;
    this.asks = ask === this.asked ? this.asks + 1 : 1; this.asked = ask; this.askedAt = now;
    this.tell("view", { ra: view.ra, dec: view.dec, reach: view.reach });
    if (this.asks < 3) { clearTimeout(this.calm); this.calm = setTimeout(() => this.needStars(), 3100); }   // it may be lost
  }

  soon() { this.want ||= requestAnimationFrame(() => { this.want = 0; this.draw(); }); }

  draw() {
    const late = this.backdrop.draw(this.view, this.style);
    clearTimeout(this.redraw);
    if (late) this.redraw = setTimeout(() => this.draw(), LAYER_CALM_MS + 30);
    this.overlay.draw(this.view, this.composition.live(), this.composition, this.backdrop.shown);
    this.drawSketch(); this.readOut(); this.draws += 1;
    const middle = this.view.pixel(skyToVector(...this.composition.center));
    this.root.querySelector(".find .back").hidden = !!middle && this.view.inside(middle, 0);
  }

  drawSketch() {
    const s = this.gestures.drawing, all = s ? [...s.points, ...(s.cursor ? [s.cursor] : [])].map(v => this.view.pixel(v)).filter(Boolean) : [];
    this.overlay.sketch.setAttribute("points", all.map(p => p.map(x => x.toFixed(1)).join()).join(" "));
    this.box.classList.toggle("drawing", !!s);
  }

  readOut() {
    const c = this.composition, [ra, dec] = c.center, n = c.panels.length, room = c.margin(c.live());
    const count = c.stale && !c.listed ? "" : ` · ${n} ${n === 1 ? "panel" : "panels"}`;
    const margin = room === null || !Number.isFinite(room) ? "" : room < 0 ? ` · ${(-room).toFixed(1)}′ cut` : ` · margin ${room.toFixed(1)}′`;
    this.root.querySelector(".read").textContent = `${hours(ra)} ${degrees(dec)} · ${this.angleWords()}${count}${margin}`;
  }

  // The angle of picture and camera, or of both where they differ; only the picture's where panels have several.
  angleWords() {
    const c = this.composition, angles = c.live().panels.map(p => panelAngle(p.corners)), [first] = angles;
    const off = (a, b) => Math.abs(mod(a - b + 90, 180) - 90), one = angles.length > 0 && angles.every(a => off(a, first) < 0.05);
    if (one && off(first, c.angle) < 0.05) return `angle ${c.angle.toFixed(1)}°`;
    return `picture ${c.angle.toFixed(1)}°${one && !c.stale ? ` · camera ${mod(Math.round(10 * first) / 10, 180).toFixed(1)}°` : ""}`;
  }

  // The sky under the pointer, and what stands there.
  point(p) {
    const text = this.root.querySelector(".under"), tip = this.root.querySelector(".tip");
    if (!p) { tip.hidden = true; text.textContent = ""; return; }
    const [ra, dec] = vectorToSky(this.view.vector(...p)), o = this.gestures.drag ? null : this.backdrop.objectAt(...p);
    text.textContent = `${hours(ra)} ${degrees(dec)}`;
    tip.hidden = !o;
    if (o) { tip.textContent = o.title; tip.style.left = `${p[0] + 14}px`; tip.style.top = `${p[1] + 14}px`; }
  }

  // A click on an object offers what can be done with it; another one at the same place takes the next beneath.
  pick(p) {
    const all = this.backdrop.objectsAt(...p), before = this.picked;
    const again = before && Math.hypot(p[0] - before.p[0], p[1] - before.p[1]) < 5, i = again ? (before.i + 1) % Math.max(1, all.length) : 0;
    this.picked = { p: again ? before.p : p, i };
    if (!all.length) return this.choose(null);
    const o = all[i], more = all.length > 1 ? ` (${i + 1} of ${all.length} here; click again for the next)` : "";
    this.choose({ ...o, title: o.title + more }, p); this.send("pick", { name: o.name });
  }

  choose(o, p) {
    const box = this.root.querySelector(".choice"); this.chosen = o; box.hidden = !o;
    if (!o) return;
    box.querySelector("b").textContent = o.title; this.root.querySelector(".tip").hidden = true;
    box.style.left = `${clamp(p[0] + 10, 4, Math.max(4, this.view.W - 250))}px`; box.style.top = `${clamp(p[1] + 10, 4, Math.max(4, this.view.H - 120))}px`;
  }

  // What was chosen becomes the region, a part of it, or the middle of the view.
  use(act) {
    const o = this.chosen; this.choose(null);
    if (!o) return;
    if (act === "centre") { this.view.look(o.ra, o.dec); return this.viewed(); }
    this.send("pick", { name: o.name, act });
  }

  // Which kinds are shown; kept for the session.
  show(name, value) {
    this.backdrop.shown[name] = value; this.hide(); (globalThis.__skyShown ??= {})[this.sid] = { ...this.backdrop.shown }; this.draw();
  }

  hide() {
    this.box.classList.toggle("partial", !this.backdrop.shown.full); this.box.classList.toggle("unshaded", !this.backdrop.shown.shades);
  }

  mirrorShown() {
    Object.assign(this.backdrop.shown, globalThis.__skyShown?.[this.sid]);
    this.hide();
    for (const input of this.root.querySelectorAll(".shown input"))
      if (input.type === "checkbox") input.checked = this.backdrop.shown[input.name]; else input.value = this.backdrop.shown[input.name];
  }

  commit(kind) { this.send(kind, this.composition.message()); }

  drawn(outline) { this.composition.form = "outline"; this.composition.redraw(outline.map(p => skyToVector(...p)));
    this.send("draw", { form: "draw", outline }); this.draw(); }

  // The canvas asks the server itself. Where that fails the page is asked: of triggers that meet on their way only the
  // last one arrives, so each carries all gestures that are not answered yet, other kinds wait while there are any,
  // and what stays unanswered is sent again.
  send(kind, message = {}) {
    this.gestures.flush();
    const clock = globalThis.__skyClock ??= {};               // of one session, whichever canvas shows it
    this.rev = clock[this.sid] = Math.max(this.rev, clock[this.sid] ?? -1) + 1; this.sent = performance.now(); this.owes = true; clearTimeout(this.rest);
    this.unheard.push({ kind, ...message, rev: this.rev, sid: this.sid });
    this.deliver(1500);
    return true;
  }

  async deliver(patience) {
    clearTimeout(this.watch);
    if (!this.unheard.length) return;
    this.watch = setTimeout(() => this.deliver(2 * patience), patience);
    const answer = await this.ask({ messages: this.unheard });
    if (answer?.sid === this.sid) return this.closed ? this.left(answer.rev) : this.update({ ...this.data, ...answer }, this.trigger);
    this.page?.show(this.sid, this.rev);
    this.trigger("gesture", { messages: this.unheard, sid: this.sid, sky: this.backdrop.key });
  }

  // The page was left before the answer came: the page that is there now shows it.
  left(rev) { this.unheard = this.unheard.filter(message => message.rev > rev); this.page?.show(this.sid, rev); }

  // What the server answers to this session, null if nothing.
  async ask(message) {
    const body = JSON.stringify({ ...message, sid: this.sid }), headers = { "content-type": "application/json" };
    try {
      const answer = await fetch(ROUTE, { method: "POST", headers, body });
      return answer.status === 200 ? await answer.json() : null;
    } catch { return null; }
  }

  tell(name, value) { if (!this.unheard.length && !this.closed && !this.page?.leaving) this.trigger(name, { ...value, sid: this.sid, sky: this.backdrop.key }); }

  revert() { this.composition.take(this.data); this.draw(); }

  say(text) { this.root.querySelector(".live").textContent = text; }

  buttons() {
    const on = (name, act) => this.root.querySelector("." + name).addEventListener("click", act);
    on("undo", () => this.send("undo")); on("redo", () => this.send("redo"));
    on("closer", () => { this.view.zoom(0.7); this.viewed(); }); on("wider", () => { this.view.zoom(1 / 0.7); this.viewed(); });
    on("whole", () => this.fit()); on("level", () => this.level());
    for (const input of this.root.querySelectorAll(".shown input"))
      input.addEventListener("input", () => this.show(input.name, input.type === "checkbox" ? input.checked : Number(input.value)));
    for (const button of this.root.querySelectorAll(".choice button")) button.addEventListener("click", () => this.use(button.value));
    this.root.querySelector(".choice").addEventListener("keydown", e => { if (e.key === "Escape") { this.choose(null); this.svg.focus(); } });
    on("hand", e => { this.panning = press(e.currentTarget); this.box.classList.toggle("panning", this.panning); });
    on("pen", () => this.gestures.startSketch());
  }

  // North up, or the picture upright.
  level() {
    const { view } = this, upright = Math.abs(mod(view.angle + 180, 360) - 180) > 0.05 ? 0 : this.composition.angle;
    view.look(view.ra, view.dec, view.half, upright); this.viewed();
  }

  close() { this.closed = true; this.observer.disconnect(); clearTimeout(this.redraw); delete this.root.__sky; }
}

// Position angle of a panel's up, degrees, from its corners SE, SW, NW, NE.
function panelAngle([se, sw, nw, ne]) {
  const sum = (...all) => unit(all.reduce((s, v) => mix(1, s, 1, v, 0, v), [0, 0, 0]));
  return positionAngle(sum(se, sw, nw, ne), sum(nw, ne));
}

function press(button) {
  const on = button.getAttribute("aria-pressed") !== "true";
  button.setAttribute("aria-pressed", on); return on;
}

export default function ({ parentElement, data, setTriggerValue }) {
  const sky = parentElement.__sky ??= new Sky(parentElement);
  sky.update(data, setTriggerValue);
  return () => sky.close();
}
