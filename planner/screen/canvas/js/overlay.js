// The overlay: region, panels, picture and handles as SVG elements; a few attributes change per move.
const SVG = "http://www.w3.org/2000/svg";
const MOST_HANDLES = 80, MOST_NAMES = 400, BESIDE_WAYS = 3;

class Overlay {
  constructor(svg) {
    this.svg = svg; this.unions = svg.querySelectorAll(".union");
    for (const name of ["beside", "framed", "panels", "names", "corners", "middles"]) this[name] = svg.querySelector("." + name);
    for (const name of ["region", "rings", "grown", "full", "picture", "arm", "handle", "gap", "sketch", "outside", "empty", "lines"]) this[name] = svg.querySelector("." + name);
  }

  draw(view, live, composition, shown) {
    const points = vs => vs.map(v => view.pixel(v)), text = ps => ps.some(p => !p) ? "" : ps.map(p => `${p[0].toFixed(1)},${p[1].toFixed(1)}`).join(" ");
    this.region.setAttribute("points", live.rings ? "" : text(points(live.outline)));
    const lines = (live.rings ?? []).map(ring => text(points(ring))).filter(Boolean);
    this.rings.setAttribute("d", lines.map(line => `M${line}Z`).join(""));
    this.grown.setAttribute("points", live.grown ? text(points(live.grown)) : "");
    this.full.setAttribute("points", live.full ? text(points(live.full)) : "");
    this.picture.setAttribute("points", text(points(live.picture)));
    this.drawPanels(view, live, points, text); this.drawBeside(live, points, text);
    if (shown.shades) this.drawShades(view, live, points, text);
    this.lines.setAttribute("d", composingLines(live.picture, shown).map(ends => points(ends)).filter(ends => ends.every(Boolean))
      .map(([a, b]) => `M${a[0].toFixed(1)} ${a[1].toFixed(1)}L${b[0].toFixed(1)} ${b[1].toFixed(1)}`).join(""));
    this.drawTurn(view, live);
    const spot = live.gap && view.pixel(live.gap);
    place(this.gap, spot);
    this.drawHandles(view, composition.handles(live.outline), composition.form);
    this.svg.classList.toggle("stale", composition.stale);
  }

  drawPanels(view, live, points, text) {
    const n = live.panels.length, names = n <= MOST_NAMES;
    resize(this.panels, n, "polygon"); resize(this.names, names ? n : 0, "text");
    live.panels.forEach((p, i) => {
      const corners = points(p.corners); this.panels.children[i].setAttribute("points", text(corners));
      this.panels.children[i].classList.toggle("kept", !!p.kept); this.panels.children[i].classList.toggle("left", !!p.left);
      if (!names) return;
      const label = this.names.children[i], ok = corners.every(Boolean);
      const size = ok ? Math.hypot(corners[0][0] - corners[1][0], corners[0][1] - corners[1][1]) : 0;
      label.style.display = size > 22 ? "" : "none"; label.classList.toggle("kept", !!p.kept);
      if (label.textContent !== p.name) label.textContent = p.name;
      if (ok) { label.setAttribute("x", mean(corners, 0)); label.setAttribute("y", mean(corners, 1)); }
    });
  }

  // Layouts of other instruments: dashed, each in its own way, with framed names that stand away from the middle.
  drawBeside(live, points, text) {
    const all = live.beside.flatMap((b, k) => b.panels.map(p => ({ ...p, k }))), n = all.length <= MOST_NAMES ? all.length : 0;
    resize(this.beside, all.length, "polygon"); resize(this.framed, n, "g", e => e.append(document.createElementNS(SVG, "rect"), document.createElementNS(SVG, "text")));
    all.forEach((p, i) => {
      const corners = points(p.corners), line = this.beside.children[i]; line.setAttribute("points", text(corners));
      line.setAttribute("class", `beside-${p.k % BESIDE_WAYS}${p.left ? " left" : ""}`);
      if (!n) return;
      const [frame, name] = this.framed.children[i].children, ok = corners.every(Boolean);
      const size = ok ? Math.hypot(corners[0][0] - corners[1][0], corners[0][1] - corners[1][1]) : 0;
      this.framed.children[i].style.display = size > 44 ? "" : "none"; this.framed.children[i].setAttribute("class", line.getAttribute("class"));
      if (!ok) return;
      const edge = p.k % 2 ? [2, 3] : [0, 1], at = j => mix2(mean(corners, j), (corners[edge[0]][j] + corners[edge[1]][j]) / 2, 0.55);
      const [x, y] = [at(0), at(1)], wide = 8 * p.name.length + 8;
      if (name.textContent !== p.name) name.textContent = p.name;
      name.setAttribute("x", x.toFixed(1)); name.setAttribute("y", y.toFixed(1));
      Object.entries({ x: x - wide / 2, y: y - 8.5, width: wide, height: 17 }).forEach(([key, v]) => frame.setAttribute(key, v.toFixed(1)));
    });
  }

