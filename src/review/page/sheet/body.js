// The part as a surface of triangles, made from the shape that geometry.rs describes. All lengths in mm.

const CHORD = 0.02; // most that a chord leaves its arc, mm
const SIDES = 28; // corners of a hole

/** The path of a shape: its length, points beside it, stations along it; closed paths wrap. */
function pathOf(shape) {
  let from = 0;
  const pieces = shape.pieces.map(([, , , length, curvature]) => {
    const piece = { length, curvature, from };
    from += length;
    return piece;
  });
  const pose = (station) => poseAt(shape, station);
  /** The point y to the left of the path, at height z. */
  const point = (s, y, z) => {
    const at = pose(s);
    return [at.x - y * Math.sin(at.heading), at.y + y * Math.cos(at.heading), z];
  };
  /** Stations from s0 to s1, close enough for the curvature of the path, ends and joints of pieces among them. */
  const stations = (s0, s1) => {
    const marks = [s0, s1];
    for (let lap = -1; lap <= 1; lap++) for (const piece of pieces) {
      const at = piece.from + lap * (shape.closed ? from : 0);
      if (at > s0 + 1e-6 && at < s1 - 1e-6) marks.push(at);
    }
    marks.sort((a, b) => a - b);
    const out = [];
    for (let i = 0; i + 1 < marks.length; i++) {
      const [a, b] = [marks[i], marks[i + 1]];
      const middle = ((((a + b) / 2) % from) + from) % from;
      const piece = pieces.find((each) => middle <= each.from + each.length) || pieces[0];
      const k = Math.abs(piece.curvature);
      const step = k > 0 ? Math.max(0.4, Math.sqrt((8 * CHORD) / k)) : b - a;
      // A straight piece needs points of its own too: a load bends it.
      const count = Math.max(1, Math.ceil((b - a) / Math.min(step, 4)));
      for (let j = 0; j < count; j++) out.push(a + ((b - a) * j) / count);
    }
    out.push(marks[marks.length - 1]);
    return out;
  };
  return { length: from, pose, point, stations };
}

/**
 * Triangles and edges of a part: `position` and `normal` (x, y, z a corner), `station` and `strip` (one a corner, the
 * strip by name), `index`, and for the edges drawn over them `edgePosition`, `edgeStation` (two corners a line).
 */
