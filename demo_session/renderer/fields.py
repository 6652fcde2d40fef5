"""Signed distances of the solid shapes, compiled: cones, lofts, ellipsoids, boxes, shells."""

from __future__ import annotations

import math

from numba import njit

COLUMNS = 48
CONE, LOFT, ELLIPSOID, BOX, BRIM, SOLE, CUT_CONE = range(7)


@njit(fastmath=True, cache=True, inline="never")
def _spline(k0, k1, k2, k3, f):
    """Catmull-Rom value between ``k1`` and ``k2``."""
    return k1 + 0.5 * f * (
        k2 - k0 + f * (2.0 * k0 - 5.0 * k1 + 4.0 * k2 - k3 + f * (3.0 * (k1 - k2) + k3 - k0))
    )


@njit(fastmath=True, cache=True)
def _knots(table, i, first, s):
    """Value of six even knots from column ``first`` at parameter ``s`` in 0..5."""
    k = min(int(s), 4)
    f = s - k
    before = max(k - 1, 0)
    after = min(k + 2, 5)
    return _spline(
        table[i, first + before], table[i, first + k], table[i, first + k + 1],
        table[i, first + after], f,
    )  # fmt: skip


@njit(fastmath=True, cache=True)
def soft_min(a, b, k):
    """Smaller of two distances with a fillet of width ``k`` (polynomial)."""
    h = max(k - abs(a - b), 0.0) / k
    return min(a, b) - h * h * k * 0.25


@njit(fastmath=True, cache=True)
def soft_max(a, b, k):
    """Larger of two distances with a rounded edge of width ``k``."""
    h = max(k - abs(a - b), 0.0) / k
    return max(a, b) + h * h * k * 0.25


@njit(fastmath=True, cache=True)
def _cone(x, y, z, t, i):
    bx, by, bz = t[i, 3] - t[i, 0], t[i, 4] - t[i, 1], t[i, 5] - t[i, 2]
    px, py, pz = x - t[i, 0], y - t[i, 1], z - t[i, 2]
    s = (px * bx + py * by + pz * bz) / (bx * bx + by * by + bz * bz)
    s = min(max(s, 0.0), 1.0)
    dx, dy, dz = px - bx * s, py - by * s, pz - bz * s
    return math.sqrt(dx * dx + dy * dy + dz * dz) - (t[i, 6] + (t[i, 7] - t[i, 6]) * s)


@njit(fastmath=True, cache=True)
def loft_place(x, y, z, t, i):
    """Local place in a loft: across, front (metres from the axis) and along (0..1, open)."""
    px, py, pz = x - t[i, 0], y - t[i, 1], z - t[i, 2]
    wx, wy, wz = t[i, 3], t[i, 4], t[i, 5]
    along = (px * wx + py * wy + pz * wz) / t[i, 6]
    s = min(max(along, 0.0), 1.0)
    ux = t[i, 7] + (t[i, 10] - t[i, 7]) * s
    uy = t[i, 8] + (t[i, 11] - t[i, 8]) * s
    uz = t[i, 9] + (t[i, 12] - t[i, 9]) * s
    n = 1.0 / math.sqrt(ux * ux + uy * uy + uz * uz)
    ux, uy, uz = ux * n, uy * n, uz * n
    sign = t[i, 38]
    vx = sign * (wy * uz - wz * uy)
    vy = sign * (wz * ux - wx * uz)
    vz = sign * (wx * uy - wy * ux)
    return px * ux + py * uy + pz * uz, px * vx + py * vy + pz * vz, along


@njit(fastmath=True, cache=True)
def _loft(x, y, z, t, i):
    across, front, along = loft_place(x, y, z, t, i)
    s = min(max(along, 0.0), 1.0) * 5.0
    front -= _knots(t, i, 31, s)
    a = _knots(t, i, 13, s)
    b = _knots(t, i, 19, s) if front > 0.0 else _knots(t, i, 25, s)
    if t[i, 37] > 0.0 and front > 0.0:
        c = across / 0.011
        b += t[i, 37] * math.exp(-c * c)
    qx, qy = across / a, front / b
    k = math.sqrt(qx * qx + qy * qy)
    gx, gy = qx / a, qy / b
    g = math.sqrt(gx * gx + gy * gy)
    radial = k * (k - 1.0) / g if g > 1e-4 else -min(a, b)
    end = (abs(along - 0.5) - 0.5) * t[i, 6]
    return soft_max(radial, end, t[i, 39])


@njit(fastmath=True, cache=True)
def _ellipsoid(x, y, z, t, i):
    px, py, pz = x - t[i, 0], y - t[i, 1], z - t[i, 2]
    k0 = 0.0
    k1 = 0.0
    for a in range(3):
        c = 3 + 3 * a
        q = (px * t[i, c] + py * t[i, c + 1] + pz * t[i, c + 2]) / t[i, 12 + a]
        k0 += q * q
        q /= t[i, 12 + a]
        k1 += q * q
    k0 = math.sqrt(k0)
    d = k0 * (k0 - 1.0) / math.sqrt(k1) if k1 > 1e-8 else -t[i, 12]
    if t[i, 19] > 0.0:
        d = soft_max(d, px * t[i, 15] + py * t[i, 16] + pz * t[i, 17] - t[i, 18], t[i, 19])
    return d


