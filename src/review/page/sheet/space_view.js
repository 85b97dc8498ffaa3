// The part in space: turned by pointer or keys, as made, under a load (moved and shaded by stress) or swinging.

const SURFACE = {
  vertex: `attribute vec3 position; attribute vec3 normal; attribute vec3 shift; attribute float share;
    uniform mat4 modelViewMatrix; uniform mat4 projectionMatrix; uniform mat3 normalMatrix; uniform float amount;
    varying vec3 n; varying float part;
    void main() { n = normalMatrix * normal; part = share; gl_Position = projectionMatrix * modelViewMatrix * vec4(position + amount * shift, 1.0); }`,
  fragment: `precision highp float; varying vec3 n; varying float part; uniform vec3 metal; uniform vec3 stops[5]; uniform float shaded;
    void main() {
      vec3 unit = normalize(n); if (!gl_FrontFacing) unit = -unit;
      float step = clamp(floor(part * 5.0), 0.0, 4.0);
      vec3 stress = step < 1.0 ? stops[0] : step < 2.0 ? stops[1] : step < 3.0 ? stops[2] : step < 4.0 ? stops[3] : stops[4];
      float light = 0.62 + 0.30 * max(dot(unit, normalize(vec3(-0.35, 0.55, 0.76))), 0.0) + 0.14 * max(dot(unit, vec3(0.6, -0.2, 0.5)), 0.0);
      gl_FragColor = vec4(mix(metal, stress, shaded) * light, 1.0);
    }`,
};
const EDGES = {
  vertex: `attribute vec3 position; attribute vec3 shift; uniform mat4 modelViewMatrix; uniform mat4 projectionMatrix; uniform float amount;
    void main() { vec4 at = projectionMatrix * modelViewMatrix * vec4(position + amount * shift, 1.0); at.z -= 0.0004 * at.w; gl_Position = at; }`,
  fragment: `precision highp float; uniform vec3 ink; void main() { gl_FragColor = vec4(ink, 1.0); }`,
};
const MOVED = 0.07; // share of the part's size that the greatest movement is drawn as
const VIEWS = { "from above": [0, 90], oblique: [-58, 32], "from the front": [-90, 0], "from the side": [0, 0] };

/** Greatest stress of a field, in MPa. */
const greatestStress = (field) => Math.max(...field.stress.flat().map((value) => value || 0), 1e-12);

/**
 * How much each corner moves, and what share of the greatest stress it carries, by a field along the path. `strips`
 * names the strip of each corner; where the field knows no stress of it, the greatest of the place stands for it.
 */
function shiftsOf(position, station, strips, field, length, closed) {
  const shift = new Float32Array(position.length), share = new Float32Array(station.length);
  if (!field) return { shift, share };
  const { s, at, move, turn, stress } = field;
  const most = stress ? greatestStress(field) : 1;
  const mix = (list, i, j, t) => list[i].map((value, axis) => value + t * (list[j][axis] - value));
  const stressOf = (place, strip) => {
    const own = stress[place][field.strips.indexOf(strip)];
    return Number.isFinite(own) ? own : Math.max(...stress[place].map((value) => value || 0));
  };
  for (let c = 0; c < station.length; c++) {
    const place = closed ? ((station[c] % length) + length) % length : station[c];
    let j = s.findIndex((value) => value >= place);
    if (j < 0) j = closed ? 0 : s.length - 1;
    const i = j > 0 ? j - 1 : closed ? s.length - 1 : 0;
    const from = s[i] > place ? s[i] - length : s[i], to = s[j] < place ? s[j] + length : s[j];
    const t = to > from ? Math.max(0, Math.min(1, (place - from) / (to - from))) : 0;
    const u = mix(move, i, j, t), r = mix(turn, i, j, t), o = mix(at, i, j, t);
    const arm = [0, 1, 2].map((axis) => position[3 * c + axis] - o[axis]);
    shift[3 * c] = u[0] + r[1] * arm[2] - r[2] * arm[1];
    shift[3 * c + 1] = u[1] + r[2] * arm[0] - r[0] * arm[2];
    shift[3 * c + 2] = u[2] + r[0] * arm[1] - r[1] * arm[0];
    if (stress && strips) share[c] = (stressOf(i, strips[c]) * (1 - t) + stressOf(j, strips[c]) * t) / most;
  }
  return { shift, share };
}

