/* Looking closely at the pieces: nearer and farther, kinds of lines shown or hidden, and the way
   between two points, by pointer and by keys. Without this script all of the drawing is shown. The
   drawing's own units are millimetres at true scale, so what is measured is what will be cut. */
(() => {
  "use strict";
  const SVG = "http://www.w3.org/2000/svg";
  const NEAREST = 12, STEP = 1.25, WHEEL = 1.1, MM_PER_INCH = 25.4;
  const KEYS = { "+": STEP, "=": STEP, "-": 1 / STEP };
  const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  // Kept while the panel is worked out anew, so that a change of style hides no line again.
  const hidden = new Set();

  class Seeing {
    constructor(root) {
      this.stage = root.querySelector("[data-seeing-stage]");
      this.svg = this.stage.querySelector("svg");
      this.tools = root.querySelector("[data-seeing-tools]");
      this.said = root.querySelector("[data-seeing-said]");
      if (!this.svg) return;
      this.scale = 1;
      this.points = [];
      this.fingers = new Map();
      this.tools.hidden = false;
      this.stage.classList.add("seeing-stage");
      this.base = this.svg.getBoundingClientRect().width;
      this.tools.addEventListener("click", (event) => this.press(event));
      this.tools.addEventListener("change", (event) => this.choose(event.target));
      for (const box of this.tools.querySelectorAll("[data-shows]")) {
        box.checked = !hidden.has(box.dataset.shows);
        this.choose(box);
      }
      this.stage.addEventListener("keydown", (event) => this.key(event));
      this.stage.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
      for (const kind of ["pointerdown", "pointermove", "pointerup", "pointercancel"]) {
        this.stage.addEventListener(kind, (event) => this[kind](event));
      }
    }

    get isMeasuring() { return this.tools.querySelector("[data-measure]").getAttribute("aria-pressed") === "true"; }

    press(event) {
      const button = event.target.closest("button");
      if (!button) return;
      if (button.dataset.zoom) this.zoom(button.dataset.zoom === "0" ? 0 : KEYS[button.dataset.zoom]);
      if ("measure" in button.dataset) {
        button.setAttribute("aria-pressed", String(!this.isMeasuring));
        this.stage.classList.toggle("seeing-measures", this.isMeasuring);
        this.points = [];
        this.cursor = this.isMeasuring ? this.middle() : null;
        this.said.textContent = this.isMeasuring ? this.said.dataset.how : "";
        this.draw();
        if (this.isMeasuring) this.stage.focus();
      }
    }

    choose(box) {
      if (!box.dataset.shows) return;
      hidden[box.checked ? "delete" : "add"](box.dataset.shows);
      this.stage.classList.toggle(`seeing-no-${box.dataset.shows}`, !box.checked);
    }

    key(event) {
      if (event.ctrlKey || event.metaKey || event.altKey) return;
      if (event.key in KEYS) this.zoom(KEYS[event.key]);
      else if (event.key === "0") this.zoom(0);
      else if (this.isMeasuring && event.key in ARROWS) this.step(ARROWS[event.key], event.shiftKey ? 10 : 1);
      else if (this.isMeasuring && (event.key === "Enter" || event.key === " ")) this.mark(this.cursor);
      else if (this.isMeasuring && event.key === "Escape") { this.points = []; this.draw(); this.said.textContent = this.said.dataset.how; }
      else return;
      event.preventDefault();
    }

    wheel(event) {
      if (document.activeElement !== this.stage) return;
      event.preventDefault();
      this.zoom(event.deltaY < 0 ? WHEEL : 1 / WHEEL, event.clientX, event.clientY);
    }

    /* Bring nearer by a factor (0: as it was), what is under the given place staying there. */
    zoom(factor, x, y) {
      const frame = this.stage.getBoundingClientRect();
      const [px, py] = [x ?? frame.left + frame.width / 2, y ?? frame.top + frame.height / 2];
      const at = this.place(px, py);
      this.scale = factor ? Math.min(Math.max(this.scale * factor, 1), NEAREST) : 1;
      this.stage.classList.toggle("seeing-near", this.scale > 1);
      this.svg.style.width = this.scale > 1 ? `${this.base * this.scale}px` : "";
      const now = this.svg.getScreenCTM();
      this.stage.scrollLeft += now.a * at[0] + now.e - px;
      this.stage.scrollTop += now.d * at[1] + now.f - py;
      this.draw();
    }

    /* Return a place of the window in the drawing's millimetres. */
    place(x, y) {
      const at = new DOMPoint(x, y).matrixTransform(this.svg.getScreenCTM().inverse());
      return [at.x, at.y];
    }

    middle() {
      const frame = this.stage.getBoundingClientRect();
      return this.place(frame.left + frame.width / 2, frame.top + frame.height / 2);
    }

    step([dx, dy], mm) {
      const box = this.svg.viewBox.baseVal;
      const [x, y] = this.cursor;
      this.cursor = [
        Math.min(Math.max(x + dx * mm, 0), box.width), Math.min(Math.max(y + dy * mm, 0), box.height),
      ];
      this.draw();
      if (this.points.length === 1) this.say(this.points[0], this.cursor);
      this.cross.scrollIntoView({ block: "nearest", inline: "nearest" });
    }

    mark(point) {
      if (this.points.length === 2) this.points = [];
      this.points.push(point);
      this.cursor = point;
      if (this.points.length === 2) this.say(...this.points);
      this.draw();
    }

    say([ax, ay], [bx, by]) {
      const mm = Math.hypot(bx - ax, by - ay);
      this.said.textContent = this.said.dataset.says
        .replace("{mm}", mm.toFixed(1)).replace("{in}", (mm / MM_PER_INCH).toFixed(2));
    }

    draw() {
      this.layer?.remove();
      if (!this.isMeasuring) return;
      this.layer = this.svg.appendChild(document.createElementNS(SVG, "g"));
      this.layer.setAttribute("class", "seeing-line");
      const end = this.points[1] ?? this.cursor;
      if (this.points.length) this.line([this.points[0], end]);
      const arm = 2.5 / Math.max(this.scale, 1);
      for (const [x, y] of [...this.points, this.cursor]) {
        this.cross = this.line([[x - arm, y], [x + arm, y], [x, y], [x, y - arm], [x, y + arm]]);
      }
    }

    line(points) {
      const line = this.layer.appendChild(document.createElementNS(SVG, "polyline"));
      line.setAttribute("points", points.map((point) => point.join(",")).join(" "));
      return line;
    }

    pointerdown(event) {
      this.fingers.set(event.pointerId, event);
      this.start = { x: event.clientX, y: event.clientY, left: this.stage.scrollLeft, top: this.stage.scrollTop };
    }

    pointermove(event) {
      if (this.isMeasuring && this.points.length < 2) {
        this.cursor = this.place(event.clientX, event.clientY);
        this.draw();
        if (this.points.length) this.say(this.points[0], this.cursor);
      }
      const before = this.fingers.get(event.pointerId);
      if (!before) return;
      if (this.fingers.size === 2) {
        const other = [...this.fingers.values()].find((finger) => finger.pointerId !== event.pointerId);
        const apart = (finger) => Math.hypot(finger.clientX - other.clientX, finger.clientY - other.clientY);
        const middle = [(event.clientX + other.clientX) / 2, (event.clientY + other.clientY) / 2];
        this.zoom(apart(event) / Math.max(apart(before), 1), ...middle);
        this.start = null;
      } else if (event.pointerType === "mouse" && !this.isMeasuring && this.start) {
        this.stage.scrollLeft = this.start.left + this.start.x - event.clientX;
        this.stage.scrollTop = this.start.top + this.start.y - event.clientY;
      }
      this.fingers.set(event.pointerId, event);
    }

    pointerup(event) {
      const was = this.start;
      this.pointercancel(event);
      // A drag is no point; a point is where the pointer went down and came up.
      if (!was || !this.isMeasuring || Math.hypot(event.clientX - was.x, event.clientY - was.y) > 5) return;
      this.mark(this.place(event.clientX, event.clientY));
    }

    pointercancel(event) {
      this.fingers.delete(event.pointerId);
      this.start = null;
    }
  }

  const begin = (within) => {
    for (const root of within.querySelectorAll("[data-seeing]:not([data-seeing-begun])")) {
      root.dataset.seeingBegun = "";
      new Seeing(root);
    }
  };
  document.addEventListener("DOMContentLoaded", () => begin(document));
  document.addEventListener("htmx:load", () => begin(document));
})();