@njit(fastmath=True, cache=True)
def _box(x, y, z, t, i):
    px, py, pz = x - t[i, 0], y - t[i, 1], z - t[i, 2]
    outside = 0.0
    inside = -1e3
    for a in range(3):
        c = 3 + 3 * a
        q = abs(px * t[i, c] + py * t[i, c + 1] + pz * t[i, c + 2]) - t[i, 12 + a] + t[i, 15]
        inside = max(inside, q)
        q = max(q, 0.0)
        outside += q * q
    return math.sqrt(outside) + min(inside, 0.0) - t[i, 15]


@njit(fastmath=True, cache=True)
def _brim(x, y, z, t, i):
    px, py, pz = x - t[i, 0], y - t[i, 1], z - t[i, 2]
    r = px * t[i, 3] + py * t[i, 4] + pz * t[i, 5]
    f = px * t[i, 6] + py * t[i, 7] + pz * t[i, 8]
    u = px * t[i, 9] + py * t[i, 10] + pz * t[i, 11]
    half, reach, curve, fall, thick = t[i, 12], t[i, 13], t[i, 14], t[i, 15], t[i, 16]
    height = -curve * r * r - fall * f - 0.9 * f * f
    slope = 1.0 + (2.0 * curve * r) ** 2 + (fall + 1.8 * f) ** 2
    sheet = abs(u - height) / math.sqrt(slope) - thick
    qx, qy = r / half, f / reach
    k = math.sqrt(math.sqrt(qx * qx * qx * qx + qy * qy * qy * qy)) if f > 0 else abs(qx)
    plan = max((k - 1.0) * half * 0.8, -f - 0.02)
    return soft_max(sheet, plan, 0.004)


@njit(fastmath=True, cache=True)
def _sole(x, y, z, t, i):
    """Extruded outline of a foot part: two circles and their tangents, rounded edges."""
    px, py, pz = x - t[i, 0], y - t[i, 1], z - t[i, 2]
    f = px * t[i, 3] + py * t[i, 4] + pz * t[i, 5]
    s = px * t[i, 6] + py * t[i, 7] + pz * t[i, 8]
    u = px * t[i, 9] + py * t[i, 10] + pz * t[i, 11]
    start, end, r1, r2, low, high, edge = (
        t[i, 12], t[i, 13], t[i, 14], t[i, 15], t[i, 16], t[i, 17], t[i, 18],
    )  # fmt: skip
    c = min(max((f - start) / (end - start), 0.0), 1.0)
    df = f - start - (end - start) * c
    side = s - t[i, 19] * c * c
    flat = math.sqrt(df * df + side * side) - (r1 + (r2 - r1) * c) + edge
    tall = max(low - u, u - high) + edge
    return math.sqrt(max(flat, 0.0) ** 2 + max(tall, 0.0) ** 2) + min(max(flat, tall), 0.0) - edge


@njit(fastmath=True, cache=True)
def _cut_cone(x, y, z, t, i):
    """A cone whose far end is cut square, hollowed a little: a sleeve or a trouser end."""
    bx, by, bz = t[i, 3] - t[i, 0], t[i, 4] - t[i, 1], t[i, 5] - t[i, 2]
    length = math.sqrt(bx * bx + by * by + bz * bz)
    px, py, pz = x - t[i, 0], y - t[i, 1], z - t[i, 2]
    along = (px * bx + py * by + pz * bz) / length
    s = min(max(along / length, 0.0), 1.0)
    dx, dy, dz = px - bx * s, py - by * s, pz - bz * s
    if along > length:
        c = (along - length) / length
        dx, dy, dz = dx - bx * c, dy - by * c, dz - bz * c
    d = math.sqrt(dx * dx + dy * dy + dz * dz) - (t[i, 6] + (t[i, 7] - t[i, 6]) * s)
    shell = soft_max(d, along - length, 0.006)
    hollow = max(d + 0.006, length - 0.030 - along)
    return max(shell, -hollow)


@njit(fastmath=True, cache=True)
def shape_distance(x, y, z, table, kinds, i):
    """Distance in metres (negative inside) from a point to shape ``i``."""
    kind = kinds[i]
    if kind == 0:
        return _cone(x, y, z, table, i)
    if kind == 1:
        return _loft(x, y, z, table, i)
    if kind == 2:
        return _ellipsoid(x, y, z, table, i)
    if kind == 3:
        return _box(x, y, z, table, i)
    if kind == 4:
        return _brim(x, y, z, table, i)
    if kind == 5:
        return _sole(x, y, z, table, i)
    return _cut_cone(x, y, z, table, i)