/** A figure of a sheet with the part in space, and what may be chosen in it. */
function spaceView(sheet, title) {
  if (!sheet.shape) return "";
  const canvas = el("canvas", { class: "space", tabindex: "0", role: "img", width: 10, height: 10 });
  const picture = el("img", { class: "paper-picture", alt: "" });
  const words = el("p", { class: "hint space-words", role: "status" });
  const legend = el("div", { class: "stress-steps" });
  const note = el("p", { class: "hint" }, "Turn it by dragging or the arrow keys, closer by the wheel or + and −, back by 0.");
  const box = el("figure", { class: "space-box" }, el("figcaption", {}, "The part in space"));
  let renderer;
  try {
    renderer = new space.Renderer({ canvas, antialias: true, alpha: true, dpr: Math.min(2, devicePixelRatio || 1), width: 300, height: 220 });
  } catch { /* told below */ }
  if (!renderer || !renderer.gl) {
    box.append(el("p", { class: "hint" }, "This browser shows no WebGL, so the part can't be turned here; plan and sections show the same geometry."));
    return box;
  }
  const { gl } = renderer;
  const body = bodyOf(sheet.shape);
  const { length, closed } = { length: pathOf(sheet.shape).length, closed: sheet.shape.closed };
  const states = statesOf(sheet);

  const low = [Infinity, Infinity, Infinity], high = [-Infinity, -Infinity, -Infinity];
  for (let i = 0; i < body.position.length; i++) { low[i % 3] = Math.min(low[i % 3], body.position[i]); high[i % 3] = Math.max(high[i % 3], body.position[i]); }
  const middle = low.map((value, axis) => (value + high[axis]) / 2);
  const size = Math.hypot(...low.map((value, axis) => high[axis] - value));

  const rgb = (key) => hexOf(getComputedStyle(document.documentElement).getPropertyValue(key).trim());
  const amount = { value: 0 };
  const surface = new space.Program(gl, { ...SURFACE, cullFace: false, uniforms: { amount, metal: { value: [0.7, 0.7, 0.7] }, stops: { value: [] }, shaded: { value: 0 } } });
  const ink = { value: [0, 0, 0] };
  const lines = new space.Program(gl, { ...EDGES, cullFace: false, uniforms: { amount, ink } });
  const zero = shiftsOf(body.position, body.station, body.strip, null);
  const zeroEdge = shiftsOf(body.edgePosition, body.edgeStation, null, null);
  const geometry = new space.Geometry(gl, {
    position: { size: 3, data: new Float32Array(body.position) }, normal: { size: 3, data: new Float32Array(body.normal) },
    shift: { size: 3, data: zero.shift }, share: { size: 1, data: zero.share }, index: { data: new Uint32Array(body.index) },
  });
  const edges = new space.Geometry(gl, { position: { size: 3, data: new Float32Array(body.edgePosition) }, shift: { size: 3, data: zeroEdge.shift } });
  const scene = new space.Transform();
  new space.Mesh(gl, { geometry, program: surface, frustumCulled: false }).setParent(scene);
  new space.Mesh(gl, { geometry: edges, program: lines, mode: gl.LINES, frustumCulled: false }).setParent(scene);
  const camera = new space.Camera(gl, { near: size / 50, far: size * 20 });
  camera.up.set(0, 0, 1);

  let turned = [...VIEWS.oblique], near = 1, state = states[0], phase = 1, running = 0;
  function place() {
    const [round, rise] = turned.map((degrees) => (degrees * Math.PI) / 180);
    const away = (size * 1.3) / near;
    const flat = Math.max(Math.cos(rise), 1e-4);
    camera.position.set(middle[0] + away * flat * Math.cos(round), middle[1] + away * flat * Math.sin(round), middle[2] + away * Math.sin(rise));
    camera.lookAt(new space.Vec3(...middle));
  }
  function draw() {
    if (!canvas.isConnected && !running) return;
    place();
    renderer.render({ scene, camera });
  }
  let waiting = 0;
  const soon = () => { if (!waiting) waiting = requestAnimationFrame(() => { waiting = 0; draw(); }); };

  function colours() {
    surface.uniforms.metal.value = rgb("--metal");
    surface.uniforms.stops.value = [0, 1, 2, 3, 4].flatMap((step) => rgb("--stress" + step));
    ink.value = rgb("--ink");
    soon();
  }

  function show() {
    const { field, kind } = state;
    const moved = shiftsOf(body.position, body.station, body.strip, field, length, closed);
    const movedEdges = shiftsOf(body.edgePosition, body.edgeStation, null, field, length, closed);
    const greatest = Math.max(...fieldSizes(field), 1e-12);
    const factor = field ? roundFactor((MOVED * size) / greatest) : 0;
    for (const [own, data, key] of [[geometry, moved.shift, "shift"], [geometry, moved.share, "share"], [edges, movedEdges.shift, "shift"]]) {
      own.attributes[key].data = data;
      own.attributes[key].needsUpdate = true;
    }
    amount.value = factor * phase;
    const shaded = kind === "load" && field.stress;
    surface.uniforms.shaded.value = shaded ? 1 : 0;
    state.factor = factor;
    legend.replaceChildren(...(shaded ? stressSteps(greatestStress(field)) : []));
    words.textContent = kind === "made" ? "As made, no load." : kind === "load"
      ? `${state.words}. Movement drawn ${factorWords(factor)}; shade: greatest nominal stress of each strip along the path.`
      : `${state.words}. The size of the movement means nothing; its shape does.`;
    canvas.setAttribute("aria-label", `${title} in space. ${words.textContent} Arrow keys turn it, plus and minus bring it closer or away, 0 turns it back.`);
    play.hidden = kind !== "mode";
    soon();
  }

  const choice = el("select", {}, ...states.map((each, i) => el("option", { value: i }, each.label)));
  choice.addEventListener("change", () => { stop(); state = states[Number(choice.value)]; show(); });
  const play = el("button", { type: "button", hidden: true }, "Swing");
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  function stop() {
    cancelAnimationFrame(running);
    running = 0;
    phase = 1;
    amount.value = (state.factor || 0) * phase;
    play.textContent = calm.matches ? "Other side" : "Swing";
    soon();
  }
  play.addEventListener("click", () => {
    if (calm.matches) { phase = -phase; amount.value = state.factor * phase; return soon(); }
    if (running) return stop();
    play.textContent = "Stand still";
    const began = performance.now();
    const frame = (now) => {
      if (!canvas.isConnected) return stop();
      phase = Math.cos(((now - began) / 1400) * 2 * Math.PI);
      amount.value = state.factor * phase;
      draw();
      running = requestAnimationFrame(frame);
    };
    running = requestAnimationFrame(frame);
  });
  stop();

  const look = el("select", {}, ...Object.keys(VIEWS).map((key) => el("option", { value: key, selected: key === "oblique" }, key)));
  look.addEventListener("change", () => { turned = [...VIEWS[look.value]]; near = 1; soon(); });
  const turn = (round, rise) => { turned = [turned[0] + round, Math.max(-90, Math.min(90, turned[1] + rise))]; soon(); };
  const closer = (by) => { near = Math.max(0.4, Math.min(12, near * by)); soon(); };
  canvas.addEventListener("keydown", (event) => {
    const acts = { ArrowLeft: () => turn(-10, 0), ArrowRight: () => turn(10, 0), ArrowUp: () => turn(0, 10), ArrowDown: () => turn(0, -10), "+": () => closer(1.25), "=": () => closer(1.25), "-": () => closer(0.8), 0: () => { turned = [...VIEWS[look.value]]; near = 1; soon(); } };
    if (!acts[event.key]) return;
    event.preventDefault();
    acts[event.key]();
  });
  let drag = null;
  canvas.addEventListener("pointerdown", (event) => { drag = [event.clientX, event.clientY]; canvas.setPointerCapture(event.pointerId); });
  canvas.addEventListener("pointermove", (event) => {
    if (!drag) return;
    turn(-(event.clientX - drag[0]) * 0.45, (event.clientY - drag[1]) * 0.45);
    drag = [event.clientX, event.clientY];
  });
  for (const end of ["pointerup", "pointercancel"]) canvas.addEventListener(end, () => { drag = null; });
  canvas.addEventListener("wheel", (event) => {
    if (document.activeElement !== canvas) return;
    event.preventDefault();
    closer(Math.exp(-event.deltaY * 0.0015));
  }, { passive: false });

  new ResizeObserver(() => {
    const width = Math.max(200, Math.round(canvas.parentElement ? canvas.parentElement.clientWidth : 300));
    renderer.setSize(width, Math.round(Math.min(420, width * 0.72)));
    canvas.style.width = "100%";
    canvas.style.height = "auto";
    camera.perspective({ fov: 30, aspect: gl.canvas.width / gl.canvas.height });
    soon();
  }).observe(box);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", colours);
  colours();
  show();
  box.release = () => { cancelAnimationFrame(running); const lose = gl.getExtension("WEBGL_lose_context"); if (lose) lose.loseContext(); };
  box.forPaper = () => { draw(); picture.src = canvas.toDataURL("image/png"); };
  box.redraw = show;
  box.append(canvas, picture, legend, words,
    el("div", { class: "controls" }, el("label", {}, "Shown ", choice), el("label", {}, "Seen ", look), play), note);
  return box;
}

