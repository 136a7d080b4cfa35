// Gestures: pointer and keys move the view or the composition; a finished gesture is sent to Python once.
const KEY_PAUSE_MS = 300;
// How far beside a handle a pointer may be, in pixels: handles are drawn small, a finger is wide.
const GRIP_PX = { mouse: 7, pen: 12, touch: 24 };

class Gestures {
  constructor(sky) {
    this.sky = sky; this.pointers = new Map(); this.drag = null; this.timer = 0;
    const svg = sky.svg, on = (name, act, options) => svg.addEventListener(name, act, options);
    on("pointerdown", e => this.down(e)); on("pointermove", e => this.move(e));
    for (const name of ["pointerup", "pointercancel"]) on(name, e => this.up(e));
    on("wheel", e => this.wheel(e), { passive: false }); on("keydown", e => this.key(e));
    on("dblclick", e => { if (this.drawing) { e.preventDefault(); this.closeSketch(); } });
    on("pointerleave", () => sky.point(null)); on("focusin", e => this.focused(e));
  }

  get busy() { return !!(this.drag && this.drag.how !== "pan") || !!this.timer || !!this.drawing; }

  at(e) { const b = this.sky.svg.getBoundingClientRect(); return [e.clientX - b.left, e.clientY - b.top]; }

  down(e) {
    const { sky } = this, p = this.at(e), target = this.grip(e, p), kind = target.classList[0], group = target.parentNode.classList?.[0];
    sky.svg.setPointerCapture(e.pointerId); this.pointers.set(e.pointerId, p);
    if (this.pointers.size === 2) { this.drop(); this.drag = this.pinch(); return; }
    if (this.pointers.size > 2) return;
    if (group !== "corners") sky.svg.focus({ preventScroll: true });
    if (this.drawing) { this.drag = { how: "sketch", from: p }; return; }
    const i = [...target.parentNode.children].indexOf(target), free = e.button === 1 || sky.panning;
    const how = free ? "pan" : group === "corners" ? "corner" : group === "middles" ? "middle" : kind === "handle" ? "turn"
      : kind === "picture" ? "move" : "pan";
    this.flush();
    if (how !== "pan") sky.composition.rebase();
    this.drag = { how, i, from: p, v: sky.view.vector(...p), center: sky.composition.center, angle: sky.composition.angle, moved: false };
    if (how === "middle") { sky.composition.addCorner(i); this.drag = { ...this.drag, how: "corner", i: i + 1, moved: true }; }
    if (how === "corner") { sky.overlay.focus = this.drag.i; sky.overlay.corners.children[this.drag.i]?.focus({ preventScroll: true }); }
  }

  // What a pointer takes hold of: the nearest handle within reach, or what lies under it.
  grip(e, p) {
    if (this.drawing || this.sky.panning || e.button === 1) return e.target;
    const { handle, corners, middles } = this.sky.overlay, reach = GRIP_PX[e.pointerType] ?? GRIP_PX.mouse;
    let best = e.target, least = Infinity;
    for (const [list, share] of [[corners.children, 1], [[handle], 1], [middles.children, 0.6]])
      for (const one of list) {
        const off = Math.hypot(one.getAttribute("cx") - p[0], one.getAttribute("cy") - p[1]);
        if (one.style.display !== "none" && off <= reach * share && off < least) [best, least] = [one, off];
      }
    return best;
  }

