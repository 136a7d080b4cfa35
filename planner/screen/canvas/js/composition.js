const moved = (panels, move) => panels.map(p => ({ ...p, corners: p.corners.map(move) }));

// The composition: region, picture and panels as direction vectors, and how gestures move them until the proven
// plan arrives. `center` is the region's centre, `turn` what the hand has turned since Python's answer, `bend` what
// the meridians' convergence near a pole adds so that nothing spins there.
class Composition {
  // Take over what Python says.
  take(data) {
    const vectors = list => list.map(p => skyToVector(p[0], p[1])), { region, picture } = data;
    Object.assign(this, { form: region.form, editable: region.editable, follow: data.follow, listed: data.listed, aspect: picture.aspect });
    this.outline = vectors(region.outline); this.grown = region.grown ? vectors(region.grown) : null;
    this.rings = region.rings ? region.rings.map(vectors) : null; // pieces and holes, where there are several
    this.picture = vectors(picture.corners); this.full = data.full ? vectors(data.full) : null;
    const panels = (list, left) => list.map(p => ({ name: p.name, kept: p.kept, left: left.includes(p.name), corners: vectors(p.corners) }));
    this.shows = data.shows; this.panels = panels(data.panels, data.left);
    this.beside = data.beside.map(b => ({ ...b, panels: panels(b.panels, b.left) })); // layouts of other instruments
    this.gap = data.gap ? skyToVector(...data.gap) : null;
    this.pa = picture.position_angle_deg; this.regionAngle = region.position_angle_deg ?? 0;
    this.size = null; this.touched = false; this.stale = false; this.marginLost = false;
    this.hold(region.center);
  }

  hold(center) { this.base = center; this.center = center; this.turn = 0; this.bend = 0; }

  // Before the next gesture: what is seen now becomes what is moved.
  rebase() {
    const live = this.live();
    Object.assign(this, { outline: live.outline, rings: live.rings, grown: live.grown, full: live.full, picture: live.picture, panels: live.panels, beside: live.beside, gap: live.gap });
    this.pa = this.angle; this.regionAngle = mod(this.regionAngle + this.bend + (this.form === "rectangle" ? this.turn : 0), 360);
    this.hold(this.center);
  }

  get angle() { return mod(this.pa + this.turn + this.bend, 360); }

  moveTo(center) {
    this.bend = carry(180, skyToVector(...this.base), skyToVector(...center)) - 180;
    this.center = center; this.touched = true;
  }

  turnTo(angle) { this.turn = mod(angle - this.pa - this.bend + 180, 360) - 180; }

  // What is to be drawn now: lists of direction vectors.
  live() {
    const from = skyBasis(...this.base, 0), still = this.base === this.center;
    const shift = still ? v => v : motion(from, skyBasis(...this.center, this.bend));
    const whole = this.turn ? motion(from, skyBasis(...this.center, this.bend + this.turn)) : shift;
    const region = this.form === "rectangle" ? whole : shift, outline = this.outline.map(region);
    const way = plan => plan.listed ? v => v : plan.follow ? whole : shift, panels = way(this), loose = this.stale || (this.turn && this.form !== "rectangle");
    return { outline, rings: this.rings?.map(ring => ring.map(region)), grown: this.grown?.map(region), full: this.full?.map(panels), gap: this.gap && region(this.gap),
      picture: loose ? this.pictureAbout(outline) : this.picture.map(region),
      panels: moved(this.panels, panels), beside: this.beside.map(b => ({ ...b, panels: moved(b.panels, way(b)) })) };
  }

  // The smallest rectangle at the picture's angle about the outline, widened to the print's proportions.
  pictureAbout(outline) {
    const plane = skyBasis(...this.center, this.angle), all = outline.map(v => toPlane(v, plane)).filter(Boolean);
    const xs = all.map(p => p[0]), ys = all.map(p => p[1]);
    const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
    let w = (x1 - x0) / 2, h = (y1 - y0) / 2;
    if (this.aspect) { w = Math.max(w, h * this.aspect); h = w / this.aspect; }
    return [[w, -h], [-w, -h], [-w, h], [w, h]].map(([x, y]) => fromPlane((x0 + x1) / 2 + x, (y0 + y1) / 2 + y, plane));
  }