/** What the view can show of a sheet: as made, each load case, each natural frequency. */
function statesOf(sheet) {
  const loads = sheet.loads.filter((load) => load.field).map((load) => ({
    label: "load: " + load.name, kind: "load", words: `Load case ${load.name}: ${load.words}`, field: readField(load.field, sheet.shape),
  }));
  const modes = (sheet.modes || []).map((mode, i) => ({
    label: `frequency ${i + 1}: ${figure(mode.hz, 4)} Hz`, kind: "mode",
    words: `Natural frequency ${i + 1}, ${figure(mode.hz, 4)} Hz${mode.kind ? ", " + mode.kind : ""}`, field: readField(mode, sheet.shape),
  }));
  return [{ label: "as made", kind: "made", words: "", field: null }, ...loads, ...modes];
}

const fieldSizes = (field) => (field ? field.move.map((vector) => Math.hypot(...vector)) : [0]);

/** One, two or five times a power of ten. */
function roundFactor(value) {
  const power = Math.pow(10, Math.floor(Math.log10(value)));
  return power * ([5, 2, 1].find((lead) => lead * power <= value * 1.0001) || 1);
}
const factorWords = (factor) => (factor >= 1 ? `${grouped(String(Math.round(factor)))} times` : `at ${figure(factor, 1)} of its size`);
const hexOf = (hex) => [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16) / 255);

/** Legend of the steps of stress. */
function stressSteps(most) {
  const unit = unitWords("MPa"), top = inUnits(most, "MPa");
  return [el("span", {}, "stress "), ...[0, 1, 2, 3, 4].map((step) => el("span", { class: "stress-step" }, el("i", { class: "stress s" + step, "aria-hidden": "true" }), `${figure((top * step) / 5, 2)}–${figure((top * (step + 1)) / 5, 2)}`)), " ", unit];
}
