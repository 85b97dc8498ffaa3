"""Stress at the edges of a row of holes, by plane-stress finite elements: prints hole_peaks.csv.

A quarter of one cell: strip of width w with a central row of holes of diameter 1 at pitch p. Quadratic quadrilaterals,
40 around a quarter of the hole. Needs numpy, scipy and scikit-fem 12; only to make the table again.
"""

import logging

import numpy as np
import scipy.sparse.linalg as linear
from skfem import Basis, ElementQuad2, ElementVector, MeshQuad, asm
from skfem.models.elasticity import linear_elasticity

E, NU = 1.0, 0.33
AROUND = 40  # elements around a quarter of the hole


def mesh(a, b):
    """Quarter cell a by b without its hole of radius 0.5, and the numbers of the hole's nodes."""
    ca, cb = (a, min(b, a)) if b >= a else (min(a, b), b)
    half = AROUND // 2
    layers = max(8, int(np.ceil(np.log(1 + (np.hypot(ca, cb) - 0.5) * AROUND / np.pi) / np.log(1.25))))
    along = np.linspace(0, 1, layers + 1)
    if min(ca, cb) - 0.5 > 0.15:
        along = np.expm1(3 * along) / np.expm1(3)
    known, points, quads = {}, [], []

    def node(x, y):
        key = (round(x * 1e9), round(y * 1e9))
        if key not in known:
            known[key] = len(points)
            points.append((x, y))
        return known[key]

    grid = []
    for j in range(AROUND + 1):
        v = j / AROUND
        far = (ca, 2 * cb * v) if v <= 0.5 else (ca * (2 - 2 * v), cb)
        near = (0.5 * np.cos(np.pi / 2 * v), 0.5 * np.sin(np.pi / 2 * v)) if j < AROUND else (0.0, 0.5)
        grid.append([node(near[0] + (far[0] - near[0]) * t, near[1] + (far[1] - near[1]) * t) for t in along])
    for j in range(AROUND):
        for i in range(layers):
            quads.append((grid[j][i], grid[j][i + 1], grid[j + 1][i + 1], grid[j + 1][i]))

    def beyond(line, far, axis):
        length = far - points[line[0]][axis]
        if length < 1e-12:
            return
        steps = min(60, max(2, int(np.ceil(length / (max(ca, cb) / half)))))
        before = line
        for step in range(1, steps + 1):
            at = far - length * (1 - step / steps)
            row = [node(at, points[n][1]) if axis == 0 else node(points[n][0], at) for n in line]
            quads.extend((before[q], row[q], row[q + 1], before[q + 1]) for q in range(len(line) - 1))
            before = row

    beyond([grid[j][layers] for j in range(half, AROUND + 1)], b, 1)
    beyond([grid[j][layers] for j in range(half + 1)], a, 0)
    return MeshQuad(np.array(points).T, np.array(quads).T), [row[0] for row in grid]


def solve(p, w, kind):
    """Greatest stress along the hole's edge over E times the mean strain (tension), over E times the strain that the
    mean gradient gives at the edge (bending), or over the mean shear stress of the row (shear)."""
    a, b = p / 2, w / 2
    grid, hole = mesh(a, b)
    basis = Basis(grid, ElementVector(ElementQuad2()), intorder=4)
    stiffness = asm(linear_elasticity(E * NU / (1 - NU**2), E / 2 / (1 + NU)), basis)
    place = basis.doflocs
    axis = np.empty(basis.N, int)
    for dofs in (basis.nodal_dofs, basis.facet_dofs, basis.interior_dofs):
        axis[dofs[0]], axis[dofs[1]] = 0, 1
    on = lambda k, value: abs(place[k] - value) < 1e-9
    x0, xa, y0, yb, cx, cy = on(0, 0), on(0, a), on(1, 0), on(1, b), axis == 0, axis == 1
    u, held = np.zeros(basis.N), np.zeros(basis.N, bool)
    if kind == "tension":
        held = (x0 & cx) | (xa & cx) | (y0 & cy)
        u[xa & cx] = a
    elif kind == "bending":
        held = (x0 & cx) | (xa & cx) | (y0 & cx) | (x0 & yb & cy)
        u[xa & cx] = a * place[1][xa & cx]
    else:
        held = ((x0 | xa | yb) & cy) | ((y0 | yb) & cx)
        u[yb & cx] = b
    free = np.where(~held)[0]
    load = -(stiffness @ u)
    u[free] = linear.spsolve(stiffness[free][:, free].tocsc(), load[free])
    edge = []
    for m, n in zip(hole, hole[1:]):
        chord = grid.p[:, n] - grid.p[:, m]
        edge.append((u[basis.nodal_dofs[:, n]] - u[basis.nodal_dofs[:, m]]) @ chord / (chord @ chord))
    edge = np.array(edge)
    at = np.argmax(abs(edge))
    peak = abs(edge[at])
    if at == len(edge) - 1 and kind != "shear":
        peak = abs(edge[-1] + (edge[-1] - edge[-2]) / 8)
    if kind == "shear":
        return peak / ((stiffness @ u)[yb & cx].sum() / a)
    return peak if kind == "tension" else peak / 0.5


def main():
    logging.disable(logging.CRITICAL)
    shear = {}
    print("d_over_w,d_over_p,tension,bending,shear_net")
    for i in range(9):
        for j in range(10):
            share = min(j / 10, 0.88)
            w = 10 / i if i else 24
            p = 1 / share if j else max(16, 6 * min(w, 4))
            if i == 0:
                shear[j] = 4 if j == 0 else solve(p, max(3 * p, 8), "shear") * (1 - share)
            tension, bending = solve(p, w, "tension"), solve(p, min(w, 12), "bending")
            print(f"{i / 10:.1f},{share:.2f},{tension:.4f},{bending:.4f},{shear[j]:.4f}", flush=True)


main()
