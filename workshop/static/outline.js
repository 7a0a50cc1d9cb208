/* Drawing by hand: points set on a ground of millimetres, over a photograph or a grid.

   Everything drawn is written into the form's own fields, which work without this script too. The
   ground is one SVG in mm; y runs up in the fields and down on the screen, turned only here. */
"use strict";

(() => {
  const SVG = "http://www.w3.org/2000/svg";
  const STEP_MM = 0.5; // what a hand can set; fields are written to it
  const HANDLES_MOST = 400; // more points are shown as a line alone
  const NEAR_SHARE = 0.015; // of the ground's width: so near an edge a click goes into it
  const NOMINAL_MM = 600; // a photograph without a scale is shown this wide

  const round = (v) => Math.round(v / STEP_MM) * STEP_MM;
  const text = (v) => String(Number(v.toFixed(3)));
  /* A number as it is typed: a comma for a point, inches with their sign behind them. */
  const typed = (words) => {
    const plain = String(words ?? "").trim().replace(",", ".");
    const inches = /^(\d+(?:\.\d+)?)?(?:[ -]?(\d+)\/(\d+))?\s*(?:in|inch|inches|"|″)$/i.exec(plain);
    if (!inches) return Number.parseFloat(plain);
    return 25.4 * (Number(inches[1] ?? 0) + (inches[2] ? inches[2] / inches[3] : 0));
  };
  const make = (name, given = {}) => {
    const element = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(given)) element.setAttribute(key, value);
    return element;
  };

  function parsed(words) {
    const points = [];
    for (const line of words.split(/[\n;]/)) {
      const numbers = line.trim().split(/[\s,]+/).filter(Boolean).map(Number);
      if (numbers.length === 2 && numbers.every(Number.isFinite)) points.push(numbers);
    }
    return points;
  }

  /* A ring of points kept in a text field; a row of defects or areas says its shape beside it. */
  function ringTarget(key, label, field, shape, between) {
    const row = shape ? field.name.replace(/corners$/, "") : "";
    const box = () => ["x_mm", "y_mm", "width_mm", "height_mm"]
      .map((name) => typed(field.form.elements[row + name].value));
    return {
      key, label, isRing: true,
      read() {
        if (!shape || shape.value === "corners" || shape.value === "") return parsed(field.value);
        const [x, y, w, h] = box();
        if (![x, y, w, h].every(Number.isFinite)) return [];
        if (shape.value === "rectangle") return [[x, y], [x + w, y], [x + w, y + h], [x, y + h]];
        return Array.from({ length: 24 }, (_, k) => {
          const turn = (2 * Math.PI * k) / 24;
          return [x + (w / 2) * (1 + Math.cos(turn)), y + (h / 2) * (1 + Math.sin(turn))];
        });
      },
      write(points) {
        if (shape) {
          const fold = field.closest("details");
          if (fold) fold.open = true;
          shape.value = points.length ? "corners" : "";
          for (const name of ["x_mm", "y_mm", "width_mm", "height_mm"])
            field.form.elements[row + name].value = "";
        } else {
          for (const name of ["width_mm", "height_mm"])
            if (field.form.elements[name]) field.form.elements[name].value = "";
        }
        field.value = points.map(([x, y]) => `${text(x)}, ${text(y)}`).join(between);
        changed(field);
      },
    };
  }

  function changed(field) {
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }

  class Drawer {
    constructor(root) {
      this.root = root;
      this.form = root.closest("form");
      this.ground = root.querySelector("[data-drawer-ground]");
      this.said = root.querySelector("[data-drawer-said]");
      this.what = root.querySelector("[data-drawer-what]");
      this.zoom = 1;
      this.chosen = -1;
      this.cursor = null;
      this.hasFocus = false;
      this.backdrop = JSON.parse(root.dataset.backdrop || "[]");
      this.svg = make("svg", { class: "drawer-svg", "aria-hidden": "true" });
      this.ground.append(this.svg);
      this.fillChoices();
      this.listen();
      root.hidden = false;
      this.draw();
    }

    field(name) { return this.form.elements[name]; }

    get photo() {
      const data = this.root.dataset;
      if (!data.photo) return null;
      const w = Number(data.photoWidth), h = Number(data.photoHeight);
      const [ax, ay, bx, by, mm] = ["mark_a_x", "mark_a_y", "mark_b_x", "mark_b_y", "marks_mm"]
        .map((name) => typed(this.field(name)?.value));
      const apart = Math.hypot(bx - ax, by - ay);
      const isScaled = apart > 0 && mm > 0;
      const scale = isScaled ? mm / apart : NOMINAL_MM / w;
      return { address: data.photo, w, h, scale, isScaled };
    }

    fillChoices() {
      const words = this.root.dataset;
      this.targets = [];
      const outline = this.field("corners");
      if (outline) this.targets.push(ringTarget("outline", words.wordOutline, outline, null, "\n"));
      for (const field of this.form.querySelectorAll("[data-ring]"))
        this.targets.push(ringTarget(field.name, field.dataset.ring, field, null, "\n"));
      for (const [prefix, word] of [["defect", words.wordDefect], ["area", words.wordArea]]) {
        for (let k = 0; this.field(`${prefix}-${k}-corners`); k += 1)
          this.targets.push(ringTarget(`${prefix}-${k}`, `${word} ${k + 1}`,
            this.field(`${prefix}-${k}-corners`), this.field(`${prefix}-${k}-shape`), "; "));
      }
      if (this.field("place-0-x_mm")) this.targets.push(this.placesTarget(words.wordPlace));
      if (this.field("tight_way_deg")) this.targets.push(this.tightTarget(words.wordTight));
      if (words.photo) this.targets.push(this.marksTarget(words.wordMarks));
      for (const target of this.targets) this.what.add(new Option(target.label, target.key));
      if (this.photo && !this.photo.isScaled) this.what.value = "marks";
      this.tightPoints = [];
    }

    placesTarget(label) {
      const row = (k) => ["x_mm", "y_mm"].map((name) => this.field(`place-${k}-${name}`));
      return {
        key: "place", label,
        read: () => {
          const points = [];
          for (let k = 0; this.field(`place-${k}-x_mm`); k += 1) {
            const [x, y] = row(k).map((field) => typed(field.value));
            if (Number.isFinite(x) && Number.isFinite(y)) points.push([x, y]);
          }
          return points;
        },
        write: (points) => {
          let last = null;
          for (let k = 0; this.field(`place-${k}-x_mm`); k += 1) {
            const point = points[k];
            row(k).forEach((field, n) => { field.value = point ? text(point[n]) : ""; });
            const thickness = this.field(`place-${k}-thickness_mm`);
            if (!point) thickness.value = "";
            if (point && !thickness.value && !last) last = thickness;
          }
          if (last) {
            const fold = last.closest("details");
            if (fold) fold.open = true;
            this.say(this.root.dataset.askThickness);
            last.focus();
          }
        },
      };
    }

    tightTarget(label) {
      return {
        key: "tight", label, most: 2,
        read: () => this.tightPoints,
        write: (points) => {
          this.tightPoints = points;
          if (points.length === 2) {
            const [[ax, ay], [bx, by]] = points;
            const field = this.field("tight_way_deg");
            field.value = text(Number(((Math.atan2(by - ay, bx - ax) * 180) / Math.PI).toFixed(1)));
            changed(field);
          }
        },
      };
    }

    marksTarget(label) {
      const names = ["mark_a_x", "mark_a_y", "mark_b_x", "mark_b_y"];
      return {
        key: "marks", label, most: 2,
        read: () => {
          const { scale, h } = this.photo;
          const v = names.map((name) => typed(this.field(name).value));
          const points = [];
          for (const k of [0, 2])
            if (Number.isFinite(v[k]) && Number.isFinite(v[k + 1]))
              points.push([v[k] * scale, (h - v[k + 1]) * scale]);
          return points;
        },
        write: (points) => {
          const { scale, w, h } = this.photo;
          points = points.slice(0, 2);
          names.forEach((name, k) => {
            const point = points[k >> 1];
            const px = point && (k % 2 ? h - point[1] / scale : point[0] / scale);
            const bound = k % 2 ? h : w;
            this.field(name).value = point ? Math.min(Math.max(px, 0), bound).toFixed(1) : "";
          });
          const fold = this.field("marks_mm").closest("details");
          if (fold) fold.open = true;
          changed(this.field("mark_a_x"));
          if (points.length === 2 && !this.field("marks_mm").value) this.field("marks_mm").focus();
        },
      };
    }

    get target() { return this.targets.find((target) => target.key === this.what.value); }

    listen() {
      this.what.addEventListener("change", () => { this.chosen = -1; this.draw(); });
      this.form.addEventListener("input", (event) => {
        if (!this.root.contains(event.target)) this.draw();
      });
      this.root.querySelector("[data-drawer-undo]").addEventListener("click", () => this.takeBack());
      this.root.querySelector("[data-drawer-clear]").addEventListener("click", () => this.set([]));
      for (const button of this.root.querySelectorAll("[data-drawer-zoom]"))
        button.addEventListener("click", () => this.scaleBy(button.dataset.drawerZoom === "in"));
      this.svg.addEventListener("click", (event) => this.clicked(event));
      this.svg.addEventListener("pointerdown", (event) => this.grabbed(event));
      this.svg.addEventListener("pointermove", (event) => this.dragged(event));
      for (const name of ["pointerup", "pointercancel"])
        this.svg.addEventListener(name, () => this.dropped());
      this.ground.addEventListener("keydown", (event) => this.keyed(event));
      this.ground.addEventListener("focus", () => { this.hasFocus = true; this.draw(); });
      this.ground.addEventListener("blur", () => { this.hasFocus = false; this.draw(); });
    }

    place(event) {
      const at = new DOMPoint(event.clientX, event.clientY)
        .matrixTransform(this.svg.getScreenCTM().inverse());
      return [round(at.x), round(-at.y)];
    }

    /* A press on a point is no click on the ground, even where redrawing took the point away. */
    clicked(event) {
      if (!this.pressedPoint) this.add(this.place(event));
    }

    grabbed(event) {
      const handle = event.target.dataset?.point;
      this.pressedPoint = handle !== undefined;
      this.wasDragged = false;
      if (!this.pressedPoint) return;
      event.preventDefault();
      this.ground.focus({ preventScroll: true });
      this.held = { index: Number(handle), points: this.target.read().map((point) => [...point]) };
      this.chosen = this.held.index;
      this.svg.setPointerCapture(event.pointerId);
    }

    dragged(event) {
      if (!this.held) return;
      this.wasDragged = true;
      this.held.points[this.held.index] = this.place(event);
      this.draw(this.held.points);
    }

    dropped() {
      if (!this.held) return;
      const points = this.held.points;
      this.held = null;
      if (this.wasDragged) this.set(points);
      else this.draw();
    }

    add(point) {
      const target = this.target;
      const points = target.read().map((p) => [...p]);
      if (target.most && points.length >= target.most) points.length = 0;
      const index = target.isRing ? this.edgeNear(points, point) : points.length;
      points.splice(index, 0, point);
      this.chosen = index;
      this.set(points);
      this.say(`${this.root.dataset.sayAdded}: ${point.map(text).join(", ")} mm`);
    }

    /* Where in the ring a new point goes: into the edge it lies on, else after the last. */
    edgeNear(points, [x, y]) {
      let best = points.length, least = NEAR_SHARE * this.box.w;
      for (let k = 0; points.length > 2 && k < points.length; k += 1) {
        const [ax, ay] = points[k], [bx, by] = points[(k + 1) % points.length];
        const length = Math.hypot(bx - ax, by - ay) || 1;
        const along = ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / length;
        const off = Math.abs((x - ax) * (by - ay) - (y - ay) * (bx - ax)) / length;
        if (along > 0 && along < length && off < least) { least = off; best = k + 1; }
      }
      return best;
    }

    takeBack() {
      const points = this.target.read();
      if (!points.length) return;
      this.chosen = -1;
      this.set(points.slice(0, -1));
      this.say(this.root.dataset.sayRemoved);
    }

    takeOut() {
      const points = this.target.read().map((point) => [...point]);
      if (this.chosen < 0 || this.chosen >= points.length) return;
      points.splice(this.chosen, 1);
      this.chosen = -1;
      this.set(points);
      this.say(this.root.dataset.sayRemoved);
    }

    set(points) { this.target.write(points); this.draw(); }

    scaleBy(larger) {
      this.zoom = Math.min(8, Math.max(1, this.zoom * (larger ? 1.5 : 1 / 1.5)));
      this.svg.style.width = `${100 * this.zoom}%`;
    }

    keyed(event) {
      const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
      const way = ways[event.key];
      const points = this.target.read().map((point) => [...point]);
      if (way) {
        const step = event.shiftKey ? 1 : 10;
        if (event.altKey && points[this.chosen]) {
          points[this.chosen] = points[this.chosen].map((v, k) => v + way[k] * step);
          this.set(points);
        } else {
          this.cursor = (this.cursor || [0, 0]).map((v, k) => v + way[k] * step);
          this.say(`${this.root.dataset.sayCursor} ${this.cursor.map(text).join(", ")} mm`);
          this.draw();
        }
      } else if (event.key === "Enter") this.add([...(this.cursor || [0, 0])]);
      else if (event.key === "Backspace") this.takeBack();
      else if (event.key === "Delete") this.takeOut();
      else if (/^[np]$/i.test(event.key) && points.length) {
        const next = this.chosen + (event.key.toLowerCase() === "n" ? 1 : -1);
        this.chosen = (next + points.length) % points.length;
        this.cursor = [...points[this.chosen]];
        this.draw();
      } else if (event.key === "+" || event.key === "-") this.scaleBy(event.key === "+");
      else return;
      event.preventDefault();
    }

    say(words) { this.said.textContent = words; }

    /* The ground's box in mm: the photograph, else what is drawn with room round it. */
    bounds(all) {
      const photo = this.photo;
      if (photo) return { x: 0, y: 0, w: photo.w * photo.scale, h: photo.h * photo.scale };
      const rings = [...all, ...this.backdrop.map((part) => part.ring)].flat();
      const w = typed(this.field("width_mm")?.value) || 0;
      const h = typed(this.field("height_mm")?.value) || 0;
      const xs = [0, w, ...rings.map((p) => p[0])], ys = [0, h, ...rings.map((p) => p[1])];
      let x = Math.min(...xs), y = Math.min(...ys);
      let across = Math.max(...xs) - x, up = Math.max(...ys) - y;
      if (across < 50 || up < 50) { across = Math.max(across, 600); up = Math.max(up, 400); }
      const room = 0.06 * Math.max(across, up);
      x -= room; y -= room;
      return { x, y, w: across + 2 * room, h: up + 2 * room };
    }

    draw(moving = null) {
      const target = this.target;
      const points = moving || target.read();
      const rings = this.targets.filter((t) => t.isRing && t !== target).map((t) => [t, t.read()]);
      if (!this.held) this.box = this.bounds([points, ...rings.map(([, ring]) => ring)]);
      const { x, y, w, h } = this.box;
      this.svg.setAttribute("viewBox", `${x} ${-y - h} ${w} ${h}`);
      this.svg.style.aspectRatio = `${w} / ${h}`;
      const parts = [this.underlay(), this.grid()];
      for (const part of this.backdrop)
        parts.push(this.ring(part.ring, `drawer-${part.kind}`));
      for (const [other, ring] of rings) parts.push(this.ring(ring, `drawer-other drawer-${other.key.split("-")[0]}`));
      const size = this.zoom > 1 ? this.box.w / this.zoom : this.box.w;
      parts.push(target.isRing ? this.ring(points, "drawer-now")
        : make("polyline", { class: target.most ? "drawer-now" : "drawer-none", points: this.list(points) }));
      parts.push(...this.handles(points, size * 0.009));
      if (this.cursor && this.hasFocus) parts.push(this.cross(this.cursor, size * 0.02));
      this.svg.replaceChildren(...parts.filter(Boolean));
      const photo = this.photo;
      const { sayScale, sayPoints } = this.root.dataset;
      if (photo && !photo.isScaled) this.say(sayScale);
      else if (!this.said.textContent || moving || this.said.textContent === sayScale)
        this.say(`${points.length} ${sayPoints}`);
    }

    list(points) { return points.map(([x, y]) => `${x},${-y}`).join(" "); }

    ring(points, kind) {
      return points.length ? make("polygon", { class: kind, points: this.list(points) }) : null;
    }

    handles(points, radius) {
      if (points.length > HANDLES_MOST) return [];
      return points.map(([x, y], k) => {
        const handle = make("circle", {
          class: k === this.chosen ? "drawer-handle drawer-chosen" : "drawer-handle",
          cx: x, cy: -y, r: k === this.chosen ? radius * 1.4 : radius,
        });
        handle.dataset.point = k;
        return handle;
      });
    }

    cross([x, y], reach) {
      return make("path", { class: "drawer-cross",
        d: `M${x - reach} ${-y}H${x + reach}M${x} ${-y - reach}V${-y + reach}` });
    }

    underlay() {
      const photo = this.photo;
      if (!photo) return null;
      const image = make("image", { x: 0, y: -photo.h * photo.scale, width: photo.w * photo.scale,
        height: photo.h * photo.scale, preserveAspectRatio: "none" });
      image.setAttribute("href", photo.address);
      return image;
    }

    grid() {
      if (this.photo) return null;
      const { x, y, w, h } = this.box;
      const step = Math.max(w, h) > 900 ? 50 : 10;
      const way = [];
      for (let at = Math.ceil(x / step) * step; at <= x + w; at += step) way.push(`M${at} ${-y - h}V${-y}`);
      for (let at = Math.ceil(y / step) * step; at <= y + h; at += step) way.push(`M${x} ${-at}H${x + w}`);
      return make("path", { class: "drawer-grid", d: way.join("") });
    }
  }

  document.addEventListener("DOMContentLoaded", () => {
    for (const root of document.querySelectorAll("[data-drawer]")) new Drawer(root);
  });
})();