  pinch() {
    const [a, b] = [...this.pointers.values()];
    return { how: "pinch", gap: Math.hypot(a[0] - b[0], a[1] - b[1]), half: this.sky.view.half,
      v: this.sky.view.vector((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) };
  }

  move(e) {
    const { sky, drag } = this, p = this.at(e);
    if (this.pointers.has(e.pointerId)) this.pointers.set(e.pointerId, p);
    sky.point(p);
    if (this.drawing) { this.drawing.cursor = sky.view.vector(...p); sky.soon(); }
    if (!drag || drag.how === "sketch") return;
    if (drag.how !== "pinch" && !drag.moved && Math.hypot(p[0] - drag.from[0], p[1] - drag.from[1]) < 3) return;
    drag.moved = true; this[drag.how + "Drag"](p, drag, e);
    if (drag.how !== "pan" && drag.how !== "pinch") sky.resting(drag.how);
  }

  panDrag(p, drag) { this.sky.view.hold(drag.v, ...p); this.sky.viewed(); }

  pinchDrag(_, drag) {
    const { view } = this.sky, [a, b] = [...this.pointers.values()];
    view.look(view.ra, view.dec, drag.half * drag.gap / Math.max(8, Math.hypot(a[0] - b[0], a[1] - b[1])));
    view.hold(drag.v, (a[0] + b[0]) / 2, (a[1] + b[1]) / 2); this.sky.viewed();
  }

  moveDrag(p, drag) {
    const { sky } = this;
    sky.composition.moveTo(vectorToSky(slide(drag.v, sky.view.vector(...p))(skyToVector(...drag.center)))); sky.soon();
  }

  // Shift: whole steps of five degrees.
  turnDrag(p, drag, e) {
    const { sky } = this, m = drag.middle ??= sky.view.vector(...sky.overlay.middle);
    const angle = positionAngle(m, sky.view.vector(...p)), start = drag.start ??= positionAngle(m, drag.v);
    const turned = drag.angle + angle - start;
    sky.composition.turnTo(e.shiftKey ? Math.round(turned / 5) * 5 : turned); sky.soon();
  }

  cornerDrag(p, drag) { this.sky.composition.moveCorner(drag.i, this.sky.view.vector(...p)); this.sky.soon(); }

  up(e) {
    const { sky, drag } = this;
    if (!this.pointers.delete(e.pointerId) || !drag) return;
    if (drag.how === "pinch") { this.drag = null; return; }
    if (drag.how === "sketch") { this.drag = null; return this.addToSketch(sky.view.vector(...drag.from), drag.from); }
    this.drag = null;
    if (e.type === "pointercancel" && drag.how !== "pan") return sky.revert();
    if (!drag.moved) return sky.pick(drag.from);
    if (drag.how !== "pan") sky.commit(drag.how);
  }

  // A second finger turns a drag into a pinch: what the first one began is taken back.
  drop() { const d = this.drag; this.drag = null; if (d && d.how !== "pan" && d.moved) this.sky.revert(); }

  wheel(e) { e.preventDefault(); this.sky.view.zoom(Math.exp(clamp(e.deltaY, -240, 240) * 0.0016), ...this.at(e)); this.sky.viewed(); }

  focused(e) {
    const i = [...this.sky.overlay.corners.children].indexOf(e.target);
    if (i >= 0) { this.sky.overlay.focus = i; this.sky.soon(); }
  }

  key(e) {
    if (this.drawing ? this.sketchKey(e) : this.editKey(e)) { e.preventDefault(); e.stopPropagation(); }
  }

  editKey(e) {
    const { sky } = this, k = e.key, control = e.ctrlKey || e.metaKey;
    const corner = [...sky.overlay.corners.children].indexOf(e.target);
    if (control && k.toLowerCase() === "z") return sky.send(e.shiftKey ? "redo" : "undo");
    if (control && k.toLowerCase() === "y") return sky.send("redo");
    const d = ARROWS[k], step = e.shiftKey ? 20 : e.altKey ? 0.5 : 3;
    if (d && control) { sky.view.hold(sky.view.vector(sky.view.W / 2, sky.view.H / 2), sky.view.W / 2 - d[0] * 40, sky.view.H / 2 - d[1] * 40); sky.viewed(); return true; }
    if (control) return false;
    if (d && corner >= 0) return this.nudge("corner", c => c.moveCorner(corner, this.beside(c.handles(c.live().outline)[corner], d, step)));
    if (d) return this.nudge("move", c => c.moveTo(vectorToSky(this.beside(skyToVector(...c.center), d, step))));
    if (TURNS[k]) return this.nudge("turn", c => c.turnTo(c.angle + TURNS[k]));
    if (corner >= 0 && (k === "Delete" || k === "Backspace")) return this.nudge("corner", c => c.removeCorner(corner));
    if (corner >= 0 && k === "Insert" && sky.composition.form === "outline") return this.nudge("corner", c => c.addCorner(corner));
    if (corner >= 0 && (k === "[" || k === "]")) return this.otherCorner(k === "]" ? 1 : -1);
    if (k === "+" || k === "=" || k === "-") { sky.view.zoom(k === "-" ? 1.25 : 0.8); sky.viewed(); return true; }
    if (k === "0") { sky.fit(); return true; }
    return false;
  }

  // The direction a few pixels beside another one.
  beside(v, d, step) {
    const { view } = this.sky, p = view.pixel(v);
    if (!p) return v;
    return slide(view.vector(...p), view.vector(p[0] + d[0] * step, p[1] + d[1] * step))(v);
  }

  nudge(how, change) {
    const { sky } = this;
    if (!this.timer || this.nudging !== how) { this.flush(); sky.composition.rebase(); }
    if (how === "corner" && this.timer) sky.composition.rebase();
    change(sky.composition); sky.soon();
    this.nudging = how; clearTimeout(this.timer);
    this.timer = setTimeout(() => this.flush(), KEY_PAUSE_MS);
    return true;
  }

  flush() { if (this.timer) { clearTimeout(this.timer); this.timer = 0; this.sky.commit(this.nudging); } }

  otherCorner(step) {
    const all = this.sky.overlay.corners.children, i = mod((this.sky.overlay.focus ?? 0) + step, all.length);
    this.sky.overlay.focus = i; all[i].focus({ preventScroll: true }); return true;
  }

  // Drawing an outline: every click or Space sets a corner; Enter, a double click or the first corner closes it.
  startSketch() {
    this.flush(); this.drawing = { points: [], cursor: null }; this.sky.svg.focus({ preventScroll: true });
    this.sky.say("Drawing: click or press Space to set corners, Enter closes the outline, Escape leaves it."); this.sky.soon();
  }

  addToSketch(v, p) {
    const { points } = this.drawing, first = points.length > 2 && this.sky.view.pixel(points[0]);
    if (first && p && Math.hypot(first[0] - p[0], first[1] - p[1]) < 10) return this.closeSketch();
    const last = points.length && this.sky.view.pixel(points.at(-1));
    if (!(last && p && Math.hypot(last[0] - p[0], last[1] - p[1]) < 3)) points.push(v);
    this.sky.say(`${points.length} corners`); this.sky.soon();
  }

  closeSketch() {
    const { points } = this.drawing;
    if (points.length < 3) return this.sky.say("An outline needs at least 3 corners.");
    this.drawing = null; this.sky.drawn(points.map(vectorToSky));
  }

  sketchKey(e) {
    const { sky, drawing } = this, d = ARROWS[e.key], here = drawing.cursor ?? sky.view.basis[2];
    if (d) { drawing.cursor = this.beside(here, d, e.shiftKey ? 40 : 8); sky.point(sky.view.pixel(drawing.cursor)); }
    else if (e.key === " ") this.addToSketch(here, sky.view.pixel(here));
    else if (e.key === "Enter") this.closeSketch();
    else if (e.key === "Backspace") drawing.points.pop();
    else if (e.key === "Escape") { this.drawing = null; sky.say("Left the outline as it was."); }
    else return false;
    sky.soon(); return true;
  }
}

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const TURNS = { ",": -1, ".": 1, "<": -10, ">": 10 };