  // Room that one panel leaves about everything, arc minutes of its tangent plane, below 0 where something is cut; null
  // where there are several panels, or where the margin that belongs to everything is not known.
  margin(live) {
    if (live.panels.length !== 1 || this.marginLost) return null;
    const [a, b, , d] = live.panels[0].corners, out = unit(live.panels[0].corners.reduce((s, v) => mix(1, s, 1, v, 0, v)));
    const basis = [unit(mix(1, b, -1, a, 0, out)), unit(mix(1, d, -1, a, 0, out)), out], half = toPlane(a, basis).map(Math.abs);
    const all = (live.rings?.flat() ?? live.grown ?? live.outline).map(v => toPlane(v, basis));
    const rooms = all.map(p => p ? Math.min(half[0] - Math.abs(p[0]), half[1] - Math.abs(p[1])) : -Infinity);
    return rooms.reduce((least, room) => Math.min(least, room), Infinity) / RAD * 60;
  }

  // Corners that may be taken hold of: those of an outline or a rectangle, one point on the rim of a circle.
  handles(outline) {
    if (!this.editable) return [];
    return this.form === "circle" ? [outline[Math.floor(outline.length * 3 / 4)]] : outline;
  }

  moveCorner(i, v) {
    if (this.form === "outline") this.redraw(this.outline.map((c, j) => j === i ? v : c));
    else if (this.form === "circle") this.resizeCircle(Math.acos(clamp(dot(v, skyToVector(...this.center)), -1, 1)) / RAD);
    else this.resizeRectangle(this.outline[(i + 2) % 4], v);
  }

  redraw(outline) { this.outline = outline; this.loosen(); }

  loosen() { this.marginLost ||= !!this.grown; this.touched = true; this.stale = true; this.grown = null; this.full = null; this.gap = null; }

  resizeCircle(radius) {
    this.size = { radius_deg: clamp(radius, 0.01, 35) };
    this.outline = circle(this.center, this.size.radius_deg); this.loosen();
  }

  // A rectangle keeps the corner opposite to the one that is moved.
  resizeRectangle(opposite, v) {
    const middle = skyBasis(...this.center, this.regionAngle), a = toPlane(opposite, middle), b = toPlane(v, middle);
    if (!a || !b) return;
    const center = vectorToSky(fromPlane((a[0] + b[0]) / 2, (a[1] + b[1]) / 2, middle));
    const bend = carry(180, middle[2], skyToVector(...center)) - 180, c = toPlane(v, skyBasis(...center, this.regionAngle + bend));
    if (!c || Math.abs(c[0]) < 1e-4 || Math.abs(c[1]) < 1e-4) return;
    this.regionAngle += bend; this.pa += bend; this.hold(center);
    this.size = { width_deg: 2 * Math.atan(Math.abs(c[0])) / RAD, height_deg: 2 * Math.atan(Math.abs(c[1])) / RAD };
    this.outline = rectangle(center, this.size.width_deg, this.size.height_deg, this.regionAngle); this.loosen();
  }

  addCorner(after) {
    const next = this.outline[(after + 1) % this.outline.length], outline = [...this.outline];
    outline.splice(after + 1, 0, unit(mix(1, outline[after], 1, next, 0, next)));
    this.redraw(outline);
  }

  removeCorner(i) {
    if (this.form !== "outline" || this.outline.length < 4) return false;
    this.redraw(this.outline.filter((_, j) => j !== i));
    return true;
  }

  // The whole composition as Python needs it: absolute, so that the last gesture alone suffices.
  message() {
    const { outline, picture } = this.live(), sum = picture.reduce((s, v) => mix(1, s, 1, v, 0, v), [0, 0, 0]);
    const center = vectorToSky(unit(sum)), corner = toPlane(picture[3], skyBasis(...center, this.angle)) ?? [0.01, 0.01];
    const size = corner.map(x => 2 * Math.atan(Math.abs(x)) / RAD), region = this.form === "rectangle" ? this.turn : 0;
    return { form: this.form, center: this.center, position_angle_deg: this.angle, touched: this.touched, ...this.size,
      region_angle_deg: mod(this.regionAngle + this.bend + region, 360),
      picture: { center, width_deg: size[0], height_deg: size[1] },
      ...(this.form === "outline" ? { outline: outline.map(vectorToSky) } : {}) };
  }
}
