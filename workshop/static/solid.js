/* The shoe on its foot as a solid: turned by pointer, touch, keyboard or buttons.

   The bodies come from the server as plain numbers in the foot's frame: x heel to toe, y to the
   outer side of a left foot, z up. Nothing here is needed to use the page: without WebGL the
   picture beside the stage stays. */

const TURN = Math.PI / 12, NEARER = 1.15, LIE_FLAT = 0.02;
// Angle and tip in degrees; outer and inner are those of a left foot, on a right one they change.
const VIEWS = {
  outer: [90, 8], inner: [-90, 8], front: [0, 12], back: [180, 12], top: [90, 89], under: [90, -89],
};

const stage = document.getElementById("solid");
if (stage) begin(stage);

async function begin(root) {
  const said = document.getElementById("solid-said");
  const canvas = document.getElementById("solid-canvas");
  const say = (words) => { said.textContent = words; said.hidden = !words; };
  let three, renderer;
  try {
    three = await import(root.dataset.library);
    renderer = new three.WebGLRenderer({ canvas, antialias: true, alpha: true });
  } catch {
    canvas.hidden = true;
    return say(root.dataset.sayNone);
  }
  let answer;
  try {
    const sent = await fetch(root.dataset.bodies, { headers: { accept: "application/json" } });
    answer = await sent.json();
  } catch {
    return say(root.dataset.sayLost);
  }
  if (answer.fault) return say(answer.fault);
  const solid = new Solid(three, renderer, canvas, answer.bodies);
  solid.offer(document.getElementById("solid-bodies"), root);
  root.querySelector(".solid-controls").hidden = false;
  say("");
  root.dataset.drawn = answer.bodies.length;
}

class Solid {
  constructor(three, renderer, canvas, bodies) {
    this.three = three;
    this.renderer = renderer;
    this.canvas = canvas;
    this.scene = new three.Scene();
    this.camera = new three.PerspectiveCamera(28, 1, 1, 5000);
    this.camera.up.set(0, 0, 1);
    this.scene.add(new three.HemisphereLight("#fff6e6", "#7a6a58", 2.2));
    const lamp = new three.DirectionalLight("#ffffff", 1.8);
    this.camera.add(lamp);
    lamp.position.set(60, 90, 120);
    this.scene.add(this.camera);
    this.groups = new Map();
    bodies.forEach((body, at) => this.add(body, at));
    const box = new three.Box3().setFromObject(this.scene);
    this.middle = box.getCenter(new three.Vector3());
    this.reach = box.getSize(new three.Vector3()).length();
    [this.angle, this.tip, this.near] = [Math.PI / 2 + 0.5, 0.3, 1];
    this.listen();
    new ResizeObserver(() => this.draw()).observe(canvas.parentElement);
    this.draw();
  }

  colour(name, otherwise) {
    return getComputedStyle(document.documentElement).getPropertyValue(name).trim() || otherwise;
  }

  add(body, at) {
    const three = this.three, group = new three.Group();
    const shape = new three.BufferGeometry();
    shape.setAttribute("position", new three.Float32BufferAttribute(body.points, 3));
    shape.setIndex(body.triangles);
    const solid = body.kind === "sole" ? shape.toNonIndexed() : shape;
    solid.computeVertexNormals();
    const paint = { foot: ["--skin", "#d9b99b"], sole: ["--sole", "#4a3a30"] }[body.kind]
      || ["--leather-solid", "#9a5a34"];
    const skin = new three.MeshStandardMaterial({
      color: this.colour(...paint), roughness: 0.75, side: three.DoubleSide,
      polygonOffset: true, polygonOffsetFactor: 3 - at * 0.2, polygonOffsetUnits: 30 - at,
    });
    group.add(new three.Mesh(solid, skin));
    for (const line of body.lines) {
      const drawn = new three.BufferGeometry();
      drawn.setAttribute("position", new three.Float32BufferAttribute(line, 3));
      const pen = new three.LineBasicMaterial({
        color: this.colour("--line-solid", "#2a1a10"), transparent: true, opacity: 0.75,
      });
      const trace = new three.Line(drawn, pen);
      trace.renderOrder = 1;
      group.add(trace);
    }
    for (const ring of body.rings) group.add(this.eyelet(ring));
    group.userData = { skin, kind: body.kind };
    this.groups.set(body.name, group);
    this.scene.add(group);
  }

  eyelet(ring) {
    const three = this.three;
    const metal = new three.MeshStandardMaterial({ color: "#b8923e", metalness: 0.6, roughness: 0.4 });
    const round = new three.TorusGeometry(0.62 * ring.mm, 0.18 * ring.mm, 10, 24);
    const made = new three.Mesh(round, metal);
    const facing = new three.Vector3(...ring.facing);
    made.position.set(...ring.at).addScaledVector(facing, 0.15);
    made.quaternion.setFromUnitVectors(new three.Vector3(0, 0, 1), facing);
    return made;
  }

