"""Lines of the pictures that follow from numbers alone: contours, the hull of what was tried, and hatching."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Point = tuple[float, float]
MIN_HULL_POINTS = 3

# Marching squares: edges (bottom, right, top, left) that a contour joins, by which corners lie above.
# Bits: 1 lower left, 2 lower right, 4 upper right, 8 upper left. 5 and 10 are saddles with two pieces.
_CASES: dict[int, tuple[tuple[int, int], ...]] = {
    1: ((3, 0),),
    2: ((0, 1),),
    3: ((3, 1),),
    4: ((1, 2),),
    5: ((3, 0), (1, 2)),
    6: ((0, 2),),
    7: ((3, 2),),
    8: ((2, 3),),
    9: ((0, 2),),
    10: ((0, 1), (2, 3)),
    11: ((1, 2),),
    12: ((1, 3),),
    13: ((0, 1),),
    14: ((3, 0),),
}


def contour_segments(x: Floats, y: Floats, z: Floats, level: float) -> Floats:
    """Return the straight pieces of the contour ``z == level``, shape (k, 4) as x1, y1, x2, y2.

    ``z`` has shape (len(y), len(x)). Marching squares with linear interpolation along the edges.
    """
    above = z > level
    case = above[:-1, :-1] + 2 * above[:-1, 1:] + 4 * above[1:, 1:] + 8 * above[1:, :-1]
    pieces = []
    for code, joins in _CASES.items():
        rows, columns = np.nonzero(case == code)
        if rows.size:
            edges = _edge_points(x, y, z - level, rows, columns)
            pieces += [np.hstack([edges[start], edges[end]]) for start, end in joins]
    return np.vstack(pieces) if pieces else np.empty((0, 4))


def _edge_points(
    x: Floats, y: Floats, above: Floats, rows: NDArray[np.intp], columns: NDArray[np.intp]
) -> list[Floats]:
    left, right, low, high = x[columns], x[columns + 1], y[rows], y[rows + 1]
    sw, se = above[rows, columns], above[rows, columns + 1]
    nw, ne = above[rows + 1, columns], above[rows + 1, columns + 1]

    def between(a: Floats, b: Floats, at_a: Floats, at_b: Floats) -> Floats:
        gap = np.where(at_b == at_a, 1.0, at_b - at_a)
        return a + (b - a) * np.clip(-at_a / gap, 0.0, 1.0)

    return [
        np.column_stack([between(left, right, sw, se), low]),
        np.column_stack([right, between(low, high, se, ne)]),
        np.column_stack([between(left, right, nw, ne), high]),
        np.column_stack([left, between(low, high, sw, nw)]),
    ]


def convex_hull(points: Sequence[Point]) -> tuple[Point, ...]:
    """Return the corners of the convex hull, anticlockwise (Andrew's monotone chain); fewer than 3 when flat."""
    ordered = sorted(set(points))
    if len(ordered) < MIN_HULL_POINTS:
        return tuple(ordered)

    def chain(sequence: Sequence[Point]) -> list[Point]:
        kept: list[Point] = []
        for point in sequence:
            while len(kept) > 1 and _turn(kept[-2], kept[-1], point) <= 0:
                kept.pop()
            kept.append(point)
        return kept[:-1]

    return tuple(chain(ordered) + chain(ordered[::-1]))


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def inside_hull(hull: Sequence[Point], point: Point, *, slack: float = 1e-9) -> bool:
    """Whether a point lies in an anticlockwise convex hull (or on its border)."""
    if len(hull) < MIN_HULL_POINTS:
        return False
    return all(_turn(a, b, point) >= -slack for a, b in zip(hull, (*hull[1:], hull[0]), strict=True))


def hatch_lines(
    width: float, height: float, spacing: float, hole: Sequence[Point] = ()
) -> list[tuple[Point, Point]]:
    """Return slanted lines that fill a box of ``width`` x ``height`` but spare a convex, anticlockwise hole.

    All in one unit, normally pixels; the lines are cut exactly, so that no clipping is needed when drawn.
    """
    lines: list[tuple[Point, Point]] = []
    offset = spacing
    while offset < width + height:
        start = (max(0.0, offset - height), min(offset, height))
        end = (min(offset, width), max(0.0, offset - width))
        lines += _outside(start, end, hole)
        offset += spacing
    return lines


def _outside(start: Point, end: Point, hole: Sequence[Point]) -> list[tuple[Point, Point]]:
    """Cut the part inside a convex hole out of a line (Cyrus and Beck's clipping, turned around)."""
    if len(hole) < MIN_HULL_POINTS:
        return [(start, end)]
    enter, leave = 0.0, 1.0
    for a, b in zip(hole, (*hole[1:], hole[0]), strict=True):
        at_start, at_end = _turn(a, b, start), _turn(a, b, end)
        if at_start < 0 and at_end < 0:
            return [(start, end)]
        if at_start < 0 or at_end < 0:
            crossing = at_start / (at_start - at_end)
            enter, leave = (max(enter, crossing), leave) if at_start < 0 else (enter, min(leave, crossing))
    if enter >= leave:
        return [(start, end)]
    pieces = [(start, _along(start, end, enter)), (_along(start, end, leave), end)]
    return [piece for piece, length in zip(pieces, (enter, 1 - leave), strict=True) if length > 0]


def _along(start: Point, end: Point, share: float) -> Point:
    return start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])