function bodyOf(shape) {
  const path = pathOf(shape);
  const body = { position: [], normal: [], station: [], strip: [], index: [], edgePosition: [], edgeStation: [] };
  let owner = "";
  const corner = (point, normal, s) => {
    body.position.push(...point);
    body.normal.push(...normal);
    body.station.push(s);
    body.strip.push(owner);
    return body.station.length - 1;
  };
  const edge = (a, b, s, t) => {
    body.edgePosition.push(...a, ...b);
    body.edgeStation.push(s, t);
  };
  const loopEdges = (loop) => loop.forEach(([point, s], i) => {
    const [next, t] = loop[(i + 1) % loop.length];
    edge(point, next, s, t);
  });

  /** A flat or bent face: rings of [u, v, point, normal, s], the first its outline, cut into triangles in (u, v). */
  function face(rings) {
    const flat = [], holes = [], corners = [];
    for (const ring of rings) {
      if (corners.length) holes.push(corners.length);
      for (const [u, v, point, normal, s] of ring) {
        flat.push(u, v);
        corners.push(corner(point, normal, s));
      }
    }
    for (const i of space.earcut(flat, holes)) body.index.push(corners[i]);
  }

  /** A surface between two lines of points of equal number; `normals` one a point. */
  function band(lower, upper, normals, stations) {
    const a = lower.map((point, i) => corner(point, normals[i], stations[i]));
    const b = upper.map((point, i) => corner(point, normals[i], stations[i]));
    for (let i = 0; i + 1 < a.length; i++) body.index.push(a[i], a[i + 1], b[i + 1], a[i], b[i + 1], b[i]);
  }

  const leftOf = (s) => { const { heading } = path.pose(s); return [-Math.sin(heading), Math.cos(heading), 0]; };
  const along = (s) => { const { heading } = path.pose(s); return [Math.cos(heading), Math.sin(heading), 0]; };
  const scaled = (vector, factor) => vector.map((value) => value * factor);
  const turns = Array.from({ length: SIDES + 1 }, (_, i) => (2 * Math.PI * i) / SIDES);

  /** Walls, bottom and point of a hole down from `top`; `centre` in the plan. */
  function upright([x, y], s, d, top, depth, through, pointAngle) {
    const r = d / 2;
    const ring = (z) => turns.map((t) => [x + r * Math.cos(t), y + r * Math.sin(t), z]);
    const inward = turns.map((t) => [-Math.cos(t), -Math.sin(t), 0]);
    const all = turns.map(() => s);
    band(ring(top - depth), ring(top), inward, all);
    for (const z of [top, top - depth]) loopEdges(ring(z).slice(0, -1).map((point) => [point, s]));
    if (through) return;
    const below = pointAngle ? r / Math.tan(pointAngle / 2) : 0;
    const tip = turns.map(() => [x, y, top - depth - below]);
    band(tip, ring(top - depth), turns.map(() => [0, 0, 1]), all);
  }

  const closedRun = (s0, s1) => shape.closed && s1 - s0 > path.length - 1e-6;
  const laps = shape.closed ? [0, -path.length, path.length] : [0];
  /** A station of a hole as it falls into a segment, or none. */
  const within = (s, s0, s1) => {
    const lap = laps.find((each) => s + each >= s0 - 1e-9 && s + each <= s1 + 1e-9);
    return lap === undefined ? undefined : s + lap;
  };

  shape.segments.forEach(([s0, s1, section], place) => {
    const stations = path.stations(s0, s1);
    const whole = closedRun(s0, s1);
    const before = shape.segments[place - 1] || (shape.closed && shape.segments[shape.segments.length - 1]);
    const after = shape.segments[place + 1] || (shape.closed && shape.segments[0]);
    const bores = shape.bores.map((bore) => ({ ...bore, s: within(bore.s, s0, s1) })).filter((bore) => bore.s !== undefined);
    for (const strip of shape.sections[section]) {
      owner = strip.name;
      const rows = shape.holes.filter((row) => row.strip === strip.name);
      const holes = rows.flatMap((row) => row.at.map(([s, w]) => ({ ...row, s: within(s, s0, s1), w })).filter((hole) => hole.s !== undefined));
      const same = (neighbour) => neighbour && shape.sections[neighbour[2]].some((other) => ["name", "y0", "y1", "z0", "z1"].every((key) => other[key] === strip[key]));
      levels(strip, stations, whole, holes.filter((hole) => hole.axis === "z" && hole.w > strip.y0 && hole.w < strip.y1), bores);
      sides(strip, stations, s0, s1, holes.filter((hole) => hole.axis === "y"));
      if (!whole && !same(before)) cap(strip, s0, -1);
      if (!whole && !same(after)) cap(strip, s1, 1);
    }
    owner = "floor";
    for (const bore of bores) {
      const [x, y] = path.point(bore.s, 0, 0);
      const { counterbore } = bore;
      const seat = counterbore ? counterbore.depth : 0;
      if (counterbore) upright([x, y], bore.s, counterbore.d, bore.top, seat, false, 0);
      upright([x, y], bore.s, bore.d, bore.top - seat, bore.depth - seat, bore.through, bore.point);
    }
  });

  /** Top and bottom of a strip, with the holes that come through them. */
  function levels({ y0, y1, z0, z1 }, stations, whole, holes, bores) {
    for (const [z, up] of [[z1, 1], [z0, -1]]) {
      const line = (y) => stations.map((s) => [path.point(s, y, z), s]);
      const ringOf = (loop) => loop.map(([point, s]) => [point[0], point[1], point, [0, 0, up], s]);
      const inner = line(y1), outer = line(y0);
      const rings = whole
        ? [outer.slice(0, -1), inner.slice(0, -1)].sort((a, b) => spread(b) - spread(a)).map(ringOf)
        : [ringOf([...outer, ...inner.slice().reverse()])];
      for (const [edges, last] of [[outer, whole], [inner, whole]]) edges.slice(0, -1).forEach(([point, s], i) => edge(point, edges[i + 1][0], s, edges[i + 1][1]));
      const pierce = (s, w, d) => {
        const [x, y] = path.point(s, w, z);
        rings.push(turns.slice(0, -1).map((t) => {
          const point = [x + (d / 2) * Math.cos(t), y + (d / 2) * Math.sin(t), z];
          return [point[0], point[1], point, [0, 0, up], s];
        }));
      };
      for (const hole of holes) if (up > 0 || hole.through) pierce(hole.s, hole.w, hole.d);
      for (const bore of bores) {
        const d = up > 0 && bore.counterbore && Math.abs(z - bore.top) < 1e-6 ? bore.counterbore.d : bore.d;
        const reached = z <= bore.top + 1e-6 && (bore.through || z >= bore.top - bore.depth - 1e-6);
        if (reached && y0 <= -d / 2 && y1 >= d / 2) pierce(bore.s, 0, d);
      }
      face(rings);
    }
    for (const hole of holes) {
      const centre = path.point(hole.s, hole.w, 0);
      upright(centre, hole.s, hole.d, z1, hole.through ? z1 - z0 : hole.depth, hole.through, hole.point);
    }
  }

  const spread = (loop) => Math.max(...loop.map(([point]) => point[0])) - Math.min(...loop.map(([point]) => point[0]));

  /** Both sides of a strip, with the holes drilled across it. */
  function sides({ y0, y1, z0, z1 }, stations, s0, s1, holes) {
    for (const [y, sign] of [[y1, 1], [y0, -1]]) {
      const open = holes.filter((hole) => hole.through || (hole.from === "y1") === (sign > 0)).sort((a, b) => a.s - b.s);
      const normal = (s) => scaled(leftOf(s), sign);
      let from = s0;
      const plainTo = (to) => {
        const line = [from, ...stations.filter((s) => s > from + 1e-9 && s < to - 1e-9), to];
        band(line.map((s) => path.point(s, y, z0)), line.map((s) => path.point(s, y, z1)), line.map(normal), line);
        from = to;
      };
      for (let i = 0; i < open.length;) {
        let last = i;
        const ends = (hole) => hole.s + hole.d / 2;
        let reach = ends(open[i]);
        while (last + 1 < open.length && open[last + 1].s - open[last + 1].d / 2 < reach + 1e-6) reach = Math.max(reach, ends(open[++last]));
        const a = Math.max(from, open[i].s - open[i].d / 2 - 1e-3), b = Math.min(s1, reach + 1e-3);
        if (a > from) plainTo(a);
        const at = (s, z) => [s, z, path.point(s, y, z), normal(s), s];
        const line = [a, ...stations.filter((s) => s > a + 1e-9 && s < b - 1e-9), b];
        const rings = [[...line.map((s) => at(s, z0)), ...line.slice().reverse().map((s) => at(s, z1))]];
        for (const hole of open.slice(i, last + 1)) {
          rings.push(turns.slice(0, -1).map((t) => at(hole.s + (hole.d / 2) * Math.cos(t), hole.w + (hole.d / 2) * Math.sin(t))));
        }
        face(rings);
        from = b;
        i = last + 1;
      }
      plainTo(s1);
    }
    for (const hole of holes) across(hole, y0, y1);
  }

  /** Walls of a hole across a strip. */
  function across({ s, w, d, depth, through, from, point: angle }, y0, y1) {
    const t = along(s), r = d / 2;
    const enters = from === "y1" ? y1 : y0;
    const ends = through ? (from === "y1" ? y0 : y1) : enters + (from === "y1" ? -depth : depth);
    const ring = (y) => turns.map((a) => { const [x, v] = path.point(s, y, 0); return [x + t[0] * r * Math.cos(a), v + t[1] * r * Math.cos(a), w + r * Math.sin(a)]; });
    const inward = turns.map((a) => [-t[0] * Math.cos(a), -t[1] * Math.cos(a), -Math.sin(a)]);
    const all = turns.map(() => s);
    band(ring(ends), ring(enters), inward, all);
    for (const y of [enters, ends]) loopEdges(ring(y).slice(0, -1).map((p) => [p, s]));
    if (through) return;
    const below = angle ? r / Math.tan(angle / 2) : 0;
    const tip = path.point(s, ends + (from === "y1" ? -below : below), w);
    band(turns.map(() => tip), ring(ends), turns.map(() => scaled(leftOf(s), from === "y1" ? 1 : -1)), all);
  }

  /** An end of a strip, where the next is another. */
  function cap({ y0, y1, z0, z1 }, s, sign) {
    const normal = scaled(along(s), sign);
    const loop = [[y0, z0], [y1, z0], [y1, z1], [y0, z1]].map(([y, z]) => [y, z, path.point(s, y, z), normal, s]);
    face([loop]);
    loopEdges(loop.map(([, , point]) => [point, s]));
  }

  return body;
}
