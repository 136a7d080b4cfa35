// Panel count against camera angle: a step for each estimate, a dot for each angle that has been planned, the present
// angle and the best one marked. A click, or arrow keys and Enter, choose an angle. With `margin` in the data the line is
// the margin that one frame leaves about everything, arc minutes, below 0 where something is cut.
const LEFT = 26, RIGHT = 14, TOP = 20, BOTTOM = 20;

class Curve {
  constructor(root) {
    this.root = root; this.svg = root.querySelector("svg"); this.here = null;
    this.svg.addEventListener("pointermove", e => this.point(this.angleOf(e)));
    this.svg.addEventListener("pointerleave", () => this.point(null));
    this.svg.addEventListener("click", e => this.pick(this.angleOf(e)));
    this.svg.addEventListener("keydown", e => this.key(e));
    this.observer = new ResizeObserver(() => this.data && this.draw()); this.observer.observe(this.svg);
  }

  update(data, send) {
    this.data = data; this.send = send;
    this.svg.setAttribute("aria-label", `${data.margin ? "Margin of one frame" : "Panels"} at each camera angle: arrow keys move, Enter takes the angle`);
    this.draw();
  }

  x(angle) { return LEFT + (angle - this.data.angles[0]) / this.data.span * (this.W - LEFT - RIGHT); }

  y(count) { const { low, high } = this; return TOP + (high - count) / (high - low) * (this.H - TOP - BOTTOM); }

  draw() {
    const { angles, counts, proven, present, present_count: presentCount, best, span, margin } = this.data, step = span / angles.length;
    [this.W, this.H] = [this.svg.clientWidth || 320, this.svg.clientHeight || 170];
    const all = [...counts, ...(presentCount ? [presentCount] : [])];
    [this.low, this.high] = margin ? [Math.min(0, ...all), Math.max(...all) + 0.1] : [Math.max(0, Math.min(...all) - 1), Math.max(...all) + 1];
    const corners = margin ? [...angles, angles[0] + span].map((a, i) => [this.x(a), this.y(counts[i % angles.length])])
      : this.steps(counts, step);
    const text = points => points.map(p => p.map(v => v.toFixed(1)).join(" ")).join("L"), line = text(corners), base = this.H - BOTTOM, foot = margin ? this.y(0) : base;
    const inside = a => ((a - angles[0]) % span + span) % span + angles[0];
    const every = span > 100 ? 30 : 15, ticks = [];
    for (let a = Math.ceil(angles[0] / every) * every; a <= angles[0] + span; a += every) ticks.push(a);
    const levels = [...new Set([...(margin ? [0] : [Math.min(...all)]), Math.max(...all)])], at = a => this.x(inside(a));
    const dots = angles.map((a, i) => proven[i] ? `<circle class="dot" r="3" cx="${at(a)}" cy="${this.y(counts[i])}"/>` : "");
    this.svg.innerHTML = [
      ...levels.map(c => `<line class="rule" x1="${LEFT}" x2="${this.W - RIGHT}" y1="${this.y(c)}" y2="${this.y(c)}"/>
        <text x="${LEFT - 5}" y="${this.y(c) + 4}" text-anchor="end">${margin ? `${Math.round(c)}′` : c}</text>`),
      ...ticks.map(a => `<text x="${this.x(a)}" y="${this.H - 5}" text-anchor="middle">${a}°</text>`),
      `<path class="area" d="M${LEFT} ${foot}L${line}L${this.W - RIGHT} ${foot}Z"/>`,
      ...(margin ? [`<path class="line" d="M${line}"/>`] : this.stretches(corners).map(([doubt, points]) => `<path class="line${doubt ? " doubt" : ""}" d="M${text(points)}"/>`)),
      present === null ? "" : `<line class="now" x1="${this.x(inside(present))}" x2="${this.x(inside(present))}" y1="${TOP - 4}" y2="${base}"/>`,
      ...dots,
      present === null || !presentCount ? "" : `<circle class="dot" r="3" cx="${at(present)}" cy="${this.y(presentCount)}"/>`,
      best === null ? "" : `<circle class="best" r="6.5" cx="${at(best)}" cy="${this.y(margin?.best ?? counts[this.at(best)])}"/>`,
      `<line class="at" y1="${TOP}" y2="${base}" style="display:none"/><text class="say" y="12" text-anchor="middle"></text>`].join("");
    const n = this.svg;
    n.setAttribute("aria-valuemin", angles[0]); n.setAttribute("aria-valuemax", angles[0] + span);
    this.point(this.here);
  }

