/* Planning by hand: pieces moved on a hide by pointer, by tap or by keyboard.

   Everything is kept in the form's own number fields, which work without this script too. What is
   warned of here is worked out with plain polygons; whether a plan may be kept, the server says. */
"use strict";

(() => {
  const SVG = "http://www.w3.org/2000/svg";
  const COARSE_MM = 10, FINE_MM = 1, COARSE_DEG = 15, FINE_DEG = 1;
  const HAIR_MM = 0.01; // beyond the gap, so that rounding never comes out too near
  const SHOWN_MM = 0.02; // what rounded figures may be off before it is called a fault
  const ROUGH_MM = 0.25; // the same while a piece is dragged by outlines with fewer corners
  const REACH_PX = 14, REACH_MOST_MM = 8; // how near a place draws a piece that is let go
  const DRAG_PX = 4; // less is a tap
  const LEVEL_DEG = 3; // so near the tight way a turn by the handle falls into it
  const UNDO_MOST = 100, GRID_MM = 50, GRID_ROOM_PX = 34, SPOTS_ACROSS = 50, EXACT_MOST = 20_000;

  const make = (name, given = {}) => {
    const element = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(given)) element.setAttribute(key, value);
    return element;
  };
  const shown = (v) => String(Number((Math.round(v * 100) / 100).toFixed(2)) + 0);
  const { wrap, off, path, boxOf, apart, inside, between, within } = window.planShapes;

  class Planner {
    constructor(root) {
      this.root = root;
      this.words = root.dataset;
      this.form = root.closest("form");
      this.data = JSON.parse(root.dataset.ground);
      this.ground = root.querySelector("[data-plan-ground]");
      this.said = root.querySelector("[data-plan-said]");
      this.warned = root.querySelector("[data-plan-warned]");
      this.bar = root.querySelector("[data-plan-bar]");
      this.mayMove = root.dataset.mayMove === "yes";
      this.copies = this.data.copies.map((copy) => ({ ...copy, kind: this.data.pieces[copy.piece] }));
      this.chosen = -1;
      this.zoom = 1;
      this.undo = [];
      this.hideBox = boxOf(this.data.hide);
      this.data.defects.forEach((part) => { part.box = boxOf(part.ring); });
      for (const copy of this.copies) this.readFields(copy);
      root.hidden = false;
      this.build();
      this.listen();
      const still = document.querySelector("[data-plan-still]");
      if (still) still.hidden = true;
      this.checkAll();
      this.draw();
    }

    /* Fields */

    field(copy, name) { return this.form.elements[`copy-${copy.number}-${name}`]; }

    readFields(copy) {
      if (copy.locked) { copy.at = { ...copy.locked }; copy.stays = true; return; }
      const [x, y, turn] = ["x_mm", "y_mm", "turn_deg"]
        .map((name) => Number.parseFloat(this.field(copy, name).value.replace(",", ".")));
      const mirrored = copy.kind.mirrorFree ? this.field(copy, "mirrored").checked : copy.mirrored;
      copy.mirrored = mirrored;
      copy.turn = Number.isFinite(turn) ? turn : 0;
      copy.at = Number.isFinite(x) && Number.isFinite(y) ? { x, y, turn: copy.turn, mirrored } : null;
      copy.stays = this.field(copy, "stays").checked;
    }

    writeFields(copy) {
      if (copy.locked) return;
      this.field(copy, "x_mm").value = copy.at ? shown(copy.at.x) : "";
      this.field(copy, "y_mm").value = copy.at ? shown(copy.at.y) : "";
      this.field(copy, "turn_deg").value = copy.at || copy.turn ? shown(copy.turn) : "";
      if (copy.kind.mirrorFree) this.field(copy, "mirrored").checked = copy.mirrored;
      this.field(copy, "stays").checked = copy.stays;
    }

    remember() {
      this.undo.push(this.copies.map(({ at, turn, mirrored, stays }) =>
        ({ at: at && { ...at }, turn, mirrored, stays })));
      if (this.undo.length > UNDO_MOST) this.undo.shift();
    }

    takeBack() {
      const before = this.undo.pop();
      if (!before) return;
      this.copies.forEach((copy, k) => { Object.assign(copy, before[k]); this.writeFields(copy); });
      this.checkAll();
      this.draw();
      this.say(this.words.sayUndone);
    }

    /* Places */

    ringOf(copy, at = copy.at) {
      const turn = ((copy.kind.base[at.mirrored ? 1 : 0] + at.turn) * Math.PI) / 180;
      const c = Math.cos(turn), s = Math.sin(turn);
      return (this.isRough ? copy.kind.rough : copy.kind.ring).map(([px, y]) => {
        const x = at.mirrored ? -px : px;
        return [at.x + x * c - y * s, at.y + x * s + y * c];
      });
    }

    /* Pieces without a place lie in rows below the hide. */
    frame() {
      const [left, bottom, right] = this.hideBox;
      // Room for the figures of the grid, however small the ground is.
      const room = Math.max(0.03 * (right - left), (GRID_ROOM_PX * (right - left)) / this.ground.clientWidth);
      let x = left, y = bottom - room * 2, tall = 0;
      for (const copy of this.copies) {
        if (copy.locked) continue;
        const box = boxOf(this.ringOf(copy, { x: 0, y: 0, turn: copy.turn, mirrored: copy.mirrored }));
        const w = box[2] - box[0], h = box[3] - box[1];
        if (x + w > right && x > left) { x = left; y -= tall + 4; tall = 0; }
        copy.beside = { x: x - box[0], y: y - box[3] };
        if (!copy.at) { x += w + 4; tall = Math.max(tall, h); }
      }
      const low = Math.min(bottom - room, tall ? y - tall - room : bottom - room);
      this.view = { x: left - room, y: -(this.hideBox[3] + room),
        w: right - left + 2 * room, h: this.hideBox[3] + room - low };
      this.svg?.setAttribute("viewBox", Object.values(this.view).join(" "));
    }

    get hide() { return this.isRough ? this.data.roughHide : this.data.hide; }
    get leeway() { return this.isRough ? ROUGH_MM : SHOWN_MM; }

    get mmPerPx() {
      const matrix = this.svg.getScreenCTM();
      return matrix ? 1 / Math.max(matrix.a, 1e-6) : 1;
    }

    obstacles(copy) {
      const found = this.data.defects.map(({ ring, rough, box }) =>
        ({ ring: this.isRough ? rough : ring, box, gap: this.data.edgeGap }));
      for (const other of this.copies)
        if (other !== copy && other.at)
          found.push({ ring: this.ringOf(other), gap: this.data.gap });
      for (const one of found) one.box ||= boxOf(one.ring);
      return found;
    }

    contacts(ring, obstacles, reach) {
      const box = boxOf(ring), edge = within(ring, this.hide);
      const found = [{ slack: edge.d - this.data.edgeGap, way: edge.way }];
      for (const one of obstacles) {
        if (apart(box, one.box, one.gap + reach)) continue;
        const gap = between(ring, one.ring);
        found.push({ slack: gap.d - one.gap, way: gap.way });
      }
      return found;
    }

    /* Move a piece out of what it lies on, by no more than the reach; false where it cannot be. */
    pushOut(copy, at, obstacles, reach) {
      const start = { ...at };
      for (let k = 0; k < 24; k += 1) {
        const worst = this.contacts(this.ringOf(copy, at), obstacles, reach)
          .reduce((a, b) => (b.slack < a.slack ? b : a));
        if (worst.slack >= 0) return true;
        at.x += worst.way[0] * (HAIR_MM - worst.slack);
        at.y += worst.way[1] * (HAIR_MM - worst.slack);
        if (Math.hypot(at.x - start.x, at.y - start.y) > reach) return false;
      }
      return false;
    }

    /* The place near by where a piece just keeps the gap to a neighbour or the edge, or to two. */
    snapped(copy, wanted) {
      const reach = Math.min(REACH_MOST_MM, REACH_PX * this.mmPerPx);
      const obstacles = this.obstacles(copy);
      const at = { ...wanted };
      if (!this.pushOut(copy, at, obstacles, reach)) return wanted;
      let first = null;
      for (let k = 0; k < 2; k += 1) {
        const from = { ...at };
        const next = this.contacts(this.ringOf(copy, at), obstacles, reach)
          .filter((c) => c.slack > 3 * HAIR_MM && c.slack < reach && Number.isFinite(c.slack) &&
            (!first || Math.abs(c.way[0] * first[0] + c.way[1] * first[1]) < 0.95))
          .sort((a, b) => a.slack - b.slack)[0];
        if (!next) break;
        let way = [-next.way[0], -next.way[1]], by = next.slack - HAIR_MM;
        if (first) { // along the first neighbour, so that it keeps its gap
          way = [-first[1], first[0]];
          const share = way[0] * -next.way[0] + way[1] * -next.way[1];
          if (Math.abs(share) < 0.3) break;
          by /= share;
        }
        at.x += way[0] * by;
        at.y += way[1] * by;
        const isFar = Math.hypot(at.x - wanted.x, at.y - wanted.y) > reach;
        if (isFar || !this.pushOut(copy, at, obstacles, reach)) { Object.assign(at, from); break; }
        first = next.way;
      }
      at.x = Math.round(at.x * 100) / 100;
      at.y = Math.round(at.y * 100) / 100;
      return this.pushOut(copy, at, obstacles, reach) ? at : wanted;
    }

    /* The turn nearest to a wanted one that the piece may have. */
    allowedTurn(copy, turn) {
      const turns = copy.mirrored ? copy.kind.mirroredTurns : copy.kind.turns;
      if (!turns) return wrap(turn);
      const home = turns.reduce((a, b) => (off(b - turn) < off(a - turn) ? b : a));
      const most = Math.max(0, copy.kind.tolerance);
      const away = ((turn - home + 540) % 360) - 180;
      return wrap(home + Math.min(most, Math.max(-most, away)));
    }

    /* Changes by hand */

    change(copy, at, { snap = true, keepsUndo = false } = {}) {
      if (!this.mayMove || copy.locked) return;
      if (!keepsUndo) this.remember();
      copy.at = at && (snap && this.snaps ? this.snapped(copy, at) : at);
      if (copy.at) Object.assign(copy, { turn: copy.at.turn, mirrored: copy.at.mirrored });
      copy.stays = Boolean(copy.at);
      this.writeFields(copy);
      if (!at) this.frame();
      this.checkAll(copy);
      this.draw();
      this.tell(copy);
    }

    get snaps() { return this.root.querySelector("[data-plan-snap]").checked; }
    get copy() { return this.copies[this.chosen]; }

    choose(index, focus = false) {
      this.chosen = index;
      this.draw();
      if (focus && index >= 0) this.groups[index].focus({ preventScroll: true });
      if (index >= 0) this.tell(this.copies[index]);
    }

    turnBy(copy, degrees) {
      if (!copy.at) return;
      const turn = this.allowedTurn(copy, copy.turn + degrees);
      if (off(turn - copy.turn) < 1e-6) this.say(`${copy.name}: ${this.words.sayTurnedEnough}`);
      else this.change(copy, { ...copy.at, turn }, { snap: false });
    }

    turnOver(copy) {
      const turns = copy.mirrored ? copy.kind.mirroredTurns : copy.kind.turns;
      if (turns && turns.length < 2) this.say(`${copy.name}: ${this.words.sayTurnedEnough}`);
      else this.turnBy(copy, turns ? 180 : COARSE_DEG);
    }

    mirror(copy) {
      if (!copy.kind.mirrorFree) this.say(`${copy.name}: ${this.words.sayNoMirror}`);
      else if (copy.at) {
        const mirrored = !copy.mirrored;
        copy.mirrored = mirrored;
        this.change(copy, { ...copy.at, mirrored, turn: this.allowedTurn(copy, copy.turn) },
          { snap: false });
      }
    }

    toggleStay(copy) {
      if (copy.locked || !copy.at) return;
      this.remember();
      copy.stays = !copy.stays;
      this.writeFields(copy);
      this.draw();
      this.tell(copy);
    }

    /* On the hide at the first place where nothing is wrong, else in its middle. */
    putOn(copy) {
      const [left, bottom, right, top] = this.hideBox;
      const at = { turn: copy.turn, mirrored: copy.mirrored };
      this.isRough = true; // many places are looked at; the one found is made exact by the snap
      const spot = this.freeSpot(copy, at);
      this.isRough = false;
      if (spot) this.change(copy, { ...at, ...spot });
      else this.change(copy, { ...at, x: (left + right) / 2, y: (bottom + top) / 2 }, { snap: false });
    }

    freeSpot(copy, at) {
      const [left, bottom, right, top] = this.hideBox;
      const obstacles = this.obstacles(copy), room = this.data.edgeGap + this.leeway;
      const step = Math.max(4, (right - left) / SPOTS_ACROSS);
      for (let y = bottom + step; y < top; y += step)
        for (let x = left + step; x < right; x += step) {
          const ring = this.ringOf(copy, { ...at, x, y }), box = boxOf(ring);
          const isIn = box[0] >= left && box[1] >= bottom && box[2] <= right && box[3] <= top;
          if (!isIn || obstacles.some((one) => !apart(box, one.box, one.gap + room) &&
            between(ring, one.ring).d < one.gap + room)) continue;
          if (within(ring, this.hide).d >= room) return { x, y };
        }
      return null;
    }

    act(name) {
      const copy = this.copy;
      if (name === "undo") this.takeBack();
      else if (name === "larger" || name === "smaller") this.scaleBy(name === "larger");
      else if (!copy) this.say(this.words.sayChoose);
      else if (copy.locked) this.say(`${copy.name}: ${this.words.sayLocked}`);
      else if (name === "on") { if (!copy.at) this.putOn(copy); }
      else if (name === "over") this.turnOver(copy);
      else if (name === "left") this.turnBy(copy, FINE_DEG);
      else if (name === "right") this.turnBy(copy, -FINE_DEG);
      else if (name === "mirror") this.mirror(copy);
      else if (name === "stay") this.toggleStay(copy);
      else if (name === "off" && copy.at) this.change(copy, null);
    }

    scaleBy(larger) {
      this.zoom = Math.min(6, Math.max(1, this.zoom * (larger ? 1.4 : 1 / 1.4)));
      this.svg.style.width = `${100 * this.zoom}%`;
      this.svg.style.maxHeight = this.zoom > 1 ? "none" : "";
      this.draw();
    }

    /* What is wrong, by plain polygons */

    checkAll(only = null) {
      const wasRough = this.isRough;
      // All of very many at once by fewer corners; each is looked at exactly once it is moved.
      this.isRough ||= !only && this.copies.length * this.data.hide.length > EXACT_MOST;
      this.checkThese(only);
      this.isRough = wasRough;
      this.warn();
    }

    checkThese(only) {
      const rings = this.copies.map((copy) => copy.at && this.ringOf(copy));
      const boxes = rings.map((ring) => ring && boxOf(ring));
      this.copies.forEach((copy, k) => {
        if (!rings[k]) { copy.faults = []; copy.touches = new Map(); return; }
        if (!only || only === copy || !copy.alone) copy.alone = this.aloneFaults(copy, rings[k], boxes[k]);
        copy.touches ||= new Map();
      });
      this.copies.forEach((copy, k) => this.copies.forEach((other, j) => {
        if (j <= k || (only && only !== copy && only !== other)) return;
        let words = "";
        if (rings[k] && rings[j] && !apart(boxes[k], boxes[j], this.data.gap)) {
          const d = between(rings[k], rings[j]).d;
          if (d < -this.leeway) words = this.words.wordOverlaps;
          else if (d < this.data.gap - this.leeway) words = this.words.wordTooNear;
        }
        for (const [one, two] of [[copy, other], [other, copy]])
          if (words) one.touches.set(two.number, `${words} ${two.name}`);
          else one.touches.delete(two.number);
      }));
      for (const copy of this.copies)
        copy.faults = copy.at ? [...copy.alone, ...copy.touches.values()] : [];
    }

    aloneFaults(copy, ring, box) {
      const faults = [];
      if (within(ring, this.hide).d < this.data.edgeGap - this.leeway) faults.push(this.words.wordOutside);
      for (const part of this.data.defects)
        if (!apart(box, part.box, 0) && between(ring, this.isRough ? part.rough : part.ring).d < this.data.edgeGap - this.leeway)
          faults.push(`${this.words.wordOnDefect} (${part.kind})`);
      for (const area of this.data.areas)
        if (copy.kind.grade !== null && area.grade > copy.kind.grade &&
            between(ring, area.ring).d < -this.leeway) faults.push(`${this.words.wordGrade} (${area.name})`);
      const turns = copy.at.mirrored ? copy.kind.mirroredTurns : copy.kind.turns;
      if (turns && turns.every((turn) => off(turn - copy.at.turn) > copy.kind.tolerance + 0.01))
        faults.push(this.words.wordTurned);
      return faults;
    }

    warn() {
      const faulty = this.copies.filter((copy) => copy.faults.length);
      const without = this.copies.filter((copy) => !copy.at).length;
      const lines = faulty.slice(0, 6).map((copy) => `${copy.name} ${copy.faults.join("; ")}`);
      if (faulty.length > 6) lines.push(`+ ${faulty.length - 6}`);
      this.warned.replaceChildren(...lines.map((words) => {
        const item = document.createElement("li");
        item.textContent = words;
        return item;
      }));
      this.warned.hidden = !lines.length;
      const count = this.root.querySelector("[data-plan-count]");
      count.textContent = `${this.copies.length - without} / ${this.copies.length}`;
    }

    tell(copy) {
      const place = copy.at
        ? `${this.words.sayAt} ${shown(copy.at.x)}, ${shown(copy.at.y)} mm, ${this.words.sayTurned} ${shown(copy.turn)}°`
        : this.words.sayBeside;
      const stays = copy.locked ? `; ${this.words.sayLocked}` : copy.stays ? `; ${this.words.sayStays}` : "";
      this.say(`${copy.name}: ${place}${stays}${copy.faults.length ? `. ${copy.faults.join("; ")}` : ""}`);
    }

    say(words) { this.said.textContent = words; }

    /* Drawing */

    build() {
      this.svg = make("svg", { class: "plan-svg", role: "group", "aria-label": this.words.wordGround });
      this.ground.append(this.svg);
      this.svg.append(make("path", { class: "plan-hide", d: path(this.data.hide) }));
      this.grid = make("g", { class: "plan-grid", "aria-hidden": "true" });
      this.svg.append(this.grid);
      for (const area of this.data.areas)
        this.svg.append(make("path", { class: "plan-area", d: path(area.ring) }));
      for (const part of this.data.defects)
        this.svg.append(make("path", { class: "plan-defect", d: path(part.ring) }));
      this.notes = [...this.data.defects, ...this.data.areas].map((part) => {
        const note = make("text", { class: "plan-note", "text-anchor": "middle" });
        note.textContent = part.kind || part.name;
        this.svg.append(note);
        return [note, boxOf(part.ring)];
      });
      this.groups = this.copies.map((copy, index) => {
        const group = make("g", { class: "plan-piece", tabindex: "0", role: "button" });
        group.dataset.index = String(index);
        const title = make("title");
        title.textContent = copy.name;
        group.append(make("path"), make("text", { class: "plan-name", "text-anchor": "middle" }),
          make("text", { class: "plan-word-in", "text-anchor": "middle" }), title);
        this.svg.append(group);
        return group;
      });
      this.handle = make("circle", { class: "plan-handle", hidden: "" });
      this.svg.append(this.handle);
      this.frame();
    }

    /* Lines every 50 mm with their figures, as the rulers of the layout sheet count. */
    drawGrid(px) {
      const [left, bottom, right, top] = this.hideBox, lines = [];
      const step = (right - left) / px > 500 ? GRID_MM : 2 * GRID_MM;
      for (let x = Math.ceil(left / step) * step; x <= right; x += step)
        lines.push([`M${x},${-top}V${-bottom}`, x, -bottom + 13 * px, x, "middle"]);
      for (let y = Math.ceil(bottom / step) * step; y <= top; y += step)
        lines.push([`M${left},${-y}H${right}`, left - 4 * px, -y + 4 * px, y, "end"]);
      this.grid.replaceChildren(make("path", { d: lines.map((line) => line[0]).join("") }),
        ...lines.map(([, x, y, figure, anchor]) => {
          const text = make("text", { x, y, "text-anchor": anchor });
          text.style.fontSize = `${(11 * px).toFixed(2)}px`;
          text.textContent = String(figure);
          return text;
        }));
    }

    drawNotes(px) {
      for (const [note, box] of this.notes) {
        note.setAttribute("x", ((box[0] + box[2]) / 2).toFixed(2));
        note.setAttribute("y", (-box[3] - 4 * px).toFixed(2));
        note.style.fontSize = `${(11 * px).toFixed(2)}px`;
      }
    }

    draw() {
      const px = this.mmPerPx;
      this.drawNotes(px);
      if (!this.held) this.drawGrid(px);
      this.copies.forEach((copy, k) => {
        const group = this.groups[k];
        const at = copy.at || { ...copy.beside, turn: copy.turn, mirrored: copy.mirrored };
        const [outline, name, word] = group.children;
        const ring = this.ringOf(copy, at), box = boxOf(ring);
        const hasRoom = (box[2] - box[0]) / px > 7 * copy.name.length && (box[3] - box[1]) / px > 44;
        outline.setAttribute("d", path(ring));
        for (const [text, size, down] of [[name, 13, hasRoom ? -3 : 4], [word, 12, 13]]) {
          text.setAttribute("x", at.x.toFixed(2));
          text.setAttribute("y", (-at.y + down * px).toFixed(2));
          text.style.fontSize = `${(size * px).toFixed(2)}px`;
        }
        word.textContent = hasRoom ? ` ${copy.name}` : "";  // read aloud, the space parts it from the number
        const mark = copy.faults.length ? "! " : copy.locked ? "✓ " : copy.at && copy.stays ? "• " : "";
        name.textContent = `${mark}${k + 1}`;
        const row = this.form.querySelector(`[data-copy="${copy.number}"]`);
        if (row) row.classList.toggle("chosen", k === this.chosen);
        for (const [mood, is] of [["chosen", k === this.chosen], ["faulty", copy.faults.length > 0],
          ["beside", !copy.at], ["locked", Boolean(copy.locked)], ["stays", copy.stays && !copy.locked]])
          group.classList.toggle(`plan-${mood}`, is);
        group.setAttribute("aria-pressed", String(k === this.chosen));
        group.setAttribute("aria-label", `${k + 1} ${copy.name}${copy.faults.length ? `: ${copy.faults.join("; ")}` : ""}`);
      });
      this.drawHandle(px);
      for (const button of this.bar.querySelectorAll("[data-plan-needs]"))
        button.disabled = !this.mayMove || !this.copy || Boolean(this.copy.locked) ||
          (button.dataset.planNeeds === "place") !== Boolean(this.copy.at);
    }

    drawHandle(px) {
      const copy = this.copy;
      const may = this.mayMove && copy && copy.at && !copy.locked &&
        (copy.kind.tolerance > 0 || !copy.kind.turns);
      this.handle.toggleAttribute("hidden", !may);
      if (!may) return;
      const box = boxOf(this.ringOf(copy)), reach = (box[3] - box[1]) / 2 + 16 * px;
      const turn = ((copy.turn + 90) * Math.PI) / 180;
      this.handle.setAttribute("cx", (copy.at.x + reach * Math.cos(turn)).toFixed(2));
      this.handle.setAttribute("cy", (-copy.at.y - reach * Math.sin(turn)).toFixed(2));
      this.handle.setAttribute("r", (7 * px).toFixed(2));
    }

    /* Hands */

    listen() {
      this.svg.addEventListener("pointerdown", (event) => this.pressed(event));
      this.svg.addEventListener("pointermove", (event) => this.moved(event));
      this.svg.addEventListener("pointerup", (event) => this.released(event));
      this.svg.addEventListener("pointercancel", () => this.letGo());
      this.svg.addEventListener("keydown", (event) => this.keyed(event));
      this.svg.addEventListener("focusin", (event) => {
        const group = event.target.closest("[data-index]");
        if (group && !this.held) this.choose(Number(group.dataset.index));
      });
      this.bar.addEventListener("click", (event) => {
        const button = event.target.closest("[data-plan-act]");
        if (button) this.act(button.dataset.planAct);
      });
      for (const button of this.form.querySelectorAll("[data-plan-choose]")) {
        button.hidden = false;
        button.addEventListener("click", () => {
          const index = this.copies.findIndex((c) => String(c.number) === button.dataset.planChoose);
          this.choose(index, true);
        });
      }
      this.form.addEventListener("input", (event) => {
        const copy = this.copies.find((c) => event.target.name?.startsWith(`copy-${c.number}-`));
        if (!copy) return;
        this.readFields(copy);
        if (!copy.at) this.frame();
        this.checkAll(copy);
        this.draw();
      });
      window.addEventListener("resize", () => this.draw());
    }

    place(event) {
      const at = new DOMPoint(event.clientX, event.clientY)
        .matrixTransform(this.svg.getScreenCTM().inverse());
      return [at.x, -at.y];
    }

    pressed(event) {
      if (event.button > 0) return;
      const group = event.target.closest("[data-index]");
      const point = this.place(event), screen = [event.clientX, event.clientY];
      if (event.target === this.handle) this.held = { kind: "turn", copy: this.copy };
      else if (group) {
        // Where pieces lie on one another, the chosen one is taken.
        const isChosen = this.copy?.at && inside(point, this.ringOf(this.copy));
        const copy = isChosen ? this.copy : this.copies[Number(group.dataset.index)];
        const from = copy.at || { ...copy.beside, turn: copy.turn, mirrored: copy.mirrored };
        this.held = { kind: "move", copy, from, grip: [point[0] - from.x, point[1] - from.y] };
      } else this.held = { kind: "ground" };
      this.held.screen = screen;
      if (this.held.kind === "ground") return;
      event.preventDefault();
      this.svg.setPointerCapture(event.pointerId);
    }

    moved(event) {
      const held = this.held;
      if (!held || held.kind === "ground" || !this.mayMove || held.copy.locked) return;
      if (!held.isDragged) {
        if (Math.hypot(event.clientX - held.screen[0], event.clientY - held.screen[1]) < DRAG_PX) return;
        held.isDragged = true;
        this.remember();
        this.chosen = this.copies.indexOf(held.copy);
        this.isRough = true;
      }
      const point = this.place(event), copy = held.copy;
      if (held.kind === "turn") {
        const turn = (Math.atan2(point[1] - copy.at.y, point[0] - copy.at.x) * 180) / Math.PI - 90;
        this.change(copy, { ...copy.at, turn: this.levelled(copy, turn) }, { snap: false, keepsUndo: true });
        return;
      }
      const at = { ...held.from, x: point[0] - held.grip[0], y: point[1] - held.grip[1] };
      this.change(copy, { ...at, x: Math.round(at.x * 100) / 100, y: Math.round(at.y * 100) / 100 },
        { keepsUndo: true });
    }

    levelled(copy, turn) {
      const turns = (copy.mirrored ? copy.kind.mirroredTurns : copy.kind.turns) || [0, 90, 180, 270];
      const level = turns.find((home) => off(home - turn) < LEVEL_DEG);
      return level === undefined ? Math.round(this.allowedTurn(copy, turn) * 10) / 10 : level;
    }

    released(event) {
      const held = this.held;
      this.held = null;
      this.isRough = false;
      if (!held) return;
      if (held.isDragged) {
        const [left, bottom, right, top] = this.hideBox, at = held.copy.at;
        const isOff = at.x < left || at.x > right || at.y < bottom || at.y > top;
        const snap = held.kind === "move" && !event.altKey;
        this.change(held.copy, isOff ? null : { ...at }, { snap, keepsUndo: true });
        this.groups[this.copies.indexOf(held.copy)].focus({ preventScroll: true });
      } else if (held.kind === "move") this.choose(this.copies.indexOf(held.copy), true);
      else if (held.kind === "ground") this.tapped(event);
    }

    /* A tap on the hide brings the chosen piece there: the way without dragging. */
    tapped(event) {
      const copy = this.copy;
      if (!copy || copy.locked || !this.mayMove) { this.say(this.words.sayChoose); return; }
      const [x, y] = this.place(event).map((v) => Math.round(v * 10) / 10);
      const [left, bottom, right, top] = this.hideBox;
      if (x < left || x > right || y < bottom || y > top) return;
      this.change(copy, { x, y, turn: copy.turn, mirrored: copy.mirrored });
      this.groups[this.chosen].focus({ preventScroll: true });
    }

    letGo() {
      const held = this.held;
      this.held = null;
      this.isRough = false;
      if (held?.isDragged) this.takeBack();
    }

    keyed(event) {
      const copy = this.copy;
      if (!copy || event.ctrlKey || event.metaKey) {
        if (event.key.toLowerCase() === "z" && (event.ctrlKey || event.metaKey)) {
          this.takeBack();
          event.preventDefault();
        }
        return;
      }
      const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
      const way = ways[event.key], step = event.altKey ? 0.1 : event.shiftKey ? FINE_MM : COARSE_MM;
      const names = { r: "over", m: "mirror", s: "stay", u: "undo", "[": "left", "]": "right",
        Delete: "off", Backspace: "off", Enter: "on", "+": "larger", "-": "smaller" };
      if (event.key === "Escape" && this.held) this.letGo();
      else if (way && copy.at)
        this.change(copy, { ...copy.at, x: copy.at.x + way[0] * step, y: copy.at.y + way[1] * step },
          { snap: false });
      else if (names[event.key] || names[event.key.toLowerCase()])
        this.act(names[event.key] || names[event.key.toLowerCase()]);
      else return;
      event.preventDefault();
    }
  }

  for (const root of document.querySelectorAll("[data-plan]")) new Planner(root);
})();