  /* A tick for each body, and the buttons; a piece under the pointer of its name is marked. */
  offer(list, root) {
    for (const [name, group] of this.groups) {
      const row = document.createElement("li"), label = document.createElement("label");
      const tick = document.createElement("input");
      tick.type = "checkbox";
      tick.checked = true;
      tick.addEventListener("change", () => { group.visible = tick.checked; this.draw(); });
      const mark = (on) => { group.userData.skin.emissive.set(on ? "#5a2a10" : "#000000"); this.draw(); };
      for (const [kind, on] of [["pointerenter", 1], ["pointerleave", 0], ["focusin", 1], ["focusout", 0]]) {
        row.addEventListener(kind, () => mark(on));
      }
      label.append(tick, ` ${name}`);
      row.append(label);
      list.append(row);
    }
    root.addEventListener("click", (event) => {
      const { solidView, solidTurn, solidNear } = event.target.dataset || {};
      if (solidView) {
        const [angle, tip] = VIEWS[solidView];
        this.look(angle * (root.dataset.side === "right" ? -1 : 1), tip);
      }
      if (solidTurn) this.turn(...solidTurn.split(",").map((n) => n * TURN));
      if (solidNear) this.nearer(NEARER ** Number(solidNear));
    });
  }

  look(angle, tip) {
    [this.angle, this.tip, this.near] = [angle * Math.PI / 180, tip * Math.PI / 180, 1];
    this.draw();
  }

  turn(angle, tip) {
    const most = Math.PI / 2 - LIE_FLAT;
    this.angle += angle;
    this.tip = Math.max(-most, Math.min(most, this.tip + tip));
    this.draw();
  }

  nearer(factor) {
    this.near = Math.max(0.4, Math.min(8, this.near * factor));
    this.draw();
  }

  listen() {
    const held = new Map();
    let apart = 0;
    const gap = () => {
      const [a, b] = [...held.values()];
      return Math.hypot(a.x - b.x, a.y - b.y);
    };
    this.canvas.addEventListener("pointerdown", (event) => {
      this.canvas.setPointerCapture(event.pointerId);
      held.set(event.pointerId, { x: event.clientX, y: event.clientY });
      if (held.size === 2) apart = gap();
    });
    this.canvas.addEventListener("pointermove", (event) => {
      const last = held.get(event.pointerId);
      if (!last) return;
      const at = { x: event.clientX, y: event.clientY };
      held.set(event.pointerId, at);
      if (held.size === 1) this.turn((last.x - at.x) / 120, (at.y - last.y) / 120);
      if (held.size === 2 && apart) { this.nearer(gap() / apart); apart = gap(); }
    });
    for (const kind of ["pointerup", "pointercancel"]) {
      this.canvas.addEventListener(kind, (event) => held.delete(event.pointerId));
    }
    this.canvas.addEventListener("wheel", (event) => {
      event.preventDefault();
      this.nearer(event.deltaY < 0 ? NEARER : 1 / NEARER);
    }, { passive: false });
    const keys = {
      ArrowLeft: () => this.turn(-TURN, 0), ArrowRight: () => this.turn(TURN, 0),
      ArrowUp: () => this.turn(0, TURN), ArrowDown: () => this.turn(0, -TURN),
      "+": () => this.nearer(NEARER), "-": () => this.nearer(1 / NEARER),
    };
    this.canvas.addEventListener("keydown", (event) => {
      if (!keys[event.key]) return;
      event.preventDefault();
      keys[event.key]();
    });
  }

  draw() {
    const { clientWidth: wide, clientHeight: high } = this.canvas.parentElement;
    if (!wide || !high) return;
    this.renderer.setPixelRatio(Math.min(2, window.devicePixelRatio || 1));
    this.renderer.setSize(wide, high, false);
    this.camera.aspect = wide / high;
    const room = Math.min(1, this.camera.aspect);
    const away = 0.92 * this.reach / (2 * Math.tan(this.camera.fov * Math.PI / 360) * room) / this.near;
    const flat = Math.cos(this.tip);
    this.camera.position.set(
      this.middle.x + away * flat * Math.cos(this.angle),
      this.middle.y + away * flat * Math.sin(this.angle),
      this.middle.z + away * Math.sin(this.tip),
    );
    this.camera.lookAt(this.middle);
    this.camera.updateProjectionMatrix();
    this.renderer.render(this.scene, this.camera);
  }
}
