// Movement and stress along the path, taken apart: see fields.rs and geometry.rs.

/** Place of a shape's path at a station: x, y in mm and heading in rad. Closed paths wrap, open ones go on straight. */
function poseAt(shape, station) {
  let left = shape.closed ? ((station % shape.length) + shape.length) % shape.length : station;
  const last = shape.pieces.length - 1;
  for (const [index, [x, y, heading, length, curvature]] of shape.pieces.entries()) {
    if (left > length && index < last) { left -= length; continue; }
    const turn = curvature * left;
    const along = Math.abs(turn) < 1e-9 ? left : Math.sin(turn) / curvature;
    const across = Math.abs(turn) < 1e-9 ? 0 : (1 - Math.cos(turn)) / curvature;
    const sin = Math.sin(heading), cos = Math.cos(heading);
    return { x: x + along * cos - across * sin, y: y + along * sin + across * cos, heading: heading + turn };
  }
  return { x: 0, y: 0, heading: 0 };
}

/** A curve from its steps; null where it has no value. */
function curveOf(steps, unit) {
  let sum = 0;
  return steps.map((step) => (step === null ? null : (sum += step) * unit));
}

/** Curves side by side: [place][curve]. */
function placesOf({ unit, curves }, count) {
  const all = curves.map((steps) => curveOf(steps, unit));
  return Array.from({ length: count }, (_, place) => all.map((curve) => curve[place]));
}

/**
 * A field or mode as arrays by place: s, at [x, y, z] of the path line, move [x, y, z], turn [x, y, z], and of a load
 * case stress [strip] with the names of the strips. A point of the section at r from the path line moves by
 * move + turn x r.
 */
function readField(packed, shape) {
  const s = curveOf(packed.s, 0.01);
  const at = s.map((station) => { const { x, y } = poseAt(shape, station); return [x, y, 0]; });
  const field = { s, at, move: placesOf(packed.move, s.length), turn: placesOf(packed.turn, s.length) };
  if (packed.stress) Object.assign(field, { strips: packed.strips, stress: placesOf(packed.stress, s.length) });
  return field;
}