@njit(fastmath=True, cache=True)
def _hash(a, b, c):
    n = (a * 73856093) ^ (b * 19349663) ^ (c * 83492791)
    n = (n ^ (n >> 13)) * 1274126177
    return ((n ^ (n >> 16)) & 65535) / 65535.0


@njit(fastmath=True, cache=True)
def noise(x, y, z):
    """Smooth value noise in 0..1, no period that could be seen."""
    i, j, k = math.floor(x), math.floor(y), math.floor(z)
    f, g, h = x - i, y - j, z - k
    f, g, h = f * f * (3 - 2 * f), g * g * (3 - 2 * g), h * h * (3 - 2 * h)
    i, j, k = int(i), int(j), int(k)
    low = (_hash(i, j, k) * (1 - f) + _hash(i + 1, j, k) * f) * (1 - g) + (
        _hash(i, j + 1, k) * (1 - f) + _hash(i + 1, j + 1, k) * f
    ) * g
    k += 1
    high = (_hash(i, j, k) * (1 - f) + _hash(i + 1, j, k) * f) * (1 - g) + (
        _hash(i, j + 1, k) * (1 - f) + _hash(i + 1, j + 1, k) * f
    ) * g
    return low * (1 - h) + high * h


@njit(fastmath=True, cache=True)
def hash2(a, b, c):
    """Pseudo-random number in 0..1 from three whole numbers."""
    return _hash(a, b, c)


@njit(fastmath=True, cache=True)
def _folds(x, y, z, amount):
    """Cloth folds: a warped wave whose strength wanders over the garment."""
    warp = 2.4 * noise(x * 7.0 + 3.0, y * 7.0, z * 7.0)
    wave = math.sin(34.0 * z + 16.0 * x - 10.0 * y + 3.0 * warp)
    wave = wave * (0.55 + 0.45 * wave)
    where = noise(x * 4.5 + 11.0, y * 4.5 + 5.0, z * 4.5)
    where = max(where - 0.34, 0.0) * 1.9
    return -amount * wave * where


@njit(fastmath=True, cache=True)
def nearest(x, y, z, table, kinds, first, last, balls, fillet, folds, mask):
    """Distance to the scene and the number of the nearest shape.

    ``first`` and ``last`` delimit the shapes of each group, ``balls`` holds a bounding sphere
    for each group (centre, radius), ``fillet`` the blend width, ``folds`` the fold height.
    """
    best = 1e3
    who = -1
    for g in range(first.size):
        if not (mask >> g) & 1:
            continue
        dx, dy, dz = x - balls[g, 0], y - balls[g, 1], z - balls[g, 2]
        d = math.sqrt(dx * dx + dy * dy + dz * dz) - balls[g, 3]
        if d > best:
            continue
        if d > 0.08:
            best = d
            who = -1
            continue
        d = 1e3
        closest = 1e3
        mine = -1
        k = fillet[g]
        for i in range(first[g], last[g]):
            dx, dy, dz = x - table[i, 44], y - table[i, 45], z - table[i, 46]
            far = d + k + table[i, 47]
            if dx * dx + dy * dy + dz * dz > far * far:
                continue
            e = shape_distance(x, y, z, table, kinds, i)
            if e < closest:
                closest = e
                mine = i
            d = soft_min(d, e, k)
        if folds[g] > 0.0 and d < 0.02:
            d += _folds(x - balls[g, 0], y - balls[g, 1], z - balls[g, 2], folds[g])
        if d < best:
            best = d
            who = mine
    return best, who


@njit(fastmath=True, cache=True)
def groups_on_ray(ox, oy, oz, dx, dy, dz, balls, margin):
    """Bit mask of the groups whose bounding sphere, grown by ``margin``, meets the ray."""
    mask = 0
    for g in range(balls.shape[0]):
        px, py, pz = balls[g, 0] - ox, balls[g, 1] - oy, balls[g, 2] - oz
        along = px * dx + py * dy + pz * dz
        reach = balls[g, 3] + margin
        square = px * px + py * py + pz * pz
        if square < reach * reach or (along > 0 and square - along * along < reach * reach):
            mask |= 1 << g
    return mask


@njit(fastmath=True, cache=True)
def march(ox, oy, oz, dx, dy, dz, start, stop, scene):
    """Distance along a ray to the first surface (or -1) and the number of the shape."""
    table, kinds, first, last, balls, fillet, folds = scene
    mask = groups_on_ray(ox, oy, oz, dx, dy, dz, balls, 0.002)
    if mask == 0:
        return -1.0, -1
    t = start
    for _ in range(220):
        d, who = nearest(
            ox + dx * t, oy + dy * t, oz + dz * t,
            table, kinds, first, last, balls, fillet, folds, mask,
        )  # fmt: skip
        if d < 0.00035 and who >= 0:
            return t, who
        t += max(d * 0.72, 0.0002)
        if t > stop:
            break
    return -1.0, -1