  // A step about each angle, the first one's other half at the end where the angles go round.
  steps(counts, step) {
    const { angles, span } = this.data, from = angles[0], to = from + span, last = counts[span >= 180 ? 0 : counts.length - 1];
    const level = (a, c) => [a - step / 2, a + step / 2].map(x => [this.x(Math.min(to, Math.max(from, x))), this.y(c)]);
    return [...counts.flatMap((c, i) => level(angles[i], c)), ...level(to, last)];
  }

  // The line's points in stretches that are in doubt or not; two points belong to each angle, the last two to the first.
  stretches(corners) {
    const { doubtful = [], span } = this.data, n = this.data.angles.length, parts = [];
    corners.forEach((p, i) => {
      const k = i >> 1, doubt = !!doubtful[k < n ? k : span >= 180 ? 0 : n - 1], last = parts.at(-1);
      if (last && (last[0] || !doubt)) last[1].push(p);
      if (!last || last[0] !== doubt) parts.push([doubt, last && doubt ? [last[1].at(-1), p] : [p]]);
    });
    return parts;
  }

  // Which of the angles this one belongs to: the nearest, round the end.
  at(angle) {
    const { angles, span } = this.data, i = Math.round(((angle - angles[0]) % span + span) % span / (span / angles.length));
    return i < angles.length ? i : span >= 180 ? 0 : angles.length - 1;
  }

  words(angle) {
    const i = this.at(angle), n = this.data.counts[i];
    if (this.data.margin) return `${angle}°: ${n < 0 ? `${(-n).toFixed(1)}′ cut` : `margin ${n.toFixed(1)}′`}`;
    return `${angle}°: ${this.data.proven[i] ? "" : this.data.doubtful?.[i] ? "perhaps " : "about "}${n} ${n === 1 ? "panel" : "panels"}${this.data.proven[i] ? ", proven" : ""}`;
  }

  angleOf(e) {
    const b = this.svg.getBoundingClientRect(), { angles, span } = this.data;
    const t = (e.clientX - b.left - LEFT) / (b.width - LEFT - RIGHT);
    return angles[this.at(angles[0] + Math.min(span, Math.max(0, t * span)))];
  }

  point(angle) {
    this.here = angle;
    const line = this.svg.querySelector(".at"), say = this.svg.querySelector(".say");
    if (!line) return;
    line.style.display = angle === null ? "none" : "";
    if (angle === null) { say.textContent = ""; } else {
      const x = this.x(angle); line.setAttribute("x1", x); line.setAttribute("x2", x);
      say.setAttribute("x", Math.min(Math.max(x, 60), this.W - 60)); say.textContent = this.words(angle);
    }
    const told = angle ?? this.data.present ?? this.data.angles[0];
    this.svg.setAttribute("aria-valuenow", told); this.svg.setAttribute("aria-valuetext", this.words(Math.round(told)));
  }

  pick(angle) { this.send("angle", angle); }

  key(e) {
    const { angles } = this.data, step = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1, PageUp: 10, PageDown: -10 }[e.key];
    if (!step && e.key !== "Enter") return;
    e.preventDefault(); e.stopPropagation();
    const i = this.here === null ? angles.findIndex(a => a >= (this.data.present ?? angles[0])) : angles.indexOf(this.here);
    if (step) this.point(angles[Math.min(angles.length - 1, Math.max(0, i + step))]); else if (this.here !== null) this.pick(this.here);
  }
}

export default function ({ parentElement, data, setTriggerValue }) {
  const curve = parentElement.__curve ??= new Curve(parentElement);
  curve.update(data, setTriggerValue);
  return () => { curve.observer.disconnect(); delete parentElement.__curve; };
}
