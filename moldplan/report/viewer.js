// The page's 3D view: turns by touch, mouse and keys, names what is touched, shows and hides kinds. WebGL 1, no library.
// In: <script type="application/json" id="scene"> as view3d.py writes it; a <figure id="view"> with a picture to fall back on.
"use strict";
(function () {
  const figure = document.getElementById("view");
  const source = document.getElementById("scene");
  if (!figure || !source) return;
  const canvas = figure.querySelector("canvas");
  const told = figure.querySelector(".told");
  const compass = figure.querySelector(".compass");
  let gl = null;
  try {
    gl = canvas.getContext("webgl", { antialias: true, alpha: false }) || canvas.getContext("experimental-webgl");
  } catch (trouble) { gl = null; }
  if (!gl || !gl.getExtension("OES_element_index_uint")) return; // the picture stays
  const scene = JSON.parse(source.textContent);

  function bytes(text) {
    const raw = atob(text), out = new Uint8Array(raw.length);
    for (let i = 0; i < raw.length; i++) out[i] = raw.charCodeAt(i);
    return out.buffer;
  }
  function shader(kind, text) {
    const made = gl.createShader(kind);
    gl.shaderSource(made, text);
    gl.compileShader(made);
    return made;
  }
  const program = gl.createProgram();
  gl.attachShader(program, shader(gl.VERTEX_SHADER,
    "attribute vec3 p; attribute vec3 n; uniform mat4 m; uniform mat3 r; uniform float near; varying vec3 w;" +
    "void main() { w = r * n; gl_Position = m * vec4(p, 1.0); gl_Position.z -= near * gl_Position.w; }"));
  gl.attachShader(program, shader(gl.FRAGMENT_SHADER,
    "precision mediump float; uniform vec4 c; uniform float flat_; varying vec3 w;" +
    "void main() { vec3 n = normalize(w); if (!gl_FrontFacing) n = -n;" +
    " float day = 0.62 + 0.30 * dot(n, normalize(vec3(-0.35, 0.75, 0.55))) + 0.10 * n.z;" +
    " gl_FragColor = vec4(c.rgb * mix(min(day, 1.06), 1.0, flat_), c.a); }"));
  gl.linkProgram(program);
  if (!gl.getProgramParameter(program, gl.LINK_STATUS)) return;
  gl.useProgram(program);
  const at = name => gl.getUniformLocation(program, name);
  const place = { m: at("m"), r: at("r"), c: at("c"), flat: at("flat_"), near: at("near") };
  const P = gl.getAttribLocation(program, "p"), N = gl.getAttribLocation(program, "n");

  function buffer(kind, data) {
    const made = gl.createBuffer();
    gl.bindBuffer(kind, made);
    gl.bufferData(kind, data, gl.STATIC_DRAW);
    return made;
  }
  const low = [Infinity, Infinity, Infinity], high = [-Infinity, -Infinity, -Infinity];
  const bodies = scene.bodies.map(one => {
    const steps = new Uint16Array(bytes(one.v)), Index = one.wide ? Uint32Array : Uint16Array;
    const v = new Float32Array(steps.length), n = new Float32Array(steps.length);
    for (let i = 0; i < steps.length; i++) v[i] = one.low[i % 3] + steps[i] / 65535 * one.span[i % 3];
    const t = new Index(bytes(one.t)), e = new Index(bytes(one.e));
    for (let i = 0; i < t.length; i += 3) { // each vertex belongs to one face, so sums give that face's own normals
      const a = 3 * t[i], b = 3 * t[i + 1], c = 3 * t[i + 2];
      const ux = v[b] - v[a], uy = v[b + 1] - v[a + 1], uz = v[b + 2] - v[a + 2];
      const wx = v[c] - v[a], wy = v[c + 1] - v[a + 1], wz = v[c + 2] - v[a + 2];
      const x = uy * wz - uz * wy, y = uz * wx - ux * wz, z = ux * wy - uy * wx;
      for (const k of [a, b, c]) { n[k] += x; n[k + 1] += y; n[k + 2] += z; }
    }
    for (let k = 0; k < 3; k++) {
      low[k] = Math.min(low[k], one.low[k]);
      high[k] = Math.max(high[k], one.low[k] + one.span[k]);
    }
    return {
      name: one.name, words: one.words, group: one.group, colour: one.colour.map(c => c / 255), alpha: one.alpha,
      v: v, t: t, size: one.wide ? gl.UNSIGNED_INT : gl.UNSIGNED_SHORT, edges: e.length,
      vb: buffer(gl.ARRAY_BUFFER, v), nb: buffer(gl.ARRAY_BUFFER, n),
      tb: buffer(gl.ELEMENT_ARRAY_BUFFER, t), eb: buffer(gl.ELEMENT_ARRAY_BUFFER, e)
    };
  });
  const middle = low.map((l, k) => (l + high[k]) / 2);
  const reach = Math.hypot(high[0] - low[0], high[1] - low[1], high[2] - low[2]) / 2 || 1;
  const on = {};
  scene.groups.forEach(group => { on[group.id] = group.on; });

  const start = { turn: Math.atan2(scene.from[1], scene.from[0]), rise: Math.asin(scene.from[2] / Math.hypot(...scene.from)) };
  let view, touched = null;
  function home() { view = { turn: start.turn, rise: start.rise, zoom: 1.04, x: 0, y: 0 }; }
  home();

  // the camera's axes in boat axes: right, up, towards the eye
  function axes() {
    const ct = Math.cos(view.turn), st = Math.sin(view.turn), cr = Math.cos(view.rise), sr = Math.sin(view.rise);
    return [[-st, ct, 0], [-sr * ct, -sr * st, cr], [cr * ct, cr * st, sr]];
  }
  const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
  function half() { // half the picture's width and height in mm
    const aspect = canvas.width / canvas.height, tall = reach * 1.02 / view.zoom / Math.min(1, aspect);
    return [tall * aspect, tall];
  }

  function draw() {
    const ratio = Math.min(window.devicePixelRatio || 1, 2);
    const w = Math.max(1, Math.round(canvas.clientWidth * ratio)), h = Math.max(1, Math.round(canvas.clientHeight * ratio));
    if (canvas.width !== w || canvas.height !== h) { canvas.width = w; canvas.height = h; }
    gl.viewport(0, 0, w, h);
    gl.clearColor(1, 1, 1, 1);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.enable(gl.DEPTH_TEST);
    gl.depthFunc(gl.LEQUAL);
    const [right, up, eye] = axes(), [hw, hh] = half(), deep = reach * 4;
    const m = new Float32Array(16), shift = [view.x, view.y, 0];
    [[right, hw], [up, hh], [eye, -deep]].forEach(([axis, size], row) => {
      for (let k = 0; k < 3; k++) m[4 * k + row] = axis[k] / size;
      m[12 + row] = (-dot(axis, middle) + shift[row]) / size;
    });
    m[15] = 1;
    gl.uniformMatrix4fv(place.m, false, m);
    gl.uniformMatrix3fv(place.r, false, [right[0], up[0], eye[0], right[1], up[1], eye[1], right[2], up[2], eye[2]]);
    point(up, right);
    const seen = bodies.filter(one => on[one.group]);
    gl.disable(gl.BLEND);
    gl.depthMask(true);
    seen.filter(one => one.alpha === 1).forEach(paint);
    gl.enable(gl.BLEND);
    gl.blendFunc(gl.SRC_ALPHA, gl.ONE_MINUS_SRC_ALPHA);
    gl.depthMask(false);
    seen.filter(one => one.alpha < 1).forEach(paint);
    gl.depthMask(true);
  }
  function paint(one) {
    const lit = one === touched, c = lit ? [0.0, 0.447, 0.698] : one.colour;
    gl.bindBuffer(gl.ARRAY_BUFFER, one.vb);
    gl.enableVertexAttribArray(P);
    gl.vertexAttribPointer(P, 3, gl.FLOAT, false, 0, 0);
    gl.bindBuffer(gl.ARRAY_BUFFER, one.nb);
    gl.enableVertexAttribArray(N);
    gl.vertexAttribPointer(N, 3, gl.FLOAT, false, 0, 0);
    gl.uniform1f(place.flat, 0);
    gl.uniform1f(place.near, 0);
    gl.uniform4f(place.c, c[0], c[1], c[2], lit ? Math.max(one.alpha, 0.45) : one.alpha);
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, one.tb);
    gl.drawElements(gl.TRIANGLES, one.t.length, one.size, 0);
    gl.uniform1f(place.flat, 1);
    gl.uniform1f(place.near, 0.0002);
    gl.uniform4f(place.c, 0.12, 0.12, 0.12, one.alpha < 1 ? 0.35 : 1);
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, one.eb);
    gl.drawElements(gl.LINES, one.edges, one.size, 0);
  }
  function point(up, right) { // FWD and UP as they lie in the picture
    const [upwards, ahead] = [[right[2], up[2]], [right[0], up[0]]];
    compass.querySelector("path").setAttribute("d", [upwards, ahead].map(w => "M0 0L" + 28 * w[0] + " " + -28 * w[1]).join(""));
    compass.querySelectorAll("text").forEach((text, k) => {
      const w = k ? ahead : upwards, long = Math.hypot(w[0], w[1]);
      text.setAttribute("visibility", long < 0.12 ? "hidden" : "visible");
      text.setAttribute("x", (28 * w[0] + 19 * w[0] / (long || 1)).toFixed(1));
      text.setAttribute("y", (-28 * w[1] - 12 * w[1] / (long || 1) + 5).toFixed(1));
    });
  }
  let waiting = false;
  function soon() {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => { waiting = false; draw(); });
  }

  // which body lies under a point of the picture: every shown triangle is tried (Moeller and Trumbore, 1997)
  function under(px, py) {
    const box = canvas.getBoundingClientRect(), [hw, hh] = half(), [right, up, eye] = axes();
    const sx = ((px - box.left) / box.width * 2 - 1) * hw - view.x, sy = (1 - (py - box.top) / box.height * 2) * hh - view.y;
    const from = middle.map((c, k) => c + right[k] * sx + up[k] * sy + eye[k] * reach * 4), way = eye.map(c => -c);
    let best = null, near = Infinity, glass = null, glassNear = Infinity;
    for (const one of bodies) {
      if (!on[one.group]) continue;
      const far = hit(one, from, way);
      if (one.alpha === 1 && far < near) { near = far; best = one; }
      if (one.alpha < 1 && far < glassNear) { glassNear = far; glass = one; }
    }
    return best || glass;
  }
  function hit(one, o, d) {
    const v = one.v, t = one.t;
    let near = Infinity;
    for (let i = 0; i < t.length; i += 3) {
      const a = 3 * t[i], b = 3 * t[i + 1], c = 3 * t[i + 2];
      const e = [v[b] - v[a], v[b + 1] - v[a + 1], v[b + 2] - v[a + 2]];
      const f = [v[c] - v[a], v[c + 1] - v[a + 1], v[c + 2] - v[a + 2]];
      const p = [d[1] * f[2] - d[2] * f[1], d[2] * f[0] - d[0] * f[2], d[0] * f[1] - d[1] * f[0]];
      const det = dot(e, p);
      if (Math.abs(det) < 1e-12) continue;
      const s = [o[0] - v[a], o[1] - v[a + 1], o[2] - v[a + 2]], u = dot(s, p) / det;
      if (u < 0 || u > 1) continue;
      const q = [s[1] * e[2] - s[2] * e[1], s[2] * e[0] - s[0] * e[2], s[0] * e[1] - s[1] * e[0]];
      const w = dot(d, q) / det;
      if (w < 0 || u + w > 1) continue;
      const far = dot(f, q) / det;
      if (far > 0 && far < near) near = far;
    }
    return near;
  }
  function name(one) {
    if (one === touched) return;
    touched = one;
    told.textContent = one ? one.name + ": " + one.words : "Touch a part to read its name.";
    soon();
  }

  function turn(x, y) {
    view.turn -= x;
    view.rise = Math.max(-1.55, Math.min(1.55, view.rise + y));
    soon();
  }
  function zoom(by) { view.zoom = Math.max(0.4, Math.min(20, view.zoom * by)); soon(); }
  function slide(x, y) {
    const [hw, hh] = half();
    view.x += x * 2 * hw / canvas.clientWidth;
    view.y -= y * 2 * hh / canvas.clientHeight;
    soon();
  }
  const fingers = new Map();
  let moved = 0;
  canvas.addEventListener("pointerdown", event => {
    canvas.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, [event.clientX, event.clientY]);
    moved = 0;
  });
  canvas.addEventListener("pointermove", event => {
    const was = fingers.get(event.pointerId);
    if (!was) { if (event.pointerType === "mouse") name(under(event.clientX, event.clientY)); return; }
    const x = event.clientX - was[0], y = event.clientY - was[1];
    moved += Math.abs(x) + Math.abs(y);
    if (fingers.size === 1) {
      if (event.shiftKey || event.buttons === 2 || event.buttons === 4) slide(x, y); else turn(x * 0.008, y * 0.008);
    } else if (fingers.size === 2) {
      const other = [...fingers.entries()].find(([id]) => id !== event.pointerId)[1];
      const before = Math.hypot(was[0] - other[0], was[1] - other[1]);
      const after = Math.hypot(event.clientX - other[0], event.clientY - other[1]);
      if (before > 0) zoom(after / before);
      slide(x / 2, y / 2);
    }
    fingers.set(event.pointerId, [event.clientX, event.clientY]);
  });
  function up(event) {
    if (fingers.delete(event.pointerId) && moved < 6 && event.type === "pointerup") name(under(event.clientX, event.clientY));
  }
  canvas.addEventListener("pointerup", up);
  canvas.addEventListener("pointercancel", up);
  canvas.addEventListener("contextmenu", event => event.preventDefault());
  canvas.addEventListener("wheel", event => { // only once the view has been taken hold of: the page must scroll past it
    if (document.activeElement !== canvas) return;
    event.preventDefault();
    zoom(Math.exp(-event.deltaY * 0.0015));
  }, { passive: false });
  canvas.addEventListener("keydown", event => {
    const step = 0.12, act = {
      ArrowLeft: () => turn(-step, 0), ArrowRight: () => turn(step, 0), ArrowUp: () => turn(0, step),
      ArrowDown: () => turn(0, -step), "+": () => zoom(1.2), "=": () => zoom(1.2), "-": () => zoom(1 / 1.2),
      "0": () => { home(); soon(); }, n: () => next(1), p: () => next(-1)
    }[event.key];
    if (act) { event.preventDefault(); act(); }
  });
  function next(by) { // names by keyboard: from one shown part to the next
    const seen = bodies.filter(one => on[one.group]);
    if (seen.length) name(seen[(seen.indexOf(touched) + by + seen.length) % seen.length]);
  }
  const views = {
    home: home, above: () => { home(); view.rise = 1.55; view.turn = -Math.PI; },
    side: () => { home(); view.rise = 0; view.turn = -Math.PI / 2; }, aft: () => { home(); view.rise = 0; view.turn = Math.PI; }
  };
  figure.querySelectorAll("button[data-view]").forEach(button => button.addEventListener("click", () => {
    views[button.dataset.view]();
    soon();
  }));
  figure.querySelectorAll("button[data-zoom]").forEach(button =>
    button.addEventListener("click", () => zoom(Number(button.dataset.zoom))));
  figure.querySelectorAll("input[data-group]").forEach(box => box.addEventListener("change", () => {
    on[box.dataset.group] = box.checked;
    if (touched && !on[touched.group]) name(null);
    soon();
  }));
  canvas.addEventListener("webglcontextlost", event => { event.preventDefault(); figure.classList.remove("live"); });
  figure.classList.add("live");
  window.addEventListener("beforeprint", () => document.querySelectorAll("details").forEach(one => { one.open = true; }));
  new ResizeObserver(soon).observe(canvas);
  told.textContent = "Touch a part to read its name.";
  draw();
})();