  // What panels cover outside of the picture is shaded, what they leave empty in it is hatched.
  drawShades(view, live, points, text) {
    const path = list => list ? `M${list}Z` : "", picture = text(points(live.picture));
    const union = live.panels.map(p => path(text(points(p.corners)))).join("");
    for (const e of this.unions) e.setAttribute("d", union);
    this.outside.setAttribute("d", picture && `M0 0H${view.W}V${view.H}H0Z${path(picture)}`);
    this.empty.setAttribute("points", picture);
  }

  // The handle that turns stands above the picture's upper edge, but never off the canvas.
  drawTurn(view, live) {
    const [, , nw, ne] = live.picture, top = view.pixel(unit(mix(1, nw, 1, ne, 0, ne)));
    const middle = view.pixel(unit(live.picture.reduce((s, v) => mix(1, s, 1, v, 0, v), [0, 0, 0])));
    this.middle = middle;
    if (!top || !middle) return [this.arm, this.handle].forEach(e => e.style.display = "none");
    const long = Math.hypot(top[0] - middle[0], top[1] - middle[1]) || 1, d = [(top[0] - middle[0]) / long, (top[1] - middle[1]) / long];
    const room = rayRoom(middle, d, view), reach = clamp(long + 30, 20, Math.max(20, room - 14)), from = Math.min(long, reach - 12);
    const [x1, y1, x2, y2] = [middle[0] + d[0] * from, middle[1] + d[1] * from, middle[0] + d[0] * reach, middle[1] + d[1] * reach];
    Object.entries({ x1, y1, x2, y2 }).forEach(([k, v]) => this.arm.setAttribute(k, v.toFixed(1)));
    this.arm.style.display = ""; place(this.handle, [x2, y2]);
  }

  drawHandles(view, handles, form) {
    const many = handles.length > MOST_HANDLES, list = many ? [] : handles, mids = form === "outline" ? list : [];
    resize(this.corners, list.length, "circle", e => { e.setAttribute("role", "button"); e.setAttribute("r", 5); });
    resize(this.middles, mids.length, "circle", e => { e.setAttribute("r", 3); e.setAttribute("aria-hidden", "true"); });
    list.forEach((v, i) => {
      const e = this.corners.children[i];
      e.setAttribute("tabindex", i === (this.focus ?? 0) || list.length === 1 ? 0 : -1);
      e.setAttribute("aria-label", form === "circle" ? "Rim of the circle" : `Corner ${i + 1} of ${list.length}`);
      place(e, view.pixel(v));
    });
    mids.forEach((v, i) => place(this.middles.children[i], view.pixel(unit(mix(1, v, 1, list[(i + 1) % list.length], 0, v)))));
  }
}

// Lines that help to compose, as pairs of ends on the picture's sides; equal shares of a side are equal in its plane.
function composingLines([a, b, c, d], { thirds, middle, diagonals }) {
  const between = (p, q, share) => unit(mix(1 - share, p, share, q, 0, q));
  const shares = [...(thirds ? [1 / 3, 2 / 3] : []), ...(middle ? [1 / 2] : [])];
  return [...shares.flatMap(t => [[between(a, b, t), between(d, c, t)], [between(a, d, t), between(b, c, t)]]),
    ...(diagonals ? [[a, c], [b, d]] : [])];
}

const mix2 = (a, b, share) => (1 - share) * Number(a) + share * Number(b);
const mean = (points, i) => (points.reduce((s, p) => s + p[i], 0) / points.length).toFixed(1);

function place(element, p) {
  element.style.display = p ? "" : "none";
  if (p) { element.setAttribute("cx", p[0].toFixed(1)); element.setAttribute("cy", p[1].toFixed(1)); }
}

function resize(group, n, tag, prepare = () => {}) {
  while (group.childElementCount > n) group.lastChild.remove();
  while (group.childElementCount < n) { const e = document.createElementNS(SVG, tag); prepare(e); group.append(e); }
}

// How far a ray from p in direction d runs inside the canvas.
function rayRoom(p, d, view) {
  const t = [d[0] > 0 ? (view.W - p[0]) / d[0] : d[0] < 0 ? -p[0] / d[0] : Infinity,
    d[1] > 0 ? (view.H - p[1]) / d[1] : d[1] < 0 ? -p[1] / d[1] : Infinity];
  return Math.min(...t);
}
